"""The pages: shells that the bundled scripts fill."""

from __future__ import annotations

import functools
import json
from pathlib import Path
from typing import Any
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.templating import Jinja2Templates
from markupsafe import Markup, escape
from starlette.responses import RedirectResponse, Response

import woold
from woold.prediction.result import CAUTIONS
from woold.web.guide import GUIDE
from woold.web.navigation import NAVIGATION, group_of
from woold.web.people import person_of
from woold.web.settings import WebSettings
from woold.words import language, say, translations

__all__ = ["PAGES", "page", "router", "say_markup", "shell"]

FOLDER = Path(__file__).parent
STATIC = FOLDER / "static"
TEMPLATES = Jinja2Templates(FOLDER / "templates")


def say_markup(text: str, **values: Any) -> Markup:
    """A text of a template; what is put in is escaped, unless it is the template's own markup."""
    return escape(say(text)).format(**values)


@functools.lru_cache(maxsize=1)
def _page_texts() -> frozenset[str]:
    """Texts that the scripts say, as their build listed them."""
    listed = STATIC / "words.json"
    return frozenset(json.loads(listed.read_text("utf-8"))) if listed.is_file() else frozenset()


def _page_words() -> dict[str, str]:
    """What the scripts of a page say, in the reader's language."""
    known = translations(language())
    return {text: known[text] for text in sorted(_page_texts() & known.keys())}


TEMPLATES.env.globals.update(
    version=woold.__version__,
    cautions=CAUTIONS,
    say=say_markup,
    language=language,
    page_words=_page_words,
    navigation=NAVIGATION,
    group_of=group_of,
    guide=GUIDE,
    case_title=Markup('<strong id="case-title"></strong>'),
)

BEGUN_COOKIE = "woold_begun"
"""Kept by the bench once somebody has looked round: the words for newcomers are not shown again."""

PAGES = {
    "/": "bench",
    "/start": "start",
    "/carriage": "carriage",
    "/dancer": "dancer",
    "/design": "design",
    "/films": "films",
    "/learning": "learning",
    "/line": "line",
    "/line-release": "release",
    "/quote": "quote",
    "/reports": "reports",
    "/shelf": "shelf",
    "/trials": "trials",
    "/trial-plan": "trial_plan",
    "/trials/{key}": "trial",
    "/trials/{key}/form": "trial_form",
    "/trials/{key}/report": "trial_report",
    "/sites": "sites",
    "/watch": "watch",
    "/people": "people",
    "/account": "account",
}
"""Template of each page, by its address."""

router = APIRouter(include_in_schema=False)


def page(request: Request, template: str, status: int = 200, **values: Any) -> Response:
    """A page from its template."""
    return TEMPLATES.TemplateResponse(request, template, values, status_code=status)


def shell(request: Request, template: str, **values: Any) -> Response:
    """A page for whoever may see it; else the way to sign in."""
    person = person_of(request)
    if person is None:
        target = quote(request.url.path, safe="/")
        return RedirectResponse(f"/sign-in?next={target}", status_code=303)
    return page(request, f"{template}.html", person=person, signs_in=_signs_in(request), **values)


def _signs_in(request: Request) -> bool:
    settings: WebSettings = request.app.state.settings
    return settings.sign_in


def _add(address: str, template: str) -> None:
    def show(request: Request) -> Response:
        is_new = BEGUN_COOKIE not in request.cookies
        return shell(request, template, is_new=is_new)

    router.add_api_route(address, show, methods=["GET"], name=template)


for _address, _template in PAGES.items():
    _add(_address, _template)


@router.get("/sw.js")
def service_worker() -> Response:
    """The phone form's service worker; at the top, so that it may answer for every page of it."""
    text = (FOLDER / "static" / "sw.js").read_bytes()
    return Response(text, media_type="text/javascript", headers={"cache-control": "no-cache"})
