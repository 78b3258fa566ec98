"""What a person sees, feels and hears: words for each wheel end and for the vehicle.

A broken part shows itself by the signs of its cause; every other word follows from the hidden quantities
(a pad that is gripped is 'tight', a rotor that was hot enough is blue). A look misses something now and then.
"""

from __future__ import annotations

from itertools import compress
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping

    from wearline.practice.appearance import Appearance
    from wearline.practice.layout import Floats
    from wearline.practice.simulation import Simulation

__all__ = ["GOOD_WORDS", "looks", "noticed_words", "vehicle_words"]

GOOD_WORDS: Mapping[str, str] = {
    "rotor_view": "sound",
    "air_leak": "none",
    "action": "moves and returns",
    "free_turning": "turns evenly",
    "spring_brake": "releases and holds",
    "hose": "sound",
    "caps_seen": "present",
    "wheel_fasteners": "sound",
    "first_look": "nothing unusual",
    "adjuster_test": "advances and holds",
    "pad_condition": "sound",
    "pad_identity": "same and right",
    "pad_freedom": "free",
    "guide_pin_boot": "sound",
    "guide_caps": "present",
    "tappet_boot": "sound",
    "tappet_shank": "clean",
    "stem_cap": "in place",
    "rotor_crack": "none",
    "rotor_heat_spots": "none",
    "rotor_fixing": "sound",
    "hub_seal": "dry",
    "tone_ring": "sound",
    "carrier": "sound",
    "calliper_fixing": "sound",
    "retainer": "sound",
    "chamber_fixing": "sound",
    "chamber_seal": "sound",
    "sensor_wire": "whole",
}
"""Fields seen as words, with the word of a sound brake, in no particular order."""

_CELSIUS_ZERO = 273.15


def looks(simulation: Simulation, appearance: Appearance) -> list[dict[str, str]]:
    """Return the words of every wheel end.

    Parameters
    ----------
    simulation : Simulation
        The vehicles.
    appearance : Appearance
        True figures at this instant.

    Returns
    -------
    list of dict
        For each wheel end, field to word.
    """
    layout, rng = simulation.layout, simulation.look_rng
    words = [dict(GOOD_WORDS) for _ in range(layout.ends)]
    seen = _from_quantities(simulation, appearance)
    for field, (columns, masks) in seen.items():
        for end in np.flatnonzero(np.any(masks, axis=0)).tolist():
            words[end][field] = next(word for word, mask in zip(columns, masks, strict=True) if mask[end])
    clock = simulation.clock
    for active in simulation.actives:
        weight = active.weight_at(float(clock[active.vehicle]))
        for field, (word, early) in active.signs.items():
            if weight > (0.0 if early else 0.5):
                for end in active.ends:
                    words[int(end)][field] = word
    for end, axle in enumerate(_axles(simulation)):
        if axle == "steer":
            words[end]["spring_brake"] = "not fitted"
        lost = words[end]["stem_cap"] == "missing" or words[end]["guide_caps"] == "missing"
        words[end]["caps_seen"] = "missing" if lost else "present"
        overlooked = rng.random(len(GOOD_WORDS)) < simulation.mechanisms.testing.wrong_word
        for field, good in compress(GOOD_WORDS.items(), overlooked):
            if words[end][field] != "not fitted":
                words[end][field] = good
    return words


def _axles(simulation: Simulation) -> list[str]:
    return [axle.role for spec in simulation.layout.specs for axle in spec.axles for _ in "LR"]


def _from_quantities(
    simulation: Simulation, appearance: Appearance
) -> dict[str, tuple[tuple[str, ...], list[Floats]]]:
    """Words that follow from quantities: for each field the words, worst first, and where they hold."""
    now, state, numbers = appearance.now, simulation.state, appearance.numbers
    heat, drags = simulation.mechanisms.heat, simulation.mechanisms.drag
    grip, crack = now["pad_grip"], numbers["rotor_crack_length", ""]
    bench = appearance.drag / drags.bench_share
    peak = state.peak_temperature
    blue = peak > heat.blue_temperature
    cooked = state.hot_run > simulation.boot_luck * heat.boot_distance
    moves = simulation.look_rng.random(simulation.layout.ends)
    through = crack >= 0.985
    uneven = (now["thickness_variation"] > 1.1e-4) | (now["rust_band"] > 0.5) | (now["runout"] > 3e-4)
    return {
        "adjuster_test": (
            ("turns back",),
            [now["back_slip"] > 0.25e-3],
        ),
        "pad_freedom": (("stuck", "tight"), [grip > 0.65, grip > 0.2]),
        "action": (
            ("does not move", "slow return"),
            [(now["seized"] > 0.9) & (moves < 0.8), now["slow_release"] > 0.45],
        ),
        "free_turning": (("not by hand", "tight spots"), [bench > drags.hand_torque, uneven]),
        "wheel_fasteners": (("heat marks",), [state.working_temperature > 300.0 + _CELSIUS_ZERO]),
        "tappet_boot": (("unseated",), [cooked]),
        "rotor_view": (
            ("crack to edge", "rust band", "blue ring"),
            [through, now["rust_band"] > 0.3, blue],
        ),
        "rotor_crack": (
            ("to the vanes", "into an edge", "hair net"),
            [through & (moves < 0.4), through, crack > 0.12],
        ),
        "rotor_heat_spots": (("raised", "flat"), [peak > heat.blue_temperature + 120.0, blue]),
    }


