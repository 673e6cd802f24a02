"""Pages for whoever runs the server: whether it is well, and its numbers."""

from __future__ import annotations

import datetime
import hmac
import shutil
from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request
from prometheus_client import CONTENT_TYPE_LATEST, generate_latest
from starlette.exceptions import HTTPException
from starlette.responses import Response

from woold.errors import WooldError
from woold.store import Store
from woold.store.nightly import Nightly
from woold.web.answers import Answer
from woold.web.measured import Metrics
from woold.web.people import person_of
from woold.web.settings import WebSettings
from woold.words import say

__all__ = ["router"]

router = APIRouter(include_in_schema=False)

_LEAST_ROOM = 200_000_000
"""With less room on its disk the store soon takes nothing more [bytes]."""

_OLDEST_BACKUP_S = 36 * 3600.0


def _backup_age(request: Request) -> float | None:
    nightly: Nightly | None = request.app.state.nightly
    last = nightly.last() if nightly else None
    return None if last is None else (datetime.datetime.now(datetime.UTC) - last).total_seconds()


@router.get("/health")
def health(request: Request) -> Response:
    """Whether the server can do its work; anybody may ask, and learns nothing else."""
    wrong: dict[str, Any] = {}
    store: Store = request.app.state.store
    try:
        store.latest()
    except WooldError:
        wrong["store"] = "cannot be read"
    database = store.engine.url.database
    if store.engine.dialect.name == "sqlite" and database:
        try:
            if shutil.disk_usage(Path(database).parent).free < _LEAST_ROOM:
                wrong["disk"] = "nearly full"
        except OSError:
            wrong["disk"] = "cannot be seen"
    if request.app.state.nightly is not None:
        age = _backup_age(request)
        if age is None or age > _OLDEST_BACKUP_S:
            wrong["backup"] = "none for more than a day"
    body = {"status": "failing" if wrong else "ok", **wrong}
    return Answer(body, status_code=503 if wrong else 200)


@router.get("/metrics")
def metrics(request: Request) -> Response:
    """The server's numbers, in Prometheus' text format, for managers or whoever has the token."""
    settings: WebSettings = request.app.state.settings
    sent = request.headers.get("authorization", "").removeprefix("Bearer ")
    token = settings.metrics_token
    if not (token and hmac.compare_digest(sent.encode("utf-8", "replace"), token.encode())):
        person = person_of(request)
        if person is None:
            raise HTTPException(401, say("the token of --metrics-token, or somebody signed in"))
        if not person.may("manage"):
            raise HTTPException(403, say('somebody with the role "{role}"', role="manage"))
    numbers: Metrics = request.app.state.metrics
    store: Store = request.app.state.store
    numbers.records.set(store.latest())
    numbers.backup_age.set(_backup_age(request) or float("nan"))
    return Response(generate_latest(numbers.registry), media_type=CONTENT_TYPE_LATEST)
