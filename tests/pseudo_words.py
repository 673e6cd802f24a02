"""A pseudo-language, and a search for English words that are left when the program speaks it.

Every letter of the catalogue is replaced by a letter of another script, outside of {placeholders}.
What is still written in Latin letters was not said through `woold.words.say`, or is no word of the
program: the user's text, numbers and units, names of fields, files and options, codes.

    python tests/pseudo_words.py                  # every area: commands, help, pages
    python tests/pseudo_words.py predict          # the demo's steps of `woold predict`
    python tests/pseudo_words.py json predict     # the same as documents
    python tests/pseudo_words.py trial analyse    # of `woold trial analyse`
    python tests/pseudo_words.py help trial       # --help of `woold trial` and of its commands
    python tests/pseudo_words.py page /carriage   # one page of the server
"""

from __future__ import annotations

import contextlib
import contextvars
import csv
import dataclasses
import functools
import html.parser
import importlib
import inspect
import io
import itertools
import json
import os
import pkgutil
import re
import sys
import tempfile
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Literal, NamedTuple, get_args, get_origin, get_type_hints

import polib

from dear_results import dear_results_once

TAG = "qps"
"""Of the pseudo-language; from the codes that ISO 639-2 leaves to private use."""

CATALOGUE = Path(__file__).parents[1] / "src/woold/words/woold.pot"

_LATIN = "abcdefghijklmnopqrstuvwxyz"
_CYRILLIC = "абцдефгхийклмнопярстувшжыз"
_LETTERS = str.maketrans(_LATIN + _LATIN.upper(), _CYRILLIC + _CYRILLIC.upper())
_PLACE = re.compile(r"(\{[^{}]*\})")

NAMES = frozenset(
    [
        "woold",
        "release",  # a question of `woold report line-plan`
        "TOML",
        "JSON",
        "CSV",
        "HTML",
        "PDF",
        "SVG",
        "PNG",
        "SQLite",
        "Parquet",
        "XLSX",
        "URL",
        "API",
        "ISO",
        "ASTM",
        "HTTP",
        "HTTPS",
        "IP",
        "Python",
        "SHA",
        "matplotlib",
        "numpy",
        "scipy",
        "typst",
        "Coulomb",
        "Gent",
        "Wilson",
        "Welch",
        "Hartung",
        "Knapp",
        "DerSimonian",
        "Laird",
        "Student",
        "REML",
        "Higgins",
        "Thompson",
        "Spiegelhalter",
        "Poisson",
        "Newton",
        "Euler",
    ]
)
"""Names and acronyms that are the same in every language. Add those of citations and standards."""

UNITS = frozenset(
    [
        "gauge",
        "mil",
        "lbf",
        "kgf",
        "rpm",
        "deg",
        "degC",
        "degF",
        "percent",
        "USD",
        "EUR",
        "GBP",
        "psi",
        "MPa",
        "kPa",
        "GPa",
        "day",
        "min",
        "mm²",
        "mm",
        "cm",
        "oz",
        "lb",
        "ft",
        "in",
        "kg",
        "rad",
        "kWh",
    ]
)

_SETTING = re.compile(r"\b\w+ = (?:\"[^\"]*\"|\[.*?\]|\{.*?\}|[\w.]+)")
"""`name = value` in a file of settings."""
_NO_WORDS = (
    re.compile(r"https?://\S+"),
    re.compile(r"--(?:units|paper|language) \w+"),
    re.compile(r"(?:[\w*-]+(?:\[\w*\])?[./\\])+[\w*-]+(?:\[\w*\])?"),  # dotted fields, files
    re.compile(r"(?<!\w)--?[a-z][\w-]*"),  # options
    re.compile(r"\w*\[[\w.]*\]"),  # [film], rollers[0]
    re.compile(r"\b\w+_\w+\b"),  # fields, settings
    re.compile(r"<[^<>]+>"),  # <str>, <trade|si|both>
    re.compile(r"\w+(?:\|\w+)+"),  # choices
    re.compile(r"\bWOOLD\w*"),
    re.compile(r"`[^`]*`"),  # code
    re.compile(r"\{\w+\}"),  # places of values in a text that is filled in later
    re.compile(r"\b[0-9a-f]{12,}\b"),  # digests
    _SETTING,
    re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d\S*(?: UTC)?"),
)
_DEFAULT = re.compile(r"(\[[^\]\[]*?: )[^\];]+")
_WORD = re.compile(r"[A-Za-z]{3,}")


