"""Duty cycles, cooling and the division of heat.

Sources: UN Regulation 13 Annex 4, 1.5.1.1 (transcription), 49 CFR 571.121 S5.4.2 and S5.4.3, McPhee and
Johnson, Int. J. Thermal Sciences 47 (2008) 458-467 (abstract, transcription); energies by hand from mass
and speeds.
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wearline.errors import DomainError
from wearline.physics import cooling, duty, duty_tests, materials, rotor_heat
from wearline.physics.stopping import Resistance

KMH, MPH, FOOT, G = 1 / 3.6, 0.44704, 0.3048, 9.80665
RPM = 2 * math.pi / 60


def test_type_one_schedule_of_a_heavy_truck():
    """R13 Annex 4, 1.5.1.1: N3 with 90 km/h: 60 km/h (80 % would be 72), 30 km/h, 60 s, 20 times."""
    schedule = duty_tests.type_one_schedule("N3", 90 * KMH)
    assert pytest.approx((60 * KMH, 30 * KMH)) == (schedule.first, schedule.last)
    assert schedule.interval == 60.0
    assert schedule.count == 20


@pytest.mark.parametrize(
    ("category", "kmh", "first", "interval", "count"),
    [("M2", 100, 80, 55, 15), ("M2", 140, 100, 55, 15), ("M3", 70, 56, 60, 20), ("N1", 160, 120, 55, 15)],
)
def test_type_one_schedules_of_other_categories(category, kmh, first, interval, count):
    """R13 Annex 4, 1.5.1.1 (transcription): 80 % of the greatest speed up to each category's cap."""
    schedule = duty_tests.type_one_schedule(category, kmh * KMH)
    assert pytest.approx(first) == schedule.first / KMH
    assert (interval, count) == (schedule.interval, schedule.count)


def test_energy_of_the_type_one_test():
    """Hand sum: 20 times half of 18 t times (60^2 - 30^2) (km/h)^2; 20 min; never above the first speed."""
    profile = duty_tests.type_one_profile(duty_tests.type_one_schedule("N3", 90 * KMH))
    cycle = duty.braking_cycle(profile, 18_000.0, 0.1)
    energy = 20 * 0.5 * 18_000 * ((60 * KMH) ** 2 - (30 * KMH) ** 2)
    assert pytest.approx(energy, rel=1e-3) == cycle.energy
    assert pytest.approx(1200.0) == profile.duration
    assert profile.speed.max() == pytest.approx(60 * KMH)
    assert pytest.approx(18_000 * 3.0 * 60 * KMH, rel=0.02) == cycle.power.max()


def test_fade_part_of_the_dynamometer_test():
    """49 CFR 571.121 S5.4.2: ten snubs 50-15 mph, 9 ft/s2, every 72 s; stop from 20 mph a minute later."""
    profile = duty_tests.fmvss_121_fade()
    falls = np.diff(profile.speed) < 0
    starts = profile.time[:-1][falls]
    assert pytest.approx([*(72.0 * np.arange(10)), 9 * 72 + 35 * MPH / (9 * FOOT) + 60]) == starts
    slopes = (np.diff(profile.speed) / np.diff(profile.time))[falls]
    assert pytest.approx([-9 * FOOT] * 10 + [-14 * FOOT]) == slopes
    energy = 0.5 * 5000 * (10 * (50**2 - 15**2) + 20**2) * MPH**2
    assert pytest.approx(energy, rel=2e-3) == duty.braking_cycle(profile, 5000.0, 0.05).energy


def test_recovery_part_of_the_dynamometer_test():
    """49 CFR 571.121 S5.4.3: twenty stops from 30 mph, a minute apart, two minutes after the fade."""
    fade, both = duty_tests.fmvss_121_fade(), duty_tests.fmvss_121_fade_and_recovery()
    late = both.time[:-1][(np.diff(both.speed) < 0) & (both.time[:-1] > fade.time[-1])]
    end_of_fade = fade.time[-1] - 1.0
    assert pytest.approx(end_of_fade + 120.0 + 60.0 * np.arange(20)) == late


