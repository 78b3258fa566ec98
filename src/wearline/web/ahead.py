"""What is worked out before anybody asks: causes, job and proof of the latest inspection of each vehicle."""

from __future__ import annotations

from wearline.web.fleet_index import Line
from wearline.web.proofs import earlier_of, proof_of
from wearline.web.shop import Shop
from wearline.web.summaries import job_of, judged_of, why_of

__all__ = ["make_long"]


def make_long(shop: Shop, inspection_id: str, lines: tuple[Line, ...]) -> None:
    """Work out and store what the pages of an inspection would otherwise work out at the first look.

    Parameters
    ----------
    shop : Shop
        Where it is kept, and the rules in force.
    inspection_id : str
        The inspection.
    lines : tuple of Line
        Inspections of the same vehicle up to its day, the latest first.
    """
    kept = shop.store.inspection(inspection_id)
    judged = judged_of(shop, kept)
    why_of(shop, kept, lambda: judged)
    job_of(shop, kept, lambda: judged)
    choices = earlier_of(shop, kept, lines)
    if choices and not choices[0].misfit:
        proof_of(shop, shop.store.inspection(choices[0].id), kept, lambda each: judged_of(shop, each))
