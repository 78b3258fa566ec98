"""What the catalogue says of causes: causes, symptoms, and the size of what a cause does."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from wearline.catalogue.model import Status

__all__ = [
    "BETA_CASES",
    "Cause",
    "CauseNetwork",
    "Comparison",
    "ConfirmingTest",
    "Multiplier",
    "NumericNode",
    "Scope",
    "Size",
    "Symptom",
    "SymptomSize",
    "WholeNode",
    "WordNode",
]

Scope = Literal["wheel end", "axle", "vehicle"]

BETA_CASES = 20.0
"""Weight of a shipped chance in cases when a fleet's own counts come in (status: expert judgement)."""


@dataclass(frozen=True, slots=True)
class ConfirmingTest:
    """The test that confirms a cause.

    Parameters
    ----------
    text : str
        What to look for.
    minutes : float, [min]
        Time, the state given.
    states : tuple of str
        States needed, letters of the catalogue.
    positive_if_present, positive_if_absent : float, [1], 0 to 1
        Chance of a positive outcome with the cause and without it.
    symptom : str
        The symptom that the test is; empty where it is a test of its own.
    fields : tuple of str
        Fields of the inspection file that hold its outcome; empty where none does.
    """

    text: str
    minutes: float
    states: tuple[str, ...]
    positive_if_present: float
    positive_if_absent: float
    symptom: str
    fields: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Cause:
    """One cause.

    Parameters
    ----------
    code, name, group : str
        Code, words, group.
    scope : {"wheel end", "axle", "vehicle"}
        Where it sits; a cause of an axle or vehicle is one parent of many wheel ends.
    prior : float, [1], 0 to 1
        Chance at an ordinary pad change, before multipliers.
    mechanism, repair : str
        One sentence each.
    leads_to : tuple of str
        Causes that grow out of it.
    seen_by : str
        Symptom or word node that is the fault itself; empty for a hidden cause.
    test : ConfirmingTest
        The confirming test.
    status : Status
        Of all its numbers.
    """

    code: str
    name: str
    group: str
    scope: Scope
    prior: float
    mechanism: str
    repair: str
    leads_to: tuple[str, ...]
    seen_by: str
    test: ConfirmingTest
    status: Status


@dataclass(frozen=True, slots=True)
class Symptom:
    """One symptom with the causes that make it.

    Parameters
    ----------
    code, name, text : str
        Code, words, threshold in words.
    leak : float, [1], 0 to 1
        Chance of the symptom without any listed cause.
    minutes : float, [min]
        Time to look; 0 where it is computed.
    states : tuple of str
        States needed.
    check : str
        Check that shows it, as ``"F5"``.
    group : str
        Group of symptoms that come from the same readings; empty for none.
    chance : mapping of str to float, [1], 0 to 1
        Cause code to the chance that it alone makes the symptom pass its threshold.
    status : Status
        Of all its numbers.
    """

    code: str
    name: str
    text: str
    leak: float
    minutes: float
    states: tuple[str, ...]
    check: str
    group: str
    chance: Mapping[str, float]
    status: Status


@dataclass(frozen=True, slots=True)
class Multiplier:
    """Something known before any reading that makes causes more likely.

    Parameters
    ----------
    id, when, text : str
        Name, the circumstance, words.
    factor : float, [1]
        Factor on the prior.
    causes : tuple of str
        Cause codes.
    """

    id: str
    when: str
    text: str
    factor: float
    causes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SymptomSize:
    """Where a symptom stands on a numeric node.

    Parameters
    ----------
    middle, spread : float
        Usual size when a cause acts, in the node's unit; spread of the logarithm on a log node.
    threshold : float
        Where the symptom begins, in the node's unit.
    above : bool
        Whether it holds above the threshold.
    """

    middle: float
    spread: float
    threshold: float
    above: bool


@dataclass(frozen=True, slots=True)
class Size:
    """What one cause does to a node.

    Parameters
    ----------
    cause, mode, symptom : str
        Cause, its kind (empty: all kinds) and the symptom it belongs to (empty: none).
    middle, spread : float
        Size and spread.
    chance : float or None, [1], 0 to 1
        Chance that the cause acts on the node; None: from the symptom table.
    """

    cause: str
    mode: str
    symptom: str
    middle: float
    spread: float
    chance: float | None


