"""Uploads that are meant to do harm are refused in the one shape, and cost neither memory nor time."""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from web_heavy import Uploads, flood
from web_serving import Served
from web_storm import Tally, look_at

PATHS = ("/api/1/photos", "/shelf", "/inspections/keep", "/catalogue/files", "/api/1/inspections")


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    found = Served(tmp_path_factory.mktemp("heavy") / "heavy.db")
    found.start()
    yield found
    found.close()


def test_every_harmful_file_is_refused_everywhere_and_memory_stays(served: Served) -> None:
    """A tenth of the sizes of the bench: 100 MB of sheet, 100 MB of page, 90 million dots."""
    tally = Tally()
    with httpx.Client(base_url=served.base, timeout=60) as client:
        uploads = Uploads(client.get("/api/1/me").json()["csrf"], served.base, share=0.1)
        before = served.memory()
        for path in PATHS:
            for name in uploads.files:
                method, target, body, headers = uploads.request(random.Random(1), name, path)
                look_at(
                    tally, client.request(method, target, content=body, headers=headers), f"{name} {path}"
                )
        assert client.get("/api/1/inspections").json()["inspections"] == []
        assert client.get("/catalogue.json?section=files").json()["files"] == []
    assert (tally.faults, tally.shapeless, tally.answered) == ([], [], 0)
    assert served.memory() - before < 150e6


@pytest.mark.parametrize("chunked", [False, True])
@pytest.mark.parametrize("path", ["/login", "/api/1/photos", "/inspections/keep"])
def test_200_megabytes_are_cut_off_as_they_come(served: Served, path: str, chunked: bool) -> None:
    """Refused by the length it names; where it names none, when the limit of the path is passed.

    The login takes no file: without a length the first file (400) or the limit (413) may be met first.
    """
    status, sent, _ = flood(served.port, path, chunked=chunked)
    assert status in ((400, 413) if chunked and path == "/login" else (413,))
    assert sent < 40e6
    log = Path(served.database.with_suffix(".log")).read_text(encoding="utf-8")
    assert "Traceback" not in log
