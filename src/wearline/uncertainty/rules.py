"""The words of a decision: sense of a limit and decision rule. Loads no array library.

Source: JCGM 106:2012 (ISO/IEC Guide 98-4), section 8.
"""

from __future__ import annotations

from enum import Enum

__all__ = ["DecisionRule", "Sense"]


class Sense(Enum):
    """On which side of a limit an item is good."""

    AT_LEAST = "at least"
    AT_MOST = "at most"


class DecisionRule(Enum):
    """How a value is held against a limit.

    Notes
    -----
    ``GUARDED``: decided only when the probability is high enough. ``SIMPLE``: compared directly, as an
    officer would.
    """

    GUARDED = "guarded"
    SIMPLE = "simple"
