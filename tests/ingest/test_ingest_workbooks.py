"""XLSX workbooks: every cell as other libraries see it, and every cell that cannot be trusted named."""

from __future__ import annotations

import contextlib
import io
import zipfile
from datetime import date
from decimal import Decimal

import fastexcel
import openpyxl
import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st
from ingest_support import CASE_FILES, read_path, read_text
from openpyxl.utils.datetime import CALENDAR_MAC_1904, CALENDAR_WINDOWS_1900, from_excel

from wearline.errors import FileFormatError, InputError
from wearline.ingest import workbook as workbook_module
from wearline.ingest.number_formats import NumberFormat, date_of_serial, read_number_format, shown_number
from wearline.ingest.toml_source import parse_toml
from wearline.ingest.workbook import open_workbook
from wearline.ingest.xlsx_source import parse_xlsx
from wearline.records.readings import CORNERS, Measured

FACTS = [
    ["vehicle.id", "V1"],
    ["vehicle.design", "generic-22.5"],
    ["axle.1.role", "steer"],
    ["inspection.taken_on", date(2026, 9, 14)],
]


def book_of(rows, sheet="wheel ends", formats=None, others=None) -> bytes:
    """Write rows with openpyxl; formats maps a cell to a number format."""
    book = openpyxl.Workbook()
    page = book.active
    page.title = sheet
    for row in rows:
        page.append(row)
    for cell, code in (formats or {}).items():
        page[cell].number_format = code
    for name, more in (others or {}).items():
        other = book.create_sheet(name)
        for row in more:
            other.append(row)
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def read_book(folder, data: bytes):
    return read_text(folder, data, "inspection.xlsx")


def test_a_row_per_wheel_end(tmp_path) -> None:
    rows = [
        *FACTS,
        ["at", "total_travel [mm]", "slide", "note"],
        ["1L", 1.4, "55 N", "knock"],
        ["1R", "1,50", "stuck"],
    ]
    left, right = read_book(tmp_path, book_of(rows)).wheel_ends
    assert left.measured("total_travel") == Measured(0.0014, "1.4", "mm", 0.0001)
    assert left.note == "knock"
    assert right.measured("total_travel") == Measured(0.0015, "1,50", "mm", 1e-05)


def test_facts_may_stand_on_a_sheet_of_their_own_with_remarks(tmp_path) -> None:
    facts = [[*row, "a remark that is not read"] for row in FACTS]
    data = book_of([["at", "total_travel"], ["1L", "1.4 mm"]], others={"Inspection": facts, "notes": [["x"]]})
    assert read_book(tmp_path, data).taken_on == date(2026, 9, 14)


@pytest.mark.parametrize("path", CASE_FILES, ids=lambda path: path.stem)
def test_a_case_as_a_workbook_is_the_case(tmp_path, path) -> None:
    """Written with xlsxwriter as texts, so that every reading is as typed."""
    document, _ = parse_toml(path.read_text(), path.name)
    stream = io.BytesIO()
    book = xlsxwriter.Workbook(stream)
    facts, readings = book.add_worksheet("inspection"), book.add_worksheet("wheel ends")
    lines = [(f"vehicle.{key}", value) for key, value in document["vehicle"].items()]
    lines += [(f"axle.{axle['id']}.role", axle["role"]) for axle in document["axle"]]
    lines += [(f"inspection.{key}", value) for key, value in document["inspection"].items()]
    name = "peer_wear_mm_per_10000_km"
    lines += [(f"{name}.{axle}", rate) for axle, rate in document[name].items()]
    for row, (key, value) in enumerate(lines):
        facts.write(row, 0, key)
        facts.write_string(row, 1, str(value))
    headings: dict[str, int] = {}
    for row, end in enumerate(document["wheel_end"], start=1):
        for key, value in end.items():
            several = key in ("pad_inner", "pad_outer")
            cells = (
                {f"{key}_{c}": v for c, v in zip(CORNERS, value, strict=True)} if several else {key: value}
            )
            for heading, text in cells.items():
                column = headings.setdefault(heading, len(headings))
                readings.write_string(row, column, "; ".join(text) if isinstance(text, list) else str(text))
    for heading, column in headings.items():
        readings.write_string(0, column, heading)
    book.close()
    assert read_book(tmp_path, stream.getvalue()) == read_path(path)


cell_values = st.one_of(
    st.none(),
    st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs")), min_size=1, max_size=12).filter(
        lambda text: text.strip() and not text.startswith("=") and "_x" not in text
    ),
    st.integers(-(10**9), 10**9),
    st.decimals(-(10**4), 10**4, places=3, allow_nan=False).map(float),
)


