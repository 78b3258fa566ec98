"""Drills through the forms of the pages, as a browser without scripts sends them; vehicles are invented."""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import Any

from starlette.testclient import TestClient

PERSON = "Trainee"


@dataclass
class Forms:
    """One person in front of the drill's pages."""

    client: TestClient
    csrf: str
    person: str = PERSON

    @property
    def mine(self) -> dict[str, str]:
        return {"csrf": self.csrf} | ({"person": self.person} if self.person else {})

    def get(self, path: str, **query: str) -> Any:
        more = {"person": self.person} if self.person else {}
        return self.client.get(path, params=query | more)

    def json(self, path: str, **query: str) -> Any:
        answer = self.get(path + ".json", **query)
        assert answer.status_code == 200, answer.text
        return answer.json()

    def head(self) -> dict[str, Any]:
        found: dict[str, Any] = self.json("/drill/now")["head"]
        return found

    def form(self) -> dict[str, Any]:
        """What every form of the open drill carries."""
        head = self.head()
        return self.mine | {"drill": head["id"], "step": str(head["step"])}

    def post(self, path: str, data: dict[str, Any]) -> Any:
        return self.client.post(path, data=data, follow_redirects=False)

    def begin(self, level: str = "4", seed: str = "1") -> Any:
        answer = self.post("/drill/begin", self.mine | {"level": level, "seed": seed})
        assert answer.status_code == 303, answer.text
        return answer

    def take(self, test: str, *places: str, **more: str) -> Any:
        return self.post("/drill/test", self.form() | {"test": test, "at": list(places)} | more)

    def decide(self, act: str, **more: Any) -> Any:
        return self.post("/drill/decide", self.form() | {"act": act} | more)

    def found(self) -> None:
        """Blame and order what is right for level 4, seed 1."""
        assert self.decide("blame", cause="A3", at="2R").status_code == 303
        assert self.decide("order", work=["S1 2", "S5 2"]).status_code == 303

    def end(self) -> str:
        """End the drill; its id."""
        form = self.form()
        answer = self.post("/drill/score", form)
        assert answer.status_code == 303, answer.text
        return str(form["drill"])

    def score(self, drill: str, patience: float = 30.0) -> dict[str, Any]:
        """The score page's twin as soon as there is one."""
        deadline = time.monotonic() + patience
        while time.monotonic() < deadline:
            found: dict[str, Any] = self.json("/drill/score", drill=drill)
            if found["answer"] is not None:
                return found
            assert found["state"]["fault"] == ""
            time.sleep(0.05)
        raise AssertionError("no score came")
