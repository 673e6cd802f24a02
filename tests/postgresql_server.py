"""A PostgreSQL server of the tests' own, where the machine has its programs (see the Makefile)."""

from __future__ import annotations

import os
import pwd
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

__all__ = ["postgresql_server"]


def _program(name: str) -> str | None:
    installed = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"))
    return str(installed[-1]) if installed else shutil.which(name)


@contextmanager
def postgresql_server() -> Iterator[str | None]:
    """URL of a new, empty database; None where PostgreSQL is not installed."""
    initdb, control = _program("initdb"), _program("pg_ctl")
    if initdb is None or control is None:
        yield None
        return
    # The server refuses to run as root.
    user = next((u for u in ("postgres", "nobody") if os.getuid() == 0 and _known(u)), None)
    prefix = [] if user is None else ["setpriv", f"--reuid={user}", "--clear-groups"]
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    folder = tempfile.mkdtemp(prefix="woold-pg-", dir="/tmp")
    if user is not None:
        shutil.chown(folder, user)
    data = f"{folder}/data"

    def run(*words: str) -> None:
        subprocess.run(
            [*prefix, *words], cwd=folder, check=True, stdout=subprocess.DEVNULL, timeout=120
        )

    try:
        run(initdb, "-D", data, "-U", "woold", "-A", "trust", "-E", "UTF8", "--locale=C")
        options = f"-p {port} -c listen_addresses=127.0.0.1 -k {folder}"
        run(control, "-D", data, "-w", "-l", f"{folder}/log", "-o", options, "start")
        try:
            yield f"postgresql://woold@127.0.0.1:{port}/postgres"
        finally:
            run(control, "-D", data, "-m", "immediate", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _known(user: str) -> bool:
    try:
        return bool(pwd.getpwnam(user))
    except KeyError:
        return False