def test_energy_of_a_single_stop():
    """Half m v^2, whatever the step; rest without power."""
    profile = duty.single_stop(25.0, 5.0, rest=10.0)
    for step in (0.1, 0.25, 1.0):
        cycle = duty.braking_cycle(profile, 18_000.0, step)
        assert pytest.approx(0.5 * 18_000 * 625.0, rel=1e-9) == cycle.energy
        assert cycle.power[int(6 / step) :].sum() == 0.0
    assert pytest.approx(25.0**2 / 10.0, rel=1e-9) == cycle.distance


def test_power_on_a_grade():
    """Derived: 40 t, 6 %, 50 km/h, ten brakes: 28 kW each without engine brake, 13 kW with 150 kW of it."""
    resistance = Resistance(rolling=0.006, air=0.5 * 1.2 * 6.0 / 40_000)
    profile = duty.steady_speed(50 * KMH, 60.0)
    bare = duty.braking_cycle(profile, 40_000.0, 1.0, slope=0.06, resistance=resistance)
    helped = duty.braking_cycle(
        profile, 40_000.0, 1.0, slope=0.06, resistance=resistance, retarder=duty.Retarder(150e3)
    )
    held = duty.braking_cycle(
        profile, 40_000.0, 1.0, slope=0.06, resistance=resistance, retarder=duty.Retarder(300e3)
    )
    assert pytest.approx(28.0, abs=0.5) == bare.power[0] / 10e3
    assert pytest.approx(13.0, abs=0.5) == helped.power[0] / 10e3
    assert held.power.max() == 0.0


def test_slope_along_a_recorded_profile():
    """Even speed on 0 % and then 5 %: power only on the slope, m g v slope."""
    profile = duty.SpeedProfile(np.array([0.0, 50.0, 50.001, 100.0]), np.full(4, 15.0))
    cycle = duty.braking_cycle(profile, 20_000.0, 1.0, slope=np.array([0.0, 0.0, 0.05, 0.05]))
    assert cycle.power[:50].max() == 0.0
    assert pytest.approx(20_000 * G * 15.0 * 0.05) == cycle.power[-1]


def test_a_retarder_is_limited_by_its_force_at_low_speed():
    """Power 200 kW, 20 kN: 10 m/s is where they meet; nothing at standstill."""
    retarder = duty.Retarder(200e3, 20e3)
    assert pytest.approx([0.0, 100e3, 200e3, 200e3]) == retarder.power_at(np.array([0.0, 5.0, 10.0, 20.0]))
    assert duty.Retarder(200e3).power_at(0.0) == 0.0


def test_flux_of_one_wheel_end_and_of_many():
    """P share heat / A by hand; the batch has a column for each wheel end."""
    cycle = duty.braking_cycle(duty.single_stop(20.0, 4.0, 1.0), 10_000.0, 0.5)
    one = duty.friction_flux(cycle, wheel_share=0.2, heat_share=0.9, face_area=0.2)
    assert pytest.approx(cycle.power * 0.2 * 0.9 / 0.2) == one
    many = duty.friction_flux(cycle, wheel_share=np.array([0.2, 0.4]), heat_share=0.9, face_area=0.2)
    assert pytest.approx(np.stack([one, 2 * one], axis=1)) == many


def test_a_duty_warms_a_rotor_by_its_energy():
    """Fade test into an insulated rotor: mean rise = heat share of the energy over m c, 0.1 %."""
    cycle = duty.braking_cycle(duty_tests.fmvss_121_fade(), 5000.0, 0.1)
    area = 2 * materials.ring_area(0.124, 0.216)
    flux = duty.friction_flux(cycle, wheel_share=1.0, heat_share=0.9, face_area=area)
    slab = rotor_heat.Slab(0.022)
    history = rotor_heat.heat_rotors(
        slab, rotor_heat.Face(flux), step=cycle.step, initial=300.0, ambient=300.0
    )
    capacity = 7200 * 460 * 0.022 * area
    assert pytest.approx(0.9 * cycle.energy / capacity, rel=1e-9) == history.mean[-1, 0] - 300.0