@settings(deadline=None, max_examples=60)
@given(st.lists(st.lists(cell_values, min_size=3, max_size=3), min_size=1, max_size=5))
def test_cells_are_what_two_other_readers_see(rows) -> None:
    """Against openpyxl and against calamine (through fastexcel), on the same bytes."""
    data = book_of([["start", "b", "c"], *rows])
    page = openpyxl.load_workbook(io.BytesIO(data)).active
    ours = {
        cell.place.rpartition(" ")[2]: cell.value
        for row in open_workbook(data, "book").rows("wheel ends")
        for cell in row
        if cell is not None
    }
    theirs = {
        cell.coordinate: cell.value
        for row in page.iter_rows()
        for cell in row
        if cell.value is not None and str(cell.value).strip()
    }
    assert ours.keys() == theirs.keys()
    for place, value in theirs.items():
        if isinstance(value, str):
            assert value == ours[place]
        else:
            assert Decimal(repr(float(value))) == Decimal(ours[place])
    sheet = fastexcel.read_excel(data).load_sheet(0, header_row=None, dtypes="string")
    frame = sheet.to_polars()
    for place, value in ours.items():
        column, row = openpyxl.utils.cell.coordinate_from_string(place)
        seen = frame.row(row - 1)[openpyxl.utils.column_index_from_string(column) - 1]
        assert seen == value or Decimal(seen) == Decimal(value)


@pytest.mark.parametrize(
    ("value", "code", "seen"),
    [
        (0.48, "0%", "48 %"),
        (0.485, "0%", "48.5 %"),
        (0.48, "0.00%", "48.00 %"),
        (1.4, "0.00", "1.40"),
        (1.40000000000000013, "0.00", "1.40"),
        (1.404, "0.00", "1.404"),
        (1.4, '0.00" mm"', "1.40 mm"),
        (1.4, r"0.0\ \m\m", "1.4 mm"),
        (1.4, '0.0_)" in";[Red]-0.0', "1.4 in"),
        (12, "General", "12"),
        (17200, "#,##0", "17200"),
        (1.25, "# ?/?", "1.25"),
        (1e-05, "General", "0.00001"),
        (55, '"55 "0', "55"),
    ],
)
def test_a_number_is_read_as_it_is_shown_with_every_digit(value, code, seen) -> None:
    data = book_of([["x", value]], formats={"B1": code})
    (row,) = open_workbook(data, "book").rows("wheel ends")
    assert row[1].value == seen


@pytest.mark.parametrize(
    ("number", "code", "is_date"),
    [
        ("14", "", True),
        ("22", "", True),
        ("9", "", False),
        ("0", "", False),
        ("170", "yyyy-mm-dd", True),
        ("171", "d/m/yy h:mm", True),
        ("172", '0.0" mm"', False),
        ("173", "General", False),
        ("174", "[h]:mm", True),
        ("175", "[Red]0.0", False),
        ("176", "#,##0.00", False),
        ("x", "", False),
    ],
)
def test_days_are_told_from_numbers_by_their_format(number, code, is_date) -> None:
    assert read_number_format(number, code).is_date is is_date


@pytest.mark.parametrize(
    ("serial", "since_1904", "day"),
    [
        # ECMA-376 part 1, 18.17.4.1: serial 1 is 1900-01-01, and 1900 counts as a leap year; in the other
        # system serial 0 is 1904-01-01.
        (1, False, date(1900, 1, 1)),
        (59, False, date(1900, 2, 28)),
        (61, False, date(1900, 3, 1)),
        (45000, False, date(2023, 3, 15)),
        (45000.9, False, date(2023, 3, 15)),
        (0, True, date(1904, 1, 1)),
        (43538, True, date(2023, 3, 15)),
        (-1, False, None),
        (2_958_466, False, None),
    ],
)
def test_day_counts(serial, since_1904, day) -> None:
    assert date_of_serial(serial, since_1904) == day


@pytest.mark.parametrize("serial", [1, 58, 61, 367, 45000, 2_000_000])
def test_day_counts_are_those_of_openpyxl(serial) -> None:
    for since_1904, epoch in ((False, CALENDAR_WINDOWS_1900), (True, CALENDAR_MAC_1904)):
        assert date_of_serial(serial, since_1904) == from_excel(serial, epoch).date()


@pytest.mark.parametrize("taken", [date(1999, 12, 31), date(2024, 2, 29), date(2026, 9, 14)])
def test_days_are_those_that_openpyxl_wrote(taken) -> None:
    ((_, cell),) = open_workbook(book_of([["x", taken]]), "book").rows("wheel ends")
    assert cell.value == taken


