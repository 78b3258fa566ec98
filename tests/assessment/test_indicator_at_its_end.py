"""An indicator at the end of its scale: pads that nobody measured may be gone behind it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from small_vehicles import outcome, vehicle

from wearline.catalogue.loading import load_catalogue
from wearline.catalogue.release import load_release_rules
from wearline.errors import ReadingError
from wearline.ingest import wheel_ends
from wearline.ingest.document import inspection_from_document

UNMEASURED = {"pad_inner": None, "pad_outer": None}


def _found(reading, **more):
    return outcome(vehicle(changes={"2R": {"wear_indicator": reading} | more}))


def test_a_full_scale_with_pads_unmeasured_goes_to_the_workshop():
    """At 100 % of 23 mm a pad of 21 mm would be 2 mm below its plate on a new rotor (21 - 23, by hand)."""
    found = _found("100 %", **UNMEASURED)
    ids = {item.id for item in found.judgement.all_findings}
    assert "indicator:worn through" in ids
    assert found.road.level == 2
    text = " ".join(found.road.answers.part.split()) + str(found.road)
    assert "the end of its scale" in text


@pytest.mark.parametrize(("reading", "pads"), [("99 %", UNMEASURED), ("100 %", {})])
def test_below_the_end_or_with_measured_pads_the_reading_alone_asks_for_no_more_than_a_look(reading, pads):
    ids = {item.id for item in _found(reading, **pads).judgement.all_findings}
    assert "indicator:worn through" not in ids
    assert "wear_indicator:beyond" in ids


def test_the_tolerance_of_a_new_pad_is_data_with_a_status(monkeypatch):
    """5 % and twice the gauge's u above 21 mm are 22.4 mm; a tolerance of nothing refuses 22.0 mm too."""
    rules = load_release_rules()
    assert rules.thresholds["new_pad_tolerance"].status == "expert judgement"
    document = vehicle(changes={"1L": {"pad_inner": ["22.0 mm"] * 4, "wear_indicator": "0 %"}})

    def read():
        return inspection_from_document(
            document, where="x", today=date(2026, 11, 25), catalogue=load_catalogue()
        )

    assert np.isclose(read().wheel_ends[0].measured("pad_inner", "LT").value, 22.0e-3)
    none = replace(rules.thresholds["new_pad_tolerance"], value=0.0)
    strict = replace(rules, thresholds={**rules.thresholds, "new_pad_tolerance": none})
    monkeypatch.setattr(wheel_ends, "load_release_rules", lambda: strict)
    with pytest.raises(ReadingError, match=r"at most 21\.3 mm"):
        read()
