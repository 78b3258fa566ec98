"""Writes ``docs/validation.md``: every test that holds a result against something outside the project.

The sources stand in the tests themselves, in docstrings and comments; this reads the test files without
running them and collects what it finds. Run: ``python tools/make_validation.py``.
"""

from __future__ import annotations

import ast
import io
import re
import sys
import tokenize
import tomllib
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
CATALOGUE = ROOT / "src" / "wearline" / "catalogue" / "data" / "sources.toml"
PAGE = ROOT / "docs" / "validation.md"

# What counts as outside the project. Order: the first that matches names the kind.
SOURCES = (
    (
        "law and regulation",
        r"\bCFR\b|\bFR \d{5}|\bUN R(?:egulation )?\.?\s?\d+|\bR13\b|\bFMVSS\b|Directive \d|Appendix A, 1\."
        r"|Out-of-Service Criteria|test manual|inspection manual|licence manual",
    ),
    (
        "standard or guide",
        r"\bJCGM\b|\bGUM\b|\bISO \d|\bSAE\b|\bIEC\b|\bCGPM\b|SI Brochure|NIST SP|PDF/UA|RFC \d|AASHTO"
        r"|yard and pound",
    ),
    ("certified data", r"\bNIST StRD"),
    (
        "book or paper",
        r"[Hh]andbook|Abramowitz|Incropera|Carslaw|et al\.|\(\d{4}\)|\b(?:19|20)\d\d,"
        r"|[A-Z]\w+ and [A-Z]\w+,? (?:19|20)\d\d|textbook|every table of the normal",
    ),
    (
        "other library",
        r"\bscipy\b|\bstatsmodels\b|\bGTC\b|scikit-fem|skfem|\bopenpyxl\b|\bpypdf\b|calamine|fastexcel"
        r"|\bnetworkx\b|\bpgmpy\b|\blifelines\b|\bpyarrow\b|math\.erfc|numpy\.\w"
        r"|TOML reader of the standard library|by sqlite3|jsonschema|cantools",
    ),
    ("hand sheet", r"by hand, outside the program|the right jobs are those of whoever wrote them"),
    ("practice of the trade", r"[Cc]ommon practice, no source"),
)

# How well the source is known, as the test says it. Order: the most careful word wins.
STATUSES = (
    ("from memory, unverified", r"from memory"),
    ("from a transcription, confirm", r"transcription"),
    ("common practice, no source", r"[Cc]ommon practice, no source"),
    ("as another library quotes it", r"[Aa]s quoted|documentation of|printed by"),
)
# Publications whose text the catalogue grades: the grade there goes for the tests too.
GRADED = (
    (r"JCGM 106", "jcgm-106"),
    (r"JCGM 100|\bGUM\b", "jcgm-100"),
    (r"NIST SP 811", "nist-sp-811"),
    (r"ISO 14253", "iso-14253-1"),
    (r"SAE J866", "sae-j866"),
    (r"\bR13\b|Regulation (?:No\. )?13", "un-r13"),
    (r"manual,? (?:section )?3\.8", "uk-test-manual-3-8"),
    (r"Out-of-Service Criteria", "oos-criteria"),
    (r"71/320", "directive-71-320"),
    (r"2014/45", "directive-2014-45"),
)
# Others, where the head of a file says once for all its tests how well they are known.
SAID_AT_THE_HEAD = r"licence manual|[Hh]andbook|AASHTO|Incropera|Carslaw|McPhee|FR \d{5}|inspection manual"
# Tests that hold a table of their file against its source, by their name or their words.
OF_A_TABLE = r"of_the_(?:gum|guide|table|law|standard)|[Pp]ublished as|[Pp]rinted"

PLAIN_STATUS = {
    "law and regulation": "published",
    "standard or guide": "published",
    "certified data": "published",
    "book or paper": "published",
    "other library": "reference library",
    "hand sheet": "worked by hand",
    "practice of the trade": "common practice, no source",
}
MEANINGS = {
    "published": "a named publication, cited with its place",
    "reference library": "a general library computes the same by its own route",
    "worked by hand": "a sheet worked out outside the program",
    "as another library quotes it": "a publication, quoted from the documentation of a library",
    "from a transcription, confirm": "known through somebody else's copy: confirm before relying on it",
    "from memory, unverified": "a publication recalled, not read: shown for what it is",
    "common practice, no source": "what the trade does; no document stands behind it",
}
TITLES = {kind: kind[0].upper() + kind[1:] for kind, _ in SOURCES}

