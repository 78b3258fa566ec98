"""The report as a PDF: everything said, on every number of wheel ends, with any text that people type."""

import io
import re
from dataclasses import replace
from datetime import date

import pypdf
import pytest
import report_scenes as scenes

from wearline.errors import CatalogueError, ProgramFault, StorageError
from wearline.records.place import WheelEndPlace
from wearline.reports.content import report_content
from wearline.reports.document import compile_pdf, write_pdf
from wearline.reports.inspection_report import compose_pdf, render_pdf

DAY = date(2026, 9, 15)


def flat(text):
    """Text of a PDF without line breaks, zero-width breaks and double spaces."""
    return re.sub(r"\s+", " ", text.replace("\u200b", "")).replace(" ,", ",")


def made(scene, catalogue, tmp_path, **options):
    out = tmp_path / "report.pdf"
    assert render_pdf(*scene, catalogue=catalogue, generated_on=DAY, out=out, **options) == out
    return pypdf.PdfReader(io.BytesIO(out.read_bytes()))


def text_of(reader):
    return flat("\n".join(page.extract_text() for page in reader.pages))


@pytest.fixture(scope="module")
def reader(catalogue, tmp_path_factory):
    return made(scenes.scene(2), catalogue, tmp_path_factory.mktemp("report"))


@pytest.fixture(scope="module")
def text(reader):
    return text_of(reader)


def test_every_wheel_end_has_its_heading(text):
    for place, words in (
        ("1L", "axle 1, left"),
        ("1R", "axle 1, right"),
        ("2L", "axle 2, left"),
        ("2R", "axle 2, right"),
    ):
        assert f"{place} {words}" in text


def test_page_one_carries_identity_finding_level_reasons_and_four_answers(reader):
    first = flat(reader.pages[0].extract_text())
    _, _, road, _ = scenes.scene(2)
    for part in ("Invented 7", "412 300 km", "A. Example", "brake inspector by training record 12"):
        assert part in first.replace("\u00a0", " ")
    assert "1 of 4 wheel ends has something beyond a limit or faulty: 1R" in first
    assert "Level 3: tow, or repair on the spot" in first
    for reason in road.reasons:
        assert reason.text in first
    for condition in road.conditions:
        assert condition in first
    for answer in (road.answers.part, road.answers.brake, road.answers.capability, road.answers.law):
        assert answer in first


def test_every_caution_and_gate_of_the_job_is_printed(text):
    _, _, _, plan = scenes.scene(2)
    cautions = [*plan.cautions, *(each for job in plan.axles for step in job.steps for each in step.cautions)]
    assert len(cautions) == 7
    for caution in cautions:
        assert f"Caution: {caution}" in text
    for job in plan.axles:
        for step in job.steps:
            assert step.gate in text
    assert plan.decides in text
    assert "Local codes, the maker's instructions and a qualified person decide." in text


def test_every_rule_stands_with_its_citation_source_and_grade(text):
    _, _, road, _ = scenes.scene(2)
    for pack in road.packs:
        assert f"Answer: {pack.answer}" in text
        for rule in pack.rules:
            assert rule.rule in text
            assert rule.citation in text
    assert "recalled, unverified: shown, never decides" in text
    assert "from a transcription, confirm" in text


def test_every_source_that_is_referred_to_is_listed(text, catalogue):
    for key in ("common-practice", "cfr-393-47", "expert-judgement", "generic-maker", "oos-criteria"):
        assert catalogue.sources[key].title in text
    used = {int(number) for number in re.findall(r"\[(\d+)\]", text)}
    assert used == set(range(1, max(used) + 1))


def test_readings_stand_with_value_uncertainty_verdict_limit_and_gauge(text):
    assert "2.70 mm ± 0.10 mm" in text
    assert "at most 0.080 in (2.03 mm); beyond: look. common practice, no source" in text
    assert "disc micrometer" in text
    assert "three more readings with the same gauge" in text
    assert "the bearing end play is beyond its limit: the run-out says nothing" in text
    assert "dial indicator 0.01 mm, calibrated on 2026-03-01" in text


