"""The browser's parser, judgement and fold give what Python gives, on shared vectors."""

from __future__ import annotations

import math
import random
import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from entry_support import browser, opened, served
from playwright.sync_api import Page

from wearline.app.draft_events import event_from_plain
from wearline.app.drafting import document_of, fold
from wearline.assessment.columns import standard_uncertainty
from wearline.assessment.verdicts import DECISIONS, DecisionSettings, LimitSet, hold_against
from wearline.assessment.wording import what_settles
from wearline.catalogue.loading import load_catalogue
from wearline.errors import QuantityError
from wearline.records.readings import Measured
from wearline.uncertainty.normal import normal_distribution
from wearline.units import Kind, parse_quantity
from wearline.units.table import units_of

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "tools"))
import entry_form

WRITTEN = [
    *("1.40 mm", "55 thou", "0.130 in", "1/16 in", '5/32"', "3,2 mm", "48 %", "45 N", "21.9 kN", "118 degC"),
    *("245 degF", "6.5 bar", "95 psi", "1 1/4 in", "1½ in", "1-1/4 in", "412 300 km", "1,234 mm", "0,123 in"),
    *(
        "1.234 km",
        "12 345 mm",
        "1e5 mm",
        "3±0.1 mm",
        "2-3 mm",
        "<3 mm",
        "½",
        "1/16",
        "10 10 mm",
        "1.2.3",
        "",
        " ",
    ),
    *(
        "mm",
        "-3 degC",
        "-300 degC",
        "−3 degC",
        "2 3/2 in",
        "5/0 in",
        "3 mils",
        "3 mpa",
        "3 MPa",
        "12 µm",
        "12 μm",
    ),
    *(
        "5 ″",
        "5 ”",
        "7 '",
        "3 ton",
        "3 lb",
        "120 ft-lb",
        "120 N·m",
        "120 Nm",
        "4 in.",
        "4 IN",
        "8",
        "8.0",
        "-1",
    ),
    *(
        "1 234,5 mm",
        "1 23 mm",
        "٣ mm",
        "100 mm mm",
        "3 mm in",
        "5 °C",
        "5 º C",
        ".5 mm",
        "5. mm",
        "+5 mm",
        "--5 mm",
    ),
    *(
        "1\u202f000 km",
        "1\u00a0000 km",
        "３ mm",
        "2 2/3 ft",
        "1–3/4 in",
        "5 mm.",
        "5 m²",
        "1.5/2 in",
        "1/2/3 in",
    ),
    *("x" * 70, "1" * 60 + " mm", "1" * 70, "20 K", "0.0254 m", "0.1 mm", "7/8 mm", "1 234 567.25 km"),
]


@pytest.fixture(scope="module")
def page() -> Any:
    with served() as server, browser() as chromium:
        yield opened(chromium.new_context(), server.url, stored=False)


def _vectors() -> list[tuple[str, str, str | None]]:
    """Texts that people write, every spelling of every unit, and random signs, for every kind of quantity."""
    draw = random.Random(20260914)
    texts = list(WRITTEN)
    signs = "0123456789 .,/-+mintho%\"'°CFkNbarpsi½±eE "
    texts += ["".join(draw.choice(signs) for _ in range(draw.randint(1, 9))) for _ in range(1500)]
    numbers = ("1", "2.5", "3,25", "12 345", "1/8", "0.001")
    for kind in Kind:
        for unit in units_of(kind):
            texts += [f"{draw.choice(numbers)} {name}" for name in (unit.symbol, *unit.aliases)]
    kinds = list(Kind)
    found: list[tuple[str, str, str | None]] = []
    for text in texts:
        for kind in kinds:
            found.append((text, kind.name, None))
            if len(text) < 5:
                found.append((text, kind.name, units_of(kind)[0].symbol))
    return found


def test_every_text_is_read_to_the_same_value_or_refused_by_both(page: Page) -> None:
    """The form and ``parse_quantity`` agree on value (the same float), unit and step, or both refuse."""
    vectors = _vectors()
    expected: list[list[Any] | None] = []
    for text, kind, unit in vectors:
        try:
            quantity = parse_quantity(text, Kind[kind], default_unit=unit)
            expected.append([quantity.value, quantity.unit, float(quantity.resolution)])
        except QuantityError:
            expected.append(None)
    assert sum(one is not None for one in expected) > 1000
    actual = page.evaluate(
        """async (vectors) => {
        const { parseQuantity, QuantityError } = await import('/static/entry/quantity.js');
        return vectors.map(([text, kind, unit]) => { try { const q = parseQuantity(text, kind, unit);
          return [q.value, q.unit, q.resolution]; }
          catch (e) { if (!(e instanceof QuantityError)) throw e; return null; } }); }""",
        vectors,
    )
    differing = [
        (vector, one, other)
        for vector, one, other in zip(vectors, expected, actual, strict=True)
        if one != other
    ]
    assert differing == []


