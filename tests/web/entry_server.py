"""A server for the tests of the browser form that can misbehave on demand.

The form's own files, the catalogue and the fold are the real ones; only the transport is small, so that
answers can be lost, refused or late at will.
"""

from __future__ import annotations

import json
import threading
from datetime import date
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from wearline.app.draft_events import event_from_plain
from wearline.app.draft_judging import draft_answer, judge_draft
from wearline.app.drafting import fold
from wearline.assessment.verdicts import DecisionSettings
from wearline.catalogue.loading import load_catalogue
from wearline.errors import InputError
from wearline.web.offline_catalogue import offline_catalogue
from wearline.web.shop import ShopSettings

WEB = Path(__file__).resolve().parents[2] / "src/wearline/web"
TYPES = {
    ".js": "text/javascript",
    ".css": "text/css",
    ".html": "text/html; charset=utf-8",
    ".svg": "image/svg+xml",
    ".webmanifest": "application/manifest+json",
}
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'self'"
)


class EntryServer:
    """Events in memory, and switches for what goes wrong.

    ``down`` closes every API connection without an answer; ``lose_answers`` stores and then does not answer;
    ``status`` answers every POST of events with that status; ``refuse`` names field names that are refused.
    """

    def __init__(self) -> None:
        self.events: dict[str, dict[str, Any]] = {}
        self.received: list[str] = []
        self.photos: dict[str, bytes] = {}
        self.down = False
        self.lose_answers = 0
        self.status = 200
        self.refuse: set[str] = set()
        self.vehicles: list[dict[str, Any]] = []
        self.http = ThreadingHTTPServer(("127.0.0.1", 0), _handler(self))
        self.port = self.http.server_address[1]
        self.url = f"http://127.0.0.1:{self.port}"
        threading.Thread(target=self.http.serve_forever, daemon=True).start()

    def close(self) -> None:
        self.http.shutdown()
        self.http.server_close()

    def store(self, plains: list[dict[str, Any]]) -> dict[str, Any]:
        answer: dict[str, Any] = {"stored": [], "known": [], "refused": []}
        for plain in plains:
            self.received.append(plain["id"])
            try:
                event_from_plain(plain)
                if plain["field"] in self.refuse:
                    raise InputError(f"{plain['field']} is refused today", cure="Ask the office")
            except InputError as error:
                answer["refused"].append({"id": plain["id"], "error": error.as_plain()})
                continue
            known = self.events.get(plain["id"])
            if known is None:
                self.events[plain["id"]] = plain
            answer["stored" if known is None else "known"].append(plain["id"])
        return answer

    def draft(self, name: str, unsent: list[dict[str, Any]] | None = None) -> dict[str, Any]:
        plains = [plain for plain in [*self.events.values(), *(unsent or [])] if plain["draft"] == name]
        catalogue = load_catalogue()
        draft = fold(name, [event_from_plain(plain) for plain in plains])
        running = judge_draft(draft, catalogue, date.max, DecisionSettings())
        return {**draft_answer(draft, running, catalogue), "events": plains}

    def drafts(self) -> list[dict[str, Any]]:
        starts = [plain for plain in self.events.values() if plain["kind"] == "start"]
        return [
            {
                "id": plain["draft"],
                "vehicle": plain["value"]["vehicle"]["id"],
                "taken_on": plain["value"]["taken_on"],
            }
            for plain in starts
        ]


def _handler(server: EntryServer) -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def log_message(self, *args: object) -> None:
            pass

        def answer(self, status: int, body: bytes, kind: str, **headers: str) -> None:
            self.send_response(status)
            self.send_header("Content-Type", kind)
            self.send_header("Content-Length", str(len(body)))
            self.send_header("Content-Security-Policy", POLICY)
            for name, value in headers.items():
                self.send_header(name.replace("_", "-"), value)
            try:
                self.end_headers()
                self.wfile.write(body)
            except (BrokenPipeError, ConnectionResetError):
                self.close_connection = True  # the page was closed or killed meanwhile

        def json(self, value: object, status: int = 200) -> None:
            self.answer(status, json.dumps(value).encode(), "application/json")

        def gone(self) -> bool:
            if server.down:
                self.close_connection = True
            return server.down

        def file(self, path: Path, **headers: str) -> None:
            if not path.is_file():
                self.json({"error": {"what": "not found"}}, 404)
                return
            kind = TYPES.get(path.suffix, "application/octet-stream")
            self.answer(200, path.read_bytes(), kind, Cache_Control="no-cache", **headers)

        def do_GET(self) -> None:
            path = self.path.split("?")[0]
            if self.gone():
                return
            if path == "/entry":
                self.file(WEB / "templates/entry.html")
            elif path == "/entry/sw.js":
                self.file(WEB / "static/entry/sw.js", Service_Worker_Allowed="/entry")
            elif path.startswith("/static/entry/"):
                self.file(WEB / "static/entry" / Path(path).name)
            elif path == "/api/1/catalogue.json":
                _, body = offline_catalogue(load_catalogue(), date(2026, 9, 14), ShopSettings())
                self.answer(200, body, "application/json")
            elif path == "/api/1/drafts":
                self.json({"drafts": server.drafts()})
            elif path.startswith("/api/1/drafts/"):
                self.json(server.draft(path.split("/")[4]))
            elif path == "/api/1/vehicles":
                self.json({"vehicles": server.vehicles})
            else:
                self.json({"error": {"what": "not found"}}, 404)

        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers.get("Content-Length", "0")))
            if self.gone():
                return
            if self.path == "/api/1/photos":
                server.photos[str(len(server.photos))] = body
                self.json({"sha256": ""})
            elif self.path.endswith("/judge"):
                self.json(server.draft(self.path.split("/")[4], json.loads(body)["events"]))
            elif server.status != 200:
                self.json({"error": {"what": f"answer {server.status} on demand"}}, server.status)
            else:
                answer = server.store(json.loads(body)["events"])
                if server.lose_answers:
                    server.lose_answers -= 1
                    self.close_connection = True
                    return
                self.json(answer)

    return Handler


if __name__ == "__main__":
    import time

    running = EntryServer()
    print(running.url, flush=True)
    while True:
        time.sleep(3600)
