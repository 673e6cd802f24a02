"""Writes src/woold/words/woold.pot: every text that can be said, sorted, the same on each run.

Babel reads Python, page templates and TypeScript; what it cannot see there is collected from the
running program: help texts of commands, and what the models of files know of their fields.
"""

from __future__ import annotations

import ast
import contextlib
import importlib
import io
import pkgutil
import sys
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

import polib
from babel.messages.extract import extract_from_file
from pydantic import BaseModel

ROOT = Path(__file__).parents[1]
CATALOGUE = ROOT / "src/woold/words/woold.pot"
JINJA = "jinja2.ext:babel_extract"
TYPESCRIPT = "javascript"
SAID = {"say": None, "to_say": None, "toSay": None}
TYPER_SAYS = {"_": None}


class NoLiteralError(Exception):
    """A text that cannot be a key of the catalogue."""


def python_texts(
    file: Any,
    keywords: Iterable[str],
    comment_tags: Any,  # noqa: ARG001
    options: Any,  # noqa: ARG001
) -> Iterator[tuple[int, str, str, list[str]]]:
    """Babel's way to read Python, by its syntax tree: calls inside of f-strings are seen as well.

    Raises:
        NoLiteralError: the text is put together where it is said, so that no catalogue can hold it.
    """
    for node in ast.walk(ast.parse(file.read())):
        if not isinstance(node, ast.Call) or not node.args:
            continue
        name = getattr(node.func, "id", getattr(node.func, "attr", ""))  # say(), making.say()
        if name not in keywords:
            continue
        text = node.args[0]
        if isinstance(text, ast.Constant) and isinstance(text.value, str):
            yield node.lineno, name, text.value, []
        elif any(isinstance(each, ast.JoinedStr | ast.BinOp) for each in ast.walk(text)) or (
            isinstance(text, ast.IfExp)
            and any(isinstance(each, ast.Constant) for each in (text.body, text.orelse))
        ):
            raise NoLiteralError(f"line {node.lineno}: {ast.unparse(node)}")


_OPTIONS: dict[Any, dict[str, str]] = {
    JINJA: {"trim_blocks": "true", "lstrip_blocks": "true", "silent": "false"}
}
WAYS: dict[str, tuple[Any, str]] = {
    ".py": (python_texts, "src/woold"),
    ".html": (JINJA, "src/woold"),
    ".j2": (JINJA, "src/woold"),
    ".ts": (TYPESCRIPT, "frontend/src"),
}
"""How each kind of file is read, and where such files are."""


def catalogue_text() -> str:
    """The catalogue's whole text.

    Raises:
        NoLiteralError: a text is put together where it is said, so that no catalogue can hold it.
    """
    places: dict[str, set[str]] = {}
    faults: list[str] = []
    for text, place in (
        *_written(faults),
        *_of_typer(),
        *_of_commands(),
        *_of_models(),
        *_of_profiles(),
        *_of_forms(),
        *_of_interface(),
    ):
        places.setdefault(text, set()).add(place)
    if faults:
        raise NoLiteralError("\n".join(faults))
    file = polib.POFile(wrapwidth=98)
    file.metadata = {
        "Project-Id-Version": "woold",
        "MIME-Version": "1.0",
        "Content-Type": "text/plain; charset=UTF-8",
        "Content-Transfer-Encoding": "8bit",
    }
    for text in sorted(places):
        seen = [(place, "") for place in sorted(places[text])]
        file.append(polib.POEntry(msgid=text, occurrences=seen))
    return f"{file!s}".rstrip("\n") + "\n"


def _written(faults: list[str]) -> Iterator[tuple[str, str]]:
    """Texts in say("...") and to_say("...")."""
    for suffix, (way, folder) in WAYS.items():
        for path in sorted((ROOT / folder).rglob(f"*{suffix}")):
            if {"static", "node_modules"} & set(path.parts):
                continue
            place = str(path.relative_to(ROOT))
            try:
                yield from _in_file(path, way, SAID, place)
            except NoLiteralError as error:
                faults.append(f"{place}, {error}")


