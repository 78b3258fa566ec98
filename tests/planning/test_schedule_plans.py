"""Plans against brute force and published optima; stock against closed forms and drawn demands."""

from __future__ import annotations

import itertools
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from wearline.errors import DomainError
from wearline.planning.milp import Programme, solve
from wearline.planning.schedule import Job, Shop, plan_shop, plan_shops
from wearline.planning.stock import (
    count_distribution,
    count_quantile,
    demand_by_week,
    order_by_service,
    order_for_counts,
    order_for_normal,
)

MIP = Path(__file__).parents[1] / "data_open" / "mip"


@pytest.mark.parametrize(
    ("name", "optimum"), [("flugpl", 1201500.0), ("lseu", 1120.0), ("egout", 568.1007), ("gt2", 21166.0)]
)
def test_published_optima_are_found(name, optimum):
    """MIPLIB 3 models; optima from HiGHS' own check/CMakeLists.txt."""
    import highspy

    reader = highspy.Highs()
    reader.silent()
    reader.readModel(str(MIP / f"{name}.mps"))
    model = reader.getLp()
    model.ensureColwise() if hasattr(model, "ensureColwise") else None
    whole = np.array([kind == highspy.HighsVarType.kInteger for kind in model.integrality_])
    found = solve(
        Programme(
            np.array(model.col_cost_),
            np.array(model.col_lower_),
            np.array(model.col_upper_),
            whole,
            np.array(model.row_lower_),
            np.array(model.row_upper_),
            np.array(model.a_matrix_.start_, dtype=np.int64),
            np.array(model.a_matrix_.index_, dtype=np.int64),
            np.array(model.a_matrix_.value_),
            float(model.offset_),
        ),
        gap=0.0,
    )
    assert found.proven
    assert found.cost == pytest.approx(optimum, rel=1e-6)
    assert found.bound <= found.cost + 1e-6


def brute_force(jobs, shop):
    """Every way to give each job a week, none later than allowed, hours kept: least cost."""
    best = np.inf
    weeks = [
        [
            w
            for w in range(min(max(j.latest, 0), len(shop.hours) - 1) + 1)
            if w not in shop.away.get(j.vehicle, ())
        ]
        for j in jobs
    ]
    for chosen in itertools.product(*weeks):
        visits = {(j.vehicle, w) for j, w in zip(jobs, chosen, strict=True)}
        hours = np.zeros(len(shop.hours))
        for _, w in visits:
            hours[w] += shop.visit_hours
        for j, w in zip(jobs, chosen, strict=True):
            hours[w] += j.hours
        if (hours > np.array(shop.hours) + 1e-9).any():
            continue
        cost = shop.visit_cost * len(visits)
        cost += sum(j.waste * (j.latest - w) for j, w in zip(jobs, chosen, strict=True))
        best = min(best, cost)
    return best


@pytest.mark.parametrize("seed", range(12))
def test_small_plans_cost_what_brute_force_finds(seed):
    rng = np.random.default_rng(seed)
    jobs = [
        Job(
            f"V{rng.integers(0, 3)}",
            str(i),
            float(rng.uniform(1, 3)),
            int(rng.integers(0, 5)),
            float(rng.uniform(1, 40)),
        )
        for i in range(6)
    ]
    shop = Shop("A", (5.0, 6.0, 4.0, 6.0, 5.0), 50.0, 0.5, {"V1": frozenset({1, 2})})
    expected = brute_force(jobs, shop)
    found = plan_shop(jobs, shop, gap=0.0)
    assert found.feasible == np.isfinite(expected)
    if found.feasible:
        assert found.cost == pytest.approx(expected, abs=1e-6)
        assert sorted(j.axle for b in found.bookings for j in b.jobs) == [str(i) for i in range(6)]
        for booking in found.bookings:
            assert all(booking.week <= max(job.latest, 0) for job in booking.jobs)
            assert booking.week not in shop.away.get(booking.vehicle, ())


