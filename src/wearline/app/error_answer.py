"""Errors as JSON values; apart from the other answers, so that a failing command loads nothing else."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wearline.errors import WearlineError

if TYPE_CHECKING:
    from wearline.app.answer_types import ErrorAnswer

__all__ = ["error_answer"]


def error_answer(error: WearlineError) -> ErrorAnswer:
    """Return an error as JSON values.

    Parameters
    ----------
    error : WearlineError
        The error.

    Returns
    -------
    ErrorAnswer
        Under schema ``wearline.error/1``.
    """
    parts: Any = error.as_plain()
    return {"schema": "wearline.error/1", "error": parts}