@pytest.mark.parametrize(("rpm", "measured"), [(342, 27.0), (684, 52.7), (1025, 78.3)])
def test_convection_is_linear_in_speed_within_the_measured_scatter(rpm, measured):
    """McPhee and Johnson 2008 (transcription): h/rpm differs by 3.3 % over the range."""
    line = cooling.convection_coefficient(rpm * RPM, cooling.Convection(at_rest=0.0))
    assert pytest.approx(measured, rel=0.033) == line
    assert (27.0 / 342) / (78.3 / 1025) - 1 < 0.0335


def test_share_of_the_vanes():
    """45.5 % at 342 rpm, 55.4 % at 1025 rpm (same abstract); the coefficient gives that share back."""
    assert pytest.approx([0.455, 0.455, 0.554, 0.554]) == cooling.vane_share(
        RPM * np.array([100.0, 342.0, 1025.0, 1200.0])
    )
    vanes = cooling.vane_coefficient(30.0, 0.5, 0.8)
    assert pytest.approx(0.5) == vanes / (vanes + 30.0 * 0.8)


def test_radiation_of_a_black_body():
    """Stefan-Boltzmann: 1000 K in vacuum radiate 56.70 kW/m2."""
    assert pytest.approx(56.70, abs=0.005) == cooling.radiated_flux(1000.0, 0.0, 1.0) / 1e3
    assert cooling.radiated_flux(400.0, 400.0, 0.8) == 0.0


def test_heat_share_of_equal_and_of_usual_materials():
    """Equal half-spaces share evenly; iron against resin takes about nine tenths (usual figure 0.9)."""
    iron = materials.GREY_IRON
    assert materials.rotor_heat_share(iron, iron) == 0.5
    share = materials.rotor_heat_share(iron, materials.ORGANIC_PAD, 0.5)
    assert pytest.approx(0.9, abs=0.03) == share
    assert pytest.approx(12_869.0, abs=0.5) == iron.effusivity


