"""Writers killed with SIGKILL at random moments: what was acknowledged is whole, nothing is half kept."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from databases import PostgresqlServer

NURSERY = Path(__file__).parent / "crash_nursery.py"


def kill_writers(place: str, kills: int, seed: int, *more: str) -> dict:
    done = subprocess.run(
        [sys.executable, "-W", "error", str(NURSERY), place, str(kills), str(seed), *more],
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_200_kills_lose_no_acknowledged_inspection(tmp_path):
    """In a file: also kills while the file is made, before the first word, and between commit and word."""
    found = kill_writers(str(tmp_path), 200, 20260302)
    assert found["faults"] == []
    assert found["kills"] == 200
    assert found["acknowledged"] >= found["awaited"] > 400
    assert found["killed_before_first_word"] > 0
    assert found["committed_without_word"] >= 0


@pytest.mark.postgresql
def test_kills_lose_no_acknowledged_inspection_on_a_server(postgresql_server: PostgresqlServer):
    found = kill_writers(postgresql_server.new_database().address, 30, 20260302)
    assert found["faults"] == []
    assert found["kills"] == 30
    assert found["acknowledged"] >= found["awaited"] > 50


def test_a_writer_that_acknowledges_too_early_is_found_out(tmp_path):
    """The crash test can fail: one that says 'kept' before the commit is caught losing inspections."""
    found = kill_writers(str(tmp_path), 60, 20260302, "early")
    assert any("is lost" in fault for fault in found["faults"])
