"""Every example on the pages is executed, and prints what the page shows."""

from __future__ import annotations

import doctest
import shlex
import shutil
from pathlib import Path

import pytest
from docs_support import DOCS, PAGES, ROOT, blocks, mismatch, name_of, shown

from wearline.cli.main import run

# Commands that ask which day it is.
DATED = {"sheet", "judge", "job", "road", "keep", "report"}
WITH_CONSOLE = [page for page in PAGES if any(block.language == "console" for block in blocks(page))]
WITH_PYTHON = [
    page
    for page in PAGES
    if any(block.language == "python" and ">>> " in block.text for block in blocks(page))
]


@pytest.mark.parametrize("page", WITH_CONSOLE, ids=name_of)
def test_commands_print_what_the_page_shows(
    page: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Run in order in an empty folder that holds the files of the project the page names."""
    shutil.copytree(ROOT / "tests" / "cases", tmp_path / "tests" / "cases")
    shutil.copytree(DOCS / "examples", tmp_path / "docs" / "examples")
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("WEARLINE_DATABASE", raising=False)
    for block in (block for block in blocks(page) if block.language == "console"):
        for example in shown(block.text):
            words = shlex.split(example.command)
            assert words[0] == "wearline", example.command
            # The day is an argument, so that the page is right on any day.
            dated = ["--today", "2026-09-20"] if words[1] in DATED and "--today" not in words else []
            code = run(words[1:] + dated)
            said = capsys.readouterr()
            printed = said.err if code == 2 else said.out
            assert code in (0, 1, 2), said.err
            assert mismatch(example.lines, printed) == "", f"{name_of(page)}: {example.command}\n{printed}"


@pytest.mark.parametrize("page", WITH_PYTHON, ids=name_of)
def test_python_examples_give_what_the_page_shows(page: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As in an interpreter started in the project's folder."""
    monkeypatch.chdir(ROOT)
    python = [block.text for block in blocks(page) if block.language == "python"]
    text = "\n".join(part for part in python if ">>>" in part)
    examples = doctest.DocTestParser().get_doctest(text, {}, name_of(page), str(page), 0)
    told: list[str] = []
    result = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS).run(examples, out=told.append)
    assert result.attempted > 0
    assert result.failed == 0, "".join(told)


@pytest.mark.parametrize(
    "page",
    ["README.md", *(f"docs/explanation/{name}.md" for name in ("readings-and-units", "pads-and-tilt"))],
)
def test_the_pages_that_promise_examples_have_some(page: str) -> None:
    assert ROOT / page in {*WITH_CONSOLE, *WITH_PYTHON}


@pytest.mark.parametrize(
    ("quoted", "fits"),
    [
        (("one", "two", "three", "four"), True),
        (("one", "[...]", "four"), True),
        (("[...]", "two", "three", "[...]"), True),
        (("[...]", "", "two", "", "[...]"), True),
        (("one", "[...]"), True),
        (("[...]", "four"), True),
        (("one", "three", "[...]"), False),  # left out without saying so
        (("two", "[...]"), False),  # does not begin with the output
        (("[...]", "three"), False),  # does not end with it
        (("[...]", "three", "[...]", "two", "[...]"), False),  # other order
        (("[...]", "five", "[...]"), False),
        ((), True),
    ],
)
def test_a_quotation_is_held_to_the_line(quoted: tuple[str, ...], fits: bool) -> None:
    assert (mismatch(quoted, "one\ntwo\nthree\nfour\n") == "") is fits
