"""Wear forecast: speed against general libraries on one likelihood, growth, memory, coverage.

Run ``make bench`` or ``python bench/bench_forecast.py [fleets]``, 20 fleets of 1 000 by default. The
peers get scaled columns, are checked for convergence, and run on the same rows; lme4 only where Rscript and
lme4 are installed, the sampler only where ``WEARLINE_NUTS_PYTHON`` names a Python with numpyro, and it says
so where not. All seconds are those of the processor, one thread.
"""

from __future__ import annotations

import csv
import os
import shutil
import subprocess
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from statistics import median

# CPU seconds are told of one thread; a library's idle second thread would count as work
os.environ["OPENBLAS_NUM_THREADS"] = "1"

import numpy as np

FAR, MM = 1e8, 1e-3
ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "tests" / "forecasting"))

from model_fleets import LIMIT, draw_fleet  # noqa: E402
from practice_fleets import drive_fleet  # noqa: E402

from wearline.forecasting.changes import clean, learn, without_readings  # noqa: E402
from wearline.forecasting.holdout import learn_future_duty  # noqa: E402
from wearline.forecasting.nested import Fitted, Leaves, Tree, fit  # noqa: E402
from wearline.forecasting.padsets import gauge_sums  # noqa: E402
from wearline.forecasting.portions import infer_portions  # noqa: E402
from wearline.forecasting.remaining import crps, quantiles, remaining  # noqa: E402
from wearline.forecasting.settings import ForecastSettings  # noqa: E402
from wearline.forecasting.wear_model import FleetTable, fit_hyper, infer, infer_fleet, widened  # noqa: E402
from wearline.ingest.wear_history import open_wear_history  # noqa: E402

SETTINGS = ForecastSettings()
Rows = tuple[np.ndarray, ...]


def cpu(work: Callable[[], object], rounds: int = 5) -> float:
    taken = []
    for _ in range(rounds):
        start = time.process_time()
        work()
        taken.append(time.process_time() - start)
    return median(taken)


