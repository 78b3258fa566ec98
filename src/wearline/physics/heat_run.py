"""The march of the rotor model: blocks of steps, passes for the losses, records.

Internal to `rotor_heat`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from wearline.errors import DomainError
from wearline.physics.cooling import STEFAN_BOLTZMANN
from wearline.physics.domain import require
from wearline.physics.heat_types import INSULATED, Face, Recording, RotorHistory
from wearline.physics.slab_modes import (
    Channel,
    OwnModes,
    SharedModes,
    Slab,
    mode_numbers,
    mode_shapes,
    modes_needed,
    steady_remainder,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from wearline.physics.domain import Number

__all__ = ["Run"]

BLOCKS = (16, 8, 4, 2, 1)
"""Steps that may be advanced together when all slabs are alike, tried in this order."""

PASSES = (2, 12)
"""Corrections of the losses within a block: as many as a long block may need, and a single step."""

LOSS_ERROR = 2e-5
"""[1] Share of a block's rise of surface temperature that the losses may leave unsettled."""

HOT = 900.0
"""[K] Surface temperature at which radiation is reckoned for the choice of the block."""


class _Losses:
    """Flux, convection and radiation of one face, block by block.

    The two surface temperatures of a step are added, not averaged; halves and eighths sit in the
    coefficients.
    """

    def __init__(self, face: Face, ambient: NDArray[np.float64], block: int) -> None:
        count = ambient.size
        self._flux = _by_step(face.flux)
        self._share = np.asarray(face.flux_share, dtype=float)
        self._coefficient = _by_step(face.coefficient)
        self._radiation = STEFAN_BOLTZMANN * np.asarray(face.emissivity, dtype=float)
        # an unknown coefficient must make the temperature unknown, not switch the loss off
        self._radiates = bool(np.any(self._radiation != 0.0))
        self.active = self._radiates or bool(np.any(self._coefficient != 0.0))
        even = np.ptp(ambient) == 0.0 and np.size(self._radiation) == 1
        self._ambient = ambient[:1] if even else ambient
        self._received = self._radiation * self._ambient**4
        self._sum, self._work, self._into, self._source = (np.empty((block, count)) for _ in range(4))
        self.put_in, self.lost = np.zeros(count), np.zeros(count)

    def begin(self, start: int, steps: int) -> None:
        """Take the flux and the coefficients of the next steps."""
        rows = slice(start, start + steps) if len(self._flux) > 1 else slice(0, 1)
        np.multiply(self._flux[rows], self._share, out=self._into[:steps])
        if self.active:
            rows = slice(start, start + steps) if len(self._coefficient) > 1 else slice(0, 1)
            now = self._coefficient[rows]
            self._half = 0.5 * now
            np.add(self._into[:steps], now * self._ambient + self._received, out=self._source[:steps])

    def guess(self, surface: NDArray[np.float64], out: NDArray[np.float64]) -> None:
        """Put the net flux at the surface temperature before the block into `out`."""
        steps = len(out)
        if not self.active:
            out[:] = self._into[:steps]
            return
        both = 2.0 * surface
        work = self._work[:steps]
        np.add(self._half, self._radiation / 16.0 * both * both * both, out=work)
        work *= both
        np.subtract(self._source[:steps], work, out=out)

    def net(self, surface: NDArray[np.float64], out: NDArray[np.float64]) -> None:
        """Put the net flux into `out`; `surface` has the temperature before the block in its first row."""
        steps = len(out)
        if not self.active:
            out[:] = self._into[:steps]
            return
        both, work = self._sum[:steps], self._work[:steps]
        np.add(surface[1:], surface[:-1], out=both)
        if self._radiates:
            np.multiply(both, both, out=work)
            work *= both
            work *= self._radiation / 16.0
            work += self._half
            work *= both
        else:
            np.multiply(self._half, both, out=work)
        np.subtract(self._source[:steps], work, out=out)

    def book(self, net: NDArray[np.float64]) -> None:
        """Add the heat of a settled block, in W/m2 times steps."""
        into = self._into[: len(net)].sum(axis=0)
        self.put_in += into
        if self.active:
            self.lost += into - net.sum(axis=0)

    def strongest(self) -> float:
        """Return the greatest heat given off per temperature difference, [W/(m2 K)]."""
        known = [np.nan_to_num(x).max() for x in (self._coefficient, self._radiation)]
        return float(known[0] + 4.0 * known[1] * HOT**3)