HEAD = """# What the results are checked against

Each line is a test that holds a result against something outside this project: a law, a standard, certified
data, a book, another library, a hand sheet, or the practice of the trade. Tests that only compare the program
with itself are not listed. The words in the second column are those of the test. This page is made by:
`python tools/make_validation.py`.

| how well the source is known | meaning | lines |
| --- | --- | ---: |
"""


@dataclass(frozen=True, order=True)
class Row:
    """One line of the page."""

    kind: str
    test: str
    what: str
    source: str
    status: str


def kind_of(text: str) -> str:
    """Return the kind of outside source that a text names, or an empty text."""
    for kind, pattern in SOURCES:
        if re.search(pattern, text):
            return kind
    return ""


def status_of(text: str, kind: str, said: dict[str, str] | None = None) -> str:
    """Return how well the source is known: by the words of the test, of its file's head, of the catalogue."""
    for status, pattern in STATUSES:
        if re.search(pattern, text):
            return status
    for name in re.findall(SAID_AT_THE_HEAD, text):
        if name.lower() in (said or {}):
            return (said or {})[name.lower()]
    if kind in ("law and regulation", "standard or guide"):
        grades = _grades()
        for pattern, key in GRADED:
            if re.search(pattern, text) and grades[key] != "read":
                return "from a transcription, confirm"
    return PLAIN_STATUS[kind]


@cache
def _grades() -> dict[str, str]:
    """Grade of each source of the catalogue."""
    return {
        key: entry["grade"] for key, entry in tomllib.loads(CATALOGUE.read_text(encoding="utf-8")).items()
    }


def said_at_the_head(head: str) -> dict[str, str]:
    """Return how well the head of a file says that its sources are known.

    'Incropera Table 5.1 (from memory, unverified), ...': what stands between one bracket and the next.
    """
    said: dict[str, str] = {}
    before = ""
    for part in re.split(r"(\([^)]*\))", head):
        known = [status for status, pattern in STATUSES[:2] if re.search(pattern, part)]
        if part.startswith("(") and known:
            for name in re.findall(SAID_AT_THE_HEAD, before):
                said.setdefault(name.lower(), known[0])
            before = ""
        else:
            before += part
    return said


def _comments(text: str) -> dict[int, str]:
    """Comments that stand alone on their line, by line number."""
    found = {}
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type == tokenize.COMMENT:
            found[token.start[0]] = token.string.lstrip("# ").rstrip()
    return found


def _block_above(comments: dict[int, str], lines: list[str], line: int) -> str:
    """The comment that ends on the line above, joined."""
    block: list[str] = []
    at = line - 1
    while at in comments and lines[at - 1].lstrip().startswith("#"):
        block.insert(0, comments[at])
        at -= 1
    return "" if block and set(block[0]) <= {"-", " "} else " ".join(block)


def _paragraph(docstring: str | None) -> list[str]:
    """Paragraphs of a docstring, each on one line."""
    return [" ".join(part.split()) for part in (docstring or "").split("\n\n") if part.strip()]


def _functions(tree: ast.Module) -> Iterable[tuple[str, ast.FunctionDef]]:
    for node in tree.body:
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test"):
            yield node.name, node
        elif isinstance(node, ast.ClassDef):
            for inner in node.body:
                if isinstance(inner, ast.FunctionDef) and inner.name.startswith("test"):
                    yield f"{node.name}::{inner.name}", inner


def _constants(tree: ast.Module, comments: dict[int, str], lines: list[str]) -> dict[str, str]:
    """What stands in a comment above a table of the file, by the table's name."""
    found = {}
    for node in tree.body:
        targets = (
            node.targets
            if isinstance(node, ast.Assign)
            else [node.target]
            if isinstance(node, ast.AnnAssign | ast.AugAssign)
            else []
        )
        text = _block_above(comments, lines, node.lineno)
        for target in targets:
            for name in ast.walk(target):
                if isinstance(name, ast.Name) and text:
                    found[name.id] = f"{found[name.id]} {text}" if name.id in found else text
    return found


