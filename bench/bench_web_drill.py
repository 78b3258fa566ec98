"""Twenty persons drill at once on the pages: time of every kind of request, and how long a score lets wait.

    python bench/bench_web_drill.py [SECONDS]

Every vehicle is invented and new. Only loopback is used. A person opens a page, reads for 0.5 to 1.5 s, and
goes on: choose, four tests, one cause, one order, end, and again. The target holds for pages and forms; the
best route, for which the score waits, is worked out beside the server.
"""

from __future__ import annotations

import http.client
import json
import random
import statistics
import sys
import tempfile
import threading
import time
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlencode

sys.path.insert(0, str(Path(__file__).parent.parent / "tests/web"))

from web_serving import Served

PERSONS = 20
TARGET_MS = 150.0
TESTS = ("F2", "F5", "F12", "F19")
FORM = {"content-type": "application/x-www-form-urlencoded"}


class Person:
    """One person with a connection of its own."""

    def __init__(self, number: int, port: int, csrf: str, times: dict[str, list[float]]) -> None:
        self.name = f"Person {number}"
        self.csrf = csrf
        self._draw = random.Random(number)
        self._times = times
        self._connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)

    def ask(self, kind: str, path: str, form: dict[str, Any] | None = None, **query: str) -> bytes:
        """One request after a pause."""
        time.sleep(self._draw.uniform(0.5, 1.5))
        target = f"{path}?{urlencode({'person': self.name} | query, quote_via=quote)}"
        begun = time.perf_counter()
        if form is None:
            self._connection.request("GET", target)
        else:
            body = urlencode({"csrf": self.csrf, "person": self.name} | form, doseq=True)
            self._connection.request("POST", path, body, FORM)
        answer = self._connection.getresponse()
        text = answer.read()
        self._times.setdefault(kind, []).append(1e3 * (time.perf_counter() - begun))
        if answer.status not in (200, 303):
            raise RuntimeError(f"{path}: {answer.status}")
        return text

    def drill(self) -> None:
        """A whole drill."""
        self.ask("choose", "/drill")
        self.ask("begin", "/drill/begin", {"level": self._draw.randint(1, 6), "seed": ""})
        self.ask("drill", "/drill/now")
        head = json.loads(self.ask("twin", "/drill/now.json"))["head"]
        form = {"drill": head["id"]}
        for step, test in enumerate(TESTS):
            self.ask("test", "/drill/test", test=test)
            self.ask("take", "/drill/test", form | {"step": step, "test": test, "at": "1L"})
            self.ask("drill", "/drill/now")
        self.ask("decide", "/drill/decide")
        step = len(TESTS)
        self.ask(
            "decision", "/drill/decide", form | {"step": step, "act": "blame", "cause": "G4", "at": "1L"}
        )
        self.ask("decision", "/drill/decide", form | {"step": step + 1, "act": "order", "work": "S1 1"})
        self.ask("end", "/drill/score", form | {"step": step + 2})
        ended = time.perf_counter()
        while b"of 100 points" not in self.ask("score", "/drill/score", drill=head["id"]):
            pass
        self._times.setdefault("until the score is there", []).append(1e3 * (time.perf_counter() - ended))


def main() -> None:
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 60.0
    times: dict[str, list[float]] = {}
    with tempfile.TemporaryDirectory() as folder:
        served = Served(Path(folder) / "bench.db")
        served.start()
        connection = http.client.HTTPConnection("127.0.0.1", served.port)
        connection.request("GET", "/api/1/me")
        csrf = json.loads(connection.getresponse().read())["csrf"]
        connection.request("GET", "/drill")
        connection.getresponse().read()
        time.sleep(3.0)  # vehicles are being drawn for the stock
        end = time.monotonic() + seconds

        def work(number: int) -> None:
            person = Person(number, served.port, csrf, times)
            while time.monotonic() < end:
                person.drill()

        threads = [threading.Thread(target=work, args=(number,)) for number in range(PERSONS)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        print(f"memory of the server {served.memory() / 1e6:.0f} MB")
        served.close()
    waiting = times.pop("until the score is there")
    for kind, found in [
        *times.items(),
        ("all", [each for own in times.values() for each in own]),
        ("until the score is there", waiting),
    ]:
        found.sort()
        p95 = found[int(0.95 * (len(found) - 1))]
        print(f"{kind:26}{len(found):6}  median {statistics.median(found):6.0f}  p95 {p95:6.0f} ms")
    print(f"target for every kind of request: p95 below {TARGET_MS:.0f} ms")


if __name__ == "__main__":
    main()
