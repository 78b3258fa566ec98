"""Slips that comparison shows: inches typed as millimetres, the plate counted in, a corner misread."""

from __future__ import annotations

from datetime import date

import pytest
from small_vehicles import outcome, vehicle

from wearline.app.rereading import reread_as_inches
from wearline.assessment.assemble import judge
from wearline.assessment.results import Verdict
from wearline.catalogue.loading import load_catalogue
from wearline.errors import ReadingError
from wearline.ingest.document import inspection_from_document

INCHES = {
    "pad_inner": ["0.38 mm", "0.37 mm", "0.50 mm", "0.48 mm"],
    "pad_outer": ["0.52 mm", "0.51 mm", "0.39 mm", "0.39 mm"],
    "tangential_play": "0.130 mm",
    "radial_play": "0.071 mm",
    "wear_indicator": "45 %",
}
"""What a person meant in inches and typed in a millimetre field; the sound ends are about 25 times larger."""


def slipped():
    document = vehicle(changes={"1R": INCHES})
    return inspection_from_document(
        document, where="test", today=date(2026, 11, 25), catalogue=load_catalogue()
    )


def test_inches_typed_as_millimetres_are_found_and_void() -> None:
    """All eight corners and both plays 25 times smaller than elsewhere: ask, do not judge."""
    judgement = judge(slipped(), load_catalogue())
    warning = next(notice for notice in judgement.warnings if notice.code == "inches typed as millimetres")
    assert warning.where == "1R"
    assert "0.38 in" in warning.cure
    end = judgement.wheel_end("1R")
    for reading in end.readings:
        if reading.check in ("pad_inner", "pad_outer", "tangential_play", "radial_play", "pad_thinnest"):
            assert reading.verdict is Verdict.VOID
    assert "pad:metal" not in {finding.id for finding in end.findings}
    assert not [n for n in judgement.warnings if n.where in ("1L", "2L", "2R")]


def test_read_as_inches_the_play_explains_the_wedge() -> None:
    """Hand sheet: Ta 3.0, Pt 3.30 fails, T_exp 3.1 explains (X -0.1); the text as typed is kept."""
    inspection = reread_as_inches(slipped(), ["1R"], load_catalogue())
    judgement = judge(inspection, load_catalogue())
    derived = judgement.wheel_end("1R").derived
    assert 1000 * derived.taper_end_to_end_antisymmetric == pytest.approx(3.0, abs=0.1)
    assert 1000 * derived.taper_explained_by_play == pytest.approx(3.1, abs=0.05)
    play = judgement.wheel_end("1R").reading("tangential_play")
    assert play.verdict is Verdict.BEYOND
    assert 1000 * play.value == pytest.approx(3.30, abs=0.003)
    assert play.raw == "0.130 mm"


def test_a_wheel_end_that_was_not_measured_cannot_be_reread() -> None:
    with pytest.raises(ReadingError, match="no wheel end 3L"):
        reread_as_inches(slipped(), ["3L"], load_catalogue())


def test_a_length_that_becomes_impossible_is_refused() -> None:
    inspection = outcome(vehicle()).inspection
    with pytest.raises(ReadingError, match="read as inches is"):
        reread_as_inches(inspection, ["1L"], load_catalogue())


def test_one_small_play_alone_is_no_slip() -> None:
    """A new guide kit has little play: one quantity alone may be real."""
    judgement = outcome(vehicle(changes={"1R": {"tangential_play": "0.05 mm"}})).judgement
    assert not judgement.warnings
    assert judgement.wheel_end("1R").reading("tangential_play").verdict is Verdict.WITHIN


def test_a_plate_counted_in_is_asked_about_and_never_within() -> None:
    """12 mm 'left' where the indicator says worn: 9 mm of it are the plate."""
    change = {
        "wear_indicator": "80 %",
        "pad_inner": ["12.0 mm", "11.9 mm", "11.9 mm", "11.8 mm"],
        "pad_outer": ["12.3 mm", "12.2 mm", "12.2 mm", "12.1 mm"],
        "rotor_thickness": "44.5 mm",
    }
    found = outcome(vehicle(changes={"2R": change}))
    warning = next(n for n in found.judgement.warnings if n.code == "backing plate counted in")
    assert warning.where == "2R"
    worst = next(r for r in found.judgement.wheel_end("2R").readings if r.check == "pad_thinnest")
    assert worst.verdict is Verdict.UNDECIDED
    assert "without the backing plate" in worst.settle


