"""How much braking is left: share of the intended force, stopping distance now and intact, load and slope.

Forces measured on a tester come first; where an end was not measured, the states found there and the force
chain say what is left. These figures inform: the level of the road decision does not rest on them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

from wearline.assessment.braking_numbers import braking_number, braking_numbers
from wearline.assessment.found_states import ForceLeft, brake_design, force_left, states_found
from wearline.assessment.judge import Judged
from wearline.assessment.road_results import CapabilityLeft, EndForce, ShownFigure, StopEstimate
from wearline.assessment.vehicle import STANDARD_GRAVITY
from wearline.catalogue.loading import Catalogue
from wearline.catalogue.model import Design
from wearline.catalogue.release import ReleaseRules
from wearline.physics.descent import AIR_DENSITY, BrakeSet, Descent, stop_temperature_rise
from wearline.physics.force import wheel_torque
from wearline.physics.stopping import Stop, StopUncertainty, stopping_distance_range
from wearline.records.inspection import Inspection

__all__ = ["allowed_mass", "allowed_slope", "allowed_words", "capability_left", "stop_estimate"]

COVERAGE = 1.96
"""Standard deviations on either side that hold 95 %."""

ONE_SIDED = 1.645
"""Standard deviations above which 5 % lie."""

UNCOUNTED = 4
"""Road level from which a brake's force is not counted on: it may break at the next stop."""

AIR = 293.15
"""[K] Air temperature that the descent figures assume."""


@dataclass(frozen=True, slots=True)
class _End:
    """Available and nominal force of one end, with standard uncertainties and the effect of either."""

    place: str
    available: float
    nominal: float
    u: float
    basis: str
    states: tuple[str, ...]
    status: str


def capability_left(
    inspection: Inspection,
    judged: Judged,
    catalogue: Catalogue,
    rules: ReleaseRules,
    efficiency_needed: float | None,
) -> CapabilityLeft:
    """Return how much of its intended braking a vehicle still has, and what follows.

    Parameters
    ----------
    inspection : Inspection
        Vehicle and mass.
    judged : Judged
        Judged readings.
    catalogue : Catalogue
        Designs.
    rules : ReleaseRules
        Which findings forbid to count on a brake.
    efficiency_needed : float or None, [1]
        Efficiency that the house rule asks, for the load that the brakes allow.

    Returns
    -------
    CapabilityLeft
        Share with its 95 % range; None where an end is unknown, and then a range from 'it does nothing' to
        'it is in order'.

    Notes
    -----
    C = sum F_available / sum F_nominal. The nominal force of an axle is that of its better end, corrected by
    the states found there: a fault that both ends share and nobody found stays unseen. Uncertainty by
    first-order propagation (JCGM 100 eq. 10); a scale error of the tester is common to all and cancels.
    Derived.
    """
    ends = _ends(inspection, judged, catalogue, rules)
    share, low, high = _share(ends)
    measured = all(end.basis == "measured force" or end.available == 0.0 for end in ends) and any(
        end.basis == "measured force" for end in ends
    )
    drums = any(axle.brake != "air disc" for axle in inspection.vehicle.axles)
    mass = inspection.vehicle.test_mass
    available = sum(end.available for end in ends)
    u = sum(end.u for end in ends)  # one tester measured all: its errors are common to all ends
    known = measured and not drums
    return CapabilityLeft(
        share=None if drums else share,
        low=None if drums else low,
        high=None if drums else high,
        ends=tuple(
            EndForce(
                place=end.place,
                share=None if math.isnan(end.available) else end.available / end.nominal,
                basis=end.basis,
                states=end.states,
                status=end.status,
            )
            for end in ends
        ),
        stop=None
        if mass is None or not known
        else stop_estimate(mass, available, sum(end.nominal for end in ends), u),
        mass_allowed=None
        if efficiency_needed is None or not known
        else allowed_mass(available, u, efficiency_needed),
        slope_allowed=None if mass is None or drums else _slope(mass, ends),
        figures=shown_figures(),
    )