def test_days_of_the_1904_system_are_read() -> None:
    stream = io.BytesIO()
    book = xlsxwriter.Workbook(stream, {"date_1904": True, "default_date_format": "yyyy-mm-dd"})
    book.add_worksheet("a").write_datetime(0, 0, date(2026, 9, 14))
    book.close()
    ((cell,),) = open_workbook(stream.getvalue(), "book").rows("a")
    assert cell.value == date(2026, 9, 14)


def test_a_number_keeps_digits_that_its_format_hides() -> None:
    assert shown_number(Decimal("1.4567"), NumberFormat(decimals=2)) == "1.4567"


def test_rich_and_inline_texts_are_read() -> None:
    stream = io.BytesIO()
    book = xlsxwriter.Workbook(stream)
    page = book.add_worksheet("a")
    bold = book.add_format({"bold": True})
    page.write_rich_string(0, 0, "stuck ", bold, "fast")
    book.close()
    inline = io.BytesIO()
    book = xlsxwriter.Workbook(inline, {"constant_memory": True})
    book.add_worksheet("a").write_string(0, 0, "stuck fast")
    book.close()
    for data in (stream.getvalue(), inline.getvalue()):
        ((cell,),) = open_workbook(data, "book").rows("a")
        assert cell.value == "stuck fast"


HEADED = [*FACTS, ["at", "total_travel [mm]", "slide"]]


@pytest.mark.parametrize(
    ("row", "formats", "message"),
    [
        (["1L", "=1+1"], {}, r"sheet 'wheel ends', cell B6: the cell holds a formula without a result"),
        (["1L", "#N/A"], {}, r"cell B6: the cell holds the error #N/A"),
        (["1L", "#DIV/0!"], {}, r"cell B6: the cell holds the error #DIV/0!"),
        (["1L", date(2026, 1, 16)], {}, r"cell B6, 1L total_travel.*turned '1/16' into a date"),
        (["1L", True], {}, r"cell B6, 1L total_travel: 1L total_travel is true"),
        (["1L", 62], {}, r"cell B6, 1L total_travel: total_travel of 1L is 62 mm; .*Write '62 thou'"),
        (["1L", 1e16], {}, r"cell B6: the cell holds '1e\+16', which is no reading"),
        (["1L", 1e7], {"B6": "yyyy-mm-dd"}, r"cell B6: the cell shows '10000000' as a date, which it is not"),
        (["1L", 1.4, "loose"], {}, r"cell C6, 1L slide: 1L slide is 'loose'"),
        (["1L", 1.4, None, "extra"], {}, r"cell D6: 'extra' stands in a column without a heading"),
        ([None, 1.4], {}, r"not said which wheel end"),
    ],
)
def test_a_bad_cell_is_named(tmp_path, row, formats, message) -> None:
    with pytest.raises(InputError, match=message):
        read_book(tmp_path, book_of([*HEADED, row], formats=formats))


def test_a_formula_with_its_result_is_read(tmp_path) -> None:
    stream = io.BytesIO()
    book = xlsxwriter.Workbook(stream)
    page = book.add_worksheet("wheel ends")
    for row, (key, value) in enumerate(FACTS):
        page.write_string(row, 0, key)
        page.write_string(row, 1, str(value))
    page.write_row(4, 0, ["at", "total_travel [mm]"])
    page.write_string(5, 0, "1L")
    page.write_formula(5, 1, "=0.9+0.5", None, 1.4)
    book.close()
    assert read_book(tmp_path, stream.getvalue()).wheel_ends[0].measured("total_travel").value == 0.0014


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (book_of([["hello", "world"]], "a"), "no sheet has a row of headings"),
        (book_of([*FACTS]), "no sheet has a row of headings"),
        (book_of([["at"]], "a", others={"b": [["at"]]}), "the sheets 'a', 'b' all hold readings"),
        (book_of([["at", None, "note"], ["1L", 3]]), "cell B2: '3' stands in a column without a heading"),
        (book_of([["at"], [*[None] * 600, "x"]]), "stands far to the right of any field"),
    ],
)
def test_a_workbook_of_another_shape_is_refused(data, message) -> None:
    with pytest.raises(FileFormatError, match=message):
        parse_xlsx(data, "book.xlsx")


def repacked(data: bytes, change) -> bytes:
    """Pack a workbook again with some parts changed; a part that becomes None is left out."""
    stream = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            part = change(name, old.read(name))
            if part is not None:
                new.writestr(name, part)
    return stream.getvalue()


