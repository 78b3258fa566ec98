"""Exact propagation of heat through a slab, step by step, for many slabs at once.

The temperature of a slab with given heat flux on its faces is a sum of cosines, each decaying at its own
rate. For a flux that is constant within a step each cosine is advanced exactly; those too quick to outlive
a step are taken at their steady value, which the sums of 1/k^2 give in closed form. So the surface is right
from the first step on, where an implicit scheme is out by a tenth.

Slabs that are all alike are advanced a block of steps at a time by matrix products; slabs of different
thickness or material are advanced one step at a time, each with its own decay.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol, TypeAlias

import numpy as np

from wearline.physics.domain import require_positive
from wearline.physics.materials import GREY_IRON, Material

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from wearline.physics.domain import Number

__all__ = [
    "Channel",
    "Observer",
    "OwnModes",
    "SharedModes",
    "Slab",
    "mode_numbers",
    "mode_shapes",
    "modes_needed",
    "steady_remainder",
]

REACH = 2.5
"""Modes are kept up to this over the root of the first decay a step: the rest is below 1e-4 of the rise."""


@dataclass(frozen=True, slots=True)
class Slab:
    """The body that the heat goes through, from the friction face to the far face.

    Half of a solid rotor between a face and its middle plane (far face insulated by symmetry), one ring of
    a vented rotor (far face cooled by the vanes), or a whole rotor heated unequally from both faces.

    Parameters
    ----------
    thickness : float or array, (wheel ends,), [m], more than 0
        Way from the friction face to the far face. For a vented rotor the thickness that has the ring's mass.
    material : Material, optional
        Grey iron by default.

    Raises
    ------
    DomainError
        If the thickness is not positive.
    """

    thickness: Number
    material: Material = GREY_IRON

    def __post_init__(self) -> None:
        require_positive("thickness of the slab", self.thickness, unit="m")

    @property
    def area_capacity(self) -> Number:
        """Heat capacity of a column of one square metre, [J/(m2 K)]."""
        return self.material.heat_capacity * self.thickness

    @property
    def area_resistance(self) -> Number:
        """Thickness over conductivity, [m2 K/W]."""
        return self.thickness / self.material.conductivity

    @property
    def uniform(self) -> bool:
        """Whether all slabs are alike."""
        values = (self.thickness, self.material.conductivity, self.material.heat_capacity)
        return all(np.ptp(np.asarray(value, dtype=float)) == 0.0 for value in values)


def modes_needed(slab: Slab, step: float) -> int:
    """Return how many cosines outlive a step enough to be kept.

    Parameters
    ----------
    slab : Slab
        The slab or slabs.
    step : float, [s], more than 0
        Time step.

    Returns
    -------
    int
        Number of the highest mode; the mean is mode 0.

    Raises
    ------
    DomainError
        If the step is not positive.
    """
    require_positive("time step", step, unit="s")
    first = slab.material.diffusivity * (math.pi / slab.thickness) ** 2 * step
    slowest = float(np.fmin.reduce(np.ravel(first)))
    return max(2, math.ceil(REACH / math.sqrt(slowest))) if slowest > 0.0 else 2


def mode_numbers(highest: int, parity: int | None) -> NDArray[np.float64]:
    """Return the numbers of the modes of one channel.

    Parameters
    ----------
    highest : int
        Highest mode kept.
    parity : int or None
        0 for the even ones, 1 for the odd ones, None for all.

    Returns
    -------
    array, (modes,), [1]
        Mode numbers, rising.
    """
    if parity is None:
        return np.arange(0.0, highest + 1.0)
    return np.arange(float(parity), highest + 1.0, 2.0)


def mode_shapes(numbers: NDArray[np.float64], depth: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the cosines at some depths.

    Parameters
    ----------
    numbers : array, (modes,)
        Mode numbers.
    depth : array, (cells,), [1], 0 to 1
        Depth below the friction face over the thickness.

    Returns
    -------
    array, (cells, modes), [1]
        cos(k pi x / L).
    """
    return np.cos(np.pi * np.outer(depth, numbers))


