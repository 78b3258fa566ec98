"""How values, uncertainties and limits are written."""

from dataclasses import replace

import pytest
import report_scenes as scenes

from wearline.reports.words import (
    breakable,
    converted_text,
    distance_text,
    expanded_text,
    label_parts,
    limit_text,
    margin_text,
    place_words,
    probability_text,
    quantity_text,
    settle_text,
    shown_text,
    value_text,
)
from wearline.uncertainty.rules import Sense
from wearline.units import Kind


def test_a_computed_value_has_the_decimals_that_its_uncertainty_supports():
    """JCGM 100:2008, 7.2.6: with u = 27 milliohm, 10.057 62 ohm is written 10.058 ohm; here as mm, k = 2."""
    reading = scenes.reading("1L", "x", "x", "10.05762 mm", 0.0135, scenes.PAD, derived=True)
    assert value_text(reading) == "10.058 mm"
    assert expanded_text(reading) == "± 0.027 mm"


def test_what_was_typed_stays_as_it_was_typed():
    reading = scenes.reading("1L", "total_travel", "x", "1.40 mm", 0.05, scenes.TRAVEL)
    assert value_text(reading) == "1.40 mm"
    assert converted_text(reading) == "0.055 in"


def test_a_reading_in_the_unit_of_its_limit_is_not_converted():
    assert converted_text(scenes.reading("1L", "x", "x", "0.130 in", 0.003, scenes.PLAY)) == ""


def test_the_margin_is_written_in_the_unit_of_the_limit():
    """0.130 in against 0.118 in: 0.012 in beyond."""
    assert margin_text(scenes.reading("1L", "x", "x", "0.130 in", 0.003, scenes.PLAY)) == "0.012 in beyond"
    assert margin_text(scenes.reading("1L", "x", "x", "5.0 mm", 0.15, scenes.PAD)) == "2.0 mm to the limit"


def test_a_margin_in_percent_is_one_of_points():
    reading = scenes.reading("1L", "x", "x", "40 %", 6, scenes.INDICATOR, kind=Kind.FRACTION)
    assert margin_text(reading) == "35 points to the limit"


def test_a_count_has_no_margin():
    held = scenes.limit("a", "a", "0", Sense.AT_MOST, kind=Kind.COUNT)
    assert margin_text(scenes.reading("1L", "a", "faces", "2", 0.0, held, kind=Kind.COUNT)) == ""


def test_what_settles_a_reading_is_said_once():
    reading = scenes.reading("1L", "x", "x", "3.1 mm", 0.15, scenes.PAD)
    assert settle_text(reading) == "to settle it: three more readings with the same gauge"
    assert (
        settle_text(replace(reading, settle="a better gauge would settle it"))
        == "a better gauge would settle it"
    )
    assert settle_text(replace(reading, settle="")) == ""


def test_an_uncertainty_of_a_temperature_has_no_offset():
    held = scenes.limit("t", "t", "80 degC", Sense.AT_MOST, kind=Kind.TEMPERATURE)
    reading = replace(scenes.reading("1L", "t", "t", "50 degC", 0.0, held, kind=Kind.TEMPERATURE), u=5.0)
    assert expanded_text(reading) == "± 10 K"


@pytest.mark.parametrize(
    ("probability", "text"),
    [(0.9999, ">99 %"), (0.0001, "<1 %"), (0.914, "91 %"), (None, ""), (float("nan"), ""), (1.0, ">99 %")],
)
def test_a_probability_is_never_rounded_to_certainty(probability, text):
    assert probability_text(probability) == text


def test_a_limit_says_whether_it_passes_itself():
    assert limit_text(scenes.TRAVEL) == "at most 0.080 in (2.03 mm)"
    assert limit_text(scenes.PAD) == "at least 3 mm"
    assert limit_text(replace(scenes.PAD, passes_at_limit=False)) == "over 3 mm"
    assert limit_text(replace(scenes.TRAVEL, passes_at_limit=False)) == "under 0.080 in (2.03 mm)"


def test_units_stand_in_their_printed_form():
    assert quantity_text(391.15, "degC") == "118 °C"
    assert quantity_text(2.5, "N m", 1) == "2.5 N·m"
    assert quantity_text(3.0, "1", 0) == "3"


def test_text_is_freed_of_signs_that_paper_cannot_hold():
    assert shown_text("a\x00b\x1b[0m\tc\r\nd\ufeff") == "ab[0m c d"
    assert shown_text("12\u202e.5 mm") == "12.5 mm"
    assert shown_text("\ud800 lone") == " lone"
    assert shown_text("Привет, שלום, 日本") == "Привет, שלום, 日本"


def test_long_words_can_be_broken_and_lose_nothing():
    word = "W" * 180
    assert breakable(word).replace("\u200b", "") == word
    assert max(len(part) for part in breakable(word).split("\u200b")) == 12
    assert breakable("a sentence of ordinary words") == "a sentence of ordinary words"


def test_names_come_in_two_parts():
    assert label_parts("total calliper travel (running clearance, both sides)") == (
        "total calliper travel",
        "running clearance, both sides",
    )
    assert label_parts("inner pad, friction left") == ("inner pad", "friction left")
    assert label_parts("rotor thickness") == ("rotor thickness", "")


def test_places_and_distances_are_written_in_words():
    assert place_words("1L") == "axle 1, left"
    assert place_words("T2R") == "trailer axle 2, right"
    assert place_words("3") == "axle 3"
    assert place_words("") == "the vehicle"
    assert distance_text(412_300_000.0) == "412\u00a0300\u00a0km"
    assert distance_text(None) == "not given"
