"""``wearline sheet``."""

from __future__ import annotations

from datetime import date

import click

from wearline.cli.keep import database_option
from wearline.cli.options import as_json, print_json, print_lines, today_option

__all__ = ["command"]


@click.command("sheet")
@click.argument("vehicle")
@click.option("--out", required=True, metavar="FILE", help="Sheet to write: .xlsx, .pdf, .toml or .csv.")
@click.option("--axles", default=None, metavar="ROLES", help="A new vehicle's axles, as steer,drive,tag.")
@click.option("--design", default="generic-22.5", show_default=True, help="Brake design of a new vehicle.")
@click.option("--kind", default="motor vehicle", show_default=True, help="Kind of a new vehicle.")
@click.option("--units", type=click.Choice(["metric", "inch"]), default="metric", show_default=True)
@click.option("--overwrite", is_flag=True, help="Replace a file of that name.")
@database_option
@today_option
@as_json
def command(
    vehicle: str,
    out: str,
    axles: str | None,
    design: str,
    kind: str,
    units: str,
    overwrite: bool,
    database: str,
    today: date,
    as_json: bool,
) -> None:
    """A blank sheet of readings for VEHICLE: a file that describes it, or the id of a kept or new one."""
    from wearline.app.sheets import Layout, reading_sheet, vehicle_for_sheet

    layout = None if axles is None else Layout([role.strip() for role in axles.split(",")], design, kind)
    described = vehicle_for_sheet(vehicle, layout, database)
    written = reading_sheet(described, out, today=today, units=units, overwrite=overwrite)
    if as_json:
        print_json({"schema": "wearline.written/1", "files": [written]})
    else:
        on_paper = written.lower().endswith(".pdf")
        then = (
            "Print it; what is written on it is typed into the XLSX or TOML sheet"
            if on_paper
            else (f"Fill it in, then: wearline judge {written}")
        )
        print_lines([f"Wrote {written}. {then}"])
