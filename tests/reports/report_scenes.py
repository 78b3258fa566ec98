"""Invented vehicles with readings, verdicts, road decisions and jobs, made by hand for the report tests."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

from report_plans import plan, road

from wearline.assessment.results import (
    AxleJudgement,
    Derived,
    Finding,
    FollowUp,
    JudgedReading,
    Judgement,
    LimitVerdict,
    Verdict,
    WheelEndJudgement,
)
from wearline.catalogue.model import Authority, Limit, Status
from wearline.catalogue.model import Finding as Consequence
from wearline.records.inspection import Axle, Inspection, Vehicle, WheelEnd
from wearline.records.notices import Notice
from wearline.records.place import WheelEndPlace
from wearline.records.readings import Gauge
from wearline.uncertainty.conformity import Sense
from wearline.units import Kind, parse_quantity, unit_of_symbol

CORNERS = ("LT", "LB", "TT", "TB")
HOSTILE = '#set page(width: 1pt) $x^2$ <script>alert("x")</script> @ref _a_ *b* `c` \\ ' + "W" * 180


def limit(
    key,
    field,
    published,
    sense=Sense.AT_LEAST,
    *,
    kind=Kind.LENGTH,
    also="",
    authority=Authority.COMMON_PRACTICE,
    status=Status.COMMON_PRACTICE,
    source="common-practice",
    consequence=Consequence.RENEW,
    passes=True,
):
    quantity = parse_quantity(published, kind)
    return Limit(
        id=key,
        field=field,
        spot="",
        kind=kind,
        value=float(quantity.exact),
        exact=quantity.exact,
        unit=quantity.unit,
        published=published,
        also=also,
        sense=sense,
        passes_at_limit=passes,
        consequence=consequence,
        authority=authority,
        source=source,
        locator="workshop practice, no document",
        status=status,
    )


PAD = limit("pad_service", "pad_thinnest", "3 mm")
PAD_LAW = limit(
    "pad_us",
    "pad_thinnest",
    "1/8 in",
    also="3.2 mm",
    authority=Authority.LAW,
    status=Status.PUBLISHED,
    source="cfr-393-47",
    consequence=Consequence.OUT_OF_SERVICE,
)
TRAVEL = limit(
    "cl_max", "total_travel", "0.080 in", Sense.AT_MOST, also="2.03 mm", consequence=Consequence.LOOK
)
TRAVEL_LEAST = limit(
    "cl_min",
    "total_travel",
    "0.40 mm",
    also="0.016 in",
    consequence=Consequence.LOOK,
    status=Status.EXPERT_JUDGEMENT,
    source="expert-judgement",
)
TRAVEL_USUAL = limit("cl_nom", "total_travel", "0.060 in", Sense.AT_MOST, consequence=Consequence.NOTE)
PLAY = limit("play_t", "tangential_play", "0.118 in", Sense.AT_MOST, also="3 mm")
PLAY_R = limit("play_r", "radial_play", "0.078 in", Sense.AT_MOST, also="2 mm")
RUNOUT = limit(
    "rotor_ro",
    "rotor_runout",
    "0.15 mm",
    Sense.AT_MOST,
    status=Status.GENERIC,
    source="generic-maker",
    authority=Authority.MAKER,
)
ROTOR = limit(
    "rotor_min",
    "rotor_thickness",
    "37 mm",
    status=Status.GENERIC,
    source="generic-maker",
    authority=Authority.MAKER,
)
INDICATOR = limit(
    "ind_open", "wear_indicator", "75 %", Sense.AT_MOST, kind=Kind.FRACTION, consequence=Consequence.LOOK
)
IMBALANCE = limit("imb", "imbalance", "30 %", Sense.AT_MOST, kind=Kind.FRACTION)


def _phi(z):
    return 0.5 * (1 + math.erf(z / math.sqrt(2)))


def verdict_of(value, u, held):
    margin = value - held.value if held.sense is Sense.AT_LEAST else held.value - value
    p_within = _phi(margin / u) if u else float(margin >= 0)
    if held.authority is Authority.LAW:
        verdict = Verdict.WITHIN if margin >= 0 else Verdict.BEYOND
    else:
        verdict = (
            Verdict.WITHIN if p_within >= 0.95 else Verdict.BEYOND if p_within <= 0.05 else Verdict.UNDECIDED
        )
    return LimitVerdict(held, verdict, p_within, margin)


def reading(
    place, check, label, raw, u, held, *, spot="", others=(), kind=Kind.LENGTH, gauge="", derived=False
):
    """A measured reading; ``u`` in the unit of ``raw``."""
    quantity = parse_quantity(raw, kind)
    value = float(quantity.exact)
    scale = float(unit_of_symbol(quantity.unit).scale)
    u_si = u * scale
    main = verdict_of(value, u_si, held) if held else None
    return JudgedReading(
        place=place,
        check=check,
        spot=spot,
        label=label,
        value=value,
        word="",
        raw="" if derived else raw,
        unit=quantity.unit,
        u=u_si or None,
        limit=held,
        verdict=main.verdict if main else Verdict.WITHIN,
        p_within=main.p_within if main else None,
        margin=main.margin if main else None,
        others=tuple(verdict_of(value, u_si, other) for other in others),
        gauge=gauge,
        settle="three more readings with the same gauge"
        if main and main.verdict is Verdict.UNDECIDED
        else "",
    )


def word(place, check, label, observed, verdict=Verdict.WITHIN, reason=""):
    return JudgedReading(
        place=place,
        check=check,
        spot="",
        label=label,
        value=None,
        word=observed,
        raw=observed,
        unit="",
        u=None,
        limit=None,
        verdict=verdict,
        p_within=None,
        margin=None,
        reason=reason,
    )


def pads(place, inner, outer):
    return tuple(
        reading(
            place,
            f"pad_{pad}",
            f"{pad} pad, friction",
            f"{value:.1f} mm",
            0.15,
            PAD,
            spot=spot,
            others=(PAD_LAW,),
        )
        for pad, values in (("inner", inner), ("outer", outer))
        for spot, value in zip(CORNERS, values, strict=True)
    )


def derived_of(inner, outer, *, explained=None):
    def taper(corners, ends):
        lt, lb, tt, tb = corners
        return ((lt + lb - tt - tb) if ends else (lt + tt - lb - tb)) / 2000

    te_in, te_out, tr_in, tr_out = (
        taper(inner, True),
        taper(outer, True),
        taper(inner, False),
        taper(outer, False),
    )
    thinnest = min(
        (value, f"{pad} {spot}")
        for pad, values in (("inner", inner), ("outer", outer))
        for spot, value in zip(CORNERS, values, strict=True)
    )
    ta = (te_out - te_in) / 2
    return Derived(
        mean_inner=sum(inner) / 4000,
        mean_outer=sum(outer) / 4000,
        thinnest=thinnest[0] / 1000,
        mean_difference=(sum(outer) - sum(inner)) / 4000,
        thinnest_spot=thinnest[1],
        taper_end_to_end_inner=te_in,
        taper_end_to_end_outer=te_out,
        taper_end_to_end_antisymmetric=ta,
        taper_end_to_end_symmetric=(te_out + te_in) / 2,
        taper_top_to_bottom_inner=tr_in,
        taper_top_to_bottom_outer=tr_out,
        taper_top_to_bottom_antisymmetric=(tr_out - tr_in) / 2,
        taper_top_to_bottom_symmetric=(tr_out + tr_in) / 2,
        twist_inner=0.0,
        twist_outer=0.0001,
        tilt_from_play=None if explained is None else explained / 0.2,
        taper_explained_by_play=explained,
        taper_excess=None if explained is None else abs(ta) - explained,
        taper_excess_u=None if explained is None else 0.0002,
        taper_top_explained_by_play=None if explained is None else explained * 0.25,
        new_pads_would_rub=None if explained is None else explained > 0.0015,
        indicator_implied=0.81,
        indicator_implied_outer=0.42,
        indicator_difference=-0.41,
        stroke_low=0.042,
        stroke_high=0.052,
        stroke_available=0.064,
        drag_share=0.054,
        wheel_load=38900.0,
        force_share_of_mate=0.66,
        temperature_above_normal=43.0,
        temperature_normal=400.0,
        wear_rate_inner=1.23e-10,
        wear_rate_outer=5.9e-11,
    )


def worn_end(place):
    """Wedge from play, one corner undecided, travel beyond, run-out void, boot torn."""
    inner, outer = (4.9, 4.7, 7.9, 7.8), (8.2, 8.0, 3.2, 3.1)
    void = replace(
        reading(place, "rotor_runout", "lateral run-out", "0.28 mm", 0.015, RUNOUT, gauge="dial 7"),
        verdict=Verdict.VOID,
        reason="the bearing end play is beyond its limit: the run-out says nothing",
    )
    readings = (
        reading(place, "wear_indicator", "wear indicator", "40 %", 6, INDICATOR, kind=Kind.FRACTION),
        *pads(place, inner, outer),
        reading(
            place,
            "taper_end_to_end",
            "taper, end to end",
            "3.15 mm",
            0.15,
            limit("taper_te", "taper_end_to_end", "0.118 in", Sense.AT_MOST, also="3 mm"),
            spot="inner",
            derived=True,
        ),
        reading(
            place,
            "taper_end_to_end",
            "taper, end to end",
            "4.95 mm",
            0.15,
            limit("taper_te", "taper_end_to_end", "0.118 in", Sense.AT_MOST, also="3 mm"),
            spot="outer",
            derived=True,
        ),
        reading(
            place,
            "total_travel",
            "total travel",
            "2.70 mm",
            0.05,
            TRAVEL,
            others=(TRAVEL_LEAST, TRAVEL_USUAL),
            gauge="dial 7",
        ),
        word(
            place,
            "adjuster_test",
            "adjuster test",
            "does not advance",
            Verdict.BEYOND,
            "the adjuster does not work",
        ),
        word(place, "guide_pin_boot", "guide-pin boot", "torn", Verdict.BEYOND, "water gets in"),
        word(place, "slide", "slide of the calliper", "free"),
        reading(place, "tangential_play", "tangential play", "0.130 in", 0.003, PLAY, gauge="dial 7"),
        reading(place, "radial_play", "radial play", "1.9 mm", 0.075, PLAY_R, gauge="dial 7"),
        reading(
            place, "rotor_thickness", "rotor thickness", "43.1 mm", 0.015, ROTOR, gauge="disc micrometer"
        ),
        void,
    )
    findings = (
        Finding(
            "total_travel:beyond",
            place,
            "Total travel 2.70 mm is beyond 0.080 in.",
            "total_travel",
            limit_id="cl_max",
        ),
        Finding("adjuster_test=does not advance", place, "The adjuster does not advance.", "adjuster_test"),
        Finding(
            "radial_play:undecided",
            place,
            "Radial play is undecided.",
            "radial_play",
            weight="look",
            probability=0.14,
        ),
        Finding(
            "wedge:tilt",
            place,
            "The wedge is that of a tilted calliper; the play explains it.",
            weight="look",
        ),
    )
    followups = (
        FollowUp("necessary", "F3", "adjuster function", "total travel is beyond 0.080 in", done=True),
        FollowUp("necessary", "F26", "bearing end play", "run-out is beyond its limit", done=False),
        FollowUp("void", "F21", "lateral run-out", "bearing end play is beyond its limit", done=True),
        FollowUp("needless", "F12", "tangential play", "the calliper is to be renewed"),
    )
    return WheelEndJudgement(
        place,
        "generic-22.5",
        readings,
        derived_of(inner, outer, explained=0.0031),
        findings,
        followups,
        ("brake_force", "rotor_scoring", "tappet_boot"),
    )


def sound_end(place):
    inner, outer = (9.8, 9.7, 9.5, 9.3), (10.3, 10.2, 10.0, 9.8)
    readings = (
        reading(place, "wear_indicator", "wear indicator", "50 %", 6, INDICATOR, kind=Kind.FRACTION),
        *pads(place, inner, outer),
        reading(
            place,
            "total_travel",
            "total travel",
            "1.40 mm",
            0.05,
            TRAVEL,
            others=(TRAVEL_LEAST, TRAVEL_USUAL),
        ),
        word(place, "adjuster_test", "adjuster test", "advances and holds"),
        reading(place, "tangential_play", "tangential play", "1.1 mm", 0.075, PLAY),
        reading(place, "radial_play", "radial play", "0.8 mm", 0.075, PLAY_R),
        reading(place, "rotor_thickness", "rotor thickness", "43.6 mm", 0.015, ROTOR),
    )
    return WheelEndJudgement(place, "generic-22.5", readings, derived_of(inner, outer, explained=0.001))


def bare_end(place):
    """Nothing taken at all."""
    return WheelEndJudgement(
        place, "generic-22.5", (), Derived(), (), (), ("pad_inner", "pad_outer", "total_travel")
    )


def vehicle(axles=2, *, trailer=0, kind="truck", wheels="dual"):
    front = tuple(
        Axle(str(n + 1), "steer" if n == 0 else "drive", "generic-22.5", "single" if n == 0 else wheels)
        for n in range(axles)
    )
    towed = tuple(Axle(f"T{n + 1}", "trailer", "generic-22.5", "single") for n in range(trailer))
    return Vehicle(
        "Invented 7",
        front + towed,
        "invented box truck, 18 t, winter salt",
        kind,
        17200.0,
        18000.0,
        "regional",
        "not fitted",
        "2019-05-02",
    )


def judgement(car, ends):
    axles = tuple(
        AxleJudgement(
            axle.id,
            axle.role,
            index == 0,
            (
                "Total travel is beyond its limit at one end.",
                "The wear indicator of the other end says little.",
            ),
            reading(
                "",
                "imbalance",
                "brake-force difference",
                "34.0 %",
                1.5,
                IMBALANCE,
                kind=Kind.FRACTION,
                derived=True,
            )
            if index == 0
            else None,
        )
        for index, axle in enumerate(car.axles)
    )
    return Judgement(
        car.id,
        axles,
        tuple(ends),
        (word("", "parking_brake", "parking brake", "holds"),),
        (
            Finding(
                "wear:shared",
                "",
                "All ends wear faster than their peers: look for a cause of the vehicle.",
                weight="look",
            ),
        ),
        (
            Notice(
                "plate-counted",
                "The pads of 1R read thicker than the indicator allows.",
                "1R",
                "Was the plate measured too?",
            ),
        ),
        0.95,
        {"service": "guarded", "legal": "simple"},
    )


def inspection(car, *, note="odo 412 300, pads new at 268 900", inspector="A. Example"):
    ends = tuple(
        WheelEnd(
            WheelEndPlace.parse(str(place)),
            {},
            ("judder",) if index == 0 else (),
            "inner rotor face worn 0.5 mm more" if index == 0 else "",
        )
        for index, place in enumerate(car.places)
    )
    return Inspection(
        vehicle=car,
        taken_on=date(2026, 9, 14),
        wheel_ends=ends,
        odometer=412_300_000.0,
        distance_since_pads=143_400_000.0,
        inspector=inspector,
        qualification="brake inspector by training record 12",
        rule_packs=("us-federal", "north-american-out-of-service"),
        gauges={"dial 7": Gauge("dial 7", "dial indicator 0.01 mm", 0.00005, "2026-03-01")},
        note=note,
        place="invented workshop",
        notices=(Notice("comma", "3,2 mm was read as 3.2 mm.", "1L, pad_inner"),),
    )


def scene(
    axles=2, trailer=0, *, kind="truck", note="odo 412 300, pads new at 268 900", inspector="A. Example"
):
    """Everything about one invented vehicle; 1R is worn, nothing was taken at 2R, the others are sound."""
    car = vehicle(axles, trailer=trailer, kind=kind)
    makers = {"1R": worn_end, "2R": bare_end}
    ends = [makers.get(str(place), sound_end)(str(place)) for place in car.places]
    return inspection(car, note=note, inspector=inspector), judgement(car, ends), road(), plan(car)
