"""What is known of a wear rate before any reading: energy of the duty, place of the axle, pad."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from wearline.forecasting.nested import Floats
from wearline.forecasting.settings import ForecastSettings
from wearline.physics.pad_wear import GENERIC_DUTIES, DutyWear, wear_per_distance
from wearline.records.inspection import AXLE_ROLES

__all__ = ["UNKNOWN_DUTY", "EffectPrior", "duty_named", "effect_priors"]

UNKNOWN_DUTY = "not said"

_ROLE_SHARE: Mapping[str, float] = {"steer": 1.1, "drive": 0.9, "tag": 0.65, "pusher": 0.65, "trailer": 1.2}
"""[1] Energy of one brake against the mean of the vehicle, line haul (expert judgement)."""

_INNER_FASTER = 0.04
_INNER_SPREAD = 0.05
"""[1] Inner pad against outer pad, log; the inner usually a little faster (expert judgement)."""

_ANY_DUTY_SPREAD = 0.9
"""[1] Spread of the log rate over all duties of the table of duties."""

_PEER_SPREAD = 0.25
"""[1] How well the usual wear of peers, as a person states it, fits (expert judgement)."""

_GENERIC_AREA = 165e-4
"""[m2] Friction area of one pad of a 22.5-inch brake, to which the table of duties belongs."""


@dataclass(frozen=True, slots=True)
class EffectPrior:
    """Columns of fixed effects with their priors on the log rate [m/m].

    Parameters
    ----------
    names : tuple of str
        Duties first, then axle roles, then the inner pad.
    mean, spread : array, shape (effects,)
        Normal priors.
    """

    names: tuple[str, ...]
    mean: Floats
    spread: Floats


def duty_named(text: str) -> DutyWear | None:
    """Return the generic duty of that name, or None.

    Parameters
    ----------
    text : str
        As the file has it; the beginning of a name is enough where only one begins so.

    Returns
    -------
    DutyWear or None
        None if the name is empty or unknown.
    """
    name = text.strip().lower()
    if not name:
        return None
    for duty in GENERIC_DUTIES:
        if duty.name.lower() == name:
            return duty
    found = [duty for duty in GENERIC_DUTIES if duty.name.lower().startswith(name)]
    if len(found) > 1 and not any("," not in duty.name for duty in found):
        return found[-1]
    return found[0] if found else None


def effect_priors(
    duties: Sequence[str], settings: ForecastSettings, peer_rates: Mapping[str, float] | None = None
) -> EffectPrior:
    """Return the priors of the fixed effects of a fleet.

    Parameters
    ----------
    duties : sequence of str
        Duties of the fleet; unknown ones get a prior as wide as all duties together.
    settings : ForecastSettings
        Spreads.
    peer_rates : mapping of str to float, optional
        Usual rate of a duty as a person states it [m/m]; goes before the physics.

    Returns
    -------
    EffectPrior
        Names, means, spreads.

    Notes
    -----
    rate = k e / (2 A), specific wear times energy per distance over the area of both pads.
    """
    peers = peer_rates or {}
    every = [
        float(np.log(wear_per_distance(d.specific_wear, d.energy_per_distance, _GENERIC_AREA)))
        for d in GENERIC_DUTIES
    ]
    means, spreads = [], []
    for name in duties:
        duty = duty_named(name)
        if name in peers:
            means.append(float(np.log(peers[name])))
            spreads.append(_PEER_SPREAD)
        elif duty is not None:
            rate = wear_per_distance(duty.specific_wear, duty.energy_per_distance, _GENERIC_AREA)
            means.append(float(np.log(rate)))
            spreads.append(settings.duty_spread)
        else:
            means.append(float(np.mean(every)))
            spreads.append(_ANY_DUTY_SPREAD)
    roles = [float(np.log(_ROLE_SHARE[role])) for role in AXLE_ROLES]
    return EffectPrior(
        (*duties, *AXLE_ROLES, "inner pad"),
        np.array([*means, *roles, _INNER_FASTER]),
        np.array([*spreads, *[settings.role_spread] * len(roles), _INNER_SPREAD]),
    )
