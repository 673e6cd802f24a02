"""Clients that send slowly, or half: they are dropped, and others are answered meanwhile."""

from __future__ import annotations

import re
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator

import pytest
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.routing import Route

from woold.web.slow import SlowBodies

SLOW = 300

_SERVER = """
import sys
import woold.web.slow as slow
slow.HEAD_S = 3.0
slow.SlowBodies.__init__.__defaults__ = (2.0, 4.0)
from woold.cli.main import run
sys.argv = ["woold", "serve", "--port", "0", "--store", sys.argv[1]]
if __name__ == "__main__":
    run()
"""


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, int]]:
    """A real server, whose patience is short."""
    folder = tmp_path_factory.mktemp("slow")
    (folder / "server.py").write_text(_SERVER)
    command = [sys.executable, str(folder / "server.py"), str(folder / "store.sqlite")]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        found = re.search(r"http://([\d.]+):(\d+)", process.stdout.readline())
        assert found
        yield found[1], int(found[2])
        process.terminate()
        process.wait(20)


def answered_in(server: tuple[str, int]) -> float:
    begun = time.monotonic()
    with urllib.request.urlopen(f"http://{server[0]}:{server[1]}/api/me", timeout=30) as answer:
        assert answer.status == 200
    return time.monotonic() - begun


def ended(line: socket.socket, seconds: float) -> bytes:
    """What comes until the other side hangs up."""
    line.settimeout(seconds)
    found = b""
    while piece := line.recv(65_536):
        found += piece
    return found


HEAD = (
    b"POST /api/case/read HTTP/1.1\r\nhost: localhost\r\n"
    b"content-type: application/json\r\ncontent-length: 1000\r\n\r\n"
)


def test_three_hundred_slow_clients_hold_nobody_up(server: tuple[str, int]) -> None:
    answered_in(server)
    lines = [socket.create_connection(server, timeout=30) for _ in range(SLOW)]
    for number, line in enumerate(lines):
        # A third sends nothing, a third half a head, a third half a body.
        line.sendall((b"", HEAD[:40], HEAD + b'{"toml"')[number % 3])
    assert answered_in(server) < 2.0
    for number, line in enumerate(lines):
        found = ended(line, 30)
        if number % 3 == 2:
            assert b"408" in found[:20]
            assert b"stopped coming" in found
        line.close()
    assert answered_in(server) < 2.0


def test_a_body_that_drips_is_dropped(server: tuple[str, int]) -> None:
    with socket.create_connection(server, timeout=30) as line:
        line.sendall(HEAD)
        begun = time.monotonic()
        try:
            while time.monotonic() - begun < 20:
                line.sendall(b" ")
                time.sleep(0.5)
        except OSError:
            pass
        assert time.monotonic() - begun < 15


def test_a_slow_body_that_goes_on_is_taken(server: tuple[str, int]) -> None:
    body = b'{"toml": "title = \'x\'"' + b" " * 4000 + b"}"
    head = HEAD.replace(b"1000", str(len(body)).encode())
    head = head.replace(b"\r\n\r\n", b"\r\nconnection: close\r\n\r\n")
    with socket.create_connection(server, timeout=30) as line:
        line.sendall(head)
        for start in range(0, len(body), 500):
            line.sendall(body[start : start + 500])
            time.sleep(0.7)
        assert b"200" in ended(line, 60)[:20]


def test_what_the_application_has_answered_is_left_alone() -> None:
    """A client that is slow to read, not to send, gets all of its answer."""
    from starlette.testclient import TestClient

    async def read(request: Request) -> PlainTextResponse:
        return PlainTextResponse(str(len(await request.body())))

    app = SlowBodies(Starlette(routes=[Route("/", read, methods=["POST"])]))
    assert TestClient(app).post("/", content=b"x" * 100_000).text == "100000"
