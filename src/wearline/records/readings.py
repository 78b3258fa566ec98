"""One reading as it was taken: measured, observed in words, or not measurable with the reason."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["CORNERS", "Gauge", "Measured", "Observed", "Reading", "ReadingKey", "Unmeasurable"]

CORNERS = ("LT", "LB", "TT", "TB")
"""The four corners of a pad: leading-top, leading-bottom, trailing-top, trailing-bottom."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A number that a person read off a gauge.

    Parameters
    ----------
    value : float
        The reading, or the mean of the repeats [SI].
    raw : str
        What the person typed, kept for ever.
    unit : str
        Unit in which it was typed.
    resolution : float
        Size of one step of the last written digit [SI].
    u : float or None
        Standard uncertainty where the person gave one [SI].
    gauge : str
        Name of the gauge where given.
    repeats : tuple of float
        Every repeated reading [SI]; empty for a single one.
    """

    value: float
    raw: str
    unit: str
    resolution: float = 0.0
    u: float | None = None
    gauge: str = ""
    repeats: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Observed:
    """Something seen or felt, as one of the words of its field.

    Parameters
    ----------
    word : str
        The field's word.
    raw : str
        What the person typed.
    """

    word: str
    raw: str


@dataclass(frozen=True, slots=True)
class Unmeasurable:
    """A check that was tried and could not be taken.

    Parameters
    ----------
    reason : str
        Why, in the person's words.
    """

    reason: str


Reading = Measured | Observed | Unmeasurable
ReadingKey = tuple[str, str]
"""Field name and spot; the spot is empty unless the field is read at several places."""


@dataclass(frozen=True, slots=True)
class Gauge:
    """A gauge that the inspection names.

    Parameters
    ----------
    id : str
        Name used by the readings.
    description : str
        What it is.
    u : float or None
        Standard uncertainty of one reading, where a certificate gives it [SI].
    calibrated_on : str
        Date of the last calibration in ISO form, empty if unknown.
    """

    id: str
    description: str = ""
    u: float | None = None
    calibrated_on: str = ""
