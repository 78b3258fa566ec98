"""Uploads that are meant to do harm: zip bombs, pictures and PDFs that unpack to gigabytes, scripts, 200 MB.

Each is made once and sent again and again; all are invented.
"""

from __future__ import annotations

import http.client
import io
import json
import random
import select
import socket
import struct
import zipfile
import zlib
from collections.abc import Iterator
from typing import Any

__all__ = ["HUGE", "Uploads", "flood"]

SVG = (
    b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'>"
    b"<script>alert(document.cookie)</script><image href='http://evil.test/x'/></svg>"
)
HUGE = 200_000_000
"""Bytes of the largest upload that is tried."""


def _zeros(length: int) -> Iterator[bytes]:
    piece = bytes(1_000_000)
    for _ in range(length // len(piece)):
        yield piece


def sheet_bomb(size: int = 1_000_000_000) -> bytes:
    """A workbook of a megabyte whose sheet unpacks to a gigabyte of blanks."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("[Content_Types].xml", "<Types/>")
        archive.writestr("xl/workbook.xml", "<workbook/>")
        with archive.open("xl/worksheets/sheet1.xml", "w", force_zip64=True) as sheet:
            for piece in _zeros(size):
                sheet.write(piece)
    return out.getvalue()


def nested_bomb(depth: int = 6, width: int = 8) -> bytes:
    """Archives in archives; each level holds several of the one below."""
    data = zlib.compress(bytes(1_000_000))
    for _ in range(depth):
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
            for number in range(width):
                archive.writestr(f"xl/{number}.xml", data)
        data = out.getvalue()
    return data


def entity_bomb() -> bytes:
    """A workbook whose XML defines entities of entities: 10 to the power of 9 words (XML 1.0, 4.4)."""
    names = "abcdefghij"
    lines = ['<!DOCTYPE x [<!ENTITY a "boom">']
    lines += [f'<!ENTITY {names[n]} "{f"&{names[n - 1]};" * 10}">' for n in range(1, len(names))]
    text = "".join(lines) + "]><workbook>&j;</workbook>"
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in ("xl/workbook.xml", "[Content_Types].xml", "xl/worksheets/sheet1.xml"):
            archive.writestr(name, text)
    return out.getvalue()


def picture_bomb(side: int = 30_000) -> bytes:
    """A PNG of 900 million dots in a few kilobytes (ISO/IEC 15948: IHDR, IDAT, IEND)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    packer = zlib.compressobj(9)
    row = bytes(side // 8 + 1)
    data = b"".join(packer.compress(row) for _ in range(side)) + packer.flush()
    head = struct.pack(">IIBBBBB", side, side, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


def page_bomb(size: int = 400_000_000) -> bytes:
    """A PDF of less than a megabyte whose one page unpacks to 400 MB (ISO 32000-1, 7.5, FlateDecode)."""
    packer = zlib.compressobj(9)
    stream = b"".join(packer.compress(piece.replace(b"\0", b" ")) for piece in _zeros(size)) + packer.flush()
    objects = [
        b"<</Type/Catalog/Pages 2 0 R>>",
        b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
        b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 9 9]/Resources<</Font<<>>>>/Contents 4 0 R>>",
        b"<</Length %d/Filter/FlateDecode>>stream\n%s\nendstream" % (len(stream), stream),
    ]
    out = bytearray(b"%PDF-1.7\n")
    places = []
    for number, body in enumerate(objects, start=1):
        places.append(len(out))
        out += b"%d 0 obj%s endobj\n" % (number, body)
    table = len(out)
    out += b"xref\n0 5\n0000000000 65535 f \n" + b"".join(b"%010d 00000 n \n" % place for place in places)
    out += b"trailer<</Size 5/Root 1 0 R>>\nstartxref\n%d\n%%%%EOF" % table
    return bytes(out)


class Uploads:
    """Requests that carry such files, by a person whose forms are accepted.

    Parameters
    ----------
    csrf : str
        What this person's forms carry.
    origin : str
        Address of the program.
    share : float
        Of the full size of what unpacks, for a quick test.
    """

    def __init__(self, csrf: str, origin: str, share: float = 1.0) -> None:
        self.csrf, self.origin = csrf, origin
        self.files = {
            "script.svg": SVG,
            "photo.jpg": SVG,
            "bomb.xlsx": sheet_bomb(int(1e9 * share)),
            "nested.xlsx": nested_bomb(),
            "entities.xlsx": entity_bomb(),
            "bomb.png": picture_bomb(int(30_000 * share**0.5)),
            "bomb.pdf": page_bomb(int(max(1e8, 4e8 * share))),
            "program.exe": b"MZ\x90\0" + bytes(2_000),
            "photo.png": b"\x89PNG\r\n\x1a\n" + bytes(50_000),
            "half.pdf": b"%PDF-1.7\n1 0 obj<</Type/Catalog",
            "../../etc/passwd": b"root:x:0:0\n",
            "limits.toml": b"document = 1\n[[limit]]\nid = 'x'\n" * 400,
            "case.toml": b"[vehicle]\nid = 'x'\n" + b"[[axle]]\nid = '1'\n" * 20_000,
            "empty": b"",
        }

    def request(
        self, chance: random.Random, name: str = "", path: str = ""
    ) -> tuple[str, str, bytes, dict[str, str]]:
        """Return method, path, body and headers of one upload."""
        name = name or chance.choice(list(self.files))
        path = path or chance.choice(
            ["/api/1/photos", "/shelf", "/inspections/keep", "/catalogue/files", "/api/1/inspections"]
        )
        if path == "/api/1/inspections":
            kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
            headers = {"content-type": kind, "origin": self.origin}
            return "POST", path + "?name=x.xlsx", self.files[name], headers
        mark = "part-of-a-form"
        parts = [
            f'--{mark}\r\nContent-Disposition: form-data; name="csrf"\r\n\r\n{self.csrf}\r\n'.encode(),
            f'--{mark}\r\nContent-Disposition: form-data; name="file"; filename="{name}"\r\n\r\n'.encode(),
            self.files[name],
            f"\r\n--{mark}--\r\n".encode(),
        ]
        headers = {"content-type": f"multipart/form-data; boundary={mark}", "origin": self.origin}
        return "POST", path, b"".join(parts), headers


def flood(port: int, path: str, *, chunked: bool, size: int = HUGE) -> tuple[int, int, Any]:
    """Send 200 MB and stop when the answer comes: status, bytes that went out, and the answer's JSON."""
    with socket.create_connection(("127.0.0.1", port), timeout=60) as wire:
        length = "transfer-encoding: chunked" if chunked else f"content-length: {size}"
        head = (
            f"POST {path} HTTP/1.1\r\nhost: 127.0.0.1:{port}\r\norigin: http://127.0.0.1:{port}\r\n"
            f"content-type: multipart/form-data; boundary=x\r\n{length}\r\n\r\n"
        )
        wire.sendall(head.encode())
        start = b'--x\r\nContent-Disposition: form-data; name="file"; filename="a.pdf"\r\n\r\n'
        sent = 0
        for piece in (start, *_zeros(size)):
            if select.select([wire], [], [], 0)[0]:
                break
            try:
                wire.sendall(b"%x\r\n%s\r\n" % (len(piece), piece) if chunked else piece)
            except OSError:
                break
            sent += len(piece)
        answer = http.client.HTTPResponse(wire)
        try:
            answer.begin()
            text = answer.read()
        except (OSError, http.client.HTTPException):
            return 0, sent, None
        kind = answer.headers.get("content-type", "")
        return answer.status, sent, json.loads(text) if "json" in kind else None
