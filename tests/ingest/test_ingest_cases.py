"""The eight invented inspections load, with every reading as it was typed."""

from __future__ import annotations

import tomllib
from datetime import date
from fractions import Fraction

import pytest
from ingest_support import CASE_FILES, CASES, read_path

from wearline.records.place import WheelEndPlace
from wearline.records.readings import CORNERS, Measured, Observed


def test_there_are_eight_cases() -> None:
    assert [path.stem for path in CASE_FILES] == ["A1", "A10", "A2", "A3", "A4", "A6", "B2", "B5"]


@pytest.mark.parametrize("path", CASE_FILES, ids=lambda path: path.stem)
def test_every_reading_of_a_case_is_kept_as_typed(path) -> None:
    """Compared with what the TOML reader of the standard library sees in the same file."""
    document = tomllib.loads(path.read_text())
    inspection = read_path(path)
    assert inspection.vehicle.id == document["vehicle"]["id"]
    assert inspection.vehicle.test_mass == document["vehicle"]["test_mass_kg"]
    assert inspection.taken_on == date(2026, 9, 14)
    assert inspection.notices == ()
    assert len(inspection.wheel_ends) == len(document["wheel_end"])
    for wheel_end, table in zip(inspection.wheel_ends, document["wheel_end"], strict=True):
        assert str(wheel_end.place) == table["at"]
        typed = {}
        for key, value in table.items():
            if key in ("pad_inner", "pad_outer"):
                typed |= {(key, corner): text for corner, text in zip(CORNERS, value, strict=True)}
            elif key not in ("at", "noticed", "note"):
                typed[key, ""] = str(value)
        assert {key: reading.raw for key, reading in wheel_end.readings.items()} == typed
        assert wheel_end.noticed == tuple(table.get("noticed", []))
        assert wheel_end.note == table.get("note", "")


@pytest.mark.parametrize(
    ("case", "place", "field", "spot", "si", "resolution", "unit"),
    [
        # 1 in = 25.4 mm exactly (international yard and pound agreement, 1959); 1 thou = 0.0254 mm.
        ("B2", "1R", "tangential_play", "", Fraction(130 * 254, 10**7), Fraction(254, 10**7), "in"),
        ("B2", "1R", "total_travel", "", Fraction(55 * 254, 10**7), Fraction(254, 10**7), "thou"),
        ("B2", "1R", "pad_inner", "TT", Fraction(126, 10**4), Fraction(1, 10**4), "mm"),
        ("A1", "1R", "brake_force", "", Fraction(14200), Fraction(100), "kN"),
        # 0 degC = 273.15 K (SI Brochure, 9th edition, 2.3.1).
        ("A1", "1R", "temperature", "", Fraction(171) + Fraction(27315, 100), Fraction(1), "degC"),
        ("A10", "3L", "rotor_crack_length", "", Fraction(1), Fraction(1, 100), "%"),
        ("A1", "1L", "abutment_faces_caught", "", Fraction(0), Fraction(1), "1"),
    ],
)
def test_values_are_the_nearest_float_of_the_exact_conversion(
    case, place, field, spot, si, resolution, unit
) -> None:
    wheel_end = read_path(CASES / f"{case}.toml").wheel_end(WheelEndPlace.parse(place))
    assert wheel_end is not None
    reading = wheel_end.readings[field, spot]
    assert isinstance(reading, Measured)
    assert (float(si), float(resolution), unit) == (reading.value, reading.resolution, reading.unit)


def test_slide_is_a_force_or_a_word() -> None:
    inspection = read_path(CASES / "A1.toml")
    left, right = inspection.wheel_ends[:2]
    assert left.readings["slide", ""] == Measured(55.0, "55 N", "N", 1.0)
    assert right.readings["slide", ""] == Observed("stuck", "stuck")


def test_distances_and_rates_become_si() -> None:
    """km_since_pads 143400 is 143.4e6 m; 0.7 mm per 10 000 km is 0.7e-3 m / 1e7 m."""
    inspection = read_path(CASES / "A1.toml")
    assert inspection.distance_since_pads == 143_400_000.0
    assert inspection.peer_wear == {"1": 7e-11, "2": 6.2e-11}
    assert inspection.rule_packs == ("none",)


def test_what_was_not_taken_is_absent() -> None:
    """In A1 the play of 1R could not be taken because the calliper is stuck: it is no zero."""
    right = read_path(CASES / "A1.toml").wheel_ends[1]
    assert ("tangential_play", "") not in right.readings
    assert ("radial_play", "") not in right.readings