def _ends(
    inspection: Inspection, judged: Judged, catalogue: Catalogue, rules: ReleaseRules
) -> tuple[_End, ...]:
    columns = judged.columns
    grave = tuple(id for rule in rules.levels if rule.level >= UNCOUNTED for id in rule.findings)
    uncounted = judged.findings.where(grave)
    still = columns.says("action", "does not move")
    designs = [
        catalogue.design(inspection.vehicle.axle(place[:-1]).design, inspection.taken_on)
        for place in columns.places
    ]
    found = [states_found(judged, row, design) for row, design in enumerate(designs)]
    left = [force_left(design, states) for design, states in zip(designs, found, strict=True)]
    force, u_force = columns.value("brake_force"), columns.uncertainty("brake_force")
    scale = _scale(judged, designs, left)
    ends = []
    for row, place in enumerate(columns.places):
        states = tuple(state.text for state in found[row])
        own, mate = float(force[row]), float(columns.of_mate(force)[row])
        if not math.isnan(own) and not math.isnan(mate):
            better = row if own >= mate else int(columns.mate[row])
            nominal = max(own, mate) / left[better].share
            end = _End(place, own, nominal, float(u_force[row]), "measured force", states, "measured")
        else:
            nominal = scale * _full_torque(designs[row])
            end = _unmeasured(own, nominal, left[row], states, judged, row)
        if uncounted[row] or still[row]:
            why = "does not act" if still[row] else "may break: not counted on"
            end = _End(place, 0.0, end.nominal, 0.0, why, states, "a rule of the road ladder")
        ends.append(end)
    return tuple(ends)


def _unmeasured(
    own: float, nominal: float, left: ForceLeft, states: tuple[str, ...], judged: Judged, row: int
) -> _End:
    """An end without a pair of forces: by its own force, by the states found, or not known."""
    place = judged.columns.places[row]
    u = braking_number("unmeasured_spread") * nominal
    if not math.isnan(own):
        return _End(place, min(own, nominal), nominal, u, "measured force, mate not", states, "measured")
    if states:
        u_left = math.hypot(u * left.share, nominal * left.u)
        return _End(place, nominal * left.share, nominal, u_left, "state found", states, "expert judgement")
    if _looked_at(judged, row):
        return _End(place, nominal, nominal, u, "no fault found", states, "expert judgement")
    return _End(place, math.nan, nominal, 0.0, "not known", states, "")


def _looked_at(judged: Judged, row: int) -> bool:
    """Whether travel, adjuster, slide and pads of an end were taken and none of them accused it."""
    columns = judged.columns
    travel = not math.isnan(float(columns.value("total_travel")[row]))
    slide = not math.isnan(float(columns.value("slide")[row])) or bool(columns.says("slide", "free")[row])
    adjuster = bool(columns.says("adjuster_test", "advances and holds")[row])
    pads = not math.isnan(float(judged.derived.pair.thinnest[row]))
    return travel and slide and adjuster and pads


def _scale(judged: Judged, designs: Sequence[Design], left: Sequence[ForceLeft]) -> float:
    """Measured nominal force over the design's torque, so that unmeasured ends weigh as the others do."""
    force, mates = judged.columns.value("brake_force"), judged.columns.mate
    ratios = []
    for row, design in enumerate(designs):
        mate = int(mates[row])
        if mate < 0 or math.isnan(force[row]) or math.isnan(force[mate]):
            continue
        better = row if force[row] >= force[mate] else mate
        ratios.append(float(force[better]) / left[better].share / _full_torque(design))
    return fmean(ratios) if ratios else 1.0


def _full_torque(design: Design) -> float:
    return float(wheel_torque(braking_number("full_pressure"), brake_design(design)))


