"""Who may do what: hosts, origins, signing in, roles, limits and headers."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import argon2
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from prometheus_client.parser import text_string_to_metric_families

from small_pictures import small_picture
from woold.errors import InputError
from woold.store import Store
from woold.store.accounts import ROLES, Accounts
from woold.web.app import create_app
from woold.web.people import CSRF_COOKIE
from woold.web.settings import WebSettings
from woold.web.tries import Tries, address_part

PASSWORD = "some words in a row"


def quick_app(store: str, is_tls: bool = False) -> FastAPI:
    """A server where people sign in, with hashes that cost little."""
    app = create_app(WebSettings(store=store, sign_in=True, hosts=(), is_tls=is_tls))
    cheap = argon2.PasswordHasher(time_cost=1, memory_cost=64, parallelism=1)
    app.state.accounts = Accounts(app.state.store.engine, cheap)
    return app


@pytest.fixture(scope="module")
def signing_app(tmp_path_factory: pytest.TempPathFactory) -> FastAPI:
    store = str(tmp_path_factory.mktemp("store") / "store.sqlite")
    app = quick_app(store)
    for role in ("view", "record", "manage"):
        app.state.accounts.set(role, role, PASSWORD, by="test")
    return app


@pytest.fixture
def client(signing_app: FastAPI) -> Iterator[TestClient]:
    with TestClient(signing_app, base_url="http://plant", follow_redirects=False) as client:
        yield client


def sign_in(client: TestClient, name: str, password: str = PASSWORD, target: str = "/") -> Any:
    form = {"name": name, "password": password, "next": target}
    return client.post("/sign-in", data=form, headers={"origin": "http://plant"})


def token(client: TestClient) -> dict[str, str]:
    return {"x-csrf-token": client.cookies[CSRF_COOKIE]}


FILLED = {
    "{key}": "a", "{id}": "abcdefgh", "{name}": "a", "{sha256}": "0" * 64, "{kind}": "pdf",
    "{start}": "0", "{revision}": "1", "{size}": "1", "{job}": "0" * 32,
}  # fmt: skip

NEEDS_RECORD = {
    ("post", "/api/cases"), ("put", "/api/cases/{id}"), ("delete", "/api/cases/{id}"),
    ("put", "/api/trials/{key}/entries/{id}"), ("put", "/api/trials/{key}/photos"),
    ("post", "/api/trials/{key}/corrections"), ("post", "/api/trials/{key}/sheets"),
    ("post", "/api/entries"), ("post", "/api/photos"),
    ("get", "/api/photos/uploads/{id}"), ("put", "/api/photos/uploads/{id}/{start}"),
    ("post", "/api/photos/uploads/{id}/{size}/end"),
    ("post", "/api/films/look"), ("get", "/api/films/{id}"), ("delete", "/api/films/{id}"),
    ("put", "/api/films/{id}/{start}"), ("post", "/api/films/{id}/judge"),
    ("post", "/api/shelf"), ("post", "/api/shelf/file"),
}  # fmt: skip
NEEDS_MANAGE = {
    ("post", "/api/trials"), ("get", "/api/accounts"), ("put", "/api/accounts"),
    ("put", "/api/accounts/{name}/role"), ("delete", "/api/accounts/{name}"),
    ("get", "/api/changes"), ("get", "/api/store"), ("post", "/api/store/check"),
}  # fmt: skip
"""What needs more than to see; everything else needs the role "view", and nothing needs none."""


def operations(app: FastAPI) -> list[tuple[str, str, str]]:
    """Method, route and an address of every operation."""
    found = []
    for path, methods in app.openapi()["paths"].items():
        address = path
        for name, value in FILLED.items():
            address = address.replace(name, value)
        found += [(method, path, address) for method in methods]
    return found


def test_every_operation_asks_for_a_role(signing_app: FastAPI, client: TestClient) -> None:
    """Nothing of the interface answers somebody unknown, whatever is added to it later."""
    table = operations(signing_app)
    assert len(table) > 30
    assert {(method, path) for method, path, _ in table} >= NEEDS_RECORD | NEEDS_MANAGE
    for method, path, address in table:
        answer = client.request(method.upper(), address, json={})
        assert answer.status_code == 401, (method, path)


@pytest.mark.parametrize("role", ["view", "record", "manage"])
def test_the_table_of_routes_and_roles(signing_app: FastAPI, client: TestClient, role: str) -> None:
    """A role that may not is refused before anything is read; one that may is not."""
    sign_in(client, role)
    headers = token(client)
    signing_app.state.jobs.start = lambda _work: None
    for method, path, address in operations(signing_app):
        is_own = path.startswith("/api/me/")
        if (method, path) == ("delete", "/api/me/sessions"):
            continue
        needed = (
            "manage" if (method, path) in NEEDS_MANAGE
            else "record" if (method, path) in NEEDS_RECORD else "view"
        )  # fmt: skip
        may = ROLES.index(role) >= ROLES.index(needed)
        answer = client.request(method.upper(), address, json={}, headers=headers)
        assert (answer.status_code != 403) == may, (method, path, answer.text[:200])
        assert answer.status_code != 401, (method, path)
        assert answer.status_code < 500, (method, path, answer.text[:200])
        check_answer(answer)
        assert is_own or may or "role" in answer.json()["errors"][0]["allowed"]


def check_answer(answer: Any) -> None:
    """What every answer must bear. Source: OWASP, "HTTP Security Response Headers"."""
    headers = answer.headers
    assert "default-src 'none'" in headers["content-security-policy"]
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["x-frame-options"] == "DENY"
    assert headers["referrer-policy"] == "same-origin"
    assert headers["cache-control"] in ("no-store", "no-cache") or "private" in str(headers)
    assert "server" not in headers
    assert "x-powered-by" not in headers
    for cookie in headers.get_list("set-cookie"):
        assert "SameSite=lax" in cookie or "SameSite=Lax" in cookie
        assert "Path=/" in cookie
    assert "Traceback" not in answer.text
    assert 'File "' not in answer.text
    if answer.status_code >= 400 and "json" in headers.get("content-type", ""):
        assert answer.json()["schema"] == "errors"
        assert len(headers.get_list("content-type")) == 1


@pytest.mark.parametrize(
    "path", ["/", "/carriage", "/trials", "/trials/a/form", "/people", "/docs"]
)
def test_pages_lead_to_signing_in(client: TestClient, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 303
    assert answer.headers["location"] == f"/sign-in?next={path}"


def test_sign_in_and_out(client: TestClient) -> None:
    assert sign_in(client, "record", "wrong words in a row").status_code == 403
    assert sign_in(client, "nobody").status_code == 403
    answer = sign_in(client, "record", target="/trials")
    assert (answer.status_code, answer.headers["location"]) == (303, "/trials")
    cookies = answer.headers.get_list("set-cookie")
    session = next(each for each in cookies if each.startswith("woold="))
    assert "HttpOnly" in session
    assert "SameSite=lax" in session
    me = client.get("/api/me").json()
    assert (me["name"], me["role"], me["signs_in"]) == ("record", "record", True)
    answer = client.post("/sign-out", headers={"origin": "http://plant"})
    assert answer.headers["location"] == "/sign-in"
    assert client.get("/api/me").status_code == 401


def test_over_https_the_cookie_is_bound_to_the_host(tmp_path: Path) -> None:
    app = quick_app(str(tmp_path / "s"), is_tls=True)
    app.state.accounts.set("anna", "record", PASSWORD, by="test")
    with TestClient(app, base_url="https://plant", follow_redirects=False) as client:
        form = {"name": "anna", "password": PASSWORD}
        answer = client.post("/sign-in", data=form, headers={"origin": "https://plant"})
        session = next(each for each in answer.headers.get_list("set-cookie") if "__Host-" in each)
        assert "Secure" in session
        assert "Path=/" in session
        assert "max-age" in answer.headers["strict-transport-security"]
        assert client.get("/api/me").status_code == 200


@pytest.mark.parametrize("target", ["//evil.example", "https://evil.example", "/\\evil", "/a\r\nb"])
def test_signing_in_leads_nowhere_else(client: TestClient, target: str) -> None:
    assert sign_in(client, "view", target=target).headers["location"] == "/"


def test_a_change_needs_the_token_of_our_pages(client: TestClient) -> None:
    sign_in(client, "record")
    new = {"id": "case-csrf", "title": "", "toml": ""}
    assert client.post("/api/cases", json=new).status_code == 403
    wrong = {"x-csrf-token": "x" * 32}
    assert client.post("/api/cases", json=new, headers=wrong).status_code == 403
    assert client.post("/api/cases", json=new, headers=token(client)).status_code == 201


def test_roles(client: TestClient) -> None:
    new = {"id": "case-roles", "title": "", "toml": ""}
    account = {"name": "ben", "role": "view", "password": PASSWORD}
    expected = {"view": (403, 403), "record": (201, 403), "manage": (201, 204)}
    for role, (saves, sets) in expected.items():
        sign_in(client, role)
        body = new | {"id": f"case-{role}-x"}
        assert client.get("/api/cases").status_code == 200
        answer = client.post("/api/cases", json=body, headers=token(client))
        assert answer.status_code == saves, role
        answer = client.put("/api/accounts", json=account, headers=token(client))
        assert answer.status_code == sets, role


def test_changes_of_accounts_are_on_the_log_and_end_sessions(client: TestClient) -> None:
    sign_in(client, "manage")
    manager = token(client)
    account = {"name": "carla", "role": "view", "password": PASSWORD}
    assert client.put("/api/accounts", json=account, headers=manager).status_code == 204
    with TestClient(client.app, base_url="http://plant", follow_redirects=False) as other:
        sign_in(other, "carla")
        assert other.get("/api/me").status_code == 200
        assert client.delete("/api/accounts/carla", headers=manager).status_code == 204
        assert other.get("/api/me").status_code == 401
    log = [(each["what"], each["by"]) for each in client.get("/api/changes").json()["changes"]]
    assert ("account removed", "manage") in log
    assert ("account set: view", "manage") in log
    assert ("signed in", "carla") in log


WRONG = "wrong words in a row"


def other(app: FastAPI, address: str) -> TestClient:
    """A browser at another address."""
    return TestClient(
        app, base_url="http://plant", follow_redirects=False, client=(address, 50_000)
    )


@pytest.fixture
def guessed(tmp_path: Path) -> FastAPI:
    app = quick_app(str(tmp_path / "s"))
    app.state.accounts.set("anna", "view", PASSWORD, by="test")
    return app


def test_guesses_at_once_are_counted_before_they_are_checked(guessed: FastAPI) -> None:
    """Forty at a time, of which no more than the free ones may be looked at."""
    checked: list[str] = []
    check = guessed.state.accounts.sign_in

    def slow_check(name: str, password: str, device: str = "") -> Any:
        checked.append(password)
        time.sleep(0.2)
        return check(name, password, device)

    guessed.state.accounts.sign_in = slow_check
    with other(guessed, "192.0.2.1") as stranger, ThreadPoolExecutor(40) as pool:
        answers = list(pool.map(lambda n: sign_in(stranger, "anna", f"{WRONG} {n}"), range(40)))
    assert len(checked) == guessed.state.tries.free
    refused = [each for each in answers if each.status_code == 429]
    assert len(refused) == 40 - len(checked)
    assert all(0 < int(each.headers["retry-after"]) <= 60 for each in refused)


def test_a_stranger_locks_nobody_out(guessed: FastAPI) -> None:
    with other(guessed, "192.0.2.7") as anna:
        assert sign_in(anna, "anna").status_code == 303
        with other(guessed, "192.0.2.1") as stranger:
            for _ in range(30):
                sign_in(stranger, "anna", WRONG)
            assert sign_in(stranger, "anna").status_code == 429
        # From another address, and from a browser that she has used before at the stranger's.
        with other(guessed, "192.0.2.8") as elsewhere:
            assert sign_in(elsewhere, "anna").status_code == 303
        with other(guessed, "192.0.2.1") as beside:
            assert sign_in(beside, "anna").status_code == 429
            beside.cookies.set("woold_device", anna.cookies["woold_device"])
            assert sign_in(beside, "anna").status_code == 303
            # A browser that is known for her is not for somebody else.
            assert sign_in(beside, "ben", WRONG).status_code in (403, 429)


def test_one_address_cannot_try_every_name(guessed: FastAPI) -> None:
    guessed.state.tries_of_address = Tries(free=20)
    with other(guessed, "192.0.2.1") as stranger:
        answers = [sign_in(stranger, f"name{n}", WRONG).status_code for n in range(25)]
    assert answers[:20] == [403] * 20
    assert answers[20:] == [429] * 5


def test_waits_grow_end_and_are_forgotten() -> None:
    now = [0.0]
    tries = Tries(free=3, first_s=2.0, longest_s=60.0, forgotten_s=100.0, clock=lambda: now[0])
    assert [tries.begin("a") for _ in range(4)] == [0, 0, 0, 2.0]
    for wait in (4.0, 8.0, 16.0, 32.0, 60.0, 60.0):
        now[0] += tries.begin("a")
        assert tries.begin("a") == 0
        assert tries.begin("a") == pytest.approx(wait)
    assert tries.begin("b") == 0
    now[0] += 200
    assert [tries.begin("a") for _ in range(3)] == [0, 0, 0]
    tries.right("a")
    assert tries.begin("a") == 0


def test_an_address_of_ipv6_is_its_network() -> None:
    """RFC 6177: whoever has one address of it has all of a /64."""
    assert address_part("2001:db8::1") == address_part("2001:db8::ffff:1")
    assert address_part("2001:db8:0:1::1") != address_part("2001:db8::1")
    assert address_part("192.0.2.1") != address_part("192.0.2.2")


def test_own_password_and_sessions(guessed: FastAPI) -> None:
    with other(guessed, "192.0.2.7") as one, other(guessed, "192.0.2.8") as two:
        sign_in(one, "anna")
        sign_in(two, "anna")
        found = one.get("/api/me/sessions").json()["sessions"]
        assert [each["is_own"] for each in found].count(True) == 1
        assert len(found) == 2
        assert "testclient" in found[0]["device"]
        strange = next(each for each in found if not each["is_own"])
        path = f"/api/me/sessions/{strange['id']}"
        assert one.delete(path, headers=token(one)).status_code == 204
        assert two.get("/api/me").status_code == 401
        assert one.delete(path, headers=token(one)).status_code == 404
        sign_in(two, "anna")
        new = {"old": WRONG, "new": "other words in a row"}
        assert one.put("/api/me/password", json=new, headers=token(one)).status_code == 422
        short = {"old": PASSWORD, "new": "short"}
        assert one.put("/api/me/password", json=short, headers=token(one)).status_code == 422
        new["old"] = PASSWORD
        assert one.put("/api/me/password", json=new, headers=token(one)).status_code == 204
        assert one.get("/api/me").status_code == 200
        assert two.get("/api/me").status_code == 401
        assert sign_in(two, "anna").status_code == 403
        assert sign_in(two, "anna", new["new"]).status_code == 303
        assert two.delete("/api/me/sessions", headers=token(two)).status_code == 204
        assert one.get("/api/me").status_code == 401


def test_own_password_cannot_be_guessed_without_end(guessed: FastAPI) -> None:
    with other(guessed, "192.0.2.7") as one:
        sign_in(one, "anna")
        body = {"old": WRONG, "new": "other words in a row"}
        found = [
            one.put("/api/me/password", json=body, headers=token(one)).status_code
            for _ in range(12)
        ]
    assert found[:8] == [422] * 8
    assert found[8:] == [429] * 4


def test_a_role_changes_without_a_new_password_and_a_manager_stays(client: TestClient) -> None:
    sign_in(client, "manage")
    headers = token(client)
    account = {"name": "emil", "role": "view", "password": PASSWORD}
    assert client.put("/api/accounts", json=account, headers=headers).status_code == 204
    with TestClient(client.app, base_url="http://plant", follow_redirects=False) as emil:
        sign_in(emil, "emil")
        change = {"role": "record"}
        path = "/api/accounts/emil/role"
        assert client.put(path, json=change, headers=headers).status_code == 204
        assert emil.get("/api/me").json()["role"] == "record"
    for request in (
        lambda: client.put("/api/accounts/manage/role", json={"role": "view"}, headers=headers),
        lambda: client.delete("/api/accounts/manage", headers=headers),
        lambda: client.put("/api/accounts", json=account | {"name": "manage"}, headers=headers),
    ):
        answer = request()
        assert answer.status_code == 422
        assert "last account that may manage" in answer.text
    wrong = client.put("/api/accounts/nobody/role", json={"role": "view"}, headers=headers)
    assert wrong.status_code == 422
    assert client.delete("/api/accounts/emil", headers=headers).status_code == 204


def test_health_and_numbers(tmp_path: Path) -> None:
    app = create_app(
        WebSettings(
            store=str(tmp_path / "s"), sign_in=True, hosts=(), metrics_token="a long token here"
        )
    )
    with TestClient(app, base_url="http://plant", follow_redirects=False) as client:
        assert client.get("/health").json() == {"status": "ok"}
        assert client.get("/metrics").status_code == 401
        wrong = {"authorization": "Bearer another"}
        assert client.get("/metrics", headers=wrong).status_code == 401
        right = {"authorization": "Bearer a long token here"}
        text = client.get("/metrics", headers=right).text
    found = {
        (each.name, *sorted(each.labels.values())): each.value
        for family in text_string_to_metric_families(text)
        for each in family.samples
    }
    assert found["woold_requests_total", "/health", "200", "GET"] == 1
    assert found["woold_requests_total", "/metrics", "401", "GET"] == 2
    assert found["woold_record_rows",] == 0


def test_the_log_names_nobody(caplog: pytest.LogCaptureFixture, tmp_path: Path) -> None:
    app = create_app(WebSettings(store=str(tmp_path / "s"), sign_in=True, hosts=(), logs=True))
    caplog.set_level("INFO", logger="woold")
    with TestClient(app, base_url="http://plant", follow_redirects=False) as client:
        client.post("/sign-in", data={"name": "anna-secret", "password": PASSWORD})
        client.get("/trials/trial-secret?language=secret")
        client.get("/nowhere-secret")
    lines = [json.loads(each.message) for each in caplog.records if each.name == "woold.requests"]
    assert [(each["route"], each["status"]) for each in lines] == [
        ("/sign-in", 403), ("/trials/{key}", 303), ("other", 404),
    ]  # fmt: skip
    assert "secret" not in caplog.text
    assert PASSWORD not in caplog.text


def test_an_accident_is_logged_without_what_was_typed(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    app = create_app(WebSettings(store=str(tmp_path / "s")))

    @app.get("/broken")
    def broken() -> None:
        raise RuntimeError("typed by Anna")

    with TestClient(app, base_url="http://localhost", raise_server_exceptions=False) as client:
        client.get("/broken")
    assert "RuntimeError in GET /broken" in caplog.text
    assert "Anna" not in "".join(
        each.getMessage() for each in caplog.records if each.name == "woold.web"
    )


def test_passwords_are_kept_as_argon2_hashes(tmp_path: Path) -> None:
    """At no less than RFC 9106's second choice for hosts with little memory: 64 MiB, 3 passes."""
    accounts = Accounts(Store(str(tmp_path / "s")).engine)
    accounts.set("anna", "view", PASSWORD, by="test")
    with accounts.engine.connect() as connection:
        rows = connection.exec_driver_sql("SELECT password_hash FROM account").fetchall()
    assert rows[0][0].startswith("$argon2id$v=19$m=65536,t=3,p=4$")
    with pytest.raises(InputError, match="10 to 200 letters"):
        accounts.set("dora", "view", "short", by="test")
    with pytest.raises(InputError, match="view, record, manage"):
        accounts.set("dora", "owner", PASSWORD, by="test")


