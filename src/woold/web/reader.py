"""Who reads: in which language a request is answered, and in which units."""

from __future__ import annotations

import os
from dataclasses import replace
from http.cookies import CookieError, SimpleCookie
from typing import Annotated
from urllib.parse import parse_qs

from fastapi import Depends, Query
from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from woold.rows.wording import Wording
from woold.units import UnitSystem
from woold.web.page_words import ON_PAGES
from woold.words import ENGLISH, languages, speaking

__all__ = ["Reader", "Speaker", "brief"]

LANGUAGE_COOKIE = "language"
_YEAR = 31_536_000


def _wording(
    units: Annotated[UnitSystem, Query(description="units of the answer's rows")] = "both",
    decimal_comma: Annotated[bool, Query(description="1234.5 is written 1 234,5")] = False,
) -> Wording:
    return Wording(units=units, decimal_comma=decimal_comma)


Reader = Annotated[Wording, Depends(_wording)]
"""How the rows of an answer are worded: a parameter of every operation that answers rows."""


def brief(say: Wording) -> Wording:
    """The same for cells of wide tables, which have no room for two units."""
    return replace(say, units="si") if say.units == "both" else say


class Speaker:
    """Answers each request in the reader's language.

    It is the one of the address (?language=de, which is kept), else the one that was kept, else the
    first that the browser wishes for, else the server's own (WOOLD_LANGUAGE), else English. One
    without a catalogue is passed over.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        known, headers = languages(), Headers(scope=scope)
        asked = parse_qs(scope["query_string"].decode("latin-1")).get("language", [""])[-1]
        own = os.environ.get("WOOLD_LANGUAGE", "")
        wishes = (asked, _kept(headers), *_wished(headers), own)
        spoken = next((each for each in wishes if each in known), ENGLISH)

        async def send_and_keep(message: Message) -> None:
            if message["type"] == "http.response.start" and asked == spoken:
                cookie = f"{LANGUAGE_COOKIE}={spoken}; Path=/; Max-Age={_YEAR}; SameSite=Lax"
                MutableHeaders(scope=message).append("set-cookie", cookie)
            await send(message)

        with speaking(spoken, ON_PAGES):
            await self.app(scope, receive, send_and_keep)


def _kept(headers: Headers) -> str:
    try:
        cookies = SimpleCookie(headers.get("cookie", ""))
    except CookieError:
        return ""
    return cookies[LANGUAGE_COOKIE].value if LANGUAGE_COOKIE in cookies else ""


def _wished(headers: Headers) -> list[str]:
    """Languages that the browser names, with and without their region, in its order.

    Source: RFC 9110, 12.5.4.
    """
    weighed = []
    for each in headers.get("accept-language", "").split(","):
        tag, _, weight = each.strip().partition(";q=")
        try:
            weighed.append((-float(weight or 1.0), tag))
        except ValueError:
            continue
    tags = [tag for _, tag in sorted(weighed, key=lambda pair: pair[0])]
    return [spelt for tag in tags for spelt in (tag, tag.partition("-")[0])]