def test_a_seized_outer_pad_is_not_taken_for_a_plate() -> None:
    """The indicator agrees with a thick outer pad when the calliper has not moved."""
    change = {
        "wear_indicator": "40 %",
        "pad_inner": ["3.4 mm"] * 4,
        "pad_outer": ["12.8 mm"] * 4,
        "slide": "stuck",
    }
    found = outcome(vehicle(changes={"1R": change | {"tangential_play": None, "radial_play": None}}))
    assert not found.judgement.warnings


def test_a_lone_corner_is_questioned() -> None:
    """Pads are nearly plane: a twist over 0.4 mm (expert judgement) asks for the corners again."""
    judgement = outcome(
        vehicle(changes={"2L": {"pad_inner": ["12.0 mm", "11.9 mm", "11.9 mm", "8.0 mm"]}})
    ).judgement
    assert [n.where for n in judgement.warnings if n.code == "pad not plane"] == ["2L"]


def test_play_on_a_stuck_calliper_is_void_by_word_and_by_force() -> None:
    for slide in ("stuck", "450 N"):
        found = outcome(vehicle(changes={"2R": {"slide": slide, "tangential_play": "0.1 mm"}}))
        play = found.judgement.wheel_end("2R").reading("tangential_play")
        assert play.verdict is Verdict.VOID
        assert "stuck" in play.reason


def test_run_out_that_does_not_repeat_is_void_even_on_a_sound_bearing() -> None:
    """Three turns 0.28, 0.11, 0.24 mm: the spread is over the uncertainty of one reading."""
    repeated = {"value": "0.21 mm", "readings": ["0.28 mm", "0.11 mm", "0.24 mm"]}
    found = outcome(vehicle(changes={"1L": {"rotor_runout": repeated}}))
    assert found.judgement.wheel_end("1L").reading("rotor_runout").verdict is Verdict.VOID
    steady = {"value": "0.07 mm", "readings": ["0.07 mm", "0.08 mm", "0.06 mm"]}
    found = outcome(vehicle(changes={"1L": {"rotor_runout": steady}}))
    assert found.judgement.wheel_end("1L").reading("rotor_runout").verdict is Verdict.WITHIN


def test_what_settles_an_undecided_reading_does_settle_it() -> None:
    """The number of repeats named for a reading, taken at the same mean, decides it (JCGM 106, 8.3)."""
    undecided = outcome(vehicle(changes={"1L": {"tangential_play": "2.90 mm"}}))
    play = undecided.judgement.wheel_end("1L").reading("tangential_play")
    assert play.verdict is Verdict.UNDECIDED
    n = int("".join(filter(str.isdigit, play.settle.split("readings")[0])))
    repeats = {"readings": ["2.90 mm"] * n}
    settled = outcome(vehicle(changes={"1L": {"tangential_play": repeats}}))
    assert settled.judgement.wheel_end("1L").reading("tangential_play").verdict is Verdict.WITHIN
    one_less = {"readings": ["2.90 mm"] * (n - 1)} if n > 2 else "2.90 mm"
    still = outcome(vehicle(changes={"1L": {"tangential_play": one_less}}))
    assert still.judgement.wheel_end("1L").reading("tangential_play").verdict is Verdict.UNDECIDED


def test_doubtful_pads_are_measured_again_before_new_ones_are_bought() -> None:
    """A bent indicator beside sound pads: renewing good pads is the tempting wrong answer."""
    from wearline.planning.job import plan_job_from

    found = outcome(vehicle(changes={"2R": {"wear_indicator": "85 %", "rotor_thickness": "44.5 mm"}}))
    assert "pads:plate doubted" in {f.id for f in found.judgement.wheel_end("2R").findings}
    axle = plan_job_from(found.inspection, found.judgement, load_catalogue()).axles[1]
    assert "S1" not in {work.code for work in axle.work if work.standing == "needed"}
    assert "pads measured again" in {work.code for work in axle.also}


def test_pads_typed_in_inches_are_measured_again_and_the_wheels_come_off() -> None:
    from wearline.planning.job import plan_job_from

    inspection = slipped()
    judgement = judge(inspection, load_catalogue())
    assert judgement.axles[0].take_off
    axle = plan_job_from(inspection, judgement, load_catalogue()).axles[0]
    assert [(work.code, work.at) for work in axle.also] == [("pads measured again", "1R")]