def test_written_files_are_those_of_their_origin() -> None:
    """Units of the form come from ``wearline.units.table``; the worker names every file under one version."""
    assert entry_form.module_text() == entry_form.UNITS.read_text(encoding="utf-8")
    assert entry_form.worker_text() == entry_form.WORKER.read_text(encoding="utf-8")


def test_normal_distribution_of_the_form_is_that_of_python(page: Page) -> None:
    """Phi agrees with ``math.erfc`` to 2e-15 absolutely and 1e-12 relatively down to -8."""
    scores = [n / 16 for n in range(-128, 129)]
    actual = page.evaluate(
        "async (z) => z.map((await import('/static/entry/judging.js')).normalDistribution)",
        scores,
    )
    for score, value in zip(scores, actual, strict=True):
        true = float(normal_distribution(score))
        assert math.isclose(value, true, rel_tol=1e-12, abs_tol=2e-15)


def _judged_vectors() -> list[dict[str, Any]]:
    catalogue = load_catalogue()
    limits = catalogue.limits_for("generic-22.5", date(2026, 9, 14))
    found = []
    for name, limit in limits.items():
        field = catalogue.fields.get("pad_inner" if limit.field == "pad_thinnest" else limit.field)
        if field is None or field.kind is None or limit.kind is not field.kind:
            continue
        spread = field.standard_uncertainty(limit.value) or abs(limit.value) / 10 or 1.0
        for step in (-4, -2, -1.7, -1.6, -1.3, -1, -1e-9, 0.0, 1e-9, 0.5, 1.3, 1.6, 1.7, 2, 4):
            for repeats in (0, 3):
                value = limit.value + step * spread
                u = standard_uncertainty(
                    Measured(
                        value=value,
                        raw="",
                        unit=field.unit,
                        resolution=field.resolution,
                        u=None,
                        gauge="",
                        repeats=(value,) * repeats,
                    ),
                    field,
                    None,
                    gauge_resolution=field.resolution,
                )
                found.append({"limit": name, "field": field.name, "value": value, "repeats": repeats, "u": u})
    return found


def test_the_tablets_judgement_is_that_of_python(page: Page) -> None:
    """Uncertainty, probability, margin and verdict of every limit of a field, at and round the limit."""
    catalogue = load_catalogue()
    limits = catalogue.limits_for("generic-22.5", date(2026, 9, 14))
    holder = LimitSet((limits,), np.zeros(1, dtype=np.int64))
    vectors = _judged_vectors()
    assert len(vectors) > 400
    actual = page.evaluate(
        """async (vectors) => { const c = await (await fetch('/api/1/catalogue.json')).json();
        const m = await import('/static/entry/judging.js'); const limits = c.designs['generic-22.5'].limits;
        return vectors.map((v) => { const field = c.fields[v.field];
          const reading = { value: v.value, repeats: v.repeats, resolution: field.resolution };
          const u = m.standardUncertainty(field, reading);
          const held = m.holdAgainst(v.value, u, limits[v.limit], c.decision);
          const settle = m.whatSettles(held.margin, u, field.u_repeat_share, c.decision.confidence);
          return [u, held.pWithin, held.margin, held.verdict, settle.kind, settle.n ?? 0]; }); }""",
        vectors,
    )
    settings = DecisionSettings()
    for vector, (u, p_within, margin, verdict, settle, n) in zip(vectors, actual, strict=True):
        true = hold_against(
            np.array([vector["value"]]), np.array([vector["u"]]), holder, vector["limit"], settings
        )
        assert math.isclose(u, vector["u"], rel_tol=1e-12, abs_tol=1e-18), vector
        assert math.isclose(p_within, float(true.p_within[0]), rel_tol=1e-9, abs_tol=1e-14), vector
        assert math.isclose(margin, float(true.margin[0]), rel_tol=1e-9, abs_tol=1e-15), vector
        assert verdict == DECISIONS[int(true.codes[0])].value, vector
        if verdict == "undecided":
            field = catalogue.fields[vector["field"]]
            words = what_settles(
                true, 0, field.unit, vector["u"], repeat_share=field.u_repeat_share, confidence=0.95
            )
            said = {
                "repeats": f"the mean of {n} readings",
                "gauge": "a gauge with",
                "limit": "the reading lies on",
            }
            assert words.startswith(said[settle]), vector