def test_neighbouring_axles_come_together_when_waste_is_less_than_a_visit():
    jobs = [Job("V", "1", 2.0, 2, 10.0), Job("V", "2", 2.0, 4, 10.0)]
    cheap = plan_shop(jobs, Shop("A", (40.0,) * 6, 50.0, 0.5, {}))
    assert [len(b.jobs) for b in cheap.bookings] == [2]
    dear = plan_shop([jobs[0], Job("V", "2", 2.0, 4, 40.0)], Shop("A", (40.0,) * 6, 50.0, 0.5, {}))
    assert [len(b.jobs) for b in dear.bookings] == [1, 1]


def test_a_job_beyond_the_horizon_waits_unless_it_saves_a_visit():
    jobs = [Job("V", "1", 2.0, 2, 10.0), Job("V", "2", 2.0, 9, 100.0), Job("W", "1", 2.0, 9, 1.0)]
    found = plan_shop(jobs, Shop("A", (40.0,) * 6, 50.0, 0.5, {}))
    assert [(b.vehicle, [j.axle for j in b.jobs]) for b in found.bookings] == [("V", ["1"])]


def test_an_impossible_plan_names_weeks_and_vehicles():
    jobs = [Job(f"V{i}", "1", 3.0, 1, 5.0) for i in range(5)]
    found = plan_shop(jobs, Shop("A", (5.0, 5.0, 40.0), 50.0, 0.0, {}))
    assert not found.feasible
    assert sum(found.overtime.values()) == pytest.approx(5.0)  # 15 h of work, 10 h in weeks 1 and 2
    assert any("lacks" in why and "V" in why and "week" in why for why in found.not_possible)


def test_a_vehicle_that_is_always_away_is_named():
    jobs = [Job("V", "1", 1.0, 1, 5.0), Job("W", "1", 1.0, 1, 5.0)]
    found = plan_shop(jobs, Shop("A", (40.0,) * 4, 50.0, 0.0, {"V": frozenset({0, 1})}))
    assert not found.feasible
    assert any("vehicle V axle 1" in why for why in found.not_possible)
    assert [b.vehicle for b in found.bookings] == ["W"]


def test_shops_are_planned_each_for_itself():
    shops = [Shop(name, (40.0,) * 3, 50.0, 0.0, {}) for name in ("A", "B")]
    found = plan_shops({"B": [Job("V", "1", 1.0, 1, 5.0)]}, shops)
    assert [len(plan.bookings) for plan in found] == [0, 1]


def test_impossible_input_is_refused():
    shop = Shop("A", (40.0,), 50.0, 0.0, {})
    with pytest.raises(DomainError, match="two jobs"):
        plan_shop([Job("V", "1", 1.0, 1, 5.0)] * 2, shop)
    with pytest.raises(DomainError, match="negative hours or waste"):
        plan_shop([Job("V", "1", -1.0, 1, 5.0)], shop)
    with pytest.raises(DomainError, match="no weeks"):
        plan_shop([], Shop("A", (), 50.0, 0.0, {}))
    zero = np.zeros(1)
    with pytest.raises(DomainError, match="do not fit together"):
        solve(
            Programme(zero, zero, zero, np.ones(1, bool), zero, zero, np.array([0]), np.zeros(0, int), zero)
        )


def test_newsvendor_has_its_published_optimum():
    """h 2, p 18, N(120, 10): 132.815515655446, cost 35.09966638649737 (page of a stock library on PyPI)."""
    order, cost = order_for_normal(120.0, 10.0, over=2.0, under=18.0)
    assert order == pytest.approx(132.815515655446, rel=1e-12)
    assert cost == pytest.approx(35.09966638649737, rel=1e-10)