SHEET = "xl/worksheets/sheet1.xml"
GOOD = book_of([*HEADED, ["1L", 1.4]])


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (lambda n, d: None if n == SHEET else d, "the part 'xl/worksheets/sheet1.xml' is missing"),
        (lambda n, d: d[: len(d) // 2] if n == SHEET else d, "the sheet 'wheel ends' is not whole"),
        (lambda n, d: d[:40] if n == "xl/workbook.xml" else d, "the part 'xl/workbook.xml' is not whole"),
        (lambda n, d: None if n == "xl/workbook.xml" else d, "the file is a ZIP archive, but no workbook"),
        (lambda n, d: d.replace(b"<row", b"<!DOCTYPE x><row", 1), "not the plain XML of a workbook"),
        (lambda n, d: d.decode().encode("utf-16"), "not the plain XML of a workbook"),
        (lambda n, d: d.replace(b'r="B6"', b'r="??"'), "has a cell called '..'"),
        (lambda n, d: d.replace(b"<v>1.4</v>", b"<v>x</v>"), "cell B6: the cell holds 'x' as a number"),
        (lambda n, d: d.replace(b"<v>1.4</v>", b"<v>nan</v>"), "holds 'nan', which is no reading"),
    ],
)
def test_a_damaged_workbook_is_refused(change, message) -> None:
    with pytest.raises(InputError, match=message):
        parse_xlsx(repacked(GOOD, change), "book.xlsx")


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (lambda n, d: None if "sharedStrings" in n else d, "the part 'xl/sharedStrings.xml' is missing"),
        (lambda n, d: d.replace(b"<v>0</v>", b"<v>9</v>"), "a text of a cell is missing"),
        (lambda n, d: d.replace(b"<v>0</v>", b"<v>x</v>"), "a text of a cell is missing"),
    ],
)
def test_missing_texts_are_refused(change, message) -> None:
    stream = io.BytesIO()
    book = xlsxwriter.Workbook(stream)
    book.add_worksheet("a").write_string(0, 0, "at")
    book.close()
    with pytest.raises(FileFormatError, match=message):
        parse_xlsx(repacked(stream.getvalue(), change), "book.xlsx")


def test_a_workbook_cut_off_anywhere_is_refused() -> None:
    """The list of parts stands at the end of a ZIP archive, so no shorter file is whole."""
    for length in range(4, len(GOOD), 101):
        with pytest.raises(FileFormatError, match="the workbook is damaged"):
            parse_xlsx(GOOD[:length], "book.xlsx")


def test_flipped_bytes_never_break_the_reader() -> None:
    for place in range(0, len(GOOD), 13):
        data = bytearray(GOOD)
        data[place] ^= 0xFF
        with contextlib.suppress(InputError):
            parse_xlsx(bytes(data), "book.xlsx")


def test_a_bomb_is_refused_before_it_is_unpacked(monkeypatch) -> None:
    """60 MB of blanks pack into 60 kB."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in ("a", "b", "c"):
            archive.writestr(name, b" " * 19_000_000)
    assert len(stream.getvalue()) < 100_000

    def never(*_args):
        raise AssertionError("a part was unpacked")

    monkeypatch.setattr(zipfile.ZipFile, "read", never)
    with pytest.raises(
        FileFormatError, match=r"the workbook unpacks to 57 MB in 3 parts. Allowed: at most 50 MB"
    ):
        open_workbook(stream.getvalue(), "book.xlsx")


def test_a_part_that_lies_about_its_size_is_refused() -> None:
    """The declared size is made smaller than what is packed; the check sum then does not fit."""
    data = bytearray(GOOD)
    with zipfile.ZipFile(io.BytesIO(GOOD)) as archive:
        size = archive.getinfo(SHEET).file_size
    lie = (size - 7).to_bytes(4, "little")
    changed = bytes(data).replace(size.to_bytes(4, "little"), lie)
    assert changed != GOOD
    with pytest.raises(FileFormatError, match=r"cannot be unpacked|is not whole"):
        parse_xlsx(changed, "book.xlsx")


def test_too_many_parts_and_cells_are_refused(monkeypatch) -> None:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for n in range(1001):
            archive.writestr(f"part{n}", b"")
    with pytest.raises(FileFormatError, match="in 1001 parts"):
        open_workbook(stream.getvalue(), "book.xlsx")
    monkeypatch.setattr(workbook_module, "MAXIMUM_CELLS", 3)
    with pytest.raises(FileFormatError, match="the sheet 'wheel ends' is too large"):
        parse_xlsx(GOOD, "book.xlsx")


def test_an_opendocument_file_is_named() -> None:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        archive.writestr("content.xml", "<x/>")
    with pytest.raises(FileFormatError, match=r"OpenDocument sheet or text.*Save it as XLSX or CSV"):
        open_workbook(stream.getvalue(), "book.xlsx")


def test_a_locked_part_is_named() -> None:
    data = bytearray(GOOD)
    for signature, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        place = data.find(signature)
        data[place + offset] |= 1
    with pytest.raises(FileFormatError, match="locked with a password"):
        open_workbook(bytes(data), "book.xlsx")
