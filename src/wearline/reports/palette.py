"""The two hues of the reports and their neutral companions, for light and dark paper.

Blue-green stands for the good side of a limit, rust for the side beyond it. Form always carries the same
message: hatching, an open or a solid dot, a word. Contrast is that of WCAG 2.1, relative luminance.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

__all__ = ["DARK", "LIGHT", "Palette", "contrast_ratio"]


@dataclass(frozen=True, slots=True)
class Palette:
    """Colours of one paper, each as ``#rrggbb``.

    Parameters
    ----------
    paper, panel : str
        Background of the page, and of a set-off block.
    ink, muted : str
        Text, and text of second rank.
    rule : str
        Thin lines.
    good, beyond : str
        The two hues: good side of a limit, side beyond it.
    """

    paper: str
    panel: str
    ink: str
    muted: str
    rule: str
    good: str
    beyond: str

    def colours(self) -> dict[str, str]:
        """Return the colours by name, in the order of the fields.

        Returns
        -------
        dict of str to str
            Name and ``#rrggbb``.
        """
        return {field.name: getattr(self, field.name) for field in fields(self)}


LIGHT = Palette(
    paper="#ffffff",
    panel="#f3f1ec",
    ink="#1d262d",
    muted="#515c64",
    rule="#8a949b",
    good="#14586e",
    beyond="#a03c0c",
)
DARK = Palette(
    paper="#14191c",
    panel="#1e2529",
    ink="#e9e6df",
    muted="#aeb7bc",
    rule="#75818a",
    good="#7cc4d8",
    beyond="#f2996a",
)


def _linear(channel: int) -> float:
    share = channel / 255
    return share / 12.92 if share <= 0.04045 else float(((share + 0.055) / 1.055) ** 2.4)


def contrast_ratio(first: str, second: str) -> float:
    """Return the contrast of two colours.

    Parameters
    ----------
    first, second : str
        Colours as ``#rrggbb``.

    Returns
    -------
    float
        Ratio from 1 to 21 [1].

    Notes
    -----
    (L1 + 0.05) / (L2 + 0.05) with the relative luminance L = 0.2126 R + 0.7152 G + 0.0722 B of linear sRGB;
    Web Content Accessibility Guidelines 2.1, definitions of relative luminance and contrast ratio.
    """

    def luminance(colour: str) -> float:
        red, green, blue = (int(colour[place : place + 2], 16) for place in (1, 3, 5))
        return 0.2126 * _linear(red) + 0.7152 * _linear(green) + 0.0722 * _linear(blue)

    low, high = sorted((luminance(first), luminance(second)))
    return (high + 0.05) / (low + 0.05)
