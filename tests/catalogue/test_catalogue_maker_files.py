"""A maker's limits as a file: by design, by date, never quietly laxer. All documents here are invented."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wearline.catalogue.loading import load_catalogue
from wearline.catalogue.maker_file import MakerFile, check_maker_file, read_maker_file
from wearline.catalogue.model import Authority, Status
from wearline.errors import CatalogueError

CATALOGUE = load_catalogue()
FIRST_DAY = date(2026, 2, 1)

HEAD = """
document = "Instruction for an invented calliper, issue 3"
date = 2026-01-15
part_number = "EXAMPLE-1"
valid_from = 2026-02-01
designs = ["generic-22.5"]
"""

ROTOR = """
[[limit]]
id = "rotor_min"
published = "36.5 mm"
locator = "table 2"
"""


def maker(text: str, name: str = "maker.toml") -> MakerFile:
    return read_maker_file(text, name)


def test_a_file_holds_for_its_design_from_its_first_day_on():
    catalogue = CATALOGUE.with_maker_files([maker(HEAD + ROTOR)])
    before = catalogue.limits_for("generic-22.5", FIRST_DAY - timedelta(days=1))
    after = catalogue.limits_for("generic-22.5", FIRST_DAY)
    other = catalogue.limits_for("generic-19.5", FIRST_DAY)
    assert (before["rotor_min"].published, after["rotor_min"].published) == ("37 mm", "36.5 mm")
    assert other["rotor_min"].published == "37 mm"


def test_a_file_ends_after_its_last_day():
    text = HEAD + "valid_until = 2026-03-31\n" + ROTOR
    catalogue = CATALOGUE.with_maker_files([maker(text)])
    published = [
        catalogue.limits_for("generic-22.5", day)["rotor_min"].published
        for day in (date(2026, 3, 31), date(2026, 4, 1))
    ]
    assert published == ["36.5 mm", "37 mm"]


def test_a_replaced_limit_names_document_date_part_and_place():
    catalogue = CATALOGUE.with_maker_files([maker(HEAD + ROTOR)])
    limit = catalogue.limits_for("generic-22.5", FIRST_DAY)["rotor_min"]
    assert limit.locator == (
        "Instruction for an invented calliper, issue 3, 2026-01-15, part EXAMPLE-1, table 2"
    )
    assert (limit.authority, limit.status, limit.source) == (Authority.MAKER, Status.PUBLISHED, "maker-file")


def test_the_other_printed_form_of_the_default_does_not_stay_beside_a_new_value():
    text = HEAD + '[[limit]]\nid = "play_t"\npublished = "2.5 mm"\n'
    catalogue = CATALOGUE.with_maker_files([maker(text)])
    limit = catalogue.limits_for("generic-22.5", FIRST_DAY)["play_t"]
    assert (limit.published, limit.also) == ("2.5 mm", "")


def test_the_first_catalogue_stays_as_it_was():
    CATALOGUE.with_maker_files([maker(HEAD + ROTOR)])
    assert CATALOGUE.limits_for("generic-22.5", FIRST_DAY)["rotor_min"].published == "37 mm"


def test_the_version_of_the_catalogue_changes_with_the_file():
    changed = CATALOGUE.with_maker_files([maker(HEAD + ROTOR)])
    assert changed.version != CATALOGUE.version
    assert changed.version == CATALOGUE.with_maker_files([maker(HEAD + ROTOR)]).version


def test_of_two_documents_the_later_one_holds():
    later = HEAD.replace("valid_from = 2026-02-01", "valid_from = 2026-06-01") + ROTOR.replace("36.5", "36.0")
    catalogue = CATALOGUE.with_maker_files([maker(later, "b.toml"), maker(HEAD + ROTOR, "a.toml")])
    published = [
        catalogue.limits_for("generic-22.5", day)["rotor_min"].published
        for day in (date(2026, 5, 31), date(2026, 6, 1))
    ]
    assert published == ["36.5 mm", "36.0 mm"]


def test_two_documents_of_one_day_must_agree():
    other = maker(HEAD + ROTOR.replace("36.5", "36.0"), "b.toml")
    with pytest.raises(
        CatalogueError, match=r"b\.toml: 'rotor_min' of 'generic-22.5' has another value in a\.toml"
    ):
        CATALOGUE.with_maker_files([maker(HEAD + ROTOR, "a.toml"), other])


def test_dimensions_change_the_design_from_the_same_day_on():
    text = HEAD + '[dimension]\nindicator_full_scale = "24 mm"\n' + ROTOR
    catalogue = CATALOGUE.with_maker_files([maker(text)])
    before = catalogue.design("generic-22.5", FIRST_DAY - timedelta(days=1))
    after = catalogue.design("generic-22.5", FIRST_DAY)
    assert (before.indicator_full_scale, after.indicator_full_scale) == (0.023, 0.024)
    assert after.rotor_min == 0.0365


OWN = """
[defines]
id = "invented-22.5"
title = "invented calliper"
like = "generic-22.5"

