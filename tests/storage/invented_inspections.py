"""Inspections of an invented vehicle, made for the tests of storage; no real vehicle is described."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

from wearline.records.inspection import Axle, Inspection, Vehicle, WheelEnd
from wearline.records.notices import Notice
from wearline.records.place import WheelEndPlace
from wearline.records.readings import CORNERS, Gauge, Measured, Observed, Reading, ReadingKey, Unmeasurable

KEPT_AT = datetime(2026, 3, 2, 15, 30, 0, 123456, tzinfo=UTC)

AXLES = (
    Axle("1", "steer", "generic-22.5", "single"),
    Axle("2", "drive", "generic-22.5", "dual"),
)


def measured(value_mm: float, raw: str = "") -> Measured:
    return Measured(value=value_mm / 1000, raw=raw or f"{value_mm} mm", unit="mm", resolution=1e-5)


def wheel_end(place: str, pad_mm: float = 12.0) -> WheelEnd:
    readings: dict[ReadingKey, Reading] = {
        (pad, corner): measured(pad_mm + 0.1 * number)
        for pad in ("pad_inner", "pad_outer")
        for number, corner in enumerate(CORNERS)
    }
    readings[("rotor_runout", "")] = Measured(
        value=0.00011,
        raw="4,5 thou",
        unit="thou",
        resolution=2.54e-6,
        u=5e-6,
        gauge="dial-7",
        repeats=(0.00010, 0.00012, 0.00011),
    )
    readings[("guide_pin_boot", "")] = Observed("torn", "Torn ")
    readings[("bearing_end_play", "")] = Unmeasurable("hub cap seized – 'nicht lösbar' ½ \"x\" \\u0000")
    return WheelEnd(
        WheelEndPlace.parse(place), readings, noticed=("judder",), note="a\nb\t€", photographs=("p1.jpg",)
    )


def inspection(
    vehicle_id: str = "invented-7",
    taken_on: date = date(2026, 3, 2),
    odometer_km: float | None = 118_200.0,
    pad_mm: float = 12.0,
    axles: tuple[Axle, ...] = AXLES,
) -> Inspection:
    """An inspection with every kind of reading and every field filled."""
    vehicle = Vehicle(
        vehicle_id,
        axles,
        description="invented truck",
        kind="truck",
        test_mass=17_500.0,
        rated_mass=18_000.0,
        duty="regional",
        retarder="fitted",
        built_on="2021-05-04",
    )
    return Inspection(
        vehicle,
        taken_on,
        tuple(wheel_end(f"{axle.id}{side}", pad_mm) for axle in axles for side in "LR"),
        odometer=None if odometer_km is None else odometer_km * 1000,
        distance_since_pads=41_000_000.0,
        inspector="invented inspector",
        qualification="none",
        rule_packs=("us-federal", "un-eu"),
        gauges={"dial-7": Gauge("dial-7", "dial indicator", 5e-6, "2025-11-01")},
        peer_wear={"1": 1.1e-10},
        next_wheels_off=60_000_000.0,
        vehicle_readings={("supply_pressure", ""): Measured(950_000.0, "9.5 bar", "bar", 10_000.0)},
        note="invented",
        place="invented workshop",
        notices=(Notice("n", "text", "1L", "cure"),),
    )


def with_pads(base: Inspection, pad_mm: float) -> Inspection:
    """The same inspection with other pad thicknesses."""
    return replace(base, wheel_ends=tuple(wheel_end(str(one.place), pad_mm) for one in base.wheel_ends))
