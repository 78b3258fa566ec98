"""The page about files says what the program does: every example on it is executed here."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from ingest_support import SMALL, read_text

from wearline.catalogue.loading import load_catalogue
from wearline.errors import InputError
from wearline.ingest.columns import UNIT_SUFFIXES

PAGE = (Path(__file__).parents[2] / "docs" / "how-to" / "files.md").read_text()
BLOCKS = re.findall(r"^```(\w+)(?: (\w+))?\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
# With the day of the inspection ten lines, as the page says.
VEHICLE = (
    SMALL[: SMALL.index("[[wheel_end]]")]
    .removesuffix("\n")
    .removesuffix("[inspection]\ntaken_on = 2026-09-14\n")
)


def blocks(language: str, kind: str) -> list[str]:
    return [text for name, mark, text in BLOCKS if (name, mark) == (language, kind)]


def with_vehicle(text: str) -> str:
    head = "[inspection]\ntaken_on = 2026-09-14\n"
    return VEHICLE + (text.replace("[inspection]\n", head) if "[inspection]" in text else head + text)


@pytest.mark.parametrize("number", range(2))
def test_complete_tables_load(tmp_path, number) -> None:
    text = blocks("csv", "complete")[number]
    inspection = read_text(tmp_path, text, "example.csv")
    assert inspection.wheel_ends[0].measured("total_travel").value == 0.0014


def test_the_complete_toml_file_loads_and_the_table_says_the_same(tmp_path) -> None:
    (text,) = blocks("toml", "complete")
    inspection = read_text(tmp_path, text)
    assert inspection.notices == ()
    assert inspection.rule_packs == ("none", "us-federal")
    table = read_text(tmp_path, blocks("csv", "complete")[0], "example.csv")
    assert table.vehicle.axles[0].role == inspection.vehicle.axles[0].role
    assert table.peer_wear == {"1": inspection.peer_wear["1"]}
    for key in (("pad_inner", "TB"), ("tangential_play", "")):
        assert table.wheel_ends[0].readings[key].value == inspection.wheel_ends[0].readings[key].value
    assert (
        table.wheel_ends[1].readings["tangential_play", ""]
        == inspection.wheel_ends[1].readings["tangential_play", ""]
    )


@pytest.mark.parametrize("number", range(3))
def test_single_readings_load(tmp_path, number) -> None:
    text = blocks("toml", "reading")[number]
    assert len(read_text(tmp_path, with_vehicle(text)).wheel_ends[0].readings) >= 2


def test_no_example_is_left_out() -> None:
    counts = {(name, mark) for name, mark, _ in BLOCKS}
    assert counts == {("toml", "complete"), ("toml", "reading"), ("toml", "refused"), ("text", ""),
                      ("csv", "complete"), ("console", ""), ("python", "")}  # fmt: skip
    assert (len(blocks("toml", "reading")), len(blocks("csv", "complete"))) == (3, 2)


@pytest.mark.parametrize("number", range(len(blocks("toml", "refused"))))
def test_refused_readings_give_the_message_on_the_page(tmp_path, number) -> None:
    expected = blocks("text", "")[number].strip()
    with pytest.raises(InputError) as caught:
        read_text(tmp_path, with_vehicle(blocks("toml", "refused")[number]))
    assert str(caught.value) == f"{tmp_path}/inspection.toml, {expected}"


def test_the_python_example_runs(tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "box-12.toml").write_text(blocks("toml", "complete")[0])
    exec(compile(blocks("python", "")[0], "files.md", "exec"), {})
    assert read_text(tmp_path, (tmp_path / "copy.toml").read_text()).vehicle.id == "Box 12"


def test_every_field_is_on_the_page_with_its_words_and_range() -> None:
    rows = {row.group(1): row.group(0) for row in re.finditer(r"^\| `(\w+)`.*$", PAGE, re.MULTILINE)}
    fields = load_catalogue().fields
    assert rows.keys() == fields.keys()
    for name, spec in fields.items():
        for word in spec.words:
            assert f"`{word}`" in rows[name]
        if spec.kind is not None:
            assert f"{spec.kind.value}, {spec.possible_text}" in rows[name]
        assert spec.label in rows[name]
    assert PAGE.index("## Fields of the vehicle") < PAGE.index("| `lamps`")


def test_every_ending_of_a_column_is_on_the_page() -> None:
    for suffix in UNIT_SUFFIXES:
        assert f"`_{suffix}`" in PAGE