def gaussian_rows(vehicles: int, seed: int = 0, ends: int = 8, reads: int = 6) -> Rows:
    """Log rates with effects of vehicle, wheel end and set, two sets at each end."""
    rng = np.random.default_rng(seed)
    v = np.repeat(np.arange(vehicles), ends * reads)
    w = np.repeat(np.arange(vehicles * ends), reads)
    s = np.repeat(np.arange(vehicles * ends * 2), reads // 2)
    role = (w % 2).astype(float)
    y = 0.3 + 0.2 * role + 0.3 * rng.standard_normal(vehicles)[v] + 0.1 * rng.standard_normal(w.max() + 1)[w]
    y += 0.12 * rng.standard_normal(s.max() + 1)[s] + 0.2 * rng.standard_normal(v.size)
    return y, v, w, s, role


def ours(rows: Rows) -> Fitted:
    y, v, w, s, role = rows
    first = np.flatnonzero(np.r_[True, s[1:] != s[:-1]])
    count = np.diff(np.r_[first, s.size]).astype(float)
    mean = np.add.reduceat(y, first) / count
    scatter = np.add.reduceat((y - np.repeat(mean, count.astype(int))) ** 2, first)
    design = np.column_stack([np.ones(first.size), role[first]])
    leaves = Leaves(count, mean, design, count=count, scatter=scatter)
    return fit(Tree.of([v[first], w[first]]), leaves, np.array([0.1, 0.1, 0.1]), 0.1)


def by_statsmodels(rows: Rows) -> tuple[float, float]:
    import pandas
    import statsmodels.formula.api as smf

    frame = pandas.DataFrame(dict(zip("yvwsr", rows, strict=True)))
    start = time.process_time()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = smf.mixedlm(
            "y ~ r", frame, groups="v", re_formula="1", vc_formula={"w": "0+C(w)", "s": "0+C(s)"}
        ).fit(reml=False)
    assert found.converged
    return time.process_time() - start, float(found.llf)


_LME4 = """
suppressMessages(library(lme4))
d <- read.csv(commandArgs(TRUE)[1])
t <- system.time(m <- lmer(y ~ r + (1|v) + (1|w) + (1|s), d, REML = FALSE,
                           control = lmerControl(calc.derivs = FALSE)))
cat(t[["user.self"]] + t[["sys.self"]], sprintf("%.6f", logLik(m)),
    length(m@optinfo$conv$lme4$messages), "\\n")
"""


def by_lme4(rows: Rows) -> tuple[float, float] | None:
    if shutil.which("Rscript") is None:
        return None
    with tempfile.TemporaryDirectory() as folder:
        table, script = Path(folder) / "rows.csv", Path(folder) / "fit.R"
        with table.open("w", newline="") as file:
            writer = csv.writer(file)
            writer.writerow("yvwsr")
            writer.writerows(zip(*rows, strict=True))
        script.write_text(_LME4)
        done = subprocess.run(
            ["Rscript", str(script), str(table)], capture_output=True, text=True, check=False
        )
    if done.returncode != 0:
        return None
    seconds, value, messages = done.stdout.split()
    assert messages == "0", "lme4 did not converge"
    return float(seconds), float(value)


def some_missing(rows: Rows, share: float) -> Rows:
    """Leave readings out by chance, so that hardly two vehicles are alike."""
    keep = np.random.default_rng(1).uniform(size=rows[0].size) >= share
    return tuple(column[keep] for column in rows)


def same_likelihood() -> None:
    for vehicles, missing in ((1000, 0.0), (10_000, 0.0), (1000, 0.2)):
        rows = some_missing(gaussian_rows(vehicles), missing)
        own = ours(rows)
        taken = cpu(lambda rows=rows: ours(rows))  # type: ignore[misc]
        print(
            f"{vehicles} vehicles, {rows[0].size} rows ({missing:.0%} missing): own {taken:.4f} s, "
            f"logL {own.log_likelihood:.4f}, {own.evaluations} evaluations"
        )
        peers = {"lme4": by_lme4(rows)}
        if vehicles == 1000 and not missing:
            peers["statsmodels"] = by_statsmodels(rows)
        for name, result in peers.items():
            if result is None:
                print(f"  {name}: not installed here")
                continue
            seconds, value = result
            print(
                f"  {name}: {seconds:.2f} s, {seconds / taken:.0f}x, logL {value - own.log_likelihood:+.1e}"
            )
            assert abs(value - own.log_likelihood) < 1e-3


def write_fleet(vehicles: int, path: Path) -> FleetTable:
    """Write a drawn fleet as the sorted file of readings."""
    import polars

    table = draw_fleet(vehicles, 1).table
    tracks, readings = table.tracks, table.readings
    owner = np.repeat(np.arange(tracks.n), tracks.count)

    def column(values: np.ndarray) -> polars.Series:
        return polars.Series(np.where(np.isinf(values), np.nan, values * 1e3)).fill_nan(None)

    def words(second: np.ndarray, names: list[str]) -> polars.Series:
        return polars.Series(second.astype(np.uint32)).replace_strict(
            [0, 1], names, return_dtype=polars.Categorical()
        )

    polars.DataFrame(
        {
            "vehicle": tracks.vehicle[owner].astype(np.int32),
            "wheel_end": (tracks.end[owner] % 8).astype(np.int8),
            "pad_set": tracks.padset[owner].astype(np.int32),
            "duty": words(tracks.design[owner, 1], ["regional", "coach, retarder"]),
            "role": words(tracks.design[owner, 2], ["steer", "drive"]),
            "new_mm": tracks.new[owner] * 1e3,
            "run_km": readings.run / 1e3,
            "friction_mm": column(readings.value),
            "u_mm": readings.u * 1e3,
            "low_mm": column(readings.low),
            "high_mm": column(readings.high),
        }
    ).write_parquet(path, row_group_size=100_000)
    return table


def peak_memory() -> int:
    """Greatest memory held so far [KiB]; the usual count would begin with that of the parent process."""
    lines = Path("/proc/self/status").read_text().splitlines()
    return int(next(line.split()[1] for line in lines if line.startswith("VmHWM")))


def fit_file(path: Path) -> None:
    """In a process of its own: fit a file, and print seconds, those of the plain read, and memory added."""
    import polars

    small = draw_fleet(50, 2).table  # what the libraries take at their first use is not the fleet's
    infer_fleet(small, fit_hyper(small, SETTINGS))
    if path.stem.startswith("read"):
        print(cpu(lambda: polars.read_parquet(path.with_name(path.name[4:])), 5))
        return
    polars.scan_parquet(path).head(10).collect()
    before = peak_memory()
    start = time.process_time()
    history = open_wear_history(path, SETTINGS)
    hyper = fit_hyper(history.some(), SETTINGS)
    learnt = time.process_time()
    known = infer_portions(history.portions(), hyper)
    end = time.process_time()
    added = peak_memory() - before
    assert known.rate.size > 0
    print(learnt - start, end - learnt, added)


def _child(path: Path) -> list[float]:
    done = subprocess.run(
        [sys.executable, __file__, "--file", str(path)], capture_output=True, text=True, check=True
    )
    return [float(word) for word in done.stdout.split()]


def growth() -> None:
    one_thousand = 0.0
    for vehicles in (1000, 10_000, 100_000):
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "fleet.parquet"
            rows = int(write_fleet(vehicles, path).readings.run.size)
            (read,) = _child(path.with_name("read" + path.name))
            learn_time, pass_time, added = (
                median(each) for each in zip(*(_child(path) for _ in range(3)), strict=True)
            )
        total = learn_time + pass_time
        one_thousand = one_thousand or total
        print(
            f"{vehicles} vehicles, {rows} readings: learn {learn_time:.2f} s, pass {pass_time:.2f} s, "
            f"{total / read:.1f}x the polars read ({read:.3f} s), {total / one_thousand:.1f}x that of 1 000, "
            f"{added / vehicles:.2f} KiB added for each vehicle ({added / 1024:.0f} MiB)",
            flush=True,
        )
    table = draw_fleet(1000, 1).table
    hyper = fit_hyper(table, SETTINGS)
    one = table.vehicles(np.array([500]))
    print(f"one vehicle brought up to date: {1e3 * cpu(lambda: infer(one, hyper)):.1f} ms")


def sampler_rows(table: FleetTable) -> dict[str, np.ndarray]:
    """The table as the sampler takes it: friction in mm, distance in 100 000 km, one row for each set."""
    tracks, readings = table.tracks, table.readings
    owner = np.repeat(np.arange(tracks.n), tracks.count)
    place = np.arange(owner.size) - tracks.start[owner]

    def wide(values: np.ndarray | float, rest: float) -> np.ndarray:
        made = np.full((tracks.n, int(tracks.count.max())), rest)
        made[owner, place] = values
        return made

    between = np.flatnonzero(np.isnan(readings.value))
    vehicle = np.flatnonzero(np.r_[True, tracks.vehicle[1:] != tracks.vehicle[:-1]])
    end = np.flatnonzero(np.r_[True, tracks.end[1:] != tracks.end[:-1]])
    duty = np.array([name.startswith("duty") for name in table.effects])
    spreads = (SETTINGS.vehicle_spread, SETTINGS.end_spread, SETTINGS.set_spread)
    return {
        "run": wide(readings.run / FAR, 0.0),
        "value": wide(readings.value / MM, np.nan),
        "u": wide(readings.u / MM, 1.0),
        "there": wide(1.0, 0.0) > 0,
        "new": tracks.new / MM,
        "u_new": tracks.u_new / MM,
        "i_set": owner[between],
        "i_run": readings.run[between] / FAR,
        "i_low": np.maximum(readings.low[between] / MM, -1e3),
        "i_high": np.minimum(readings.high[between] / MM, 1e3),
        "i_u": readings.u[between] / MM,
        "vehicle_design": tracks.design[vehicle] * duty,
        "end_design": tracks.design[end] * ~duty,
        "end_vehicle": np.searchsorted(vehicle, end, side="right") - 1,
        "set_end": np.searchsorted(end, np.arange(tracks.n), side="right") - 1,
        "effect_mean": table.effect_mean + np.where(duty, np.log(FAR / MM), 0.0),
        "effect_spread": table.effect_spread,
        "variance": np.square(spreads),
        "route": np.array(SETTINGS.route / FAR),
        "misread": np.array(SETTINGS.misread),
    }


def held_out(table: FleetTable) -> tuple[FleetTable, np.ndarray, np.ndarray]:
    """The table without the last thickness of every wheel end, with sets and rows of what is held back."""
    tracks = table.tracks
    owner = np.repeat(np.arange(tracks.n), tracks.count)
    gauges = np.flatnonzero(~np.isnan(table.readings.value))
    last = gauges[np.r_[tracks.end[owner[gauges]][1:] != tracks.end[owner[gauges]][:-1], True]]
    drop = np.zeros(owner.size, dtype=bool)
    drop[last] = True
    # the last reading of its set, so that it lies ahead of all that is left
    usable = last[last == (tracks.start + tracks.count - 1)[owner[last]]]
    return without_readings(table, drop), owner[usable], usable


def predicted(
    table: FleetTable,
    sets: np.ndarray,
    held: tuple[np.ndarray, np.ndarray],
    point: tuple[np.ndarray, float, float],
) -> tuple[np.ndarray, np.ndarray]:
    """Mean and standard deviation of readings held back, at given log rates, noise and roads."""
    z, scale, route = point
    run, u = held
    rate = np.exp(z)
    sums = gauge_sums(table.tracks, table.readings, rate=rate, route=route, scale=scale)
    gap = run - sums.last[sets]
    mean = sums.level[sets] + (sums.slope[sets] - gap) * rate[sets]
    return mean, np.sqrt(sums.variance[sets] + route * rate[sets] ** 2 * gap + (scale * u) ** 2)


def against_sampler(vehicles: int = 100, draws: int = 1000) -> None:
    python = os.environ.get("WEARLINE_NUTS_PYTHON", "")
    if not python:
        print("full model against a sampler: numpyro not installed here (WEARLINE_NUTS_PYTHON)")
        return
    whole = draw_fleet(vehicles, 1).table
    table, sets, rows = held_out(whole)
    truth = whole.readings.value[rows]
    held = (whole.readings.run[rows], whole.readings.u[rows])
    taken = cpu(lambda: infer_fleet(table, fit_hyper(table, SETTINGS)), 9)
    hyper = fit_hyper(table, SETTINGS)
    known = infer_fleet(table, hyper)
    with tempfile.TemporaryDirectory() as folder:
        given, made = Path(folder) / "rows.npz", Path(folder) / "draws.npz"
        np.savez(given, **sampler_rows(table))
        peer = Path(__file__).with_name("peer_nuts.py")
        subprocess.run([python, str(peer), str(given), str(made)], check=True)
        with np.load(made) as file:
            found = {name: file[name] for name in file.files}
    rng = np.random.default_rng(0)
    noise = rng.standard_normal((truth.size, draws))
    at = np.linspace(0, found["z"].shape[0] - 1, draws).astype(int)
    theirs, own = np.empty((truth.size, draws)), np.empty((truth.size, draws))
    for i, row in enumerate(at):
        z = found["z"][row] - np.log(FAR / MM)
        mean, spread = predicted(
            table, sets, held, (z, float(found["scale"][row]), float(found["route"][row]) * FAR)
        )
        theirs[:, i] = mean + spread * noise[:, i]
        z = known.mean + np.sqrt(known.variance) * rng.standard_normal(known.mean.size)
        mean, spread = predicted(table, sets, held, (z, hyper.scale, hyper.route))
        own[:, i] = mean + spread * noise[:, i]
    scores = [float(crps(each, truth).mean()) * 1e3 for each in (own, theirs)]
    seconds, rhat, size = (float(found[name]) for name in ("seconds", "rhat", "effective"))
    print(
        f"full model, {vehicles} vehicles: own {taken:.4f} s; NUTS {seconds:.0f} s, {seconds / taken:.0f}x, "
        f"R-hat {rhat:.4f}, least effective number {size:.0f} of {int(found['draws'])} draws; CRPS of "
        f"{truth.size} readings held back {scores[0]:.4f} mm against {scores[1]:.4f} mm, "
        f"{100 * (scores[0] / scores[1] - 1):+.2f} %",
        flush=True,
    )


def coverage(fleets: int) -> None:
    faults = {
        "outliers": 0.02,
        "misread": 0.03,
        "unrecorded": 0.05,
        "rollbacks": 0.01,
        "missing": 0.05,
        "steps": 0.3,
    }
    for name, options in (("clean", {}), ("clean, steps of 25 %", {"steps": 0.3}), ("faulty", faults)):
        _report(f"simulator, {name}", [_driven(1000, 1000 + seed, options) for seed in range(fleets)])
    worse = {name: share for name, share in faults.items() if name not in ("rollbacks", "steps")}
    for name, options in (("clean", {}), ("faulty", worse)):
        _report(f"model, {name}", [_drawn(1000, 1000 + seed, options) for seed in range(fleets)])


def _report(name: str, rows: list[tuple[float, ...]]) -> None:
    table = np.array(rows)
    mean = table.mean(axis=0)
    error = table.std(axis=0) / np.sqrt(len(rows))
    low, high = (f"{100 * mean[i]:.1f} +- {100 * error[i]:.1f}" for i in (0, 1))
    print(
        f"{name}, {len(rows)} fleets: 80 % {low}, 95 % {high}, CRPS {mean[2] / 1e6:.2f} thousand km; "
        f"affected ends alone {100 * mean[3]:.1f}; changes found {100 * mean[4]:.1f} %, "
        f"false {100 * mean[5]:.2f} %",
        flush=True,
    )


def _scored(fleet, cleaned, hyper, future, today, affected) -> tuple[float, float, float, float]:  # type: ignore[no-untyped-def]
    table = cleaned.table
    drawn = remaining(
        table,
        hyper,
        infer_fleet(table, hyper),
        [LIMIT],
        future_duty=future,
        draws=400,
        rng=np.random.default_rng(1),
        since_fitting=today,
        doubts=cleaned.doubts(),
    )
    q = quantiles(drawn.distance[:, 0], [0.025, 0.1, 0.9, 0.975])
    use = fleet.left > 0
    hit = (fleet.left >= q[:, 1]) & (fleet.left <= q[:, 2])
    broad = (fleet.left >= q[:, 0]) & (fleet.left <= q[:, 3])
    score = float(crps(drawn.distance[use, 0], fleet.left[use]).mean())
    own = float(hit[affected].mean()) if affected.any() else float("nan")
    return float(hit[use].mean()), float(broad[use].mean()), score, own


def _prepared(fleet):  # type: ignore[no-untyped-def]
    hyper = learn(fleet.table, SETTINGS)
    cleaned = clean(fleet.table, hyper, SETTINGS)
    tracks = cleaned.table.tracks
    last = np.flatnonzero(np.r_[tracks.end[1:] != tracks.end[:-1], True])
    return hyper, cleaned, cleaned.shift[tracks.padset[last]]


def _driven(vehicles: int, seed: int, options: dict[str, float]) -> tuple[float, ...]:
    fleet = drive_fleet(vehicles, seed, **options)
    hyper, cleaned, shift = _prepared(fleet)
    future = learn_future_duty(cleaned.table, hyper, SETTINGS)
    affected = fleet.silent & fleet.seen
    hyper = widened(cleaned.table, hyper)
    # ends with a change that nobody recorded, and those of vehicles whose odometer was set back
    concerned = affected | fleet.rolled
    found = _scored(fleet, cleaned, hyper, future, fleet.since_fitting - shift, concerned)
    tracks = fleet.table.tracks
    last = np.flatnonzero(np.r_[tracks.end[1:] != tracks.end[:-1], True])
    told = np.zeros(tracks.n, dtype=bool)
    told[[c.padset for c in cleaned.changes if c.decided and c.new_pads]] = True
    told = told[last]
    rate = told[affected].mean() if affected.any() else float("nan")
    return (*found, float(rate), float(told[~fleet.silent].mean()))


def _drawn(vehicles: int, seed: int, options: dict[str, float]) -> tuple[float, ...]:
    fleet = draw_fleet(vehicles, seed, **options)
    hyper, cleaned, shift = _prepared(fleet)
    tracks = fleet.table.tracks
    owner = np.repeat(np.arange(tracks.n), tracks.count)
    seen = np.zeros(tracks.n, dtype=bool)
    np.logical_or.at(seen, owner, fleet.fault["reading_silent"])
    affected = fleet.fault["silent"] & seen[fleet.rows]
    # these fleets change their duty by 15 % on the last day, which no history can show
    found = _scored(fleet, cleaned, hyper, 0.15, fleet.real_start - shift, affected)
    told = np.zeros(tracks.n, dtype=bool)
    told[[c.padset for c in cleaned.changes if c.decided and c.new_pads]] = True
    rate = told[seen].mean() if seen.any() else float("nan")
    return (*found, float(rate), float(told[~seen].mean()))


def main() -> None:
    if sys.argv[1:2] == ["--file"]:
        fit_file(Path(sys.argv[2]))
        return
    fleets = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    same_likelihood()
    growth()
    against_sampler()
    coverage(fleets)


if __name__ == "__main__":
    main()
