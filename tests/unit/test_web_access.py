"""Who may do what: hosts, origins, signing in, roles, limits and headers."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import argon2
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from small_pictures import small_picture
from woold.errors import InputError
from woold.store import Store
from woold.store.accounts import Accounts
from woold.web.app import create_app
from woold.web.people import CSRF_COOKIE
from woold.web.settings import WebSettings

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


def test_every_operation_asks_for_a_role(signing_app: FastAPI, client: TestClient) -> None:
    """Nothing of the interface answers somebody unknown, whatever is added to it later."""
    operations = signing_app.openapi()["paths"]
    assert len(operations) > 15
    for path, methods in operations.items():
        for method in methods:
            address = path.replace("{key}", "a").replace("{id}", "abcdefgh").replace("{name}", "a")
            address = address.replace("{sha256}", "0" * 64)
            answer = client.request(method.upper(), address, json={})
            assert answer.status_code == 401, (method, path)


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


def test_passwords_cannot_be_tried_without_end(tmp_path: Path) -> None:
    app = quick_app(str(tmp_path / "s"))
    app.state.tries.most = 3
    app.state.accounts.set("anna", "view", PASSWORD, by="test")
    with TestClient(app, base_url="http://plant", follow_redirects=False) as client:
        for _ in range(3):
            assert sign_in(client, "anna", "wrong words in a row").status_code == 403
        assert sign_in(client, "anna").status_code == 429


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