def test_what_was_not_taken_is_said_with_its_name(text):
    assert "Nothing is known of these; missing readings never count as good." in text
    assert "tappet boots" in text


def test_every_page_has_vehicle_date_and_number(reader):
    count = len(reader.pages)
    for number, page in enumerate(reader.pages, start=1):
        said = flat(page.extract_text())
        assert "Invented 7" in said
        assert "2026-09-14" in said
        assert f"page {number} of {count}" in said


def test_the_document_is_tagged_and_has_title_language_and_standard(reader):
    """PDF/UA-1 (ISO 14289-1): tagged, title shown, language set, part number in the metadata."""
    catalog = reader.trailer["/Root"]
    assert reader.metadata.title == "Inspection of Invented 7, 2026-09-14"
    assert catalog["/Lang"].lower() == "en-gb"
    assert catalog["/MarkInfo"]["/Marked"] == True  # noqa: E712, a PDF boolean compares by value
    assert catalog["/ViewerPreferences"]["/DisplayDocTitle"] == True  # noqa: E712
    assert b"pdfuaid" in catalog["/Metadata"].get_data()


def alternatives(reader):
    """Alternative texts of all figures of a PDF/UA-1 document."""

    def figures(node):
        node = node.get_object()
        if isinstance(node, pypdf.generic.ArrayObject):
            for each in node:
                yield from figures(each)
        elif isinstance(node, pypdf.generic.DictionaryObject):
            if node.get("/S") == "/Figure":
                yield node
            if "/K" in node:
                yield from figures(node["/K"])

    return [figure["/Alt"] for figure in figures(reader.trailer["/Root"]["/StructTreeRoot"])]


def test_drawings_have_words_for_those_who_cannot_see_them(catalogue, tmp_path):
    alts = alternatives(made(scenes.scene(2), catalogue, tmp_path, full=True))
    assert len(alts) >= 20
    assert any("total travel. 2.70 mm ± 0.10 mm (0.106 in), beyond" in alt for alt in alts)
    assert any("inner pad LT 4.9 mm" in alt for alt in alts)


def test_rulers_stand_only_where_something_was_found_and_no_reading_is_lost(
    reader, text, catalogue, tmp_path
):
    """The short paper keeps every reading; only the rulers of calm ones are left out."""
    full = made(scenes.scene(2), catalogue, tmp_path, full=True)
    whole, short = alternatives(full), alternatives(reader)
    assert set(short) < set(whole)
    assert all(alt in short for alt in whole if "beyond" in alt or "undecided" in alt)
    for end in scenes.scene(2)[1].wheel_ends:
        for reading in end.readings:
            if reading.raw and reading.value is not None:
                assert reading.raw.replace(" ", "\u00a0") in text or reading.raw in text


@pytest.mark.parametrize(("axles", "trailer"), [(1, 0), (2, 0), (5, 0), (6, 6)])
def test_one_to_twenty_four_wheel_ends_all_appear(axles, trailer, catalogue, tmp_path):
    scene = scenes.scene(axles, trailer, kind="combination")
    said = text_of(made(scene, catalogue, tmp_path))
    for end in scene[1].wheel_ends:
        assert f"{end.place} {'trailer ' if end.place[0] == 'T' else ''}axle" in said


def test_text_that_people_type_stays_text(catalogue, tmp_path):
    inspection, judgement, road, plan = scenes.scene(2, note=scenes.HOSTILE, inspector="# = * _ ` @x <y> $z$")
    said = text_of(made((inspection, judgement, road, plan), catalogue, tmp_path))
    assert "# = * _ ` @x <y> $z$" in said
    assert said.replace(" ", "").count(scenes.HOSTILE.replace(" ", "")) == 1