@pytest.fixture(scope="module")
def alone(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """The server on loopback, where nobody signs in."""
    store = str(tmp_path_factory.mktemp("store") / "store.sqlite")
    with TestClient(create_app(WebSettings(store=store)), base_url="http://localhost") as client:
        yield client


@pytest.mark.parametrize(
    "host", ["evil.example", "localhost.evil.example", "", "[::1", "a@localhost"]
)
def test_strange_names_do_not_reach_loopback(alone: TestClient, host: str) -> None:
    """Or else a page could point a name of its own at 127.0.0.1 and read everything."""
    assert alone.get("/api/me", headers={"host": host}).status_code == 400


@pytest.mark.parametrize("host", ["localhost:8117", "127.0.0.1:1", "[::1]:8117"])
def test_own_names_reach_loopback(alone: TestClient, host: str) -> None:
    assert alone.get("/api/me", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://localhost:1234"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_strange_pages_cannot_change_anything(alone: TestClient, headers: dict[str, str]) -> None:
    new = {"id": "case-evil", "title": "", "toml": ""}
    assert alone.post("/api/cases", json=new, headers=headers).status_code == 403


@pytest.mark.parametrize("path", ["/", "/docs", "/sign-in", "/api/me", "/nothing", "/static/x"])
def test_headers(alone: TestClient, path: str) -> None:
    headers = alone.get(path).headers
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "http" not in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["x-frame-options"] == "DENY"


@pytest.mark.parametrize("path", ["/", "/docs", "/sign-in", "/trials", "/trial-plan", "/people"])
def test_pages_name_no_external_address_and_hold_no_inline_code(
    alone: TestClient, path: str
) -> None:
    text = alone.get(path).text
    assert "http://" not in text
    assert "https://" not in text
    assert "<style" not in text
    assert " style=" not in text
    assert " onclick=" not in text
    assert "<script>" not in text


def test_bodies_are_limited(alone: TestClient) -> None:
    headers = {"content-type": "application/json"}
    too_much = b'{"case": {"title": "' + b"x" * 2_100_000 + b'"}}'
    assert alone.post("/api/predict", content=too_much, headers=headers).status_code == 413
    pieces = (b"x" * 100_000 for _ in range(30))
    assert alone.post("/api/predict", content=pieces, headers=headers).status_code == 413
    picture = small_picture("PNG") + b"x" * 3_000_000
    assert alone.post("/api/photos", content=picture).status_code == 200
    assert alone.post("/api/photos", content=picture * 9).status_code == 413
    assert alone.post("/api/photos", content=b"<svg/>").status_code == 422


def test_an_unforeseen_error_says_nothing_of_the_inside(tmp_path: Path) -> None:
    app = create_app(WebSettings(store=str(tmp_path / "s")))

    @app.get("/broken")
    def broken() -> None:
        raise RuntimeError("a secret")

    with TestClient(app, base_url="http://localhost", raise_server_exceptions=False) as client:
        answer = client.get("/broken")
    assert answer.status_code == 500
    assert "secret" not in answer.text
    assert answer.json()["errors"][0]["field"] == "server"


@pytest.mark.parametrize(
    ("method", "path", "body"),
    [
        ("POST", "/api/predict", "[" * 200_000),
        ("POST", "/api/predict", "not JSON"),
        ("POST", "/api/predict", "[]"),
        ("GET", "/api/nothing", ""),
        ("GET", "/static/%2e%2e/%2e%2e/etc/passwd", ""),
        ("DELETE", "/api/predict", ""),
        ("GET", "/api/trials/nothing", ""),
        ("GET", "/api/cases/nothing", ""),
        ("GET", "/api/design/nothing", ""),
        ("GET", "/api/me/sessions", ""),
    ],
)
def test_every_refusal_says_what_to_do(
    alone: TestClient, method: str, path: str, body: str
) -> None:
    headers = {"content-type": "application/json"}
    answer = alone.request(method, path, content=body, headers=headers)
    assert 400 <= answer.status_code < 500
    for each in answer.json()["errors"]:
        assert each["field"]
        assert each["given"]
        assert each["allowed"]
        assert each["todo"].endswith(".")
