"""Files that are no inspection: each gives one clear error, whatever their bytes."""

from __future__ import annotations

import io
import stat
import sys

import pytest
from ingest_support import CASES, SMALL, TODAY, read_path, read_text

from wearline.catalogue.loading import load_catalogue
from wearline.errors import FileFormatError, InputError
from wearline.ingest import sources
from wearline.ingest.read import read_inspection


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "the file is empty"),
        (b" \n\t\r\n", "the file holds nothing but blanks"),
        (b"%PDF-1.7 ...", "the file is a PDF"),
        (b"\x89PNG\r\n\x1a\n....", "the file is a PNG picture"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1....", "an old XLS or a password-protected workbook"),
        (b"SQLite format 3\x00....", "the file is an SQLite database"),
        (b"PAR1....PAR1", "the file is a Parquet file"),
        (b"\xff\xfev\x00e\x00", "encoded as UTF-16"),
        (b"\xfe\xff\x00v\x00e", "encoded as UTF-16"),
        (b"\xff\xfe\x00\x00v\x00\x00\x00", "encoded as UTF-32"),
        ("[vehicle]".encode("utf-16-le"), "seems to be encoded as UTF-16"),
        (b'[vehicle]\nid = "V\x001"\n', "the file is binary: byte 18 on line 2 is zero"),
        (b'[vehicle]\nid = "V\x07"\n', "a control character \\(code 7\\) stands in the text"),
        (b"PK\x03\x04 and no more", "the workbook is damaged: it is cut off"),
    ],
)
def test_what_is_no_text_is_named(tmp_path, content, message) -> None:
    with pytest.raises(FileFormatError, match=message):
        read_text(tmp_path, content)


def test_a_byte_that_is_not_utf8_is_named_with_its_line(tmp_path) -> None:
    """0xB0 is the degree sign in Latin-1; 10 and 12 bytes stand before it."""
    content = b'[vehicle]\nid = "at 20 \xb0C"\n'
    with pytest.raises(
        FileFormatError, match=r"line 2: byte 23 \(0xB0\) is not UTF-8.*Save the file as UTF-8"
    ):
        read_text(tmp_path, content)


def test_a_byte_order_mark_is_passed_over(tmp_path) -> None:
    assert read_text(tmp_path, b"\xef\xbb\xbf" + SMALL.encode()).vehicle.id == "V1"


def test_line_ends_of_every_system_are_read(tmp_path) -> None:
    assert read_text(tmp_path, SMALL.replace("\n", "\r\n")) == read_text(tmp_path, SMALL)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('[vehicle]\nid = "V1', "ends in the middle of something"),
        ("[[wheel_end]]\npad_inner = [", "ends in the middle of something"),
        ("[vehicle", "ends in the middle of something"),
        ("[vehicle]\nid = = 3\nkind = 3\n", "line 2: this is not TOML: .*'id = = 3'"),
        ("Dear colleague,\nthe truck is fine.\n", "line 1: this is not TOML"),
        ("[vehicle]\nid = 1\nid = 2\n", "line 3: 'id = 2' is given twice"),
        ("[vehicle]\n[vehicle]\n", "'.vehicle.' is given twice"),
        ("a = 2026-02-31\n", "not TOML"),
        ("a = " + "9" * 5000, "a number or date in the file cannot be read"),
        ("a = " + "[" * 60, "nested too deeply"),
        ("a = " + "[ " * 100_000, "nested too deeply"),
        ("a = " + "{a=" * 100_000, "nested too deeply"),
        ("[[wheel_end]]\n" * 700_000, "more than 2000 tables"),
        ("a = 1\n" * 200_000, "more than 100000 lines"),
    ],
)
def test_what_is_no_toml_is_named_with_its_line(tmp_path, text, message) -> None:
    with pytest.raises(FileFormatError, match=message):
        read_text(tmp_path, text)


@pytest.mark.parametrize("case", ["A1", "A10"])
def test_a_case_cut_off_anywhere_is_read_or_refused(tmp_path, case) -> None:
    """A file cut at the end of a line may be a shorter inspection; cut elsewhere it is an error."""
    data = (CASES / f"{case}.toml").read_bytes()
    refused = 0
    for length in range(0, len(data), 97):
        try:
            read_text(tmp_path, data[:length])
        except InputError:
            refused += 1
    assert refused > 0.7 * len(range(0, len(data), 97))


def test_a_missing_file_and_a_folder_are_named(tmp_path) -> None:
    with pytest.raises(FileFormatError, match=r"gone.toml: the file cannot be read: there is no such file"):
        read_path(tmp_path / "gone.toml")
    with pytest.raises(FileFormatError, match="cannot be read: it is a folder"):
        read_path(tmp_path)
    (tmp_path / "a").write_text("x")
    with pytest.raises(FileFormatError, match=r"cannot be read: .*path is not a folder"):
        read_path(tmp_path / "a" / "b.toml")
    with pytest.raises(FileFormatError, match="the name of the file cannot be used"):
        read_path(tmp_path / "a\x00b")
    with pytest.raises(FileFormatError, match="cannot be read"):
        read_path(tmp_path / ("n" * 400))


