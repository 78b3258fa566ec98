"""A small writer of SVG drawings: fixed number format, escaped text, colours by role.

Every shape carries its colour twice: as an attribute, for drawings that stand alone or go into a PDF, and as
a class (``f-ink``, ``s-good``), by which a page replaces the colour for its own paper.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from html import escape

from wearline.reports.palette import LIGHT
from wearline.reports.words import shown_text

__all__ = ["FONT", "NAME_SPACE", "Drawing", "Point", "hatch", "number"]

FONT = "Libertinus Serif, Charter, Georgia, DejaVu Serif, serif"

NAME_SPACE = ' xmlns="http://www.w3.org/2000/svg"'
"""What a drawing needs as a file of its own, and not inside a page."""

Point = tuple[float, float]

_COLOURS = LIGHT.colours()


@lru_cache(maxsize=32_768)
def number(value: float) -> str:
    """Return a coordinate as text, the same on every machine.

    Parameters
    ----------
    value : float
        Coordinate [px].

    Returns
    -------
    str
        At most two decimals, no trailing zeros, no negative zero.
    """
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


@lru_cache(maxsize=2048)
def hatch(left: float, top: float, right: float, bottom: float, step: float = 4.0) -> str:
    """Return the path of hatching at 45 degrees that fills a rectangle.

    Parameters
    ----------
    left, top, right, bottom : float
        Edges of the rectangle [px].
    step : float
        Horizontal distance of two strokes [px], more than 0.

    Returns
    -------
    str
        Path data; empty for an empty rectangle.

    Notes
    -----
    The strokes are clipped here rather than by a pattern, so that a page can hold many drawings without
    names that clash.
    """
    width, height = right - left, bottom - top
    if width <= 0 or height <= 0:
        return ""
    strokes = []
    offset = step
    while offset < width + height:
        start_x = max(0.0, offset - height)
        end_x = min(width, offset)
        strokes.append(
            f"M{number(left + start_x)} {number(top + offset - start_x)}"
            f"L{number(left + end_x)} {number(top + offset - end_x)}"
        )
        offset += step
    return "".join(strokes)


@dataclass(slots=True)
class Drawing:
    """One drawing under construction.

    Parameters
    ----------
    width, height : float
        Size [px], 96 px to the inch.
    title, description : str
        What the drawing is and what it says, for those who cannot see it.
    """

    width: float
    height: float
    title: str
    description: str
    _body: list[str] = field(default_factory=list)

    def line(self, start: Point, end: Point, colour: str = "ink", width: float = 1.0, dash: str = "") -> None:
        """Draw a straight line.

        Parameters
        ----------
        start, end : tuple of float
            End points [px].
        colour : str
            Role in the palette.
        width : float
            Stroke width [px].
        dash : str
            Dash pattern [px], empty for a solid line.
        """
        self.path(
            f"M{number(start[0])} {number(start[1])}L{number(end[0])} {number(end[1])}", colour, width, dash
        )

    def path(self, data: str, colour: str = "ink", width: float = 1.0, dash: str = "") -> None:
        """Draw the outline of a path.

        Parameters
        ----------
        data : str
            Path data.
        colour : str
            Role in the palette.
        width : float
            Stroke width [px].
        dash : str
            Dash pattern [px], empty for a solid line.
        """
        if data:
            dashes = f' stroke-dasharray="{dash}"' if dash else ""
            self._body.append(
                f'<path d="{data}" class="s-{colour}" fill="none" stroke="{_COLOURS[colour]}"'
                f' stroke-width="{number(width)}"{dashes}/>'
            )

    def polygon(self, points: Iterable[Point], fill: str = "", stroke: str = "", width: float = 1.0) -> None:
        """Draw a closed shape.

        Parameters
        ----------
        points : iterable of tuple of float
            Corners [px].
        fill, stroke : str
            Roles in the palette, empty for none.
        width : float
            Stroke width [px].
        """
        corners = " ".join(f"{number(x)},{number(y)}" for x, y in points)
        self._body.append(f'<polygon points="{corners}"{_paint(fill, stroke, width)}/>')

    def rectangle(
        self,
        corner: Point,
        size: Point,
        fill: str = "",
        stroke: str = "",
        *,
        width: float = 1.0,
        radius: float = 0.0,
        dash: str = "",
    ) -> None:
        """Draw a rectangle.

        Parameters
        ----------
        corner, size : tuple of float
            Upper left corner, width and height [px].
        fill, stroke : str
            Roles in the palette, empty for none.
        width, radius : float
            Stroke width and corner radius [px].
        dash : str
            Dash pattern [px], empty for a solid line.
        """
        rounding = f' rx="{number(radius)}"' if radius else ""
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        self._body.append(
            f'<rect x="{number(corner[0])}" y="{number(corner[1])}" width="{number(size[0])}"'
            f' height="{number(size[1])}"{rounding}{_paint(fill, stroke, width)}{dashes}/>'
        )

    def circle(
        self, centre: Point, radius: float, fill: str = "", stroke: str = "", width: float = 1.0
    ) -> None:
        """Draw a circle.

        Parameters
        ----------
        centre : tuple of float
            Centre [px].
        radius : float
            Radius [px].
        fill, stroke : str
            Roles in the palette, empty for none.
        width : float
            Stroke width [px].
        """
        self._body.append(
            f'<circle cx="{number(centre[0])}" cy="{number(centre[1])}" r="{number(radius)}"'
            f"{_paint(fill, stroke, width)}/>"
        )

    def text(
        self,
        at: Point,
        content: str,
        *,
        size: float = 9.0,
        colour: str = "ink",
        anchor: str = "start",
        bold: bool = False,
        italic: bool = False,
    ) -> None:
        """Write one line of text.

        Parameters
        ----------
        at : tuple of float
            Point on the base line [px].
        content : str
            The text; characters that a drawing cannot hold are left out.
        size : float
            Size of the letters [px].
        colour : str
            Role in the palette.
        anchor : {"start", "middle", "end"}
            Which part of the text stands at the point.
        bold, italic : bool
            Weight and slope.
        """
        style = (' font-weight="bold"' if bold else "") + (' font-style="italic"' if italic else "")
        style += f' text-anchor="{anchor}"' if anchor != "start" else ""
        self._body.append(
            f'<text x="{number(at[0])}" y="{number(at[1])}" font-size="{number(size)}"{style}'
            f"{_paint(colour, '', 0)}>{escape(shown_text(content), quote=False)}</text>"
        )

    def render(self) -> str:
        """Return the finished drawing.

        Returns
        -------
        str
            One ``svg`` element.
        """
        title = escape(shown_text(self.title))
        size = f"{number(self.width)} {number(self.height)}"
        return (
            f'<svg{NAME_SPACE} viewBox="0 0 {size}" width="{number(self.width)}"'
            f' height="{number(self.height)}" role="img" aria-label="{title}" font-family="{FONT}">'
            f"<title>{title}</title><desc>{escape(shown_text(self.description), quote=False)}</desc>"
            + "".join(self._body)
            + "</svg>"
        )


def _paint(fill: str, stroke: str, width: float) -> str:
    classes = " ".join(
        part for part in (f"f-{fill}" if fill else "", f"s-{stroke}" if stroke else "") if part
    )
    paint = f' class="{classes}"' if classes else ""
    paint += f' fill="{_COLOURS[fill] if fill else "none"}"'
    if stroke:
        paint += f' stroke="{_COLOURS[stroke]}" stroke-width="{number(width)}"'
    return paint


def outline(points: Sequence[Point]) -> str:
    """Return path data through points.

    Parameters
    ----------
    points : sequence of tuple of float
        Points [px], at least one.

    Returns
    -------
    str
        Path data, open.
    """
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points)
