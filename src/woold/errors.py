"""One tree of errors. Each problem names the field, what was given, what is allowed, what to do.

WooldError                    carries one or more Problem; exit status 2
├── InputError                something typed, or in a file, cannot be used
│   ├── UnitError             a quantity's text cannot be read as the kind that is asked for
│   └── ConflictError         it contradicts what is already on record
├── StoreError                the store cannot keep or give anything at the moment
└── PhysicsError              values that are each allowed but cannot happen together
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Self, TypeVar, cast

from woold.words import say

__all__ = [
    "ConflictError",
    "InputError",
    "ManyCells",
    "ManyQuestions",
    "OnRecord",
    "PhysicsError",
    "Problem",
    "Question",
    "StoreError",
    "UnitError",
    "WooldError",
    "errors_in",
    "fields_renamed",
    "missing_extra",
    "names_its_file",
]

_LONGEST_ECHO = 80
_LONGEST_PLACE = 200

Reading = TypeVar("Reading", bound=Callable[..., Any])


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong.

    Args:
        field: dotted name of the field, as in the case file: ``film.thickness``.
        given: what was found there, as text.
        allowed: what may stand there.
        todo: what to do about it, as a sentence.
        file: that it stands in; "" where there is none, or where the field says it.
    """

    field: str
    given: str
    allowed: str
    todo: str = ""
    file: str = ""

    def __str__(self) -> str:
        text = say(
            "{field}: {given}; allowed: {allowed}.",
            field=self.place,
            given=self.shortly,
            allowed=self.allowed,
        )
        return f"{text} {self.todo}" if self.todo else text

    @property
    def place(self) -> str:
        """The field, behind its file."""
        cut = len(self.field) > _LONGEST_PLACE
        field = self.field[: _LONGEST_PLACE - 1] + "…" if cut else self.field
        return _visible(f"{self.file}, {field}" if self.file else field)

    @property
    def shortly(self) -> str:
        """What was found, cut where it is long."""
        cut = len(self.given) > _LONGEST_ECHO
        return _visible(self.given[: _LONGEST_ECHO - 1] + "…" if cut else self.given)


def _visible(text: str) -> str:
    """The text, with what would steer a terminal written out."""
    return "".join(
        each if each.isprintable() or each == "\n" else repr(each)[1:-1] for each in text
    )


@dataclass(frozen=True, slots=True)
class Question(Problem):
    """Something that can hardly be; whoever typed it may confirm it. `allowed` is what is usual."""

    def __str__(self) -> str:
        text = say(
            "{field}: {given}; usual: {allowed}.",
            field=self.place,
            given=self.shortly,
            allowed=self.allowed,
        )
        text = f"{text} {self.todo}" if self.todo else text
        return text + " " + say("If it is right, add --as-typed '{field}'.", field=self.field)


@dataclass(frozen=True, slots=True)
class ManyCells(Problem):
    """What is wrong with many cells for one cause, which comes first; the cells stand in `field`.

    Args:
        count: of the cells.
    """

    count: int = 1

    def __str__(self) -> str:
        text = say("{given}; allowed: {allowed}.", given=self.given, allowed=self.allowed)
        return _with_cells(f"{text} {self.todo}".strip(), self.field, self.count)


@dataclass(frozen=True, slots=True)
class ManyQuestions(Question):
    """One question about many cells; the cells stand in `field`.

    Args:
        count: of the cells.
    """

    count: int = 1

    def __str__(self) -> str:
        text = say("{given}; usual: {allowed}.", given=self.given, allowed=self.allowed)
        text = _with_cells(f"{text} {self.todo}".strip(), self.field, self.count)
        return f"{text} " + say("If it is right, add --as-typed '{field}'.", field=self.field)


def _with_cells(text: str, cells: str, count: int) -> str:
    return f"{text} " + say("Cells ({count}): {cells}.", count=count, cells=cells)


@dataclass(frozen=True, slots=True)
class OnRecord(Problem):
    """Something that differs from the record, which only a reason can correct."""

    def __str__(self) -> str:
        return Problem.__str__(self) + " " + say("To correct the record, import with --reason.")


class WooldError(Exception):
    """Base of every error that woold raises on purpose."""

    def __init__(self, *problems: Problem) -> None:
        super().__init__(*problems)
        self.problems: tuple[Problem, ...] = problems

    @classmethod
    def one(cls, field: str, given: object, allowed: str, todo: str = "") -> Self:
        """The error with a single problem."""
        return cls(Problem(field, str(given), allowed, todo))

    @classmethod
    def many(cls, problems: Iterable[Problem]) -> Self:
        """The error with all of the problems, so that they can be mended in one go."""
        return cls(*problems)

    def __str__(self) -> str:
        return "\n".join(str(problem) for problem in self.problems)


class InputError(WooldError):
    """Something typed, or in a file, cannot be used."""


class UnitError(InputError):
    """A quantity's text cannot be read as the kind of quantity that is asked for."""


class ConflictError(InputError):
    """It contradicts what is already on record."""


class StoreError(WooldError):
    """The store cannot keep or give anything at the moment; what was not kept is told."""


class PhysicsError(WooldError):
    """Values that are each allowed but cannot happen together."""


@contextmanager
def fields_renamed(names: Mapping[str, str]) -> Iterator[None]:
    """Errors raised inside name the case's fields instead of a function's parameters.

    Args:
        names: the name to show for a problem's field; others stay as they are.
    """
    try:
        yield
    except WooldError as error:
        problems = (
            replace(each, field=names.get(each.field, each.field)) for each in error.problems
        )
        raise type(error).many(problems) from None


@contextmanager
def errors_in(file: Path | str) -> Iterator[None]:
    """Errors raised inside name the file that they stand in, where their field does not.

    Args:
        file: its name, as it was given.
    """
    try:
        yield
    except WooldError as error:
        name = Path(file).name
        problems = (
            each if each.file or name in each.field else replace(each, file=str(file))
            for each in error.problems
        )
        raise type(error).many(problems) from None


def names_its_file(read: Reading) -> Reading:
    """A reader of a file, whose name is its first argument, all of whose errors name that file."""

    @functools.wraps(read)
    def reading(path: Path | str, *args: Any, **settings: Any) -> Any:
        with errors_in(path):
            return read(path, *args, **settings)

    return cast(Reading, reading)


PACKAGES_OF_EXTRAS = {
    "records": ("PIL", "alembic", "olefile", "python_calamine", "sqlalchemy", "xlsxwriter"),
    "report": ("jinja2", "markupsafe", "matplotlib", "typst"),
    "server": ("argon2", "fastapi", "prometheus_client", "starlette", "uvicorn"),
    "watch": ("polars", "ruptures"),
    "fleet": ("duckdb", "ibis", "pyarrow"),
    "postgresql": ("psycopg",),
    "video": ("cv2",),
}
"""Packages that a plain installation leaves out, by the extra that brings them."""


def missing_extra(error: ModuleNotFoundError) -> InputError | None:
    """What to install, where a package of an extra is missing; None where it is another module."""
    package = (error.name or "").partition(".")[0]
    for extra, packages in PACKAGES_OF_EXTRAS.items():
        if package in packages:
            return InputError.one(
                package,
                say("not installed"),
                say("woold with its extra {extra}", extra=f'"{extra}"'),
                say("Install it with: {command}", command=f"pip install 'woold[{extra}]'"),
            )
    return None
