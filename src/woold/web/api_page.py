"""The description of the interface as a page of our own: nothing comes from another address."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from markupsafe import Markup, escape
from starlette.responses import Response

from woold.web.answers import Answer
from woold.web.command_pages import COMMAND_PAGES, NO_PAGE
from woold.web.pages import say_markup, shell
from woold.words import say, to_say

__all__ = ["pages", "router"]

router = APIRouter(include_in_schema=False)
pages = APIRouter(include_in_schema=False)


@router.get("/openapi.json")
def openapi(request: Request) -> Response:
    return Answer(request.app.openapi())


@pages.get("/docs")
def docs(request: Request) -> Response:
    return shell(request, "docs", groups=_groups(request.app.openapi()), commands=_command_rows())


def _command_rows() -> list[tuple[Markup, Markup]]:
    """Every command, and where the same is done in the browser."""
    rows = [
        (
            command,
            # A page of one trial is reached from the list of all.
            Markup('<a href="{}"><code>{}</code></a>: {}').format(
                path.partition("/{")[0], path, say(where)
            ),
        )
        for command, (path, where) in COMMAND_PAGES.items()
    ]
    rows += [(command, escape(say(why))) for command, why in NO_PAGE.items()]
    return [(_code(f"woold {command}"), told) for command, told in sorted(rows)]


def _groups(schema: dict[str, Any]) -> dict[str, list[dict[str, Any]]]:
    """Operations by their tag, with what they take and answer."""
    groups: dict[str, list[dict[str, Any]]] = {}
    for path, methods in schema["paths"].items():
        for method, operation in methods.items():
            body = operation.get("requestBody", {}).get("content", {})
            groups.setdefault(say((operation.get("tags") or ["other"])[0]), []).append(
                {
                    "method": method.upper(),
                    "path": path,
                    "words": say(_first_line(operation)),
                    "parameters": [
                        (each["name"], _code(each["in"]), _kind(each.get("schema", {})))
                        for each in operation.get("parameters", ())
                    ],
                    "body": [
                        (media, _fields(each.get("schema", {}), schema))
                        for media, each in body.items()
                    ],
                    "answers": [
                        (status, say(each["description"]), _answer(each, schema))
                        for status, each in operation["responses"].items()
                    ],
                }
            )
    return groups


def _first_line(operation: dict[str, Any]) -> str:
    words: str = operation.get("description") or operation.get("summary", "")
    return words.partition("\n")[0]


def _answer(response: dict[str, Any], schema: dict[str, Any]) -> list[tuple[str, Markup]]:
    content = response.get("content", {}).get("application/json", {})
    return _fields(content.get("schema", {}), schema)


def _fields(part: dict[str, Any], schema: dict[str, Any]) -> list[tuple[str, Markup]]:
    if "$ref" in part:
        part = schema["components"]["schemas"][part["$ref"].rpartition("/")[2]]
    needed = part.get("required", ())
    return [
        (
            name,
            _kind(each)
            if name in needed
            else say_markup(to_say("{kind}, may be left out"), kind=_kind(each)),
        )
        for name, each in part.get("properties", {}).items()
    ]


def _code(text: object) -> Markup:
    return Markup("<code>{}</code>").format(text)


def _kind(part: dict[str, Any]) -> Markup:
    if "$ref" in part:
        return _code(part["$ref"].rpartition("/")[2])
    if "anyOf" in part:
        return Markup(say(" or ")).join(_kind(each) for each in part["anyOf"])
    if part.get("type") == "array":
        return say_markup(to_say("list of {kind}"), kind=_kind(part.get("items", {})))
    return (
        _code(part["const"] if "const" in part else part["type"])
        if {"const", "type"} & part.keys()
        else escape(say("anything"))
    )
