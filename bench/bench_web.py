"""The web app on 2 000 vehicles with 40 000 inspections: time of every page, and entries a second.

    python bench/bench_web.py [FOLDER]

Invented data: the cases of the tests under other names. Only loopback is used. A user opens a page, reads
for 0.5 to 1.5 s, and opens the next; a second round has no pauses at all and is shown beside it. Beside both
stands the processor time of the server for each page, one user alone: it hardly depends on what else the
machine does.
"""

from __future__ import annotations

import gzip
import http.client
import json
import os
import random
import re
import statistics
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from urllib.parse import quote

sys.path.insert(0, str(Path(__file__).parent.parent / "tests/web"))

from web_entries import CASES, Tablet
from web_serving import Served

from wearline import __version__
from wearline.assessment.verdicts import DecisionSettings
from wearline.catalogue.loading import load_catalogue
from wearline.ingest.read import read_inspection
from wearline.storage.keeping import Request, keep_prepared
from wearline.storage.kept import Snapshot
from wearline.storage.opening import open_store
from wearline.storage.rows import prepare
from wearline.web.judging import judge_all
from wearline.web.summaries import CARD, card_of

VEHICLES, EACH, USERS = 2_000, 20, 20
TARGET_MS = 150.0
LAST_DAY = date(2026, 9, 1)


def fill(database: Path) -> None:
    """Keep the inspections and the summaries that the program stores beside them."""
    catalogue = load_catalogue()
    templates = [
        read_inspection(path, today=date(2027, 1, 1), catalogue=catalogue)
        for path in sorted(CASES.glob("*.toml"))
    ]
    cards = [card_of(judge_all(each, catalogue, DecisionSettings())) for each in templates]
    moment = datetime(2026, 9, 2, tzinfo=UTC)
    with open_store(database) as store:
        for start in range(0, VEHICLES, 50):
            digests: list[tuple[str, int]] = []
            with store.writing() as connection:
                for number in range(start, start + 50):
                    for visit in range(EACH):
                        which = (number + visit) % len(templates)
                        inspection = renamed(templates[which], number, visit)
                        prepared = prepare(inspection)
                        request = Request(f"{number}-{visit}", "bench", moment, None, "", False)
                        keep_prepared(connection, prepared, request)
                        digests.append((prepared.digest, which))
            save_cards(store, digests, cards, catalogue.version, moment)
            print(f"\r{start + 50} vehicles", end="", flush=True)
    print()


def renamed(template, number: int, visit: int):
    day = LAST_DAY - timedelta(days=60 * (EACH - 1 - visit) + number % 30)
    return replace(
        template,
        vehicle=replace(template.vehicle, id=f"Vehicle {number}", built_on=""),
        taken_on=day,
        odometer=1e6 * (100 + 15 * visit),
        distance_since_pads=min(template.distance_since_pads or 1e7, 9e7),
    )


def save_cards(store, digests, cards, version: str, moment: datetime) -> None:
    from sqlalchemy import insert

    from wearline.storage.kept import canonical_text, text_digest
    from wearline.storage.tables import snapshots

    rows = []
    for digest, which in digests:
        snapshot = Snapshot(f"{CARD}:guarded", digest, __version__, version, moment, cards[which])
        text = canonical_text(snapshot.result)
        rows.append(
            {
                "kind": snapshot.kind,
                "input_digest": digest,
                "code_version": __version__,
                "catalogue_version": version,
                "made_at": moment,
                "result_digest": text_digest(text),
                "result_json": text,
            }
        )
    with store.writing() as connection:
        connection.execute(insert(snapshots), rows)


