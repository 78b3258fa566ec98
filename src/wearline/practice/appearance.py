"""What a perfect gauge would show at each wheel end, from the hidden state.

Numbers come from state and mechanical quantities by the geometry and mechanics of the brake; nothing here
knows which cause is at work, except the words for parts that a cause has visibly broken.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wearline.physics.guide_pins import radial_play_at_bridge
from wearline.physics.tilt import play_at_plane
from wearline.practice.tester import after_run, on_the_roller
from wearline.practice.work import drag_torques, guide_pins

if TYPE_CHECKING:
    from wearline.practice.conditions import Conditions
    from wearline.practice.layout import Floats
    from wearline.practice.simulation import Simulation
    from wearline.records.readings import ReadingKey

__all__ = ["Appearance", "appear"]


@dataclass(frozen=True, slots=True)
class Appearance:
    """True figures of all wheel ends.

    Parameters
    ----------
    numbers : dict of (field, spot) to array, [SI]
        What a perfect gauge would show; NaN where the check cannot be taken.
    now : Conditions
        Mechanical quantities at this instant.
    drag : array, [N m]
        Drag torque of the released brake on the road.
    repeats : array, shape (3, wheel ends), [m]
        Three turns of the dial for run-out.
    """

    numbers: dict[ReadingKey, Floats]
    now: Conditions
    drag: Floats
    repeats: Floats


def appear(simulation: Simulation) -> Appearance:
    """Return the true figures of every wheel end at this instant.

    Parameters
    ----------
    simulation : Simulation
        The vehicles; its generator draws what differs from look to look.

    Returns
    -------
    Appearance
        Figures by field of the inspection file.
    """
    now = simulation.conditions()
    inner, outer, hot = drag_torques(simulation.state, now, simulation.road())
    numbers: dict[ReadingKey, Floats] = {}
    numbers |= _pads(simulation, now)
    numbers |= _guides(simulation, now)
    numbers |= _adjuster(simulation, now)
    rotor, repeats = _rotor(simulation, now)
    numbers |= rotor
    numbers |= on_the_roller(simulation, now, inner + outer)
    numbers["temperature", ""] = after_run(simulation, now, inner + outer + hot)
    return Appearance(numbers, now, inner + outer + hot, repeats)


def _pads(simulation: Simulation, now: Conditions) -> dict[ReadingKey, Floats]:
    """Corners of both pads; what mark and sensor show of their wear."""
    state, layout, rng = simulation.state, simulation.layout, simulation.look_rng
    roughness = simulation.mechanisms.wear.corner_roughness
    signs = {"LT": (0.5, 0.5), "LB": (0.5, -0.5), "TT": (-0.5, 0.5), "TB": (-0.5, -0.5)}
    numbers: dict[ReadingKey, Floats] = {}
    sides = {
        "pad_inner": (state.inner, state.end_inner, state.top_inner),
        "pad_outer": (state.outer, state.end_outer, state.top_outer),
    }
    for field, (mean, end, top) in sides.items():
        for spot, (along, up) in signs.items():
            corner = mean + along * end + up * top + roughness * rng.standard_normal(layout.ends)
            if field == "pad_outer" and spot == "TT":
                corner = corner - now["corner_loss"]
            numbers[field, spot] = np.clip(corner, 0.0, layout.dimension["friction_new"] * 1.03)
    numbers["visible_friction", ""] = np.minimum(state.inner, state.outer)
    full = layout.dimension["indicator_full_scale"]
    lost = state.face_inner + state.face_outer
    turned = 2.0 * layout.dimension["friction_new"] - state.inner - state.outer + lost
    travel = np.where(layout.slides, state.slid, turned)
    numbers["wear_indicator", ""] = np.clip(travel / full + now["indicator_offset"], 0.0, 1.15)
    tappets = 2.0 * full
    numbers["wear_electronic", ""] = np.clip(turned / tappets + now["indicator_offset"], 0.0, 1.0)
    numbers["abutment_faces_caught", ""] = rng.binomial(8, now["faces_caught"] / 8.0).astype(float)
    return numbers


def _guides(simulation: Simulation, now: Conditions) -> dict[ReadingKey, Floats]:
    """Slide and play; a calliper that does not move has no play to read."""
    state, layout, mechanisms = simulation.state, simulation.layout, simulation.mechanisms
    guidance, testing, rng = mechanisms.guidance, mechanisms.testing, simulation.look_rng
    tangential, radial = guide_pins(state, now, layout, mechanisms)
    gap = testing.bridge_gap + testing.bridge_gap_spread * rng.standard_normal(layout.ends)
    distance = layout.dimension["dial_distance"] + gap - testing.bridge_gap
    free = 1.0 - now["play_bound"]
    stuck = now["slide_hand"] >= guidance.stuck_force
    play = np.asarray(play_at_plane(tangential.long_clearance, tangential.long_span, distance)) * free
    lift = np.asarray(radial_play_at_bridge(radial, distance, guidance.short_pin_share)) * free
    # the dial stands on the carrier, so a mount that moves with its bolts shows no play
    return {
        ("slide", ""): now["slide_hand"],
        ("rotor_bridge_gap", ""): gap,
        ("tangential_play", ""): np.where(stuck, np.nan, play),
        ("radial_play", ""): np.where(stuck, np.nan, lift),
        ("guide_clearance", ""): np.asarray(tangential.long_clearance, dtype=float),
        ("tappet_step", ""): np.abs(now["tappet_step"]) + np.abs(0.05e-3 * rng.standard_normal(layout.ends)),
    }


def _adjuster(simulation: Simulation, now: Conditions) -> dict[ReadingKey, Floats]:
    """Total travel, with what bearing, rotor and pads add to it or take from it."""
    state, layout, rng = simulation.state, simulation.layout, simulation.look_rng
    actuation, wear = simulation.mechanisms.actuation, simulation.mechanisms.wear
    slipped = now["back_slip"] * rng.uniform(0.0, 1.0, layout.ends)
    wobble = np.hypot(now["runout"], now["seat_runout"])
    knocked = actuation.knock_back * np.maximum(wobble - actuation.quiet_runout, 0.0)
    loose = np.maximum(now["end_play"] - 2.0 * wear.end_play_base, 0.0)
    hub = loose * (actuation.knock_back + 2.0 * rng.uniform(0.3, 1.0, layout.ends))
    travel = state.clearance + slipped + knocked + hub - now["travel_loss"]
    return {
        ("total_travel", ""): np.clip(travel, 2e-5, 9.5e-3),
        ("adjuster_torque", ""): now["stem_torque"],
    }


def _rotor(simulation: Simulation, now: Conditions) -> tuple[dict[ReadingKey, Floats], Floats]:
    """Rotor and hub; with a loose bearing no two turns of the dial agree."""
    state, layout, rng = simulation.state, simulation.layout, simulation.look_rng
    wear, testing = simulation.mechanisms.wear, simulation.mechanisms.testing
    phase = rng.uniform(0.0, 2.0 * np.pi, layout.ends)
    ring, seat = now["runout"], now["seat_runout"]
    steady = np.sqrt(np.maximum(ring**2 + seat**2 + 2.0 * ring * seat * np.cos(phase), 0.0))
    loose = np.maximum(now["end_play"] - 2.0 * wear.end_play_base, 0.0)
    turns = np.abs(steady + loose * rng.uniform(-0.3, 1.3, (3, layout.ends)))
    crack = np.maximum(state.crack, now["crack"])
    width = np.where(crack > 0.5, 0.1e-3 + 0.5e-3 * crack**4, 0.05e-3 * crack)
    scoring = np.minimum(now["scoring"] + state.scoring, wear.metal_scoring_most)
    return {
        ("rotor_thickness", ""): state.rotor(layout),
        ("rotor_thickness_variation", ""): now["thickness_variation"],
        ("rotor_runout", ""): turns[0],
        ("rotor_crack_length", ""): crack,
        ("rotor_crack_width", ""): width,
        ("rotor_scoring", ""): scoring,
        ("bearing_end_play", ""): now["end_play"],
        ("hub_face_runout", ""): 0.02e-3 + 0.8 * seat,
        ("sensor_gap", ""): testing.sensor_gap
        + 0.5 * loose
        + np.abs(0.05e-3 * rng.standard_normal(layout.ends)),
        ("fastener_torque", ""): testing.fastener_torque * now["fastener_share"],
    }, turns
