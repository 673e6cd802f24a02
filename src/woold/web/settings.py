"""How the server is set up; made once by `woold serve` or by a test."""

from __future__ import annotations

import getpass
import os
from dataclasses import dataclass, field

__all__ = ["LOOPBACK", "WebSettings", "is_loopback"]

LOOPBACK = ("localhost", "127.0.0.1", "::1")


def is_loopback(host: str) -> bool:
    """Whether only this computer can reach the address."""
    return host in LOOPBACK


def _user() -> str:
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return "this computer"


def _processors() -> int:
    return max(2, os.cpu_count() or 2)


@dataclass(frozen=True, slots=True)
class WebSettings:
    """How the server is set up.

    Args:
        store: database URL or path; the user's own store when not given.
        sign_in: people must sign in; always so on any but a loopback address.
        hosts: names that the server answers to; any where empty.
        is_tls: its address begins with https.
        workers: processes that predict and read; one for each processor, two at least.
        searchers: processes that search for programs.
        backup: folder for a copy of the store every night; none where not given.
        metrics_token: whoever sends it may read the numbers at /metrics.
        logs: write a line for each request, without names.
        user: who changes are by, where nobody signs in.
    """

    store: str | None = None
    sign_in: bool = False
    hosts: tuple[str, ...] = LOOPBACK
    is_tls: bool = False
    workers: int = field(default_factory=_processors)
    searchers: int = 2
    backup: str | None = None
    metrics_token: str = ""
    logs: bool = False
    user: str = field(default_factory=_user)