def save_long_answers(database: Path) -> None:
    """Store what the program stores at the first look at causes and job: for every latest inspection."""
    from sqlalchemy import insert, select

    from wearline.app.answers import job_answer
    from wearline.app.explaining import why_answer
    from wearline.storage.kept import canonical_text, text_digest
    from wearline.storage.tables import inspections, snapshots

    catalogue = load_catalogue()
    made: dict[str, dict[str, dict]] = {}
    moment = datetime(2026, 9, 2, tzinfo=UTC)
    with open_store(database) as store:
        with store.reading() as connection:
            rows = connection.execute(
                select(inspections.c.id, inspections.c.digest).where(inspections.c.id.like(f"%-{EACH - 1}"))
            ).all()
            known = connection.execute(select(snapshots.c.number).where(snapshots.c.kind == "why")).first()
        if known is not None:
            return
        values = []
        for row in rows:
            kept = store.inspection(row.id)
            design = kept.inspection.vehicle.description
            if design not in made:
                judged = judge_all(kept.inspection, catalogue, DecisionSettings())
                made[design] = {"why": why_answer(judged.explanation), "job:guarded": job_answer(judged.plan)}
            for kind, answer in made[design].items():
                own = {**answer, "vehicle": {**answer["vehicle"], "id": kept.vehicle_id}}
                text = canonical_text(own)
                values.append(
                    {
                        "kind": kind,
                        "input_digest": row.digest,
                        "code_version": __version__,
                        "catalogue_version": catalogue.version,
                        "made_at": moment,
                        "result_digest": text_digest(text),
                        "result_json": text,
                    }
                )
        with store.writing() as connection:
            connection.execute(insert(snapshots), values)


def save_fleet_answers(database: Path) -> None:
    """Store outlook and plan of the whole fleet: those of the invented fleet of 12, under the names of 2 000.

    What is measured is showing them; how long they take is measured by the benches of forecast and plan.
    """
    from wearline.app.demonstration import keep_demonstration
    from wearline.web.beside import Beside
    from wearline.web.config import ServeConfig
    from wearline.web.fleet_index import FleetIndex
    from wearline.web.pages.work import outlook_of, plan_of
    from wearline.web.shop import Shop
    from wearline.web.stored_answers import Workbench

    shop = Shop(ServeConfig(str(database)))
    bench = Workbench(shop, FleetIndex(shop, Beside(shop)), Beside(shop))
    with tempfile.TemporaryDirectory() as folder:
        small = Shop(ServeConfig(str(Path(folder) / "small.db")))
        keep_demonstration(small.store, kept_by="bench", today=LAST_DAY + timedelta(days=60))
        for kind, make in (("outlook", outlook_of), ("plan", plan_of)):
            if bench.look(kind).answer is None or bench.look(kind).older:
                answer = many(make(small, LAST_DAY + timedelta(days=60)))
                bench._work(kind, (bench._digest(), shop.catalogue().version), lambda answer=answer: answer)
        small.close()
    shop.close()


def many(answer: dict) -> dict:
    """The same answer with its vehicles again and again, until there are as many as in the fleet."""
    lists = {key: rows for key, rows in answer.items() if isinstance(rows, list) and rows}
    lists = {key: rows for key, rows in lists.items() if isinstance(rows[0], dict) and "vehicle" in rows[0]}
    names = sorted({row["vehicle"] for rows in lists.values() for row in rows})
    found = dict(answer)
    for key, rows in lists.items():
        own = {name: [row for row in rows if row["vehicle"] == name] for name in names}
        found[key] = [
            {**row, "vehicle": f"Vehicle {number}"}
            for number in range(VEHICLES)
            for row in own[names[number % len(names)]]
        ]
    return found


def fetch(connection: http.client.HTTPConnection, path: str) -> bytes:
    connection.request("GET", path, headers={"accept-encoding": "gzip"})
    answer = connection.getresponse()
    text = answer.read()
    assert answer.status == 200, (path, answer.status, text[:300])
    return gzip.decompress(text) if answer.headers["content-encoding"] == "gzip" else text


