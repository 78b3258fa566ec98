"""Blank sheets: what to measure on this vehicle, and how."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from wearline.catalogue.loading import load_catalogue
from wearline.errors import InputError
from wearline.ingest.read import read_vehicle
from wearline.records.inspection import AXLE_ROLES, Axle, Vehicle

__all__ = ["SHEET_FORMS", "Layout", "reading_sheet", "vehicle_for_sheet"]

SHEET_FORMS = (".toml", ".csv", ".xlsx", ".pdf")


@dataclass(frozen=True, slots=True)
class Layout:
    """A vehicle that no file describes yet.

    Parameters
    ----------
    roles : sequence of str
        Role of each axle from the front.
    design : str
        Brake design of all axles.
    kind : str
        Kind of vehicle.
    """

    roles: Sequence[str]
    design: str
    kind: str


def vehicle_for_sheet(vehicle: str, layout: Layout | None, database: str | None) -> Vehicle:
    """Return the vehicle that a sheet is for.

    Parameters
    ----------
    vehicle : str
        A file with its tables, the id of a kept vehicle, or the id of a new one with a layout.
    layout : Layout or None
        Axles of a new vehicle.
    database : str or None
        Where kept vehicles are looked up.

    Returns
    -------
    Vehicle
        The vehicle.

    Raises
    ------
    InputError
        If nothing describes the vehicle, or the description is wrong.
    """
    catalogue = load_catalogue()
    if layout is not None:
        return _from_layout(vehicle, layout)
    if Path(vehicle).suffix or Path(vehicle).exists() or vehicle == "-":
        return read_vehicle(vehicle, catalogue=catalogue)
    if database is not None and Path(database).exists():
        from wearline.storage.opening import open_store

        with open_store(database, create=False) as store:
            kept = store.latest(vehicle)
        if kept is not None:
            return kept.inspection.vehicle
    raise InputError(
        f"nothing describes the vehicle '{vehicle}'",
        where="sheet",
        allowed="a file with [vehicle] and [[axle]], the id of a kept vehicle, or --axles for a new one",
        cure="Write for instance: wearline sheet 'Box 1' --axles steer,drive --out box-1.xlsx",
    )


def _from_layout(vehicle: str, layout: Layout) -> Vehicle:
    for role in layout.roles:
        if role not in AXLE_ROLES:
            raise InputError(
                f"'{role}' is not a role of an axle",
                where="--axles",
                allowed=", ".join(AXLE_ROLES),
                cure="Name the axles from the front, as steer,drive,drive",
            )
    load_catalogue().design(layout.design)
    axles = tuple(
        Axle(id=str(number), role=role, design=layout.design)
        for number, role in enumerate(layout.roles, start=1)
    )
    return Vehicle(id=vehicle, axles=axles, kind=layout.kind)


def reading_sheet(vehicle: Vehicle, out: str | Path, *, today: date, units: str, overwrite: bool) -> str:
    """Write a blank sheet.

    Parameters
    ----------
    vehicle : Vehicle
        The vehicle.
    out : str or Path
        File ending in .toml, .csv, .xlsx or .pdf.
    today : date
        Day whose limits are shown.
    units : {"metric", "inch"}
        Units of the headings.
    overwrite : bool
        Whether a file of that name may be replaced.

    Returns
    -------
    str
        The file written.

    Raises
    ------
    InputError
        If the ending is another or the file cannot be written.
    """
    form, catalogue = Path(out).suffix.lower(), load_catalogue()
    if form not in SHEET_FORMS:
        raise InputError(
            f"a sheet cannot be written as '{form or out}'",
            where=str(out),
            allowed=", ".join(SHEET_FORMS),
            cure="Choose the form by the ending of --out",
        )
    if form == ".pdf":
        from wearline.reports.blank_sheet import render_blank_sheet_pdf

        if Path(out).exists() and not overwrite:
            raise InputError(
                "the file exists already", where=str(out), cure="Choose another name or add --overwrite"
            )
        render_blank_sheet_pdf(vehicle, catalogue, Path(out), on=today)
    elif form == ".xlsx":
        from wearline.ingest.sheet_xlsx import write_sheet_xlsx

        write_sheet_xlsx(vehicle, catalogue, out, today=today, units=units, overwrite=overwrite)
    else:
        from wearline.ingest.sheet_text import write_sheet_csv, write_sheet_toml

        write = write_sheet_toml if form == ".toml" else write_sheet_csv
        write(vehicle, catalogue, out, today=today, units=units, overwrite=overwrite)
    return str(out)
