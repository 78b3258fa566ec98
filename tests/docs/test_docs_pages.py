"""Pages: links that lead somewhere, nothing named that a reader does not have, everything on the index."""

from __future__ import annotations

import re
import tomllib
from datetime import date
from pathlib import Path

import pytest
from docs_support import DOCS, PAGES, ROOT, blocks, links, name_of, prose

from wearline.cli.main import _COMMANDS

INDEX = DOCS / "index.md"

# Written with a class of one letter, so that a search of the repository does not find this file.
NOT_OF_THE_PROJECT = (
    r"s[e]ed document",
    r"(?<![\w/])sh[a]red/",
    r"\.\./sh[a]red",
    r"\bissue (?:#|no\.? ?)?\d+\b",
    r"\bi[s]sues show",
    r"\bth[i]s session|another se[s]sion|se[s]sions? of the project",
    r"\bsub-?ag[e]nt",
    r"\btr[a]de\.md|\bst[a]ndards\.md|\bd[e]sign\.md|\bch[e]cks\.md|\bst[y]le\.md|\bBR[I]EF",
    r"\bT[O]DO\b|\bF[I]XME\b|simplified f[o]r now|to be writ[t]en",
)
BOASTS = r"\b(?:powerful|seamless|cutting[- ]edge|world[- ]class|revolutionary|blazing|game[- ]chang\w+)\b"


def heading_ids(page: Path) -> set[str]:
    """Anchors as web pages of a repository make them."""
    found = set()
    for line in prose(page).splitlines():
        if line.startswith("#"):
            title = line.lstrip("#").strip().lower()
            found.add(re.sub(r"[^\w\- ]", "", title).replace(" ", "-"))
    return found


@pytest.mark.parametrize("page", PAGES, ids=name_of)
def test_every_link_leads_somewhere(page: Path) -> None:
    for link in links(page):
        target, _, anchor = link.partition("#")
        if "://" in target:
            continue
        file = (page.parent / target).resolve() if target else page
        assert file.exists(), f"{name_of(page)}: {link}"
        assert file.is_relative_to(ROOT), f"{name_of(page)}: {link} leaves the project"
        assert not anchor or anchor in heading_ids(file), f"{name_of(page)}: {link}"


@pytest.mark.parametrize("page", PAGES, ids=name_of)
def test_nothing_is_named_that_a_reader_does_not_have(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    for pattern in NOT_OF_THE_PROJECT:
        found = re.search(pattern, text)
        assert found is None, f"{name_of(page)}: {found and found[0]!r}"


@pytest.mark.parametrize("page", PAGES, ids=name_of)
def test_no_boasting(page: Path) -> None:
    found = re.search(BOASTS, prose(page), re.IGNORECASE)
    assert found is None, f"{name_of(page)}: {found and found[0]!r}"


def test_every_page_is_on_the_index() -> None:
    listed = {(DOCS / link.partition("#")[0]).resolve() for link in links(INDEX)}
    missing = {name_of(page) for page in DOCS.rglob("*.md") if page != INDEX and page.resolve() not in listed}
    assert missing == set(), "docs/index.md does not name them"


def commands_named(text: str) -> set[str]:
    """Words that stand as a command after ``wearline`` in code."""
    fenced = re.findall(r"^```[^\n]*\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)
    code = [line.removeprefix("$ ") for block in fenced for line in block.splitlines()]
    code += re.findall(r"`([^`\n]+)`", text)
    return {found for part in code for found in re.findall(r"(?:^|/)wearline ([a-z]+)", part)}


@pytest.mark.parametrize("page", PAGES, ids=name_of)
def test_every_command_named_exists(page: Path) -> None:
    assert commands_named(page.read_text(encoding="utf-8")) <= set(_COMMANDS)


def test_the_readme_names_every_command() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert set(_COMMANDS) <= commands_named(text)


def test_the_two_commands_exist() -> None:
    """``make tour``, ``make test`` and their twins without make."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    runner = (ROOT / "run.py").read_text(encoding="utf-8")
    targets = set(re.findall(r"^(?:make|python3 run\.py|py run\.py) (\w+)", text, re.MULTILINE))
    assert {"tour", "test"} <= targets
    for target in targets:
        assert re.search(rf"^{target}:\n\t\$\(PYTHON\) run\.py {target}$", makefile, re.MULTILINE)
        assert f'"{target}": {target}' in runner


def test_every_toml_block_is_toml() -> None:
    for page in PAGES:
        for block in blocks(page):
            if block.language == "toml":
                tomllib.loads(block.text)


def test_the_changelog_names_the_version() -> None:
    """Keep a Changelog: the newest entry first, in brackets, with its day or 'unreleased'."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    entries = re.findall(r"^## \[([^\]]+)\] - (.+)$", (ROOT / "CHANGELOG.md").read_text(), re.MULTILINE)
    assert entries[0][0] == project["version"]
    for _, day in entries:
        assert day == "unreleased" or date.fromisoformat(day)
