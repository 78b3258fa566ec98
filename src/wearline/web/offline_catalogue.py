"""The catalogue as a tablet keeps it, so that a reading can be judged without a network."""

from __future__ import annotations

import json
from datetime import date
from functools import lru_cache
from typing import Any

from wearline import __version__
from wearline.catalogue.check_model import Check, Condition, Consequence
from wearline.catalogue.loading import Catalogue
from wearline.catalogue.model import Design, FieldSpec, Limit
from wearline.records.inspection import AXLE_ROLES, VEHICLE_KINDS
from wearline.web.shop import ShopSettings

__all__ = ["OFFLINE_SCHEMA", "offline_catalogue"]

OFFLINE_SCHEMA = "wearline.offline-catalogue/1"


@lru_cache(maxsize=8)
def offline_catalogue(catalogue: Catalogue, on: date, settings: ShopSettings) -> tuple[str, bytes]:
    """Return the catalogue for a tablet.

    Parameters
    ----------
    catalogue : Catalogue
        With the maker's limits in force.
    on : date
        Day of the readings.
    settings : ShopSettings
        Units and decision rule.

    Returns
    -------
    (str, bytes)
        Its version, which changes with anything in it, and the JSON text.
    """
    decision = settings.decision_settings
    body: dict[str, Any] = {
        "schema": OFFLINE_SCHEMA,
        "version": "",
        "catalogue_version": catalogue.version,
        "program": __version__,
        "on": on.isoformat(),
        "units": settings.units,
        "decision": {
            "service": str(decision.service.value),
            "legal": str(decision.legal.value),
            "confidence": decision.confidence,
        },
        "fields": {name: _field(spec) for name, spec in catalogue.fields.items()},
        "checks": {name: _check(check) for name, check in catalogue.checks.items()},
        "states": {
            name: {"title": state.title, "minutes": list(state.minutes), "per": state.per}
            for name, state in catalogue.states.items()
        },
        "designs": {name: _design(catalogue, design, on) for name, design in catalogue.designs.items()},
        "consequences": [_consequence(each) for each in catalogue.consequences.values()],
        "measures": {
            name: {"title": measure.title, "unit": measure.unit, "scope": measure.scope}
            for name, measure in catalogue.measures.items()
        },
        "sources": {
            name: {"title": each.title, "show": each.show} for name, each in catalogue.sources.items()
        },
        "packs": {name: pack.title for name, pack in catalogue.packs.items()},
        "axle_roles": list(AXLE_ROLES),
        "vehicle_kinds": list(VEHICLE_KINDS),
        "cautions": {
            name: f"{caution.hazard}: {caution.rule}" for name, caution in catalogue.work.cautions.items()
        },
        "authority": [statement.text for statement in catalogue.work.authority],
    }
    version = _digest(body)
    body["version"] = version
    return version, json.dumps(body, ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode()


def _digest(body: dict[str, Any]) -> str:
    from hashlib import sha256

    text = json.dumps({**body, "on": ""}, ensure_ascii=False, sort_keys=True)
    return sha256(text.encode()).hexdigest()[:20]


def _field(spec: FieldSpec) -> dict[str, Any]:
    return {
        "label": spec.label,
        "kind": None if spec.kind is None else spec.kind.name,
        "unit": spec.unit,
        "spots": list(spec.spots),
        "words": {word: str(meaning) for word, meaning in spec.words.items()},
        "is_text": spec.is_text,
        "possible": None if spec.possible is None else list(spec.possible),
        "possible_text": spec.possible_text,
        "u": spec.u,
        "u_relative": spec.u_relative,
        "u_repeat_share": spec.u_repeat_share,
        "resolution": spec.resolution,
        "resolution_text": spec.resolution_text,
        "gauge": spec.gauge,
        "checks": list(spec.checks),
        "cure": spec.cure,
        "vehicle_level": spec.vehicle_level,
    }


def _check(check: Check) -> dict[str, Any]:
    return {
        "title": check.title,
        "how": check.how,
        "gauge": check.gauge,
        "unit": check.unit,
        "resolution": check.resolution,
        "uncertainty": check.uncertainty,
        "where": check.where,
        "limit": check.limit,
        "beyond": check.beyond,
        "mistakes": list(check.mistakes),
        "minutes": check.minutes,
        "minutes_per_end": check.minutes_per_end,
        "per": check.per,
        "states": list(check.states),
        "fields": list(check.fields),
    }


def _design(catalogue: Catalogue, design: Design, on: date) -> dict[str, Any]:
    return {
        "title": design.title,
        "friction_new": design.friction_new,
        "plate": design.plate,
        "rotor_new": design.rotor_new,
        "indicator_kind": design.indicator_kind,
        "tappets": design.tappets,
        "limits": {name: _limit(limit) for name, limit in catalogue.limits_for(design.id, on).items()},
    }


def _limit(limit: Limit) -> dict[str, Any]:
    return {
        "field": limit.field,
        "spot": limit.spot,
        "kind": limit.kind.name,
        "value": limit.value,
        "unit": limit.unit,
        "published": limit.published,
        "also": limit.also,
        "sense": limit.sense.value,
        "passes_at_limit": limit.passes_at_limit,
        "consequence": str(limit.consequence),
        "authority": str(limit.authority),
        "source": limit.source,
        "locator": limit.locator,
        "status": str(limit.status),
        "applies": limit.applies,
        "note": limit.note,
    }


def _condition(condition: Condition) -> dict[str, Any]:
    return {
        "field": condition.field,
        "words": list(condition.words),
        "measure": condition.measure,
        "limit": condition.limit,
        "verdict": condition.verdict,
        "scope": condition.scope,
        "repeatable": condition.repeatable,
        "other": bool(condition.measure or condition.threshold is not None or condition.is_true is not None),
    }


def _consequence(each: Consequence) -> dict[str, Any]:
    return {
        "id": each.id,
        "scope": each.scope,
        "conditions": [_condition(condition) for condition in each.conditions],
        "every": each.every,
        "necessary": list(each.necessary),
        "needless": list(each.needless),
        "void": list(each.void),
        "because": each.because,
    }
