"""An hour of braking at 0.1 s for 1 000 rotors against scikit-fem on one rotor, in the same run.

Run ``python bench/bench_rotor_heat.py``. Both sides take the same duty (snubs of 5 s every minute, convection
and radiation at the friction face, insulated middle plane, 22.5 mm), in turn, on one thread; quote the
ratio of the medians per wheel end. scikit-fem assembles 60 linear elements and steps by Crank-Nicolson with
one factorisation; it also runs with 1 000 right-hand sides at once, which is how one would batch it by
hand. Then the errors: first step under constant flux against the closed solution, and ten minutes of the
duty against a finer reference.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

import math
import time
from statistics import median
from typing import TYPE_CHECKING

import numpy as np
import skfem
from scipy.sparse.linalg import splu
from skfem.models.poisson import laplace, mass

from wearline.physics.materials import Material
from wearline.physics.rotor_heat import Face, Recording, Slab, heat_rotors

if TYPE_CHECKING:
    from collections.abc import Callable

IRON = Material(50.0, 7200.0, 460.0)
THICKNESS, STEP, STEPS, WHEEL_ENDS, CELLS = 0.0225, 0.1, 36_000, 1_000, 60
COEFFICIENT, EMISSIVITY, ROOM = 50.0, 0.6, 293.15
SIGMA = 5.670374419e-8
ROUNDS = 5
BATCH_STEPS = 1_800


def duty(steps: int) -> np.ndarray:
    place = np.arange(steps) % 600
    return np.where(place < 50, 1.2e6 * (1.0 - (place + 0.5) / 50.0), 0.0)


def ours(
    flux: np.ndarray, shares: np.ndarray | float, step: float = STEP, every: int = 10, passes: bool = True
) -> np.ndarray:
    losses = {"coefficient": COEFFICIENT, "emissivity": EMISSIVITY} if passes else {}
    face = Face(flux, shares, **losses)
    history = heat_rotors(
        Slab(THICKNESS, IRON),
        face,
        step=step,
        initial=ROOM,
        ambient=ROOM,
        recording=Recording(every=every, back=False, mean=False),
    )
    return history.front


class Elements:
    """scikit-fem with a theta scheme, one factorisation, any number of right-hand sides."""

    def __init__(self, cells: int, step: float, theta: float) -> None:
        mesh = skfem.MeshLine(np.linspace(0.0, THICKNESS, cells + 1))
        basis = skfem.Basis(mesh, skfem.ElementLineP1())
        stiffness = IRON.conductivity * laplace.assemble(basis)
        capacity = IRON.heat_capacity * mass.assemble(basis)
        self.solve = splu((capacity + theta * step * stiffness).tocsc()).solve
        self.explicit = (capacity - (1.0 - theta) * step * stiffness).tocsr()
        self.front = int(np.argmin(basis.doflocs[0]))
        self.size, self.step = cells + 1, step

    def run(self, flux: np.ndarray, shares: np.ndarray | None = None, losses: bool = True) -> np.ndarray:
        shape = (self.size,) if shares is None else (self.size, len(shares))
        temperature, result = np.full(shape, ROOM), []
        share = 1.0 if shares is None else shares
        for value in flux:
            right = self.explicit @ temperature
            surface = temperature[self.front]
            net = value * share
            if losses:
                net = net - COEFFICIENT * (surface - ROOM) - EMISSIVITY * SIGMA * (surface**4 - ROOM**4)
            right[self.front] += self.step * net
            temperature = self.solve(right)
            result.append(temperature[self.front])
        return np.array(result)


def timed(work: Callable[[], object]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start


def speeds() -> None:
    flux = duty(STEPS)
    shares = np.random.default_rng(7).uniform(0.6, 1.4, WHEEL_ENDS)
    peer = Elements(CELLS, STEP, 0.5)
    ours(flux[:600], shares)
    rows = []
    for _ in range(ROUNDS):
        rows.append(
            (
                timed(lambda: ours(flux, shares)),
                timed(lambda: peer.run(flux)),
                timed(lambda: peer.run(flux[:BATCH_STEPS], shares)) * STEPS / BATCH_STEPS,
            )
        )
    own, single, batch = (median(column) for column in zip(*rows, strict=True))
    print(f"{STEPS} steps of {STEP} s, CPU seconds, median of {ROUNDS} rounds on one thread")
    print(f"  wearline, {WHEEL_ENDS} wheel ends          {own:8.3f}   {own / WHEEL_ENDS * 1e3:.3f} ms each")
    print(f"  scikit-fem, 1 wheel end, {CELLS} cells  {single:8.3f}")
    print(f"  scikit-fem, {WHEEL_ENDS} right-hand sides  {batch:8.1f}   (from {BATCH_STEPS} steps)")
    print(
        f"  per wheel end: {single / (own / WHEEL_ENDS):.0f}x scikit-fem, {batch / own:.0f}x batched by hand"
    )


def errors() -> None:
    exact = 2.0 / math.sqrt(math.pi) * 1e6 * math.sqrt(STEP) / IRON.effusivity
    flux = np.full(10, 1e6)
    print("surface after the first 0.1 s under constant flux, error against the closed solution")
    for name, rise in (
        ("wearline", ours(flux, 1.0, every=1, passes=False)[0, 0] - ROOM),
        ("implicit Euler, 60 cells", Elements(CELLS, STEP, 1.0).run(flux, losses=False)[0] - ROOM),
        ("Crank-Nicolson, 60 cells", Elements(CELLS, STEP, 0.5).run(flux, losses=False)[0] - ROOM),
        ("implicit Euler, 240 cells", Elements(240, STEP, 1.0).run(flux, losses=False)[0] - ROOM),
    ):
        print(f"  {name:28s}{100 * (rise / exact - 1):+9.4f} %")
    print("ten minutes with cooling, greatest difference of the friction face from 240 cells at 0.005 s")
    reference = Elements(240, 0.005, 0.5).run(np.repeat(duty(6_000), 20))[19::20]
    for name, front in (
        ("wearline, 0.1 s", ours(duty(6_000), 1.0, every=1)[:, 0]),
        ("wearline, 0.025 s", ours(np.repeat(duty(6_000), 4), 1.0, step=0.025, every=4)[:, 0]),
        ("Crank-Nicolson, 60 cells, 0.1 s", Elements(CELLS, STEP, 0.5).run(duty(6_000))),
    ):
        difference = np.abs(front - reference)
        print(f"  {name:33s}{difference.max():8.3f} K  (mean {difference.mean():.4f} K)")


if __name__ == "__main__":
    speeds()
    errors()
