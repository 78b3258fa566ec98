"""Every form of one reading: text, number with a unit from elsewhere, table, repeats, words, refusals."""

from __future__ import annotations

import pytest
from ingest_support import SMALL, TODAY, read_text

from wearline.catalogue.loading import load_catalogue
from wearline.errors import InputError, QuantityError, ReadingError
from wearline.ingest.document import inspection_from_document
from wearline.records.readings import Measured, Observed, Unmeasurable


def read_one(value, field="total_travel", facts=None):
    """Read a document with one reading of one wheel end."""
    document = {
        "vehicle": {"id": "V1", "design": "generic-22.5"},
        "axle": [{"id": "1", "role": "steer"}],
        "inspection": {"taken_on": "2026-09-14"} | (facts or {}),
        "wheel_end": [{"at": "1L", field: value, "note": "so that something is there"}],
    }
    inspection = inspection_from_document(document, where="test", today=TODAY, catalogue=load_catalogue())
    readings = inspection.wheel_ends[0].readings
    return readings.get((field, "")) or {spot: reading for (_, spot), reading in readings.items()} or None


@pytest.mark.parametrize("value", ["", "  ", "-", "–", "not taken", "Not Taken", None])
def test_an_empty_value_is_not_taken(value) -> None:
    assert read_one(value) is None


def test_decimal_comma_is_read() -> None:
    assert read_one("1,4 mm") == Measured(0.0014, "1,4 mm", "mm", 0.0001)


@pytest.mark.parametrize(
    ("units", "value", "expected"),
    [
        ("metric", "1.40", Measured(0.0014, "1.40", "mm", 1e-05)),
        ("Metric", 1.4, Measured(0.0014, "1.4", "mm", 0.0001)),
        ("inch", "0.055", Measured(0.001397, "0.055", "in", 2.54e-05)),
        ({"length": "thou"}, 55, Measured(0.001397, "55", "thou", 2.54e-05)),
        ({"length": "mm", "total_travel": "thou"}, 55, Measured(0.001397, "55", "thou", 2.54e-05)),
        ({"length": "mm"}, "55 thou", Measured(0.001397, "55 thou", "thou", 2.54e-05)),
    ],
)
def test_a_bare_number_takes_the_unit_of_the_inspection(units, value, expected) -> None:
    assert read_one(value, facts={"units": units}) == expected


def test_the_word_metric_gives_every_field_its_usual_unit() -> None:
    """A brake force is written in kN and a pull at the calliper in N, though both are forces."""
    metric = {"units": "metric"}
    assert read_one("21.5", "brake_force", metric) == Measured(21500.0, "21.5", "kN", 100.0)
    assert read_one("55", "slide", metric) == Measured(55.0, "55", "N", 1.0)


@pytest.mark.parametrize(
    ("units", "metres"),
    [("metric", 256_200e3), ("inch", 256_200 * 1609.344), ({"distance": "mi"}, 256_200 * 1609.344)],
)
def test_a_bare_odometer_takes_the_unit_of_the_inspection(units, metres) -> None:
    """1 mi = 1609.344 m exactly (international yard and pound agreement, 1959)."""
    document = {
        "vehicle": {"id": "V1", "design": "generic-22.5"},
        "axle": [{"id": "1", "role": "steer"}],
        "inspection": {"taken_on": "2026-09-14", "odometer": "256 200", "units": units},
        "wheel_end": [{"at": "1L", "slide": "stuck"}],
    }
    inspection = inspection_from_document(document, where="test", today=TODAY, catalogue=load_catalogue())
    assert inspection.odometer == pytest.approx(metres, rel=1e-15)


def test_a_bare_number_is_refused_without_units() -> None:
    with pytest.raises(QuantityError, match=r"1L total_travel: '1.40' has no unit.*'1.40 mm'"):
        read_one("1.40")


def test_a_table_gives_unit_uncertainty_and_gauge() -> None:
    value = {"value": "1.41 mm", "u": "0.05 mm", "gauge": "dial-7"}
    assert read_one(value) == Measured(0.00141, "1.41 mm", "mm", 1e-05, u=5e-05, gauge="dial-7")


def test_the_uncertainty_of_a_temperature_is_a_difference() -> None:
    """245 degF = 118.33 degC, but 9 degF of uncertainty are 5 K, without any offset."""
    reading = read_one({"value": "245 degF", "u": "9 degF"}, "temperature")
    assert reading.value == pytest.approx(273.15 + (245 - 32) / 1.8, abs=1e-12)
    assert reading.u == 5.0


def test_an_uncertainty_without_unit_takes_that_of_the_reading() -> None:
    assert read_one({"value": "55 thou", "u": "2"}).u == pytest.approx(2 * 25.4e-6, rel=1e-15)


def test_repeats_give_their_mean_and_are_kept() -> None:
    """Mean of 0.28, 0.11 and 0.24 mm is 0.21 mm."""
    expected = Measured(
        0.00021, "0.28 mm; 0.11 mm; 0.24 mm", "mm", 1e-05, repeats=(0.00028, 0.00011, 0.00024)
    )
    assert read_one({"readings": ["0.28 mm", "0.11 mm", "0.24 mm"]}, "rotor_runout") == expected
    assert read_one("0.28 mm; 0.11 mm; 0.24 mm", "rotor_runout") == expected


