"""Readings in plain words, as evidence names them."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from wearline.assessment.judge import Judged
from wearline.catalogue.cause_model import WordNode
from wearline.catalogue.model import FieldSpec
from wearline.diagnosis.observe import Observed
from wearline.records.inspection import Inspection, WheelEnd
from wearline.records.readings import Observed as ObservedWord
from wearline.records.readings import Unmeasurable

__all__ = ["Speaker"]

_DECIMALS = {"mm": 2, "%": 0, "N": 0, "kPa": 0, "1": 1}


class Speaker:
    """Says the readings of one inspection.

    Parameters
    ----------
    inspection : Inspection
        The inspection.
    judged : Judged
        Its columns.
    observed : Observed
        Numbers of the nodes.
    fields : mapping of str to FieldSpec
        Labels.
    """

    def __init__(
        self, inspection: Inspection, judged: Judged, observed: Observed, fields: Mapping[str, FieldSpec]
    ) -> None:
        self.judged = judged
        self.observed = observed
        self.fields = fields
        ends = {str(end.place): end for end in inspection.wheel_ends}
        self.ends: list[WheelEnd | None] = [ends.get(place) for place in judged.columns.places]

    def number(self, row: int, name: str, label: str, unit: str) -> str:
        """Return a measured node in words.

        Parameters
        ----------
        row : int
            Wheel end.
        name, label, unit : str
            The node.

        Returns
        -------
        str
            As ``"total travel 2.70 mm"``.
        """
        if name == "mean_difference":
            return self._pads(row)
        if name == "slide" and np.isnan(self.observed.value[name][row]):
            return f"slide: {self._word(row, 'slide')}"
        if name == "brake_drag":
            drag = 1e-3 * float(self.judged.columns.value("brake_drag")[row])
            return (
                f"drag {drag:.1f} kN, {float(self.observed.value[name][row]):.1f} times this vehicle's usual"
            )
        if name == "indicator":
            reading = 100.0 * float(self.judged.derived.indicator_reading[row])
            implied = 100.0 * float(self.judged.derived.indicator_implied_outer[row])
            return f"wear indicator {reading:.0f} % where pads and rotor imply {implied:.0f} %"
        value = float(self.observed.value[name][row])
        shown = f"{value:.{_DECIMALS.get(unit, 2)}f}"
        return f"{label} {shown}" if unit == "1" else f"{label} {shown} {unit}"

    def _pads(self, row: int) -> str:
        derived = self.judged.derived
        inner, outer = 1e3 * float(derived.inner.mean[row]), 1e3 * float(derived.outer.mean[row])
        gap = abs(outer - inner)
        which = "inner" if inner < outer else "outer"
        return f"inner pad {inner:.1f} mm, outer {outer:.1f} mm: {which} thinner by {gap:.1f} mm"

    def _word(self, row: int, field: str) -> str:
        end = self.ends[row]
        reading = None if end is None else end.readings.get((field, ""))
        if isinstance(reading, ObservedWord):
            return reading.word
        if isinstance(reading, Unmeasurable):
            return f"could not be taken: {reading.reason}"
        return ""

    def word(self, row: int, node: WordNode) -> str:
        """Return a seen node in words.

        Parameters
        ----------
        row : int
            Wheel end.
        node : WordNode
            The node.

        Returns
        -------
        str
            As ``"guide-pin boot: torn"``.
        """
        columns = self.judged.columns
        if node.kind == "counted":
            count = int(columns.value(node.field)[row])
            return f"{self.fields[node.field].label}: {count}"
        if node.kind == "spread":
            spread = 1e3 * float(columns.spread[node.field, ""][row])
            return f"{self.fields[node.field].label}: repeats differ by {spread:.2f} mm"
        if node.kind == "below limit":
            return f"{self.fields[node.field].label} {1e3 * float(columns.value(node.field)[row]):.1f} mm"
        if node.kind == "doubted":
            return "numbers that look like a slip"
        said = self._said(row, node.bad) or self._heard(row, node) or self._said(row, node.good)
        if not said and node.kind == "differs":
            return f"{node.label}: {self._word(row, node.field)}"
        return said or f"{node.label}: nothing noticed"

    def _said(self, row: int, words: Mapping[str, tuple[str, ...]]) -> str:
        for field, wanted in words.items():
            word = self._word(row, field)
            if word in wanted:
                return f"{self.fields[field].label}: {word}"
        return ""

    def _heard(self, row: int, node: WordNode) -> str:
        end = self.ends[row]
        if end is None:
            return ""
        for word in end.noticed:
            if word in node.noticed:
                return f"noticed: {word}"
        return f"note: {end.note}" if any(phrase in end.note.lower() for phrase in node.notes) else ""

    def compared(self, row: int, id: str) -> str:
        """Return a comparison in words.

        Parameters
        ----------
        row : int
            Wheel end.
        id : str
            ``"force"``, ``"temperature"`` or ``"wear"``.

        Returns
        -------
        str
            As ``"brake force 14.2 kN, 21.5 kN at the other end"``.
        """
        columns, derived = self.judged.columns, self.judged.derived
        if id == "force":
            force, mate = columns.value("brake_force"), columns.of_mate(columns.value("brake_force"))
            if np.isnan(force[row]):
                return (
                    f"brake force {np.exp(2.0 * self.observed.compared[id][0][row]):.2f} times the other end"
                )
            return f"brake force {1e-3 * force[row]:.1f} kN, {1e-3 * mate[row]:.1f} kN at the other end"
        if id == "temperature":
            here = float(columns.value("temperature")[row]) - 273.15
            usual = self.observed.usual_rise[row] + 15.0
            return f"{here:.0f} degC after a run, about {usual:.0f} degC usual on this vehicle"
        worn = 0.5 * (float(derived.inner.mean[row]) + float(derived.outer.mean[row]))
        new = float(self.judged.design.friction_new[row])
        times = float(np.exp(self.observed.compared[id][0][row]))
        return f"pads worn {1e3 * (new - worn):.1f} mm, {times:.2f} times this vehicle's usual"