@dataclass(frozen=True, slots=True)
class NumericNode:
    """A measured number, or one computed from readings.

    Parameters
    ----------
    id, label, unit : str
        Name, words, unit of all numbers below.
    scale : {"linear", "log", "folded"}
        How sizes spread.
    sound : (float, float)
        Middle and spread of a sound brake.
    symptoms : mapping of str to SymptomSize
        Symptoms that the number shows.
    sizes : tuple of Size
        Causes with a size of their own.
    words : mapping of str to (float, float)
        Range that a word stands for.
    """

    id: str
    label: str
    unit: str
    scale: str
    sound: tuple[float, float]
    symptoms: Mapping[str, SymptomSize]
    sizes: tuple[Size, ...]
    words: Mapping[str, tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Comparison:
    """A number that is compared across the axle, inferred for both ends together.

    Parameters
    ----------
    id, label : str
        Name and words.
    levels, level_spread : tuple of float, [1]
        Levels of the effect of one end, as logarithms of a ratio, and the spread within each; the first is 0.
    own, axle : float, [1]
        Spread between sound ends, and of the axle as a whole.
    axle_alone : float, [1]
        Spread of the axle where nothing is known of its peers.
    victim : float, [1], 0 to 1
        Share of a lack at one end that its mate may have to make up for.
    symptoms : mapping of str to SymptomSize
        Symptoms that it shows.
    sizes : tuple of Size
        Causes with a size of their own.
    """

    id: str
    label: str
    levels: tuple[float, ...]
    level_spread: tuple[float, ...]
    own: float
    axle: float
    axle_alone: float
    victim: float
    symptoms: Mapping[str, SymptomSize]
    sizes: tuple[Size, ...]


@dataclass(frozen=True, slots=True)
class WordNode:
    """Something seen, heard or counted that is there or not.

    Parameters
    ----------
    id, label : str
        Name and words.
    symptom : str
        Symptom of the table that it is; empty for a node of its own.
    leak : float, [1], 0 to 1
        Chance without any cause.
    chance : mapping of str to float, [1], 0 to 1
        Cause code to chance.
    bad, good : mapping of str to tuple of str
        Field to the words that say it is there, and that it is not.
    noticed, notes : tuple of str
        Words of driver or technician, and words in the note, that say it is there.
    kind : str
        ``"words"``, ``"counted"``, ``"spread"``, ``"below limit"``, ``"differs"`` or ``"doubted"``.
    field : str
        Field of the kinds between.
    shared : bool
        Whether it is felt for the axle, so that each end has half of it.
    unless : str
        Node that makes this one needless where it is measured.
    """

    id: str
    label: str
    symptom: str
    leak: float
    chance: Mapping[str, float]
    bad: Mapping[str, tuple[str, ...]]
    good: Mapping[str, tuple[str, ...]]
    noticed: tuple[str, ...]
    notes: tuple[str, ...]
    kind: str
    field: str
    shared: bool
    unless: str


@dataclass(frozen=True, slots=True)
class WholeNode:
    """Evidence about an axle or the vehicle as a whole, seen once.

    Parameters
    ----------
    id, label : str
        Name and words.
    scale : {"linear", "folded", "words"}
        How sizes spread.
    sound : (float, float)
        Middle and spread without a cause.
    middle : float
        Usual value that the number is a ratio to; 0 where it is none.
    sizes : tuple of Size
        Causes with their size and chance.
    leak : float, [1]
        Chance of the bad word without a cause.
    bad, good : mapping of str to tuple of str
        Field to words.
    """

    id: str
    label: str
    scale: str
    sound: tuple[float, float]
    middle: float
    sizes: tuple[Size, ...]
    leak: float
    bad: Mapping[str, tuple[str, ...]]
    good: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True, eq=False)
class CauseNetwork:
    """Causes, symptoms and signatures together.

    Parameters
    ----------
    causes : mapping of str to Cause
        By code.
    symptoms : mapping of str to Symptom
        By code.
    damping : mapping of str to float, [1]
        Group of symptoms to the exponent on its likelihood in the threshold form.
    multipliers : tuple of Multiplier
        What is known before any reading.
    modes : mapping of str to mapping of str to float
        Cause code to its kinds and the share of each.
    nodes : mapping of str to NumericNode
        Measured numbers.
    comparisons : mapping of str to Comparison
        Numbers compared across the axle.
    words : mapping of str to WordNode
        What is seen.
    wholes : mapping of str to WholeNode
        Evidence about axle and vehicle.
    counted_from : str
        Where a fleet's own counts came from; empty as shipped.
    """

    causes: Mapping[str, Cause]
    symptoms: Mapping[str, Symptom]
    damping: Mapping[str, float]
    multipliers: tuple[Multiplier, ...]
    modes: Mapping[str, Mapping[str, float]]
    nodes: Mapping[str, NumericNode]
    comparisons: Mapping[str, Comparison]
    words: Mapping[str, WordNode]
    wholes: Mapping[str, WholeNode]
    counted_from: str = ""

    def parents_of(self, code: str) -> tuple[str, ...]:
        """Return the causes out of which a cause grows directly.

        Parameters
        ----------
        code : str
            Cause code.

        Returns
        -------
        tuple of str
            Cause codes.
        """
        return tuple(parent.code for parent in self.causes.values() if code in parent.leads_to)
