"""The web app in a temporary database, reached without a network."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from wearline.web.application import create_app
from wearline.web.config import ServeConfig
from wearline.web.pages.people import add_account
from wearline.web.shop import Shop

PASSWORD = "four words of a test"
PUBLIC = "https://shop.test"


@dataclass
class Clock:
    """A clock that stands still until it is moved."""

    moment: datetime = field(default_factory=lambda: datetime(2026, 10, 1, 12, 0, tzinfo=UTC))

    def __call__(self) -> datetime:
        return self.moment

    def move(self, **more: float) -> None:
        self.moment += timedelta(**more)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def web(tmp_path: Path, clock: Clock) -> Iterator[TestClient]:
    """The app as it opens on this computer, without a password."""
    app = create_app(ServeConfig(str(tmp_path / "shop.db"), drills=str(tmp_path / "drills")), clock)
    with TestClient(app, base_url="http://127.0.0.1:8642", raise_server_exceptions=True) as client:
        yield client


@dataclass
class Door:
    """The app behind a proxy, with accounts; gives a client for each person."""

    app: Any
    stack: ExitStack

    @property
    def shop(self) -> Shop:
        return self.app.state.shop

    def client(self) -> TestClient:
        """Somebody who is not logged in."""
        return TestClient(self.app, base_url=PUBLIC, follow_redirects=False)

    def person(self, name: str, *roles: str) -> TestClient:
        """Somebody with these roles, logged in."""
        add_account(
            self.shop, name, PASSWORD, frozenset(roles), shown_name=name.title(), qualification="invented"
        )
        client = self.client()
        answer = client.post("/login", data={"name": name, "password": PASSWORD}, headers={"origin": PUBLIC})
        assert answer.status_code == 303, answer.text
        client.headers["origin"] = PUBLIC
        return client


@pytest.fixture
def door(tmp_path: Path, clock: Clock) -> Iterator[Door]:
    config = ServeConfig(str(tmp_path / "shop.db"), public_url=PUBLIC, drills=str(tmp_path / "drills"))
    shop = Shop(config, clock)
    add_account(
        shop, "chief", PASSWORD, frozenset({"administers"}), shown_name="Chief", qualification="invented"
    )
    shop.close()
    with ExitStack() as stack:
        app = create_app(config, clock)
        stack.enter_context(TestClient(app, base_url=PUBLIC))
        yield Door(app, stack)


@pytest.fixture
def csrf() -> Callable[[TestClient], str]:
    """What the forms of a client must carry."""
    return lambda client: client.get("/api/1/me").json()["csrf"]