[dimension]
friction_new = "22 mm"
"""


def test_a_file_can_add_a_design_of_its_own():
    text = HEAD.replace('designs = ["generic-22.5"]\n', "") + OWN + ROTOR
    catalogue = CATALOGUE.with_maker_files([maker(text)])
    design = catalogue.design("invented-22.5")
    assert (design.friction_new, design.rotor_new) == (0.022, 0.045)
    assert catalogue.limits_for("invented-22.5", FIRST_DAY)["rotor_min"].published == "36.5 mm"
    assert "invented-22.5" not in CATALOGUE.designs


def test_another_file_can_name_that_design():
    defining = maker(HEAD.replace('designs = ["generic-22.5"]\n', "") + OWN)
    text = HEAD.replace("generic-22.5", "invented-22.5") + ROTOR
    other = read_maker_file(text, "rotor.toml", [defining])
    catalogue = CATALOGUE.with_maker_files([defining, other])
    assert catalogue.limits_for("invented-22.5", FIRST_DAY)["rotor_min"].published == "36.5 mm"


def test_one_design_is_defined_once():
    text = HEAD.replace('designs = ["generic-22.5"]\n', "") + OWN
    with pytest.raises(CatalogueError, match=r"the design 'invented-22.5' is defined by two files"):
        CATALOGUE.with_maker_files([maker(text, "a.toml"), maker(text, "b.toml")])


def test_a_laxer_value_than_a_default_of_the_trade_needs_a_reason():
    text = HEAD + '[[limit]]\nid = "play_t"\npublished = "4 mm"\n'
    with pytest.raises(
        CatalogueError, match=r"limit play_t, key 'published': 4 mm is laxer than the default 0.118 in"
    ):
        maker(text)
    reason = 'laxer_because = "table 5 allows it for this guide"\n'
    assert maker(text + reason).limits["play_t"].published == "4 mm"


def test_a_generic_figure_gives_way_to_the_maker_without_a_reason():
    """36.5 mm is laxer than the generic 37 mm, and the maker decides on his rotor."""
    assert maker(HEAD + ROTOR).limits["rotor_min"].published == "36.5 mm"


# Each line: what is damaged, and the message it must give.
REFUSED = [
    (
        HEAD.replace("part_number", "part_numbr") + ROTOR,
        r"maker\.toml, key 'part_number': this key is missing",
    ),
    (HEAD.replace('"EXAMPLE-1"', '""') + ROTOR, r"key 'part_number': an empty text stands here"),
    (HEAD.replace("document =", "documents =") + ROTOR, r"key 'document': this key is missing"),
    (HEAD.replace("date = 2026-01-15", "") + ROTOR, r"key 'date': this key is missing"),
    (HEAD.replace("= 2026-01-15", '= "soon"') + ROTOR, r"key 'date': 'soon' stands here.*Allowed: a date"),
    (HEAD.replace("= 2026-01-15", "= 2026-01-15T10:00:00") + ROTOR, r"key 'date'.*Allowed: a date"),
    (HEAD + "valid_until = 2026-01-31\n" + ROTOR, r"key 'valid_until': 2026-01-31 is before 2026-02-01"),
    (
        HEAD.replace("generic-22.5", "generic-225") + ROTOR,
        r"key 'designs': 'generic-225' is not known.*'generic-22.5'",
    ),
    (HEAD.replace('["generic-22.5"]', "[]") + ROTOR, r"key 'designs': no design stands here"),
    (HEAD, r"the file changes nothing.*at least one \[\[limit\]\]"),
    (HEAD + ROTOR.replace("rotor_min", "rotor_mn"), r"limit rotor_mn, key 'id'.*Did you mean 'rotor_min'"),
    (HEAD + ROTOR + ROTOR, r"limit rotor_min, key 'id': this limit stands twice"),
    (HEAD + ROTOR.replace("36.5 mm", "36.5"), r"key 'published': '36.5' has no unit"),
    (HEAD + ROTOR.replace("36.5 mm", "36.5 kN"), r"key 'published': 'kN' is a unit of force, not of length"),
    (HEAD + ROTOR.replace('"36.5 mm"', "36.5"), r"key 'published': 36.5 stands here.*Allowed: a text"),
    (
        HEAD + ROTOR + 'note = "a"\nsens = "at least"\n',
        r"limit rotor_min, key 'sens': this key is not known here",
    ),
    (
        HEAD + ROTOR + 'source = "derived"\nstatus = "published"\n',
        r"'published' does not fit the source 'derived'",
    ),
    (
        HEAD + ROTOR + 'authority = "law"\nsource = "derived"\n',
        r"key 'authority': a limit whose text was not read",
    ),
    (HEAD + ROTOR + 'source = "un-r13-recalled"\n', r"'un-r13-recalled' is known from memory only"),
    (
        HEAD + '[dimension]\nfull_scale = "24 mm"\n',
        r"dimension, key 'full_scale': this key is not known here",
    ),
    (
        HEAD + '[dimension]\npad_length = "0 mm"\n',
        r"dimension, key 'pad_length': '0 mm' stands here.*more than 0",
    ),
    (HEAD + '[dimension]\nrotor_new = "30 mm"\n', r"key 'rotor_min': 37 mm is not below rotor_new 30 mm"),
    (HEAD + ROTOR.replace("36.5 mm", "46 mm"), r"key 'rotor_min': 46 mm is not below rotor_new 45 mm"),
    (HEAD + OWN.replace("invented-22.5", "generic-22.5"), r"defines, key 'id'.*ships with the program"),
    (
        HEAD + OWN.replace('like = "generic-22.5"', 'like = "other"'),
        r"defines, key 'like': 'other' is not known",
    ),
    (HEAD + OWN.replace('title = "', 'titel = "'), r"defines, key 'title': this key is missing"),
    ("limit = 5\n" + HEAD, r"key 'limit': 5 stands here.*Allowed: a list"),
    ("part_number = 'a'\npart_number = 'b'", r"not a TOML file: Cannot overwrite"),
    ("[[[", r"not a TOML file"),
]


@pytest.mark.parametrize(("text", "message"), REFUSED, ids=[str(n) for n in range(len(REFUSED))])
def test_a_wrong_file_is_refused_with_place_and_cure(text, message):
    with pytest.raises(CatalogueError, match=f"(?s){message}"):
        maker(text)


def test_a_missing_file_says_so(tmp_path: Path):
    with pytest.raises(CatalogueError, match=r"none\.toml: the file cannot be read"):
        check_maker_file(tmp_path / "none.toml")


def test_a_folder_is_no_file(tmp_path: Path):
    with pytest.raises(CatalogueError, match="the file cannot be read"):
        check_maker_file(tmp_path)


def test_a_path_that_no_system_takes_is_refused():
    with pytest.raises(CatalogueError, match="the file cannot be read"):
        check_maker_file("nul\0.toml")


def test_a_file_of_another_encoding_is_refused(tmp_path: Path):
    file = tmp_path / "maker.toml"
    file.write_bytes((HEAD + ROTOR).replace("table", "Täble").encode("latin-1"))
    with pytest.raises(CatalogueError, match=r"maker\.toml: byte \d+ is not UTF-8 text"):
        check_maker_file(file)


def test_a_huge_file_is_refused_before_it_is_read(tmp_path: Path):
    file = tmp_path / "maker.toml"
    file.write_bytes(b"#" * 1_000_001)
    with pytest.raises(CatalogueError, match=r"the file has 1000001 bytes\. Allowed: at most 1 MB"):
        check_maker_file(file)


def test_a_file_from_another_system_is_read_alike(tmp_path: Path):
    """A byte-order mark and the line ends of another system change nothing, not even the digest."""
    plain, marked = tmp_path / "plain.toml", tmp_path / "marked.toml"
    plain.write_bytes((HEAD + ROTOR).encode())
    marked.write_bytes(b"\xef\xbb\xbf" + (HEAD + ROTOR).replace("\n", "\r\n").encode())
    assert check_maker_file(plain).digest == check_maker_file(marked).digest


def refusal(text: str) -> CatalogueError | None:
    """The refusal of a text, None if it was accepted; any other error goes up and fails the test."""
    try:
        maker(text)
    except CatalogueError as error:
        return error
    return None


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=300))
def test_any_text_gives_a_file_or_a_catalogue_error(text):
    error = refusal(text)
    assert error is None or error.where.startswith("maker.toml")


@settings(max_examples=150, deadline=None)
@given(start=st.integers(0, 200), length=st.integers(0, 40), junk=st.text(max_size=12))
def test_any_damage_to_a_good_file_gives_a_file_or_a_catalogue_error(start, length, junk):
    good = HEAD + ROTOR
    error = refusal(good[:start] + junk + good[start + length :])
    assert error is None or error.what
