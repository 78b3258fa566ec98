"""Whatever comes in, only an inspection or one clear InputError comes out."""

from __future__ import annotations

import copy
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ingest_support import CASE_FILES, TODAY

from wearline.catalogue.loading import load_catalogue
from wearline.errors import InputError
from wearline.ingest import read as read_module
from wearline.ingest.csv_source import parse_csv
from wearline.ingest.document import inspection_from_document
from wearline.ingest.facts import AXLE_KEYS, INSPECTION_KEYS, VEHICLE_KEYS
from wearline.ingest.sources import Source
from wearline.ingest.toml_source import parse_toml
from wearline.ingest.workbook import open_workbook
from wearline.records.inspection import Inspection
from wearline.records.plain import digest, from_plain, to_plain

CATALOGUE = load_catalogue()
DOCUMENTS = [parse_toml(path.read_text(), path.name)[0] for path in CASE_FILES]
FIELDS = list(CATALOGUE.fields)

texts = st.one_of(
    st.text(max_size=12),
    st.sampled_from(
        [
            "1.40 mm",
            "9,8 mm",
            "62 mm",
            "55 thou",
            "1/16 in",
            "-",
            "",
            "cannot: x",
            "cannot:",
            "torn",
            "stuck",
            "0.1; 0.2 mm",
            "1 of 2; 3 mm",
            "of",
            ";",
            "50 %",
            "1e5 mm",
            "none",
            "1L",
            "1",
            "T1",
            "metric",
            "\ud800",
            "2026-09-14",
            "2 psi/min",
            "/min",
            "12 kN",
        ]
    ),
)
scalars = st.one_of(
    texts,
    st.none(),
    st.booleans(),
    st.integers(-(10**20), 10**20),
    st.floats(),
    st.decimals(),
    st.dates(date(1, 1, 1), date(9999, 12, 31)),
    st.datetimes(),
    st.times(),
    st.binary(max_size=4),
)
reading_tables = st.dictionaries(
    st.sampled_from(["value", "unit", "u", "gauge", "readings", "cannot", "LT", "LB", "TT", "TB", "other"]),
    scalars | st.lists(scalars, max_size=4),
    max_size=4,
)
values = st.one_of(scalars, reading_tables, st.lists(scalars | reading_tables, max_size=5))


def table(keys):
    return st.dictionaries(st.sampled_from([*keys, "other"]), values, max_size=5)


documents = st.fixed_dictionaries(
    {},
    optional={
        "vehicle": table(VEHICLE_KEYS) | values,
        "axle": st.lists(table(AXLE_KEYS), max_size=3) | values,
        "inspection": table(INSPECTION_KEYS) | values,
        "wheel_end": st.lists(table(["at", "note", "noticed", *FIELDS]), max_size=3) | values,
        "vehicle_checks": table(FIELDS) | values,
        "peer_wear_mm_per_10000_km": table(["1", "2"]) | values,
        "more": values,
    },
)


def inspection_or_error(document) -> None:
    """Read, and let nothing but an InputError with a place and a sentence pass."""
    refused: InputError | None = None
    inspection: Inspection | None = None
    try:
        inspection = inspection_from_document(document, where="here", today=TODAY, catalogue=CATALOGUE)
    except InputError as error:
        refused = error
    if refused is not None:
        assert refused.where.startswith("here")
        assert refused.what
        str(refused).encode("utf-8")
    else:
        assert isinstance(inspection, Inspection)
        assert from_plain(to_plain(inspection)) == inspection
        assert len(digest(inspection)) == 64


@settings(deadline=None, max_examples=400)
@given(documents)
def test_any_document(document) -> None:
    inspection_or_error(document)


@settings(deadline=None, max_examples=400)
@given(st.data())
def test_a_case_with_one_value_changed(data) -> None:
    document = copy.deepcopy(data.draw(st.sampled_from(DOCUMENTS)))
    part = data.draw(st.sampled_from(["vehicle", "axle", "inspection", "wheel_end"]))
    holder = document[part]
    if isinstance(holder, list):
        holder = data.draw(st.sampled_from(holder))
    keys = {"vehicle": VEHICLE_KEYS, "axle": AXLE_KEYS, "inspection": INSPECTION_KEYS}.get(part, FIELDS)
    holder[data.draw(st.sampled_from([*holder, *keys]))] = data.draw(values)
    inspection_or_error(document)


