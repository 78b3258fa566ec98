"""Types and lint are clean."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
TOOLS = Path(sys.executable).parent


def test_types() -> None:
    """mypy --strict over the package."""
    done = subprocess.run([str(TOOLS / "mypy")], capture_output=True, text=True, cwd=ROOT, check=False)
    assert done.returncode == 0, done.stdout[-3000:]


def test_lint() -> None:
    """ruff over sources, tests, benchmarks and tools, and its format."""
    words = ["src", "tests", "bench", "tools", "run.py"]
    done = subprocess.run(
        [str(TOOLS / "ruff"), "check", *words], capture_output=True, text=True, cwd=ROOT, check=False
    )
    assert done.returncode == 0, done.stdout[-3000:]
