"""What stands before every request: host, origin, size of the body, and the headers of answers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from woold.errors import Problem
from woold.web.answers import refusal

__all__ = ["LARGEST_BODY", "SAFE_METHODS", "Guard"]

SAFE_METHODS = frozenset(("GET", "HEAD", "OPTIONS"))

LARGEST_BODY = 2_000_000
"""Of a request that is not an upload [bytes]."""

_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob:",
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
    """Refuses what does not come from our own pages or is too large; sets the headers.

    Args:
        app: what is guarded.
        hosts: names that this server may be called by; any where empty. On loopback this is what
            keeps a strange page from reaching the server under a name of its own.
        uploads: largest body by the beginning of the path [bytes].
        is_tls: the address is https, and shall stay so.
    """

    def __init__(
        self,
        app: ASGIApp,
        hosts: Sequence[str] = (),
        uploads: Mapping[str, int] | None = None,
        is_tls: bool = False,
    ) -> None:
        self.app = app
        self.hosts = frozenset(hosts)
        self.uploads = dict(uploads or {})
        self.headers = dict(_HEADERS)
        if is_tls:
            self.headers["strict-transport-security"] = "max-age=31536000"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in self.headers.items():
                    headers.setdefault(name, value)
                headers.setdefault("cache-control", "no-store")
            await send(message)

        request = Headers(scope=scope)
        refused = self._refused(scope, request)
        if refused is not None:
            status, problem = refused
            await refusal(status, [problem])(scope, receive, send_with_headers)
            return
        limit = self._limit(scope["path"])
        await self.app(scope, _Counted(receive, limit), send_with_headers)

    def _refused(self, scope: Scope, request: Headers) -> tuple[int, Problem] | None:
        host = request.get("host", "")
        name = urlsplit(f"//{host}").hostname if _is_plain(host) else None
        if self.hosts and name not in self.hosts:
            allowed = ", ".join(sorted(self.hosts))
            return 400, Problem("Host", host or "nothing", allowed, "Use the address printed.")
        if scope["method"] not in SAFE_METHODS:
            site = request.get("sec-fetch-site", "same-origin")
            origin = request.get("origin")
            if site not in ("same-origin", "none") or (
                origin is not None and origin.partition("://")[2] != host
            ):
                return 403, Problem("Origin", origin or site, "this server's own pages", "")
        length = request.get("content-length", "0")
        limit = self._limit(scope["path"])
        if not length.isascii() or not length.isdigit() or int(length) > limit:
            return 413, _too_large(length, limit)
        return None

    def _limit(self, path: str) -> int:
        return next(
            (size for start, size in self.uploads.items() if path.startswith(start)), LARGEST_BODY
        )


class _Counted:
    """A request's body, cut off where it grows past the limit."""

    def __init__(self, receive: Receive, limit: int) -> None:
        self.receive = receive
        self.limit = limit
        self.seen = 0

    async def __call__(self) -> Message:
        message = await self.receive()
        self.seen += len(message.get("body", b""))
        if self.seen > self.limit:
            # Told as a hang-up: whatever is reading stops, and nothing is kept.
            return {"type": "http.disconnect"}
        return message


def _too_large(given: str, limit: int) -> Problem:
    return Problem("body", f"{given} bytes", f"at most {limit:,} bytes", "Send less.")


def _is_plain(host: str) -> bool:
    return host.isascii() and not any(letter in host for letter in "/?#@\\ ")