def pages(chance: random.Random) -> dict[str, Callable[[], str]]:
    def one() -> str:
        return f"{chance.randrange(VEHICLES)}-{chance.randrange(EACH)}"

    def latest() -> str:
        return f"{chance.randrange(VEHICLES)}-{EACH - 1}"

    return {
        "fleet": lambda: "/",
        "fleet, searched": lambda: f"/?q={chance.randrange(VEHICLES)}&sort=thinnest",
        "fleet, part": lambda: f"/?page={chance.randrange(1, 40)}&sort=vehicle",
        "vehicle": lambda: f"/vehicle?id={quote(f'Vehicle {chance.randrange(VEHICLES)}')}",
        "inspections": lambda: f"/inspections?page={chance.randrange(1, 800)}",
        "insp., searched": lambda: f"/inspections?q=vehicle+{chance.randrange(VEHICLES)}",
        "insp., sorted": lambda: f"/inspections?sort=vehicle&page={chance.randrange(1, 800)}",
        "overview": lambda: f"/inspections/{one()}",
        "readings": lambda: f"/inspections/{one()}/readings",
        "causes": lambda: f"/inspections/{latest()}/causes",
        "job": lambda: f"/inspections/{latest()}/job",
        "proof": lambda: f"/inspections/{latest()}/proof",
        "road": lambda: f"/inspections/{one()}/road",
        "outlook": lambda: "/outlook",
        "plan": lambda: "/plan",
        "drill": lambda: "/drill",
        "drafts": lambda: "/drafts",
        "entry": lambda: "/entry",
        "catalogue": lambda: "/catalogue",
        "checks": lambda: "/catalogue?section=checks",
        "shelf": lambda: "/shelf?q=rotor",
        "records": lambda: "/records",
        "sheet": lambda: "/sheet",
        "settings": lambda: "/settings",
        "people": lambda: "/people",
        "audit": lambda: "/audit",
    }


def alone(served: Served, times: int = 40) -> dict[str, tuple[float, float]]:
    """Processor time of the server [ms] and bytes sent for each page, one user alone, new data each time."""
    connection = http.client.HTTPConnection("127.0.0.1", served.port, timeout=60)
    found = {}
    for name, make in pages(random.Random(1)).items():
        for _ in range(3):
            fetch(connection, make())
        begun, size = served.cpu(), 0
        for _ in range(times):
            connection.request("GET", make(), headers={"accept-encoding": "gzip"})
            size += len(connection.getresponse().read())
        found[name] = (1e3 * (served.cpu() - begun) / times, size / times)
    return found


