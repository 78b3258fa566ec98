"""The week sheet: which vehicle comes when, what is done, and room for the names."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from wearline.reports.content import MADE_BY
from wearline.reports.document import compile_pdf, write_pdf

__all__ = ["render_week_sheet"]

_CAUTIONS = (
    "Chock the wheels and use stands before the wheels come off; spring brakes hold stored energy.",
    "Renew pads on both ends of an axle, never on one.",
    "A week here is the latest that the forecast allows; look sooner where a driver complains.",
)


def render_week_sheet(
    rows: Sequence[Mapping[str, Any]],
    not_possible: Sequence[str],
    *,
    first: date,
    day: date,
    out: Path,
) -> Path:
    """Write the week sheet.

    Parameters
    ----------
    rows : sequence of mapping
        Bookings with ``week``, ``begins_on``, ``shop``, ``vehicle``, ``axles``, ``hours``, ``risk``,
        ``because``.
    not_possible : sequence of str
        Why not everything fits.
    first : date
        First day of the first week.
    day : date
        Day of printing.
    out : Path
        PDF to write.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    StorageError
        If it cannot be written.
    """
    weeks: dict[tuple[int, str], list[dict[str, str]]] = {}
    for row in rows:
        weeks.setdefault((row["week"], row["begins_on"]), []).append(
            {
                "shop": str(row["shop"]),
                "vehicle": str(row["vehicle"]),
                "axles": ", ".join(row["axles"]),
                "hours": f"{row['hours']:.1f} h",
                "risk": f"{100 * row['risk']:.1f} %",
                "because": "; ".join(row["because"]),
            }
        )
    content = {
        "made_by": MADE_BY,
        "vehicle_id": "Week sheet",
        "dated": first.isoformat(),
        "cautions": list(_CAUTIONS),
        "not_possible": list(not_possible),
        "weeks": [
            {
                "title": f"Week {week}, from {begins}",
                "hours": f"{sum(float(r['hours'].split()[0]) for r in booked):.1f} h",
                "rows": booked,
            }
            for (week, begins), booked in sorted(weeks.items())
        ],
    }
    return write_pdf(compile_pdf("week_sheet.typ", content, day=day), out)
