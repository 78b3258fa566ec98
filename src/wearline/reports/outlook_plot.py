"""The history of every wheel end with the fan of its forecast, as one drawing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from wearline.errors import InputError
from wearline.forecasting.outlook import EndOutlook, Outlook
from wearline.records.readings import CORNERS
from wearline.reports.palette import LIGHT

__all__ = ["outlook_spec", "write_outlook_plot"]

_FAN_STEPS = 12
_MOST_PANELS = 120


def outlook_spec(found: Outlook) -> dict[str, Any]:
    """Return the drawing as a Vega-Lite specification.

    Parameters
    ----------
    found : Outlook
        The forecast.

    Returns
    -------
    dict
        One panel for each wheel end: thinnest corner at every inspection, median and 5 to 95 % ahead, limit.
    """
    colours = LIGHT.colours()
    ink = colours.get("ink", "#222222")
    readings, fan, limits = [], [], []
    for end in found.ends[:_MOST_PANELS]:
        panel = f"{end.info.vehicle} {end.info.place}"
        readings += [{"panel": panel, **row} for row in _readings(end)]
        fan += [{"panel": panel, **row} for row in _fan(end)]
        limits.append({"panel": panel, "mm": _service(end) * 1e3})
    x = {"field": "km", "type": "quantitative", "title": "distance, thousand km", "scale": {"zero": False}}
    y = {"type": "quantitative", "title": "thinnest friction, mm"}
    layers: list[dict[str, Any]] = [
        {
            "data": {"values": fan},
            "mark": {"type": "area", "opacity": 0.25, "color": ink},
            "encoding": {"x": x, "y": {**y, "field": "low"}, "y2": {"field": "high"}},
        },
        {
            "data": {"values": fan},
            "mark": {"type": "line", "color": ink},
            "encoding": {"x": x, "y": {**y, "field": "middle"}},
        },
        {
            "data": {"values": limits},
            "mark": {"type": "rule", "strokeDash": [4, 3], "color": ink},
            "encoding": {"y": {**y, "field": "mm"}},
        },
        {
            "data": {"values": readings},
            "mark": {"type": "point", "filled": True, "size": 40, "color": ink},
            "encoding": {"x": x, "y": {**y, "field": "mm"}},
        },
    ]
    panels = list(dict.fromkeys(row["panel"] for row in limits))
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v5.json",
        "description": "Friction of the thinnest corner over distance, with the forecast's 5 to 95 % range.",
        "columns": 4,
        "concat": [
            {
                "title": panel,
                "width": 180,
                "height": 120,
                "layer": [
                    {**layer, "data": {"values": [r for r in layer["data"]["values"] if r["panel"] == panel]}}
                    for layer in layers
                ],
            }
            for panel in panels
        ],
    }


def _service(end: EndOutlook) -> float:
    from wearline.catalogue.loading import load_catalogue

    day = end.info.placed[-1].inspection.taken_on
    return load_catalogue().limits_for(end.info.design.id, day)["pad_service"].value


def _readings(end: EndOutlook) -> list[dict[str, float]]:
    rows = []
    for item in end.info.placed:
        taken = item.inspection.wheel_end(end.info.place)
        if taken is None:
            continue
        values = [taken.measured(f"pad_{pad}", corner) for pad in ("inner", "outer") for corner in CORNERS]
        known = [reading.value for reading in values if reading is not None]
        if known:
            rows.append({"km": item.clock / 1e6, "mm": min(known) * 1e3})
    return rows


def _fan(end: EndOutlook) -> list[dict[str, float]]:
    start, limit = end.info.last_clock / 1e6, _service(end)
    low, middle, high = end.friction
    pads = end.limits[0]
    rows = []
    for share in np.linspace(0.0, 1.0, _FAN_STEPS):
        ahead = share * pads.p95
        rows.append(
            {
                "km": start + ahead / 1e6,
                "low": 1e3 * _along(low, limit, ahead, pads.p05),
                "middle": 1e3 * _along(middle, limit, ahead, pads.median),
                "high": 1e3 * _along(high, limit, ahead, pads.p95),
            }
        )
    return rows


def _along(friction: float, limit: float, ahead: float, meets: float) -> float:
    """Friction on the straight line that meets the limit where the forecast says."""
    if meets <= 0.0:
        return friction
    return max(friction - (friction - limit) * ahead / meets, 0.0)


def write_outlook_plot(found: Outlook, path: str | Path) -> None:
    """Write the drawing as SVG.

    Parameters
    ----------
    found : Outlook
        The forecast.
    path : path
        The file; one of that name is replaced.

    Raises
    ------
    InputError
        If it cannot be written, or there is nothing to draw.
    """
    if not found.ends:
        raise InputError("there is nothing to draw", where=str(path), cure="Keep an inspection first")
    import vl_convert

    svg = vl_convert.vegalite_to_svg(outlook_spec(found))
    try:
        Path(path).write_text(svg, encoding="utf-8")
    except OSError as error:
        raise InputError(
            f"the drawing cannot be written: {error.strerror or error}",
            where=str(path),
            allowed="a file in a folder that exists and may be written to",
            cure="Choose another folder",
        ) from error
