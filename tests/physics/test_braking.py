"""Braking rate, axle loads, balance and capability.

Sources: 49 CFR 393.52 (consistency of percentage and deceleration), UK MOT inspection manual 3.8 (imbalance,
transcription); everything else is statics, checked against a separate solution of the equilibrium equations,
or derived figures of the trade.
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wearline.errors import DomainError
from wearline.physics import axle_loads, balance, braking

FOOT = 0.3048
G = 9.80665

RIGID = axle_loads.Unit(mass=18_000.0, cg_height=1.5, cg_distance=3.2, wheelbase=5.0)
TRACTOR = axle_loads.Unit(mass=8_000.0, cg_height=1.0, cg_distance=1.3, wheelbase=3.7)
SEMI = axle_loads.Unit(mass=32_000.0, cg_height=1.9, cg_distance=5.4, wheelbase=7.8)
FIFTH_WHEEL = axle_loads.Coupling(distance=3.1, height=1.2)
DRAWBAR = axle_loads.Unit(mass=16_000.0, cg_height=1.6, cg_distance=2.6, wheelbase=5.0)


@pytest.mark.parametrize(("ft_per_s2", "percent"), [(14, 43.5), (17, 52.8), (21, 65.2)])
def test_deceleration_and_force_of_the_in_service_table_agree(ft_per_s2, percent):
    """49 CFR 393.52(d) prints the percentage truncated, not rounded: 21 ft/s2 is 65.27 %, printed 65.2."""
    rate = braking.rate_from_deceleration(ft_per_s2 * FOOT)
    assert percent == math.floor(rate * 1000) / 10
    assert pytest.approx(ft_per_s2 * FOOT) == braking.deceleration(rate)


def test_braking_rate_at_the_edge_of_the_force_rule():
    """49 CFR 393.52(a)(1): 43.5 % of 36 t is 153 571 N; the rate gives the percentage back to 1e-9."""
    force = 0.435 * 36_000 * G
    assert pytest.approx(0.435, rel=1e-12) == braking.braking_rate(force, 36_000)


def equilibrium(unit, pushes, supports):
    """Solve one rigid unit: vertical forces at `supports` from moments about the road under its front."""
    rate, forces, load, at = pushes
    matrix = np.array([[1.0, 1.0], [supports[0], supports[1]]])
    weight = unit.mass * G
    # forces: (horizontal force forward on the unit, height); inertia acts forward at the centre of gravity
    turning = rate * weight * unit.cg_height + sum(push * height for push, height in forces)
    right = np.array([weight + load, weight * unit.cg_distance + load * at - turning])
    return np.linalg.solve(matrix, right)


def test_rigid_vehicle_stands_on_its_axles():
    """Equilibrium solved separately with moments about another point."""
    for rate in (0.0, 0.3, 0.6):
        expected = equilibrium(RIGID, (rate, [], 0.0, 0.0), (0.0, RIGID.wheelbase))
        assert pytest.approx(expected) == axle_loads.rigid_loads(RIGID, rate)


@pytest.mark.parametrize("share", [0.0, 0.5, 1.0, 1.4])
def test_semitrailer_and_tractor_stand_each_on_their_supports(share):
    """Both units solved as separate bodies; brakes act at the road, the coupling force at its height."""
    rate = 0.45
    trailer_force = share * rate * SEMI.weight
    push = rate * SEMI.weight - trailer_force
    # about the road under the kingpin; the tractor holds the trailer back with `push` at coupling height
    kingpin, axles = equilibrium(SEMI, (rate, [(-push, FIFTH_WHEEL.height)], 0.0, 0.0), (0.0, SEMI.wheelbase))
    front, rear = equilibrium(
        TRACTOR,
        (rate, [(push, FIFTH_WHEEL.height)], kingpin, FIFTH_WHEEL.distance),
        (0.0, TRACTOR.wheelbase),
    )
    actual = axle_loads.semitrailer_loads(TRACTOR, SEMI, FIFTH_WHEEL, rate, trailer_force)
    assert pytest.approx((front, rear, axles)) == actual
    assert pytest.approx(40_000 * G) == sum(actual)


@pytest.mark.parametrize("share", [0.0, 1.0, 1.3])
def test_drawbar_trailer_and_truck_stand_each_on_their_axles(share):
    """As above with a hinged drawbar that carries no vertical load."""
    rate, height = 0.5, 0.9
    trailer_force = share * rate * DRAWBAR.weight
    push = rate * DRAWBAR.weight - trailer_force
    trailer = equilibrium(DRAWBAR, (rate, [(-push, height)], 0.0, 0.0), (0.0, DRAWBAR.wheelbase))
    truck = equilibrium(RIGID, (rate, [(push, height)], 0.0, 0.0), (0.0, RIGID.wheelbase))
    actual = axle_loads.drawbar_loads(RIGID, DRAWBAR, height, rate, trailer_force)
    assert pytest.approx([*truck, *trailer]) == list(actual)


def test_adhesion_use_names_the_axle_that_locks_first():
    """Force over load; an axle that carries nothing but brakes needs infinite grip, an idle one none."""
    use = braking.adhesion_use(np.array([20e3, 10e3, 5e3, 0.0]), np.array([40e3, 50e3, 0.0, 0.0]))
    assert use.tolist() == [0.5, 0.2, math.inf, 0.0]
    assert math.isnan(braking.adhesion_use(math.nan, 1e4))


def loads(rate, forces):
    return axle_loads.rigid_loads(RIGID, rate)


def test_brakes_within_the_grip_give_their_full_rate():
    """Demands far below grip: rate is their sum over weight."""
    rate, forces = braking.grip_limited_braking((30e3, 30e3), loads, 18_000.0, 0.8)
    assert pytest.approx(60e3 / (18_000 * G)) == rate
    assert forces == (30e3, 30e3)


def test_brakes_beyond_the_grip_give_the_adhesion():
    """All axles at the limit: rate = adhesion, whatever the load transfer (sum of loads is the weight)."""
    rate, forces = braking.grip_limited_braking((5e5, 5e5), loads, 18_000.0, 0.6)
    assert pytest.approx(0.6, rel=1e-9) == rate
    front, rear = axle_loads.rigid_loads(RIGID, rate)
    assert pytest.approx((0.6 * front, 0.6 * rear)) == forces


def test_only_the_rear_at_its_limit_follows_from_one_equation():
    """Hand solution: z W = F_f + k (W b - z W h)/L, so z = (F_f / W + k b / L) / (1 + k h / L)."""
    weight = RIGID.weight
    expected = (30e3 / weight + 0.4 * 3.2 / 5.0) / (1 + 0.4 * 1.5 / 5.0)
    rate, forces = braking.grip_limited_braking((30e3, 5e5), loads, 18_000.0, 0.4)
    assert pytest.approx(expected, rel=1e-10) == rate
    assert forces[0] == 30e3


def test_a_batch_of_vehicles_brakes_like_each_of_them():
    """Arrays of demands and adhesion give element by element the answer of one vehicle."""
    demand, grip = np.array([30e3, 90e3, 2e5]), np.array([0.3, 0.5, 0.8])
    rates, _ = braking.grip_limited_braking((demand, demand), loads, 18_000.0, grip)
    single = [
        braking.grip_limited_braking((d, d), loads, 18_000.0, k)[0] for d, k in zip(demand, grip, strict=True)
    ]
    assert pytest.approx(single, rel=1e-11) == rates


def test_semitrailer_on_ice_settles():
    """Trailer axle group capped by grip while the tractor is not: forces agree with the loads they make."""

    def combination(rate, forces):
        return axle_loads.semitrailer_loads(TRACTOR, SEMI, FIFTH_WHEEL, rate, forces[2])

    rate, forces = braking.grip_limited_braking((10e3, 10e3, 3e5), combination, 40_000.0, 0.2)
    on_axles = axle_loads.semitrailer_loads(TRACTOR, SEMI, FIFTH_WHEEL, rate, forces[2])
    assert pytest.approx(0.2 * on_axles[2]) == forces[2]
    assert pytest.approx(sum(forces) / (40_000 * G)) == rate


def test_capability_is_the_share_of_the_intended_force():
    """Six equal brakes, one at 60 %: 5.6 / 6; an unknown end leaves the share unknown."""
    nominal = np.full(6, 20e3)
    available = np.array([20e3, 20e3, 12e3, 20e3, 20e3, 20e3])
    assert pytest.approx(5.6 / 6) == braking.capability(available, nominal)
    available[0] = np.nan
    assert math.isnan(braking.capability(available, nominal))


def test_imbalance_counts_from_the_higher_effort():
    """UK MOT inspection manual 3.8 (transcription): 5 000 and 3 500 N are 30.0 %, either way round."""
    assert pytest.approx(0.300, rel=1e-12) == balance.imbalance(5000.0, 3500.0)
    assert pytest.approx(0.300, rel=1e-12) == balance.imbalance(3500.0, 5000.0)
    assert math.isnan(balance.imbalance(0.0, 0.0))


def test_yaw_moment_and_steering_pull():
    """Derived: 7.3 kN on 2.05 m give 7.5 kN m; at 0.08 m of offset 0.58 kN m."""
    assert pytest.approx(7.5, abs=0.05) == balance.yaw_moment(7.3e3, 0.0, 2.05) / 1e3
    assert pytest.approx(0.58, abs=0.005) == balance.steering_pull(7.3e3, 0.0, 0.08) / 1e3


@pytest.mark.parametrize(("brakes", "percent"), [(4, 33), (6, 20), (10, 11)])
def test_one_dead_brake_loads_the_others(brakes, percent):
    """Derived: n / (n - 1), whole percent."""
    assert percent == round((balance.load_on_the_others(brakes) - 1) * 100)


# control pressure bar, trailer brake over tractor brake, trailer share with 6 and 4 brakes: derived
LIGHT = [(0.8, 3.3, 83), (1.0, 2.1, 75), (1.5, 1.4, 68), (2.0, 1.3, 66), (4.0, 1.1, 63)]


@pytest.mark.parametrize(("bar", "ratio", "percent"), LIGHT)
def test_trailer_and_tractor_at_light_pressure(bar, ratio, percent):
    """Derived from thresholds 0.24 bar (trailer) and 0.63 bar (tractor)."""
    assert pytest.approx(ratio, abs=0.0501) == balance.light_pressure_ratio(bar * 1e5, 0.24e5, 0.63e5)
    share = balance.trailer_share(
        bar * 1e5,
        trailer_threshold=0.24e5,
        tractor_threshold=0.63e5,
        trailer_brakes=6,
        tractor_brakes=4,
    )
    assert pytest.approx(percent, abs=0.501) == share * 100


def test_between_the_thresholds_one_unit_brakes_alone():
    """At 0.4 bar only the trailer works, at 0.1 bar nobody."""
    assert balance.light_pressure_ratio(0.4e5, 0.24e5, 0.63e5) == math.inf
    assert math.isnan(balance.light_pressure_ratio(0.1e5, 0.24e5, 0.63e5))


@given(
    forces=st.lists(st.tuples(st.floats(0, 5e4), st.floats(0, 5e4)), min_size=1, max_size=8),
)
@settings(deadline=None)
def test_imbalance_is_a_share_and_the_same_for_one_as_for_many(forces):
    """Between 0 and 1, symmetric, scalar path equal to array path."""
    a, b = np.array(forces).T
    batch = balance.imbalance(a, b)
    known = ~np.isnan(batch)
    assert ((batch[known] >= 0) & (batch[known] <= 1)).all()
    singly = np.array([balance.imbalance(x, y) for x, y in forces])
    np.testing.assert_array_equal(batch, singly)
    np.testing.assert_array_equal(batch, balance.imbalance(b, a))


@given(rate=st.floats(0, 1.0), more=st.floats(0, 0.5))
@settings(deadline=None)
def test_braking_harder_loads_the_front_and_keeps_the_weight(rate, more):
    """Monotonic load transfer; sum of the loads is the weight."""
    front, rear = axle_loads.rigid_loads(RIGID, rate)
    harder, _ = axle_loads.rigid_loads(RIGID, rate + more)
    assert harder >= front
    assert pytest.approx(RIGID.weight) == front + rear


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: braking.braking_rate(1e5, -18_000.0), "mass is -18000 kg.*kilograms"),
        (lambda: braking.braking_rate(1e5, 18.0), "mass is 18 kg.*18 t is 18000 kg"),
        (lambda: braking.braking_rate(-1.0, 18_000.0), "total brake force is -1 N"),
        (lambda: braking.deceleration(43.5), "braking rate is 43.5.*50 % is 0.5"),
        (lambda: braking.rate_from_deceleration(-1.0), "deceleration is -1 m/s2"),
        (lambda: braking.adhesion_use(-1.0, 1.0), "brake force is -1 N"),
        (lambda: braking.capability(np.array([-1.0]), np.array([1.0])), "available brake force is -1 N"),
        (lambda: braking.capability(np.array([1.0]), np.array([0.0])), "nominal brake force is 0 N"),
        (lambda: braking.grip_limited_braking((1.0, 1.0), loads, 18_000.0, 1.7), "adhesion is 1.7"),
        (lambda: braking.grip_limited_braking((-1.0, 1.0), loads, 18_000.0, 0.7), "brake force is -1 N"),
        (lambda: axle_loads.Unit(1e6, 1.0, 1.0, 4.0), r"mass of the unit is 1e\+06 kg"),
        (lambda: axle_loads.Unit(1e4, 1500.0, 1.0, 4.0), "height of the centre of gravity is 1500 m"),
        (lambda: axle_loads.Unit(1e4, 1.0, 1.0, 0.0), "wheelbase is 0 m"),
        (lambda: axle_loads.Coupling(3.0, -0.1), "height of the coupling is -0.1 m"),
        (lambda: axle_loads.rigid_loads(RIGID, -0.1), "braking rate is -0.1"),
        (
            lambda: axle_loads.semitrailer_loads(TRACTOR, SEMI, FIFTH_WHEEL, 0.3, -1.0),
            "brake force of the trailer is -1 N",
        ),
        (
            lambda: axle_loads.drawbar_loads(RIGID, DRAWBAR, 4.0, 0.3, 0.0),
            "height of the drawbar is 4 m",
        ),
        (lambda: balance.imbalance(-1.0, 1.0), "brake force is -1 N"),
        (lambda: balance.yaw_moment(1.0, 0.0, 2050.0), "track is 2050 m"),
        (lambda: balance.steering_pull(1.0, 0.0, 80.0), "kingpin offset is 80 m"),
        (lambda: balance.load_on_the_others(1), "number of brakes less dead ones is 0"),
        (lambda: balance.load_on_the_others(4, -1), "number of dead brakes is -1"),
        (lambda: balance.light_pressure_ratio(15e5, 0.0, 0.0), "air pressure is 1.5e"),
        (lambda: balance.light_pressure_ratio(1e5, -1.0, 0.0), "threshold pressure is -1 Pa"),
    ],
)
def test_absurd_vehicles_are_refused(call, words):
    """Each refusal names the quantity, its value and the cure."""
    with pytest.raises(DomainError, match=words):
        call()


def test_geometry_that_never_settles_is_refused():
    """Centre of gravity five wheelbases high: the rear lifts when it brakes, so it does not brake."""
    tower = axle_loads.Unit(mass=18_000.0, cg_height=5.0, cg_distance=0.9, wheelbase=1.0)

    def absurd(rate, forces):
        return axle_loads.rigid_loads(tower, rate)

    with pytest.raises(DomainError, match="load transfer between the axles does not settle"):
        braking.grip_limited_braking((1e3, 5e5), absurd, 18_000.0, 0.8)
