"""Chamber, lever, clamp, torque and the states of a wheel end.

Sources: area and force of a Type 30 chamber from a US driver licence manual (transcription); friction
letters from SAE J866 (Mar 2019) Table 1 (transcription); effective radii by independent numerical
integration; the force table derived from generic dimensions (expert judgement).
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wearline.errors import DomainError
from wearline.physics import chamber, force, states

PSI, LBF, BAR = 6894.757293168361, 4.4482216152605, 1e5
GENERIC = force.BrakeDesign()
TYRE = 0.50


def test_type_30_chamber_at_100_psi_gives_3000_pounds():
    """US driver licence manual, air brakes: Type 30 = 30 in^2; 100 psi gives 3 000 lbf = 13 345 N."""
    newton = chamber.rod_force(100 * PSI, chamber.area_of_type(30))
    assert pytest.approx(3000.0, rel=1e-9) == newton / LBF
    assert round(newton) == 13345
    assert round(chamber.rod_force(6.5 * BAR, chamber.area_of_type(30))) == 12581


@pytest.mark.parametrize(
    ("number", "square_cm"),
    [(9, 58.1), (12, 77.4), (16, 103.2), (20, 129.0), (24, 154.8), (30, 193.5), (36, 232.3)],
)
def test_areas_of_the_chamber_types(number, square_cm):
    """Arithmetic from the inch: N square inches, printed to 0.1 cm^2."""
    assert pytest.approx(square_cm, abs=0.0501) == chamber.area_of_type(number) * 1e4


def test_rod_force_of_the_generic_chamber():
    """Derived: 24 in^2 at 690 kPa, threshold 30 kPa: 10.0 kN."""
    rod = chamber.rod_force(690e3, GENERIC.chamber_area, GENERIC.threshold, GENERIC.chamber_efficiency)
    assert pytest.approx(10.0, abs=0.05) == rod / 1e3


# pressure kPa, force at the tyre kN: derived, printed to 0.1
FORCES = [(100, 3.9), (200, 9.4), (300, 15.0), (500, 26.1), (690, 36.6)]


@pytest.mark.parametrize(("pressure", "printed"), FORCES)
def test_force_at_the_tyre_over_pressure(pressure, printed):
    """Derived from generic dimensions; half a unit of the printed digit."""
    actual = force.wheel_force(pressure * 1e3, GENERIC, TYRE) / 1e3
    assert pytest.approx(printed, abs=0.0501) == actual


def test_clamp_force_and_torque_of_the_generic_brake():
    """Derived: 147 kN of clamp and 18.3 kN m at 690 kPa, both pads bearing alike."""
    inner, outer = force.clamp_forces(690e3, GENERIC)
    assert inner == outer
    assert pytest.approx(147.0, abs=0.5) == inner / 1e3
    assert pytest.approx(18.3, abs=0.05) == force.wheel_torque(690e3, GENERIC) / 1e3


def test_effective_radius_of_both_assumptions():
    """Radii 100 and 150 mm: 126.667 mm (uniform pressure), 125.000 mm (uniform wear), by hand."""
    assert pytest.approx(126.667, abs=0.0005) == force.effective_radius_uniform_pressure(0.1, 0.15) * 1e3
    assert pytest.approx(125.000, abs=0.0005) == force.effective_radius_uniform_wear(0.1, 0.15) * 1e3


def test_effective_radius_by_summing_rings():
    """Independent: torque over force of 200 000 thin rings, pressure constant or falling as 1/r."""
    edges = np.linspace(0.124, 0.216, 200_001)
    r = 0.5 * (edges[1:] + edges[:-1])
    for pressure, function in (
        (np.ones_like(r), force.effective_radius_uniform_pressure),
        (1 / r, force.effective_radius_uniform_wear),
    ):
        radius = np.sum(pressure * r * r) / np.sum(pressure * r)
        assert pytest.approx(radius, rel=1e-9) == function(0.124, 0.216)


@pytest.mark.parametrize(
    ("friction", "letter"),
    [
        (0.15, "C"),
        (0.1501, "D"),
        (0.25, "D"),
        (0.35, "E"),
        (0.3501, "F"),
        (0.45, "F"),
        (0.4501, "G"),
        (0.55, "G"),
        (0.56, "H"),
    ],
)
def test_friction_letters_include_their_upper_bound(friction, letter):
    """SAE J866 (Mar 2019) Table 1: over 0.25 to 0.35 is E, over 0.35 to 0.45 is F; transcription."""
    assert letter == force.friction_letter(friction)


def test_threshold_matters_at_light_pressure_only():
    """Derived: 24 against 63 kPa of threshold: factor 3.3 at 80 kPa, 1.1 at 400 kPa."""
    low = force.BrakeDesign(threshold=24e3)
    high = force.BrakeDesign(threshold=63e3)
    for pressure, ratio in ((80e3, 3.3), (400e3, 1.1)):
        actual = force.wheel_force(pressure, low, TYRE) / force.wheel_force(pressure, high, TYRE)
        assert pytest.approx(ratio, abs=0.05) == actual


def test_seized_slide_shows_most_at_light_pressure():
    """Half the force is lost in light braking, a quarter in a full stop (expert judgement)."""
    state = states.seized_slide()
    share = [
        force.wheel_force(p, GENERIC, TYRE, state) / force.wheel_force(p, GENERIC, TYRE)
        for p in (100e3, 690e3)
    ]
    assert pytest.approx([0.5, 0.76], abs=0.005) == share


def test_dead_adjuster_is_a_fault_of_the_full_stop():
    """3 mm of clearance costs nothing at 1 bar and about 40 % in a full stop (expert judgement -40 %)."""
    state = states.dead_adjuster(3.0e-3)
    assert force.wheel_force(1e5, GENERIC, TYRE, state) == force.wheel_force(1e5, GENERIC, TYRE)
    share = force.wheel_force(690e3, GENERIC, TYRE, state) / force.wheel_force(690e3, GENERIC, TYRE)
    assert pytest.approx(0.60, abs=0.02) == share


def test_clamp_force_fits_its_own_stroke():
    """The closed form satisfies the two relations it came from: force of stroke and stroke of force."""
    for excess in (0.0, 0.8e-3, 1.5e-3, 2.4e-3):
        state = states.WheelEndState(clearance_excess=excess)
        inner, _ = force.clamp_forces(690e3, GENERIC, state)
        stroke = GENERIC.lever_ratio * (GENERIC.clearance + excess + GENERIC.compliance * inner)
        full = (
            GENERIC.lever_ratio
            * GENERIC.lever_efficiency
            * chamber.rod_force(690e3, GENERIC.chamber_area, GENERIC.threshold, GENERIC.chamber_efficiency)
        )
        assert pytest.approx(full * chamber.stroke_factor(stroke, GENERIC.stroke), rel=1e-9) == inner


def test_clamp_force_of_a_brake_whose_clearance_eats_the_stroke_is_nothing():
    """Clearance alone beyond the end of the stroke: 64 mm / 15.6 = 4.1 mm."""
    state = states.dead_adjuster(4.2e-3)
    assert force.clamp_forces(690e3, GENERIC, state) == (0.0, 0.0)


def test_thrust_is_ninety_percent_where_the_stroke_is_called_effective():
    """UN R13 Annex 19 defines s_p by 90 % of the mean thrust (transcription); here by the curve itself."""
    curve = chamber.StrokeCurve()
    assert pytest.approx(0.9, rel=1e-12) == chamber.stroke_factor(chamber.ninety_percent_stroke(curve), curve)
    assert chamber.stroke_factor(curve.knee, curve) == 1.0
    assert chamber.stroke_factor(0.070, curve) == 0.0


def test_faults_of_friction_air_and_lever_scale_the_force():
    """Oil and a worn lever bearing cut the same share at every pressure, low air adds threshold's share."""
    sound = force.wheel_force(400e3, GENERIC, TYRE)
    assert pytest.approx(0.55) == force.wheel_force(400e3, GENERIC, TYRE, states.oiled_pads()) / sound
    assert pytest.approx(0.70) == force.wheel_force(400e3, GENERIC, TYRE, states.glazed_pads()) / sound
    assert pytest.approx(0.70) == force.wheel_force(400e3, GENERIC, TYRE, states.worn_lever_bearing()) / sound
    low = force.wheel_force(400e3, GENERIC, TYRE, states.low_pressure(0.6)) / sound
    assert pytest.approx((240 - 30) / (400 - 30)) == low
    raised = force.wheel_force(400e3, GENERIC, TYRE, states.raised_threshold(20e3)) / sound
    assert pytest.approx((400 - 50) / (400 - 30)) == raised


