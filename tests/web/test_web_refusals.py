"""Bad bodies, paths and uploads: a clear refusal in one shape, no fault of the program, steady memory."""

from __future__ import annotations

import io
import json
import zipfile
import zlib

import pytest
from PIL import Image
from web_entries import Tablet
from web_storm import storm

from wearline.web.photos import clean_photo
from wearline.web.refusals import Refusal


def png(width=40, height=30, **more):
    out = io.BytesIO()
    Image.new("RGB", (width, height), "red").save(out, "PNG", **more)
    return out.getvalue()


def test_2000_random_bad_requests_are_refused_in_one_shape(web):
    """Every answer is a clear refusal or harmless; none is a fault; what is kept stays sound."""
    tally = storm(web, 2000, 20261001)
    assert tally.faults == []
    assert tally.asked == 2000
    assert tally.refused > 1200
    assert tally.shapeless == []
    assert web.app.state.shop.store.check().sound


def photo(web, content, name="p.jpg"):
    return web.post(
        "/api/1/photos", files={"file": (name, content)}, headers={"origin": "http://127.0.0.1:8642"}
    )


def exif_picture():
    """A picture that says where it was taken: tag 0x8825 is the GPS directory (Exif 2.32, 4.6.6)."""
    picture = Image.new("RGB", (60, 40), "blue")
    exif = Image.Exif()
    exif[0x010F] = "invented camera"
    exif[0x8825] = {1: "N", 2: (50.0, 30.0, 0.0), 3: "E", 4: (8.0, 15.0, 0.0)}
    exif[0x0112] = 6
    out = io.BytesIO()
    picture.save(out, "JPEG", exif=exif, comment=b"secret comment")
    return out.getvalue()


def test_a_photograph_is_kept_without_where_it_was_taken(web):
    content = exif_picture()
    assert dict(Image.open(io.BytesIO(content)).getexif().get_ifd(0x8825))
    answer = photo(web, content)
    assert answer.status_code == 200
    kept = web.get(f"/api/1/photos/{answer.json()['sha256']}")
    picture = Image.open(io.BytesIO(kept.content))
    assert dict(picture.getexif()) == {}
    assert picture.size == (40, 60), "upright, as the tag of orientation asks"
    for trace in (b"invented camera", b"secret comment", b"Exif"):
        assert trace not in kept.content
    assert photo(web, content).json() == answer.json(), "sent again it is kept once"
    original = answer.json()["original_sha256"]
    assert web.get(f"/api/1/photos/{original}").content == kept.content


def bomb():
    """A PNG of some kilobytes that claims 60 000 x 60 000 pixels (PNG specification, 11.2.2)."""

    def chunk(kind, data):
        return len(data).to_bytes(4, "big") + kind + data + zlib.crc32(kind + data).to_bytes(4, "big")

    head = (60_000).to_bytes(4, "big") * 2 + b"\x08\x00\x00\x00\x00"
    rows = zlib.compress(b"\0" * 1_000_000)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("content", "status"),
    [
        (b"", 415),
        (b"not a picture", 415),
        (b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>', 415),
        (b"GIF89a" + b"\0" * 100, 415),
        (png()[:60], 415),
        (bomb(), 413),
        (png(8000, 7000, compress_level=9), 413),
        (b"%PDF-1.7", 415),
    ],
)
def test_what_is_no_fit_photograph_is_refused(web, content, status):
    answer = photo(web, content)
    assert answer.status_code == status
    assert answer.json()["error"]["allowed"].startswith("a photograph as JPEG")


def test_a_photograph_of_more_than_twelve_megabytes_is_refused():
    with pytest.raises(Refusal, match="has 12000001 bytes"):
        clean_photo(b"\xff\xd8\xff" + b"\0" * 11_999_998)


@pytest.mark.parametrize(
    "path", ["/api/1/photos", "/api/1/events", "/shelf", "/api/1/judge", "/login", "/theme"]
)
def test_an_upload_of_200_megabytes_is_refused_before_it_is_read(web, path):
    """By its announced length alone, and where none is announced while it comes."""
    read = 0

    def endless():
        nonlocal read
        for _ in range(200):
            read += 1_000_000
            yield b"x" * 1_000_000

    headers = {"content-type": "application/octet-stream", "content-length": "200000000"}
    answer = web.post(path, content=endless(), headers=headers)
    assert answer.status_code == 413


def test_a_workbook_that_unpacks_to_gigabytes_is_refused(web):
    """A zip bomb as XLSX: 200 MB of zeros in some 200 kB."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("[Content_Types].xml", "<Types/>")
        archive.writestr("xl/workbook.xml", b" " * 200_000_000)
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    answer = web.post("/api/1/judge", content=out.getvalue(), headers={"content-type": kind})
    assert answer.status_code == 422
    assert answer.json()["error"]["kind"] == "file"


@pytest.mark.parametrize("kind", ["text/html", "image/png", "application/xml", "multipart/form-data", ""])
def test_a_wrong_type_is_refused_with_those_that_are_taken(web, kind):
    headers = {"content-type": kind, "origin": "http://127.0.0.1:8642"}
    answer = web.post("/api/1/judge", content=b"x", headers=headers)
    assert answer.status_code == 415
    assert "application/toml" in answer.json()["error"]["allowed"]


def test_every_refusal_has_the_one_shape(web):
    for path in ("/api/1/nothing", "/nothing.json", "/api/1/inspections/none"):
        body = web.get(path).json()
        assert body["schema"] == "wearline.error/1"
        assert set(body["error"]) == {"kind", "where", "what", "allowed", "cure"}
    page = web.get("/nothing")
    assert (page.status_code, "text/html" in page.headers["content-type"]) == (404, True)
    assert web.delete("/api/1/events", headers={"origin": "http://127.0.0.1:8642"}).status_code == 405


def test_a_fault_of_the_program_tells_nothing_about_itself(tmp_path, monkeypatch, capsys):
    from starlette.testclient import TestClient

    from wearline.web import api
    from wearline.web.application import create_app
    from wearline.web.config import ServeConfig

    def broken(*_, **__):
        raise ValueError("secret inside")

    monkeypatch.setattr(api, "draft_list", broken)
    app = create_app(ServeConfig(str(tmp_path / "f.db")))
    with TestClient(app, base_url="http://127.0.0.1", raise_server_exceptions=False) as client:
        answer = client.get("/api/1/drafts")
    assert answer.status_code == 500
    assert "secret inside" not in answer.text
    assert answer.json()["error"]["kind"] == "fault"
    assert "secret inside" in capsys.readouterr().err


def test_markup_in_an_entry_is_text_in_its_json(web):
    tablet = Tablet()
    entry = tablet.entry("note", place="1L", value="</script><svg onload=alert(1)>")
    web.post("/api/1/events", json={"events": [tablet.start(), entry]})
    answer = web.get(f"/api/1/drafts/{tablet.draft}")
    assert answer.headers["content-type"] == "application/json"
    assert json.loads(answer.text)["events"][1]["value"] == "</script><svg onload=alert(1)>"
