"""The score: hand sums of its formula, lessons against true figures, the route paid by the same book."""

from datetime import date

import pytest

from wearline.assessment.assemble import judge
from wearline.catalogue.loading import load_catalogue
from wearline.ingest.document import inspection_from_document
from wearline.planning.job import plan_job_from
from wearline.planning.results import AxleJob, Hours, JobPlan, Work
from wearline.practice.drill import DrillSession
from wearline.practice.drill_cases import draw_case, levels
from wearline.practice.drill_commands import answer
from wearline.practice.drill_route import CONVINCED, Route, best_route
from wearline.practice.drill_score import lessons_of, needed_work, score_drill

DAY = date(2026, 9, 1)


def opened(document):
    return inspection_from_document(document, where="drill", today=DAY, catalogue=load_catalogue())


def plan_of(case):
    inspection = opened(case.looks[-1].document)
    return plan_job_from(inspection, judge(inspection, load_catalogue()), load_catalogue())


def said(case, *commands):
    session = DrillSession.begin(case)
    for command in commands:
        session = answer(session, command).session
    return session


def made_plan(case, *codes, axle="2"):
    """A plan that needs some situations on one axle and nothing elsewhere."""
    hours = Hours(0.0, 0.0, "")
    return JobPlan(
        vehicle_id="drill",
        axles=tuple(
            AxleJob(each, tuple(Work(c, each, "", ()) for c in codes) if each == axle else (), (), (), hours)
            for each in case.axles
        ),
        first=(),
        cautions=(),
        proof=(),
        records=(),
        decides="",
    )


def route(minutes, *, sure=CONVINCED):
    return Route((), minutes, sure, ())


@pytest.fixture(scope="module")
def victim():
    """Level 4, seed 1: an adjuster at 2R that does not hold, and its overworked mate."""
    case = draw_case(levels()[3], 1)
    assert case.blames == (("2R", "A3"),)
    return case


@pytest.fixture(scope="module")
def chain():
    """Level 2, seed 1: water in the calliper 1L, and the adjuster that died of it."""
    case = draw_case(levels()[1], 1)
    assert case.blames == (("1L", "V4"), ("1L", "A1"))
    return case


def test_all_right_in_the_best_time_is_100(victim):
    session = said(victim, "F3 2R", "cause A3 2R", "job S5 S1 2")
    score = score_drill(session, made_plan(victim, "S5", "S1"), route(session.minutes))
    assert score.points == pytest.approx(100.0)
    assert [mark.result for mark in score.causes] == ["found"]


def test_twice_the_best_time_halves_the_time_part(victim):
    """50 + 30 + 20 * 1/2 = 90."""
    session = said(victim, "F5 2", "F3 2R", "cause A3 2R", "job S5 S1 2")
    score = score_drill(session, made_plan(victim, "S5", "S1"), route(session.minutes / 2.0))
    assert score.points == pytest.approx(90.0)


def test_nobody_is_asked_to_be_quicker_than_one_look(victim):
    """4 + 13 + 7.5 = 24.5 min against a route of 0 min: 50 + 30 + 20 * 20/24.5."""
    session = said(victim, "F3 2R", "cause A3 2R", "job S5 S1 2")
    score = score_drill(session, made_plan(victim, "S5", "S1"), route(0.0))
    assert score.points == pytest.approx(80.0 + 20.0 * 20.0 / 24.5)


def test_quick_and_wrong_earns_no_time(victim):
    """Nothing found, nothing right: 0, however quick."""
    session = said(victim, "cause none", "job none")
    score = score_drill(session, made_plan(victim, "S5", "S1"), route(60.0))
    assert (score.points, score.time_points) == (0.0, 0.0)
    assert [mark.result for mark in score.causes] == ["missed"]
    assert score.work[1].missing == ("S1", "S5")


def test_accusing_the_victim_is_wrong_and_said_so(victim):
    """One found of one, one wrong: 50 * 1/(1 + 1) = 25; work right 30; time 20 * 1/2 = 10."""
    session = said(victim, "cause A3 2R", "cause A4 2L", "job S5 S1 2")
    score = score_drill(session, made_plan(victim, "S5", "S1"), route(60.0))
    assert score.points == pytest.approx(25.0 + 30.0 + 10.0)
    wrong = next(mark for mark in score.causes if mark.result == "wrong")
    assert "it does its mate's work" in wrong.said


def test_another_cause_of_the_same_group_earns_a_part(victim):
    """A1 for A3: 50 * 0.4 = 20; time 20 * 0.4 = 8; work 30."""
    session = said(victim, "cause A1 2R", "job S5 S1 2")
    score = score_drill(session, made_plan(victim, "S5", "S1"), route(60.0))
    assert score.points == pytest.approx(20.0 + 30.0 + 8.0)
    assert score.causes[0].result == "near"


def test_needless_and_forgotten_work_count_against(victim):
    """Ordered S1 and S4, needed S1 and S5: one right, one needless, one forgotten: 30 * 1/3 = 10."""
    session = said(victim, "cause A3 2R", "job S1 S4 2")
    score = score_drill(session, made_plan(victim, "S5", "S1"), route(60.0))
    assert score.work_points == pytest.approx(10.0)
    assert (score.work[1].missing, score.work[1].needless) == (("S5",), ("S4",))


