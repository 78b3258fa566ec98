"""Where each wheel end has got to, and what makes each brake differ from its drawing.

All quantities are arrays over wheel ends in SI units.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from wearline.practice.layout import Floats, Layout

if TYPE_CHECKING:
    from wearline.practice.parameters import Mechanisms

__all__ = ["Individuals", "Road", "WearState", "with_new_pads"]


@dataclass(frozen=True, slots=True)
class Individuals:
    """What makes each brake differ from its drawing; drawn once, pads again with every new set.

    Parameters
    ----------
    energy, specific_wear : array, [1]
        Vehicle's energy and its pads' wear against the duty.
    end, inner, outer : array, [1]
        Wear of the wheel end and of each pad against the vehicle.
    leading, top : array, [1]
        Symmetric taper by mean wear: leading less than trailing, top less than bottom (negative).
    face : array, [1]
        Rotor face lost by pad wear.
    guide_growth : array, [1]
        Growth of guide clearance against the usual.
    heat : array, [1]
        Temperature rise against the usual.
    new_inner, new_outer : array, [m]
        Friction of the pads when new.
    """

    energy: Floats
    specific_wear: Floats
    end: Floats
    inner: Floats
    outer: Floats
    leading: Floats
    top: Floats
    face: Floats
    guide_growth: Floats
    heat: Floats
    new_inner: Floats
    new_outer: Floats


@dataclass(frozen=True, slots=True)
class WearState:
    """Where each wheel end has got to.

    Parameters
    ----------
    inner, outer : array, [m]
        Mean friction left.
    end_inner, end_outer : array, [m]
        End-to-end taper, leading less trailing.
    top_inner, top_outer : array, [m]
        Top-to-bottom taper, top less bottom.
    face_inner, face_outer : array, [m]
        Rotor lost on each face.
    clearance : array, [m]
        Total running clearance, cold.
    long_clearance : array, [m]
        Clearance of the long pin by age alone.
    crack : array, [1]
        Longest radial crack, share of the face.
    scoring : array, [m]
        Groove cut by metal on the rotor.
    slid : array, [m]
        Way of the calliper on its pins since pads and rotor were new.
    run : array, [m]
        Distance since the pads were new.
    hot_run : array, [m]
        Distance run with the tappets hotter than boots bear.
    working_temperature, peak_temperature : array, [K]
        Of the rotor over the last stretch, and the highest peak so far.
    """

    inner: Floats
    outer: Floats
    end_inner: Floats
    end_outer: Floats
    top_inner: Floats
    top_outer: Floats
    face_inner: Floats
    face_outer: Floats
    clearance: Floats
    long_clearance: Floats
    crack: Floats
    scoring: Floats
    slid: Floats
    run: Floats
    hot_run: Floats
    working_temperature: Floats
    peak_temperature: Floats

    def rotor(self, layout: Layout) -> Floats:
        """Return the rotor thickness.

        Parameters
        ----------
        layout : Layout
            The wheel ends.

        Returns
        -------
        array, [m]
            Thickness at mid-radius.
        """
        result: Floats = layout.dimension["rotor_new"] - self.face_inner - self.face_outer
        return result


@dataclass(frozen=True, slots=True)
class Road:
    """What stays the same over one stretch of road.

    Parameters
    ----------
    layout : Layout
        The wheel ends.
    mechanisms : Mechanisms
        Numbers of the simulation.
    individuals : Individuals
        What makes each brake differ.
    demand : array, shape (kinds of application, wheel ends), [N]
        Tyre force asked of each brake when all are sound.
    """

    layout: Layout
    mechanisms: Mechanisms
    individuals: Individuals
    demand: Floats


def with_new_pads(state: WearState, own: Individuals, ends: Floats) -> WearState:
    """Return the state with new pads at some wheel ends.

    Parameters
    ----------
    state : WearState
        State before.
    own : Individuals
        The new pads' own figures.
    ends : array of bool
        Where pads are new.

    Returns
    -------
    WearState
        Square new pads; the rotor stays as it is and the calliper goes back by as much as the outer pad grew.
    """

    def fresh(old: Floats, new: Floats | float) -> Floats:
        result: Floats = np.where(ends, new, old)
        return result

    return replace(
        state,
        inner=fresh(state.inner, own.new_inner),
        outer=fresh(state.outer, own.new_outer),
        end_inner=fresh(state.end_inner, 0.0),
        end_outer=fresh(state.end_outer, 0.0),
        top_inner=fresh(state.top_inner, 0.0),
        top_outer=fresh(state.top_outer, 0.0),
        slid=fresh(state.slid, state.face_outer),
        run=fresh(state.run, 0.0),
    )