def pseudo(text: str) -> str:
    """The text in the pseudo-language."""
    parts = _PLACE.split(text)
    return "".join(
        each if index % 2 else each.translate(_LETTERS) for index, each in enumerate(parts)
    )


_COLUMN = re.compile(rf"(?<=, {pseudo('column')} )\w+")
"""A column of somebody's table is called what they called it."""


def write_pseudo_language(folder: Path) -> None:
    """A catalogue of the pseudo-language in a folder, for WOOLD_WORDS."""
    file = polib.pofile(str(CATALOGUE))
    for entry in file:
        entry.msgstr = pseudo(entry.msgid)
    folder.mkdir(parents=True, exist_ok=True)
    file.save(str(folder / f"{TAG}.po"))


@dataclass
class Texts:
    """What the user wrote: words that are shown as they are."""

    phrases: set[str] = field(default_factory=set)
    _by_word: dict[str, list[str]] = field(default_factory=dict)
    _sorted: int = 0

    def add(self, thing: Any, key: str = "") -> None:
        """Every text in nested tables and lists; a single word may be a code, but for names."""
        if isinstance(thing, str):
            lines = (line.strip() for line in thing.splitlines())
            is_name = key in ("name", "names", "key", "shifts")
            self.phrases.update(
                line for line in lines if is_name or not line.islower() or " " in line
            )
        elif isinstance(thing, dict):
            for name, each in thing.items():
                self.add(each, name)
        elif isinstance(thing, list | tuple):
            for each in thing:
                self.add(each, key)

    def removed_from(self, text: str) -> str:
        """The text without what the user wrote."""
        if self._sorted != len(self.phrases):  # they only ever grow in number
            self._by_word, self._sorted = {}, len(self.phrases)
            for phrase in self.phrases:
                if word := _WORD.search(phrase):
                    self._by_word.setdefault(word[0], []).append(phrase)
        # Of thousands, those that a text may hold: their first word is one of its own.
        words = set(_WORD.findall(text))
        near = (phrase for word in words for phrase in self._by_word.get(word, ()))
        for phrase in sorted(near, key=len, reverse=True):
            if phrase in text:
                text = re.sub(rf"(?<!\w){re.escape(phrase)}(?!\w)", " ", text)
        return text


@functools.cache
def _commands_named() -> re.Pattern[str]:
    """`woold trial plan` in a sentence."""
    named = sorted((" ".join(words) for words in commands() if words), reverse=True)
    return re.compile(rf"\bwoold (?:{'|'.join(named)})\b")


def english_left(text: str, texts: Texts) -> list[str]:
    """Words of three and more Latin letters that are neither the user's nor codes."""
    text = re.sub(r"\s+", " ", text)
    text = _COLUMN.sub(" ", _commands_named().sub(" ", texts.removed_from(text)))
    for pattern in _NO_WORDS:
        text = pattern.sub(" ", text)
    text = _DEFAULT.sub(r"\1", text)
    known = NAMES | UNITS
    return [word for word in _WORD.findall(text) if word not in known]


