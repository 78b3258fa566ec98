"""What a fleet does with its pads, as drawings: lives, renewals too early and too late, ends worth a look."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from wearline.reports.content_model import Picture
from wearline.reports.interval_text import amount_text
from wearline.reports.panel import SMALL, TEXT, Panel, sheet
from wearline.reports.svg import Drawing, hatch

__all__ = ["draw_fleet_wear", "fleet_pictures"]

WIDTH = 860.0
LEFT, RIGHT = 190.0, 830.0
ROW = 21.0
_MOST = 14

_Draw = Callable[[Drawing, Mapping[str, Any], float], None]


def draw_fleet_wear(wear: Mapping[str, Any]) -> str:
    """Draw everything on one sheet.

    Parameters
    ----------
    wear : mapping
        ``fleet_wear`` of an answer under schema ``wearline.outlook/1``.

    Returns
    -------
    str
        SVG.
    """
    parts = _parts(wear)
    height = 40.0 + sum(each[2] for each in parts) + 10.0
    said = " ".join(each[1] for each in parts)
    drawing = sheet(WIDTH, height, "The pads of the fleet", said)
    drawing.text((20.0, 28.0), "The pads of the fleet", size=18.0, bold=True)
    top = 40.0
    for _, _, tall, draw in parts:
        draw(drawing, wear, top)
        top += tall
    return drawing.render()


def fleet_pictures(wear: Mapping[str, Any]) -> tuple[Picture, ...]:
    """Draw each part by itself, for a page.

    Parameters
    ----------
    wear : mapping
        ``fleet_wear`` of an answer under schema ``wearline.outlook/1``.

    Returns
    -------
    tuple of Picture
        Lives, renewals, pads beyond the limit, ends worth a look; what has nothing to show is left out.
    """
    pictures = []
    for title, said, tall, draw in _parts(wear):
        drawing = Drawing(WIDTH, tall, title, said)
        draw(drawing, wear, 0.0)
        pictures.append(Picture(drawing.render(), said))
    return tuple(pictures)


def _parts(wear: Mapping[str, Any]) -> list[tuple[str, str, float, _Draw]]:
    groups, renewals = wear["groups"], wear["renewals"]
    units = list(dict.fromkeys(group["unit"] for group in groups))
    parts: list[tuple[str, str, float, _Draw]] = [
        (
            "Life of pads",
            "Life of pads: "
            + "; ".join(
                f"{group['duty']} {group['role']} {amount_text(group['life_median'], group['unit'])}"
                for group in groups
            )
            + ".",
            62.0 + ROW * len(groups) + 46.0 * len(units),
            _lives,
        )
    ]
    if renewals["count"]:
        parts.append(("Renewals", _renewal_words(wear), 250.0, _renewals))
    if wear["crossed"]:
        count = len(wear["crossed"])
        rows = min(count, _MOST)
        ends = "1 wheel end was" if count == 1 else f"{count} wheel ends were"
        said = f"{ends} found below the service limit."
        parts.append(
            ("Below the limit", said, 100.0 + ROW * rows + (16.0 if count > rows else 0.0), _crossed)
        )
    if any(group["axles"] > 1 for group in groups):
        said = f"{len(wear['outliers'])} wheel ends wear unlike the others and are worth a look."
        parts.append(("Worth a look", said, 84.0 + 28.0 * len(groups) + _names_height(wear), _outliers))
    return parts


def _head(drawing: Drawing, top: float, title: str, words: str) -> None:
    drawing.text((20.0, top + 18.0), title, size=14.0, bold=True)
    drawing.text((20.0, top + 35.0), words, size=TEXT, colour="muted")


def _name(group: Mapping[str, Any]) -> str:
    name = f"{group['duty']}, {group['role']}"
    return name if len(name) <= 30 else name[:29] + "\u2026"


def _lives(drawing: Drawing, wear: Mapping[str, Any], top: float) -> None:
    _head(
        drawing,
        top,
        "How long pads last",
        "Bar: 90 % of new pads to the service limit, ring: median. Strokes: sets that have come off.",
    )
    here = top + 50.0
    for unit in dict.fromkeys(group["unit"] for group in wear["groups"]):
        own = [group for group in wear["groups"] if group["unit"] == unit]
        values = [v for g in own for v in (g["life_p05"], g["life_p95"], *g["ended_lives"]) if v > 0]
        low, high = min(values) * 0.85, max(values) * 1.15
        scale = 1000.0 if high >= 20_000.0 else 1.0
        panel = Panel(LEFT, here, RIGHT, here + ROW * len(own), low / scale, high / scale, logarithmic=True)
        for number, group in enumerate(own):
            _life_row(drawing, panel, group, here + ROW * (number + 0.5), scale)
        shown = f"thousand {unit}" if scale > 1.0 else unit
        panel.x_axis(drawing, f"life, {shown}", _log_ticks(panel.x_low, panel.x_high))
        here += ROW * len(own) + 46.0


def _life_row(drawing: Drawing, panel: Panel, group: Mapping[str, Any], y: float, scale: float) -> None:
    drawing.text((LEFT - 10.0, y + 4.0), _name(group), size=TEXT, anchor="end")
    drawing.line((LEFT, y), (RIGHT, y), "rule", 0.3)
    start, end = panel.x(group["life_p05"] / scale), panel.x(group["life_p95"] / scale)
    drawing.line((start, y), (end, y), "good", 5.0)
    for life in group["ended_lives"]:
        x = panel.x(max(life, 1e-9) / scale)
        drawing.line((x, y - 8.0), (x, y + 8.0), "ink", 1.1)
    drawing.circle((panel.x(group["life_median"] / scale), y), 4.5, fill="paper", stroke="good", width=2.0)


def _log_ticks(low: float, high: float) -> list[float]:
    ticks = [m * 10.0**e for e in range(-3, 9) for m in (1.0, 2.0, 5.0)]
    return [tick for tick in ticks if low <= tick <= high]


def _renewal_words(wear: Mapping[str, Any]) -> str:
    renewals = wear["renewals"]
    price = "an invented price" if wear["price_is_invented"] else "your price"
    return (
        f"{renewals['count']} axle sets came off: {renewals['wasted_mm']:.0f} mm of friction thrown away in "
        f"all, {renewals['wasted_money']:.0f} of money at {price} of {wear['pad_set_price']:g} a set; "
        f"{renewals['early']} more than {renewals['early_above_mm']:g} mm above the limit, "
        f"{renewals['late']} below it."
    )


def _renewals(drawing: Drawing, wear: Mapping[str, Any], top: float) -> None:
    renewals = wear["renewals"]
    words = _renewal_words(wear)
    first, _, rest = words.partition("; ")
    _head(drawing, top, "How much friction was left when they came off", f"{first};")
    drawing.text((20.0, top + 50.0), rest, size=TEXT, colour="muted")
    width = renewals["bin_mm"]
    most = max(count for _, count in renewals["left_mm"])
    last = max(max(low for low, _ in renewals["left_mm"]) + width, renewals["limit_mm"] + 4.0)
    panel = Panel(60.0, top + 82.0, RIGHT, top + 200.0, 0.0, last, 0.0, most * 1.12)
    ticks = [float(n) for n in range(0, most + 1, max(1, round(most / 4)))]
    panel.y_axis(drawing, "axle sets", ticks)
    limit = renewals["limit_mm"]
    panel.beyond(drawing, 0.0, limit)
    for low, count in renewals["left_mm"]:
        late = low + 0.5 * width < limit
        x, y = panel.at(low, count)
        size = (panel.x(low + width) - x - 1.5, panel.bottom - y)
        fill = "paper" if late else "good"
        drawing.rectangle((x + 0.75, y), size, fill=fill, stroke="beyond" if late else "good", width=1.6)
    panel.stroke(drawing, limit, f"service limit {limit:g} mm")
    panel.x_axis(drawing, "thinnest corner of the axle when the pads came off [mm]")


def _crossed(drawing: Drawing, wear: Mapping[str, Any], top: float) -> None:
    rows: Sequence[Mapping[str, Any]] = wear["crossed"]
    on = sum(row["still_on"] for row in rows)
    ends = "1 wheel end" if len(rows) == 1 else f"{len(rows)} wheel ends"
    words = f"Found below the service limit at a look: {ends}, {on} with these pads still on."
    _head(drawing, top, "Pads that crossed the limit", words)
    shown = rows[:_MOST]
    here, limit = top + 52.0, max(row["limit_mm"] for row in shown)
    bottom = here + ROW * len(shown)
    panel = Panel(LEFT, here, RIGHT, bottom, 0.0, 2.0 * limit)
    drawing.path(hatch(panel.x(0.0), here, panel.x(limit), bottom, 7.0), "beyond", 0.45)
    for number, row in enumerate(shown):
        y = here + ROW * (number + 0.5)
        drawing.text((LEFT - 10.0, y + 4.0), f"{row['vehicle']} {row['at']}", size=TEXT, anchor="end")
        drawing.line((LEFT, y), (panel.x(limit), y), "rule", 0.4)
        fill = "beyond" if row["still_on"] else "paper"
        drawing.circle((panel.x(row["thinnest_mm"]), y), 5.0, fill=fill, stroke="beyond", width=1.8)
        state = "still on" if row["still_on"] else "renewed since"
        said = f"{row['thinnest_mm']:.1f} mm on {row['found_on']}, {state}"
        drawing.text((panel.x(limit) + 10.0, y + 4.0), said, size=SMALL)
    panel.stroke(drawing, limit)
    panel.x_axis(drawing, "thinnest corner [mm]; the stroke is the limit")
    if len(rows) > len(shown):
        drawing.text((20.0, bottom + 46.0), f"and {len(rows) - len(shown)} more", size=SMALL, colour="muted")


def _names_height(wear: Mapping[str, Any]) -> float:
    return 18.0 + 15.0 * min(len(wear["outliers"]), _MOST) if wear["outliers"] else 0.0


def _outliers(drawing: Drawing, wear: Mapping[str, Any], top: float) -> None:
    outliers = wear["outliers"][:_MOST]
    words = (
        "Wear of every wheel end over the middle of its duty and axle role; solid: worth a look."
        if outliers
        else "Wear of every wheel end over the middle of its duty and axle role; none is out of the ordinary."
    )
    _head(drawing, top, "Wheel ends that wear unlike the others", words)
    here = top + 52.0
    groups = wear["groups"]
    bottom = here + 28.0 * len(groups)
    ratios = [r for g in groups for r in g["wear_ratios"]] + [row["ratio"] for row in outliers]
    reach = max(2.0, 1.1 * max(max(ratios), 1.0 / max(min(ratios), 1e-3)))
    panel = Panel(LEFT, here, RIGHT, bottom, 1.0 / reach, reach, logarithmic=True)
    places = {}
    for number, group in enumerate(groups):
        y = here + 28.0 * (number + 0.5)
        places[group["duty"], group["role"]] = y
        drawing.text((LEFT - 10.0, y + 4.0), _name(group), size=TEXT, anchor="end")
        drawing.line((LEFT, y), (RIGHT, y), "rule", 0.3)
        for ratio in group["wear_ratios"]:
            drawing.circle((panel.x(ratio), y), 2.6, fill="paper", stroke="good", width=1.1)
    drawing.line((panel.x(1.0), here), (panel.x(1.0), bottom), "ink", 1.0)
    last = (0.0, 0.0)
    order = sorted(enumerate(outliers), key=lambda pair: (pair[1]["duty"], pair[1]["role"], pair[1]["ratio"]))
    for number, row in order:
        x, y = panel.x(row["ratio"]), places[row["duty"], row["role"]]
        drawing.circle((x, y), 4.6, fill="beyond")
        # numbers of dots that lie on each other stand side by side
        here = last[0] + 9.0 if y == last[1] and x - last[0] < 9.0 else x
        drawing.text((here, y - 7.0), str(number + 1), size=9.0, colour="beyond", anchor="middle")
        last = (here, y)
    panel.x_axis(drawing, "wear over the middle of the group", _ratio_ticks(reach))
    here = bottom + 50.0
    for number, row in enumerate(outliers):
        said = f"{number + 1}  {row['vehicle']} {row['at']}: {row['ratio']:.2g} times the middle of its group"
        if row["mate_ratio"] >= 1.2:
            said += f", {row['mate_ratio']:.1f} times its mate"
        drawing.text((LEFT, here + 15.0 * number), said, size=TEXT)


def _ratio_ticks(reach: float) -> list[float]:
    return [tick for tick in (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0) if 1.0 / reach <= tick <= reach]