def _texts(node: ast.FunctionDef, comments: dict[int, str], lines: list[str]) -> list[str]:
    """Docstring, comment above, and comments inside one test."""
    first = min([node.lineno, *(mark.lineno for mark in node.decorator_list)])
    inside = [comments[at] for at in range(first, (node.end_lineno or first) + 1) if at in comments]
    joined = " ".join(inside)
    return [
        *_paragraph(ast.get_docstring(node)),
        _block_above(comments, lines, first),
        joined,
    ]


def rows_of(text: str, path: str) -> list[Row]:
    """Return the lines that one test file gives.

    Parameters
    ----------
    text : str
        The file.
    path : str
        Its path from the root, with forward slashes.

    Returns
    -------
    list of Row
        One for the file where its head names a hand sheet, and one for each test that names a source.
    """
    tree, comments, lines = ast.parse(text), _comments(text), text.splitlines()
    constants = _constants(tree, comments, lines)
    rows = []
    head = _paragraph(ast.get_docstring(tree))
    if "hand sheet" in {kind_of(part) for part in head}:
        status = status_of(" ".join(head), "hand sheet")
        rows.append(Row("hand sheet", path, "the whole file", " ".join(head), status))
    said = said_at_the_head(" ".join(head))
    for name, node in _functions(tree):
        texts = _texts(node, comments, lines)
        own = " ".join(texts)
        # The source of a table is that of a test that runs over it, or that says it is of the table.
        names = [inner for mark in node.decorator_list for inner in ast.walk(mark)]
        marks = {inner.id for inner in names if isinstance(inner, ast.Name)}
        if re.search(OF_A_TABLE, f"{name} {own}"):
            marks |= {inner.id for inner in ast.walk(node) if isinstance(inner, ast.Name)}
        texts += [note for constant, note in constants.items() if constant in marks]
        naming = [part for part in texts if kind_of(part)]
        if not naming:
            continue
        kinds = [kind for kind, _ in SOURCES]
        kind = min((kind_of(part) for part in naming), key=kinds.index)
        source = " ".join(dict.fromkeys(naming))
        what = name.rpartition("::")[2].removeprefix("test_").replace("_", " ")
        status = status_of(f"{source} {own}", kind, said)
        rows.append(Row(kind, f"{path}::{name}", what, source, status))
    return rows


def rows(root: Path = ROOT) -> list[Row]:
    """Return the lines of all test files, in a fixed order."""
    found = []
    for path in sorted((root / "tests").rglob("test_*.py")):
        name = path.relative_to(root).as_posix()
        if not name.startswith("tests/docs/"):
            found += rows_of(path.read_text(encoding="utf-8"), name)
    return sorted(found)


def _cell(text: str) -> str:
    """Text as it may stand in a cell of a table."""
    for sign in ("\\", "|", "*", "_", "<", "[", "`"):
        text = text.replace(sign, "\\" + sign)
    return text


def page(found: Iterable[Row]) -> str:
    """Return the page.

    Parameters
    ----------
    found : iterable of Row
        Its lines, in any order.

    Returns
    -------
    str
        Markdown; the same lines give the same text.
    """
    ordered = sorted(found)
    counts = Counter(row.status for row in ordered)
    text = HEAD
    for status, meaning in MEANINGS.items():
        text += f"| {status} | {meaning} | {counts[status]} |\n"
    for kind, _ in SOURCES:
        of_kind = [row for row in ordered if row.kind == kind]
        if not of_kind:
            continue
        text += f"\n## {TITLES[kind]}\n\n"
        text += "| what is checked | held against, in the test's words | known | test |\n"
        text += "| --- | --- | --- | --- |\n"
        for row in of_kind:
            text += f"| {_cell(row.what)} | {_cell(row.source)} | {row.status} | `{row.test}` |\n"
    return text


def main() -> int:
    """Write the page."""
    found = rows()
    PAGE.write_text(page(found), encoding="utf-8")
    print(f"{PAGE.relative_to(ROOT)}: {len(found)} lines")
    return 0


if __name__ == "__main__":
    sys.exit(main())
