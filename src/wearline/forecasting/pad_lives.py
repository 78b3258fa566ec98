"""The pad sets of a fleet as lives: fitted, worn at a rate, renewed with friction left or too late."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from wearline.forecasting.clocks import PlacedInspection
from wearline.forecasting.nested import Floats
from wearline.forecasting.observations import EndInfo
from wearline.forecasting.outlook import Outlook, Present
from wearline.forecasting.padsets import gauge_sums

__all__ = ["AxleSet", "EndSet", "axle_sets", "end_sets"]

_HERE = 1.0
"""[m] Clocks that differ by less are the same look."""

_SAME_RENEWAL = 1.0e7
"""[m] Ends of an axle renewed within this distance were renewed together (expert judgement)."""


@dataclass(frozen=True, slots=True)
class EndSet:
    """The pads of one wheel end from their fitting to their renewal, or until now.

    Parameters
    ----------
    end : int
        Number of the wheel end among those of the forecast.
    info : EndInfo
        The wheel end.
    start : float, [m]
        Clock at which they were fitted; NaN if unknown.
    first, last : float, [m]
        Clocks of the first and the last look with thicknesses.
    thinnest : float, [m]
        Thinnest corner at the last look.
    rate : float, [m/m]
        Wear of the pad that wears faster, by its readings alone.
    u_rate : float, [m/m]
        Its standard uncertainty; infinite where the readings do not tell.
    renewed : float, [m]
        Clock at which they were renewed; NaN while they are on.
    """

    end: int
    info: EndInfo
    start: float
    first: float
    last: float
    thinnest: float
    rate: float
    u_rate: float
    renewed: float

    @property
    def left(self) -> float:
        """Friction of the thinnest corner when they came off, or at the last look [m]."""
        ahead = self.renewed - self.last
        gone = ahead * self.rate if np.isfinite(ahead) and np.isfinite(self.u_rate) else 0.0
        return self.thinnest - max(gone, 0.0)

    def looks(self) -> list[PlacedInspection]:
        """Return the inspections that saw these pads, oldest first."""
        return [
            item
            for item in self.info.placed
            if self.first - _HERE <= item.clock <= self.last + _HERE
            and item.inspection.wheel_end(self.info.place) is not None
        ]


def end_sets(found: Outlook) -> list[EndSet]:
    """Return the pad sets of every wheel end that were measured with the wheels off.

    Parameters
    ----------
    found : Outlook
        The forecast of the fleet; what it kept out stays out.

    Returns
    -------
    list of EndSet
        By wheel end, oldest first.

    Notes
    -----
    The rate is that of least squares through the gauge readings of each corner and the new thickness, the
    mean over the corners of a pad; it is not drawn towards the fleet, so that groups can be compared by it.
    """
    present = found.present
    if present is None or not present.table.tracks.n:
        return []
    pieces = _pieces(present)
    by_end: dict[int, list[_Piece]] = {}
    # an answer about one vehicle shows fewer ends than the fleet that it was learnt from
    shown = {(end.info.vehicle, end.info.place): number for number, end in enumerate(found.ends)}
    for piece in pieces:
        info = present.observations.ends[piece.end]
        number = shown.get((info.vehicle, info.place))
        if number is not None:
            by_end.setdefault(number, []).append(piece)
    result: list[EndSet] = []
    for end, own in by_end.items():
        own.sort(key=lambda piece: piece.begins)
        result += _sets(found, end, own)
    return result


@dataclass(slots=True)
class _Piece:
    """One set of the cleaned table; sets split where only their rate changed are joined again."""

    end: int
    joined: bool
    start: float
    begins: float
    first: float
    last: float
    thinnest: float
    rate: float
    u_rate: float


def _pieces(present: Present) -> list[_Piece]:
    tracks, readings = present.table.tracks, present.table.readings
    told, cleaned = present.observations, present.cleaned
    rate = np.median(present.remaining.rate, axis=1)[tracks.end]
    sums = gauge_sums(tracks, readings, rate=rate, route=present.hyper.route, scale=present.hyper.scale)
    owner = np.repeat(np.arange(tracks.n), tracks.count)
    gauge = ~np.isnan(readings.value) & tracks.part[owner]
    low, high = np.full(tracks.n, np.inf), np.full(tracks.n, -np.inf)
    np.minimum.at(low, owner[gauge], readings.run[gauge])
    np.maximum.at(high, owner[gauge], readings.run[gauge])
    at_last = gauge & (readings.run >= high[owner] - _HERE)
    thinnest = np.full(tracks.n, np.inf)
    np.minimum.at(thinnest, owner[at_last], readings.value[at_last])
    slower = {change.padset for change in cleaned.changes if change.decided and not change.new_pads}
    pads = _by_pad(tracks.padset, tracks.pad, tracks.part & np.isfinite(low), sums.square, sums.product)
    rows: dict[int, list[int]] = {}
    for row in np.flatnonzero(tracks.part & np.isfinite(low)):
        rows.setdefault(int(tracks.padset[row]), []).append(int(row))
    seen: set[int] = set()
    pieces = []
    for padset, mine in rows.items():
        end = int(tracks.end[mine[0]])
        info, origin = told.ends[end], int(cleaned.origin[padset])
        start = info.fitted[origin - info.first_set]
        zero = start if np.isfinite(start) else _first_clock(info)
        shift = float(cleaned.shift[padset])
        joined = origin in slower and origin in seen
        seen.add(origin)
        known = np.isfinite(start) or shift > 0.0
        value, u = max(pads[padset], key=lambda pair: pair[0] if np.isfinite(pair[1]) else -np.inf)
        pieces.append(
            _Piece(
                end,
                joined,
                zero + shift if known else float("nan"),
                zero + shift,
                zero + shift + float(low[mine].min()),
                zero + shift + float(high[mine].max()),
                float(thinnest[mine].min()),
                value,
                u,
            )
        )
    return pieces


def _by_pad(
    padset: np.ndarray, pad: np.ndarray, use: np.ndarray, square: Floats, product: Floats
) -> Mapping[int, list[tuple[float, float]]]:
    """Rate and uncertainty of each pad of each set, the mean over its corners."""
    sums: dict[tuple[int, int], list[float]] = {}
    for row in np.flatnonzero(use):
        own = sums.setdefault((int(padset[row]), int(pad[row])), [0.0, 0.0, 0.0])
        if square[row] > 0.0:
            own[0] += product[row] / square[row]
            own[1] += float(square[row]) ** -0.5
            own[2] += 1.0
    result: dict[int, list[tuple[float, float]]] = {}
    for (number, _), (total, spread, count) in sums.items():
        # the corners share the uncertainty of the new pad, so that their mean is hardly better than one
        pair = (total / count, spread / count) if count else (0.0, float("inf"))
        result.setdefault(number, []).append(pair)
    return result


def _first_clock(info: EndInfo) -> float:
    clocks = [item.clock for item in info.placed if item.inspection.wheel_end(info.place) is not None]
    return min(clocks, default=info.last_clock)


def _sets(found: Outlook, end: int, pieces: list[_Piece]) -> list[EndSet]:
    info = found.ends[end].info
    whole: list[_Piece] = []
    for piece in pieces:
        if piece.joined and whole:
            before = whole[-1]
            first, second = before.last - before.begins, piece.last - piece.begins
            total = max(first + second, _HERE)
            before.rate = (before.rate * first + piece.rate * second) / total
            before.u_rate = max(before.u_rate, piece.u_rate)
            before.last, before.thinnest = piece.last, piece.thinnest
        else:
            whole.append(piece)
    result = []
    for number, piece in enumerate(whole):
        after = whole[number + 1] if number + 1 < len(whole) else None
        renewed = float("nan")
        if after is not None:
            renewed = after.start if np.isfinite(after.start) else 0.5 * (piece.last + after.first)
        elif np.isfinite(found.ends[end].fitted) and found.ends[end].fitted > piece.last + _HERE:
            renewed = found.ends[end].fitted
        if np.isfinite(renewed):
            renewed = max(renewed, piece.last)
        result.append(
            EndSet(
                end,
                info,
                piece.start,
                piece.first,
                piece.last,
                piece.thinnest,
                piece.rate,
                piece.u_rate,
                renewed,
            )
        )
    return result


@dataclass(frozen=True, slots=True)
class AxleSet:
    """The pads of one axle, which are renewed together.

    Parameters
    ----------
    ends : tuple of EndSet
        One or both ends, renewed together or still on.
    """

    ends: tuple[EndSet, ...]

    @property
    def info(self) -> EndInfo:
        """Wheel end that stands for the axle."""
        return self.ends[0].info

    @property
    def worst(self) -> EndSet:
        """End with the least friction left."""
        return min(self.ends, key=lambda each: each.left)

    @property
    def renewed(self) -> float:
        """Clock of the renewal [m]; NaN while the pads are on."""
        times = [each.renewed for each in self.ends if np.isfinite(each.renewed)]
        return min(times) if times else float("nan")


def axle_sets(sets: list[EndSet]) -> list[AxleSet]:
    """Join the two ends of each axle.

    Parameters
    ----------
    sets : list of EndSet
        As from ``end_sets``.

    Returns
    -------
    list of AxleSet
        In the order of the first end of each.
    """
    axles: dict[tuple[str, str], list[list[EndSet]]] = {}
    for each in sets:
        groups = axles.setdefault((each.info.vehicle, each.info.place.axle), [])
        mate = next((group for group in groups if _together(group, each)), None)
        if mate is None:
            groups.append([each])
        else:
            mate.append(each)
    return [AxleSet(tuple(group)) for groups in axles.values() for group in groups]


def _together(group: list[EndSet], other: EndSet) -> bool:
    """Whether a set came off, or is on, with the only one of the other end."""
    first = group[0]
    if len(group) > 1 or first.info.place.side == other.info.place.side:
        return False
    if not (np.isfinite(first.renewed) and np.isfinite(other.renewed)):
        return bool(np.isnan(first.renewed) and np.isnan(other.renewed))
    return abs(first.renewed - other.renewed) < _SAME_RENEWAL
