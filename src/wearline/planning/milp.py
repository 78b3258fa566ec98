"""A mixed-integer programme, solved by HiGHS, with the gap that is left."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from wearline.errors import DomainError, ProgramFault

__all__ = ["Programme", "Solution", "solve"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Programme:
    """Least cost x subject to row and column bounds; rows in compressed columns.

    Parameters
    ----------
    cost : array, shape (columns,)
        Cost of each column.
    lower, upper : array, shape (columns,)
        Bounds; may be infinite.
    whole : array of bool, shape (columns,)
        Columns that must be whole numbers.
    row_lower, row_upper : array, shape (rows,)
        Bounds of each row.
    start : array of int, shape (columns + 1,)
        First entry of each column.
    index, value : array, shape (entries,)
        Row and coefficient of each entry.
    offset : float
        Constant of the cost.
    """

    cost: Floats
    lower: Floats
    upper: Floats
    whole: NDArray[np.bool_]
    row_lower: Floats
    row_upper: Floats
    start: Ints
    index: Ints
    value: Floats
    offset: float = 0.0


@dataclass(frozen=True, slots=True)
class Solution:
    """What was found.

    Parameters
    ----------
    feasible : bool
        Whether there is a solution.
    values : array, shape (columns,)
        The best one found; zeros if there is none.
    cost, bound : float
        Its cost, and what no solution can undercut.
    gap : float, [1]
        (cost - bound) / |cost|.
    proven : bool
        Whether the search ended at the gap asked for, or proved that there is no solution.
    """

    feasible: bool
    values: Floats
    cost: float
    bound: float
    gap: float
    proven: bool


def solve(programme: Programme, *, gap: float = 1e-4, seconds: float = 60.0, threads: int = 1) -> Solution:
    """Solve a programme.

    Parameters
    ----------
    programme : Programme
        What to solve.
    gap : float, optional
        Relative gap at which the search may end.
    seconds : float, optional
        Time after which it ends with what it has.
    threads : int, optional
        Threads of the solver.

    Returns
    -------
    Solution
        The best found, with its gap.

    Raises
    ------
    DomainError
        If the parts of the programme do not fit together.
    ProgramFault
        If the solver fails, or the programme has no least cost.
    """
    _check(programme)
    import highspy

    solver = _quiet_solver()
    for name, value in (
        ("mip_rel_gap", gap),
        ("time_limit", float(seconds)),
        ("threads", threads),
        ("random_seed", 1),
    ):
        solver.setOptionValue(name, value)
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = programme.cost.size, programme.row_lower.size
    model.col_cost_, model.col_lower_, model.col_upper_ = programme.cost, programme.lower, programme.upper
    model.row_lower_, model.row_upper_ = programme.row_lower, programme.row_upper
    model.offset_ = programme.offset
    model.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    model.a_matrix_.start_ = programme.start.astype(np.int32)
    model.a_matrix_.index_ = programme.index.astype(np.int32)
    model.a_matrix_.value_ = programme.value
    kinds = (highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger)
    model.integrality_ = [kinds[int(each)] for each in programme.whole]
    solver.passModel(model)
    solver.run()
    return _read(solver, programme)


def _quiet_solver() -> Any:
    """A solver that writes nothing, not even the banner that it prints when it is made.

    The banner comes from outside Python, so the process's standard output itself is turned aside for that
    moment; else it would stand in front of a JSON answer.
    """
    import highspy

    sys.stdout.flush()
    aside = os.open(os.devnull, os.O_WRONLY)
    try:
        kept = os.dup(1)
    except OSError:  # a process without standard output has nothing to keep clean
        os.close(aside)
        return highspy.Highs()  # type: ignore[no-untyped-call]
    try:
        os.dup2(aside, 1)
        # threads of an earlier solver in this process, with another number of them, would refuse this one
        highspy.Highs.resetGlobalScheduler(True)
        solver = highspy.Highs()  # type: ignore[no-untyped-call]
        solver.silent()
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(aside)
    return solver


def _check(programme: Programme) -> None:
    columns, rows = programme.cost.size, programme.row_lower.size
    fits = (
        programme.lower.size == programme.upper.size == programme.whole.size == columns
        and programme.row_upper.size == rows
        and programme.start.size == columns + 1
        and programme.index.size == programme.value.size == int(programme.start[-1])
        and (programme.index.size == 0 or (0 <= programme.index.min() and programme.index.max() < rows))
    )
    if not fits:
        raise DomainError("columns, rows and entries of the programme do not fit together")


def _read(solver: Any, programme: Programme) -> Solution:
    import highspy

    status = solver.getModelStatus()
    ends = highspy.HighsModelStatus
    nothing = np.zeros(programme.cost.size)
    if status in (ends.kInfeasible, ends.kUnboundedOrInfeasible):
        return Solution(False, nothing, float("inf"), float("inf"), 0.0, True)
    if status not in (ends.kOptimal, ends.kTimeLimit, ends.kModelEmpty):
        raise ProgramFault(f"the solver ended with {solver.modelStatusToString(status)}")
    info = solver.getInfo()
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        if status == ends.kModelEmpty:
            return Solution(True, nothing, programme.offset, programme.offset, 0.0, True)
        return Solution(False, nothing, float("inf"), float(info.mip_dual_bound), float("inf"), False)
    values = np.array(solver.getSolution().col_value, dtype=float)
    values[programme.whole] = np.round(values[programme.whole])
    cost = float(values @ programme.cost) + programme.offset
    bound = float(info.mip_dual_bound) if programme.whole.any() else cost
    gap = max(cost - bound, 0.0) / max(abs(cost), 1e-9)
    return Solution(True, values, cost, min(bound, cost), gap, status == ends.kOptimal)
