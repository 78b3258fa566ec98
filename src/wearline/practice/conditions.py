"""Mechanical quantities of each wheel end, as a sound brake has them and as hidden causes change them.

The quantities stand in one array, a row each, so that many causes on many wheel ends are laid over the sound
brakes in a few operations. A cause may grow: its weight runs from 0 at its onset to 1.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from wearline.errors import CatalogueError
from wearline.practice.faults import Cause, Fault

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wearline.practice.layout import Floats, Layout
    from wearline.practice.parameters import Mechanisms

__all__ = ["QUANTITIES", "ActiveFault", "Conditions", "Overlay", "sound_conditions"]

_ZERO_TO_ONE = (0.0, 1.0)
_ANY = (-np.inf, np.inf)
_POSITIVE = (0.0, np.inf)

QUANTITIES: Mapping[str, tuple[float, float]] = {
    "long_clearance": _POSITIVE,
    "radial_share": _POSITIVE,
    "short_clearance": _POSITIVE,
    "mount_tilt": _ANY,
    "mount_pitch": _ANY,
    "swing_tilt": _ANY,
    "tilt_bias": (-1.0, 1.0),
    "pitch_bias": (-1.0, 1.0),
    "guide_dirt": _ZERO_TO_ONE,
    "slide_hand": _POSITIVE,
    "slide_hot": _POSITIVE,
    "slide_block": _POSITIVE,
    "seized": _ZERO_TO_ONE,
    "play_bound": _ZERO_TO_ONE,
    "adjuster_share": _ZERO_TO_ONE,
    "clearance_goal": (2e-5, 0.01),
    "back_slip": _POSITIVE,
    "preset_clearance": (0.0, 0.01),
    "travel_loss": _POSITIVE,
    "stem_torque": _POSITIVE,
    "transmission_share": _ZERO_TO_ONE,
    "threshold_shift": (-30e3, 300e3),
    "pressure_share": _ZERO_TO_ONE,
    "chamber_share": (0.3, 2.0),
    "valve_share": (0.3, 2.0),
    "slow_release": _ZERO_TO_ONE,
    "rub_inner": (0.0, 300.0),
    "rub_outer": (0.0, 300.0),
    "rub_hot": (0.0, 300.0),
    "tappet_step": (-5e-3, 5e-3),
    "hold_inner": _POSITIVE,
    "hold_outer": _POSITIVE,
    "pad_grip": _ZERO_TO_ONE,
    "faces_caught": (0.0, 8.0),
    "square_end": (-4e-3, 4e-3),
    "square_top": (-4e-3, 4e-3),
    "corner_loss": _POSITIVE,
    "friction_share": (0.15, 1.6),
    "wear_share": (0.3, 4.0),
    "rotor_wear_share": (0.3, 6.0),
    "runout": (0.0, 2e-3),
    "seat_runout": (0.0, 2e-3),
    "thickness_variation": (0.0, 1e-3),
    "crack": _ZERO_TO_ONE,
    "scoring": (0.0, 4e-3),
    "end_play": (0.0, 3e-3),
    "rust_band": _ZERO_TO_ONE,
    "preset_shortfall": (0.0, 4e-3),
    "leak": _POSITIVE,
    "fastener_share": _ZERO_TO_ONE,
    "indicator_offset": (-1.0, 1.0),
    "energy_share": (0.2, 4.0),
    "load_share": (0.2, 2.5),
    "retarder_loss": _ZERO_TO_ONE,
}
"""Name of each mechanical quantity and the range in which it is kept [SI unit]."""

_ROW = {name: row for row, name in enumerate(QUANTITIES)}
_SHARES = frozenset(name for name, kept in QUANTITIES.items() if kept == _ZERO_TO_ONE)
_LOW = np.array([low for low, _ in QUANTITIES.values()])[:, None]
_HIGH = np.array([high for _, high in QUANTITIES.values()])[:, None]


@dataclass(frozen=True, slots=True)
class Conditions:
    """Mechanical quantities of all wheel ends.

    Parameters
    ----------
    values : array, shape (quantities, wheel ends), [SI]
        Rows in the order of ``QUANTITIES``.
    """

    values: Floats

    def __getitem__(self, name: str) -> Floats:
        row: Floats = self.values[_ROW[name]]
        return row

    def with_row(self, name: str, row: Floats) -> Conditions:
        """Return the conditions with one quantity replaced.

        Parameters
        ----------
        name : str
            Quantity.
        row : array, shape (wheel ends,), [SI]
            Its values.

        Returns
        -------
        Conditions
            A copy.
        """
        values = self.values.copy()
        values[_ROW[name]] = row
        return Conditions(values)


@dataclass(frozen=True, slots=True)
class ActiveFault:
    """One hidden cause at work.

    Parameters
    ----------
    vehicle : int
        Vehicle it belongs to.
    where : str
        Place in the vehicle.
    fault : Fault
        What the case says; the variant is never empty where the cause has variants.
    cause : Cause
        What the table says.
    ends : array of int
        Wheel ends it acts on.
    onset, full : float, [m]
        Distance on the vehicle's clock at which it began and at which it is full-grown.
    scatter : array, shape (effects,), [1]
        How much more or less each effect is than usual.
    signs : mapping of str to (str, bool)
        Field to the word that a look finds, and whether it is there from the first day.
    """

    vehicle: int
    where: str
    fault: Fault
    cause: Cause
    ends: NDArray[np.intp]
    onset: float
    full: float
    scatter: Floats
    signs: Mapping[str, tuple[str, bool]] = field(default_factory=dict)

    def weight_at(self, clock: float) -> float:
        """Return how far the cause has grown.

        Parameters
        ----------
        clock : float, [m]
            Distance on the vehicle's clock.

        Returns
        -------
        float, [1]
            0 before the onset, 1 full-grown.
        """
        if clock < self.onset:
            return 0.0
        length = self.full - self.onset
        return 1.0 if length <= 0.0 else min((clock - self.onset) / length, 1.0)


class Overlay:
    """The effects of a number of causes, ready to be laid over sound brakes.

    Parameters
    ----------
    actives : sequence of ActiveFault
        The causes.

    Raises
    ------
    CatalogueError
        If a cause changes a quantity that does not exist.
    """

    def __init__(self, actives: Sequence[ActiveFault]) -> None:
        self.actives = tuple(actives)
        columns: dict[str, list[tuple[int, int, float, int]]] = {how: [] for how in _MEETS}
        for number, active in enumerate(actives):
            for effect, scatter in zip(active.cause.effects, active.scatter, strict=True):
                if effect.variant and effect.variant != active.fault.variant:
                    continue
                if effect.quantity not in _ROW:
                    raise CatalogueError(
                        f"{active.cause.code} changes {effect.quantity!r}, which is no quantity",
                        where="causes.toml",
                        allowed=", ".join(QUANTITIES),
                        cure="Correct the name",
                    )
                value = effect.mild + (effect.severe - effect.mild) * active.fault.severity
                loses = effect.how == "times" or (effect.how == "at most" and effect.quantity in _SHARES)
                value = 1.0 + (value - 1.0) * scatter if loses else value * scatter
                row = _ROW[effect.quantity]
                columns[effect.how].extend((row, int(end), value, number) for end in active.ends)
        self._parts = {
            how: tuple(np.array(column) for column in zip(*rows, strict=True))
            for how, rows in columns.items()
            if rows
        }
        self._vehicle = np.array([active.vehicle for active in actives], dtype=np.intp)
        self._onset = np.array([active.onset for active in actives], dtype=float)
        self._length = np.array([active.full - active.onset for active in actives], dtype=float)

    def weights(self, start: Floats, stop: Floats) -> Floats:
        """Return the mean weight of each cause over a stretch of road.

        Parameters
        ----------
        start, stop : array, shape (vehicles,), [m]
            Each vehicle's clock at both ends of the stretch; equal for an instant.

        Returns
        -------
        array, shape (causes,), [1]
            0 to 1.
        """
        first, last = start[self._vehicle], stop[self._vehicle]
        stretch = last - first
        with np.errstate(divide="ignore", invalid="ignore"):
            part = np.where(stretch > 0.0, (last - self._onset) / stretch, last >= self._onset)
            grown = (0.5 * (np.maximum(first, self._onset) + last) - self._onset) / self._length
        result: Floats = np.clip(part, 0.0, 1.0) * np.where(self._length > 0.0, np.clip(grown, 0.0, 1.0), 1.0)
        return result

    def begun(self, start: Floats, stop: Floats) -> list[ActiveFault]:
        """Return the causes whose onset falls into a stretch of road.

        Parameters
        ----------
        start, stop : array, shape (vehicles,), [m]
            Each vehicle's clock at both ends of the stretch.

        Returns
        -------
        list of ActiveFault
            Onset at or after the start and before the end.
        """
        first, last = start[self._vehicle], stop[self._vehicle]
        hit = (self._onset >= first - _EDGE) & (self._onset < last - _EDGE)
        return [self.actives[int(number)] for number in np.flatnonzero(hit)]

    def lay(self, sound: Conditions, weights: Floats) -> Conditions:
        """Return the conditions with the causes at work.

        Parameters
        ----------
        sound : Conditions
            What the brakes would be without them.
        weights : array, shape (causes,), [1]
            Weight of each cause.

        Returns
        -------
        Conditions
            Within the ranges of ``QUANTITIES``.
        """
        values = sound.values.copy()
        for how, (rows, ends, amounts, causes) in self._parts.items():
            rows, ends = rows.astype(np.intp), ends.astype(np.intp)
            _meet(values, how, (rows, ends), amounts, weights[causes.astype(np.intp)])
        return Conditions(np.clip(values, _LOW, _HIGH, out=values))


_EDGE = 1.0
"""[m] Clocks are sums of many steps; an onset so near to the end of one belongs to the next."""

_MEETS = ("add", "times", "at least", "at most")


def _meet(
    values: Floats,
    how: str,
    at: tuple[NDArray[np.intp], NDArray[np.intp]],
    amounts: Floats,
    weights: Floats,
) -> None:
    """Change values in place; the same cell may be met by several causes."""
    if how == "add":
        np.add.at(values, at, weights * amounts)
    elif how == "times":
        np.multiply.at(values, at, 1.0 + weights * (amounts - 1.0))
    elif how == "at least":
        there = values[at]
        np.maximum.at(values, at, there + weights * (np.maximum(amounts, there) - there))
    else:
        there = values[at]
        np.minimum.at(values, at, there + weights * (np.minimum(amounts, there) - there))


def sound_conditions(layout: Layout, mechanisms: Mechanisms, rng: np.random.Generator) -> Conditions:
    """Return sound brakes, each a little different from the next.

    Parameters
    ----------
    layout : Layout
        The wheel ends.
    mechanisms : Mechanisms
        Numbers of the simulation.
    rng : numpy.random.Generator
        Source of the draws.

    Returns
    -------
    Conditions
        Mechanical quantities without any cause.
    """
    guidance, actuation, wear = mechanisms.guidance, mechanisms.actuation, mechanisms.wear
    size = layout.ends
    values = np.zeros((len(QUANTITIES), size))
    for name in _ONES:
        values[_ROW[name]] = 1.0

    def around(middle: float, spread: float) -> Floats:
        result: Floats = middle * np.exp(spread * rng.standard_normal(size))
        return result

    goal = layout.nominal_clearance - actuation.clearance_below_nominal
    drawn = {
        "long_clearance": around(guidance.long_clearance_new, 0.1),
        "radial_share": around(guidance.radial_share, 0.1),
        "short_clearance": around(guidance.short_clearance_new, 0.15),
        "tilt_bias": guidance.bias_spread * rng.standard_normal(size),
        "pitch_bias": guidance.bias_spread * rng.standard_normal(size),
        "slide_hand": around(guidance.hand_force, guidance.hand_force_spread),
        "clearance_goal": goal + actuation.clearance_spread * rng.standard_normal(size),
        "friction_share": around(1.0, actuation.friction_spread),
        "stem_torque": around(actuation.stem_torque, 0.15),
        "runout": around(wear.runout_base, wear.rotor_spread),
        "thickness_variation": around(wear.variation_base, wear.rotor_spread),
        "scoring": around(wear.scoring_base, wear.rotor_spread),
        "end_play": around(wear.end_play_base, wear.rotor_spread),
    }
    for name, row in drawn.items():
        values[_ROW[name]] = row
    return Conditions(np.clip(values, _LOW, _HIGH))


_ONES = (
    "adjuster_share",
    "transmission_share",
    "pressure_share",
    "chamber_share",
    "valve_share",
    "friction_share",
    "wear_share",
    "rotor_wear_share",
    "fastener_share",
    "energy_share",
    "load_share",
)
