"""The server: one FastAPI application, made by `create_app`."""

from __future__ import annotations

from pathlib import Path

from fastapi import FastAPI
from starlette.middleware.gzip import GZipMiddleware
from starlette.staticfiles import StaticFiles

import woold
from woold.web import api_case, api_page, pages
from woold.web.answers import Answer, install_refusals
from woold.web.guards import Guard
from woold.web.settings import WebSettings

__all__ = ["create_app"]

STATIC = Path(__file__).parent / "static"


def create_app(settings: WebSettings | None = None) -> FastAPI:
    """The application.

    Args:
        settings: how it is set up; for this computer alone when not given.
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
    )
    app.state.settings = settings
    install_refusals(app)
    app.include_router(api_case.router)
    app.include_router(api_page.router)
    app.include_router(pages.router)
    app.mount("/static", StaticFiles(directory=STATIC, check_dir=False), name="static")
    app.add_middleware(GZipMiddleware, minimum_size=1000)
    app.add_middleware(Guard, hosts=settings.hosts, is_tls=settings.is_tls)
    return app