@settings(deadline=None, max_examples=400)
@given(st.sampled_from(FIELDS), values)
def test_any_value_of_any_field(field, value) -> None:
    document = copy.deepcopy(DOCUMENTS[0])
    if CATALOGUE.fields[field].vehicle_level:
        document["vehicle_checks"] = {field: value}
    else:
        document["wheel_end"][0][field] = value
    inspection_or_error(document)


def source_or_error(data: bytes, suffix: str) -> None:
    try:
        document, lines = read_module._parse(Source("here", suffix, data))
        inspection_from_document(document, where="here", today=TODAY, catalogue=CATALOGUE, lines=lines)
    except InputError as error:
        str(error).encode("utf-8")


@settings(deadline=None, max_examples=300)
@given(st.binary(max_size=300), st.sampled_from(["", ".toml", ".csv", ".xlsx"]))
def test_any_bytes(data, suffix) -> None:
    source_or_error(data, suffix)


@settings(deadline=None, max_examples=300)
@given(st.text(max_size=200), st.sampled_from(["", ".toml", ".csv"]))
def test_any_text(text, suffix) -> None:
    source_or_error(text.encode("utf-8", "surrogatepass"), suffix)


pieces = st.sampled_from(
    [
        "at",
        ",",
        ";",
        "\n",
        '"',
        "1L",
        "1R",
        "vehicle.id",
        "axle.1.role",
        "axle.1",
        "inspection.taken_on",
        "V1",
        "inspection.gauges.a.b.u",
        "pad_inner_LT",
        "pad_inner",
        "total_travel [mm]",
        "total_travel.u",
        "total_travel.gauge",
        "2026-09-14",
        "1.4",
        "1,4",
        "steer",
        "#",
        "vehicle.design",
        "generic-22.5",
        "[",
        "]",
        ".",
        " ",
        "\t",
        "note",
    ]
)


@settings(deadline=None, max_examples=400)
@given(st.lists(pieces, max_size=60).map("".join))
def test_any_table(text) -> None:
    source_or_error(text.encode(), ".csv")


@settings(deadline=None, max_examples=150)
@given(st.data())
def test_a_case_with_some_bytes_changed(data) -> None:
    content = bytearray(data.draw(st.sampled_from(CASE_FILES)).read_bytes())
    for place in data.draw(st.lists(st.integers(0, len(content) - 1), min_size=1, max_size=3)):
        content[place] = data.draw(st.integers(0, 255))
    source_or_error(bytes(content), ".toml")


@settings(deadline=None, max_examples=100)
@given(st.decimals(0, 10, places=2), st.sampled_from([".", ","]))
def test_the_typed_text_is_kept_and_the_value_is_exact(number, mark) -> None:
    """The value is the float nearest to the decimal number of millimetres in metres."""
    raw = f"{number}".replace(".", mark) + " mm"
    document = copy.deepcopy(DOCUMENTS[0])
    document["wheel_end"] = [{"at": "1L", "total_travel": raw}]
    inspection = inspection_from_document(document, where="here", today=TODAY, catalogue=CATALOGUE)
    reading = inspection.wheel_ends[0].measured("total_travel")
    assert (reading.raw, reading.value) == (raw, float(Decimal(number) / 1000))


@pytest.mark.parametrize("parse", [parse_csv, open_workbook])
def test_the_parsers_name_the_file(parse) -> None:
    empty = b"" if parse is open_workbook else ""
    with pytest.raises(InputError, match="here"):
        parse(empty, "here")


def test_documents_of_the_cases_are_not_changed_by_reading() -> None:
    before = copy.deepcopy(DOCUMENTS)
    for document in DOCUMENTS:
        inspection_or_error(document)
    assert before == DOCUMENTS
