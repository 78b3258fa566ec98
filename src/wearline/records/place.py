"""Where a wheel end is: axle and side, as in ``1L`` or ``T2R``."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from wearline.errors import ReadingError

__all__ = ["Side", "WheelEndPlace"]

Side = Literal["L", "R"]

_PLACE = re.compile(r"(T?[1-9][0-9]?)([LR])", re.IGNORECASE)


@dataclass(frozen=True, slots=True, order=True)
class WheelEndPlace:
    """One end of one axle.

    Parameters
    ----------
    axle : str
        Axle id counted from the front: ``"1"``, ``"2"``, on a trailer of a combination ``"T1"``.
    side : {"L", "R"}
        Left or right as the driver sits.
    """

    axle: str
    side: Side

    @classmethod
    def parse(cls, text: str) -> WheelEndPlace:
        """Read a place such as ``1L`` or ``T1R``.

        Parameters
        ----------
        text : str
            Axle and side in one word.

        Returns
        -------
        WheelEndPlace
            The place.

        Raises
        ------
        ReadingError
            If the text names no axle and side.
        """
        match = _PLACE.fullmatch(text.strip())
        if match is None:
            raise ReadingError(
                f"'{text}' is not the name of a wheel end",
                allowed="axle number and side, as 1L, 1R, 2L; on a trailer of a combination T1L",
                cure="Count axles from the front; L and R as the driver sits",
            )
        side: Side = "L" if match[2].upper() == "L" else "R"
        return cls(match[1].upper(), side)

    @property
    def mate(self) -> WheelEndPlace:
        """The brake on the other end of the same axle."""
        return WheelEndPlace(self.axle, "R" if self.side == "L" else "L")

    def __str__(self) -> str:
        return f"{self.axle}{self.side}"
