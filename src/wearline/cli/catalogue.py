"""``wearline catalogue``."""

from __future__ import annotations

from datetime import date

import click

from wearline.cli.options import as_json, print_json, print_lines, today_option

__all__ = ["command"]

_SECTIONS = ["limits", "checks", "fields", "designs", "rules", "sources"]


@click.group("catalogue")
def command() -> None:
    """Limits, checks, fields, designs, rules and sources; check your own file of the maker's limits."""


@command.command("show")
@click.argument("section", type=click.Choice(_SECTIONS), default="limits")
@click.option("--design", default="generic-22.5", show_default=True, help="Design whose limits are shown.")
@today_option
@as_json
def show(section: str, design: str, today: date, as_json: bool) -> None:
    """Show a SECTION of the catalogue with status and source of every line."""
    from wearline.app.catalogue_files import catalogue_entries

    answer = catalogue_entries(section, design, today)
    if as_json:
        print_json(answer)
        return
    for entry in answer["entries"]:
        print_lines([entry["id"], f"    {entry['text']}"])
        if entry["value"]:
            print_lines([f"    {entry['value']}"])
        print_lines([f"    {entry['status']}; {entry['source']}"])


@command.command("check")
@click.argument("file", metavar="FILE")
@as_json
def check(file: str, as_json: bool) -> None:
    """Check FILE, your own limits of a maker: document, date and part number are required."""
    from wearline.app.catalogue_files import catalogue_check

    checked, answer = catalogue_check(file)
    if as_json:
        print_json(answer)
        return
    print_lines(
        [
            f"{file} is in order: {checked.document} of {checked.dated}, part number {checked.part_number}.",
            f"In force from {checked.valid_from} for {', '.join(checked.designs)}.",
            *(f"    {line}" for line in answer["limits"]),
            f"Use it: wearline judge FILE --limits {file}",
        ]
    )