class _Page(html.parser.HTMLParser):
    """What a reader can read of a page, pictures included."""

    SILENT = ("script", "style", "metadata", "code", "kbd", "samp")
    SAID = ("title", "alt", "aria-label", "placeholder", "aria-description", "summary", "label")

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []
        self.silent = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.silent += tag in self.SILENT
        said = dict(attrs)
        if tag == "meta" and said.get("name") == "description":
            self.texts.append(said.get("content") or "")
        if tag == "input" and said.get("type") in ("submit", "button", "reset"):
            self.texts.append(said.get("value") or "")
        self.texts.extend(said[name] or "" for name in self.SAID if name in said)

    def handle_endtag(self, tag: str) -> None:
        self.silent -= tag in self.SILENT

    def handle_data(self, data: str) -> None:
        if not self.silent:
            self.texts.append(data)


def page_texts(page: str) -> list[str]:
    """What a reader can read of an HTML page or an SVG picture."""
    reader = _Page()
    reader.feed(page)
    return reader.texts


_CODES = frozenset(
    [
        *("slow roller", "fast roller", "bottom wraps", "top wraps", "closing wraps"),
        *("delivered pre-stretch", "today's film", "film stress", "ranked first for the force"),
        *("part x appraiser", "pooled repeatability"),
        *("film mass", "stretch by marks", "film width", "pull reading", "force kept"),
        *("cycle time", "film force by the dancer", "film of a roll, mass by length"),
        "rise per turn",
    ]
)
"""Codes of documents that are written in several words and have no type of their own."""


@functools.cache
def json_codes() -> frozenset[str]:
    """Codes that a document may hold: the words of its models' types, and the few others."""
    return _CODES | {word for model in json_models().values() for word in _choices(model, set())}


def json_models() -> dict[str, type]:
    """The model of every document that a command prints, by its name."""
    from woold.rows.document import JsonDocument

    for name in ("documents", "trial_documents", "main"):
        importlib.import_module(f"woold.cli.{name}")
    _citations()  # loads every module

    def walk(kind: type) -> Iterator[type]:
        for each in kind.__subclasses__():
            yield each
            yield from walk(each)

    # A subclass stands for its base: it is what the command prints.
    return {each.told_as: each for each in walk(JsonDocument) if each.told_as}  # type: ignore[attr-defined]


def _choices(hint: Any, seen: set[Any]) -> Iterator[str]:
    """Words of the literal types within a type."""
    if get_origin(hint) is Literal:
        yield from (each for each in get_args(hint) if isinstance(each, str))
    elif dataclasses.is_dataclass(hint) and hint not in seen:
        seen.add(hint)
        for inner in get_type_hints(hint).values():
            yield from _choices(inner, seen)
    else:
        for inner in get_args(hint):
            yield from _choices(inner, seen)


def _sentences(thing: Any) -> Iterator[str]:
    """Texts of a JSON document that are for people: those of more than one word."""
    if isinstance(thing, dict):
        for each in thing.values():
            yield from _sentences(each)
    elif isinstance(thing, list):
        for each in thing:
            yield from _sentences(each)
    elif isinstance(thing, str) and " " in thing.strip() and thing not in json_codes():
        yield thing


def file_texts(path: Path) -> list[str]:
    """What a reader can read in a file that a command wrote."""
    suffix = path.suffix.lower()
    if suffix in (".html", ".svg"):
        return page_texts(path.read_text(encoding="utf-8"))
    if suffix == ".toml":  # what a starter file says of its fields
        lines = path.read_text(encoding="utf-8").splitlines()
        said = [line.partition("#")[2] for line in lines if re.search(r"#(?!:schema)", line)]
        return [_SETTING.sub(" ", line) for line in said]
    if suffix == ".xlsx":
        import python_calamine

        book = python_calamine.CalamineWorkbook.from_path(str(path))
        return [
            *book.sheet_names,
            *(
                str(cell)
                for name in book.sheet_names
                for row in book.get_sheet_by_name(name).to_python()
                for cell in row
            ),
        ]
    if suffix == ".pdf":
        import pypdfium2

        with contextlib.closing(pypdfium2.PdfDocument(str(path))) as document:
            return [page.get_textpage().get_text_range() for page in document]
    return []


