"""Who gets in, what a role may do, what another site may not do; every refusal is clear and noted."""

from __future__ import annotations

import pytest
from conftest import PASSWORD, PUBLIC
from starlette.testclient import TestClient

from wearline.errors import InputError
from wearline.web.application import create_app
from wearline.web.asking import safe_back
from wearline.web.config import ServeConfig, is_loopback
from wearline.web.pages.people import add_account
from wearline.web.passwords import check_new_password, fingerprint
from wearline.web.refusals import Refusal

PAGES = (
    "/",
    "/inspections",
    "/drafts",
    "/catalogue",
    "/shelf",
    "/sheet",
    "/records",
    "/settings",
    "/people",
    "/audit",
    "/fleet.json",
    "/api/1/vehicles",
    "/api/1/me",
)


def noted(door, action):
    return [row for row in door.shop.journal.trail(limit=500) if row.action == action]


def test_another_address_without_accounts_is_refused_at_the_start(tmp_path):
    for config in (
        ServeConfig(str(tmp_path / "a.db"), host="0.0.0.0"),
        ServeConfig(str(tmp_path / "b.db"), public_url="https://shop.test"),
    ):
        with pytest.raises(Refusal, match="there is no account that administers"):
            create_app(config)


def test_this_computer_opens_without_a_password(web):
    assert web.get("/").status_code == 200
    assert web.get("/api/1/me").json()["way"] == "loopback"


@pytest.mark.parametrize(
    ("host", "local"),
    [
        ("127.0.0.1", True),
        ("localhost", True),
        ("::1", True),
        ("0.0.0.0", False),
        ("shop", False),
        ("10.0.0.2", False),
    ],
)
def test_only_loopback_is_this_computer(host, local):
    assert is_loopback(host) is local


@pytest.mark.parametrize("page", PAGES)
def test_nobody_sees_anything_before_the_login(door, page):
    answer = door.client().get(page)
    if page.endswith(".json") or page.startswith("/api/"):
        assert answer.status_code == 401
        assert answer.json()["error"]["kind"] == "login"
    else:
        assert (answer.status_code, answer.headers["location"][:12]) == (303, "/login?back=")


def test_a_foreign_name_for_this_computer_is_refused(web):
    """A page that points its own name at 127.0.0.1 reads nothing (DNS rebinding)."""
    answer = web.get("/api/1/vehicles", headers={"host": "evil.test:8642"})
    assert (answer.status_code, answer.json()["error"]["where"]) == (403, "host")


def test_a_proxy_before_a_program_without_passwords_is_refused(web):
    answer = web.get("/", headers={"x-forwarded-for": "203.0.113.7"})
    assert answer.status_code == 403
    assert "--public-url" in answer.text


def test_a_request_made_by_another_site_is_refused_and_noted(web, csrf):
    """With everything right but its origin, as a form on another page would send it."""
    for headers in ({"origin": "https://evil.test"}, {"origin": "null"}, {"sec-fetch-site": "cross-site"}):
        answer = web.post("/settings", data={"csrf": csrf(web), "units": "inch"}, headers=headers)
        assert answer.status_code == 403
    rows = [row for row in web.app.state.shop.journal.trail() if row.action == "refused 403"]
    assert len(rows) == 3
    assert web.app.state.shop.settings().units == "metric"


def test_a_form_without_its_token_is_refused(door):
    chief = door.person("boss", "administers")
    good = {"units": "inch", "decision": "simple", "language": "en", "shop_name": ""}
    assert chief.post("/settings", data=good).status_code == 403
    assert chief.post("/settings", data=good | {"csrf": "0" * 64}).status_code == 403
    token = chief.get("/api/1/me").json()["csrf"]
    assert chief.post("/settings", data=good | {"csrf": token}).status_code == 303
    assert door.shop.settings().units == "inch"


def test_the_token_of_one_person_is_no_use_to_another(door):
    one, other = door.person("one", "administers"), door.person("other", "administers")
    token = one.get("/api/1/me").json()["csrf"]
    data = {"units": "inch", "decision": "simple", "language": "en", "csrf": token}
    assert other.post("/settings", data=data).status_code == 403


def test_the_cookie_of_a_session_is_closed_to_scripts_and_other_sites(door):
    client = door.client()
    add_account(door.shop, "p", PASSWORD, frozenset({"reads"}), shown_name="", qualification="")
    answer = client.post("/login", data={"name": "p", "password": PASSWORD}, headers={"origin": PUBLIC})
    cookie = answer.headers["set-cookie"]
    assert cookie.startswith("__Host-wearline=")
    for part in ("HttpOnly", "SameSite=strict", "Secure", "Path=/"):
        assert part in cookie