def _share(ends: Sequence[_End]) -> tuple[float | None, float | None, float | None]:
    """C with its range; without C where an end is unknown, and then the widest range."""
    nominal = sum(end.nominal for end in ends)
    if not ends or not nominal or all(math.isnan(end.available) for end in ends):
        return None, None, None
    known = [end for end in ends if not math.isnan(end.available)]
    unknown = sum(end.nominal for end in ends if math.isnan(end.available)) / nominal
    share = sum(end.available for end in known) / nominal
    spread = braking_number("end_spread")
    variance = 0.0
    for end in known:
        better = end.basis == "measured force" and end.available >= end.nominal * (1.0 - 1e-12)
        # the force of the better end stands in the denominator twice, for itself and for its mate
        sensitivity = (1.0 - 2.0 * share) if better else 1.0
        variance += (sensitivity * end.u / nominal) ** 2
        if end.basis == "measured force" and not better:
            variance += (share * spread * end.nominal / nominal) ** 2
    half = COVERAGE * math.sqrt(variance)
    low, high = max(share - half, 0.0), min(share + unknown + half, 1.0)
    return (None if unknown > 0.0 else share), low, high


def stop_estimate(mass: float, available: float, nominal: float, u_available: float) -> StopEstimate:
    """Return the stopping distance now and with the brakes in order, each with its range.

    Parameters
    ----------
    mass : float, [kg]
        Mass at the test.
    available, nominal : float, [N]
        Sum of the forces now and in order.
    u_available : float, [N]
        Standard uncertainty of the sum now.

    Returns
    -------
    StopEstimate
        From 60 km/h, level dry road, the driver's reaction left out.

    Notes
    -----
    s = v t + v^2 / (2 z g), z = sum F / (m g), not above the adhesion of a dry road; 95 % range from the
    uncertainties of the forces, of the road against the roller, and of the lag, by propagation. Derived;
    lag, adhesion and spread are expert judgement.
    """
    numbers = braking_numbers()
    speed, lag = braking_number("stop_speed"), numbers["lag"]
    u_lag = (lag.high - lag.low) / (2.0 * math.sqrt(3.0))
    spread = braking_number("road_spread")

    def distances(force: float, relative: float) -> tuple[float, float, float] | None:
        rate = min(force / (mass * STANDARD_GRAVITY), braking_number("adhesion")) * STANDARD_GRAVITY
        if rate <= 0.0:
            return None
        uncertain = StopUncertainty(deceleration=rate * math.hypot(spread, relative), lag=u_lag)
        stop = Stop(speed=speed, deceleration=rate, lag=lag.value)
        least, best, most = stopping_distance_range(stop, uncertain, COVERAGE)
        return float(least), float(best), float(most)

    relative = u_available / available if available > 0.0 else 0.0
    return StopEstimate(
        speed=speed,
        now=distances(available, relative),
        intact=distances(nominal, relative),
        status="derived; lag, adhesion and road against roller are expert judgement",
    )


def allowed_mass(available: float, u_available: float, efficiency_needed: float) -> tuple[float, float]:
    """Return the mass up to which the forces measured give the efficiency asked for.

    Parameters
    ----------
    available, u_available : float, [N]
        Sum of the forces and its standard uncertainty.
    efficiency_needed : float, [1], more than 0
        Efficiency asked for.

    Returns
    -------
    cautious, likely : float, [kg]
        Mass with 95 % confidence, and without the uncertainty.

    Notes
    -----
    m = sum F / (z g). Mechanics. Where the wheels had locked on the tester, less load gives less force.
    """
    per_kilogram = efficiency_needed * STANDARD_GRAVITY
    return max(available - ONE_SIDED * u_available, 0.0) / per_kilogram, available / per_kilogram


