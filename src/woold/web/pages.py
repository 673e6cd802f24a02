"""The pages: shells that the bundled scripts fill."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request
from fastapi.templating import Jinja2Templates
from starlette.responses import Response

import woold

__all__ = ["TEMPLATES", "page", "router"]

TEMPLATES = Jinja2Templates(Path(__file__).parent / "templates")
TEMPLATES.env.globals["version"] = woold.__version__

router = APIRouter(include_in_schema=False)


def page(request: Request, name: str, status: int = 200, **values: Any) -> Response:
    """A page from its template."""
    return TEMPLATES.TemplateResponse(request, name, values, status_code=status)


@router.get("/")
def bench(request: Request) -> Response:
    return page(request, "bench.html")


@router.get("/carriage")
def carriage(request: Request) -> Response:
    return page(request, "carriage.html")


@router.get("/dancer")
def dancer(request: Request) -> Response:
    return page(request, "dancer.html")


@router.get("/design")
def design(request: Request) -> Response:
    return page(request, "design.html")