@functools.cache
def _fields() -> re.Pattern[str]:
    """A case's field or table in front of what is said about it."""
    from woold.case.fields import field_paths
    from woold.case.model import Case

    names = {name for path in field_paths(Case) for name in path.split(".")}
    return re.compile(rf"^\s*(?:{'|'.join(sorted(names))})(?=\s\s|:)")


@functools.cache
def _tables() -> re.Pattern[str]:
    """A table of a case in front of what is said about it, or alone."""
    from woold.case.model import Case

    return re.compile(rf"^\s*(?:{'|'.join(Case.model_fields)})(?=\s\s|:|\s*$)")


@functools.cache
def _citations() -> tuple[str, ...]:
    """Sources that docstrings state: references are given as they were published."""
    import woold

    found = []
    for module in pkgutil.walk_packages(woold.__path__, "woold."):
        if module.name.split(".")[1] not in ("__main__", "web", "cli", "store"):
            loaded = importlib.import_module(module.name)
            for thing in (loaded, *vars(loaded).values()):
                text = inspect.getdoc(thing) or ""
                found += re.findall(r"^Source:\s*(.*?)(?:\n\n|\Z)", text, re.DOTALL | re.MULTILINE)
    return tuple(" ".join(text.split()) for text in found)


def _notes(path: Path) -> list[str]:
    """What somebody wrote into a filled worksheet: notes, and names of gauges."""
    import python_calamine

    book = python_calamine.CalamineWorkbook.from_path(str(path))
    notes: list[str] = []
    for name in book.sheet_names:
        column = None
        for row in book.get_sheet_by_name(name).to_python():
            cells = [str(cell).strip() for cell in row]
            if column is not None and cells[column]:
                notes.append(cells[column])
            elif heads := {"notes", "gauge"} & set(cells):
                column = cells.index(heads.pop())
    return notes


def _written_by_user(path: Path, texts: Texts) -> None:
    if path.suffix == ".toml":
        text = path.read_text(encoding="utf-8")
        texts.add(tomllib.loads(text))
        texts.add([line.partition("# ")[2] for line in text.splitlines()])
    elif path.suffix == ".csv" and path.stat().st_size < 1_000_000:
        with path.open(encoding="utf-8", newline="") as file:
            for row in itertools.islice(csv.reader(file), 1, None):  # its heads are codes
                texts.add([cell for cell in row if not re.fullmatch(r"[-+\d.eE:T ]*", cell)])
    elif path.suffix == ".xlsx":
        texts.add(_notes(path))
    elif path.suffix == ".parquet":
        import polars as pl

        texts.add(pl.read_parquet(path, columns=["machine"])["machine"].unique().to_list())


@dataclass
class Ran:
    """What one command did: its words, its status, and what was left in English."""

    line: str
    status: int
    output: str
    document: dict[str, Any] | None
    left: dict[str, list[str]]


class Done(NamedTuple):
    """What a command left behind."""

    returncode: int
    stdout: str
    stderr: str


def woold(*words: str) -> tuple[int, str]:
    """Run a command in this process, in a language context of its own: status, all output."""
    status, output, errors = captured(*words)
    return status, output + errors


def captured(*words: str) -> Done:
    """The same, with what went to standard error apart."""
    from woold.cli.main import run

    output, errors = io.StringIO(), io.StringIO()

    def call() -> int:
        try:
            run()
        except SystemExit as ending:
            return int(ending.code or 0)
        return 0

    before = sys.argv
    sys.argv = ["woold", *words]
    try:
        with contextlib.redirect_stdout(output), contextlib.redirect_stderr(errors):
            status = contextvars.copy_context().run(call)
            return Done(status, output.getvalue(), errors.getvalue())
    finally:
        sys.argv = before


@functools.cache
def _vocabulary() -> frozenset[str]:
    """Words of five and more letters in the catalogue."""
    texts = " ".join(entry.msgid for entry in polib.pofile(str(CATALOGUE)))
    return frozenset(word.lower() for word in _WORD.findall(texts) if len(word) > 4)


