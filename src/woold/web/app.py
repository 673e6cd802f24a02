"""The server: one FastAPI application, made by `create_app`."""

from __future__ import annotations

import logging
import threading
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib.resources import files
from pathlib import Path

from fastapi import FastAPI
from starlette.middleware.gzip import GZipMiddleware
from starlette.staticfiles import StaticFiles

import woold
from woold.case.file import case_from_table
from woold.case.text import table_from_toml
from woold.errors import WooldError
from woold.rows.wording import Wording
from woold.store import Store
from woold.store.accounts import Accounts
from woold.store.nightly import Nightly
from woold.store.saved_cases import SavedCases
from woold.store.sessions import Sessions
from woold.store.uploads import Uploads
from woold.web import (
    api_carriage,
    api_case,
    api_dancer,
    api_design,
    api_entries,
    api_film,
    api_films,
    api_learning,
    api_line,
    api_page,
    api_people,
    api_photos,
    api_quote,
    api_release,
    api_report,
    api_saved,
    api_sheets,
    api_shelf,
    api_sites,
    api_store,
    api_trace,
    api_transport,
    api_trial_files,
    api_trial_plan,
    api_trial_studies,
    api_trials,
    api_tune,
    api_watch,
    api_work,
    pages,
    signing,
    watching,
)
from woold.web.answers import Answer, install_refusals
from woold.web.at_work import Working
from woold.web.bench_view import bench_view
from woold.web.films import SentFilms
from woold.web.guards import Guard
from woold.web.jobs import Jobs
from woold.web.made_lately import MadeLately
from woold.web.measured import Measured, Metrics
from woold.web.on_shelf import ShelfNow
from woold.web.people import VIEW
from woold.web.reader import Speaker
from woold.web.sent_lines import SentLines
from woold.web.settings import WebSettings
from woold.web.slow import SlowBodies
from woold.web.tries import Tries
from woold.web.workers import BusyError, Call, Workers, WorkFailedError

__all__ = ["create_app"]

INTERFACE = (
    api_case,
    api_carriage,
    api_dancer,
    api_trace,
    api_tune,
    api_design,
    api_transport,
    api_report,
    api_saved,
    api_shelf,
    api_trial_plan,
    api_trials,
    api_entries,
    api_sheets,
    api_trial_studies,
    api_trial_files,
    api_photos,
    api_film,
    api_sites,
    api_quote,
    api_watch,
    api_films,
    api_learning,
    api_line,
    api_release,
    api_work,
    api_people,
    api_store,
    signing,
    api_page,
)
"""Modules of operations; to see what they answer is the least that somebody must be allowed."""

STATIC = Path(__file__).parent / "static"

_WARM_UP_S = 300.0

log = logging.getLogger("woold.web")

LARGEST_BODY = 2_000_000
"""Of a request that is not an upload [bytes]."""


def create_app(settings: WebSettings | None = None) -> FastAPI:
    """The application.

    Args:
        settings: how it is set up; for this computer alone when not given.

    Raises:
        InputError: the store cannot be opened.
    """
    settings = settings or WebSettings()
    app = FastAPI(
        title="woold",
        version=woold.__version__,
        description="Predict, match, dial in, test and compare stretch-film wrapping of loads.",
        default_response_class=Answer,
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
        max_body_size=LARGEST_BODY,
        lifespan=_while_serving,
        telemetry={"tracing": False, "metrics": False},
    )
    store = Store(settings.store)
    app.state.settings = settings
    app.state.store = store
    app.state.accounts = Accounts(store.engine)
    app.state.cases = SavedCases(store.engine)
    app.state.shelf = ShelfNow(store.engine)
    app.state.uploads = Uploads(store.engine)
    app.state.films = SentFilms()
    app.state.made = MadeLately()
    app.state.lines = SentLines()
    quick, searchers = Workers(settings.workers), Workers(settings.searchers)
    app.state.workers, app.state.searchers = quick, searchers
    app.state.sessions = Sessions(store.engine)
    app.state.tries, app.state.tries_of_address = Tries(), Tries(free=60, longest_s=10.0)
    app.state.metrics = metrics = Metrics()
    app.state.nightly = Nightly(store.engine, settings.backup) if settings.backup else None
    install_refusals(app)
    for module in INTERFACE:
        app.include_router(module.router, dependencies=[VIEW])
    # Pages lead whoever is not signed in to signing in, instead of refusing.
    for router in (pages.router, signing.pages, api_page.pages, watching.router):
        app.include_router(router)
    app.mount("/static", StaticFiles(directory=STATIC, check_dir=False), name="static")
    app.add_middleware(Working, workers=quick)
    app.add_middleware(GZipMiddleware, minimum_size=1000)
    app.add_middleware(Guard, hosts=settings.hosts, is_tls=settings.is_tls)
    app.add_middleware(SlowBodies)
    app.add_middleware(Speaker)
    app.add_middleware(Measured, metrics=metrics, is_logged=settings.logs)
    return app


@asynccontextmanager
async def _while_serving(app: FastAPI) -> AsyncIterator[None]:
    """Loads the compiled physics first, so that nobody waits for it; ends jobs at the end."""
    jobs = app.state.jobs = Jobs()
    nightly: Nightly | None = app.state.nightly
    if nightly is not None:
        nightly.start()
    workers: Workers = app.state.workers
    for _ in range(workers.count):
        threading.Thread(target=_warm_up, args=(workers,), daemon=True).start()
    yield
    jobs.close()
    app.state.films.close()
    app.state.lines.close()
    if nightly is not None:
        nightly.close()
    workers.close()
    app.state.searchers.close()


def _warm_up(workers: Workers) -> None:
    try:
        workers.run(Call(__name__, "first_prediction"), _WARM_UP_S)
    except (BusyError, WorkFailedError, WooldError) as error:
        log.warning("the first prediction failed: %s", type(error).__name__)


def first_prediction() -> None:
    """Loads the compiled physics in a worker."""
    text = files("woold.demo").joinpath("files/today.toml").read_text(encoding="utf-8")
    bench_view(case_from_table(table_from_toml(text)), Wording())