def _of_typer() -> Iterator[tuple[str, str]]:
    """Typer's own words, which `woold.cli.spoken_help` says."""
    from woold.cli.spoken_help import TYPER_MODULES

    for name in TYPER_MODULES:
        source = importlib.import_module(name).__file__
        if source:
            yield from _in_file(Path(source), python_texts, TYPER_SAYS, name)


def _in_file(
    path: Path, way: Any, keywords: Mapping[str, Any], place: str
) -> Iterator[tuple[str, str]]:
    # Babel warns of say("") in scripts, which says nothing.
    with contextlib.redirect_stderr(io.StringIO()):
        messages = extract_from_file(way, path, keywords=keywords, options=_OPTIONS.get(way, {}))
    for _line, found, _comments, _context in messages:
        text = found if isinstance(found, str) else found[0]
        if text and "${" not in text:
            yield text, place


def _of_commands() -> Iterator[tuple[str, str]]:
    """What --help shows of every command."""
    import typer

    from woold.cli.main import app
    from woold.cli.spoken_help import texts_of

    def walk(command: Any, context: Any, place: str) -> Iterator[tuple[str, str]]:
        for text in texts_of(command):
            yield text, place
        for name in command.list_commands(context) if hasattr(command, "list_commands") else ():
            yield from walk(command.get_command(context, name), context, f"{place} {name}")

    root = typer.main.get_command(app)
    yield from walk(root, typer.Context(root), "woold --help")


def _of_models() -> Iterator[tuple[str, str]]:
    """What models of files know of their fields, and where placeholders came from."""
    from woold.case.fields import facts_of
    from woold.case.model import Case

    for model in _models_of_files():
        # A new case file shows it beside the table.
        if model.__doc__:
            yield model.__doc__.partition("\n")[0], f"{model.__module__}.{model.__name__}"
        for name in model.model_fields:
            facts = facts_of(model, name)
            for text in (facts.doc, facts.placeholder, model.model_fields[name].description):
                if text:
                    yield text, f"{model.__module__}.{model.__name__}"
    assert Case in _models_of_files()


def _of_profiles() -> Iterator[tuple[str, str]]:
    """What the table of accelerations says of its rules."""
    from woold.case.transport_profiles import PROFILES

    for each in PROFILES:
        for text in (each.title, each.edition, each.source, each.basis):
            yield text, "woold.case.transport_profiles"


def _models_of_files() -> Iterable[type[BaseModel]]:
    """Models of the package but the server's, which describe the interface to programs."""
    import woold

    for module in pkgutil.walk_packages(woold.__path__, "woold."):
        if "__main__" in module.name or ".migrations" in module.name:
            continue
        if module.name.split(".")[1] not in ("web", "cli", "pictures", "report"):
            importlib.import_module(module.name)
    found: list[type[BaseModel]] = []
    waiting: list[type[BaseModel]] = [BaseModel]
    while waiting:
        for each in waiting.pop().__subclasses__():
            waiting.append(each)
            if each.__module__.startswith("woold.") and ".web." not in each.__module__:
                found.append(each)
    return found


def _of_forms() -> Iterator[tuple[str, str]]:
    """Names of tables and fields of files as a form shows them."""
    from woold.web import form_fields

    ways = ("case_sections", "trial_sections", "watch_sections")
    for section in (each for way in ways for each in getattr(form_fields, way)()):
        choices = (choice.label for each in section.fields for choice in each.choices)
        for label in (section.label, *(each.label for each in section.fields), *choices):
            yield label, "woold.web.form_fields"


def _of_interface() -> Iterator[tuple[str, str]]:
    """What the page on the interface for programs says of its operations."""
    from woold.web.app import create_app
    from woold.web.settings import WebSettings

    for methods in create_app(WebSettings(store="sqlite://")).openapi()["paths"].values():
        for operation in methods.values():
            answers = (each["description"] for each in operation["responses"].values())
            told = operation.get("description") or operation.get("summary", "")
            for text in (told.partition("\n")[0], *operation.get("tags", ()), *answers):
                yield text, "woold.web"


def main() -> None:
    """Write the catalogue."""
    CATALOGUE.write_text(catalogue_text(), encoding="utf-8")
    print(f"{CATALOGUE.relative_to(ROOT)}: {len(polib.pofile(str(CATALOGUE)))} texts")


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT / "src"))
    main()
