"""Conduction through the rotor, its cooling and its energy balance.

Sources: closed solutions of heat conduction (half-space and slab with constant flux, half-space with
linearly falling flux; Carslaw and Jaeger, from memory, here re-derived with the error function), Incropera
Table 5.1 (from memory, unverified), the handbook coefficient sqrt(5/18) for one stop (from memory),
scikit-fem as independent library.
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import erfc

from wearline.errors import DomainError
from wearline.physics import rotor_heat
from wearline.physics.materials import Material
from wearline.physics.rotor_heat import Face, Recording, Slab, heat_rotors

IRON = Material(50.0, 7200.0, 460.0)
IRON_500 = Material(50.0, 7200.0, 500.0)
ROOM = 293.15
SIGMA = 5.670374419e-8


def warm(slab, front, back=rotor_heat.INSULATED, step=0.1, initial=ROOM, ambient=ROOM, **recording):
    return heat_rotors(
        slab,
        front,
        back,
        step=step,
        initial=initial,
        ambient=ambient,
        recording=Recording(**recording),
    )


def image(depth, time, material):
    """Rise at a depth in a half-space under unit flux: sqrt(t)/e * 2 ierfc (Carslaw and Jaeger 2.9)."""
    z = depth / (2.0 * np.sqrt(material.diffusivity * time))
    ierfc = np.exp(-z * z) / math.sqrt(math.pi) - z * erfc(z)
    return 2.0 * np.sqrt(time) / material.effusivity * ierfc


def test_surface_of_a_thick_slab_under_constant_flux_from_the_first_step_on():
    """2/sqrt(pi) q sqrt(t)/sqrt(rho c k); 175.369833 K at 4 s (1 MW/m2); every 0.1 s step within 1e-4."""
    history = warm(Slab(0.05, IRON), Face(flux=np.full(40, 1e6)))
    rise = history.front[:, 0] - ROOM
    exact = 2.0 / math.sqrt(math.pi) * 1e6 * np.sqrt(history.time) / math.sqrt(50.0 * 7200.0 * 460.0)
    assert pytest.approx(exact, rel=1e-4) == rise
    assert pytest.approx(175.369833, abs=1e-6) == rise[-1]


def test_front_and_back_of_a_thin_slab_under_constant_flux():
    """Slab 20 mm, 1 MW/m2, 3 s, back insulated: sum of images of the half-space (145.674 and 3.663 K)."""
    history = warm(Slab(0.02, IRON_500), Face(flux=np.full(30, 1e6)))
    n = np.arange(1, 30)
    front = 1e6 * (image(0.0, 3.0, IRON_500) + 2.0 * image(2 * n * 0.02, 3.0, IRON_500).sum())
    back = 2e6 * image((2 * n - 1) * 0.02, 3.0, IRON_500).sum()
    assert pytest.approx((145.67402, 3.66255), abs=1e-5) == (front, back)
    assert pytest.approx((front, back), abs=1e-6) == (
        history.front[-1, 0] - ROOM,
        history.back[-1, 0] - ROOM,
    )


def test_one_stop_with_linearly_falling_flux():
    """Exact peak at half the time: 0.531923 q0 sqrt(ts)/e; handbook sqrt(5/18) = 0.52705 is 0.9 % low.

    2 MW/m2 falling over 5 s: 177.3077 K at 2.5 s and 125.3755 K at 5 s (closed form by hand).
    """
    steps = 8000
    flux = 2e6 * (1.0 - (np.arange(steps) + 0.5) / steps)
    history = warm(Slab(0.1, IRON_500), Face(flux=flux), step=5.0 / steps, ambient=ROOM)
    rise = history.front[:, 0] - ROOM
    unit = 2e6 * math.sqrt(5.0) / IRON_500.effusivity
    assert pytest.approx(0.531923, abs=2e-6) == rise.max() / unit
    assert pytest.approx(math.sqrt(5.0 / 18.0), rel=0.01) == rise.max() / unit
    assert pytest.approx(177.3077, abs=1e-3) == rise[steps // 2 - 1]
    assert pytest.approx(125.3755, abs=1e-3) == rise[-1]
    assert pytest.approx(2.5, abs=0.02) == history.time[rise.argmax()]


@pytest.mark.parametrize(
    ("biot", "root", "coefficient"), [(0.1, 0.3111, 1.0161), (1.0, 0.8603, 1.1191), (10.0, 1.4289, 1.2620)]
)
def test_cooling_slab_against_the_one_term_table(biot, root, coefficient):
    """Incropera Table 5.1 (from memory, unverified): late surface and middle temperature of a cooling slab.

    theta = C cos(zeta x/L) exp(-zeta^2 Fo), x from the insulated face; good from Fo 0.4 on. Four digits.
    """
    thickness, fourier = 0.02, 1.2
    end = fourier * thickness**2 / IRON.diffusivity
    steps = 2000 if biot < 5 else 20_000
    loss = Face(coefficient=np.full(steps, biot * 50.0 / thickness))
    history = warm(Slab(thickness, IRON), loss, step=end / steps, initial=400.0, ambient=300.0, every=steps)
    middle = coefficient * math.exp(-(root**2) * fourier)
    tolerance = {"abs": 3e-4}
    assert pytest.approx(middle, **tolerance) == (history.back[-1, 0] - 300.0) / 100.0
    assert pytest.approx(middle * math.cos(root), **tolerance) == (history.front[-1, 0] - 300.0) / 100.0


def test_slab_with_convection_against_the_full_series():
    """Bi 0.05: all terms, zeta tan(zeta) = Bi by root finding, five times from 1 to 60 s, to 0.01 K."""
    from scipy.optimize import brentq

    thickness, coefficient = 0.02, 125.0
    biot = coefficient * thickness / 50.0
    roots = np.array(
        [
            brentq(lambda z: z * math.sin(z) - biot * math.cos(z), n * math.pi, n * math.pi + math.pi / 2)
            for n in range(12)
        ]
    )
    weights = 4.0 * np.sin(roots) / (2.0 * roots + np.sin(2.0 * roots))
    history = warm(
        Slab(thickness, IRON),
        Face(coefficient=np.full(600, coefficient)),
        initial=ROOM + 300.0,
    )
    for step in (10, 50, 100, 300, 600):
        fourier = IRON.diffusivity * step * 0.1 / thickness**2
        decay = weights * np.exp(-(roots**2) * fourier)
        assert pytest.approx(300.0 * decay @ np.cos(roots), abs=0.01) == history.front[step - 1, 0] - ROOM
        assert pytest.approx(300.0 * decay.sum(), abs=0.01) == history.back[step - 1, 0] - ROOM


def test_a_perfect_conductor_is_the_lumped_rotor():
    """Conductivity ten-thousandfold: all follow m c dT/dt = P - h A (T - T_a) to 0.05 K."""
    material = Material(5e5, 7200.0, 460.0)
    steps = 3000
    flux = np.where(np.arange(steps) % 600 < 50, 6e5, 0.0)
    history = warm(Slab(0.02, material), Face(flux=flux, coefficient=np.full(steps, 60.0)))
    lumped = rotor_heat.lumped_temperature(
        flux, 60.0, heat_capacity=7200.0 * 460.0 * 0.02, step=0.1, initial=ROOM, ambient=ROOM
    )
    for actual in (history.front, history.back, history.mean):
        assert pytest.approx(lumped, abs=0.05) == actual[:, 0]


def test_lumped_rotor_against_the_exponential():
    """28 kW on 25 W/K and 31 kg for 300 s: P/hA (1 - exp(-t/tau)); one stop without loss: 91 K."""
    capacity = 31.0 * 460.0
    history = rotor_heat.lumped_temperature(
        np.full(3000, 28e3), 25.0, heat_capacity=capacity, step=0.1, initial=ROOM, ambient=ROOM
    )
    exact = ROOM + 28e3 / 25.0 * (1.0 - math.exp(-300.0 * 25.0 / capacity))
    assert pytest.approx(exact, rel=1e-12) == history[-1]
    # derived: 0.9 of half of 5 t times (25 m/s)^2 into 31 kg (c = 500): +91 K
    energy = 0.9 * 0.5 * 5000.0 * 25.0**2
    once = rotor_heat.lumped_temperature(
        np.array([energy]), 0.0, heat_capacity=31.0 * 500.0, step=1.0, initial=ROOM, ambient=ROOM
    )
    assert pytest.approx(91.0, abs=0.5) == once[0] - ROOM


def duty(steps=2400):
    """Snubs of 5 s every 60 s with falling flux."""
    place = np.arange(steps) % 600
    return np.where(place < 50, 1.2e6 * (1.0 - (place + 0.5) / 50.0), 0.0)


def test_energy_balance():
    """Heat in the profile = put in less lost, the loss summed again from the recorded surface: 1e-6."""
    flux = duty()
    front = Face(flux=flux, coefficient=np.full(flux.size, 45.0), emissivity=0.6)
    history = warm(Slab(0.022, IRON), front, profile_steps=(flux.size,))
    kept = 7200.0 * 460.0 * 0.022 * (history.profiles[0, :, 0].mean() - ROOM)
    surface = np.concatenate(([ROOM], history.front[:, 0]))
    middle = 0.5 * (surface[1:] + surface[:-1])
    lost = 0.1 * np.sum(45.0 * (middle - ROOM) + 0.6 * SIGMA * (middle**4 - ROOM**4))
    put_in = 0.1 * flux.sum()
    assert pytest.approx(put_in, rel=1e-12) == history.put_in[0]
    assert pytest.approx(put_in - lost, rel=1e-6) == kept
    assert pytest.approx(lost, rel=1e-5) == history.lost[0]
    assert pytest.approx(kept, rel=1e-6) == history.stored[0]


def finite_elements(flux, thickness, coefficient, emissivity, substeps):
    """Front and back temperature at the end of each 0.1 s by scikit-fem: 60 quadratic elements.

    Two-stage stiffly accurate Runge-Kutta steps (SDIRK2), for Crank-Nicolson rings where the flux jumps.
    """
    import skfem
    from scipy.sparse.linalg import splu
    from skfem.models.poisson import laplace, mass

    mesh = skfem.MeshLine(np.linspace(0.0, thickness, 61))
    basis = skfem.Basis(mesh, skfem.ElementLineP2())
    stiffness, capacity = 50.0 * laplace.assemble(basis), 7200.0 * 460.0 * mass.assemble(basis)
    places = basis.doflocs[0]
    front, back = int(np.argmin(places)), int(np.argmax(places))
    gamma, step = 1.0 - math.sqrt(0.5), 0.1 / substeps
    solve = splu((capacity + gamma * step * stiffness).tocsc()).solve
    temperature, result = np.full(places.size, ROOM), []

    def slope(start, guess, value):
        excess = coefficient * (guess - ROOM) + emissivity * SIGMA * (guess**4 - ROOM**4)
        right = -(stiffness @ start)
        right[front] += value - excess
        return solve(right)

    for value in flux:
        for _ in range(substeps):
            first = slope(temperature, temperature[front], value)
            middle = temperature + (1.0 - gamma) * step * first
            second = slope(middle, middle[front], value)
            temperature = middle + gamma * step * second
        result.append((temperature[front], temperature[back]))
    return np.array(result)


def test_duty_cycle_against_finite_elements():
    """scikit-fem on two minutes of snubs with convection and radiation: 0.5 K asked, 0.05 K held."""
    flux = duty(1200)
    front = Face(flux=flux, coefficient=np.full(flux.size, 45.0), emissivity=0.6)
    history = warm(Slab(0.022, IRON), front)
    reference = finite_elements(flux, 0.022, 45.0, 0.6, substeps=5)
    assert np.abs(history.front[:, 0] - reference[:, 0]).max() < 0.05
    assert np.abs(history.back[:, 0] - reference[:, 1]).max() < 0.05


def test_profile_through_the_thickness_against_the_images():
    """Sixty cells after 0.3 s and 3 s of constant flux: images at their middles, 1e-4 of the surface."""
    history = warm(Slab(0.02, IRON_500), Face(flux=np.full(30, 1e6)), profile_steps=(3, 30))
    depth = history.positions * 0.02
    for i, time in enumerate((0.3, 3.0)):
        n = np.arange(0, 30)[:, None]
        rise = 1e6 * (
            image(2 * n * 0.02 + depth, time, IRON_500) + image(2 * (n + 1) * 0.02 - depth, time, IRON_500)
        ).sum(axis=0)
        assert pytest.approx(rise, abs=1e-4 * rise[0]) == history.profiles[i, :, 0] - ROOM


def test_a_rotor_heated_alike_from_both_faces_is_two_halves():
    """Both faces of 45 mm with the same duty: each is one of 22.5 mm with an insulated middle."""
    flux = duty(1200)
    face = Face(flux=flux, coefficient=np.full(flux.size, 45.0), emissivity=0.6)
    whole = warm(Slab(0.045, IRON), face, face)
    half = warm(Slab(0.0225, IRON), face)
    assert pytest.approx(half.front, abs=0.02) == whole.front
    assert pytest.approx(whole.front, abs=1e-9) == whole.back
    assert pytest.approx(2.0 * half.put_in) == whole.put_in


def test_heat_from_one_face_shows_later_on_the_other():
    """Heat put in at the far face is the mirror image of heat put in at the front."""
    flux = np.full(30, 1e6)
    forward = warm(Slab(0.02, IRON_500), Face(flux=flux), Face(flux=0.0 * flux))
    turned = warm(Slab(0.02, IRON_500), Face(flux=0.0 * flux), Face(flux=flux), profile_steps=(30,))
    alone = warm(Slab(0.02, IRON_500), Face(flux=flux), profile_steps=(30,))
    assert pytest.approx(alone.front, abs=1e-8) == forward.front == pytest.approx(turned.back, abs=1e-8)
    assert pytest.approx(alone.back, abs=1e-8) == forward.back
    assert pytest.approx(alone.profiles[0, ::-1], abs=1e-6) == turned.profiles[0]


def test_vanes_cool_the_far_face():
    """Steady state by hand, all heat leaving at the vanes: T_front - T_back = q L/k."""
    steps = 40_000
    history = warm(
        Slab(0.015, IRON),
        Face(flux=np.full(steps, 2e4)),
        Face(coefficient=np.full(steps, 100.0)),
        step=0.3,
        every=steps,
    )
    assert pytest.approx(ROOM + 200.0, abs=0.01) == history.back[0, 0]
    assert pytest.approx(2e4 * 0.015 / 50.0, abs=1e-3) == history.front[0, 0] - history.back[0, 0]
    assert history.lost[0] + history.stored[0] == pytest.approx(history.put_in[0])


def test_shorter_steps_converge_to_the_same_temperature():
    """0.1 s against 0.025 s of the same duty with strong cooling: 0.1 K at every common time."""
    flux = duty(1200)
    coarse = warm(Slab(0.022, IRON), Face(flux, 1.0, np.full(1200, 80.0), 0.8))
    fine = warm(
        Slab(0.022, IRON), Face(np.repeat(flux, 4), 1.0, np.full(4800, 80.0), 0.8), step=0.025, every=4
    )
    assert np.abs(coarse.front - fine.front).max() < 0.1


def test_wheel_ends_of_different_thickness_equal_single_runs():
    """Own modes for each wheel end against shared modes one by one, radiation and vanes included."""
    flux = duty(700)
    thickness = np.array([0.018, 0.0225, 0.0225, 0.03])
    share = np.array([1.0, 0.5, 1.5, 1.0])
    cool = np.full(700, 45.0)
    batch = warm(
        Slab(thickness, IRON), Face(flux, share, cool, 0.6), Face(coefficient=cool), profile_steps=(650,)
    )
    for i in range(4):
        one = warm(
            Slab(float(thickness[i]), IRON),
            Face(flux, float(share[i]), cool, 0.6),
            Face(coefficient=cool),
            profile_steps=(650,),
        )
        assert pytest.approx(one.front[:, 0], abs=0.01) == batch.front[:, i]
        assert pytest.approx(one.back[:, 0], abs=0.01) == batch.back[:, i]
        assert pytest.approx(one.mean[:, 0], abs=0.01) == batch.mean[:, i]
        assert pytest.approx(one.profiles[0, :, 0], abs=0.01) == batch.profiles[0, :, i]


@given(
    shares=st.lists(st.floats(0.1, 2.0), min_size=1, max_size=5),
    coefficient=st.floats(0.0, 200.0),
    emissivity=st.floats(0.0, 1.0),
)
@settings(deadline=None, max_examples=25)
def test_one_wheel_end_gets_the_same_answer_as_a_batch(shares, coefficient, emissivity):
    """Scalar path equals array path; more heat is never cooler; energy balances to 1e-9."""
    flux = duty(130)
    cool = np.full(130, coefficient)
    batch = warm(Slab(0.022, IRON), Face(flux, np.array(shares), cool, emissivity))
    for i, share in enumerate(shares):
        one = warm(Slab(0.022, IRON), Face(flux, share, cool, emissivity))
        assert pytest.approx(one.front[:, 0], rel=1e-12) == batch.front[:, i]
    order = np.argsort(shares)
    assert (np.diff(batch.front[:, order], axis=1) >= -1e-9).all()
    assert pytest.approx(batch.put_in - batch.lost, rel=1e-9) == batch.stored
    assert (batch.peak >= batch.front.max(axis=0) - 1e-9).all()


def test_flux_and_cooling_may_differ_by_wheel_end_and_step():
    """(steps, wheel ends) arrays: each column is the run of that wheel end."""
    rng = np.random.default_rng(5)
    flux, cool = rng.uniform(0, 1e6, (50, 3)), rng.uniform(10, 80, (50, 3))
    start = np.array([280.0, 300.0, 350.0])
    batch = warm(Slab(0.02, IRON), Face(flux, 1.0, cool, 0.5), initial=start, ambient=start - 10.0)
    for i in range(3):
        one = warm(
            Slab(0.02, IRON),
            Face(flux[:, i], 1.0, cool[:, i], 0.5),
            initial=float(start[i]),
            ambient=float(start[i]) - 10.0,
        )
        assert pytest.approx(one.front[:, 0], rel=1e-12) == batch.front[:, i]


def test_records_are_a_selection_of_the_steps():
    """Every seventh step of 100: the numbers of the full record, and nothing not asked for."""
    flux = duty(100)
    full = warm(Slab(0.022, IRON), Face(flux, 1.0, 40.0))
    few = heat_rotors(
        Slab(0.022, IRON),
        Face(flux, 1.0, 40.0),
        step=0.1,
        initial=ROOM,
        ambient=ROOM,
        recording=Recording(every=7, back=False, mean=False),
    )
    np.testing.assert_allclose(few.time, full.time[6::7])
    np.testing.assert_array_equal(few.front, full.front[6::7])
    assert few.back.size == few.mean.size == 0
    np.testing.assert_array_equal(few.peak, full.peak)


def test_an_unknown_wheel_end_leaves_the_others_known():
    """NaN in share, emissivity, coefficient, start or thickness: that wheel end is NaN alone."""
    flux, both = duty(40), np.array([1.0, np.nan])
    for face, start, slab in (
        (Face(flux, both, 40.0, 0.6), ROOM, Slab(0.022, IRON)),
        (Face(flux, 1.0, 40.0, 0.6 * both), ROOM, Slab(0.022, IRON)),
        (Face(flux, 1.0, np.full((40, 2), 40.0) * both), ROOM, Slab(0.022, IRON)),
        (Face(flux, 1.0, 40.0, 0.6), ROOM * both, Slab(0.022, IRON)),
        (Face(flux, 1.0, 40.0, 0.6), ROOM, Slab(0.022 * both, IRON)),
    ):
        history = warm(slab, face, initial=start)
        assert np.isnan(history.front[-1]).tolist() == [False, True]


def test_cooling_known_only_as_nothing_is_not_taken_for_no_cooling():
    """A NaN coefficient or emissivity for all wheel ends leaves every temperature unknown."""
    for face in (Face(duty(40), 1.0, np.nan), Face(duty(40), 1.0, 0.0, np.nan)):
        assert np.isnan(warm(Slab(0.022, IRON), face).front).all()


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: Slab(-0.02), "thickness of the slab is -0.02 m"),
        (lambda: Face(flux=-1.0), "friction heat flux is -1 W/m2"),
        (lambda: Face(coefficient=-1.0), r"convection coefficient is -1 W/\(m2 K\)"),
        (lambda: Face(emissivity=1.2), "emissivity is 1.2"),
        (lambda: Face(flux_share=-0.5), "share of the flux is -0.5"),
        (lambda: Recording(every=0), "steps between records is 0"),
        (lambda: Recording(cells=1), "cells of a profile is 1"),
        (lambda: Recording(profile_steps=(0,)), "step of a profile is 0"),
        (lambda: warm(Slab(0.02), Face(np.ones(5)), profile_steps=(6,)), "step of a profile is 6"),
        (lambda: warm(Slab(0.02), Face(np.ones(5)), step=0.0), "time step is 0 s"),
        (lambda: warm(Slab(0.02), Face(np.ones(5)), initial=20.0), "initial temperature is 20 K.*293.15"),
        (lambda: warm(Slab(0.02), Face(np.ones(5)), ambient=-10.0), "ambient temperature is -10 K"),
        (
            lambda: warm(Slab(0.02), Face(np.ones(5), 1.0, np.ones(6))),
            "the inputs have 5 and 6 steps.*Check the shapes",
        ),
        (
            lambda: warm(Slab(0.02), Face(np.ones(5), np.ones(2)), initial=np.full(3, 300.0)),
            "the inputs have 2 and 3 wheel ends",
        ),
        (
            lambda: warm(Slab(0.02), Face(np.ones(5), 1.0, 5000.0), step=60.0),
            "the time step is 60 s with heat given off at up to 5000 .*Take a shorter step",
        ),
        (
            lambda: rotor_heat.lumped_temperature(
                np.ones(3), 1.0, heat_capacity=0.0, step=1.0, initial=300.0, ambient=300.0
            ),
            "heat capacity of the ring is 0 J/K",
        ),
        (
            lambda: rotor_heat.lumped_temperature(
                -np.ones(3), 1.0, heat_capacity=1.0, step=1.0, initial=300.0, ambient=300.0
            ),
            "heating power is -1 W",
        ),
        (
            lambda: rotor_heat.lumped_temperature(
                np.ones(3), -1.0, heat_capacity=1.0, step=1.0, initial=300.0, ambient=300.0
            ),
            "heat given off per temperature difference is -1 W/K",
        ),
    ],
)
def test_impossible_heat_is_refused(call, words):
    """Each refusal names the quantity, its value and the cure."""
    with pytest.raises(DomainError, match=words):
        call()