def _random_events(draw: random.Random) -> list[dict[str, Any]]:
    """Entries of up to three tablets about few things, with corrections, retractions and settlements."""
    name = f"{draw.getrandbits(32):08x}-0000-4000-8000-{draw.getrandbits(48):012x}"
    tablets = [f"00000000-0000-4000-8000-{n:012x}" for n in range(1, draw.randint(2, 4))]
    clock = datetime(2026, 9, 14, 7, tzinfo=UTC)
    events: list[dict[str, Any]] = []
    counts = dict.fromkeys(tablets, 0)
    for n in range(draw.randint(3, 30)):
        clock += timedelta(milliseconds=draw.choice((0, 1, 700)))
        tablet = draw.choice(tablets)
        counts[tablet] += 1
        kind = draw.choice(("reading", "reading", "reading", "cannot", "note", "fact", "retract", "settle"))
        event: dict[str, Any] = {
            "id": f"{draw.getrandbits(32):08x}-0000-4000-8000-{n:012x}",
            "draft": name,
            "tablet": tablet,
            "seq": counts[tablet],
            "at": clock.isoformat(timespec="milliseconds").replace("+00:00", "Z"),
            "by": "",
            "kind": kind,
            "place": draw.choice(("1L", "1R")),
            "field": "",
            "spot": "",
        }
        if kind in ("reading", "cannot"):
            event["field"], event["spot"] = draw.choice(
                (("slide", ""), ("pad_inner", "LT"), ("pad_inner", "LB"))
            )
            event["value"] = draw.choice(("9.8 mm", "9.7 mm", "9.7  mm")) if kind == "reading" else "stuck"
            if draw.random() < 0.2 and kind == "reading":
                event |= {"repeats": ["9.8 mm", "9.6 mm"], "value": None}
        elif kind == "note":
            event["value"] = draw.choice(("knock", "rust"))
        elif kind == "fact":
            event |= {"place": "", "field": "note", "value": draw.choice(("a", "b"))}
        elif events:
            meant = draw.choice(events)
            event["refers"] = meant["id"]
            if kind == "settle" and draw.random() < 0.7:
                event["value"] = {"over": [each["id"] for each in draw.sample(events, min(3, len(events)))]}
        else:
            continue
        events.append(event)
    start = {
        "id": f"{draw.getrandbits(32):08x}-0000-4000-8000-ffffffffffff",
        "draft": name,
        "tablet": tablets[0],
        "seq": 0,
        "at": "2026-09-14T06:00:00.000Z",
        "by": "",
        "kind": "start",
        "place": "",
        "field": "",
        "spot": "",
        "value": {
            "vehicle": {"id": "A1", "design": "generic-22.5"},
            "axles": [{"id": "1", "role": "steer"}],
            "taken_on": "2026-09-14",
        },
    }
    return [start, *events]


def test_the_form_adds_entries_up_as_the_server_does(page: Page) -> None:
    """Random sets of entries in random order: the same contradictions, the same standing entries."""
    draw = random.Random(41)
    sets = [_random_events(draw) for _ in range(300)]
    for events in sets:
        draw.shuffle(events)
    actual = page.evaluate(
        """async (sets) => { const m = await import('/static/entry/events.js');
        return sets.map((events) => { const d = m.foldEvents(events);
          return { contradictions: d.contradictions.map((c) => c.events.map((e) => e.id)).sort(),
            standing: [...d.current.values()].map((events) => events[0].id).sort() }; }); }""",
        sets,
    )
    some_contradict = 0
    for events, form in zip(sets, actual, strict=True):
        draft = fold(events[0]["draft"], [event_from_plain(event) for event in events])
        assert form["standing"] == sorted(event.id for event in draft.values.values())
        contradictions = sorted([event.id for event in each.events] for each in draft.contradictions)
        assert form["contradictions"] == contradictions
        some_contradict += bool(contradictions)
    assert some_contradict > 30


def test_the_form_writes_the_document_that_the_server_writes(page: Page) -> None:
    """Without contradictions and with whole pads both write the same wheel ends."""
    draw = random.Random(7)
    fields = load_catalogue().fields
    compared = 0
    for _ in range(120):
        events = _random_events(draw)
        draft = fold(events[0]["draft"], [event_from_plain(event) for event in events])
        if draft.contradictions:
            continue
        for spot in ("LT", "LB", "TT", "TB"):
            events.append(
                {
                    **events[0],
                    "id": f"00000000-0000-4000-9000-{len(events):012x}",
                    "kind": "reading",
                    "seq": 1000 + len(events),
                    "at": "2026-09-15T06:00:00.000Z",
                    "place": "1L",
                    "field": "pad_outer",
                    "spot": spot,
                    "value": "9 mm",
                }
            )
        draft = fold(events[0]["draft"], [event_from_plain(event) for event in events])
        document = document_of(draft, fields, running=False)
        form = page.evaluate(
            """async (events) => { const m = await import('/static/entry/events.js');
            const c = await import('/static/entry/catalogue.js'); await c.loadCatalogue();
            return m.toDocument(m.foldEvents(events), c.catalogue().fields); }""",
            events,
        )
        assert form["inspection"] == document["inspection"]
        for end in document["wheel_end"]:
            mine = next(each for each in form["wheel_end"] if each["at"] == end["at"])
            pad = end.pop("pad_inner", {})
            whole = all(spot in pad for spot in ("LT", "LB", "TT", "TB"))
            assert ("pad_inner" in mine) is whole
            if "pad_outer" in end:
                assert mine["pad_outer"] == [end["pad_outer"][spot] for spot in ("LT", "LB", "TT", "TB")]
            slide = end.get("slide")
            if isinstance(slide, dict) and "cannot" in slide:
                slide = f"cannot: {slide['cannot']}"
            assert mine.get("slide") == slide
            assert mine.get("note") == end.get("note")
        compared += 1
    assert compared > 20
