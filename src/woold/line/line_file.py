"""The line file: machine models, carriages to choose from, films and recipes, on the things.

Nobody types which film runs on which machine or which carriage fits it: that is what is asked.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

from pydantic import Field, model_validator

from woold.case.fields import Section, plain, quantity
from woold.case.shelf import Shelf, read_shelf, things_from_table
from woold.case.toml_text import read_toml
from woold.errors import InputError, names_its_file
from woold.line.envelope import Envelope
from woold.line.free_checks import free_carriages
from woold.line.things import LineThings, gathered_things
from woold.words import say

__all__ = ["CatalogueSource", "CornerTension", "Line", "LineFile", "line_from_table", "read_line"]


class CatalogueSource(Section):
    """The catalogue of loads: a table of its own, or the [[loads]] of line and shelf."""

    file: str = plain("CSV or Parquet file of loads, beside this one", "", max_length=400)
    refuse_above: float = quantity(
        "fraction",
        "share of its rows that cannot be used, above which all of it is refused",
        "5 %",
        ge=0,
        lt=1,
        usual=("0 %", "20 %"),
    )
    as_typed: tuple[str, ...] = plain(
        "columns that were asked about, since they are not usual, and are right",
        (),
        example='["height"]',
        max_length=50,
    )


class CornerTension(Section):
    """Film tension in a turn, as a share of the force to load."""

    lowest: float = quantity(
        "fraction",
        "lowest in a turn, over the force to load",
        "80 %",
        span=("60 %", "95 %"),
        placeholder="estimate; woold dancer simulate says it for one machine and load",
        gt=0,
        le=1,
        usual=("30 %", "100 %"),
    )
    highest: float = quantity(
        "fraction",
        "highest in a turn, over the force to load",
        "120 %",
        span=("105 %", "150 %"),
        placeholder="estimate; woold dancer simulate says it for one machine and load",
        ge=1,
        le=5,
        usual=("100 %", "200 %"),
    )


class Line(Shelf):
    """Machine models, carriages to choose from, films, loads and recipes of a line."""

    title: str = plain("one line", "", example='"Invented plant, hall 2"', max_length=200)
    shelf: str = plain("file of a shelf whose things belong to the line too", "", max_length=400)
    candidates: tuple[str, ...] = plain(
        "carriages to choose from; all of them if left out",
        (),
        example='["@short gap"]',
        max_length=200,
    )
    catalogue: CatalogueSource = Field(default_factory=CatalogueSource)
    corner_tension: CornerTension = Field(default_factory=CornerTension)
    envelopes: tuple[Envelope, ...] = plain(
        "carriages some of whose dimensions are free", (), max_length=5
    )

    @model_validator(mode="after")
    def _something(self) -> Line:
        """Its shelf may hold all of its things."""
        return self


class LineFile:
    """A line that was read: what its file says, its things, and where it stands.

    Args:
        line: what the file says.
        things: its own and its shelf's, each in its latest version.
        folder: that its catalogue's name is relative to.
    """

    def __init__(self, line: Line, things: LineThings, folder: Path) -> None:
        self.line, self.things, self.folder = line, things, folder

    @property
    def catalogue_path(self) -> Path | None:
        """The catalogue's file; None where the line's own loads are it."""
        name = self.line.catalogue.file
        return self.folder / name if name else None


@names_its_file
def read_line(
    path: Path | str, as_typed: Collection[str] = (), beside: Shelf | None = None
) -> LineFile:
    """The line in a TOML file.

    Args:
        path: the file; its shelf and its catalogue are relative to it.
        as_typed: fields that were asked about and are right, beside those that the file names.
        beside: a shelf, such as the store's, whose things belong to the line too.

    Raises:
        InputError: one problem for each field that cannot be used, or else one question for each
            that can hardly be; a thing that stands twice, or that nothing here has; nothing to ask.
    """
    table = read_toml(path, "woold line new")
    folder = Path(path).parent
    named = table.get("shelf")
    if isinstance(named, str) and named:
        if beside is not None:
            raise InputError.one(
                "shelf", repr(named), say("one shelf: a file's or the store's"),
                say("Take the line out, or leave the option out."),
            )  # fmt: skip
        beside = read_shelf(folder / named)
    return line_from_table(table, folder, as_typed, beside)


def line_from_table(
    table: Mapping[str, Any],
    folder: Path,
    as_typed: Collection[str] = (),
    beside: Shelf | None = None,
) -> LineFile:
    """The line in a file's tables.

    Args:
        table: nested tables, quantities as text.
        folder: that its catalogue's name is relative to.
        as_typed, beside: see :func:`read_line`.

    Raises:
        InputError: see :func:`read_line`.
    """
    line = things_from_table(Line, table, as_typed, beside)
    things = gathered_things(line, beside, line.candidates)
    free_carriages(things, line.envelopes)
    if not line.catalogue.file and not things.loads:
        raise InputError.one(
            "catalogue.file", say("nothing, and no [[loads]]"),
            say("a table of loads, or loads in this file or on its shelf"),
            say("Name the table: file = \"loads.csv\" below [catalogue]."),
        )  # fmt: skip
    return LineFile(line, things, folder)
