"""What a report says of an inspection as a whole."""

from dataclasses import replace
from datetime import date

import report_scenes as scenes

from wearline.assessment.results import Derived
from wearline.assessment.road_results import BrakeCount, Capability
from wearline.catalogue.model import Grade
from wearline.planning.results import Hours
from wearline.reports.content import found_paragraph, report_content
from wearline.reports.derived_table import derived_rows
from wearline.reports.end_content import SourceList
from wearline.reports.road_words import capability_lines, count_text, grade_words, hours_text, sentence

DAY = date(2026, 9, 15)


def content(catalogue, *arguments, **options):
    return report_content(*scenes.scene(*arguments, **options), catalogue=catalogue, generated_on=DAY)


def test_the_paragraph_says_what_is_beyond_what_is_missing_and_which_wheels_come_off():
    _, judgement, _, _ = scenes.scene(2)
    assert found_paragraph(judgement) == (
        "1 of 4 wheel ends has something beyond a limit or faulty: 1R (taper, total travel, adjuster test, "
        "guide-pin boot and tangential play). Nothing was taken at 2R, so nothing is known there. A complete "
        "inspection would have taken more at 1R. The wheels have to come off axle 1 to look. All ends wear "
        "faster than their peers: look for a cause of the vehicle."
    )


def test_nothing_beyond_is_never_called_good():
    car = scenes.vehicle(1)
    judgement = scenes.judgement(car, [scenes.sound_end("1L"), scenes.sound_end("1R")])
    text = found_paragraph(judgement)
    assert text.startswith("Nothing that was taken is beyond a limit.")


def test_what_was_not_given_is_said(catalogue):
    inspection, judgement, road, plan = scenes.scene(2, inspector="")
    inspection = replace(inspection, odometer=None, qualification="", place="")
    made = report_content(inspection, judgement, road, plan, catalogue=catalogue, generated_on=DAY)
    identity = dict(made.identity)
    for name in ("odometer", "by", "qualification", "at"):
        assert identity[name] == "not given"


def test_sources_are_numbered_in_the_order_of_their_first_use(catalogue):
    sources = SourceList(catalogue.sources)
    assert [sources.number(key) for key in ("cfr-393-47", "common-practice", "cfr-393-47")] == [1, 2, 1]
    lines = sources.lines()
    assert [(line.number, line.key) for line in lines] == [(1, "cfr-393-47"), (2, "common-practice")]
    assert lines[0].grade == "text read"
    assert lines[1].grade == "no document"


def test_a_source_that_the_catalogue_does_not_know_is_unverified(catalogue):
    sources = SourceList(catalogue.sources)
    sources.number("my-own")
    assert sources.lines()[0].grade == "unverified"
    assert sources.wording("my-own") == "my-own"


def test_every_grade_of_the_catalogue_has_words():
    for grade in Grade:
        assert grade_words(grade) != grade


def test_a_warning_that_two_parts_give_is_printed_once(catalogue):
    inspection, judgement, road, plan = scenes.scene(1)
    judgement = replace(judgement, warnings=inspection.notices + judgement.warnings)
    made = report_content(inspection, judgement, road, plan, catalogue=catalogue, generated_on=DAY)
    assert len(made.doubts) == 2


def test_spots_of_one_check_share_a_block(catalogue):
    worn = content(catalogue, 2).axles[0].ends[1]
    pads = [block for block in worn.blocks if block.label in ("inner pad", "outer pad")]
    assert [len(block.lines) for block in pads] == [4, 4]
    assert [line.spot for line in pads[0].lines] == ["LT", "LB", "TT", "TB"]
    law = pads[1].limits[1]
    assert law.text == "law: at least 1/8 in (3.2 mm)"
    # The thinnest corner, 3.1 mm, speaks for all four: 1/8 in is 3.175 mm.
    assert law.verdict.startswith("beyond, P")


def test_a_value_without_a_limit_is_listed_and_has_no_ruler(catalogue):
    inspection, judgement, road, plan = scenes.scene(1)
    force = scenes.reading("1L", "brake_force", "brake force", "21.5 mm", 0.3, None, gauge="roller")
    end = replace(scenes.sound_end("1L"), readings=(force,))
    judgement = replace(judgement, wheel_ends=(end, *judgement.wheel_ends[1:]))
    made = report_content(inspection, judgement, road, plan, catalogue=catalogue, generated_on=DAY)
    shown = made.axles[0].ends[0]
    assert shown.blocks == ()
    assert [(line.word, line.verdict, line.reason) for line in shown.observed] == [
        ("21.5 mm ± 0.60 mm", "no limit", "roller")
    ]


def test_derived_values_stand_in_workshop_units():
    """0.7 mm in 10 000 km is 7e-11 m/m; 400 K is 127 degC; 15.5 mrad is 0.0155 rad."""
    rows = {
        row.name: row.value
        for row in derived_rows(
            Derived(
                wear_rate_inner=7e-11,
                temperature_normal=400.15,
                tilt_from_play=0.0155,
                temperature_above_normal=-3.0,
                taper_excess=-0.0002,
                taper_excess_u=0.0001,
                new_pads_would_rub=True,
            )
        )
    }
    assert rows == {
        "wear since new, inner pad": "0.70 mm/10 000 km",
        "normal temperature of the vehicle": "127 °C",
        "greatest tilt that the play allows": "15.5 mrad",
        "temperature above the vehicle's normal": "-3 K",
        "wedge beyond what the play explains": "-0.20 mm ± 0.20 mm",
        "would square new pads rub with this play": "yes, at one end",
    }


def test_nothing_derived_gives_no_rows():
    assert derived_rows(Derived()) == ()


def test_a_count_says_what_it_does_not_know():
    count = BrakeCount(1, 6, 1 / 6, 2, False, (("2L", "crack"),), ("3R",))
    assert count_text(count) == (
        "1 of 6 brakes defective, 16.7 %: this does not meet the rule for out of service, for which 2 would "
        "be enough. Not known, because nothing was taken that could show it: 3R."
    )


def test_no_force_is_no_capability():
    assert capability_lines(Capability(None, None, None, None, (), ())) == [
        "No brake force was measured: the capability is not known."
    ]


def test_hours_and_sentences():
    assert hours_text(Hours(2.6, 4.3, "")) == "2.6 to 4.3 h, one person"
    assert hours_text(Hours(0.0, 0.0, "")) == "no work"
    assert sentence("not measured") == "Not measured."
    assert sentence("") == ""
