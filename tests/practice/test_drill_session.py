"""A drill while it runs: prices by hand sums from the trade's ranges, commands, decisions, playing it again.

Prices: the middle of the trade's ranges of minutes (common practice, no source): wheel off 8 to 18, pads out
4 to 8, air up 5 to 10, wheel lifted 6 to 10, all for one wheel end, vehicle or axle.
"""

import pytest

from wearline.errors import InputError
from wearline.practice.drill import DrillSession, cost_of, drillable_checks, targets_of
from wearline.practice.drill_cases import draw_case, given_checks, levels
from wearline.practice.drill_commands import HELP, End, answer, reading_table, replay


@pytest.fixture(scope="module")
def case():
    return draw_case(levels()[3], 1)


@pytest.fixture
def session(case):
    return DrillSession.begin(case)


def said(session, *commands):
    for command in commands:
        session = answer(session, command).session
    return session


def test_a_drill_begins_with_the_wheels_on_readings_and_no_minutes(session):
    assert {each.test for each in session.taken} <= set(given_checks())
    assert session.minutes == 0.0
    assert not session.asked
    assert not {reading.check for each in session.taken for reading in each.readings} & {
        "total_travel",
        "pad_inner",
    }


@pytest.mark.parametrize(
    ("commands", "expected"),
    [
        (["F2 2R"], 4 + 13),
        (["F2 2R", "F3 2R"], 4 + 13 + 4 + 7.5),
        (["F3 2R", "F2 2R"], 4 + 13 + 7.5 + 4),
        (["F2 2R", "F5 2R"], 4 + 13 + 6 + 6),
        (["F5 2R"], 6 + 13 + 6),
        (["F5 2"], 2 * (6 + 13 + 6)),
        (["F2 2R", "F2 2L"], 2 * (4 + 13)),
        (["W13 1L", "W13 1R"], 3 + 8 + 3),
        (["W13 1L", "W13 2L"], 2 * (3 + 8)),
        (["W10 1L", "W10 2L", "W18"], 2 + 7.5 + 2 + 4),
        (["F2 2R", "again F2 2R"], 4 + 13 + 4),
        (["W12 1L"], 4),
        (["F11 F12 F14 2R"], 13 + 6 + 2 + 5 + 3),
    ],
)
def test_a_state_is_paid_for_once(session, commands, expected):
    """Minutes of the tests, and each state once for what it is reached for."""
    assert expected == pytest.approx(said(session, *commands).minutes)


def test_a_wheel_off_does_not_take_the_other_wheel_off(session):
    first = said(session, "F2 2R")
    check = next(check for check in drillable_checks(session.case) if check.id == "F2")
    assert cost_of(first, check, "2R") == (4.0, 0.0)
    assert cost_of(first, check, "2L") == (4.0, 13.0)


def test_the_road_is_driven_again_for_another_run(session):
    """Those of the beginning are free; another run costs the road (15 to 30 min) and 20 + 1 for each end."""
    check = next(check for check in drillable_checks(session.case) if check.id == "W4")
    ends = len(session.case.places)
    assert cost_of(session, check, "") == (20.0 + ends, 22.5)


def test_names_of_tests_will_do(session):
    assert [each.test for each in said(session, "total travel 2R").asked] == ["F2"]
    assert [each.test for each in said(session, "pad freedom 2r").asked] == ["F9"]
    assert [(each.test, each.at) for each in said(session, "F5 2").asked] == [("F5", "2L"), ("F5", "2R")]
    assert [each.at for each in said(session, "W17 2L").asked] == ["2"]
    assert [each.at for each in said(session, "spring brake").asked] == [""]


def test_a_test_done_already_is_not_charged_without_asking_again(session):
    first = said(session, "F2 2R")
    reply = answer(first, "f2 2R")
    assert reply.session.minutes == first.minutes
    assert "again F2 2R" in reply.lines[0]


def test_taken_again_it_is_a_fresh_reading(session):
    twice = said(session, "F5 2L", "again F5 2L")
    first, second = (each.readings for each in twice.asked)
    assert {reading.look for reading in first} == {0}
    assert {reading.look for reading in second} == {1}
    assert twice.latest["2L", "pad_inner", "LT"].text == second[0].text


def test_what_is_known_is_an_inspection_without_the_rest(session):
    document = said(session, "F2 2R").document()
    ends = {end["at"]: end for end in document["wheel_end"]}
    assert "total_travel" in ends["2R"]
    assert "total_travel" not in ends["2L"]
    assert "pad_inner" not in ends["2R"]
    assert set(ends) == set(session.case.places)


