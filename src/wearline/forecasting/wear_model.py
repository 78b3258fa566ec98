"""The wear of a fleet: log rate = duty + role + vehicle + wheel end + pad set + pad + corner, pooled in part.

Every reading of a spot is turned into a Gaussian site on that spot's log rate (``sites``); sites and effects
make a tree of Gaussians with an exact posterior (``nested``). Variances, noise and fixed effects come from at
most a few thousand vehicles; all others, and every new inspection, take them as known.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from wearline.forecasting.nested import Fitted, Floats, Ints, Leaves, Priors, Tree, fit, posterior
from wearline.forecasting.padsets import GaugeSums, Readings, Tracks, gauge_sums, take
from wearline.forecasting.settings import ForecastSettings
from wearline.forecasting.sites import intervals_of, tilted_moments

__all__ = [
    "LEVELS",
    "FleetTable",
    "Hyper",
    "Inference",
    "fit_hyper",
    "infer",
    "infer_fleet",
    "prior_hyper",
    "some_vehicles",
    "widened",
]

LEVELS = ("vehicle", "end", "set", "pad", "corner")

_MOST_VEHICLES = 3000
_FINE_VEHICLES = 400
_FULL_ROUNDS = 2
_CHUNK = 12_000
_LEAST_WEIGHT = 1e-9


@dataclass(frozen=True, slots=True)
class FleetTable:
    """Tracks and readings of a fleet with what is known of its fixed effects.

    Parameters
    ----------
    tracks : Tracks
        Sorted by vehicle, end, set, pad.
    readings : Readings
        Sorted by track and distance.
    effects : tuple of str
        Names of the columns of ``tracks.design``.
    effect_mean, effect_spread : array, shape (effects,)
        Normal priors of the fixed effects on the log rate [m/m]; an infinite spread for none.
    levels : tuple of str
        Levels of the tree, from ``LEVELS``; the last is that of the tracks themselves.
    """

    tracks: Tracks
    readings: Readings
    effects: tuple[str, ...]
    effect_mean: Floats
    effect_spread: Floats
    levels: tuple[str, ...] = LEVELS

    def keys(self, tracks: Tracks | None = None) -> list[Ints]:
        """Return the ancestors of each track at every level but the last.

        Parameters
        ----------
        tracks : Tracks or None
            A selection of the tracks; all by default.

        Returns
        -------
        list of array of int
            The top level first.
        """
        tracks = tracks or self.tracks
        named = {"vehicle": tracks.vehicle, "end": tracks.end, "set": tracks.padset, "pad": tracks.pad}
        return [named[level] for level in self.levels[:-1]]

    def vehicles(self, wanted: Ints) -> FleetTable:
        """Return the table of chosen vehicles.

        Parameters
        ----------
        wanted : array of int
            Running numbers of vehicles, sorted.

        Returns
        -------
        FleetTable
            Their rows.
        """
        tracks, readings = take(
            self.tracks, self.readings, np.flatnonzero(np.isin(self.tracks.vehicle, wanted))
        )
        return replace(self, tracks=tracks, readings=readings)


@dataclass(frozen=True, slots=True)
class Hyper:
    """What a fleet has in common.

    Parameters
    ----------
    variance : array, shape (levels,)
        Variance of the log rate at each level, the top first.
    effects, covariance : array
        Fixed effects on the log rate [m/m] and their covariance.
    scale : float
        Factor on the stated uncertainty of readings.
    route : float, [m]
        Variance of the wear over a distance D is ``route * rate**2 * D``.
    misread : float, [1]
        Share of misread indicator steps.
    vehicles : int
        Vehicles that it was learnt from; 0 for the prior.
    """

    variance: Floats
    effects: Floats
    covariance: Floats
    scale: float
    route: float
    misread: float
    vehicles: int = 0


@dataclass(frozen=True, slots=True)
class Inference:
    """What is known of every track.

    Parameters
    ----------
    mean, variance : array, shape (tracks,)
        Of the log rate [m/m].
    site_weight, site_mean : array, shape (tracks,)
        What its own readings say of it.
    sums : GaugeSums
        Its gauge readings, summed up.
    log_evidence : array, shape (tracks,)
        Log probability of its readings given all others'.
    cavity_mean, cavity_variance : array, shape (tracks,)
        The log rate as all other readings and the prior have it.
    """

    mean: Floats
    variance: Floats
    site_weight: Floats
    site_mean: Floats
    sums: GaugeSums
    log_evidence: Floats
    cavity_mean: Floats
    cavity_variance: Floats


@dataclass(slots=True)
class _Sites:
    weight: Floats
    mean: Floats
    cavity_mean: Floats
    cavity_variance: Floats
    rate: Floats
    guess: tuple[Floats, Floats] | None = None


def _spread(settings: ForecastSettings, level: str) -> float:
    return float(getattr(settings, f"{level}_spread"))


def prior_hyper(table: FleetTable, settings: ForecastSettings) -> Hyper:
    """Return what is taken for granted before any reading.

    Parameters
    ----------
    table : FleetTable
        Gives levels and fixed effects.
    settings : ForecastSettings
        Expert judgement.

    Returns
    -------
    Hyper
        With the prior's means and spreads.
    """
    spread = np.where(np.isfinite(table.effect_spread), table.effect_spread, 10.0)
    return Hyper(
        variance=np.array([_spread(settings, level) ** 2 for level in table.levels]),
        effects=table.effect_mean.astype(float),
        covariance=np.diag(spread**2),
        scale=1.0,
        route=settings.route,
        misread=settings.misread,
    )


def _first_sites(table: FleetTable, hyper: Hyper) -> _Sites:
    tracks = table.tracks
    offset = tracks.design @ hyper.effects
    wide = ((tracks.design @ hyper.covariance) * tracks.design).sum(axis=1)
    nothing = np.zeros(tracks.n)
    return _Sites(nothing, offset, offset, float(hyper.variance.sum()) + wide, np.exp(offset))


def _sweep(
    table: FleetTable, tree: Tree, hyper: Hyper, sites: _Sites, sums: GaugeSums | None
) -> tuple[_Sites, GaugeSums, Floats, Floats, Floats]:
    """One round of sites, posterior and cavities."""
    tracks, readings = table.tracks, table.readings
    if sums is None:
        sums = gauge_sums(tracks, readings, rate=sites.rate, route=hyper.route, scale=hyper.scale)
    between = intervals_of(tracks, readings, rate=sites.rate, route=hyper.route)
    tilted = tilted_moments(
        sums, between, sites.cavity_mean, sites.cavity_variance, hyper.misread, sites.guess
    )
    weight = np.maximum(1.0 / tilted.variance - 1.0 / sites.cavity_variance, 0.0)
    weight = np.where(weight > _LEAST_WEIGHT, weight, 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = (tilted.mean / tilted.variance - sites.cavity_mean / sites.cavity_variance) / weight
    mean = np.where(weight > 0.0, mean, 0.0)
    offset = tracks.design @ hyper.effects
    leaves = Leaves(weight, mean, tracks.design)
    fitted = Fitted(hyper.variance, 1.0, hyper.effects, hyper.covariance, 0.0)
    found = posterior(tree, leaves, fitted)
    post_mean, post_variance = found.mean[-1] + offset, np.maximum(found.variance[-1], 1e-12)
    precision = np.maximum(1.0 / post_variance - weight, 1e-4)
    cavity_mean = (post_mean / post_variance - weight * mean) / precision
    rate = np.exp(np.clip(post_mean, -40.0, -5.0))
    new = _Sites(weight, mean, cavity_mean, 1.0 / precision, rate, (post_mean, post_variance))
    return new, sums, post_mean, post_variance, tilted.log_evidence - 0.5 * sums.rest


def widened(table: FleetTable, hyper: Hyper) -> Hyper:
    """Return the fleet's numbers with the doubt about the fixed effects put into the vehicles.

    Parameters
    ----------
    table : FleetTable
        Gives the columns of the fixed effects.
    hyper : Hyper
        The fleet's numbers.

    Returns
    -------
    Hyper
        With a greater variance of the top level: a vehicle of a duty of which nothing was ever read is as
        uncertain as that duty.
    """
    if table.tracks.n == 0 or not hyper.covariance.any():
        return hyper
    doubt = ((table.tracks.design @ hyper.covariance) * table.tracks.design).sum(axis=1)
    variance = hyper.variance.copy()
    variance[0] += float(np.median(doubt))
    return replace(hyper, variance=variance, covariance=np.zeros_like(hyper.covariance))


def infer(table: FleetTable, hyper: Hyper, *, sweeps: int = 4) -> Inference:
    """Return what is known of every track when the fleet's numbers are known.

    Parameters
    ----------
    table : FleetTable
        One vehicle or many.
    hyper : Hyper
        The fleet's numbers.
    sweeps : int, optional
        Rounds of expectation propagation, at least 2.

    Returns
    -------
    Inference
        One row for each track.
    """
    return _infer(table, hyper, _first_sites(table, hyper), sweeps)[0]


def _infer(table: FleetTable, hyper: Hyper, sites: _Sites, sweeps: int) -> tuple[Inference, _Sites, Tree]:
    tree = Tree.of(table.keys())
    sums: GaugeSums | None = None
    cavity = sites
    for sweep in range(sweeps):
        cavity = sites
        # the roads' variance hangs on the rate, which the first round has found well enough
        sites, sums, mean, variance, evidence = _sweep(table, tree, hyper, sites, sums if sweep > 1 else None)
    assert sums is not None
    result = Inference(
        mean,
        variance,
        sites.weight,
        sites.mean,
        sums,
        evidence,
        cavity.cavity_mean,
        cavity.cavity_variance,
    )
    return result, sites, tree


def infer_fleet(table: FleetTable, hyper: Hyper, *, sweeps: int = 3) -> Inference:
    """Return what is known of every track of a large fleet, vehicles taken in portions.

    Parameters
    ----------
    table : FleetTable
        The fleet.
    hyper : Hyper
        The fleet's numbers.
    sweeps : int, optional
        Rounds of expectation propagation.

    Returns
    -------
    Inference
        One row for each track. Memory for intermediate results does not grow with the fleet.
    """
    tracks = table.tracks
    if tracks.n <= _CHUNK:
        return infer(table, hyper, sweeps=sweeps)
    firsts = np.flatnonzero(np.r_[True, tracks.vehicle[1:] != tracks.vehicle[:-1]])
    cuts = firsts[np.unique(np.searchsorted(firsts, np.arange(0, tracks.n, _CHUNK)).clip(0, firsts.size - 1))]
    parts = []
    for low, high in zip(cuts, [*cuts[1:], tracks.n], strict=True):
        chunk, readings = _rows(tracks, table.readings, int(low), int(high))
        parts.append(infer(replace(table, tracks=chunk, readings=readings), hyper, sweeps=sweeps))
    return _joined(parts)


def _rows(tracks: Tracks, readings: Readings, low: int, high: int) -> tuple[Tracks, Readings]:
    rows = slice(low, high)
    first = int(tracks.start[low])
    last = int(tracks.start[high - 1] + tracks.count[high - 1])
    part = Tracks(
        tracks.vehicle[rows],
        tracks.end[rows],
        tracks.padset[rows],
        tracks.pad[rows],
        tracks.start[rows] - first,
        tracks.count[rows],
        tracks.new[rows],
        tracks.u_new[rows],
        tracks.design[rows],
        tracks.part[rows],
    )
    return part, readings.rows(np.arange(first, last))


def _joined(parts: list[Inference]) -> Inference:
    names = [name for name in Inference.__slots__ if name != "sums"]
    whole = {name: np.concatenate([getattr(part, name) for part in parts]) for name in names}
    sums = GaugeSums(
        *(np.concatenate([getattr(part.sums, name) for part in parts]) for name in GaugeSums.__slots__)
    )
    return Inference(sums=sums, **whole)


def some_vehicles(table: FleetTable, most: int = _MOST_VEHICLES) -> FleetTable:
    """Return the table of at most so many vehicles, spread evenly over the fleet.

    Parameters
    ----------
    table : FleetTable
        The fleet.
    most : int, optional
        Most vehicles.

    Returns
    -------
    FleetTable
        Every k-th vehicle, so that the choice does not hang on chance.
    """
    vehicles = np.unique(table.tracks.vehicle)
    if vehicles.size <= most:
        return table
    return table.vehicles(vehicles[np.linspace(0, vehicles.size - 1, most).astype(np.int64)])


def fit_hyper(
    table: FleetTable, settings: ForecastSettings, *, rounds: int = 6, most_vehicles: int = _MOST_VEHICLES
) -> Hyper:
    """Learn the fleet's numbers.

    Parameters
    ----------
    table : FleetTable
        The fleet, cleaned.
    settings : ForecastSettings
        Where to start, and what little data is held against.
    rounds : int, optional
        Rounds of sites and variances, the last two on all vehicles, those before on a few hundred.
    most_vehicles : int, optional
        Most vehicles to learn from.

    Returns
    -------
    Hyper
        Variances, fixed effects, noise.

    Notes
    -----
    With the sites held, the slope of the evidence in variances and effects is that of the Gaussian model on
    the sites; so sites and an exact fit of the Gaussian model take turns. Each variance has a prior worth a
    few nodes, so that a fleet of three vehicles keeps the width of expert judgement.
    """
    start = prior_hyper(table, settings)
    if table.readings.run.size == 0:
        return start
    some = some_vehicles(table, most_vehicles)
    fine = some_vehicles(some, _FINE_VEHICLES)
    precision = np.where(np.isfinite(table.effect_spread), 1.0 / np.square(table.effect_spread), 0.0)
    worth = np.full(len(table.levels), 6.0)
    priors = Priors(table.effect_mean, precision, start.variance, worth)
    hyper, sites = start, _first_sites(fine, start)
    for each in range(rounds):
        # the noise is settled on few vehicles; only then is it worth asking all of them
        rows = fine if each < rounds - _FULL_ROUNDS else some
        if each == rounds - _FULL_ROUNDS and some is not fine:
            sites = _first_sites(some, hyper)
        _, sites, tree = _infer(rows, hyper, sites, 2)
        leaves = Leaves(sites.weight, sites.mean, rows.tracks.design)
        if not (sites.weight > 0).any():
            return start
        best = fit(tree, leaves, hyper.variance, None, priors, tolerance=1e-7, most=30)
        hyper = replace(hyper, variance=best.variance, effects=best.effects, covariance=best.covariance)
        if each < rounds - _FULL_ROUNDS:
            hyper = _noise(fine, hyper, settings)
    return replace(hyper, vehicles=int(np.unique(some.tracks.vehicle).size))


def _noise(table: FleetTable, hyper: Hyper, settings: ForecastSettings) -> Hyper:
    """A Newton step in the logs of noise, roads and misreadings, on the evidence with cavities held."""
    known = infer(table, hyper, sweeps=2)
    rate = np.exp(np.clip(known.mean, -40.0, -5.0))
    centre = np.log([1.0, settings.route, settings.misread])
    width = np.array([0.5, 1.0, 0.5])
    point = np.log([hyper.scale, hyper.route, hyper.misread])

    def value(logs: Floats) -> float:
        scale, route, misread = (float(each) for each in np.exp(logs))
        sums = gauge_sums(table.tracks, table.readings, rate=rate, route=route, scale=scale)
        between = intervals_of(table.tracks, table.readings, rate=rate, route=route)
        tilted = tilted_moments(
            sums, between, known.cavity_mean, known.cavity_variance, misread, (known.mean, known.variance)
        )
        evidence = float((tilted.log_evidence - 0.5 * sums.rest).sum())
        return evidence - 0.5 * float(np.square((logs - centre) / width).sum())

    axes = 3 if np.isnan(table.readings.value).any() else 2
    scale, route, misread = (float(each) for each in np.exp(_climbed(value, point, axes)))
    return replace(hyper, scale=scale, route=route, misread=min(misread, 0.4))


def _climbed(value: Callable[[Floats], float], point: Floats, axes: int, step: float = 0.2) -> Floats:
    """The best of the points tried around one place and where Newton's method goes from there.

    Noise and roads explain nearly the same, so steps along the axes alone would creep along a ridge.
    """
    moves = step * np.eye(point.size)[:axes]
    here = value(point)
    tried = [(here, point)]
    up = [value(point + move) for move in moves]
    down = [value(point - move) for move in moves]
    tried += [(found, point + move) for found, move in zip(up, moves, strict=True)]
    tried += [(found, point - move) for found, move in zip(down, moves, strict=True)]
    slope = (np.array(up) - np.array(down)) / (2.0 * step)
    bend = np.diag((np.array(up) + np.array(down) - 2.0 * here) / step**2)
    # misreadings hardly hang on the other two
    bend[0, 1] = bend[1, 0] = (value(point + moves[0] + moves[1]) - up[0] - up[1] + here) / step**2
    curve, way = np.linalg.eigh(bend)
    # along a way that bends upwards the best is beyond what was tried
    along = np.where(curve < 0.0, (way.T @ slope) / np.maximum(-curve, 1e-9), np.sign(way.T @ slope))
    trial = point.copy()
    trial[:axes] += np.clip(way @ along, -1.2, 1.2)
    tried.append((value(trial), trial))
    return max(tried, key=lambda pair: pair[0])[1]