def test_a_word_without_end_does_not_leave_the_page(catalogue, tmp_path):
    """Pages are 210 mm wide; text boxes of the long word must end before the margin of 19 mm."""
    reader = made(scenes.scene(2, note="W" * 400), catalogue, tmp_path)
    right = []

    def visit(text, _cm, tm, _font, _size):
        if "WWW" in text:
            right.append(tm[4])

    reader.pages[0].extract_text(visitor_text=visit)
    assert right
    assert max(right) < 210 / 25.4 * 72 - 19 / 25.4 * 72


def test_letters_of_other_scripts_are_printed(catalogue, tmp_path):
    note = "Тормоз стучит. Φρένο. בלם"
    said = text_of(made(scenes.scene(2, note=note), catalogue, tmp_path))
    assert "Тормоз стучит. Φρένο." in said


def test_letters_that_no_font_here_has_are_written_as_their_code(catalogue, tmp_path, monkeypatch):
    """The fonts of this computer are left out, so that the test is the same everywhere."""
    from wearline.reports import document

    document._fonts.cache_clear()
    import typst

    monkeypatch.setattr(
        document, "_fonts", lambda *, of_this_computer: typst.Fonts(include_system_fonts=False)
    )
    said = text_of(made(scenes.scene(2, note="pad \U00012000 worn 日本"), catalogue, tmp_path))
    assert "pad [U+12000] worn [U+65E5][U+672C]" in said


def test_a_note_of_many_lines_is_kept_whole(catalogue, tmp_path):
    inspection, judgement, road, plan = scenes.scene(2)
    long = " ".join(f"sentence {number}." for number in range(1500))
    ends = tuple(
        replace(end, note=long) if end.place == WheelEndPlace("1", "L") else end
        for end in inspection.wheel_ends
    )
    said = text_of(made((replace(inspection, wheel_ends=ends), judgement, road, plan), catalogue, tmp_path))
    for number in (0, 700, 1499):
        assert f"sentence {number}." in said


def test_the_same_input_gives_the_same_bytes(catalogue, tmp_path):
    first, second = tmp_path / "1.pdf", tmp_path / "2.pdf"
    for out in (first, second):
        render_pdf(*scenes.scene(2), catalogue=catalogue, generated_on=DAY, out=out)
    assert first.read_bytes() == second.read_bytes()


def test_the_paper_can_be_that_of_north_america(catalogue):
    """US letter is 8.5 in x 11 in, 612 x 792 points (ANSI/ASME Y14.1, size A)."""
    scene = scenes.scene(1)
    content = report_content(*scene, catalogue=catalogue, generated_on=DAY)
    pdf = compose_pdf(content, *scene[2:], day=DAY, paper="us-letter")
    page = pypdf.PdfReader(io.BytesIO(pdf)).pages[0]
    assert (float(page.mediabox.width), float(page.mediabox.height)) == (612.0, 792.0)


def test_a_folder_that_is_not_there_is_said(catalogue, tmp_path):
    with pytest.raises(StorageError, match="the PDF cannot be written"):
        render_pdf(*scenes.scene(1), catalogue=catalogue, generated_on=DAY, out=tmp_path / "no" / "r.pdf")


def test_writing_onto_a_folder_is_said(tmp_path):
    with pytest.raises(StorageError, match="cannot be written"):
        write_pdf(b"%PDF", tmp_path)


def test_a_design_that_the_catalogue_does_not_have_is_said(catalogue, tmp_path):
    inspection, judgement, road, plan = scenes.scene(1)
    ends = tuple(replace(end, design="generic-99") for end in judgement.wheel_ends)
    with pytest.raises(CatalogueError, match="there is no brake design 'generic-99'"):
        made((inspection, replace(judgement, wheel_ends=ends), road, plan), catalogue, tmp_path)


def test_a_template_that_lacks_its_data_is_a_fault_of_the_program():
    with pytest.raises(ProgramFault, match=r"the typesetter refused report\.typ"):
        compile_pdf("report.typ", {"made_by": "x"}, day=DAY)