def _slope(mass: float, ends: Sequence[_End]) -> tuple[float, float] | None:
    shares = [0.0 if math.isnan(end.available) else end.available / end.nominal for end in ends]
    spread = [end.u / end.nominal for end in ends]
    likely = sum(shares)
    cautious = sum(max(share - ONE_SIDED * u, 0.0) for share, u in zip(shares, spread, strict=True))
    if likely <= 0.0:
        return None
    return allowed_slope(mass, cautious), allowed_slope(mass, likely, cautious=False)


def allowed_slope(mass: float, brakes: float, *, cautious: bool = True) -> float:
    """Return the slope that the brakes hold for a while without passing their temperature limit.

    Parameters
    ----------
    mass : float, [kg]
        Mass of the vehicle or combination.
    brakes : float, [1]
        Brakes that work, a weak one counted by its share.
    cautious : bool
        With the low side of the cooling, and no help from rolling resistance, whose value is unverified.

    Returns
    -------
    float, [1]
        Height over length, 0 to 0.4, for 5 km at 40 km/h without retarder, one full stop at the bottom
        included.

    Notes
    -----
    T = T_a + (T_0 - T_a) e + P (1 - e) / (n h A), P = m g v (slope - c_r) - rho c_d A v^3 / 2, solved for
    the slope. Derived; cooling and limit are expert judgement.
    """
    if brakes <= 0.0:
        return 0.0
    numbers = braking_numbers()
    low = 1.0 - ONE_SIDED * braking_number("cooling_spread") if cautious else 1.0
    plain = BrakeSet(count=brakes)
    brake_set = BrakeSet(
        count=brakes,
        ambient=AIR,
        cooling_at_rest=low * plain.cooling_at_rest,
        cooling_per_speed=low * plain.cooling_per_speed,
    )
    speed = braking_number("descent_speed")
    rolling = 0.0 if cautious else numbers["rolling_resistance"].value
    area = numbers["drag_area"].low if cautious else numbers["drag_area"].value
    descent = Descent(mass, 0.0, braking_number("descent_length"), rolling=rolling, drag_area=area)
    conductance = float(brake_set.conductance(speed))
    kept = math.exp(-float(descent.length) / speed * conductance / float(brake_set.heat_capacity))
    room = braking_number("descent_limit") - float(stop_temperature_rise(speed, descent, brake_set)) - AIR
    settled = (room - (float(brake_set.start) - AIR) * kept) / (1.0 - kept)
    power = max(settled, 0.0) * brakes * conductance
    air = 0.5 * AIR_DENSITY * area * speed**3
    slope = rolling + (power + air) / (mass * STANDARD_GRAVITY * speed)
    return min(slope, 0.4) if settled > 0.0 else 0.0


def allowed_words(left: CapabilityLeft | None, mass: float | None) -> tuple[str, ...]:
    """Return load and slope that the brakes allow, as a driver's conditions.

    Parameters
    ----------
    left : CapabilityLeft or None
        What is left.
    mass : float or None, [kg]
        Mass at the test.

    Returns
    -------
    tuple of str
        The load where it is less than at the test, and the slope, both on the cautious side.
    """
    if left is None:
        return ()
    words = []
    if left.mass_allowed is not None and (mass is None or left.mass_allowed[0] < mass):
        tonnes = math.floor(left.mass_allowed[0] / 100.0) / 10.0
        words.append(f"Not more than {tonnes:.1f} t in total, load and vehicle.")
    if left.slope_allowed is not None:
        percent = math.floor(1e3 * left.slope_allowed[0]) / 10.0
        words.append(
            f"For some kilometres down without retarder: not steeper than {percent:.1f} %, not faster than "
            "40 km/h (an estimate; where it is steeper, only with a retarder that holds the vehicle)."
        )
    return tuple(words)


def shown_figures() -> tuple[ShownFigure, ...]:
    """Return the figures that are only remembered: shown for comparison, never decisive.

    Returns
    -------
    tuple of ShownFigure
        Each with its status.
    """
    return tuple(
        ShownFigure(number.note, number.published, number.status)
        for number in braking_numbers().values()
        if not number.decides
    )