class Run:
    """One run: the faces, the channels of modes and the records.

    Parameters
    ----------
    slab : Slab
        The slab or slabs.
    faces : tuple of Face
        Friction face and far face.
    step : float, [s]
        Time step.
    initial, ambient : float or array, (wheel ends,), [K]
        Temperatures at the start and around.
    recording : Recording
        What to keep.

    Raises
    ------
    DomainError
        If shapes do not fit together or the step is too long for the cooling.
    """

    def __init__(
        self,
        slab: Slab,
        faces: tuple[Face, Face],
        step: float,
        initial: Number,
        ambient: Number,
        recording: Recording,
    ) -> None:
        self.slab, self.step, self.recording = slab, step, recording
        self.steps = _common("steps", [len(_by_step(x)) for f in faces for x in (f.flux, f.coefficient)])
        per_end = [initial, ambient, slab.thickness, slab.material.conductivity, slab.material.heat_capacity]
        per_end += [x for face in faces for x in (face.flux_share, face.emissivity)]
        counts = [np.size(x) for x in per_end]
        counts += [_by_step(x).shape[1] for face in faces for x in (face.flux, face.coefficient)]
        self.count = _common("wheel ends", counts)
        self.initial = np.broadcast_to(np.asarray(initial, dtype=float), (self.count,))
        around = np.ascontiguousarray(np.broadcast_to(np.asarray(ambient, dtype=float), (self.count,)))
        self.two_sided = faces[1] is not INSULATED
        self.block, self.passes = self._choose_block(faces, around)
        used = faces if self.two_sided else faces[:1]
        self.faces = [_Losses(face, around, self.block) for face in used]
        self.channels = self._make_channels()
        self.fluxes = [np.empty((self.block, self.count)) for _ in used]
        highest = max(recording.profile_steps, default=0)
        require("step of a profile", highest, 0, self.steps, unit="")

    def _choose_block(self, faces: tuple[Face, Face], ambient: NDArray[np.float64]) -> tuple[int, int]:
        """Return steps in a block and passes so that the losses settle."""
        strongest = max(_Losses(face, ambient, 1).strongest() for face in faces)
        effusivity = float(np.fmin.reduce(np.ravel(self.slab.material.effusivity)))
        capacity = float(np.fmin.reduce(np.ravel(self.slab.area_capacity)))
        for block in BLOCKS if self.slab.uniform else (1,):
            span = block * self.step
            rise = strongest * (1.13 * np.sqrt(span) / effusivity + span / capacity)
            if rise <= LOSS_ERROR:
                return block, 1
            passes = int(np.ceil(np.log(LOSS_ERROR) / np.log(rise))) - 1 if rise < 1.0 else PASSES[1] + 1
            if passes <= PASSES[0] or (block == 1 and passes <= PASSES[1]):
                return block, max(passes, 1)
        raise DomainError(
            f"the time step is {self.step:g} s with heat given off at up to {strongest:g} W/(m2 K)",
            allowed="a step in which the surface warms little against its excess temperature",
            cure="Take a shorter step.",
        )

    def _make_channels(self) -> list[Channel]:
        highest = modes_needed(self.slab, self.step)
        parities: tuple[int | None, ...] = (0, 1) if self.two_sided else (None,)
        made: list[Channel] = []
        for parity in parities:
            numbers = mode_numbers(highest, parity)
            channel: Channel
            if self.slab.uniform:
                channel = SharedModes(self.slab, self.step, self.block, numbers, parity, self.count)
            else:
                channel = OwnModes(self.slab, self.step, numbers, parity, self.count)
            if parity != 1:
                channel.amplitudes[0] = self.initial
            made.append(channel)
        return made

    def history(self) -> RotorHistory:
        """Run all steps and return what was recorded.

        Returns
        -------
        RotorHistory
            Temperatures and heat.
        """
        net = [np.empty((self.block, self.count)) for _ in self.faces] if self.two_sided else self.fluxes
        parts = [np.empty((self.block, self.count)) for _ in self.faces]
        surfaces = [np.empty((self.block + 1, self.count)) for _ in self.faces]
        for surface in surfaces:
            surface[-1] = self.initial
        records = _Records(self)
        passes = self.passes if any(face.active for face in self.faces) else 0
        for start in range(0, self.steps, self.block):
            n = min(self.block, self.steps - start)
            ends = [surface[: n + 1] for surface in surfaces]
            for channel in self.channels:
                channel.begin(n)
            for face, surface, end, into in zip(self.faces, surfaces, ends, net, strict=True):
                face.begin(start, n)
                face.guess(surface[-1], into[:n])
                end[0] = surface[-1]
            self._surfaces(net, parts, ends, n)
            for _ in range(passes):
                for face, end, into in zip(self.faces, ends, net, strict=True):
                    face.net(end, into[:n])
                self._surfaces(net, parts, ends, n)
            for face, into in zip(self.faces, net, strict=True):
                face.book(into[:n])
            records.take(start, n, ends)
            for channel, flux in zip(self.channels, self.fluxes, strict=True):
                channel.advance(flux[:n])
        return records.history()

    def _surfaces(
        self,
        net: list[NDArray[np.float64]],
        parts: list[NDArray[np.float64]],
        ends: list[NDArray[np.float64]],
        n: int,
    ) -> None:
        """Put the surface temperatures that the net fluxes make into `ends`."""
        driven = [flux[:n] for flux in self.fluxes]
        if not self.two_sided:
            self.channels[0].surface(driven[0], ends[0][1:])
            return
        np.add(net[0][:n], net[1][:n], out=driven[0])
        np.subtract(net[0][:n], net[1][:n], out=driven[1])
        for channel, flux, part in zip(self.channels, driven, parts, strict=True):
            channel.surface(flux, part[:n])
        np.add(parts[0][:n], parts[1][:n], out=ends[0][1:])
        np.subtract(parts[0][:n], parts[1][:n], out=ends[1][1:])


