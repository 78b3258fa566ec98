"""Colours: contrast on both papers, and two hues that stay apart for every kind of colour vision."""

import itertools

import pytest

from wearline.reports.palette import DARK, LIGHT, contrast_ratio

# Machado, Oliveira and Fernandes (2009), simulation of colour vision deficiency, severity 1.0, on linear RGB.
PROTAN = ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998))
DEUTAN = ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881))


def linear(colour):
    shares = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    return [share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4 for share in shares]


def lab(rgb):
    """CIE 1976 L*a*b* of linear sRGB, white point D65 (IEC 61966-2-1)."""
    matrix = ((0.4124, 0.3576, 0.1805), (0.2126, 0.7152, 0.0722), (0.0193, 0.1192, 0.9505))
    white = (0.9505, 1.0, 1.0890)
    xyz = [
        sum(m * c for m, c in zip(row, rgb, strict=True)) / w for row, w in zip(matrix, white, strict=True)
    ]
    f = [value ** (1 / 3) if value > 216 / 24389 else (24389 / 27 * value + 16) / 116 for value in xyz]
    return 116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])


def seen(colour, matrix):
    rgb = linear(colour)
    return lab([min(max(sum(m * c for m, c in zip(row, rgb, strict=True)), 0.0), 1.0) for row in matrix])


def test_contrast_is_that_of_the_guidelines():
    """WCAG 2.1: black on white is 21:1; #767676 on white is the lightest grey that meets 4.5:1."""
    assert contrast_ratio("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast_ratio("#767676", "#ffffff") >= 4.5 > contrast_ratio("#777777", "#ffffff")
    assert contrast_ratio("#123456", "#123456") == pytest.approx(1.0)


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
def test_text_meets_level_aa_on_paper_and_panel(palette):
    """WCAG 2.1, 1.4.3: 4.5:1 for text."""
    for role, background in itertools.product(("ink", "muted", "good", "beyond"), ("paper", "panel")):
        assert contrast_ratio(getattr(palette, role), getattr(palette, background)) >= 4.5, (role, background)
    assert contrast_ratio(palette.paper, palette.ink) >= 4.5


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
def test_lines_that_carry_meaning_can_be_seen(palette):
    """WCAG 2.1, 1.4.11: 3:1 for graphics."""
    for role in ("ink", "muted", "rule", "good", "beyond"):
        assert contrast_ratio(getattr(palette, role), palette.paper) >= 3.0, role


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
@pytest.mark.parametrize("matrix", [PROTAN, DEUTAN], ids=["protan", "deutan"])
def test_the_two_hues_stay_apart_without_red_or_green_vision(palette, matrix):
    """A distance of 10 in CIE 1976 L*a*b* is several times what can just be told apart (about 2.3)."""
    difference = [
        a - b for a, b in zip(seen(palette.good, matrix), seen(palette.beyond, matrix), strict=True)
    ]
    assert sum(part**2 for part in difference) ** 0.5 >= 10 * 2.3