def test_what_is_stored_of_secrets_lets_nobody_in(door):
    client = door.person("p", "reads")
    secret = client.cookies["__Host-wearline"]
    with door.shop.store.reading() as connection:
        rows = str(connection.exec_driver_sql("SELECT * FROM sessions").all())
        rows += str(connection.exec_driver_sql("SELECT * FROM accounts").all())
    assert fingerprint(secret) in rows
    assert secret not in rows
    assert PASSWORD not in rows
    assert "$argon2id$" in rows


ACTS = (
    ("/settings", "administers"),
    ("/people", "administers"),
    ("/people/tokens", "administers"),
    ("/people/tokens/end", "administers"),
    ("/demonstration", "administers"),
    ("/shelf", "manages limits"),
    ("/catalogue/files", "manages limits"),
    ("/catalogue/files/withdraw", "manages limits"),
    ("/inspections/x/sign", "signs"),
    ("/inspections/keep", "measures"),
    ("/drafts/x/settle", "measures"),
    ("/drafts/x/finish", "measures"),
    ("/api/1/events", "measures"),
    ("/api/1/photos", "measures"),
    ("/api/1/inspections", "measures"),
)


@pytest.mark.parametrize(("path", "role"), ACTS)
def test_a_role_that_is_missing_is_refused_and_noted(door, path, role):
    others = [
        each for each in ("reads", "measures", "signs", "manages limits", "administers") if each != role
    ]
    client = door.person("thief", *others)
    token = client.get("/api/1/me").json()["csrf"]
    answer = client.post(path, data={"csrf": token}, headers={"x-csrf-token": token})
    assert answer.status_code == 403
    assert role in answer.text
    assert noted(door, "refused 403")[0].who == "thief"


def test_a_role_taken_away_is_gone_at_once_also_from_tokens(door, csrf):
    chief = door.person("boss", "administers")
    client = door.person("p", "reads", "measures")
    made = chief.post(
        "/people/tokens",
        data={"csrf": csrf(chief), "account": "p", "purpose": "bench", "role measures": "yes"},
    )
    secret = made.text.split('class="secret mono">')[1].split("<")[0]
    program = door.client()
    program.headers["authorization"] = f"Bearer {secret}"
    assert program.get("/api/1/me").json()["roles"] == ["measures"]
    assert program.post("/api/1/events", json={"events": []}).status_code == 200
    chief.post("/people", data={"csrf": csrf(chief), "name": "p", "roles": "reads", "active": "yes"})
    assert program.post("/api/1/events", json={"events": []}).status_code == 403
    assert client.get("/").status_code == 303, "a change ends the sessions"


def test_a_token_that_was_ended_or_invented_does_not_hold(door, csrf):
    chief = door.person("boss", "administers")
    chief.post(
        "/people/tokens",
        data={"csrf": csrf(chief), "account": "boss", "purpose": "x", "role reads": "yes"},
    )
    (row,) = door.shop.people.tokens()
    chief.post("/people/tokens/end", data={"csrf": csrf(chief), "id": row.id})
    for value in ("Bearer wrong", "Basic cDpw", "Bearer "):
        answer = door.client().get("/api/1/me", headers={"authorization": value})
        assert answer.status_code == 401


def test_guessing_a_password_gets_slower_and_does_not_tell_which_names_exist(door, clock):
    add_account(door.shop, "p", PASSWORD, frozenset({"reads"}), shown_name="", qualification="")
    said = {}
    for name in ("p", "nobody"):
        client = door.client()
        answers = [
            client.post("/login", data={"name": name, "password": "wrong"}, headers={"origin": PUBLIC})
            for _ in range(7)
        ]
        assert [answer.status_code for answer in answers] == [401] * 5 + [429] * 2
        assert int(answers[-1].headers["retry-after"]) <= 31
        said[name] = answers[0].text
    assert said["p"] == said["nobody"]
    right = {"name": "p", "password": PASSWORD}
    assert door.client().post("/login", data=right, headers={"origin": PUBLIC}).status_code == 429
    clock.move(minutes=16)
    assert door.client().post("/login", data=right, headers={"origin": PUBLIC}).status_code == 303
    assert {row.outcome for row in noted(door, "login")} == {"done", "refused"}


