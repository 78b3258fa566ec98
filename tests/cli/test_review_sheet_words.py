"""What the command says after it wrote a sheet is something the person can do."""

from __future__ import annotations

from pathlib import Path

import pytest

from wearline.cli.main import run


def test_a_sheet_for_the_clipboard_is_not_offered_to_judge(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A PDF is printed; only files that hold readings are judged."""
    out = tmp_path / "sheet.pdf"
    assert run(["sheet", "X1", "--axles", "steer,drive", "--out", str(out)]) == 0
    said = capsys.readouterr().out
    assert "judge" not in said
    assert "Print it" in said
