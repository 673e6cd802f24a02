"""What whoever runs the server can watch: counts and times of requests, and one line for each."""

from __future__ import annotations

import datetime
import json
import logging
import time

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, ProcessCollector
from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["JsonLines", "Measured", "Metrics"]

log = logging.getLogger("woold.requests")

_TIMES_S = (0.01, 0.03, 0.1, 0.3, 1.0, 3.0, 10.0, 30.0, 100.0)


class Metrics:
    """The numbers of one server, in a registry of its own."""

    def __init__(self) -> None:
        self.registry = CollectorRegistry()
        ProcessCollector(registry=self.registry)
        own = self.registry
        self.requests = Counter(
            "woold_requests", "Requests answered", ("method", "route", "status"), registry=own
        )
        self.seconds = Histogram(
            "woold_request_seconds", "Time to answer", ("route",), registry=own, buckets=_TIMES_S
        )
        self.at_once = Gauge("woold_requests_at_once", "Requests being answered", registry=own)
        self.refused_sign_ins = Counter(
            "woold_sign_ins_refused", "Sign-ins with a wrong password", registry=own
        )
        self.records = Gauge("woold_record_rows", "Rows of records in the store", registry=own)
        self.backup_age = Gauge(
            "woold_backup_age_seconds", "Age of the latest copy of the store", registry=own
        )


class Measured:
    """Counts and times every request; names routes, never what stands in them."""

    def __init__(self, app: ASGIApp, metrics: Metrics, is_logged: bool = False) -> None:
        self.app = app
        self.metrics = metrics
        self.is_logged = is_logged

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        begun, status = time.perf_counter(), 500

        async def send_and_note(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
            await send(message)

        with self.metrics.at_once.track_inprogress():
            try:
                await self.app(scope, receive, send_and_note)
            finally:
                self._note(scope, status, time.perf_counter() - begun)

    def _note(self, scope: Scope, status: int, seconds: float) -> None:
        route = _route(scope)
        method = scope["method"] if scope["method"] in _METHODS else "other"
        self.metrics.requests.labels(method, route, str(status)).inc()
        self.metrics.seconds.labels(route).observe(seconds)
        if self.is_logged:
            line = {
                "time": datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds"),
                "event": "request",
                "method": method,
                "route": route,
                "status": status,
                "seconds": round(seconds, 4),
            }
            log.info(json.dumps(line))


class JsonLines(logging.Formatter):
    """Every line of the log as one JSON document."""

    def format(self, record: logging.LogRecord) -> str:
        words = record.getMessage()
        if record.name == log.name:
            return words
        line = {
            "time": datetime.datetime.fromtimestamp(record.created, datetime.UTC).isoformat(
                timespec="milliseconds"
            ),
            "event": record.name,
            "level": record.levelname.lower(),
            "words": words,
        }
        return json.dumps(line)


_METHODS = frozenset(("GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS"))


def _route(scope: Scope) -> str:
    """The route as it is declared: no key, name or address of anybody."""
    found = scope.get("route")
    path = getattr(found, "path_format", None) or getattr(found, "path", None)
    if path:
        return str(path)
    return "/static" if scope["path"].startswith("/static/") else "other"