def test_a_refused_file_is_named(tmp_path, monkeypatch) -> None:
    """Root may read everything, so the refusal of the system is played."""

    def refuse(*_args, **_kwargs):
        raise PermissionError(13, "Permission denied")

    path = tmp_path / "locked.toml"
    path.write_text(SMALL)
    monkeypatch.setattr(sources.Path, "open", refuse)
    with pytest.raises(FileFormatError, match=r"locked.toml: the file cannot be read: permission is refused"):
        read_path(path)


def test_a_huge_file_is_refused_before_it_is_read(tmp_path, monkeypatch) -> None:
    path = tmp_path / "huge.toml"
    with path.open("wb") as stream:
        stream.truncate(100_000_000)

    def never(*_args):
        raise AssertionError("the file was read")

    monkeypatch.setattr(sources, "_read_bounded", never)
    with pytest.raises(FileFormatError, match=r"the file holds 100 MB. Allowed: at most 10 MB"):
        read_path(path)


def test_an_endless_stream_is_refused() -> None:
    with pytest.raises(FileFormatError, match="the file holds more than 10 MB"):
        read_inspection("/dev/zero", today=TODAY, catalogue=load_catalogue())


def given_on_standard_input(monkeypatch, data: bytes) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data)))


def test_standard_input_takes_toml_and_csv(monkeypatch) -> None:
    catalogue = load_catalogue()
    given_on_standard_input(monkeypatch, SMALL.encode())
    from_toml = read_inspection("-", today=TODAY, catalogue=catalogue)
    table = (
        "vehicle.id,V1\nvehicle.design,generic-22.5\naxle.1.role,steer\ninspection.taken_on,2026-09-14\n"
        "at,total_travel\n1L,1.40 mm\n"
    )
    given_on_standard_input(monkeypatch, table.encode())
    assert read_inspection("-", today=TODAY, catalogue=catalogue) == from_toml


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "standard input: the file is empty"),
        (b"x" * 10_000_001, "standard input: the file holds more than 10 MB"),
        (b"[vehicle]\nid = 3 3\n", "standard input, line 2"),
    ],
)
def test_bad_standard_input_is_named(monkeypatch, data, message) -> None:
    given_on_standard_input(monkeypatch, data)
    with pytest.raises(FileFormatError, match=message):
        read_inspection("-", today=TODAY, catalogue=load_catalogue())


def test_a_workbook_by_name_only_is_refused(tmp_path) -> None:
    with pytest.raises(FileFormatError, match="the name says XLSX, but the content is not a workbook"):
        read_text(tmp_path, SMALL, "inspection.xlsx")


def test_content_decides_where_the_name_says_nothing(tmp_path) -> None:
    assert read_text(tmp_path, SMALL, "inspection").vehicle.id == "V1"
    assert read_text(tmp_path, SMALL, "inspection.txt").vehicle.id == "V1"


def test_reading_leaves_the_file_alone(tmp_path) -> None:
    path = tmp_path / "inspection.toml"
    path.write_text(SMALL)
    path.chmod(stat.S_IRUSR)
    before = path.stat()
    read_path(path)
    assert path.read_text() == SMALL
    assert path.stat().st_mtime_ns == before.st_mtime_ns


@pytest.mark.parametrize(
    ("end", "codes"),
    [
        ("rotor_runout = 0.06\n", []),
        ("rotor_runout = 0.0", ["no-line-end"]),
        ('rotor_runout = "0.06 mm"', []),
        ("rotor_runout = 0.06  # remark", ["no-line-end"]),
    ],
)
def test_a_last_value_that_may_be_cut_off_is_noticed(tmp_path, end, codes) -> None:
    """'0.06' and '0.0' are both whole numbers of TOML; only the missing line end tells them apart."""
    text = SMALL.replace("[[wheel_end]]", 'units = "metric"\n[[wheel_end]]') + end
    assert [notice.code for notice in read_text(tmp_path, text).notices] == codes


def test_a_table_that_may_be_cut_off_is_noticed(tmp_path) -> None:
    table = (
        "vehicle.id,V1\nvehicle.design,generic-22.5\naxle.1.role,steer\ninspection.taken_on,2026-09-14\n"
        "at,total_travel [mm]\n1L,1.4"
    )
    (notice,) = read_text(tmp_path, table, "x.csv").notices
    assert (notice.code, notice.cure) == ("no-line-end", "Look at the last value; end the last line")
    assert read_text(tmp_path, table + "\n", "x.csv").notices == ()