@given(
    mass=st.floats(5e3, 4e4),
    first=st.floats(10.0, 30.0),
    drop=st.floats(1.0, 9.0),
    count=st.integers(1, 6),
    step=st.floats(0.05, 0.5),
)
@settings(deadline=None, max_examples=40)
def test_repeated_snubs_take_the_kinetic_energy_they_should(mass, first, drop, count, step):
    """Energy within what one step at each change of direction can hide; time runs on evenly."""
    profile = duty.repeated_snubs(first, first - drop, 2.0, interval=30.0, count=count, settle=2.0)
    cycle = duty.braking_cycle(profile, mass, step)
    energy = count * 0.5 * mass * (first**2 - (first - drop) ** 2)
    hidden = count * mass * first * 2.0 * step
    assert abs(cycle.energy - energy) <= hidden
    assert pytest.approx(30.0 * count) == profile.duration
    assert (cycle.power >= 0).all()


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (
            lambda: duty.SpeedProfile(np.array([0.0, 2.0, 1.5]), np.array([5.0, 4.0, 3.0])),
            "time does not run forward at sample 3: 2 s, then 1.5 s.*Sort the samples",
        ),
        (
            lambda: duty.SpeedProfile(np.array([0.0, 1.0, 1.0]), np.array([5.0, 4.0, 3.0])),
            "time does not run forward at sample 3",
        ),
        (
            lambda: duty.SpeedProfile(np.array([0.0, np.nan, 1.0]), np.array([5.0, 4.0, 3.0])),
            "time does not run forward",
        ),
        (
            lambda: duty.SpeedProfile(np.array([0.0, 1.0]), np.array([5.0])),
            "1 speeds belong to 2 times",
        ),
        (
            lambda: duty.SpeedProfile(np.array([0.0, 1.0]), np.array([5.0, 90.0])),
            "speed is 90 m/s",
        ),
        (
            lambda: duty.SpeedProfile(np.array([0.0, 1.0]), np.array([5.0, np.nan])),
            "the speed at sample 2 is missing",
        ),
        (
            lambda: duty.repeated_snubs(20.0, 5.0, 1.0, interval=15.0, count=3),
            "time left for speeding up is 0 s.*longer interval",
        ),
        (lambda: duty.repeated_snubs(5.0, 20.0, 1.0, interval=60.0, count=3), "first less last speed"),
        (lambda: duty.repeated_snubs(20.0, 5.0, 1.0, interval=60.0, count=0), "number of slowings is 0"),
        (
            lambda: duty.repeated_snubs(20.0, 5.0, 1.0, interval=60.0, count=1, settle=-1.0),
            "time at the first speed is -1 s",
        ),
        (lambda: duty.single_stop(20.0, 0.0, 1.0), "deceleration is 0 m/s2"),
        (lambda: duty.single_stop(20.0, 2.0, 0.0), "rest after the stop is 0 s"),
        (lambda: duty.steady_speed(20.0, 0.0), "duration is 0 s"),
        (lambda: duty.steady_speed(20.0, 9.0).followed_by(duty.steady_speed(1.0, 1.0), 0.0), "gap .* is 0 s"),
        (lambda: duty.braking_cycle(duty.steady_speed(9.0, 9.0), -5.0, 0.1), "mass is -5 kg"),
        (lambda: duty.braking_cycle(duty.steady_speed(9.0, 9.0), 5e3, 0.1, slope=6.0), "slope is 6"),
        (lambda: duty.braking_cycle(duty.steady_speed(9.0, 9.0), 5e3, 0.0), "time step is 0 s"),
        (lambda: duty.braking_cycle(duty.steady_speed(9.0, 9.0), 5e3, 10.0), "time step is 10 s"),
        (lambda: duty.Retarder(-1.0), "power of the retarder is -1 W"),
        (lambda: duty.Retarder(150.0, -1.0), "force of the retarder is -1 N"),
        (lambda: duty_tests.type_one_schedule("O4", 25.0), "category is 'O4'.*M2, M3, N1, N2, N3"),
        (lambda: duty_tests.type_one_schedule("N3", 90.0), "greatest speed is 90 m/s"),
        (lambda: cooling.Convection(at_rest=-1.0), "free convection is -1"),
        (lambda: cooling.convection_coefficient(-1.0, cooling.Convection()), "rotation of the wheel is -1"),
        (lambda: cooling.vane_share(400.0), "rotation of the wheel is 400"),
        (lambda: cooling.rotation_rate(20.0, 500.0), "radius of the tyre is 500 m"),
        (lambda: cooling.vane_coefficient(30.0, 0.95, 1.0), "share of the vanes is 0.95"),
        (lambda: cooling.radiated_flux(-5.0, 300.0, 0.5), "surface temperature is -5 K"),
        (lambda: cooling.radiated_flux(500.0, 300.0, 1.5), "emissivity is 1.5"),
        (lambda: materials.Material(0.0, 1.0, 1.0), "heat conductivity is 0"),
        (
            lambda: materials.rotor_heat_share(materials.GREY_IRON, materials.GREY_IRON, 2.0),
            "ratio of pad area to ring area is 2",
        ),
        (lambda: materials.ring_area(0.2, 0.1), "outer radius less inner radius"),
    ],
)
def test_absurd_duties_are_refused(call, words):
    """Each refusal names the quantity, its value and the cure."""
    with pytest.raises(DomainError, match=words):
        call()


@pytest.mark.parametrize(
    ("field", "words"),
    [
        ({"wheel_share": 1.5}, "share of the wheel end in the braking is 1.5"),
        ({"heat_share": -0.1}, "share of the heat for the rotor is -0.1"),
        ({"face_area": 0.0}, "area of the friction faces is 0 m2"),
    ],
)
def test_absurd_shares_are_refused(field, words):
    """Each refusal names the quantity and its value."""
    cycle = duty.braking_cycle(duty.steady_speed(9.0, 9.0), 5e3, 0.1)
    values = {"wheel_share": 0.1, "heat_share": 0.9, "face_area": 0.2} | field
    with pytest.raises(DomainError, match=words):
        duty.friction_flux(cycle, **values)
