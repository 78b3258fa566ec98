"""Reads the network of causes and symptoms from its data files."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache

from wearline.catalogue.cause_model import (
    Cause,
    CauseNetwork,
    Comparison,
    ConfirmingTest,
    Multiplier,
    NumericNode,
    Size,
    Symptom,
    SymptomSize,
    WholeNode,
    WordNode,
)
from wearline.catalogue.documents import read_document
from wearline.catalogue.load_checks import load_check_list
from wearline.catalogue.load_fields import load_fields
from wearline.catalogue.model import Status
from wearline.catalogue.reader import Entry, entries
from wearline.errors import CatalogueError

__all__ = ["load_causes", "read_causes"]

_SCOPES = ("wheel end", "axle", "vehicle")
_SCALES = ("linear", "log", "folded")
_BIG = 1e9


@lru_cache(maxsize=1)
def load_causes() -> CauseNetwork:
    """Return the network that ships with the package.

    Returns
    -------
    CauseNetwork
        Read once.
    """
    return read_causes(
        read_document("causes/causes.toml"),
        read_document("causes/symptoms.toml"),
        read_document("causes/signatures.toml"),
    )


def read_causes(
    causes: Mapping[str, object], symptoms: Mapping[str, object], signatures: Mapping[str, object]
) -> CauseNetwork:
    """Read the three documents of the network.

    Parameters
    ----------
    causes, symptoms, signatures : mapping
        The parsed files ``causes.toml``, ``symptoms.toml`` and ``signatures.toml``.

    Returns
    -------
    CauseNetwork
        The network.

    Raises
    ------
    CatalogueError
        If a code or key is unknown, a chance is outside 0 to 1, or causes lead to each other in a circle.
    """
    top = Entry("causes.toml", "", causes)
    status = top.table("about").member("status", Status)
    codes = entries(causes, "cause", "causes.toml")
    found = {code: _cause(code, entry, tuple(codes), status) for code, entry in codes.items()}
    top.table("cause")
    multipliers = tuple(_multiplier(entry, codes) for entry in top.tables("multiplier", "multiplier"))
    top.finish()
    _refuse_circles(found)
    table, damping = _symptoms(symptoms, tuple(found))
    for cause in found.values():
        if cause.test.symptom:
            codes[cause.code].table("test").one_of("symptom", cause.test.symptom, table)
    signature = _Signatures(signatures, found, table)
    words = signature.words()
    for cause in found.values():
        if cause.seen_by:
            codes[cause.code].one_of("seen_by", cause.seen_by, (*table, *words))
    return CauseNetwork(
        causes=found,
        symptoms=table,
        damping=damping,
        multipliers=multipliers,
        modes=signature.modes,
        nodes=signature.nodes(),
        comparisons=signature.comparisons(),
        words=words,
        wholes=signature.wholes(),
    )


def _cause(code: str, entry: Entry, codes: tuple[str, ...], status: Status) -> Cause:
    scope = entry.choice("scope", _SCOPES, "wheel end")
    cause = Cause(
        code=code,
        name=entry.text("name"),
        group=entry.text("group"),
        scope="vehicle" if scope == "vehicle" else "axle" if scope == "axle" else "wheel end",
        prior=entry.number("prior", 0.0, 1.0),
        mechanism=entry.text("mechanism"),
        repair=entry.text("repair"),
        leads_to=entry.known("leads_to", codes),
        seen_by=entry.text("seen_by", ""),
        test=_test(entry.table("test")),
        status=entry.member("status", Status, status),
    )
    entry.finish()
    return cause


def _test(entry: Entry) -> ConfirmingTest:
    test = ConfirmingTest(
        text=entry.text("text"),
        minutes=entry.number("minutes", 0.0, 240.0),
        states=entry.known("states", load_check_list().states, None),
        positive_if_present=entry.number("positive_if_present", 0.0, 1.0),
        positive_if_absent=entry.number("positive_if_absent", 0.0, 1.0),
        symptom=entry.text("symptom", ""),
        fields=entry.known("fields", load_fields()),
    )
    entry.finish()
    return test


def _multiplier(entry: Entry, codes: Mapping[str, Entry]) -> Multiplier:
    found = Multiplier(
        entry.text("id"),
        entry.text("when"),
        entry.text("text"),
        entry.number("factor", 0.0, 100.0),
        entry.known("causes", codes, None),
    )
    entry.finish()
    return found


def _refuse_circles(causes: Mapping[str, Cause]) -> None:
    """Causes that lead to each other in a circle have no root."""
    done: set[str] = set()

    def walk(code: str, path: tuple[str, ...]) -> None:
        if code in path:
            circle = (*path[path.index(code) :], code)
            raise CatalogueError(
                f"causes lead to each other in a circle: {' -> '.join(circle)}",
                where=f"causes.toml, cause {path[-1]}, key 'leads_to'",
                allowed="chains with a first cause",
                cure=f"Take {code} out of leads_to of {path[-1]}",
            )
        if code not in done:
            for child in causes[code].leads_to:
                walk(child, (*path, code))
            done.add(code)

    for code in causes:
        walk(code, ())


def _symptoms(
    document: Mapping[str, object], codes: tuple[str, ...]
) -> tuple[dict[str, Symptom], dict[str, float]]:
    file = "symptoms.toml"
    top = Entry(file, "", document)
    status = top.table("about").member("status", Status)
    damping = {}
    for name, entry in entries(document, "group", file).items():
        damping[name] = entry.number("damping", 0.0, 1.0)
        entry.text("text")
        entry.member("status", Status, status)
        entry.finish()
    found = {}
    for code, entry in entries(document, "symptom", file).items():
        group = entry.text("group", "")
        found[code] = Symptom(
            code=code,
            name=entry.text("name"),
            text=entry.text("text"),
            leak=entry.number("leak", 0.0, 1.0),
            minutes=entry.number("minutes", 0.0, 240.0),
            states=entry.known("states", load_check_list().states, None),
            check=entry.choice("check", load_check_list().checks),
            group=entry.one_of("group", group, damping) if group else "",
            chance=_chances(entry, "chance", codes),
            status=entry.member("status", Status, status),
        )
        entry.finish()
    for key in ("group", "symptom"):
        top.table(key)
    top.finish()
    return found, damping


def _chances(entry: Entry, key: str, codes: Iterable[str]) -> dict[str, float]:
    known = tuple(codes)
    table = entry.table(key, {})
    return {table.one_of(code, code, known): table.number(code, 0.0, 1.0) for code in table.names()}


def _numbers(entry: Entry, key: str, least: int, most: int) -> tuple[float, ...]:
    raw = entry.raw(key)
    if not isinstance(raw, list) or not least <= len(raw) <= most:
        entry.fail(key, "this is no list of the right length", f"a list of {least} to {most} numbers")
    inner = Entry(entry.file, f"{entry.name}, {key}", {str(n): value for n, value in enumerate(raw, start=1)})
    return tuple(inner.number(str(n), -_BIG, _BIG) for n in range(1, len(raw) + 1))


class _Signatures:
    """The third document."""

    file = "signatures.toml"

    def __init__(
        self, document: Mapping[str, object], causes: Mapping[str, Cause], symptoms: Mapping[str, Symptom]
    ) -> None:
        self.document = document
        self.causes = causes
        self.symptoms = symptoms
        top = Entry(self.file, "", document)
        self.status = top.table("about").member("status", Status)
        top.only(("about", "mode", "node", "compare", "word", "whole"))
        self.modes: dict[str, dict[str, float]] = {}
        modes = Entry(self.file, "mode", document.get("mode", {}))
        for code in modes.names():
            modes.one_of(code, code, causes)
            entry = modes.table(code)
            self.modes[code] = {name: entry.number(name, 0.0, 1.0) for name in entry.names()}
            if abs(sum(self.modes[code].values()) - 1.0) > 1e-9:
                modes.fail(code, "the shares of its kinds do not add up to 1", "shares that make 1 together")

    def nodes(self) -> dict[str, NumericNode]:
        found = {}
        for id, entry in entries(self.document, "node", self.file).items():
            found[id] = NumericNode(
                id=id,
                label=entry.text("label"),
                unit=entry.text("unit"),
                scale=entry.choice("scale", _SCALES),
                sound=self._pair(entry, "sound"),
                symptoms=self._symptom_sizes(entry),
                sizes=self._sizes(entry),
                words=self._ranges(entry),
            )
            entry.finish()
        return found

    def comparisons(self) -> dict[str, Comparison]:
        found = {}
        for id, entry in entries(self.document, "compare", self.file).items():
            axle = entry.number("axle", 0.0, 10.0)
            levels = _numbers(entry, "levels", 2, 8)
            found[id] = Comparison(
                id=id,
                label=entry.text("label"),
                levels=levels,
                level_spread=_numbers(entry, "level_spread", len(levels), len(levels)),
                own=entry.number("own", 1e-6, 10.0),
                axle=axle,
                axle_alone=entry.number("axle_without_peers", 0.0, 10.0, axle),
                victim=entry.number("victim", 0.0, 1.0),
                symptoms=self._symptom_sizes(entry),
                sizes=self._sizes(entry),
            )
            if levels[0] != 0.0:
                entry.fail("levels", "the first level is not 0", "0 first: no effect")
            entry.finish()
        return found

    def words(self) -> dict[str, WordNode]:
        return {id: self._word(id, entry) for id, entry in entries(self.document, "word", self.file).items()}

    def _word(self, id: str, entry: Entry) -> WordNode:
        symptom = entry.text("symptom", "")
        leak, chance = 0.0, {}
        if symptom:
            of = self.symptoms[entry.one_of("symptom", symptom, self.symptoms)]
            leak, chance = of.leak, dict(of.chance)
        kind, field = "words", ""
        kinds = {
            "counted": "counted",
            "spread_of": "spread",
            "below_limit": "below limit",
            "differs": "differs",
        }
        for key, name in kinds.items():
            if key in entry:
                kind, field = name, entry.choice(key, load_fields())
        if entry.flag("doubted", default=False):
            kind = "doubted"
        unless = entry.text("unless_compared", "") or entry.text("unless_measured", "")
        entry.text("symptom_name", "")
        node = WordNode(
            id=id,
            label=entry.text("label"),
            symptom=symptom,
            leak=entry.number("leak", 0.0, 1.0, leak if symptom else None),
            chance=chance | _chances(entry, "chance", self.causes),
            bad=self._fields(entry, "bad"),
            good=self._fields(entry, "good"),
            noticed=entry.words("noticed", ()),
            notes=entry.words("notes", ()),
            kind=kind,
            field=field,
            shared=entry.flag("shared", default=False),
            unless=unless,
        )
        entry.finish()
        return node

    def wholes(self) -> dict[str, WholeNode]:
        found = {}
        for id, entry in entries(self.document, "whole", self.file).items():
            words = "bad" in entry
            sizes = [
                Size(code, "", "", *values) for code, values in self._size_table(entry, "size", len_is=3)
            ]
            if words:
                sizes = [
                    Size(code, "", "", 1.0, 0.0, chance)
                    for code, chance in _chances(entry, "chance", self.causes).items()
                ]
            entry.text("unit", "")
            found[id] = WholeNode(
                id=id,
                label=entry.text("label"),
                scale="words" if words else entry.choice("scale", _SCALES, "linear"),
                sound=self._pair(entry, "sound") if "sound" in entry else (0.0, 0.0),
                middle=entry.number("middle_K", 0.0, 1000.0, 0.0),
                sizes=tuple(sizes),
                leak=entry.number("leak", 0.0, 1.0, 0.0),
                bad=self._fields(entry, "bad"),
                good=self._fields(entry, "good"),
            )
            entry.finish()
        return found

    def _size_table(self, entry: Entry, key: str, len_is: int) -> list[tuple[str, tuple[float, ...]]]:
        table = entry.table(key, {})
        return [
            (table.one_of(code, code, self.causes), _numbers(table, code, len_is, len_is))
            for code in table.names()
        ]

    def _pair(self, entry: Entry, key: str) -> tuple[float, float]:
        middle, spread = _numbers(entry, key, 2, 2)
        if spread <= 0.0:
            entry.fail(key, f"the spread is {spread:g}", "a spread above 0")
        return middle, spread

    def _symptom_sizes(self, entry: Entry) -> dict[str, SymptomSize]:
        table = entry.table("symptom", {})
        found = {}
        for code in table.names():
            table.one_of(code, code, self.symptoms)
            inner = table.table(code)
            middle, spread = self._pair(inner, "usual")
            above = "above" in inner
            threshold = inner.number("above" if above else "below", -_BIG, _BIG)
            found[code] = SymptomSize(middle, spread, threshold, above)
            inner.finish()
        return found

    def _sizes(self, entry: Entry) -> tuple[Size, ...]:
        table = entry.table("size", {})
        found = []
        for key in table.names():
            who, _, symptom = key.partition(".")
            code, _, mode = who.partition(":")
            table.one_of(key, code, self.causes)
            if mode:
                table.one_of(key, mode, self.modes.get(code, {}))
            if symptom:
                table.one_of(key, symptom, self.symptoms)
            numbers = _numbers(table, key, 2 if symptom else 3, 3)
            chance = numbers[2] if len(numbers) == 3 else None
            if numbers[1] <= 0.0 or (chance is not None and not 0.0 <= chance <= 1.0):
                table.fail(key, f"{list(numbers)} stands here", "a spread above 0 and a chance from 0 to 1")
            found.append(Size(code, mode, symptom, numbers[0], numbers[1], chance))
        return tuple(found)

    def _ranges(self, entry: Entry) -> dict[str, tuple[float, float]]:
        table = entry.table("words", {})
        return {word: table.pair(word, 0.0, _BIG) for word in table.names()}

    def _fields(self, entry: Entry, key: str) -> dict[str, tuple[str, ...]]:
        table = entry.table(key, {})
        fields = load_fields()
        found = {}
        for name in table.names():
            table.one_of(name, name, fields)
            found[name] = table.known(name, fields[name].words, None)
        return found