class _Records:
    """What is kept of a run."""

    def __init__(self, run: Run) -> None:
        self._run = run
        recording = run.recording
        self._at = np.arange(recording.every, run.steps + 1, recording.every)
        shape = (self._at.size, run.count)
        self.front = np.empty(shape)
        self.back = np.empty(shape if recording.back else (0, run.count))
        self.mean = np.empty(shape if recording.mean else (0, run.count))
        self._peak = np.array(run.initial)
        self._depth = (np.arange(recording.cells) + 0.5) / recording.cells
        self._profiles = np.empty((len(recording.profile_steps), recording.cells, run.count))
        lead = run.channels[0]
        self._mean_of = lead.observer(np.eye(1, lead.numbers.size)[0], 0.0)
        far = np.ones(1)
        self._back_of = lead.observer(
            mode_shapes(lead.numbers, far)[0],
            steady_remainder(lead.numbers, lead.parity, far)[0] * run.slab.area_resistance,
        )

    def take(self, start: int, n: int, ends: list[NDArray[np.float64]]) -> None:
        """Keep what falls into the block that begins after step `start`."""
        run = self._run
        np.maximum(self._peak, ends[0][1:].max(axis=0), out=self._peak)
        every = run.recording.every
        kept = slice(start // every, (start + n) // every)
        if kept.stop > kept.start:
            rows = slice(int(self._at[kept.start]) - start - 1, n, every)
            self.front[kept] = ends[0][1:][rows]
            if run.recording.mean:
                self._mean_of(rows, run.fluxes[0][:n], self.mean[kept])
            if run.recording.back and run.two_sided:
                self.back[kept] = ends[1][1:][rows]
            elif run.recording.back:
                self._back_of(rows, run.fluxes[0][:n], self.back[kept])
        for i, wanted in enumerate(run.recording.profile_steps):
            if start < wanted <= start + n:
                self._profiles[i] = self._profile(wanted - start)

    def _profile(self, step: int) -> NDArray[np.float64]:
        """Return the temperatures through the thickness from amplitudes and steady remainder."""
        run = self._run
        result = np.zeros((self._depth.size, run.count))
        for channel, flux in zip(run.channels, run.fluxes, strict=True):
            result += mode_shapes(channel.numbers, self._depth) @ channel.state_after(step, flux[:step])
            rest = steady_remainder(channel.numbers, channel.parity, self._depth)
            result += np.outer(rest, run.slab.area_resistance * flux[step - 1])
        return result

    def history(self) -> RotorHistory:
        """Return the records, heat in joules."""
        run = self._run
        zero = np.zeros(run.count)
        stored = run.slab.area_capacity * (run.channels[0].amplitudes[0] - run.initial)
        return RotorHistory(
            time=np.asarray(self._at * run.step, dtype=np.float64),
            front=self.front,
            back=self.back,
            mean=self.mean,
            peak=self._peak,
            put_in=sum((face.put_in for face in run.faces), zero) * run.step,
            lost=sum((face.lost for face in run.faces), zero) * run.step,
            stored=np.asarray(stored),
            positions=self._depth,
            profiles=self._profiles,
        )


def _by_step(value: Number) -> NDArray[np.float64]:
    """Return (steps, wheel ends); a single value stands for every step."""
    array = np.asarray(value, dtype=float)
    return array if array.ndim == 2 else array.reshape(-1, 1)


def _common(what: str, sizes: Sequence[int]) -> int:
    """Return the one size other than 1, or refuse."""
    found = sorted({size for size in sizes if size != 1})
    if len(found) > 1:
        raise DomainError(
            f"the inputs have {' and '.join(str(size) for size in found)} {what}",
            allowed=f"one number of {what}, or single values that hold for all",
            cure="Check the shapes: (steps,) or (steps, wheel ends).",
        )
    return found[0] if found else 1