_FIELD_TABLES = (("case", "check"), ("film", "fit"), ("shelf", "show"), ("shelf", "since"))
"""Commands that show a table of a case's fields."""
_ROLES = re.compile(r"\b(?:view|record|manage)\b")
"""Roles are typed, so they are codes."""


_PICTURES = ("--plot", "--page", "--still")
"""Options that draw beside the document; they are read where the command speaks to people.

A design's picture asks for its front as well, which its document then holds.
"""


def _as_json(arguments: tuple[str, ...]) -> tuple[str, ...]:
    places = range(len(arguments))
    drawn = {each for at in places if arguments[at] in _PICTURES for each in (at, at + 1)}
    drawn = set() if arguments[0] == "design" else drawn
    kept = tuple(arguments[at] for at in places if at not in drawn)
    return kept if "--json" in kept else (*kept, "--json")


class PseudoDemo:
    """The demo's steps in the pseudo-language, each run once, after those that it builds on."""

    BUILT_ON = ("plan", "import", "correct", "photo", "set", "backup", "keep")

    def __init__(self, folder: Path, *, as_json: bool = False) -> None:
        from woold.demo.scenario import NOTICE, STEPS, TRIAL, write_scenario

        self.folder = folder
        self.steps = tuple(
            replace(each, arguments=_as_json(each.arguments)) if as_json else each for each in STEPS
        )
        self.ran: dict[int, Ran] = {}
        self.texts = Texts({NOTICE, TRIAL, "technician", *_citations()})
        words = folder / "words"
        write_pseudo_language(words)
        os.environ["WOOLD_WORDS"] = str(words)
        os.environ["COLUMNS"] = "250"
        write_scenario(folder)
        for path in (*folder.iterdir(), *folder.glob("fleet/*.parquet")):
            _written_by_user(path, self.texts)
        for step in self.steps:
            self.texts.add([each for each in step.arguments if each not in step.arguments[:2]])

    def step(self, index: int) -> Ran:
        """What step `index` left in English."""
        step = self.steps[index]
        if "--store" in step.arguments:
            for earlier, other in enumerate(self.steps[:index]):
                writes = other.arguments[0] in ("trial", "account", "shelf", "store")
                if writes and other.arguments[1] in self.BUILT_ON:
                    self._run(earlier)
        return self._run(index)

    def _run(self, index: int) -> Ran:
        if index in self.ran:
            return self.ran[index]
        arguments = self.steps[index].arguments
        before = {path: path.stat().st_mtime_ns for path in self.folder.iterdir()}
        here = Path.cwd()
        os.chdir(self.folder)
        try:
            with dear_results_once():
                status, output, errors = captured("--language", TAG, *arguments)
        finally:
            os.chdir(here)
        readable, document = [output, errors], None
        if "--json" in arguments:
            document = json.loads(output)
            readable = [*_sentences(document), errors]
        read = {"output": readable}
        for path in sorted(self.folder.iterdir()):
            if path.is_file() and before.get(path) != path.stat().st_mtime_ns:
                read[path.name] = file_texts(path)
        named = _fields() if arguments[:2] in _FIELD_TABLES else _tables()
        named = _ROLES if arguments[0] == "account" else named
        left = {
            name: self._left_on_paper(each) if name.endswith(".pdf") else self._left(each, named)
            for name, each in read.items()
        }
        ran = Ran(
            f"woold {' '.join(arguments)}",
            status,
            output + errors,
            document,
            {name: words for name, words in left.items() if words},
        )
        self.ran[index] = ran
        return ran

    def _left_on_paper(self, texts: list[str]) -> list[str]:
        """Words of the catalogue that are no words of the user's.

        Paper says what the page says; lines break anywhere in it, also in names of fields.
        """
        theirs = set(_WORD.findall(" ".join((*self.texts.phrases, _fields().pattern))))
        ours = _vocabulary() - {word.lower() for word in theirs | NAMES | UNITS}
        text = " ".join(texts)
        text = re.sub(r"--\s*language", " ", text)
        for pattern in (_commands_named(), *_NO_WORDS):
            text = pattern.sub(" ", text)
        words = (word for word in _WORD.findall(text) if word.lower() in ours)
        return list(dict.fromkeys(word for word in words if word not in _fields().pattern))

    def _left(self, texts: list[str], named: re.Pattern[str]) -> list[str]:
        lines = (named.sub("", line) for text in texts for line in text.splitlines())
        found = (word for each in lines for word in english_left(each, self.texts))
        return list(dict.fromkeys(found))