def test_newsvendor_second_example():
    """h 0.18, p 0.70: N(50, 8) 56.60396, 1.997605; Poisson 50: 56 pieces, 1.797235 (by scipy)."""
    order, cost = order_for_normal(50.0, 8.0, over=0.18, under=0.70)
    assert (order, cost) == pytest.approx((56.60396, 1.997605), abs=1e-5)
    pieces, cost = order_for_counts(stats.poisson.pmf(np.arange(200), 50), over=0.18, under=0.70)
    assert pieces == 56
    assert cost == pytest.approx(1.797235, abs=1e-6)


def test_number_of_equal_events_is_binomial():
    expected = stats.binom.pmf(np.arange(101), 100, 0.3)
    np.testing.assert_allclose(count_distribution(np.full(100, 0.3)), expected, atol=1e-12)


def test_demand_quantiles_agree_with_drawn_demands():
    rng = np.random.default_rng(3)
    need = rng.dirichlet(np.ones(7), 80)[:, :6] * 0.8
    week = np.array([rng.multinomial(1, np.append(p, 1 - p.sum()), 20_000).argmax(axis=1) for p in need])
    found = demand_by_week("pads", need, each=2, service=0.95, lead_weeks=3)
    for each in found[:4]:
        now = 2 * (week == each.week).sum(axis=0)
        ahead = 2 * ((week >= each.week) & (week < each.week + 3)).sum(axis=0)
        assert abs(each.median - np.quantile(now, 0.5, method="inverted_cdf")) <= 2
        assert abs(each.p95 - np.quantile(now, 0.95, method="inverted_cdf")) <= 2
        assert abs(each.order_up_to - order_by_service(ahead, 0.95)) <= 2
        assert each.mean == pytest.approx(now.mean(), rel=0.03)


def test_stock_refuses_what_is_no_chance():
    with pytest.raises(DomainError, match="chance is not between"):
        count_distribution(np.array([1.2]))
    with pytest.raises(DomainError, match="share of 1"):
        count_quantile(np.ones(1), 1.0)
    with pytest.raises(DomainError, match="less than 1"):
        demand_by_week("pads", np.zeros((1, 1)), each=1, service=0.9, lead_weeks=0)
    with pytest.raises(DomainError, match="no demand"):
        order_by_service([], 0.9)
    with pytest.raises(DomainError, match="not positive"):
        order_for_normal(1.0, 1.0, over=0.0, under=1.0)
    with pytest.raises(DomainError, match="not positive"):
        order_for_counts(np.ones(1), over=1.0, under=0.0)


def test_a_plan_bettered_part_by_part_keeps_every_rule_and_its_gap():
    """Little time, many jobs: each job once and in time, hours kept, cost and bound enclose the optimum."""
    rng = np.random.default_rng(4)
    jobs = []
    for v in range(60):
        due = int(rng.integers(6, 26))
        for a in range(3):
            latest = max(due - int(rng.integers(0, 6)), 1)
            jobs.append(Job(f"V{v}", str(a), float(rng.uniform(1.5, 2.8)), latest, float(rng.uniform(2, 12))))
    hours = 1.2 * sum(job.hours for job in jobs) / 26
    shop = Shop("A", (hours,) * 26, 120.0, 0.3, {f"V{v}": frozenset({v % 5}) for v in range(60)})
    quick = plan_shop(jobs, shop, gap=0.0, seconds=4.0)
    assert quick.feasible
    done = [(job.vehicle, job.axle) for booking in quick.bookings for job in booking.jobs]
    assert sorted(done) == sorted((job.vehicle, job.axle) for job in jobs)
    used = np.zeros(26)
    for booking in quick.bookings:
        used[booking.week] += booking.hours
        assert all(booking.week <= job.latest for job in booking.jobs)
        assert booking.week not in shop.away[booking.vehicle]
    assert (used <= hours + 1e-6).all()
    long = plan_shop(jobs, shop, gap=0.002, seconds=10.0)
    assert quick.cost * (1.0 - quick.gap) <= long.cost + 1e-6
    assert long.cost * (1.0 - long.gap) <= quick.cost + 1e-6