def test_without_a_best_route_the_rest_makes_up_the_100(victim):
    session = said(victim, "cause A3 2R", "job S5 S1 2")
    score = score_drill(session, made_plan(victim, "S5", "S1"), route(200.0, sure=0.0))
    assert score.time_points is None
    assert score.points == pytest.approx(100.0)


def test_a_root_counts_twice(chain):
    """Only the child found: 50 * 1/(2 + 1); only the root: 50 * 2/3."""
    child = score_drill(said(chain, "cause A1 1L", "job none"), made_plan(chain), route(60.0))
    root = score_drill(said(chain, "cause V4 1L", "job none"), made_plan(chain), route(60.0))
    assert child.cause_points == pytest.approx(50.0 / 3.0)
    assert root.cause_points == pytest.approx(100.0 / 3.0)
    assert "the root" in child.causes[0].said


def test_what_may_grow_out_of_a_true_cause_is_no_wrong_blame():
    """Cracks where a brake drags: not put there, and not held against the person."""
    case = next(c for seed in range(60) if (c := draw_case(levels()[0], seed)).blames[0][1] == "V2")
    at = case.blames[0][0]
    score = score_drill(
        said(case, f"cause V2 {at}", f"cause R3 {at}", "job none"), plan_of(case), route(60.0)
    )
    assert [mark.result for mark in score.causes] == ["found", "grew"]
    assert score.cause_points == pytest.approx(50.0)


def test_one_repair_of_a_cause_is_as_good_as_another():
    """A worn guide: kit or calliper; whoever changes the calliper needs no kit."""
    case = next(c for seed in range(60) if (c := draw_case(levels()[0], seed)).blames[0][1] == "G1")
    axle = case.blames[0][0][:-1]
    for code in ("S2", "S5"):
        session = said(case, "cause none", f"job {code} S1 {axle}")
        score = score_drill(session, made_plan(case, "S2", axle=axle), route(60.0))
        assert score.work_points == pytest.approx(30.0)


def test_a_cause_that_only_a_situation_repairs_is_needed_even_where_the_plan_missed_it(victim):
    needed, allowed = needed_work(victim, made_plan(victim), "2")
    assert needed == {"S5"}
    assert {"S1", "S5"} <= allowed
    assert needed_work(victim, made_plan(victim), "1") == (frozenset(), frozenset())


def test_lessons_say_what_a_perfect_gauge_shows_and_what_it_would_be_without(victim):
    session = said(victim, "F2 2R", "cause none", "job none")
    seen, unseen = lessons_of(session)
    travel = next(lesson for lesson in seen if lesson.check == "total_travel")
    true = victim.looks[0].states["2R"].figures["total_travel", ""]
    sound = victim.without(("2R", "A3")).states["2R"].figures["total_travel", ""]
    assert travel.true == f"{1e3 * true:.2f} mm"
    assert travel.without == f"{1e3 * sound:.2f} mm"
    assert true > 2.03e-3 > sound, "0.080 in is the usual alarm (common practice, no source)"
    assert all(lesson.written for lesson in seen)
    assert not any(lesson.written for lesson in unseen)
    assert unseen


def test_a_slip_of_the_pen_is_explained():
    case = next(
        c for seed in range(60) if (c := draw_case(levels()[4], seed)).slip.kind == "plate counted in"
    )
    at = case.slip.where
    seen, _ = lessons_of(said(case, f"F5 {at}"))
    lesson = next(lesson for lesson in seen if lesson.cause == "U5")
    assert "was written first; the gauge showed" in lesson.text


@pytest.mark.parametrize(("level", "seed"), [(1, 1), (5, 4)])
def test_the_best_route_pays_by_the_same_book_and_ends_sure(level, seed):
    case = draw_case(levels()[level - 1], seed)
    found = best_route(case, opened)
    session = DrillSession.begin(case)
    for step in found.steps:
        session = session.take(step.test, step.at, "")
    assert found.minutes == pytest.approx(session.minutes)
    assert found.sure == CONVINCED
    for blame in case.blames:
        if blame[1] != "U5":
            belief = next(b for b in found.believed if (b.at, b.code) == blame)
            assert belief.probability >= CONVINCED


def test_the_best_route_is_quicker_than_taking_every_wheel_off():
    """Every wheel off and every pad out costs (13 + 6) min for each end before anything is measured."""
    case = draw_case(levels()[0], 1)
    assert best_route(case, opened).minutes < 19.0 * len(case.places)


def test_a_cause_of_an_axle_is_found_by_its_confirming_test():
    """Slow release sits at no single wheel end: the route comes to the look at the action of the axle."""
    case = next(c for seed in range(60) if (c := draw_case(levels()[5], seed)).blames[0][1] == "V3")
    found = best_route(case, opened)
    assert found.reached
    assert "W11" in {step.test for step in found.steps}
