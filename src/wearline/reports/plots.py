"""Plots of braking in the project's own look: Vega-Lite charts, drawn as SVG, PNG or PDF without network.

Each function returns a chart as a Vega-Lite mapping; `chart_svg` and `write_chart` draw it.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from wearline.assessment.descents import DescentPlan
from wearline.assessment.proof_results import Proof
from wearline.assessment.road_results import StopEstimate
from wearline.errors import InputError
from wearline.reports.palette import LIGHT, Palette

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from wearline.assessment.tester_results import CurveReport
    from wearline.physics.heat_types import RotorHistory

__all__ = [
    "Chart",
    "chart_svg",
    "curve_chart",
    "descent_chart",
    "proof_chart",
    "rotor_profile_chart",
    "rotor_time_chart",
    "stop_chart",
    "write_chart",
]

Chart = Mapping[str, Any]

WIDTH, HEIGHT = 560, 320
_SCALE = 2.0
_KELVIN = 273.15
_DASH = [6, 4]
_FONT = "sans-serif"
_ENDINGS = (".svg", ".png", ".pdf")


def _config(palette: Palette) -> dict[str, Any]:
    text = {"labelColor": palette.muted, "titleColor": palette.ink, "labelFont": _FONT, "titleFont": _FONT}
    return {
        "background": palette.paper,
        "font": _FONT,
        "view": {"stroke": palette.rule},
        "axis": text
        | {"gridColor": palette.panel, "domainColor": palette.rule, "tickColor": palette.rule}
        | {"labelFontSize": 12, "titleFontSize": 12, "titleFontWeight": "normal"},
        "legend": text | {"labelFontSize": 12, "titleFontSize": 12, "symbolStrokeWidth": 2.5},
        "title": {
            "color": palette.ink,
            "subtitleColor": palette.muted,
            "font": _FONT,
            "fontSize": 14,
            "anchor": "start",
            "subtitleFontSize": 12,
        },
        "header": {"labelColor": palette.ink, "titleColor": palette.ink, "labelFontSize": 12},
    }


def _chart(
    title: str, below: str | Sequence[str], palette: Palette, body: Mapping[str, Any], height: int = HEIGHT
) -> Chart:
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v5.json",
        "title": {"text": title, "subtitle": below},
        "width": WIDTH,
        "height": height,
        "config": _config(palette),
        **body,
    }


def _axis(field: str, title: str, *, zero: bool = False, **more: Any) -> dict[str, Any]:
    return {"field": field, "type": "quantitative", "title": title, "scale": {"zero": zero, **more}}


def _kinds(names: Sequence[str], colours: Sequence[str], dashes: Sequence[list[int]]) -> dict[str, Any]:
    """Colour and dash of each kind of line: never by colour alone."""
    return {
        "color": {
            "field": "kind",
            "type": "nominal",
            "title": None,
            "scale": {"domain": list(names), "range": list(colours)},
            "legend": {"orient": "top", "symbolType": "stroke", "labelLimit": 400},
        },
        "strokeDash": {
            "field": "kind",
            "type": "nominal",
            "scale": {"domain": list(names), "range": list(dashes)},
            "title": None,
        },
    }


def _rule(value: float, words: str, palette: Palette) -> list[dict[str, Any]]:
    """A limit as a stroke with its words beside it."""
    data = {"values": [{"y": value, "words": words}]}
    return [
        {
            "data": data,
            "mark": {"type": "rule", "color": palette.beyond, "strokeWidth": 1.5},
            "encoding": {"y": {"field": "y", "type": "quantitative"}},
        },
        {
            "data": data,
            "mark": {
                "type": "text",
                "align": "left",
                "baseline": "bottom",
                "dx": 4,
                "dy": -3,
                "color": palette.beyond,
                "fontSize": 12,
            },
            "encoding": {
                "x": {"value": 0},
                "y": {"field": "y", "type": "quantitative"},
                "text": {"field": "words"},
            },
        },
    ]


def descent_chart(plan: DescentPlan, palette: Palette = LIGHT) -> Chart:
    """Return the temperature of the brakes along a descent.

    Parameters
    ----------
    plan : DescentPlan
        The plan.
    palette : Palette
        Colours.

    Returns
    -------
    Chart
        Likely and cautious curve, one stop at the bottom, and the limit.
    """
    outcome, task = plan.outcome, plan.task
    names = ["likely", "cautious side, counts"]
    rows = [
        {"x": float(place) / 1e3, "y": float(value) - _KELVIN, "kind": kind}
        for kind, curve in zip(names, (outcome.likely, outcome.cautious), strict=True)
        for place, value in zip(outcome.distance, curve, strict=True)
    ]
    stops = [
        {
            "x": task.length / 1e3,
            "y": float(curve[-1]) - _KELVIN,
            "y2": float(curve[-1]) + outcome.stop_rise - _KELVIN,
            "kind": kind,
        }
        for kind, curve in zip(names, (outcome.likely, outcome.cautious), strict=True)
    ]
    encoding = {"x": _axis("x", "distance down the slope [km]"), "y": _axis("y", "brake temperature [°C]")}
    kinds = _kinds(names, [palette.good, palette.beyond], [[1, 0], _DASH])
    layers = [
        {
            "data": {"values": rows},
            "mark": {"type": "line", "strokeWidth": 2.5},
            "encoding": encoding | kinds,
        },
        {
            "data": {"values": stops},
            "mark": {"type": "rule", "strokeWidth": 6},
            "encoding": encoding | {"y2": {"field": "y2"}, "color": kinds["color"]},
        },
        *_rule(plan.limit - _KELVIN, "limit, one full stop at the bottom (thick bar) included", palette),
    ]
    words = f"{3.6 * outcome.speed:.0f} km/h; safe speed {3.6 * plan.safe_speed:.0f} km/h"
    if plan.safe_speed <= 0.0:
        words = f"{3.6 * outcome.speed:.0f} km/h; no safe speed with this load and these brakes"
    title = f"{task.mass / 1e3:g} t, {100 * task.slope:g} % down, {task.brakes:g} brakes"
    if task.retarder:
        title += f", retarder {task.retarder / 1e3:.0f} kW"
    return _chart(title, words + ". Estimate, expert judgement.", palette, {"layer": layers})


def stop_chart(stop: StopEstimate, palette: Palette = LIGHT) -> Chart:
    """Return the stopping distance now and intact as bands.

    Parameters
    ----------
    stop : StopEstimate
        Estimate with its ranges.
    palette : Palette
        Colours.

    Returns
    -------
    Chart
        A band from least to most, a stroke at the likely distance.
    """
    rows = [
        {"kind": kind, "low": band[0], "likely": band[1], "high": band[2], "words": f"{band[1]:.0f} m"}
        for kind, band in (("brakes as they are", stop.now), ("brakes in order", stop.intact))
        if band is not None
    ]
    shared: dict[str, Any] = {
        "y": {
            "field": "kind",
            "type": "nominal",
            "title": None,
            "sort": None,
            "axis": {"labelLimit": 200, "labelFontSize": 13},
        }
    }
    colour = {
        "color": {
            "field": "kind",
            "type": "nominal",
            "legend": None,
            "scale": {
                "domain": ["brakes as they are", "brakes in order"],
                "range": [palette.beyond, palette.good],
            },
        }
    }
    layers = [
        {
            "mark": {"type": "bar", "height": 26, "opacity": 0.35},
            "encoding": shared
            | colour
            | {"x": _axis("low", "stopping distance [m]", zero=True), "x2": {"field": "high"}},
        },
        {
            "mark": {"type": "tick", "thickness": 4, "size": 34},
            "encoding": shared | colour | {"x": {"field": "likely", "type": "quantitative"}},
        },
        {
            "mark": {"type": "text", "dy": -26, "fontSize": 13, "color": palette.ink},
            "encoding": shared
            | {"x": {"field": "likely", "type": "quantitative"}, "text": {"field": "words"}},
        },
    ]
    body = {"data": {"values": rows}, "layer": layers}
    title = f"Stop from {3.6 * stop.speed:.0f} km/h on a dry level road"
    below = "Band: 95 % range from the uncertain inputs. The driver's reaction is not counted."
    return _chart(title, below, palette, body, height=170)


def proof_chart(proof: Proof, palette: Palette = LIGHT) -> Chart:
    """Return the brake forces as found and as left.

    Parameters
    ----------
    proof : Proof
        The proof.
    palette : Palette
        Colours.

    Returns
    -------
    Chart
        One row for each wheel end: an open dot as found, a solid one as left, the verdict in words.
    """
    rows = [
        {
            "at": end.place,
            "before": None if end.force_before is None else end.force_before / 1e3,
            "after": None if end.force_after is None else end.force_after / 1e3,
            "verdict": str(end.restored) + (", raw pads" if end.raw else ""),
            "good": end.restored == "restored",
        }
        for end in proof.wheel_ends
    ]
    place = {"y": {"field": "at", "type": "nominal", "title": None, "sort": None}}
    colour = {
        "color": {
            "field": "good",
            "type": "nominal",
            "legend": None,
            "scale": {"domain": [True, False], "range": [palette.good, palette.beyond]},
        }
    }
    forces = [
        force / 1e3
        for end in proof.wheel_ends
        for force in (end.force_before, end.force_after)
        if force is not None
    ]
    # room on the right for the words beside the last dot
    x = _axis("before", "highest brake force [kN]", domain=[0.0, 1.3 * max(forces, default=1.0)])
    layers = [
        {
            "mark": {"type": "rule", "strokeWidth": 2},
            "encoding": place | colour | {"x": x, "x2": {"field": "after"}},
        },
        {
            "mark": {"type": "point", "shape": "circle", "size": 110, "filled": False, "strokeWidth": 2},
            "encoding": place | colour | {"x": x},
        },
        {
            "mark": {"type": "point", "shape": "circle", "size": 120, "filled": True, "opacity": 1},
            "encoding": place | colour | {"x": {"field": "after", "type": "quantitative"}},
        },
        {
            "mark": {
                "type": "text",
                "align": "left",
                "dx": 12,
                "dy": -11,
                "fontSize": 12,
                "color": palette.ink,
            },
            "encoding": place
            | {"x": {"field": "after", "type": "quantitative"}, "text": {"field": "verdict"}},
        },
    ]
    body = {"data": {"values": rows}, "layer": layers}
    below = f"Open dot as found on {proof.before_on}, solid dot as left on {proof.after_on}."
    title = f"Brake forces of {proof.vehicle_id} before and after the job"
    return _chart(title, below, palette, body, height=52 * max(len(rows), 2))


def curve_chart(report: CurveReport, palette: Palette = LIGHT) -> Chart:
    """Return the force curves of a brake tester, one field for each axle.

    Parameters
    ----------
    report : CurveReport
        Curves with their straight lines.
    palette : Palette
        Colours.

    Returns
    -------
    Chart
        Points of the rise and of the release, the fitted line, and its extension to full pressure.
    """
    fields = [
        _curve_field(report, axle, palette) for axle in dict.fromkeys(c.place[:-1] for c in report.wheels)
    ]
    below = (
        "Solid dots: pressure rising. Open dots: falling. Line: robust fit, dashed beyond what was measured."
    )
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v5.json",
        "title": {"text": "Brake force over pressure", "subtitle": below},
        "config": _config(palette),
        "hconcat": fields,
        "resolve": {"scale": {"color": "independent", "shape": "independent"}},
        "spacing": 28,
    }


def _curve_field(report: CurveReport, axle: str, palette: Palette) -> dict[str, Any]:
    wheels = [wheel for wheel in report.wheels if wheel.place[:-1] == axle]
    points, lines = [], []
    for wheel in wheels:
        for rising, shown in ((True, wheel.rising), (False, wheel.falling)):
            keep = slice(None, None, max(1, len(shown[0]) // 150))
            points += [
                {"x": p / 1e5, "y": f / 1e3, "side": wheel.place, "rising": rising}
                for p, f in zip(shown[0][keep], shown[1][keep], strict=True)
            ]
        if wheel.fit is None:
            continue
        top = max(report.full_pressure, wheel.highest_pressure)
        for part, (low, high) in (
            ("measured", (wheel.fit.threshold, wheel.fit.highest)),
            ("beyond", (wheel.fit.highest, top)),
        ):
            lines += [
                {"x": p / 1e5, "y": wheel.fit.force_at(p) / 1e3, "side": wheel.place, "part": part}
                for p in (low, max(low, high))
            ]
    sides = [wheel.place for wheel in wheels]
    colour = {
        "color": {
            "field": "side",
            "type": "nominal",
            "title": None,
            "scale": {"domain": sides, "range": [palette.good, palette.beyond][: len(sides)]},
            "legend": {"orient": "top-left", "symbolType": "circle", "padding": 6},
        }
    }
    axes = {
        "x": _axis("x", "pressure [bar]", zero=True, domainMin=0.0),
        "y": _axis("y", "brake force [kN]", zero=True, domainMin=0.0),
    }
    shape = {"field": "side", "type": "nominal", "scale": {"domain": sides, "range": ["circle", "diamond"]}}
    layers: list[dict[str, Any]] = [
        {
            "transform": [{"filter": f"datum.rising == {str(rising).lower()}"}],
            "mark": {
                "type": "point",
                "filled": rising,
                "size": 22,
                "opacity": 0.75 if rising else 0.55,
                "clip": True,
            },
            "encoding": axes | colour | {"shape": shape | {"legend": None}},
            "data": {"values": points},
        }
        for rising in (True, False)
    ]
    layers.append(
        {
            "data": {"values": lines},
            "mark": {"type": "line", "strokeWidth": 2},
            "encoding": axes
            | colour
            | {
                "strokeDash": {
                    "field": "part",
                    "type": "nominal",
                    "legend": None,
                    "scale": {"domain": ["measured", "beyond"], "range": [[1, 0], _DASH]},
                },
                "detail": {"field": "part"},
            },
        }
    )
    return {
        "width": WIDTH // 2,
        "height": HEIGHT,
        "title": f"axle {axle}",
        "layer": layers,
    }


def rotor_time_chart(
    history: RotorHistory, limit: float | None = None, palette: Palette = LIGHT, most_points: int = 900
) -> Chart:
    """Return the rotor temperature against time.

    Parameters
    ----------
    history : RotorHistory
        Run of one wheel end, friction face, middle and mean; the first wheel end is drawn.
    limit : float, [K], optional
        Drawn as a stroke.
    palette : Palette
        Colours.
    most_points : int
        Points per line; the hottest of each group is drawn, so that no peak is lost.

    Returns
    -------
    Chart
        Two or three lines.
    """
    curves = {"friction face": history.front, "middle of the ring": history.back, "mean": history.mean}
    shown = {name: values[:, 0] for name, values in curves.items() if len(values)}
    rows = []
    for name, values in shown.items():
        for start in range(0, len(values), step := max(1, -(-len(values) // most_points))):
            hottest = start + int(np.argmax(values[start : start + step]))
            rows.append(
                {
                    "x": float(history.time[hottest]) / 60.0,
                    "y": float(values[hottest]) - _KELVIN,
                    "kind": name,
                }
            )
    kinds = _kinds(
        list(shown),
        [palette.beyond, palette.good, palette.muted][: len(shown)],
        [[1, 0], _DASH, [2, 3]][: len(shown)],
    )
    layers = [
        {
            "data": {"values": rows},
            "mark": {"type": "line", "strokeWidth": 1.8},
            "encoding": {"x": _axis("x", "time [min]"), "y": _axis("y", "rotor temperature [°C]")} | kinds,
        }
    ]
    if limit is not None:
        layers += _rule(limit - _KELVIN, f"{limit - _KELVIN:.0f} °C", palette)
    title = "Rotor temperature over time"
    return _chart(title, "Conduction through half the ring; estimate.", palette, {"layer": layers})


def rotor_profile_chart(
    history: RotorHistory, times: Sequence[float], thickness: float, palette: Palette = LIGHT
) -> Chart:
    """Return the temperature through the thickness at some moments.

    Parameters
    ----------
    history : RotorHistory
        Run with profiles recorded.
    times : sequence of float, [s]
        Moment of each profile, as many as were recorded.
    thickness : float, [m]
        Of the slab that was computed: half the ring.
    palette : Palette
        Colours.

    Returns
    -------
    Chart
        One line for each moment.
    """
    profiles: NDArray[np.float64] = history.profiles
    names = [f"{time:.0f} s" for time in times]
    rows = [
        {"x": 1e3 * thickness * float(depth), "y": float(value) - _KELVIN, "kind": name}
        for name, profile in zip(names, profiles, strict=True)
        for depth, value in zip(history.positions, profile[:, 0], strict=True)
    ]
    dashes = [[1, 0], _DASH, [2, 3], [8, 3, 2, 3], [12, 4]]
    colours = [palette.beyond, palette.good, palette.ink, palette.muted, palette.rule]
    count = len(names)
    kinds = _kinds(names, (colours * count)[:count], (dashes * count)[:count])
    body = {
        "data": {"values": rows},
        "mark": {"type": "line", "strokeWidth": 2.2},
        "encoding": {
            "x": _axis("x", "depth below the friction face [mm]"),
            "y": _axis("y", "temperature [°C]"),
        }
        | kinds,
    }
    return _chart("Rotor temperature through the thickness", "Estimate.", palette, body)


def chart_svg(chart: Chart) -> str:
    """Return a chart as SVG.

    Parameters
    ----------
    chart : Chart
        As one of the functions here returns it.

    Returns
    -------
    str
        One ``<svg>`` element; every letter in it is data, no script, no address to load from.
    """
    import vl_convert

    return str(vl_convert.vegalite_to_svg(json.dumps(chart)))


def write_chart(chart: Chart, path: str | Path) -> Path:
    """Write a chart as a file.

    Parameters
    ----------
    chart : Chart
        As one of the functions here returns it.
    path : str or Path
        Its ending chooses the kind: ``.svg``, ``.png`` or ``.pdf``.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        If the ending is another one, or the file cannot be written.
    """
    target = Path(path)
    ending = target.suffix.lower()
    if ending not in _ENDINGS:
        raise InputError(
            f"'{target.name}' does not say what kind of picture it should be",
            where="--plot",
            allowed=", ".join(_ENDINGS),
            cure="Give a file name that ends in one of these",
        )
    import vl_convert

    text = json.dumps(chart)
    if ending == ".svg":
        content = str(vl_convert.vegalite_to_svg(text)).encode()
    elif ending == ".png":
        content = vl_convert.vegalite_to_png(text, scale=_SCALE)
    else:
        content = vl_convert.vegalite_to_pdf(text)
    try:
        target.write_bytes(content)
    except OSError as error:
        raise InputError(
            f"the picture cannot be written: {error.strerror}",
            where=str(target),
            allowed="a folder that exists and may be written to",
            cure="Give another file name",
        ) from error
    return target
