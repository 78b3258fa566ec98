"""Random bad requests: bodies, paths, uploads, headers. Used by the tests and, longer, by the bench."""

from __future__ import annotations

import io
import json
import random
import string
import uuid
import zipfile
import zlib
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from web_entries import CASES, Tablet

SQL = ("' OR '1'='1", "1; DROP TABLE inspections;--", '" UNION SELECT password_hash FROM accounts--', "%27")
MARKUP = ("<script>alert(1)</script>", "{{7*7}}", "${7*7}", "<svg/onload=alert(1)>", "javascript:alert(1)")
PATHS = (
    "/",
    "/fleet.json",
    "/vehicle",
    "/inspections",
    "/drafts",
    "/catalogue",
    "/shelf",
    "/sheet/file",
    "/audit",
    "/people",
    "/settings",
    "/records",
    "/login",
    "/theme",
    "/entry",
    "/static/app.css",
    "/api/1/events",
    "/api/1/drafts",
    "/api/1/photos",
    "/api/1/judge",
    "/api/1/job",
    "/api/1/road",
    "/api/1/inspections",
    "/api/1/vehicles",
    "/api/1/catalogue.json",
    "/api/1/me",
)
TYPES = (
    "application/json",
    "application/toml",
    "text/csv",
    "text/plain",
    "multipart/form-data; boundary=x",
    "application/x-www-form-urlencoded",
    "image/svg+xml",
    "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "",
    "x" * 300,
)


@dataclass
class Tally:
    """What came out."""

    asked: int = 0
    refused: int = 0
    answered: int = 0
    by_status: Counter[int] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    shapeless: list[str] = field(default_factory=list)


class Maker:
    """Makes one bad request after another, the same for the same seed."""

    def __init__(self, seed: int) -> None:
        self.chance = random.Random(seed)
        self.origins = ["http://127.0.0.1:8642", "https://evil.test", "null"]
        self.methods = ["GET", "POST", "POST", "POST", "PUT", "DELETE", "PATCH"]
        self._case = (CASES / "A1.toml").read_bytes()

    def word(self) -> str:
        chance = self.chance
        return chance.choice(
            [
                chance.choice(SQL),
                chance.choice(MARKUP),
                "../" * chance.randint(1, 6) + "etc/passwd",
                "%2e%2e%2f" * 3,
                "".join(chance.choices(string.printable, k=chance.randint(0, 60))),
                "".join(chr(chance.choice([0x202E, 0x1F600, 0xE9, 0x0, 0x7F, 0x10FFFF])) for _ in range(5)),
                str(10 ** chance.randint(1, 60)),
                "-1",
                "",
            ]
        )

    def value(self, depth: int = 0) -> Any:
        chance = self.chance
        kind = chance.randint(0, 9 if depth < 3 else 6)
        if kind < 3:
            return self.word()
        if kind < 7:
            return chance.choice([None, True, 0, -1, 1e308, 10**30, 0.1, [], {}])
        if kind < 9:
            return [self.value(depth + 1) for _ in range(chance.randint(0, 4))]
        return {self.word(): self.value(depth + 1) for _ in range(chance.randint(0, 4))}

    def entry(self) -> Any:
        tablet = Tablet()
        entry = tablet.reading("1L", "slide", "40 N") if self.chance.random() < 0.8 else tablet.start()
        for _ in range(self.chance.randint(1, 3)):
            key = self.chance.choice([*entry, "colour"])
            entry[key] = self.value()
        return entry

    def body(self) -> bytes:
        chance = self.chance
        kind = chance.randint(0, 9)
        if kind < 3:
            return json.dumps({"events": [self.entry() for _ in range(chance.randint(0, 3))]}).encode(
                "utf-8", "surrogatepass"
            )
        if kind == 3:
            return json.dumps(self.value()).encode("utf-8", "surrogatepass")
        if kind == 4:
            return bytes(chance.randrange(256) for _ in range(chance.randint(0, 400)))
        if kind == 5:
            return b"[" * chance.choice([10, 50_000])
        if kind == 6:
            data = bytearray(self._case)
            for _ in range(chance.randint(1, 30)):
                data[chance.randrange(len(data))] = chance.randrange(256)
            return bytes(data)
        if kind == 7:
            return self._bomb()
        if kind == 8:
            head = b'Content-Disposition: form-data; name="file"; filename="../a.svg"'
            return b"--x\r\n" + head + b"\r\n\r\n<svg/>\r\n--x--"
        return b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>"

    def _bomb(self) -> bytes:
        if self.chance.random() < 0.5:
            return zlib.compress(b"\0" * 2_000_000)
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr("xl/workbook.xml", b" " * 3_000_000)
        return out.getvalue()

    def path(self) -> str:
        chance = self.chance
        path = chance.choice(PATHS)
        kind = chance.randint(0, 5)
        if kind == 0:
            return path + "/" + self._quoted(self.word())
        if kind == 1:
            return (
                f"/inspections/{self._quoted(self.word())}/{chance.choice(['', 'job', 'sign', 'report.pdf'])}"
            )
        if kind == 2:
            return f"/api/1/drafts/{chance.choice([str(uuid.uuid4()), self._quoted(self.word())])}"
        if kind == 3:
            return (
                f"{path}?{chance.choice(['q', 'id', 'level', 'page', 'since'])}={self._quoted(self.word())}"
            )
        return path

    @staticmethod
    def _quoted(text: str) -> str:
        from urllib.parse import quote

        return quote(text.encode("utf-8", "surrogatepass"), safe="" if len(text) % 2 else "/.")

    def headers(self) -> dict[str, str]:
        chance = self.chance
        found = {"content-type": chance.choice(TYPES)}
        if chance.random() < 0.5:
            found["origin"] = chance.choice(self.origins)
        if chance.random() < 0.1:
            found["authorization"] = chance.choice(["Bearer x", "Basic eDp5", "x"])
        if chance.random() < 0.1:
            found["cookie"] = "wearline_session=" + "".join(chance.choices(string.ascii_letters, k=20))
        return found

    def request(self) -> tuple[str, str, bytes, dict[str, str]]:
        method = self.chance.choice(self.methods)
        body = b"" if method == "GET" else self.body()
        return method, self.path(), body, self.headers()


def storm(
    client: Any,
    count: int,
    seed: int,
    each: Callable[[int], None] | None = None,
    maker: Any = None,
) -> Tally:
    """Send bad requests to a client, and look at every answer."""
    maker, tally = maker or Maker(seed), Tally()
    for number in range(count):
        method, path, body, headers = maker.request()
        answer = client.request(method, path, content=body, headers=headers, follow_redirects=False)
        look_at(tally, answer, f"{method} {path}", f"{headers} {body[:200]!r}")
        if each is not None:
            each(number)
    return tally


def look_at(tally: Tally, answer: Any, asked: str, more: str = "") -> None:
    """Count an answer, and note it where it is a fault or has not the one shape."""
    tally.asked += 1
    tally.by_status[answer.status_code] += 1
    if answer.status_code >= 500:
        tally.faults.append(f"{asked} {more}: {answer.text[:200]}")
    elif answer.status_code >= 400:
        tally.refused += 1
        is_json = "json" in answer.headers.get("content-type", "")
        if is_json and answer.json().get("schema") != "wearline.error/1":
            tally.shapeless.append(asked)
        if not is_json and "States what was measured" not in answer.text and not asked.startswith("HEAD"):
            tally.shapeless.append(f"{asked}: {answer.text[:100]}")
    else:
        tally.answered += 1