def test_a_session_ends_after_twelve_idle_hours_and_at_the_logout(door, clock, csrf):
    client = door.person("p", "reads")
    clock.move(hours=11)
    assert client.get("/").status_code == 200
    clock.move(hours=11)
    assert client.get("/").status_code == 200, "in use"
    clock.move(hours=13)
    assert client.get("/").status_code == 303
    client = door.person("q", "reads")
    assert client.post("/logout", data={"csrf": csrf(client)}).status_code == 303
    assert client.get("/").status_code == 303


def test_somebody_always_administers(door, csrf):
    chief = door.person("boss", "administers")
    data = {"csrf": csrf(chief), "name": "chief", "roles": "reads", "active": "yes"}
    assert chief.post("/people", data=data).status_code == 303
    data = {"csrf": csrf(chief), "name": "boss", "roles": "reads", "active": "yes"}
    answer = chief.post("/people", data=data)
    assert answer.status_code == 409
    assert "obody would be left who administers" in answer.text


@pytest.mark.parametrize("password", ["short", "aaaaaaaaaaaa", "x" * 201, "christopher"])
def test_a_password_that_is_guessed_at_once_is_refused(password):
    with pytest.raises(InputError, match="too easy to guess"):
        check_new_password(password, "Christopher")


@pytest.mark.parametrize(
    "path",
    [
        "/static/../../storage/store.py",
        "/static/%2e%2e/%2e%2e/storage/store.py",
        "/static/..%2f..%2fstorage/store.py",
        "/static//etc/passwd",
        "/entry/../../../pyproject.toml",
        "/static/..\\..\\store.py",
        "/static/%00",
        "/shelf/..%2f..%2fetc/file",
        "/api/1/photos/..%2f..%2fx",
    ],
)
def test_no_path_leads_out_of_the_pages(web, path):
    answer = web.get(path)
    assert answer.status_code == 404
    assert "import" not in answer.text


def test_climbing_paths_are_noted(web):
    web.get("/static/%2e%2e/%2e%2e/storage/store.py")
    rows = [row for row in web.app.state.shop.journal.trail() if row.action == "refused 404"]
    assert len(rows) == 1


def test_every_answer_carries_the_headers(web):
    for path in ("/", "/static/app.css", "/api/1/me", "/nothing"):
        headers = web.get(path).headers
        policy = headers["content-security-policy"]
        assert "unsafe" not in policy
        assert "script-src 'self'" in policy
        assert "default-src 'none'" in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "same-origin"
    assert "strict-transport-security" not in web.get("/").headers


def test_over_https_the_browser_is_told_to_stay_there(door):
    assert "max-age" in door.client().get("/login").headers["strict-transport-security"]


def test_no_page_has_script_or_style_inside(web, csrf):
    web.post("/demonstration", data={"csrf": csrf(web)})
    for path in ("/", "/vehicle?id=Box%201", "/catalogue", "/people", "/entry"):
        text = web.get(path).text
        assert "<script>" not in text
        assert " style=" not in text
        assert "<style" not in text
        assert " onclick=" not in text


@pytest.mark.parametrize(
    "target", ["//evil.test", "https://evil.test", "/\\evil.test", "javascript:x", "/a\nb", ""]
)
def test_going_back_never_leads_away(target):
    assert safe_back(target) == "/"


def test_the_theme_is_remembered_without_a_login(door):
    client = door.client()
    client.post("/theme", data={"theme": "dark", "back": "/login"}, headers={"origin": PUBLIC})
    assert 'data-theme="dark"' in client.get("/login").text


def test_a_flood_of_refusals_does_not_fill_the_trail(web):
    for _ in range(60):
        web.get("/", headers={"host": "evil.test"})
    assert len(web.app.state.shop.journal.trail(limit=500)) <= 10


def test_a_token_of_another_site_is_no_matter_for_programs(door, csrf):
    """A program has no cookie that another page could use: it needs neither origin nor form token."""
    chief = door.person("boss", "administers", "measures")
    made = chief.post(
        "/people/tokens",
        data={"csrf": csrf(chief), "account": "boss", "purpose": "x", "role measures": "yes"},
    )
    secret = made.text.split('class="secret mono">')[1].split("<")[0]
    program: TestClient = door.client()
    answer = program.post("/api/1/events", json={"events": []}, headers={"authorization": f"Bearer {secret}"})
    assert answer.status_code == 200
    assert secret not in str(door.shop.people.tokens())
