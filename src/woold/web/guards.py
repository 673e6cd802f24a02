"""What stands before every request: its host and origin; and the headers of every answer."""

from __future__ import annotations

from collections.abc import Sequence
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from woold.errors import Problem
from woold.web.answers import refusal
from woold.words import say

__all__ = ["SAFE_METHODS", "Guard"]

SAFE_METHODS = frozenset(("GET", "HEAD", "OPTIONS"))

_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob:",
        "media-src blob:",
        "font-src 'self'",
        "connect-src 'self'",
        "worker-src 'self'",
        "manifest-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)

_HEADERS = {
    "content-security-policy": _POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "geolocation=(), microphone=(), payment=(), usb=()",
}


class Guard:
    """Refuses what does not come from our own pages; sets the headers.

    Args:
        app: what is guarded.
        hosts: names that this server may be called by; any where empty. On loopback this is what
            keeps a strange page from reaching the server under a name of its own.
        is_tls: the address is https, and shall stay so.
    """

    def __init__(
        self,
        app: ASGIApp,
        hosts: Sequence[str] = (),
        is_tls: bool = False,
    ) -> None:
        self.app = app
        self.hosts = frozenset(hosts)
        self.headers = dict(_HEADERS)
        if is_tls:
            self.headers["strict-transport-security"] = "max-age=31536000"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        # Scripts and styles are asked for anew each time, and sent only where they changed.
        caching = "no-cache" if scope["path"].startswith("/static/") else "no-store"

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in self.headers.items():
                    headers.setdefault(name, value)
                headers.setdefault("cache-control", caching)
            await send(message)

        request = Headers(scope=scope)
        refused = self._refused(scope, request)
        if refused is not None:
            status, problem = refused
            await refusal(status, [problem])(scope, receive, send_with_headers)
            return
        await self.app(scope, receive, send_with_headers)

    def _refused(self, scope: Scope, request: Headers) -> tuple[int, Problem] | None:
        host = request.get("host", "")
        if self.hosts and _name(host) not in self.hosts:
            allowed = ", ".join(sorted(self.hosts))
            return 400, Problem("Host", host or "nothing", allowed, say("Use the address printed."))
        if scope["method"] not in SAFE_METHODS:
            site = request.get("sec-fetch-site", "same-origin")
            origin = request.get("origin")
            if site not in ("same-origin", "none") or (
                origin is not None and origin.partition("://")[2] != host
            ):
                return 403, Problem(
                    "Origin",
                    origin or site,
                    say("this server's own pages"),
                    say("Open the page at this server's own address."),
                )
        return None


def _name(host: str) -> str | None:
    """The host's name or address without its port."""
    if "@" in host:
        return None
    try:
        return urlsplit(f"//{host}").hostname
    except ValueError:
        return None