def test_repeats_in_one_text_may_share_the_last_unit() -> None:
    reading = read_one("0.28; 0.11; 0.24 mm", "rotor_runout")
    assert reading.raw == "0.28; 0.11; 0.24 mm"
    assert reading.repeats == (0.00028, 0.00011, 0.00024)


def test_a_value_may_stand_for_its_repeats() -> None:
    reading = read_one({"value": "0.28 mm", "readings": ["0.28 mm", "0.11 mm"]}, "rotor_runout")
    assert (reading.value, reading.repeats) == (0.00028, (0.00028, 0.00011))
    assert reading.raw == "0.28 mm of 0.28 mm; 0.11 mm"


def test_a_value_away_from_its_repeats_is_refused() -> None:
    with pytest.raises(ReadingError, match=r"given as 0.40 mm, which is not among its readings"):
        read_one({"value": "0.40 mm", "readings": ["0.28 mm", "0.11 mm"]}, "rotor_runout")


def test_repeats_in_different_units_are_refused() -> None:
    with pytest.raises(ReadingError, match="in different units"):
        read_one({"readings": ["0.28 mm", "11 thou"]}, "rotor_runout")


@pytest.mark.parametrize("readings", [[], "0.28 mm", {}, 3])
def test_readings_have_to_be_a_list(readings) -> None:
    with pytest.raises(ReadingError, match="the readings of 1L rotor_runout are"):
        read_one({"readings": readings}, "rotor_runout")


@pytest.mark.parametrize(
    "value",
    [
        {"cannot": "pins seized"},
        "cannot: pins seized",
        "Cannot: because pins seized",
        "cannot : because: pins seized ",
        {"value": "cannot: pins seized"},
    ],
)
def test_what_cannot_be_measured_keeps_the_reason(value) -> None:
    assert read_one(value, "tangential_play") == Unmeasurable("pins seized")


def test_a_pad_that_cannot_be_measured_is_so_at_every_corner() -> None:
    reason = Unmeasurable("pad welded in by rust")
    expected = dict.fromkeys(("LT", "LB", "TT", "TB"), reason)
    assert read_one({"cannot": "pad welded in by rust"}, "pad_outer") == expected
    assert read_one("cannot: pad welded in by rust", "pad_outer") == expected


def test_corners_may_be_named() -> None:
    named = {"TB": "9.3 mm", "LT": "9.8 mm", "lb": "9.7 mm", "TT": "9.5 mm"}
    assert read_one(named, "pad_inner") == read_one(["9.8 mm", "9.7 mm", "9.5 mm", "9.3 mm"], "pad_inner")


@pytest.mark.parametrize("value", ["cannot:", {"cannot": ""}, {"cannot": " "}])
def test_a_refusal_needs_a_reason(value) -> None:
    with pytest.raises(ReadingError, match="no reason is given"):
        read_one(value)


def test_a_reading_cannot_be_both_taken_and_refused() -> None:
    with pytest.raises(ReadingError, match="both has a value and cannot be measured"):
        read_one({"value": "1 mm", "cannot": "stuck"})


@pytest.mark.parametrize("text", ["torn", "Torn", " TORN ", "torn."])
def test_words_match_whatever_their_capitals_and_spaces(text) -> None:
    assert read_one(text, "guide_pin_boot") == Observed("torn", text)


@pytest.mark.parametrize("text", ["advances  and holds", "Advances-and-holds", "advances_and_holds"])
def test_words_match_whatever_joins_them(text) -> None:
    assert read_one(text, "adjuster_test") == Observed("advances and holds", text)


def test_an_unknown_word_names_the_words_and_the_nearest() -> None:
    with pytest.raises(
        ReadingError, match=r"'tron', .*Allowed: sound, leaks, torn, missing. Did you mean 'torn'"
    ):
        read_one("tron", "guide_pin_boot")


def test_a_field_of_words_or_a_force_names_both() -> None:
    with pytest.raises(ReadingError, match="Allowed: free, stiff, stuck, blocked, or a force with its unit"):
        read_one("loose", "slide")


def test_a_word_may_stand_in_a_column_with_a_unit() -> None:
    assert read_one({"value": "stuck", "unit": "N"}, "slide") == Observed("stuck", "stuck")


def test_words_take_no_uncertainty() -> None:
    with pytest.raises(ReadingError, match="but no number"):
        read_one({"value": "torn", "u": "1 mm"}, "guide_pin_boot")


def test_free_text_is_kept() -> None:
    assert read_one("24 in2 L", "chamber_size") == Observed("24 in2 L", "24 in2 L")
    assert read_one(24, "chamber_size") == Observed("24", "24")


@pytest.mark.parametrize("value", [0, "0", "0 pcs", 8])
def test_a_count_needs_no_unit(value) -> None:
    assert isinstance(read_one(value, "abutment_faces_caught"), Measured)


