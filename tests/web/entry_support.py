"""Debian's chromium for the tests of the browser form: one that can be killed, and ways to walk the form."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import time
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from entry_server import EntryServer
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

CHROMIUM = "/usr/bin/chromium"
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"]
CASES = Path(__file__).resolve().parents[1] / "cases"
WAIT = 10_000
FAULTS: list[str] = []
"""What went wrong inside pages; every test that opens one looks here."""


@contextmanager
def served() -> Iterator[EntryServer]:
    server = EntryServer()
    try:
        yield server
    finally:
        server.close()


class Program:
    """``wearline serve`` in a process of its own, so that the network can be cut by ending it."""

    def __init__(self, database: Path) -> None:
        self.database = database
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.url = f"http://127.0.0.1:{self.port}"
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        words = ["-m", "wearline", "serve", "--port", str(self.port), "--database", str(self.database)]
        self.process = subprocess.Popen(
            [sys.executable, *words],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            cwd=self.database.parent,
        )
        for _ in range(600):
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", self.port)) == 0:
                    return
            time.sleep(0.05)
        raise AssertionError("the program did not start")

    def kill(self) -> None:
        """End it as a power cut would."""
        if self.process is not None:
            self.process.kill()
            self.process.wait()
            self.process = None


@contextmanager
def browser(*flags: str) -> Iterator[Browser]:
    with sync_playwright() as tools:
        chromium = tools.chromium.launch(executable_path=CHROMIUM, args=[*FLAGS, *flags])
        try:
            yield chromium
        finally:
            chromium.close()


@contextmanager
def killable(profile: Path) -> Iterator[tuple[BrowserContext, Any]]:
    """A browser on a profile folder, and the function that kills it as a falling battery would."""
    process = subprocess.Popen(
        [
            CHROMIUM,
            *FLAGS,
            "--headless=new",
            "--remote-debugging-port=0",
            f"--user-data-dir={profile}",
            "about:blank",
        ],
        stderr=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        start_new_session=True,
    )

    def kill() -> None:
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()

    port = profile / "DevToolsActivePort"
    try:
        for _ in range(200):
            if port.exists() and "\n" in port.read_text():
                break
            time.sleep(0.05)
        number = port.read_text().split("\n")[0]
        with sync_playwright() as tools:
            chromium = tools.chromium.connect_over_cdp(f"http://127.0.0.1:{number}")
            yield chromium.contexts[0], kill
    finally:
        if process.poll() is None:
            kill()
        port.unlink(missing_ok=True)


def opened(context: BrowserContext, url: str, *, stored: bool = True) -> Page:
    page = context.new_page()
    page.set_default_timeout(WAIT)
    page.on("pageerror", lambda error: FAULTS.append(str(error)))
    page.goto(url + "/entry")
    page.wait_for_selector("html[data-ready]")
    if stored:
        page.wait_for_selector("html[data-offline=ready]")
    return page


def begin(page: Page, name: str, *, layout: str = "2", mass: str = "") -> str:
    """Make a vehicle and return the id of the draft."""
    if page.locator("#new-vehicle[open]").count() == 0:
        page.click("#new-vehicle summary")
    page.fill("#vehicle-id", name)
    page.fill("#vehicle-mass", mass)
    page.select_option("#vehicle-layout", layout)
    page.click("text=Begin the walk round")
    page.wait_for_selector(".walk")
    draft: str = page.evaluate("location.hash.split('/')[2]")
    return draft


def go(page: Page, path: str) -> None:
    """Go where a link of the form would lead."""
    page.evaluate(
        "hash => { const a = document.createElement('a'); a.href = hash; document.body.append(a); a.click(); "
        "a.remove(); }",
        path,
    )


def step_of(page: Page) -> tuple[str, str, str] | None:
    """Place, field and spot of the check in front; None where no check is."""
    # asked of the page itself: what the driver knows of its address may be a moment old
    match = re.search(r"/d/[^/]+/([^/]+)/([^/]+)/([^/]+)(?:/([^/]+))?$", page.evaluate("location.hash"))
    if match is None:
        return None
    place = "" if match[1] == "vehicle" else match[1]
    return place, match[3], match[4] or ""


def take(page: Page, draft: str, place: str, check: str, field: str, value: str, spot: str = "") -> None:
    """Enter one reading through the form and wait until it says that it is kept."""
    here = "/".join(part for part in (place or "vehicle", check, field, spot) if part)
    go(page, f"#/d/{draft}/{here}")
    page.wait_for_selector("article.check")
    word = page.locator(f'.word[data-word="{value}"]')
    if word.count():
        word.click()
    else:
        page.fill("#reading", value)
        page.press("#reading", "Enter")
    page.wait_for_function(
        "here => !decodeURIComponent(location.hash).endsWith(here) || document.querySelector('.advice')",
        arg=here,
    )


def stored_count(page: Page) -> int:
    """Entries on the disk of this browser, sent or not."""
    return len(events_in(page, "queue", "kept"))


def events_in(page: Page, *stores: str) -> list[dict[str, Any]]:
    """Entries in some stores of the form's database."""
    found: list[dict[str, Any]] = page.evaluate(
        """(stores) => new Promise((resolve) => { const open = indexedDB.open('wearline-entry');
        open.onsuccess = () => { const t = open.result.transaction(stores); const all = [];
          for (const name of stores)
            t.objectStore(name).getAll().onsuccess = (e) => all.push(...e.target.result);
          t.oncomplete = () => { open.result.close(); resolve(all); }; }; })""",
        list(stores),
    )
    return found


def case(name: str) -> dict[str, Any]:
    return tomllib.loads((CASES / f"{name}.toml").read_text(encoding="utf-8"))


def texts_of(document: dict[str, Any]) -> dict[tuple[str, str, str], str]:
    """Every reading of an inspection file by place, field and spot, as a person would type it."""
    found = {}
    for end in document["wheel_end"]:
        for field, value in end.items():
            if field in ("at", "note", "noticed"):
                continue
            if isinstance(value, list):
                found |= {
                    (end["at"], field, spot): part
                    for spot, part in zip(("LT", "LB", "TT", "TB"), value, strict=True)
                }
            else:
                found[end["at"], field, ""] = str(value)
    return found


def unsent(page: Page) -> str:
    return page.inner_text("#unsent .count")


def all_sent(page: Page) -> None:
    page.wait_for_function("() => document.querySelector('#unsent .count')?.textContent.startsWith('0 ')")