def test_a_dragging_brake_keeps_its_torque_released():
    """200 N m stay at no pressure and are lost in the applied torque."""
    state = states.dragging(200.0)
    assert force.wheel_torque(0.0, GENERIC, state) == 200.0
    assert force.wheel_torque(690e3, GENERIC, state) == force.wheel_torque(690e3, GENERIC)


def test_faults_combine():
    """Oil and low air: shares multiply; a drag and an excess of clearance both stay."""
    both = states.oiled_pads(0.5).with_also(states.low_pressure(0.8)).with_also(states.dragging(50.0))
    both = both.with_also(states.dead_adjuster(2.5e-3))
    assert (both.friction_share, both.pressure_share, both.drag_torque) == (0.5, 0.8, 50.0)
    assert pytest.approx(2.5e-3 - 1.524e-3) == both.clearance_excess
    assert states.SOUND.with_also(both) == both


def test_grip_caps_the_force():
    """F <= k N, element by element."""
    actual = force.grip_limited(np.array([20e3, 40e3]), 40e3, 0.7)
    assert actual.tolist() == [20e3, 28e3]


@given(
    pressures=st.lists(st.floats(0.0, 12e5), min_size=2, max_size=10),
    excess=st.floats(-1.5e-3, 4e-3),
    slide=st.floats(0.0, 1e5),
    share=st.floats(0.0, 1.0),
)
@settings(deadline=None)
def test_more_pressure_never_means_less_force_and_no_fault_adds_any(pressures, excess, slide, share):
    """Monotonic in pressure; scalar path equals array path; a faulty brake never beats the sound one."""
    state = states.WheelEndState(
        clearance_excess=excess, slide_force=slide, friction_share=share, pressure_share=share
    )
    ordered = np.sort(np.array(pressures))
    batch = force.wheel_force(ordered, GENERIC, TYRE, state)
    assert (np.diff(batch) >= -1e-6).all()
    singly = [force.wheel_force(float(p), GENERIC, TYRE, state) for p in ordered]
    assert pytest.approx(singly, rel=1e-13) == batch
    if excess >= 0.0:
        assert (batch <= force.wheel_force(ordered, GENERIC, TYRE) + 1e-6).all()