def steady_remainder(
    numbers: NDArray[np.float64], parity: int | None, depth: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the steady temperature of the modes left out, for a unit flux, over thickness and conductivity.

    Parameters
    ----------
    numbers : array, (modes,)
        Numbers of the modes kept.
    parity : int or None
        Which family they are.
    depth : array, (cells,), [1], 0 to 1
        Depth below the friction face over the thickness.

    Returns
    -------
    array, (cells,), [1]
        To be multiplied with flux times thickness over conductivity.

    Notes
    -----
    All modes together are the parabola 1/3 - x + x^2/2 of a slab heated evenly at one face; even and odd
    ones are its even and odd halves about the middle. Fourier series of a parabola.
    """
    parabola = 1.0 / 3.0 - depth + 0.5 * depth**2
    mirrored = 1.0 / 3.0 - (1.0 - depth) + 0.5 * (1.0 - depth) ** 2
    whole = {None: parabola, 0: 0.5 * (parabola + mirrored), 1: 0.5 * (parabola - mirrored)}[parity]
    kept = numbers[numbers > 0.0]
    remainder: NDArray[np.float64] = whole - mode_shapes(kept, depth) @ (2.0 / (np.pi * kept) ** 2)
    return remainder


Observer: TypeAlias = "Callable[[slice, NDArray[np.float64], NDArray[np.float64]], None]"
"""Puts a weighted sum of amplitudes at the end of some of the prepared steps into an array."""


class Channel(Protocol):
    """A family of modes driven by one flux, giving its part of the surface temperature."""

    amplitudes: NDArray[np.float64]
    numbers: NDArray[np.float64]
    parity: int | None

    def begin(self, steps: int) -> None:
        """Prepare the next steps from the present amplitudes.

        Parameters
        ----------
        steps : int
            Number of steps, at most the block.
        """

    def surface(self, flux: NDArray[np.float64], out: NDArray[np.float64]) -> None:
        """Put the surface temperature at the end of each step into `out`.

        Parameters
        ----------
        flux : array, (steps, wheel ends), [W/m2]
            Net flux into the slab.
        out : array, (steps, wheel ends), [K]
            Result.
        """

    def advance(self, flux: NDArray[np.float64]) -> None:
        """Advance the amplitudes over the prepared steps.

        Parameters
        ----------
        flux : array, (prepared steps, wheel ends), [W/m2]
            Net flux into the slab.
        """

    def state_after(self, steps: int, flux: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the amplitudes after some of the prepared steps.

        Parameters
        ----------
        steps : int
            Number of steps, at most those prepared.
        flux : array, (prepared steps, wheel ends), [W/m2]
            Net flux into the slab.

        Returns
        -------
        array, (modes, wheel ends), [K]
            Amplitudes.
        """

    def observer(self, weights: NDArray[np.float64], rest: Number) -> Observer:
        """Return a function that gives a weighted sum of the amplitudes at the end of some steps.

        Parameters
        ----------
        weights : array, (modes,), [1]
            Weight of each mode.
        rest : float or array, (wheel ends,), [m2 K/W]
            Steady temperature of the modes left out for a unit flux, at the same place.

        Returns
        -------
        callable
            Called with the steps (slice), the flux, (steps, wheel ends), [W/m2], and the array for the
            result.
        """


def _decay_and_gain(
    slab: Slab, step: float, numbers: NDArray[np.float64], parity: int | None
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return decay a step, gain a step and the steady remainder of the modes left out at the surface."""
    k = numbers[:, None]
    thickness = np.asarray(slab.thickness, dtype=float).reshape(1, -1)
    conductivity = np.asarray(slab.material.conductivity, dtype=float).reshape(1, -1)
    capacity = np.asarray(slab.area_capacity, dtype=float).reshape(1, -1)
    diffusivity = np.asarray(slab.material.diffusivity, dtype=float).reshape(1, -1)
    rate = diffusivity * (k * math.pi / thickness) ** 2
    with np.errstate(divide="ignore", invalid="ignore"):
        steady = np.where(k > 0.0, 2.0 * thickness / (conductivity * math.pi**2 * k**2), 0.0)
    gain = np.where(k > 0.0, steady * -np.expm1(-rate * step), step / capacity)
    remainder = (thickness / conductivity)[0] * steady_remainder(numbers, parity, np.zeros(1))
    return np.exp(-rate * step), gain, remainder


class SharedModes:
    """Channel of slabs that are all alike: a block of steps as matrix products.

    Parameters
    ----------
    slab : Slab
        The slab.
    step : float, [s]
        Time step.
    block : int
        Most steps in a block.
    numbers : array, (modes,)
        Mode numbers.
    parity : int or None
        Which family they are.
    count : int
        Wheel ends.
    """

    def __init__(
        self,
        slab: Slab,
        step: float,
        block: int,
        numbers: NDArray[np.float64],
        parity: int | None,
        count: int,
    ) -> None:
        one = Slab(
            float(np.ravel(slab.thickness)[0]),
            Material(
                float(np.ravel(slab.material.conductivity)[0]),
                float(np.ravel(slab.material.density)[0]),
                float(np.ravel(slab.material.specific_heat)[0]),
            ),
        )
        decay, gain, remainder = (x.ravel() for x in _decay_and_gain(one, step, numbers, parity))
        power = np.arange(block)[:, None]
        self._powers = decay ** np.arange(block + 1)[:, None]
        self.numbers, self.parity = numbers, parity
        self._decays, self._gain = decay**power, gain
        self._surface_of_state = self._powers[1:]
        self._surface_of_flux = self._of_flux(np.ones(numbers.size), remainder[0])
        self._state_of_flux = (gain * decay ** power[::-1]).T.copy()
        self.amplitudes = np.zeros((numbers.size, count))
        self._base = np.empty((block, count))
        self._added = np.empty((numbers.size, count))
        self._steps = block

    def begin(self, steps: int) -> None:
        """Prepare the next steps from the present amplitudes.

        Parameters
        ----------
        steps : int
            Number of steps, at most the block.
        """
        self._steps = steps
        np.matmul(self._surface_of_state[:steps], self.amplitudes, out=self._base[:steps])

    def surface(self, flux: NDArray[np.float64], out: NDArray[np.float64]) -> None:
        """Put the surface temperature at the end of each step into `out`.

        Parameters
        ----------
        flux : array, (steps, wheel ends), [W/m2]
            Net flux into the slab.
        out : array, (steps, wheel ends), [K]
            Result.
        """
        n = self._steps
        np.matmul(self._surface_of_flux[:n, :n], flux, out=out)
        out += self._base[:n]

    def advance(self, flux: NDArray[np.float64]) -> None:
        """Advance the amplitudes over the prepared steps.

        Parameters
        ----------
        flux : array, (prepared steps, wheel ends), [W/m2]
            Net flux into the slab.
        """
        steps = len(flux)
        self.amplitudes *= self._powers[steps][:, None]
        of_flux = self._state_of_flux[:, self._state_of_flux.shape[1] - steps :]
        np.matmul(of_flux, flux, out=self._added)
        self.amplitudes += self._added

    def state_after(self, steps: int, flux: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the amplitudes after some of the prepared steps.

        Parameters
        ----------
        steps : int
            Number of steps, at most those prepared.
        flux : array, (prepared steps, wheel ends), [W/m2]
            Net flux into the slab.

        Returns
        -------
        array, (modes, wheel ends), [K]
            Amplitudes.
        """
        state = self._state_of_flux[:, self._state_of_flux.shape[1] - steps :] @ flux[:steps]
        state += self._powers[steps][:, None] * self.amplitudes
        return state

    def observer(self, weights: NDArray[np.float64], rest: Number) -> Observer:
        """Return a function that gives a weighted sum of the amplitudes at the end of some steps.

        Parameters
        ----------
        weights : array, (modes,), [1]
            Weight of each mode.
        rest : float or array, [m2 K/W]
            Steady temperature of the modes left out for a unit flux, at the same place.

        Returns
        -------
        callable
            Called with the steps (slice), the flux, (steps, wheel ends), [W/m2], and the array for the
            result.
        """
        of_state = self._powers[1:] * weights
        of_flux = self._of_flux(weights, float(np.ravel(rest)[0]))

        def observe(rows: slice, flux: NDArray[np.float64], out: NDArray[np.float64]) -> None:
            np.matmul(of_flux[rows, : len(flux)], flux, out=out)
            out += of_state[rows] @ self.amplitudes

        return observe

    def _of_flux(self, weights: NDArray[np.float64], rest: float) -> NDArray[np.float64]:
        """Return what a unit flux in one step does at the end of each, (steps, steps)."""
        kernel = self._decays @ (self._gain * weights)
        kernel[0] += rest
        power = np.arange(len(kernel))
        lag = power[:, None] - power
        return np.where(lag >= 0, kernel[np.abs(lag)], 0.0)


class OwnModes:
    """Channel of slabs that differ: one step at a time, each slab with its own decay.

    Parameters
    ----------
    slab : Slab
        The slabs.
    step : float, [s]
        Time step.
    numbers : array, (modes,)
        Mode numbers.
    parity : int or None
        Which family they are.
    count : int
        Wheel ends.
    """

    def __init__(
        self, slab: Slab, step: float, numbers: NDArray[np.float64], parity: int | None, count: int
    ) -> None:
        decay, gain, remainder = _decay_and_gain(slab, step, numbers, parity)
        self.numbers, self.parity = numbers, parity
        self._decay = np.ascontiguousarray(np.broadcast_to(decay, (numbers.size, count)))
        self._gain = np.ascontiguousarray(np.broadcast_to(gain, (numbers.size, count)))
        self._direct = self._gain.sum(axis=0) + remainder
        self.amplitudes = np.zeros((numbers.size, count))
        self._decayed = np.zeros((numbers.size, count))
        self._base = np.zeros((1, count))

    def begin(self, steps: int) -> None:
        """Prepare the next step from the present amplitudes.

        Parameters
        ----------
        steps : int
            1.
        """
        np.multiply(self.amplitudes, self._decay, out=self._decayed)
        np.sum(self._decayed, axis=0, out=self._base[:steps][0])

    def surface(self, flux: NDArray[np.float64], out: NDArray[np.float64]) -> None:
        """Put the surface temperature at the end of the step into `out`.

        Parameters
        ----------
        flux : array, (1, wheel ends), [W/m2]
            Net flux into the slab.
        out : array, (1, wheel ends), [K]
            Result.
        """
        np.multiply(self._direct, flux, out=out)
        out += self._base

    def advance(self, flux: NDArray[np.float64]) -> None:
        """Advance the amplitudes over the prepared step.

        Parameters
        ----------
        flux : array, (1, wheel ends), [W/m2]
            Net flux into the slab.
        """
        np.multiply(self._gain, flux, out=self.amplitudes)
        self.amplitudes += self._decayed

    def state_after(self, steps: int, flux: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the amplitudes after the prepared step.

        Parameters
        ----------
        steps : int
            1.
        flux : array, (1, wheel ends), [W/m2]
            Net flux into the slab.

        Returns
        -------
        array, (modes, wheel ends), [K]
            Amplitudes.
        """
        return self._decayed + self._gain * flux[:steps]

    def observer(self, weights: NDArray[np.float64], rest: Number) -> Observer:
        """Return a function that gives a weighted sum of the amplitudes at the end of the step.

        Parameters
        ----------
        weights : array, (modes,), [1]
            Weight of each mode.
        rest : float or array, (wheel ends,), [m2 K/W]
            Steady temperature of the modes left out for a unit flux, at the same place.

        Returns
        -------
        callable
            Called with the steps (slice), the flux, (1, wheel ends), [W/m2], and the array for the result.
        """

        def observe(rows: slice, flux: NDArray[np.float64], out: NDArray[np.float64]) -> None:
            out[:] = weights @ self.state_after(1, flux) + rest * flux[rows]

        return observe
