"""Findings and verdicts as sentences a technician can act on."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from wearline.assessment.derive import DerivedColumns
from wearline.assessment.findings import ColumnFinding
from wearline.assessment.judge import Judged
from wearline.assessment.pads import PADS
from wearline.assessment.verdicts import ColumnVerdict
from wearline.catalogue.model import FieldSpec
from wearline.uncertainty.conformity import Sense, guard_band
from wearline.units import format_quantity, to_unit

__all__ = ["finding_text", "round_distance", "shown", "void_reason", "what_settles"]

_SENSIBLE_REPEATS = 10


def shown(value: float, unit: str) -> str:
    """Return a value in its shown unit with the decimals that the trade uses.

    Parameters
    ----------
    value : float
        Value [SI].
    unit : str
        Unit to show.

    Returns
    -------
    str
        As ``"2.70 mm"``.
    """
    if unit in ("", "1"):
        return f"{value:g}"
    number = float(to_unit(value, unit))
    decimals = {"mm": 2, "kN": 1, "%": 0, "degC": 0, "K": 0, "N": 0, "in": 3, "km": 0}.get(unit, 2)
    if unit == "mm" and abs(number) >= 2.0 and math.isclose(number, round(number, 1), abs_tol=1e-9):
        decimals = 1
    if unit == "%" and (abs(number) < 10 or not math.isclose(number, round(number), abs_tol=0.05)):
        decimals = 1  # never "50 % against 50 %" where 49.5 % was measured
    return format_quantity(value, unit, decimals).replace("degC", "°C")


def _against_limit(judged: Judged, finding: ColumnFinding, row: int) -> str:
    column = judged.quantity(finding.check, finding.spot)
    if column is None:
        return finding.id
    verdict = next(v for v in column.verdicts if v.limit.id == finding.limit_id)
    limit = verdict.limit_at(row)
    side = "under" if limit.sense is Sense.AT_LEAST else "over"
    value = shown(float(column.value[row]), column.unit)
    label = f"{column.label}, {column.spot} pad" if column.spot in PADS else column.label
    if finding.id.endswith(":undecided"):
        chance = 1.0 - verdict.p_at(row)
        return (
            f"{label} {value} against {limit.published}: not decided, "
            f"{chance:.0%} chance that it is {side} ({limit.status})"
        )
    return f"{label} {value} is {side} {limit.published} ({limit.status})"


def _percent(value: float) -> str:
    return f"{100.0 * value:.0f} %"


def _mm(value: float) -> str:
    return f"{1000.0 * value:+.2f} mm"


def _size(value: float) -> str:
    return f"{1000.0 * abs(value):.2f} mm"


def _composite(judged: Judged, id: str, row: int) -> str:
    derived = judged.derived
    columns = judged.columns
    kelvin = derived.temperature_above_normal[row]
    texts: Mapping[str, Callable[[], str]] = {
        "wedge:tilt": lambda: (
            f"the pads are worn into opposite wedges ({_mm(derived.pair.end_antisymmetric[row])}): "
            "the calliper is tilted"
        ),
        "wedge:seats": lambda: (
            f"both pads are worn into the same wedge ({_mm(derived.pair.end_symmetric[row])}): "
            "seats, tappets or pressure, not tilt"
        ),
        "wedge:excess": lambda: (
            f"the wedge is {_mm(derived.taper_excess[row])} more than the play explains "
            f"(u {_size(derived.taper_excess_u[row])})"
        ),
        "wedge:less than play": lambda: "there is play, and the wedge is not yet worn in",
        "pads:inner faster": lambda: (
            f"the inner pad is {_size(derived.pair.mean_difference[row])} thinner than the outer"
        ),
        "pads:outer faster": lambda: (
            f"the outer pad is {_size(derived.pair.mean_difference[row])} thinner than the inner"
        ),
        "pads:thinner than mate": lambda: "the pads are more than 3 mm thinner than at the other end",
        "indicator:blind": lambda: (
            f"the indicator reads {_percent(derived.indicator_reading[row])}, pads and rotor imply "
            f"{_percent(derived.indicator_implied[row])}: it does not see this wear"
        ),
        "indicator:worn through": lambda: (
            f"the indicator stands at {_percent(derived.indicator_reading[row])}, the end of its scale, and "
            "the pads were not measured: they may be worn out"
        ),
        "guides:stuck": lambda: "the calliper is stuck on its pins: the outer pad does no work",
        "play:over half": lambda: (
            "play is over half its limit: new pads would rub at one end, a guide kit is advised"
        ),
        "pads:plate doubted": lambda: (
            "pads and wear indicator do not fit together: the backing plate may be counted in, or the "
            "indicator is wrong; measure the friction alone"
        ),
        "pads:unit doubted": lambda: (
            "pads and play look like inches typed as millimetres: they say nothing until confirmed"
        ),
        "play:void": lambda: "play was read on a stuck calliper and means nothing",
        "runout:void": lambda: "run-out was read on a loose bearing or does not repeat, and means nothing",
        "brake:drags": lambda: (
            f"the released brake drags with {_percent(derived.drag_share[row])} of the wheel load"
        ),
        "brake:drags hot": lambda: (
            f"the brake drags and is {shown(float(columns.value('temperature')[row]), 'degC')} hot"
        ),
        "brake:fire": lambda: (
            f"{shown(float(columns.value('temperature')[row]), 'degC')}: a tyre beside it can catch fire"
        ),
        "brake:dead": lambda: "the brake does not move when applied",
        "brake:weak": lambda: f"its force is {_percent(derived.force_share_of_mate[row])} of the other end's",
        "brake:defective": lambda: "the brake counts as defective",
        "axle:imbalance": lambda: f"the forces of this axle differ by {100.0 * derived.imbalance[row]:.1f} %",
        "temperature:hot": lambda: f"{kelvin:.0f} K hotter than the vehicle's normal",
        "temperature:cold": lambda: f"{-kelvin:.0f} K colder than the vehicle's normal",
        "rotor:crack into edge": lambda: "a crack runs over the whole face into an edge",
        "wear:fast": lambda: "it wears more than half as fast again as peers on this duty",
        "wear:fast everywhere": lambda: (
            "nearly all ends of this vehicle wear faster than peers: one cause of the whole vehicle is "
            "likelier than one fault at each end"
        ),
        "pad:metal": lambda: "the friction is used up",
        "forecast:before next": lambda: _forecast(derived, row),
        "rotor:near minimum": lambda: "the rotor will not last another set of pads",
    }
    return texts[id]()


def round_distance(distance: float) -> str:
    """Return a distance to come, no finer than it can be known.

    Parameters
    ----------
    distance : float
        Distance [m].

    Returns
    -------
    str
        Hundreds of kilometres below 10 000 km, thousands above, as ``"24 000 km"``.
    """
    kilometres = distance / 1000.0
    step = 100.0 if kilometres < 10_000.0 else 1000.0
    return f"{round(kilometres / step) * step:,.0f} km".replace(",", " ")


def _forecast(derived: DerivedColumns, row: int) -> str:
    distance = round_distance(float(derived.distance_to_service[row]))
    return (
        f"the thinnest corner meets the service minimum in about {distance} at its own rate, "
        "before the next planned removal of the wheels"
    )


def finding_text(judged: Judged, finding: ColumnFinding, row: int, fields: Mapping[str, FieldSpec]) -> str:
    """Return a finding as one sentence.

    Parameters
    ----------
    judged : Judged
        The judged columns.
    finding : ColumnFinding
        The finding.
    row : int
        The row.
    fields : mapping of str to FieldSpec
        Labels.

    Returns
    -------
    str
        Without a full stop.
    """
    if finding.limit_id:
        return _against_limit(judged, finding, row)
    name, _, word = finding.id.partition("=")
    if word:
        return f"{fields[name].label}: {word}"
    return _composite(judged, finding.id, row)


def void_reason(judged: Judged, check: str, row: int) -> str:
    """Return why a reading says nothing.

    Parameters
    ----------
    judged : Judged
        The judged columns.
    check : str
        The check.
    row : int
        The row.

    Returns
    -------
    str
        One sentence.
    """
    slip = judged.doubts.inch_slip
    pads = ("pad_inner", "pad_outer")
    names = (check,) if check in slip else pads
    if any(name in slip and slip[name][row] for name in names):
        return (
            "looks like inches typed as millimetres (about 25 times smaller than expected); "
            'confirm and write the unit, as "0.38 in"'
        )
    if check in ("tangential_play", "radial_play"):
        return (
            "the calliper is stuck on its pins: play reads near zero and means nothing; free it, then measure"
        )
    return (
        "run-out needs a sound bearing and three turns that agree: set or renew the bearing first, "
        "then measure again"
    )


def what_settles(
    verdict: ColumnVerdict, row: int, unit: str, u: float, *, repeat_share: float, confidence: float
) -> str:
    """Return what would settle an undecided reading.

    Parameters
    ----------
    verdict : ColumnVerdict
        The undecided verdict.
    row : int
        The row.
    unit : str
        Unit in which the reading is shown.
    u : float
        Standard uncertainty of the reading [SI].
    repeat_share : float
        Share of the uncertainty that is repeatability, 0 to 1.
    confidence : float
        Probability asked of a verdict.

    Returns
    -------
    str
        Number of readings, or the gauge needed.

    Notes
    -----
    The guard band is g = z u (JCGM 106:2012, 8.3.2); the margin settles it when g is smaller. Of u, the
    repeatability shrinks with the number n of readings, the rest does not.
    """
    margin = abs(float(verdict.margin[row]))
    wanted = margin / float(guard_band(1.0, confidence))
    if wanted <= 0.0:
        return "the reading lies on the limit: no gauge decides it, act by the consequence"
    fixed = u * math.sqrt(max(1.0 - repeat_share**2, 0.0))
    if wanted > fixed:
        n = math.ceil((repeat_share * u) ** 2 / (wanted**2 - fixed**2))
        if n <= _SENSIBLE_REPEATS:
            return f"the mean of {max(n, 2)} readings would settle it, if it stays where it is"
    needed = shown(2.0 * wanted, "K" if unit == "degC" else unit)
    return f"a gauge with U of {needed} or better (k = 2) would settle it"
