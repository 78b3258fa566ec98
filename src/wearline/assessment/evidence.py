"""Conditions of the data files held against judged readings: true, false or not known."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wearline.assessment.columns import Flags, Numbers
from wearline.assessment.judge import Judged
from wearline.assessment.verdicts import BEYOND, UNDECIDED, WITHIN
from wearline.catalogue.check_model import Condition, Measure
from wearline.records.readings import Observed, Reading, ReadingKey
from wearline.uncertainty.rules import Sense

__all__ = ["Answer", "Evidence"]

_CODES = {"within": WITHIN, "beyond": BEYOND, "undecided": UNDECIDED}
_EQUALITY = 1e-9


@dataclass(frozen=True, slots=True)
class Answer:
    """A condition at every row.

    Parameters
    ----------
    true, known : array of bool, shape (n,)
        Where it is true, and where the readings suffice to say so.
    """

    true: Flags
    known: Flags

    def any_of(self, other: Answer) -> Answer:
        """Return 'this or that': known where one is true, or both are known.

        Parameters
        ----------
        other : Answer
            The other condition.

        Returns
        -------
        Answer
            Their disjunction.
        """
        true = self.true | other.true
        return Answer(true, true | (self.known & other.known))

    def all_of(self, other: Answer) -> Answer:
        """Return 'this and that': known where one is known to be false, or both are known.

        Parameters
        ----------
        other : Answer
            The other condition.

        Returns
        -------
        Answer
            Their conjunction.
        """
        false = (self.known & ~self.true) | (other.known & ~other.true)
        return Answer(self.true & other.true, false | (self.known & other.known))


@dataclass(frozen=True, slots=True)
class Evidence:
    """Everything that a condition may ask for.

    Parameters
    ----------
    judged : Judged
        Judged readings.
    measures : mapping of str to Measure
        The catalogue's measures.
    vehicle : mapping of (field, spot) to Reading
        Readings of the vehicle as a whole.
    """

    judged: Judged
    measures: Mapping[str, Measure]
    vehicle: Mapping[ReadingKey, Reading]

    def answer(self, condition: Condition) -> Answer:
        """Answer one condition.

        Parameters
        ----------
        condition : Condition
            From the data files.

        Returns
        -------
        Answer
            At every row, the condition's scope taken into account.
        """
        return self._scoped(self._here(condition), condition.scope)

    def number(self, measure: str) -> Numbers | None:
        """Return a measure that is a quantity, or None if it is not computed from columns.

        Parameters
        ----------
        measure : str
            Its id.

        Returns
        -------
        array of float or None, shape (n,), [SI]
            NaN where the readings do not suffice.
        """
        take = _NUMBERS.get(measure)
        if take is not None:
            return take(self.judged)
        quantity = self.judged.quantity(measure)
        return None if quantity is None else quantity.value

    def truth(self, measure: str) -> Answer:
        """Answer a yes-or-no measure.

        Parameters
        ----------
        measure : str
            Its id.

        Returns
        -------
        Answer
            Any of its findings.
        """
        answers = [self.answer(condition) for condition in self.measures[measure].true_when]
        result = self._nothing()
        for index, answer in enumerate(answers):
            result = answer if index == 0 else result.any_of(answer)
        return result

    def _here(self, condition: Condition) -> Answer:
        if condition.words:
            return self._words(condition.field, condition.words)
        if condition.is_true is not None:
            answer = self.truth(condition.measure)
            return answer if condition.is_true else Answer(answer.known & ~answer.true, answer.known)
        if condition.repeatable is not None:
            return self._repeats(condition.field)
        if condition.verdict:
            return self._verdict(condition)
        return self._threshold(condition)

    def _nothing(self) -> Answer:
        false = np.zeros(self.judged.columns.n, dtype=bool)
        return Answer(false, false)

    def _words(self, name: str, words: tuple[str, ...]) -> Answer:
        whole = self.vehicle.get((name, ""))
        if isinstance(whole, Observed):
            everywhere = np.ones(self.judged.columns.n, dtype=bool)
            return Answer(everywhere & (whole.word in words), everywhere)
        columns = self.judged.columns
        codes = columns.words.get(name)
        if codes is None:
            return self._nothing()
        return Answer(columns.says(name, *words), codes >= 0)

    def _repeats(self, name: str) -> Answer:
        columns = self.judged.columns
        spread = columns.spread.get((name, ""))
        if spread is None:
            return self._nothing()
        return Answer(spread > 2.0 * columns.uncertainty(name), ~np.isnan(spread))

    def _verdict(self, condition: Condition) -> Answer:
        name = condition.field or condition.measure
        result = self._nothing()
        for column in self.judged.judged:
            for verdict in column.verdicts:
                wanted = (
                    verdict.limit.id == condition.limit
                    if condition.limit
                    else column.check == name and verdict.limit.consequence != "note"
                )
                if wanted:
                    known = ~np.isnan(column.value) & ~column.void
                    true = known & (verdict.codes == _CODES[condition.verdict])
                    result = Answer(result.true | true, result.known | known)
        return result

    def _threshold(self, condition: Condition) -> Answer:
        name = condition.measure or condition.field
        numbers = self.number(name) if condition.measure else self.judged.columns.value(name)
        if numbers is None or condition.threshold is None:
            return self._nothing()
        limit = condition.threshold.value
        slack = abs(limit) * _EQUALITY
        if condition.sense is Sense.AT_LEAST:
            true = numbers >= limit - slack if condition.inclusive else numbers > limit + slack
        else:
            true = numbers <= limit + slack if condition.inclusive else numbers < limit - slack
        return Answer(np.asarray(true), ~np.isnan(numbers))

    def _scoped(self, answer: Answer, scope: str) -> Answer:
        if scope == "here":
            return answer
        if scope == "mate":
            mate = self.judged.columns.mate
            return Answer(answer.true[mate] & (mate >= 0), answer.known[mate] & (mate >= 0))
        everywhere = np.ones(self.judged.columns.n, dtype=bool)
        if scope == "all ends":
            all_true, all_known = bool(answer.true.all()), bool(answer.known.all())
            some_false = bool((answer.known & ~answer.true).any())
            return Answer(everywhere & all_true, everywhere & (all_known or some_false))
        any_true = bool(answer.true.any())
        return Answer(everywhere & any_true, everywhere & (any_true or bool(answer.known.all())))


def _difference_to_mate(name: str) -> Callable[[Judged], Numbers]:
    def take(judged: Judged) -> Numbers:
        value = judged.columns.value(name)
        return np.abs(value - judged.columns.of_mate(value))

    return take


def _partial_force_difference(judged: Judged) -> Numbers:
    worst: NDArray[np.float64] = np.full(judged.columns.n, np.nan)
    for name in ("brake_force_2bar", "brake_force_4bar"):
        force = judged.columns.value(name)
        mate = judged.columns.of_mate(force)
        with np.errstate(invalid="ignore", divide="ignore"):
            worst = np.fmax(worst, np.abs(force - mate) / np.maximum(force, mate))
    return worst


def _swing_share(judged: Judged) -> Numbers:
    with np.errstate(invalid="ignore", divide="ignore"):
        return judged.columns.value("brake_force_swing") / judged.columns.value("brake_force")


def _worse_pad(judged: Judged, check: str) -> Numbers:
    columns = [c.value for c in judged.judged if c.check == check]
    return np.fmax.reduce(columns) if columns else np.full(judged.columns.n, np.nan)


_NUMBERS: Mapping[str, Callable[[Judged], Numbers]] = {
    "taper_end_to_end": lambda j: _worse_pad(j, "taper_end_to_end"),
    "taper_top_to_bottom": lambda j: _worse_pad(j, "taper_top_to_bottom"),
    "pad_twist": lambda j: _worse_pad(j, "pad_twist"),
    "te_antisymmetric": lambda j: np.abs(j.derived.pair.end_antisymmetric),
    "te_symmetric": lambda j: np.abs(j.derived.pair.end_symmetric),
    "tr_antisymmetric": lambda j: np.abs(j.derived.pair.top_antisymmetric),
    "tr_symmetric": lambda j: np.abs(j.derived.pair.top_symmetric),
    "force_share_of_mate": lambda j: j.derived.force_share_of_mate,
    "temperature_above_normal": lambda j: j.derived.temperature_above_normal,
    "mate_temperature_above_normal": lambda j: j.columns.of_mate(j.derived.temperature_above_normal),
    "temperature_mate_difference": _difference_to_mate("temperature"),
    "total_travel_difference": _difference_to_mate("total_travel"),
    "rotor_thickness_difference": _difference_to_mate("rotor_thickness"),
    "wear_electronic_difference": _difference_to_mate("wear_electronic"),
    "pressure_difference": _difference_to_mate("pressure_threshold"),
    "partial_force_difference": _partial_force_difference,
    "brake_force_swing_share": _swing_share,
}
