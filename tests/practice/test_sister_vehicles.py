"""The sister buses: invented, the same for the same seed, with materials and batches in their files."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from wearline.catalogue.loading import load_catalogue
from wearline.errors import ReadingError
from wearline.ingest.document import inspection_from_document
from wearline.practice.cases import typical_vehicle
from wearline.practice.fleet import SCENARIO_DAY
from wearline.practice.life import Repair, VehicleLife
from wearline.practice.sisters import sister_vehicles, true_material_ratio

FLEET = sister_vehicles(3)


def test_every_inspection_is_read_and_carries_material_batch_and_route():
    catalogue = load_catalogue()
    seen = set()
    for item in FLEET:
        inspection = inspection_from_document(
            item.inspection.document, where=item.vehicle, today=SCENARIO_DAY, catalogue=catalogue
        )
        assert "invented" in inspection.note
        assert inspection.vehicle.labels["route"] in ("north", "hills")
        seen |= {end.word("pad_part") for end in inspection.wheel_ends}
        assert {end.word("calliper_batch") for end in inspection.wheel_ends} <= {"2024-31", "2023-12"}
    assert seen == {"plain", "hard"}
    assert len({item.vehicle for item in FLEET}) == 12


def test_the_same_seed_gives_the_same_buses_and_a_negative_one_is_refused():
    again = sister_vehicles(3, ends_on=date(2024, 2, 29))
    first, second = FLEET[5].inspection.document, again[5].inspection.document
    assert first["wheel_end"] == second["wheel_end"]
    with pytest.raises(ReadingError, match="seed is -1"):
        sister_vehicles(-1)


def test_boots_tear_where_the_story_says():
    torn = {
        (item.vehicle, end["at"])
        for item in FLEET
        for end in item.inspection.document["wheel_end"]
        if end.get("guide_pin_boot") in ("torn", "leaks", "missing")
    }
    weak = {place for place in torn if int(place[0].split()[1]) < 26}
    assert 4 <= len(weak) <= 6
    assert len(torn - weak) <= 2


def test_another_friction_material_wears_as_it_is_told_to():
    """Pads at 0.78 of the usual wear lose 0.78 of the friction over the same road (invented factor)."""
    lost = {}
    for factor in (1.0, 0.78):
        life = VehicleLife(typical_vehicle("city bus"), rng=np.random.default_rng(1))
        life.fit_friction("1", wear=factor, faces=1.0)
        before = life.thinnest["1L"]
        life.advance(2e7)
        lost[factor] = before - life.thinnest["1L"]
    assert lost[0.78] / lost[1.0] == pytest.approx(true_material_ratio(), rel=0.03)
    with pytest.raises(ReadingError, match="wear is 20 times the usual"):
        life.fit_friction("1", wear=20.0, faces=1.0)
    assert life.torn_boots == ()
    life.repair(Repair("pads", "1"))
