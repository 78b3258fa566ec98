"""Two pads from eight corners: means, thinnest corner, wedges, twist, and what both pads say together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wearline.assessment.columns import Columns, Numbers
from wearline.records.readings import CORNERS

__all__ = ["PADS", "PadColumns", "PadPair", "pad_columns", "pad_pair", "thinnest_corner"]

PADS = ("inner", "outer")


@dataclass(frozen=True, slots=True)
class PadColumns:
    """One pad of every wheel end.

    Parameters
    ----------
    corners : tuple of 4 arrays, shape (n,), [m]
        Friction left at the corners in the order of ``CORNERS``; NaN where not taken.
    mean, u_mean : array, shape (n,), [m]
        Mean friction.
    thinnest, u_thinnest : array, shape (n,), [m]
        Thinnest corner.
    taper_end_to_end, u_end_to_end : array, shape (n,), [m]
        Leading less trailing edge, positive where the leading end is thicker.
    taper_top_to_bottom, u_top_to_bottom : array, shape (n,), [m]
        Top less bottom edge, positive where the top is thicker.
    twist, u_twist : array, shape (n,), [m]
        Distance of the corners from a plane.
    """

    corners: tuple[Numbers, Numbers, Numbers, Numbers]
    mean: Numbers
    u_mean: Numbers
    thinnest: Numbers
    u_thinnest: Numbers
    taper_end_to_end: Numbers
    u_end_to_end: Numbers
    taper_top_to_bottom: Numbers
    u_top_to_bottom: Numbers
    twist: Numbers
    u_twist: Numbers


@dataclass(frozen=True, slots=True)
class PadPair:
    """Both pads of every wheel end together.

    Parameters
    ----------
    thinnest, u_thinnest : array, shape (n,), [m]
        Thinnest corner of both pads.
    thinnest_is_outer : array of bool, shape (n,)
        Which pad it is on.
    mean_difference, u_mean_difference : array, shape (n,), [m]
        Outer less inner mean.
    end_antisymmetric, end_symmetric, u_end : array, shape (n,), [m]
        Half the difference and half the sum of the end-to-end wedges (outer, inner), and the standard
        uncertainty of either.
    top_antisymmetric, top_symmetric, u_top : array, shape (n,), [m]
        The same for the top-to-bottom wedges.
    """

    thinnest: Numbers
    u_thinnest: Numbers
    thinnest_is_outer: NDArray[np.bool_]
    mean_difference: Numbers
    u_mean_difference: Numbers
    end_antisymmetric: Numbers
    end_symmetric: Numbers
    u_end: Numbers
    top_antisymmetric: Numbers
    top_symmetric: Numbers
    u_top: Numbers


def thinnest_corner(pad: PadColumns, row: int) -> str:
    """Return which corner of a pad is the thinnest.

    Parameters
    ----------
    pad : PadColumns
        The pad.
    row : int
        The wheel end.

    Returns
    -------
    str
        One of ``CORNERS``, the first of several that are equally thin.
    """
    return CORNERS[int(np.argmin([corner[row] for corner in pad.corners]))]


def pad_columns(columns: Columns, pad: str) -> PadColumns:
    """Return the geometry of one pad at every wheel end.

    Parameters
    ----------
    columns : Columns
        Readings.
    pad : {"inner", "outer"}
        Which pad.

    Returns
    -------
    PadColumns
        NaN where a corner was not taken.

    Notes
    -----
    The four corners of a rectangle carry the least-squares plane in closed form: mean (LT+LB+TT+TB)/4,
    wedge along the rotor (LT+LB-TT-TB)/2, wedge across (LT+TT-LB-TB)/2, and what is left over is the
    twist (LT+TB-LB-TT)/2. For equal corner uncertainty u the mean has u/2 and each wedge u
    (``wearline.uncertainty.plane`` fits the same plane through any set of points). The verdict is given
    on the corner itself, not on the plane, since a broken corner is what reaches the limit first.
    """
    field = f"pad_{pad}"
    lt, lb, tt, tb = (columns.value(field, corner) for corner in CORNERS)
    u_each = [columns.uncertainty(field, corner) for corner in CORNERS]
    root_sum = np.sqrt(u_each[0] ** 2 + u_each[1] ** 2 + u_each[2] ** 2 + u_each[3] ** 2)
    thinnest = np.minimum(np.minimum(lt, lb), np.minimum(tt, tb))
    u_thinnest = u_each[0]
    for corner, u in zip((lb, tt, tb), u_each[1:], strict=True):
        u_thinnest = _choose(corner == thinnest, u, u_thinnest)
    return PadColumns(
        corners=(lt, lb, tt, tb),
        mean=(lt + lb + tt + tb) / 4.0,
        u_mean=root_sum / 4.0,
        thinnest=thinnest,
        u_thinnest=u_thinnest,
        taper_end_to_end=(lt + lb - tt - tb) / 2.0,
        u_end_to_end=root_sum / 2.0,
        taper_top_to_bottom=(lt + tt - lb - tb) / 2.0,
        u_top_to_bottom=root_sum / 2.0,
        twist=(lt + tb - lb - tt) / 2.0,
        u_twist=root_sum / 2.0,
    )


def _choose(mask: NDArray[np.bool_], this: Numbers, that: Numbers) -> Numbers:
    """Pick row by row; one number for all rows stays one where both are the same."""
    if this.ndim == that.ndim == 0 and this == that:
        return this
    return np.where(mask, this, that)


def pad_pair(inner: PadColumns, outer: PadColumns) -> PadPair:
    """Return what both pads of every wheel end say together.

    Parameters
    ----------
    inner, outer : PadColumns
        The two pads.

    Returns
    -------
    PadPair
        NaN where a pad was not taken, but for the thinnest corner, which one pad alone can give.

    Notes
    -----
    A tilted calliper wears opposite wedges into the two pads: the antisymmetric part is its fingerprint,
    the symmetric part is not (status: derived).
    """
    inner_wins = (inner.thinnest <= outer.thinnest) | np.isnan(outer.thinnest)
    return PadPair(
        thinnest=np.where(inner_wins, inner.thinnest, outer.thinnest),
        u_thinnest=_choose(inner_wins, inner.u_thinnest, outer.u_thinnest),
        thinnest_is_outer=~inner_wins,
        mean_difference=outer.mean - inner.mean,
        u_mean_difference=np.hypot(outer.u_mean, inner.u_mean),
        end_antisymmetric=(outer.taper_end_to_end - inner.taper_end_to_end) / 2.0,
        end_symmetric=(outer.taper_end_to_end + inner.taper_end_to_end) / 2.0,
        u_end=np.hypot(outer.u_end_to_end, inner.u_end_to_end) / 2.0,
        top_antisymmetric=(outer.taper_top_to_bottom - inner.taper_top_to_bottom) / 2.0,
        top_symmetric=(outer.taper_top_to_bottom + inner.taper_top_to_bottom) / 2.0,
        u_top=np.hypot(outer.u_top_to_bottom, inner.u_top_to_bottom) / 2.0,
    )