@pytest.mark.parametrize("value", [9, -1, 2.5, "2.5"])
def test_a_count_is_whole_and_possible(value) -> None:
    with pytest.raises(InputError, match=r"not a count|0 to 8 is possible"):
        read_one(value, "abutment_faces_caught")


@pytest.mark.parametrize(
    ("value", "field", "message"),
    [
        (
            "62 mm",
            "total_travel",
            r"total_travel of 1L is 62 mm; 0 mm to 10 mm is possible. .*Write '62 thou'",
        ),
        (62, "total_travel", r"is 62 mm; .*Write '62 thou'"),
        ("-1 mm", "total_travel", "Check the sign"),
        ("130 mm", "tangential_play", "Write '130 thou'"),
        ("1500 kN", "brake_force", r"Was it read in daN\? Write '1500 daN'"),
        ("120 %", "rotor_crack_length", "0 % to 100 % is possible"),
        ("2000 degC", "temperature", "-40 degC to 900 degC is possible"),
        ("22 kg", "wheel_load", r"100 kg to 15000 kg is possible"),
    ],
)
def test_what_no_gauge_can_show_is_refused_with_the_likely_slip(value, field, message) -> None:
    with pytest.raises(ReadingError, match=message):
        read_one(value, field, {"units": "metric"})


def test_the_ends_of_the_possible_range_are_possible() -> None:
    assert read_one("10 mm").value == 0.01
    assert read_one("0 mm").value == 0.0


def test_a_pad_thicker_than_new_asks_for_the_plate() -> None:
    """The generic 22.5-inch design has 21 mm of friction on a plate of 9 mm: 30 mm is both together."""
    with pytest.raises(
        ReadingError, match=r"is 30 mm; a new pad of generic-22.5 has 21.0 mm .*plate \(9 mm\)"
    ):
        read_one(["30 mm", "30 mm", "30 mm", "30 mm"], "pad_inner")
    assert read_one(["21.2 mm"] * 4, "pad_inner")["LT"].value == 0.0212


@pytest.mark.parametrize(
    ("value", "message"),
    [
        (["9.8 mm", "9.7 mm", "9.5 mm"], "pad_inner has 3 of 4 corners"),
        (["9.8 mm", "9.7 mm", "9.5 mm", ""], "has 3 of 4 corners; TB is missing"),
        ({"LT": "9.8 mm"}, "has 1 of 4 corners; LB, TT, TB is missing"),
        (["9.8 mm"] * 5, "has 5 of 4 corners"),
        ("9.8 mm", "4 readings in the order LT, LB, TT, TB"),
        ({"XX": "9.8 mm"}, "'XX' is not a known key of pad_inner"),
    ],
)
def test_a_pad_has_four_corners_or_none(value, message) -> None:
    with pytest.raises(ReadingError, match=message):
        read_one(value, "pad_inner")


def test_empty_corners_are_not_taken() -> None:
    assert read_one(["", "", "", ""], "pad_inner") is None
    assert read_one([], "pad_inner") is None


@pytest.mark.parametrize(
    ("value", "message"),
    [
        (True, "is true"),
        (["1 mm"], "is a list"),
        ({"value": ["1 mm"]}, "has a value that is a list"),
        ({"value": {"value": "1 mm"}}, "has a value that is a table"),
        ({"value": "1 mm", "volume": 3}, "'volume' is not a known key of a reading. .*mean 'value'"),
        (float("nan"), "total_travel is nan"),
        (float("inf"), "total_travel is inf"),
        (10**40, "a number of very many digits"),
        (TODAY, "turned '1/16' into a date"),
        (object(), "a value of type object"),
        ({"u": "1 mm"}, "has an uncertainty, a gauge or repeated readings, but no number"),
    ],
)
def test_what_is_no_reading_is_refused(value, message) -> None:
    with pytest.raises(InputError, match=message):
        read_one(value)


@pytest.mark.parametrize("u", ["0 mm", "-1 mm"])
def test_an_uncertainty_is_more_than_zero(u) -> None:
    with pytest.raises(ReadingError, match="greater than zero"):
        read_one({"value": "1 mm", "u": u})


def test_an_uncertainty_above_the_whole_range_is_refused() -> None:
    with pytest.raises(ReadingError, match="more than the field can span"):
        read_one({"value": "1 mm", "u": "5 in"})


@pytest.mark.parametrize("text", ["14 kPa", "2 psi/min", "2 psi per minute"])
def test_a_pressure_loss_may_say_per_minute(text, tmp_path) -> None:
    inspection = read_text(tmp_path, SMALL + f'[vehicle_checks]\nair_loss_released = "{text}"\n')
    reading = inspection.vehicle_readings["air_loss_released", ""]
    assert reading.raw == text
    # 1 psi = 6.894757 kPa (NIST SP 811, appendix B.8).
    assert reading.value == pytest.approx(14000 if "kPa" in text else 2 * 6894.757, rel=1e-6)
