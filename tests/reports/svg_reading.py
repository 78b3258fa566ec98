"""Reading drawings back in tests: shapes by role, coordinates as numbers."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise
from xml.etree import ElementTree

SPACE = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class Segment:
    """A straight stroke."""

    x1: float
    y1: float
    x2: float
    y2: float
    role: str
    width: float
    dash: str


def root_of(svg):
    """The drawing as a tree; a parse error is a test failure."""
    return ElementTree.fromstring(svg)


def roles(element):
    return element.get("class", "").split()


def texts(svg):
    return [element.text or "" for element in root_of(svg).iter(f"{SPACE}text")]


def text_at(svg, content):
    """Place of the first text with this content."""
    for element in root_of(svg).iter(f"{SPACE}text"):
        if element.text == content:
            return float(element.get("x")), float(element.get("y"))
    raise AssertionError(f"no text {content!r}")


def segments(svg):
    """Every straight piece of every open path."""
    found = []
    for element in root_of(svg).iter(f"{SPACE}path"):
        role = next((name[2:] for name in roles(element) if name.startswith("s-")), "")
        for piece in re.findall(r"M([^MQHVZ]*)", element.get("d")):
            numbers = [float(number) for number in re.findall(r"-?\d+\.?\d*", piece)]
            points = list(zip(numbers[0::2], numbers[1::2], strict=True))
            for (x1, y1), (x2, y2) in pairwise(points):
                width = float(element.get("stroke-width"))
                found.append(Segment(x1, y1, x2, y2, role, width, element.get("stroke-dasharray", "")))
    return found


def circles(svg, role, *, stroked=False):
    """Centres and radii of circles filled with a role."""
    return [
        (float(element.get("cx")), float(element.get("cy")), float(element.get("r")))
        for element in root_of(svg).iter(f"{SPACE}circle")
        if f"f-{role}" in roles(element) and (element.get("stroke") is not None) is stroked
    ]


def polygons(svg, role):
    """Corners of polygons filled with a role."""
    return [
        [tuple(float(number) for number in corner.split(",")) for corner in element.get("points").split()]
        for element in root_of(svg).iter(f"{SPACE}polygon")
        if f"f-{role}" in roles(element)
    ]