@functools.cache
def commands() -> tuple[tuple[str, ...], ...]:
    """Words of every command and group, () being woold itself."""
    import typer

    from woold.cli.main import app

    def walk(command: Any, context: Any, words: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
        yield words
        for name in command.list_commands(context) if hasattr(command, "list_commands") else ():
            yield from walk(command.get_command(context, name), context, (*words, name))

    root = typer.main.get_command(app)
    return tuple(walk(root, typer.Context(root), ()))


def help_left(words: tuple[str, ...]) -> list[str]:
    """English that is left in a command's --help."""
    _status, output = woold("--language", TAG, *words, "--help")
    every = {name for path in commands() for name in path}
    lines = []
    for line in output.splitlines():
        first, _, rest = line.strip().partition(" ")
        lines.append(rest if first in every else line)
    return list(dict.fromkeys(english_left(" ".join(lines), Texts({"python -m"}))))


def pages() -> list[str]:
    """Addresses of every page of the server; {key} is a trial's."""
    from woold.web.pages import PAGES

    return [*PAGES, "/sign-in", "/docs"]


def page_left(address: str) -> list[str]:
    """English that is left in a page of the server, its scripts' texts aside."""
    from fastapi.testclient import TestClient

    from woold.demo.scenario import TRIAL
    from woold.web.app import create_app
    from woold.web.settings import WebSettings

    with tempfile.TemporaryDirectory() as folder:
        settings = WebSettings(store=str(Path(folder) / "store.sqlite"), user="AB")
        client = TestClient(
            create_app(settings),
            base_url="http://localhost",
            headers={"accept-language": TAG, "cookie": f"language={TAG}"},
        )
        answer = client.get(address.replace("{key}", TRIAL))
    texts = Texts({"AB", TRIAL})
    found = (word for each in page_texts(answer.text) for word in english_left(each, texts))
    return list(dict.fromkeys(found))


def _report(asked: list[str]) -> int:
    is_json = asked[:1] == ["json"]
    asked = asked[1:] if is_json else asked
    is_help, is_page = asked[:1] == ["help"], asked[:1] == ["page"]
    count = 0

    def show(name: str, left: list[str]) -> None:
        nonlocal count
        count += len(left)
        print(f"{name}: {len(left)}" + (f"\n    {' '.join(left)}" if left else ""), flush=True)

    with tempfile.TemporaryDirectory() as folder:
        demo = PseudoDemo(Path(folder), as_json=is_json)
        if not is_help and not is_page:
            for index, step in enumerate(demo.steps):
                if list(step.arguments[: len(asked)]) == asked:
                    ran = demo.step(index)
                    show(ran.line, [])
                    if ran.status != step.exit_status:
                        print(f"  ended with {ran.status}: {ran.output[-600:]}")
                        count += 1
                    for name, left in ran.left.items():
                        show(f"  {name}", left)
        if is_help or not asked:
            for words in commands():
                if list(words[: len(asked) - 1]) == asked[1:]:
                    show(f"woold {' '.join(words)} --help", help_left(words))
        if is_page or not asked:
            for address in pages():
                if asked[1:] in ([], [address]):
                    show(f"page {address}", page_left(address))
    print(f"{count} left")
    return 1 if count else 0


if __name__ == "__main__":
    sys.exit(_report(sys.argv[1:]))
