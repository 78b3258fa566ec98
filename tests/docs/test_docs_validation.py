"""The table of outside checks is made from the tests, and every line of it names one that exists."""

from __future__ import annotations

import ast
import importlib.util
import re
import sys
from pathlib import Path
from typing import Any

import pytest
from docs_support import DOCS, ROOT

PAGE = (DOCS / "validation.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def tool() -> Any:
    name = "make_validation"
    spec = importlib.util.spec_from_file_location(name, ROOT / "tools" / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


def names_in(path: Path) -> set[str]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}


def test_every_line_names_a_test_that_exists() -> None:
    named = re.findall(r"\| `(tests/[^`]+)` \|$", PAGE, re.MULTILINE)
    assert len(named) > 50
    for name in named:
        path, *inner = name.split("::")
        assert (ROOT / path).exists(), name
        assert not inner or inner[-1] in names_in(ROOT / path), name


def test_the_same_tests_give_the_same_page(tool: Any) -> None:
    found = tool.rows()
    assert tool.page(found) == tool.page(reversed(found)) == tool.page(tool.rows())


def test_the_counts_of_the_page_are_those_of_its_lines() -> None:
    table = re.findall(r"^\| ([^|]+) \| [^|]+ \| (\d+) \|$", PAGE, re.MULTILINE)
    counts = {name: int(count) for name, count in table}
    assert sum(counts.values()) == len(re.findall(r"\| `tests/[^`]+` \|$", PAGE, re.MULTILINE))
    for status, count in counts.items():
        lines = re.findall(rf"\| {re.escape(status)} \| `tests/[^`]+` \|$", PAGE, re.MULTILINE)
        assert count == len(lines), status


EXAMPLE = '''"""Head of a file.

Worked out by hand, outside the program.
"""
# JCGM 100:2008, table 1 (from memory, unverified).
TABLE = [1.0]


def test_numbers_of_the_table():
    assert TABLE == [1.0]


def test_law():
    """49 CFR 393.47(d): not less than 3.2 mm."""


def test_library():
    # scipy.stats.norm, another route
    assert True


class TestGroup:
    def test_recalled(self):
        """SAE J866 (transcription): E and F."""


def test_trade():
    """Common practice, no source: look at the mate."""


def test_against_itself():
    """What was read can be written."""
    assert scipy_like() == 1
'''


def test_what_becomes_a_line(tool: Any) -> None:
    """Docstring, comment inside, comment above a table that the test uses, and the head of a hand sheet."""
    found = {
        (row.test.partition("::")[2], row.kind, row.status) for row in tool.rows_of(EXAMPLE, "tests/x.py")
    }
    assert found == {
        ("", "hand sheet", "worked by hand"),
        ("test_numbers_of_the_table", "standard or guide", "from memory, unverified"),
        ("test_law", "law and regulation", "published"),
        ("test_library", "other library", "reference library"),
        ("TestGroup::test_recalled", "standard or guide", "from a transcription, confirm"),
        ("test_trade", "practice of the trade", "common practice, no source"),
    }


def test_the_head_of_a_file_speaks_for_its_tests(tool: Any) -> None:
    head = (
        "Sources: 49 CFR 393.52 (limits), Incropera 5.1 (from memory, unverified), sqrt(5/18) of a handbook "
        "(transcription)."
    )
    said = tool.said_at_the_head(head)
    assert said == {"incropera": "from memory, unverified", "handbook": "from a transcription, confirm"}
    assert tool.status_of("Incropera 5.1", "book or paper", said) == "from memory, unverified"
    assert tool.status_of("49 CFR 393.52", "law and regulation", said) == "published"


def test_the_grade_of_the_catalogue_goes_for_the_tests(tool: Any) -> None:
    """A standard whose text the catalogue knows from a transcription is not 'published' here."""
    assert tool.status_of("JCGM 106:2012, 8.3", "standard or guide") == "from a transcription, confirm"


def test_signs_of_a_table_cannot_break_it(tool: Any) -> None:
    row = tool.Row("other library", "tests/x.py::test_y", "a|b", "|x| <i>*_`[", "reference library")
    line = tool.page([row]).splitlines()[-1]
    assert len(re.findall(r"(?<!\\)\|", line)) == 5


def test_nothing_recalled_counts_as_published(tool: Any) -> None:
    for row in tool.rows():
        if row.status == "published":
            assert not re.search(r"memory|transcription", row.source), row.test
