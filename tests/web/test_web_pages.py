"""Pages and their twins: the same numbers, everything typed by people escaped, papers and signatures."""

from __future__ import annotations

import io
import json
import re
import time
from html.parser import HTMLParser
from urllib.parse import quote

import pytest
from pypdf import PdfReader, PdfWriter
from web_entries import CASES, Tablet

from wearline.app.answers import job_answer, judgement_answer, road_answer
from wearline.app.judging import Request, decide_release, plan_job
from wearline.reports.palette import DARK, LIGHT, contrast_ratio
from wearline.web.pages.catalogue import page_in
from wearline.web.pages.inspection import TABS
from wearline.web.rendering import STATIC

HOSTILE = (
    "<script>alert(1)</script>'\"><img src=x onerror=alert(2)>{{7*7}}' OR '1'='1'; DROP TABLE inspections;--"
)


def keep(web, case, **params):
    body = (CASES / f"{case}.toml").read_bytes()
    headers = {"content-type": "application/toml"}
    answer = web.post("/api/1/inspections", content=body, headers=headers, params={"name": case} | params)
    assert answer.status_code == 200, answer.text
    return answer.json()["id"]


class Forms(HTMLParser):
    """Every element that a page opens, to see what is markup and what is text."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))


def elements(text):
    parser = Forms()
    parser.feed(text)
    return parser.found


@pytest.fixture
def fleet(web, csrf):
    web.post("/demonstration", data={"csrf": csrf(web)})
    return web


def test_a_first_visit_offers_the_three_ways_in(web):
    text = web.get("/").text
    for target in ('href="/entry"', 'href="/sheet"', 'action="/demonstration"'):
        assert target in text


def test_the_invented_fleet_says_that_it_is_invented(fleet):
    assert "none is a real vehicle or measurement" in fleet.get("/").text
    assert len(fleet.get("/fleet.json").json()["rows"]) == 24


def test_every_page_has_a_twin_that_is_json(fleet):
    inspection = fleet.get("/api/1/inspections").json()["inspections"][0]["id"]
    pages = [
        "/inspections",
        "/drafts",
        "/catalogue",
        "/shelf",
        "/sheet",
        "/records",
        "/settings",
        "/people",
        "/audit",
    ]
    pages += [f"/inspections/{inspection}/{tab}" for tab, _ in TABS if tab != "overview"]
    pages += [f"/inspections/{inspection}", "/outlook", "/plan"]
    for page in pages:
        assert fleet.get(page).status_code == 200, page
        twin = fleet.get(page + ".json")
        assert twin.headers["content-type"] == "application/json"
        assert twin.json()["schema"].startswith("wearline.page.")
    assert fleet.get("/vehicle.json", params={"id": "Box 1"}).json()["vehicle"] == "Box 1"


@pytest.mark.parametrize("case", ["A1", "A4", "B5"])
def test_the_api_and_the_twins_answer_as_the_commands_do(web, clock, case):
    kept = keep(web, case)
    request = Request(path=CASES / f"{case}.toml", today=clock().date())
    opened, judgement, road = decide_release(request)
    cautions = tuple(statement.text for statement in opened.catalogue.work.authority)
    expected = {
        "judge": judgement_answer(judgement),
        "job": job_answer(plan_job(request)[2]),
        "road": road_answer(road, judgement.vehicle_id, cautions),
    }
    body = (CASES / f"{case}.toml").read_bytes()
    for name, answer in expected.items():
        by_id = web.post(f"/api/1/{name}", json={"inspection": kept})
        by_file = web.post(f"/api/1/{name}", content=body, headers={"content-type": "application/toml"})
        assert json.loads(json.dumps(answer)) == by_id.json() == by_file.json()
    assert web.get(f"/inspections/{kept}/job.json").json()["answer"] == by_id_of(expected["job"])


def by_id_of(answer):
    return json.loads(json.dumps(answer))


def test_the_options_of_the_command_are_those_of_the_api(web):
    body = (CASES / "A1.toml").read_bytes()
    headers = {"content-type": "application/toml"}
    simple = web.post("/api/1/judge?decide=simple", content=body, headers=headers).json()
    assert simple["decision_rules"]["service"] == "simple"
    packs = web.post("/api/1/road?rule_pack=un-eu", content=body, headers=headers).json()["packs"]
    assert [pack["pack"] for pack in packs] == ["un-eu"]
    wrong = web.post("/api/1/road?rule_pack=moon", content=body, headers=headers)
    assert (wrong.status_code, wrong.json()["schema"]) == (422, "wearline.error/1")


def test_what_people_typed_is_text_in_every_page(web, csrf):
    """Names, notes and readings that are markup, template or SQL come out as they went in."""
    tablet = Tablet(by=HOSTILE[:190])
    start = tablet.start("A1")
    start["value"]["vehicle"] |= {"id": HOSTILE, "description": HOSTILE}
    entries = [entry for entry in tablet.case("A1")[1:] if entry["kind"] != "note"]
    entries.insert(1, tablet.entry("note", place="1L", value=HOSTILE))
    entries.insert(1, tablet.entry("fact", field="inspector", value=HOSTILE))
    answer = web.post("/api/1/events", json={"events": [start, *entries]}).json()
    assert answer["refused"] == []
    web.post(
        "/settings",
        data={
            "csrf": csrf(web),
            "units": "inch",
            "decision": "simple",
            "language": "en",
            "shop_name": HOSTILE[:80],
        },
    )
    pages = [
        "/",
        "/inspections",
        f"/vehicle?id={quote(HOSTILE)}",
        "/drafts",
        f"/drafts/{tablet.draft}",
        "/audit",
    ]
    pages += [f"/inspections/{tablet.draft}{tab}" for tab in ("", "/readings", "/job", "/road")]
    pages += [f"/?q={quote(HOSTILE)}", f"/shelf?q={quote(HOSTILE)}", f"/audit?action={quote(HOSTILE)}"]
    for page in pages:
        answer = web.get(page)
        assert answer.status_code == 200, (page, answer.text[-500:])
        for tag, attributes in elements(answer.text):
            assert tag != "script" or attributes.get("type") == "module", page
            assert "onerror" not in attributes, page
        assert "49" not in re.findall(r"onerror=alert\(2\)&gt;(\w\w)", answer.text), page
    assert web.get("/api/1/vehicles").json()["vehicles"][0]["vehicle"]["id"] == HOSTILE
    assert web.app.state.shop.store.check().sound


@pytest.mark.parametrize(
    "name", ["q", "sort", "dir", "page", "level", "since", "id", "section", "design", "before", "action"]
)
@pytest.mark.parametrize(
    "path", ["/", "/inspections", "/vehicle", "/catalogue", "/audit", "/shelf", "/sheet/file"]
)
def test_sql_and_nonsense_in_every_question_is_answered_or_refused(web, path, name):
    keep(web, "A1")
    for value in (HOSTILE, "\0", "9" * 40, "-1", "²", "\ud7ff", ""):
        answer = web.get(path, params={name: value})
        assert answer.status_code in (200, 404, 422), (path, name, value, answer.text[-300:])
    assert web.app.state.shop.store.check().sound


def test_a_signature_needs_a_name_a_qualification_and_the_statement(web, csrf):
    kept = keep(web, "A1")
    digest = web.app.state.shop.store.inspection(kept).digest
    good = {"csrf": csrf(web), "digest": digest, "name": "N. N.", "qualification": "q", "stand": "yes"}
    for missing in ("name", "qualification", "stand"):
        answer = web.post(f"/inspections/{kept}/sign", data={k: v for k, v in good.items() if k != missing})
        assert answer.status_code == 422
    assert web.post(f"/inspections/{kept}/sign", data=good | {"digest": "0" * 64}).status_code == 409
    assert web.post(f"/inspections/{kept}/sign", data=good, follow_redirects=False).status_code == 303
    assert web.post(f"/inspections/{kept}/sign", data=good).status_code == 409, "once by each person"
    assert "N. N." in web.get(f"/inspections/{kept}").text
    signed = web.get(f"/api/1/inspections/{kept}").json()["signatures"]
    assert [(each["signed_by"], each["qualification"]) for each in signed] == [("N. N.", "q")]


def test_with_accounts_one_signs_under_the_name_of_the_account(door, csrf):
    client = door.person("anna", "measures", "signs")
    body = (CASES / "A1.toml").read_bytes()
    kept = client.post(
        "/api/1/inspections", content=body, headers={"content-type": "application/toml"}
    ).json()["id"]
    digest = door.shop.store.inspection(kept).digest
    data = {
        "csrf": csrf(client),
        "digest": digest,
        "name": "Somebody Else",
        "qualification": "q",
        "stand": "yes",
    }
    client.post(f"/inspections/{kept}/sign", data=data)
    assert [each.signed_by for each in door.shop.journal.signatures([kept])[kept]] == ["Anna"]


def test_a_signed_inspection_is_corrected_only_by_an_entry_that_supersedes_it(web, csrf):
    kept = keep(web, "A1")
    digest = web.app.state.shop.store.inspection(kept).digest
    sign = {"csrf": csrf(web), "digest": digest, "name": "N", "qualification": "q", "stand": "yes"}
    web.post(f"/inspections/{kept}/sign", data=sign)
    corrected = (CASES / "A1.toml").read_bytes().replace(b"1.20 mm", b"1.25 mm")
    files = {"file": ("c.toml", corrected)}
    form = {"csrf": csrf(web), "corrects": kept}
    assert web.post("/inspections/keep", data=form, files=files).status_code == 409, "a reason is needed"
    done = web.post("/inspections/keep", data=form | {"because": "misread"}, files=files)
    assert done.status_code == 200
    assert "misread" in done.text
    assert "This inspection was corrected." in web.get(f"/inspections/{kept}").text
    assert web.app.state.shop.journal.signatures([kept])[kept], "the signature stays under what was signed"
    assert web.post(f"/inspections/{kept}/sign", data=sign | {"name": "M"}).status_code == 409


def test_papers_can_be_taken_along(fleet):
    kept = fleet.get("/api/1/inspections").json()["inspections"][0]["id"]
    report = fleet.get(f"/inspections/{kept}/report.pdf")
    assert len(PdfReader(io.BytesIO(report.content)).pages) > 1
    file = fleet.get(f"/inspections/{kept}/file.toml").content
    again = fleet.post(
        "/api/1/inspections", content=file, headers={"content-type": "application/toml"}
    ).json()
    assert (again["id"], again["already_kept"]) == (kept, True)
    lines = fleet.get("/records/export.jsonl").text.splitlines()
    assert len(lines) == fleet.app.state.index.size
    assert {json.loads(line)["schema"] for line in lines} == {"wearline.inspection/1"}


@pytest.mark.parametrize("form", [".xlsx", ".pdf", ".toml", ".csv"])
def test_blank_sheets_for_new_and_known_vehicles(web, form):
    keep(web, "A1")
    known = web.get("/sheet/file", params={"vehicle": "A1", "form": form})
    assert known.status_code == 200
    new = {"new": "N 1", "axles": "steer, drive", "design": "generic-22.5", "form": form}
    assert web.get("/sheet/file", params=new).status_code == 200
    assert web.get("/sheet/file", params=new | {"axles": "wing"}).status_code == 422


def pdf(*texts):
    """A PDF with one page for each text, written by hand after ISO 32000-1, 7.5."""
    writer = PdfWriter()
    from pypdf.generic import DecodedStreamObject, DictionaryObject, NameObject

    for text in texts:
        page = writer.add_blank_page(300, 300)
        stream = DecodedStreamObject()
        stream.set_data(f"BT /F1 12 Tf 20 200 Td ({text}) Tj ET".encode("latin-1"))
        font = DictionaryObject(
            {
                NameObject("/Type"): NameObject("/Font"),
                NameObject("/Subtype"): NameObject("/Type1"),
                NameObject("/BaseFont"): NameObject("/Helvetica"),
            }
        )
        page[NameObject("/Resources")] = DictionaryObject(
            {NameObject("/Font"): DictionaryObject({NameObject("/F1"): font})}
        )
        page[NameObject("/Contents")] = writer._add_object(stream)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def test_a_document_on_the_shelf_is_found_by_its_words_and_opened_at_the_page(web, csrf):
    content = pdf("first page of an invented manual", "rotor thickness seventeen", "<b>calliper</b> travel")
    files = {"file": ("Manual <i>.pdf", content, "application/pdf")}
    web.post("/shelf", data={"csrf": csrf(web), "title": "Invented manual"}, files=files)
    found = web.get("/shelf.json", params={"q": "THICKNESS rotor"}).json()["found"]
    assert [(hit["title"], hit["page"]) for hit in found] == [("Invented manual", 2)]
    sha256 = found[0]["sha256"]
    assert web.get(f"/shelf/{sha256}/file").content == content
    page = web.get("/shelf", params={"q": "calliper"}).text
    assert f"/shelf/{sha256}/file#page=3" in page
    assert "&lt;b&gt;<mark>calliper</mark>&lt;/b&gt;" in page
    assert web.get("/shelf", params={"q": 'rotor AND ( " * NEAR'}).status_code == 200
    again = web.post("/shelf", data={"csrf": csrf(web)}, files=files)
    assert again.status_code == 200
    assert len(web.get("/shelf.json").json()["documents"]) == 1


def test_the_page_of_a_locator():
    assert (page_in("p. 14, table 2"), page_in("Page 3"), page_in("table 2")) == (14, 3, None)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"%PDF-1.7 nothing",
        b"PK\x03\x04",
        b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>",
        b"%PDF-" + b"\0" * 5000,
    ],
)
def test_what_is_no_pdf_is_refused(web, csrf, content):
    answer = web.post("/shelf", data={"csrf": csrf(web)}, files={"file": ("x.pdf", content)})
    assert answer.status_code in (400, 415, 422)
    assert web.get("/shelf.json").json()["documents"] == []


def test_a_file_of_limits_that_lacks_its_origin_is_refused(web, csrf):
    answer = web.post("/catalogue/files", data={"csrf": csrf(web)}, files={"file": ("l.toml", b"[limits]\n")})
    assert answer.status_code == 422
    assert web.get("/catalogue.json?section=files").json()["files"] == []


def test_settings_change_what_follows(web, csrf):
    kept = keep(web, "A1")
    before = web.get(f"/inspections/{kept}/readings.json").json()["answer"]["decision_rules"]
    data = {"csrf": csrf(web), "units": "inch", "decision": "simple", "language": "en", "shop_name": "Shop"}
    web.post("/settings", data=data)
    after = web.get(f"/inspections/{kept}/readings.json").json()["answer"]["decision_rules"]
    assert (before["service"], after["service"]) == ("guarded", "simple")
    assert web.get("/api/1/catalogue.json").json()["units"] == "inch"
    assert web.post("/settings", data=data | {"language": "xx"}).status_code == 422


def test_rules_of_keeping_are_shown_and_nothing_can_be_deleted(web):
    text = web.get("/records").text
    assert "49 CFR 396" in text
    assert "deletes no record" in text
    methods = {method for route in web.app.routes for method in getattr(route, "methods", None) or ()}
    assert "DELETE" not in methods


def test_the_catalogue_for_tablets_is_asked_for_once(web):
    answer = web.get("/api/1/catalogue.json")
    assert (
        web.get("/api/1/catalogue.json", headers={"if-none-match": answer.headers["etag"]}).status_code == 304
    )
    body = answer.json()
    assert body["fields"]["total_travel"]["kind"] == "LENGTH"
    assert body["designs"]["generic-22.5"]["limits"]


def test_first_pages_are_small(fleet):
    """At most 300 kB transferred, with everything that the page asks for."""
    for page in ("/", "/vehicle?id=Box%201"):
        total = 0
        queue = [page, "/static/app.css", "/static/tables.js", "/static/icon.svg"]
        for path in queue:
            answer = fleet.get(path, headers={"accept-encoding": "gzip"})
            total += int(answer.headers.get("content-length", len(answer.content)))
        assert total < 300_000


def test_the_colours_are_those_of_the_reports():
    css = (STATIC / "app.css").read_text(encoding="utf-8")
    for palette in (LIGHT, DARK):
        line = " ".join(f"--{name}: {colour};" for name, colour in palette.colours().items())
        assert line in css


def test_text_stands_out_by_wcag():
    """Success criterion 1.4.3 of WCAG 2.2: at least 4.5 to 1 for text."""
    for palette in (LIGHT, DARK):
        for text in (palette.ink, palette.muted, palette.good, palette.beyond):
            for ground in (palette.paper, palette.panel):
                assert contrast_ratio(text, ground) >= 4.5


def test_causes_and_proof_are_those_of_the_commands(web, clock, tmp_path):
    """A2 as found, and half a year later with new pads: the pages say what the commands say of the files."""
    from wearline.app.explaining import explain_wear, why_answer
    from wearline.app.proving import proof_answer, prove_repair

    after = tmp_path / "after.toml"
    text = (CASES / "A1.toml").read_text(encoding="utf-8").replace("2026-09-14", "2026-09-20")
    after.write_text(text.replace("143400", "100").replace('"1.20 mm"', '"1.30 mm"'), encoding="utf-8")
    keep(web, "A1")
    body = after.read_bytes()
    kept = web.post("/api/1/inspections", content=body, headers={"content-type": "application/toml"}).json()
    today = clock().date()
    first, second = Request(path=CASES / "A1.toml", today=today), Request(path=after, today=today)
    why = web.get(f"/inspections/{kept['id']}/causes.json").json()["answer"]
    assert why == json.loads(json.dumps(why_answer(explain_wear(second)[1])))
    assert web.get(f"/inspections/{kept['id']}/causes.json").json()["answer"] == why, "read from the store"
    proof = web.get(f"/inspections/{kept['id']}/proof.json").json()["answer"]
    assert proof == json.loads(json.dumps(proof_answer(prove_repair(first, second))))
    letter = web.get(f"/inspections/{kept['id']}/letter.pdf")
    assert len(PdfReader(io.BytesIO(letter.content)).pages) == 1


def test_outlook_and_plan_are_worked_out_in_the_background(fleet, csrf):
    """Long work shows its progress, pages stay open, and the answer is that of the command."""
    from wearline.app.forecasting import Question, outlook, outlook_answer

    assert fleet.get("/outlook.json").json()["state"]["answer"] is None
    for page in ("outlook", "plan"):
        answer = fleet.post(f"/{page}", data={"csrf": csrf(fleet)}, follow_redirects=False)
        assert answer.status_code == 303
        for _ in range(600):
            state = fleet.get(f"/{page}.json").json()["state"]
            if not state["working"]:
                break
            time.sleep(0.2)
        assert (state["fault"], state["older"]) == ("", False)
        assert state["answer"]["schema"] == f"wearline.{page}/1"
    shop = fleet.app.state.shop
    expected = outlook_answer(outlook(Question(None, shop.config.database, until=shop.today)))
    assert fleet.get("/outlook.json").json()["state"]["answer"] == json.loads(json.dumps(expected))
    assert fleet.get("/vehicle.json", params={"id": "Box 1"}).json()["outlook"]
    keep(fleet, "A1")
    assert fleet.get("/outlook.json").json()["state"]["older"] is True