def test_not_measured_stays_not_measured():
    """NaN pressure, clearance or friction gives NaN force, also inside an array."""
    assert math.isnan(force.wheel_force(math.nan, GENERIC, TYRE))
    assert math.isnan(force.wheel_force(5e5, GENERIC, TYRE, states.dead_adjuster(math.nan)))
    result = force.wheel_force(np.array([np.nan, 5e5]), GENERIC, TYRE)
    assert np.isnan(result).tolist() == [True, False]


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: force.wheel_force(-1.0, GENERIC, TYRE), "air pressure is -1 Pa"),
        (lambda: force.wheel_force(95e5, GENERIC, TYRE), r"air pressure is 9.5e\+06 Pa.*with its unit"),
        (lambda: force.wheel_force(5e5, GENERIC, 500.0), "radius of the tyre is 500 m.*in metres"),
        (lambda: chamber.area_of_type(154.8), "type number of the chamber is 154.8.*6 to 50"),
        (lambda: chamber.rod_force(5e5, 0.0), "area of the chamber is 0 m2"),
        (lambda: chamber.rod_force(5e5, 0.01, -1.0), "threshold pressure is -1 Pa"),
        (lambda: chamber.rod_force(5e5, 0.01, 0.0, 1.2), "efficiency of the chamber is 1.2"),
        (lambda: chamber.stroke_factor(-0.01, chamber.StrokeCurve()), "rod stroke is -0.01 m"),
        (lambda: chamber.StrokeCurve(knee_share=1.0), "share of the stroke with full force is 1"),
        (lambda: force.effective_radius_uniform_pressure(0.15, 0.1), "outer radius less inner radius"),
        (lambda: force.effective_radius_uniform_wear(0.0, 0.1), "inner radius is 0 m"),
        (lambda: force.friction_letter(3.5), "friction coefficient is 3.5"),
        (lambda: force.friction_letter(math.nan), "friction coefficient is not a number"),
        (lambda: force.brake_torque(-1.0, 1.0, 0.36, 0.17), "clamp force on the inner pad is -1 N"),
        (lambda: force.brake_torque(1.0, 1.0, 0.36, 0.0), "effective radius is 0 m"),
        (lambda: force.grip_limited(1.0, 1.0, 2.0), "adhesion is 2"),
        (lambda: force.BrakeDesign(friction=36.0), "friction coefficient is 36"),
        (lambda: force.BrakeDesign(compliance=-1.0), "compliance of the calliper is -1 m/N"),
        (lambda: states.oiled_pads(-0.1), "share of the friction is -0.1"),
        (lambda: states.low_pressure(1.1), "share of the pressure is 1.1"),
        (lambda: states.seized_slide(-5.0), "force lost in the slide is -5 N"),
        (lambda: states.dragging(-5.0), "drag torque is -5 N m"),
        (lambda: states.dead_adjuster(0.062), "clearance above the design's is 0.060476 m"),
    ],
)
def test_impossible_inputs_are_refused(call, words):
    """Each refusal names the quantity, its value and its unit."""
    with pytest.raises(DomainError, match=words):
        call()
