"""Findings of the model in words: renewed pads, wrong readings, wear that grows back."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from wearline.forecasting.changes import Change, Cleaned, Outlier, without_readings
from wearline.forecasting.clocks import PlacedInspection
from wearline.forecasting.explanations import collapse
from wearline.forecasting.findings import HistoryFinding
from wearline.forecasting.observations import EndInfo, Observations

__all__ = ["change_findings", "grown_back", "look_of"]

_TIMES_U = 3.0
"""[1] A rise by more than this many standard uncertainties is one (7.7 of the domain reference: 3 u)."""

_U_RISE = 0.1e-3
"""[m] A pad does not sit the same way twice (expert judgement)."""


def _end_of(told: Observations, padset: int) -> tuple[EndInfo, float]:
    for info in reversed(told.ends):
        if info.first_set <= padset:
            start = info.fitted[padset - info.first_set]
            if not np.isfinite(start):
                clocks = [p.clock for p in info.placed if p.inspection.wheel_end(info.place) is not None]
                start = min(clocks, default=info.last_clock)
            return info, start
    raise LookupError(padset)


def _near(info: EndInfo, clock: float) -> PlacedInspection:
    return min(info.placed, key=lambda item: abs(item.clock - clock))


def look_of(told: Observations, outlier: Outlier) -> tuple[EndInfo, PlacedInspection]:
    """Return where and at which inspection a wrong reading was taken.

    Parameters
    ----------
    told : Observations
        As recorded.
    outlier : Outlier
        The reading.

    Returns
    -------
    EndInfo, PlacedInspection
        Wheel end and inspection.
    """
    info, zero = _end_of(told, outlier.padset)
    return info, _near(info, zero + outlier.run)


def change_findings(told: Observations, cleaned: Cleaned) -> tuple[HistoryFinding, ...]:
    """Say which pads were probably renewed without a record, and which readings fit nothing.

    Parameters
    ----------
    told : Observations
        As recorded.
    cleaned : Cleaned
        What was found.

    Returns
    -------
    tuple of HistoryFinding
        Changes first.
    """
    found = []
    for change in cleaned.changes:
        info, zero = _end_of(told, change.padset)
        first = _near(info, zero + change.after)
        second = _near(info, zero + change.before)
        told_start = np.isfinite(info.fitted[change.padset - info.first_set])
        between = (
            f"between {first.inspection.taken_on} and {second.inspection.taken_on} "
            f"({info.axis.say(zero + change.after, rough=True)} and "
            f"{info.axis.say(zero + change.before, rough=True)})"
            if change.after > 0 or (told_start and first is not second)
            else f"before {second.inspection.taken_on}"
        )
        if not change.new_pads:
            found.append(_another_rate(info, change, first, zero))
            continue
        words = "were probably renewed" if change.decided else "may have been renewed"
        found.append(
            HistoryFinding(
                "pads renewed without a record" if change.decided else "doubtful pad change",
                info.vehicle,
                f"pads {words} {between}; probability {100 * change.probability:.0f} %",
                "Record the change, or correct the reading",
                at=str(info.place),
                inspections=(second.id,),
                probability=change.probability,
            )
        )
    for outlier in cleaned.outliers:
        info, item = look_of(told, outlier)
        found.append(
            HistoryFinding(
                "reading thinner than expected" if outlier.doubted else "reading fits nothing",
                info.vehicle,
                f"the pad thickness of {item.inspection.taken_on} does not fit the readings around it; "
                f"probability {100 * outlier.probability:.0f} % that it is wrong" + _if_right(outlier),
                "Measure again before the vehicle goes on, or correct it"
                if outlier.doubted
                else "Measure again, or correct it",
                at=str(info.place),
                inspections=(item.id,),
                kept_out=not outlier.doubted,
                probability=outlier.probability,
            )
        )
    return tuple(found)


def _if_right(outlier: Outlier) -> str:
    if not outlier.doubted:
        return ""
    chance = 100.0 * (1.0 - outlier.probability)
    return (
        f"; if it is right, {1e3 * outlier.thin:.1f} mm are left, and the forecast reckons with that at "
        f"{chance:.0f} %"
    )


def _another_rate(info: EndInfo, change: Change, first: PlacedInspection, zero: float) -> HistoryFinding:
    return HistoryFinding(
        "wear rate changed",
        info.vehicle,
        f"the pads wear at another rate since {first.inspection.taken_on} "
        f"({info.axis.say(zero + change.after, rough=True)}); probability {100 * change.probability:.0f} %",
        "Look for the cause: drag, a dead retarder, another route",
        at=str(info.place),
        inspections=(first.id,),
        probability=change.probability,
    )


def grown_back(cleaned: Cleaned, told: Observations) -> tuple[Cleaned, tuple[HistoryFinding, ...]]:
    """Keep readings out that show more friction than before without new pads.

    Parameters
    ----------
    cleaned : Cleaned
        After changes and wrong readings have been found.
    told : Observations
        As recorded.

    Returns
    -------
    Cleaned, tuple of HistoryFinding
        Without those readings, and what was found.
    """
    one = collapse(cleaned.table)
    tracks, readings = one.tracks, one.readings
    full = cleaned.table
    full_set = full.tracks.padset[np.repeat(np.arange(full.tracks.n), full.tracks.count)]
    drop = np.zeros(full_set.size, dtype=bool)
    found = []
    for track in range(tracks.n):
        rows = np.arange(tracks.start[track], tracks.start[track] + tracks.count[track])
        rows = rows[~np.isnan(readings.value[rows])]
        lowest = np.inf
        for row in rows:
            value = readings.value[row]
            least = _TIMES_U * np.hypot(max(float(readings.u[row]), _U_RISE), _U_RISE)
            if value <= lowest + least:
                lowest = min(lowest, value)
                continue
            padset = int(tracks.padset[track])
            info, zero = _end_of(told, int(cleaned.origin[padset]))
            item = _near(info, zero + cleaned.shift[padset] + readings.run[row])
            drop |= (full_set == padset) & np.isclose(full.readings.run, readings.run[row], rtol=0, atol=0.5)
            found.append(
                HistoryFinding(
                    "wear grows back",
                    info.vehicle,
                    f"the pads of {item.inspection.taken_on} are {1e3 * (value - lowest):.1f} mm thicker "
                    "than before, too little for new pads",
                    "Look whether pads were exchanged between wheel ends, or correct the reading",
                    at=str(info.place),
                    inspections=(item.id,),
                    kept_out=True,
                )
            )
    if drop.any():
        cleaned = replace(cleaned, table=without_readings(full, drop))
    return cleaned, tuple(found)
