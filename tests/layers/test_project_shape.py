"""The shape of the project: layers, sizes, docstrings, names that must not appear."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SOURCE = ROOT / "src" / "wearline"
MODULES = sorted(SOURCE.rglob("*.py"))
IDS = [str(path.relative_to(SOURCE)) for path in MODULES]
LONGEST_MODULE = 600
MOST_PARAMETERS = 9
"""Seven is the aim; two wrappers around one calculation may pass on more."""


def test_the_layers_hold() -> None:
    """import-linter over the contracts in pyproject.toml."""
    linter = Path(sys.executable).parent / "lint-imports"
    done = subprocess.run([str(linter)], capture_output=True, text=True, cwd=ROOT, check=False)
    assert done.returncode == 0, done.stdout[-2000:]


@pytest.mark.parametrize("path", MODULES, ids=IDS)
def test_modules_are_of_readable_size(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= LONGEST_MODULE


@pytest.mark.parametrize("path", MODULES, ids=IDS)
def test_public_functions_say_what_they_take_and_give(path: Path) -> None:
    """Public functions with parameters have numpydoc sections for parameters and result."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    public = _exported(tree)
    missing = []
    for node in tree.body:
        if not isinstance(node, ast.FunctionDef) or node.name not in public:
            continue
        text = ast.get_docstring(node) or ""
        parameters = [arg.arg for arg in node.args.posonlyargs + node.args.args + node.args.kwonlyargs]
        if parameters and "Parameters\n" not in text and not _is_command(node):
            missing.append(f"{node.name}: Parameters")
        missing += [
            f"{node.name}: {name}"
            for name in parameters
            if not _is_command(node) and not re.search(rf"\b{name}\b", text)
        ]
        gives = node.returns is not None and ast.unparse(node.returns) not in ("None", "NoReturn")
        if gives and not _is_command(node) and "Returns\n" not in text and "Yields\n" not in text:
            missing.append(f"{node.name}: Returns")
    assert not missing


def _exported(tree: ast.Module) -> set[str]:
    for node in tree.body:
        named = isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == "__all__"
        if named and isinstance(node.value, ast.List | ast.Tuple):
            return {item.value for item in node.value.elts if isinstance(item, ast.Constant)}
    return set()


def _is_command(node: ast.FunctionDef) -> bool:
    return any("command" in ast.unparse(decorator) for decorator in node.decorator_list)


@pytest.mark.parametrize("path", MODULES, ids=IDS)
def test_functions_take_few_parameters(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    many = [
        node.name
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef)
        and not _is_command(node)
        and len(node.args.args) + len(node.args.kwonlyargs) - ("self" in [a.arg for a in node.args.args])
        > MOST_PARAMETERS
    ]
    assert not many


def test_no_text_names_what_it_must_not() -> None:
    """No folder of material outside the project, no workplace tool, no unfinished work."""
    forbidden = re.compile(
        r"\.\./shared|seed document|\bTODO\b|\bFIXME\b|\bXXX\b|farm-|/tmp/wl", re.IGNORECASE
    )
    listed = subprocess.run(["git", "ls-files"], capture_output=True, text=True, cwd=ROOT, check=True)
    found = []
    for name in listed.stdout.splitlines():
        path = ROOT / name
        if path == Path(__file__).resolve() or path.suffix in (".png", ".woff2", ".xlsx", ".pdf"):
            continue
        text = path.read_text(encoding="utf-8", errors="replace") if path.is_file() else ""
        if match := forbidden.search(text):
            found.append(f"{name}: {match[0]}")
    assert not found