def test_how_and_lists_cost_nothing(session):
    for question in (
        "how F12",
        "how tangential play",
        "list",
        "list P",
        "readings",
        "readings 2L",
        "causes",
        "help",
    ):
        reply = answer(session, question)
        assert reply.session is session
        assert reply.lines
    assert any("bridge" in line for line in answer(session, "how F12").lines)
    assert answer(session, "help").lines == HELP
    assert answer(session, "   ").session is session


def test_decisions_are_kept_and_taken_back(session):
    decided = said(
        session, "cause A3 2R", "cause both guide pins seized 2L", "cause U1", "job S5 S1 2R", "job s2 1"
    )
    assert decided.causes == (("2R", "A3"), ("2L", "G4"), ("vehicle", "U1"))
    assert decided.work == (("2", "S5"), ("2", "S1"), ("1", "S2"))
    less = said(decided, "not G4 2L", "not U1", "not S2 1")
    assert less.causes == (("2R", "A3"),)
    assert less.work == (("2", "S5"), ("2", "S1"))
    none = said(less, "cause none", "job none")
    assert none.causes == none.work == ()
    assert none.no_cause
    assert none.no_work
    assert "A3" in " ".join(answer(less, "decided").lines)


@pytest.mark.parametrize(
    ("command", "what"),
    [
        ("F12", "is done at a wheel end"),
        ("frobnicate 2L", "is no test here"),
        ("rotor 2L", "is more than one test here"),
        ("2L", "names no test"),
        ("F6 2L", "has no reading of its own"),
        ("how nonsense", "is no test here"),
        ("cause", "'' is no cause"),
        ("cause A3", "wants one place"),
        ("cause A3 1L 1R", "wants one place"),
        ("cause A3 vehicle", "cannot be a cause of a vehicle"),
        ("cause U1 1L", "cannot be a cause of a wheel end"),
        ("cause adjuster 2L", "is more than one cause"),
        ("job", "is not an order"),
        ("job S7 1", "is not an order"),
        ("job S1", "is not an order"),
        ("job S1 9", "is not an order"),
        ("not A3 2R", "was not blamed"),
        ("not S1 1", "was not ordered"),
        ("done", "no cause has been decided"),
    ],
)
def test_what_is_not_understood_is_refused_and_changes_nothing(session, command, what):
    with pytest.raises(InputError, match=what) as refused:
        answer(session, command)
    assert refused.value.cure


def test_done_needs_the_work_as_well(session):
    with pytest.raises(InputError, match="no work has been decided"):
        answer(said(session, "cause none"), "done")


def test_a_test_that_shows_nothing_is_not_charged(session):
    with pytest.raises(InputError, match="shows nothing here"):
        answer(session, "F32 2R")


@pytest.mark.parametrize(("word", "end"), [("later", End.LATER), ("drop", End.DROP)])
def test_a_drill_can_be_left(session, word, end):
    assert answer(session, word).end is end


def test_a_drill_is_its_commands_played_again(session):
    """Broken off and played again, it stands where it stood."""
    commands = [
        "F2 F3 2R",
        "again F2 2R",
        "F5 2",
        "cause A3 2R",
        "cause A1 2L",
        "not A1 2L",
        "job S5 2",
        "job none",
    ]
    left = said(session, *commands)
    again = replay(session.case, left.commands)
    assert again.taken == left.taken
    assert (again.causes, again.work, again.no_work, again.minutes) == (
        left.causes,
        left.work,
        True,
        left.minutes,
    )


def test_commands_of_another_case_are_refused(session):
    with pytest.raises(InputError, match="is no test here"):
        replay(session.case, ["F2 9R"])


def test_the_table_has_a_column_for_each_wheel_end(session):
    lines = reading_table(session, session.case.places)
    head = next(line for line in lines if line.split() == list(session.case.places))
    assert head
    wide = draw_case(levels()[0], 3)
    assert len(wide.places) > 4
    assert sum("1L" in line.split() for line in reading_table(DrillSession.begin(wide), wide.places)) == 1


def test_where_a_test_is_done_follows_from_the_catalogue(case):
    checks = {check.id: check for check in drillable_checks(case)}
    assert targets_of(checks["F2"], case, ["2"]) == ("2L", "2R")
    assert targets_of(checks["W17"], case, ["2L", "2R"]) == ("2",)
    assert targets_of(checks["W18"], case, ["2L"]) == ("",)
    assert "F6" not in checks


def test_a_person_knows_what_the_diagnosis_knows(session):
    """Usual wear of peers, distance and words of the driver stand on both tables."""
    document = session.document()
    table = "\n".join(reading_table(session, session.case.places))
    for axle, rate in document["peer_wear_mm_per_10000_km"].items():
        assert f"axle {axle} {rate:g} mm" in table
    assert f"{document['inspection']['odometer_km']} km" in table
    for end in document["wheel_end"]:
        for word in end.get("noticed", ()):
            assert word in table
