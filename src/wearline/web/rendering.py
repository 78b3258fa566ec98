"""From a page's context to HTML: the template engine, its filters, and the words of the interface."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from wearline.reports.content_model import Picture
from wearline.reports.ladder import STEPS, draw_step
from wearline.reports.road_words import reason_status, rule_grade, sentence, step_cautions
from wearline.reports.svg import NAME_SPACE
from wearline.reports.words import distance_text, shown_text

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup

__all__ = ["LANGUAGES", "STATIC", "asset_version", "environment", "render", "translate"]

_HERE = Path(__file__).parent
_LOCALES = _HERE / "locales"
STATIC = _HERE / "static"
"""Folder of the static files."""


def _languages() -> tuple[str, ...]:
    return ("en", *sorted(path.stem for path in _LOCALES.glob("*.json")))


LANGUAGES = _languages()
"""Languages of the interface: English, in which it is written, and one for each file of translations."""


@lru_cache(maxsize=16)
def _words(language: str) -> Mapping[str, str]:
    if language == "en" or language not in LANGUAGES:
        return {}
    found = json.loads((_LOCALES / f"{language}.json").read_text(encoding="utf-8"))
    return {str(key): str(value) for key, value in found.items()}


def translate(text: str, language: str) -> str:
    """Return a text of the interface in a language.

    Parameters
    ----------
    text : str
        As the templates have it, in English.
    language : str
        One of ``LANGUAGES``.

    Returns
    -------
    str
        The translation; the English text where there is none.
    """
    return _words(language).get(text, text)


@lru_cache(maxsize=64)
def asset_version(name: str) -> str:
    """Return a mark that changes with the content of a static file.

    Parameters
    ----------
    name : str
        File below ``static``.

    Returns
    -------
    str
        Ten hexadecimal digits.
    """
    from hashlib import sha256

    return sha256((STATIC / name).read_bytes()).hexdigest()[:10]


def _drawing(picture: Picture) -> Markup:
    from markupsafe import Markup

    if not isinstance(picture, Picture):
        raise TypeError("only drawings of this package go into a page unescaped")
    return Markup(picture.svg.replace(NAME_SPACE, "", 1))


@lru_cache(maxsize=8)
def _step(level: int) -> Markup:
    return _drawing(Picture(draw_step(level), f"Level {level} of 4."))


def _km(distance: float) -> str:
    """A distance foreseen, in km: three digits of it say more than anybody knows."""
    if distance <= 0.0:
        return "0 km"
    places = max(0, math.floor(math.log10(distance)) - 2)
    return f"{round(distance, -places):,.0f} km".replace(",", "\u202f")


def _shown(value: Any) -> Any:
    return shown_text(value) if type(value) is str else value


def _asset(name: str) -> str:
    return f"/static/{name}?v={asset_version(name)}"


def _marked(text: str) -> Markup:
    """Words that a search found stand between two signs of the private area; everything else is escaped."""
    from markupsafe import Markup, escape

    parts = re.split("[\ue000\ue001]", text)
    pieces = [
        f"<mark>{escape(shown_text(part))}</mark>" if number % 2 else str(escape(shown_text(part)))
        for number, part in enumerate(parts)
    ]
    return Markup("".join(pieces))


@lru_cache(maxsize=1)
def environment() -> Environment:
    """Return the template engine: everything typed by people is escaped, nothing missing passes silently.

    Returns
    -------
    Environment
        With the templates of the pages and, under ``reports/``, those of the reports.
    """
    from jinja2 import ChoiceLoader, Environment, FileSystemLoader, PrefixLoader, StrictUndefined

    reports = _HERE.parent / "reports" / "templates"
    made = Environment(
        loader=ChoiceLoader(
            [FileSystemLoader(_HERE / "templates"), PrefixLoader({"reports": FileSystemLoader(reports)})]
        ),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_shown,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters.update(
        drawing=_drawing,
        step=_step,
        sentence=sentence,
        step_cautions=step_cautions,
        rule_grade=rule_grade,
        reason_status=reason_status,
        distance=distance_text,
        km=_km,
        step_words=lambda level: STEPS[level],
        quoted=lambda text: quote(str(text), safe=""),
        marked=_marked,
    )
    made.globals["asset"] = _asset
    return made


def render(template: str, frame: Mapping[str, Any], context: Any) -> str:
    """Return a page.

    Parameters
    ----------
    template : str
        Its template.
    frame : mapping
        What every page has: person, theme, settings.
    context : object
        What this page says.

    Returns
    -------
    str
        HTML.
    """
    language = str(frame["language"])
    words = {"_": lambda text: translate(text, language)}
    return environment().get_template(template).render(**words, **frame, page=context)