def noticed_words(
    simulation: Simulation, appearance: Appearance, words: list[dict[str, str]]
) -> list[list[str]]:
    """Return what driver and technician noticed, by wheel end.

    Parameters
    ----------
    simulation : Simulation
        The vehicles.
    appearance : Appearance
        True figures at this instant.
    words : list of dict
        Words of every wheel end.

    Returns
    -------
    list of list of str
        Words such as ``"judder"``; judder and pull are felt for an axle, not for one end.
    """
    now, numbers, rng = appearance.now, appearance.numbers, simulation.look_rng
    ends = simulation.layout.ends
    shake = (now["thickness_variation"] / 1.2e-4) ** 2 + (now["end_play"] / 3.5e-4) ** 2
    shake = shake + ((now["runout"] + now["seat_runout"]) / 3e-4) ** 2
    light = numbers["brake_force_2bar", ""]
    left, right = light[::2], light[1::2]
    unequal = np.repeat(np.abs(left - right) / np.maximum(np.maximum(left, right), 1.0), 2)
    slack = np.nan_to_num(numbers["tangential_play", ""]) / 4e-3 + now["faces_caught"] / 4.0
    slack = slack + now["mount_tilt"] / 4e-3
    retained = np.array([word["retainer"] != "sound" for word in words], dtype=float)
    glazed = np.array([word["pad_condition"] == "glazed" for word in words], dtype=float)
    chances = {
        "judder": _pair_of(1.0 - np.exp(-np.maximum(shake - 0.35, 0.0))),
        "squeal": 0.02 + 0.45 * glazed + 0.2 * (appearance.drag > 40.0),
        "knock": np.clip(0.02 + 0.35 * np.maximum(slack - 0.5, 0.0) + 0.5 * retained, 0.0, 0.9),
        "pull": np.clip(3.0 * (unequal - 0.2), 0.0, 0.85),
        "smell": np.clip((appearance.drag - 50.0) / 150.0, 0.0, 0.8),
    }
    found: list[list[str]] = [[] for _ in range(ends)]
    for word, chance in chances.items():
        luck = rng.random(ends)
        if word in ("judder", "pull"):
            luck = np.repeat(luck[::2], 2)
        for end in np.flatnonzero(luck < chance):
            found[int(end)].append(word)
    return found


def _pair_of(chance: Floats) -> Floats:
    """The greater chance of both ends of each axle, at both."""
    result: Floats = np.repeat(np.maximum(chance[::2], chance[1::2]), 2)
    return result


def vehicle_words(
    simulation: Simulation, appearance: Appearance, words: list[dict[str, str]], vehicle: int
) -> dict[str, str]:
    """Return what is seen of the vehicle as a whole.

    Parameters
    ----------
    simulation : Simulation
        The vehicles.
    appearance : Appearance
        True figures at this instant.
    words : list of dict
        Words of every wheel end.
    vehicle : int
        Which vehicle.

    Returns
    -------
    dict
        Field to word.
    """
    ends = simulation.layout.places[vehicle, "vehicle"]
    gaps = appearance.numbers["sensor_gap", ""][ends]
    wires = any(words[int(end)]["sensor_wire"] != "whole" for end in ends)
    spec = simulation.layout.specs[vehicle]
    works = appearance.now["retarder_loss"][ends[0]] < 0.5
    retarder = "not fitted"
    if spec.retarder == "fitted":
        retarder = "works" if works else "does not work"
    return {
        "lamps": "active" if wires or bool((gaps > 0.9e-3).any()) else "none active",
        "parking_brake": "holds",
        "retarder": retarder,
    }
