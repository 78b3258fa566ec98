"""What a stretch of road does to pads, rotors, guides and clearance.

Every relation is a mechanism of the trade with expert-judgement numbers; the explanation is in
``docs/explanation/simulator.md``. All quantities are arrays over wheel ends in SI units.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from wearline.practice.conditions import Conditions
from wearline.practice.layout import Floats
from wearline.practice.wear_state import Road, WearState
from wearline.practice.work import Work, taper_targets, work_by_distance

if TYPE_CHECKING:
    from wearline.practice.parameters import Wear

__all__ = ["pad_wear_rates", "wear_on"]

_THINNEST_ROTOR = 15e-3
"""[m] A rotor breaks before it gets thinner; nothing is left to wear then."""


def pad_wear_rates(state: WearState, now: Conditions, road: Road) -> tuple[Work, Floats, Floats]:
    """Return how fast both pads of each wheel end wear.

    Parameters
    ----------
    state : WearState
        State of wear.
    now : Conditions
        Mechanical quantities.
    road : Road
        What stays the same.

    Returns
    -------
    work : Work
        Energy and heat.
    inner, outer : array, [m/m]
        Friction lost by distance.

    Notes
    -----
    dh/dx = k E / A for each pad, with E its energy by distance and k the specific wear at its temperature.
    """
    layout, own = road.layout, road.individuals
    work = work_by_distance(state, now, road)
    specific = layout.duty["specific_wear"] * own.specific_wear * own.end
    specific = specific * work.wear_factor * now["wear_share"] / layout.dimension["friction_area"]
    return work, specific * own.inner * work.inner, specific * own.outer * work.outer


def wear_on(state: WearState, now: Conditions, road: Road, distance: Floats) -> WearState:
    """Return the state after a stretch of road.

    Parameters
    ----------
    state : WearState
        State before.
    now : Conditions
        Mean mechanical quantities over the stretch.
    road : Road
        What stays the same.
    distance : array, [m], 0 or more
        Length of the stretch at each wheel end.

    Returns
    -------
    WearState
        State after.

    Notes
    -----
    dh = k E dx / A for each pad, never below the wedge's thin end; what finds no friction left scores the
    rotor. A taper gains at most the wedge rate times the mean wear and stops at its target. The adjuster
    takes up its share of all wear beyond its goal, never gives back.
    """
    wear, heat = road.mechanisms.wear, road.mechanisms.heat
    work, rate_inner, rate_outer = pad_wear_rates(state, now, road)
    asked_inner, asked_outer = rate_inner * distance, rate_outer * distance
    lost_inner, cut_inner = _pad_loss(state.inner, state.end_inner, state.top_inner, asked_inner)
    lost_outer, cut_outer = _pad_loss(state.outer, state.end_outer, state.top_outer, asked_outer)
    face = road.individuals.face * now["rotor_wear_share"]
    spare = np.maximum(0.5 * (road.layout.dimension["rotor_new"] - _THINNEST_ROTOR), 0.0)
    face_inner = np.minimum(face * asked_inner, np.maximum(spare - state.face_inner, 0.0))
    face_outer = np.minimum(face * asked_outer, np.maximum(spare - state.face_outer, 0.0))
    worn = lost_inner + lost_outer + face_inner + face_outer
    targets = taper_targets(state, now, road)
    rate = wear.wedge_rate
    peak = heat.ambient + wear.crack_peak_ratio * (work.temperature - heat.ambient)
    cut = wear.metal_scoring * np.maximum(cut_inner, cut_outer)
    return WearState(
        inner=state.inner - lost_inner,
        outer=state.outer - lost_outer,
        end_inner=_toward(state.end_inner, targets[0], rate * lost_inner),
        end_outer=_toward(state.end_outer, targets[1], rate * lost_outer),
        top_inner=_toward(state.top_inner, targets[2], rate * lost_inner),
        top_outer=_toward(state.top_outer, targets[3], rate * lost_outer),
        face_inner=state.face_inner + face_inner,
        face_outer=state.face_outer + face_outer,
        clearance=_adjusted(state.clearance, worn, now, road, distance),
        long_clearance=state.long_clearance + _guide_growth(now, road) * distance,
        crack=np.minimum(state.crack + _crack_growth(peak, wear) * distance, 1.0),
        scoring=np.minimum(state.scoring + cut, wear.metal_scoring_most),
        slid=state.slid + (1.0 - now["seized"]) * (lost_outer + face_outer),
        run=state.run + distance,
        hot_run=state.hot_run + _tappets_hot(work.temperature, road) * distance,
        working_temperature=work.temperature,
        peak_temperature=np.maximum(state.peak_temperature, np.where(distance > 0.0, peak, 0.0)),
    )


def _pad_loss(mean: Floats, end: Floats, top: Floats, asked: Floats) -> tuple[Floats, Floats]:
    """Friction that goes, and what would have gone had there been more."""
    left = np.maximum(mean - 0.5 * (np.abs(end) + np.abs(top)), 0.0)
    lost = np.minimum(asked, left)
    return lost, asked - lost


def _toward(value: Floats, target: Floats, step: Floats) -> Floats:
    result: Floats = value + np.clip(target - value, -step, step)
    return result


def _adjusted(clearance: Floats, worn: Floats, now: Conditions, road: Road, distance: Floats) -> Floats:
    goal, share = now["clearance_goal"], now["adjuster_share"]
    beyond = np.maximum(clearance + worn - goal, 0.0)
    fresh = np.minimum(beyond, worn)
    old = beyond - fresh
    bites = road.mechanisms.actuation.bite * road.layout.duty["applications"] * distance
    old = np.maximum(old - np.where(share > 0.9, bites, 0.0), 0.0)
    result: Floats = np.minimum(clearance + worn - beyond + (1.0 - share) * fresh + old, 9e-3)
    return result


def _guide_growth(now: Conditions, road: Road) -> Floats:
    guidance = road.mechanisms.guidance
    dirt = 1.0 + (guidance.dirt_growth_factor - 1.0) * now["guide_dirt"]
    usual = guidance.long_clearance_growth * road.layout.duty["roughness"]
    result: Floats = usual * road.individuals.guide_growth * dirt * (1.0 - now["seized"])
    return result


def _crack_growth(peak: Floats, wear: Wear) -> Floats:
    onset, step = wear.crack_onset, wear.crack_step
    over = np.maximum(peak - onset, 0.0) / step
    result: Floats = wear.crack_rate * over**wear.crack_exponent
    return result


def _tappets_hot(temperature: Floats, road: Road) -> Floats:
    heat = road.mechanisms.heat
    tappet = heat.ambient + heat.tappet_share * (temperature - heat.ambient)
    result: Floats = (tappet > heat.boot_temperature).astype(float)
    return result