def first_visit(port: int) -> int:
    """Bytes transferred for the first page with everything it asks for."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    text = fetch(connection, "/").decode()
    total = 0
    for path in ["/", *sorted(set(re.findall(r'(?:src|href)="(/static/[^"]+)"', text)))]:
        connection.request("GET", path.replace("&amp;", "&"), headers={"accept-encoding": "gzip"})
        total += len(connection.getresponse().read())
    return total


def visit(port: int, seed: int, until: float, pause: bool, times: dict[str, list[float]]) -> None:
    chance = random.Random(seed)
    choices = list(pages(chance).items())
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    if pause:
        time.sleep(chance.uniform(0, 1.0))
    while time.monotonic() < until:
        name, make = chance.choice(choices)
        begun = time.perf_counter()
        connection.request("GET", make(), headers={"accept-encoding": "gzip"})
        answer = connection.getresponse()
        answer.read()
        taken = time.perf_counter() - begun
        assert answer.status == 200, (name, answer.status)
        times.setdefault(name, []).append(1e3 * taken)
        if pause:
            time.sleep(chance.uniform(0.5, 1.5))


def users(port: int, seconds: float, pause: bool) -> dict[str, list[float]]:
    times: dict[str, list[float]] = {}
    until = time.monotonic() + seconds
    run([threading.Thread(target=visit, args=(port, seed, until, pause, times)) for seed in range(USERS)])
    return times


def p95(values: list[float]) -> float:
    return statistics.quantiles(values, n=20, method="inclusive")[-1] if len(values) > 1 else values[0]


def sync(port: int, seconds: float, tablets: int = 4, batch: int = 50) -> tuple[float, int]:
    """Entries stored per second, and how many of them are missing afterwards."""
    sent: list[list[str]] = [[] for _ in range(tablets)]
    drafts = [""] * tablets

    def send(number: int) -> None:
        tablet = Tablet()
        drafts[number] = tablet.draft
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        until = time.monotonic() + seconds
        queue = [tablet.start()]
        while time.monotonic() < until:
            queue += [tablet.reading("1L", "slide", "40 N") for _ in range(batch - len(queue))]
            sent[number] += ask(connection, "/api/1/events", {"events": queue})["stored"]
            queue = []

    run([threading.Thread(target=send, args=(number,)) for number in range(tablets)])
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=300)
    missing = 0
    for draft, ids in zip(drafts, sent, strict=True):
        events = json.loads(fetch(connection, f"/api/1/drafts/{draft}"))["events"]
        missing += len(set(ids) - {event["id"] for event in events})
    return sum(len(ids) for ids in sent) / seconds, missing


def running_judgement(port: int, calls: int, pause: float = 0.0) -> float:
    """95th percentile of the time of one running judgement of a whole inspection [ms]."""
    judged: list[float] = []
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    tablet = Tablet()
    ask(connection, "/api/1/events", {"events": tablet.case("A1")[:-1]})
    for _ in range(calls):
        begun = time.perf_counter()
        unsent = [tablet.reading("1L", "slide", "50 N")]
        ask(connection, f"/api/1/drafts/{tablet.draft}/judge", {"events": unsent})
        judged.append(1e3 * (time.perf_counter() - begun))
        time.sleep(pause)
    return p95(judged)


def under_users(port: int, seconds: float = 40.0) -> float:
    """The same while every user reads pages."""
    times: dict[str, list[float]] = {}
    until = time.monotonic() + seconds
    threads = [threading.Thread(target=visit, args=(port, seed, until, True, times)) for seed in range(USERS)]
    for thread in threads:
        thread.start()
    time.sleep(2.0)
    found = running_judgement(port, int((seconds - 4.0) / 0.5), 0.5)
    for thread in threads:
        thread.join()
    return found


def run(threads: list[threading.Thread]) -> None:
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


def ask(connection: http.client.HTTPConnection, path: str, body: object) -> dict:
    connection.request("POST", path, json.dumps(body), {"content-type": "application/json"})
    answer = connection.getresponse()
    text = answer.read()
    assert answer.status == 200, text[:300]
    return json.loads(text)


def main() -> None:
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(tempfile.mkdtemp(prefix="wearline-bench-"))
    database = folder / "bench.db"
    if not database.exists():
        fill(database)
    save_long_answers(database)
    save_fleet_answers(database)
    served = Served(database)
    begun = time.perf_counter()
    served.start()
    print(f"open after {time.perf_counter() - begun:.1f} s, {served.memory() / 1e6:.0f} MB, {load()}")
    try:
        cost = alone(served)
        print(f"first page {first_visit(served.port) / 1e3:.0f} kB with everything it asks for (target 300)")
        measure(served, cost)
    finally:
        served.close()


def measure(served: Served, cost: dict[str, tuple[float, float]]) -> None:
    users(served.port, 5.0, False)
    print(f"20 users that read begin, {load()}")
    reading = users(served.port, 60.0, True)
    print(f"20 users that read end, {load()}")
    pressing = users(served.port, 30.0, False)
    print(
        f"{'page':<18}{'CPU alone':>10}{'kB':>7}{'p95 reading':>13}{'p95 no pause':>14}  [ms], {USERS} users"
    )
    for name, (cpu, size) in cost.items():
        times = f"{p95(reading.get(name, [0.0])):>13.0f}{p95(pressing.get(name, [0.0])):>14.0f}"
        print(f"{name:<18}{cpu:>10.1f}{size / 1e3:>7.1f}{times}")
    every = [value for values in reading.values() for value in values]
    rate = sum(len(values) for values in pressing.values()) / 30.0
    print(f"{'every page':<18}{p95(every):>30.0f}   pages a second without pauses: {rate:.0f}")
    print(f"running judgement p95 alone {running_judgement(served.port, 60):.0f} ms, ", end="")
    print(f"among 20 users {under_users(served.port):.0f} ms (target 50), {load()}")
    entries, missing = sync(served.port, 10.0)
    print(f"entries a second {entries:.0f} (target 200), {missing} missing; {load()}")
    print(f"memory at the end {served.memory() / 1e6:.0f} MB")
    slow = [name for name, values in reading.items() if p95(values) > TARGET_MS]
    print("all within the target" if not slow else f"over {TARGET_MS:.0f} ms: {', '.join(slow)}")


def load() -> str:
    one, five, _ = os.getloadavg()
    return f"load of the machine {one:.1f} over 1 min, {five:.1f} over 5 min"


if __name__ == "__main__":
    main()
