"""Blocks of plain text that a result is told in: terminal, page, paper and browser lay them out.

Every text in a block is data: no renderer reads markup in it. Numbers are text already, in the
reader's language and units, so that every surface says the same.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, fields, is_dataclass, replace
from datetime import datetime
from typing import Any, Literal, NamedTuple, get_args

__all__ = [
    "TO_WRITE",
    "Block",
    "Bullets",
    "Cautions",
    "Facts",
    "Figure",
    "Heading",
    "Note",
    "Paragraph",
    "Row",
    "SideBySide",
    "Table",
    "block_texts",
    "to_data",
    "with_texts",
]


TO_WRITE = "\N{NO-BREAK SPACE}" * 24
"""A cell that somebody writes in: paper and page draw a box, 9 mm high."""


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading of level 2 (a section) or 3 (a part of one)."""

    text: str
    level: Literal[2, 3] = 2


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A paragraph; the one that answers the report's question is strong."""

    text: str
    is_strong: bool = False


@dataclass(frozen=True, slots=True)
class Bullets:
    """A list of short texts."""

    items: tuple[str, ...]


class Row(NamedTuple):
    """One fact of a result.

    Args:
        label: what it is.
        value: the number with its unit, or words.
        range: how far it may be off, with its unit; "" where nothing is said of it.
        note: what to know of it.
    """

    label: str
    value: str
    range: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Facts:
    """Rows under a caption."""

    caption: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A table; every column but the named ones is set to the right.

    Args:
        caption: what it shows.
        columns: heads.
        rows: cells, as many in a row as there are columns.
        words: indexes of columns that hold words and are set to the left.
        is_small: small type, for long lists.
        names: indexes of columns that hold names as they stand in a file: quiet, and as they are.
    """

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    words: tuple[int, ...] = (0,)
    is_small: bool = False
    names: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        if any(len(row) != len(self.columns) for row in self.rows):
            raise ValueError(f"a row of another length than the columns of {self.caption!r}")


@dataclass(frozen=True, slots=True)
class Figure:
    """A picture.

    Args:
        svg: a whole SVG element without scripts or links (see `woold.report.svg`).
        caption: what it shows.
        alt: the same for people who cannot see it, with what can be read off it.
        width: share of the text's width.
    """

    svg: str
    caption: str
    alt: str
    width: float = 1.0


@dataclass(frozen=True, slots=True)
class Note:
    """A finding: a sentence, and the field or record that it is about."""

    about: str
    text: str


@dataclass(frozen=True, slots=True)
class Cautions:
    """What to take care of, under a heading of its own."""

    heading: str
    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SideBySide:
    """Blocks side by side, as on a one-page sheet."""

    left: tuple[Block, ...]
    right: tuple[Block, ...]


Block = Heading | Paragraph | Bullets | Facts | Table | Figure | Note | Cautions | SideBySide


def to_data(thing: Any) -> Any:
    """A report or block as plain dicts, lists and text, each block with its kind."""
    if isinstance(thing, Row):
        return thing._asdict()
    if isinstance(thing, tuple | list):
        return [to_data(each) for each in thing]
    if isinstance(thing, datetime):
        return thing.isoformat()
    if is_dataclass(thing) and not isinstance(thing, type):
        data = {each.name: to_data(getattr(thing, each.name)) for each in fields(thing)}
        if isinstance(thing, get_args(Block)):
            data["block"] = re.sub(r"(?<=[a-z])(?=[A-Z])", "-", type(thing).__name__).lower()
        return data
    return thing


def block_texts(thing: Any) -> list[str]:
    """Every text of a report or block but its pictures, in order: what a reader can read."""
    if isinstance(thing, str):
        return [thing]
    if isinstance(thing, tuple | list):
        return [text for each in thing for text in block_texts(each)]
    if is_dataclass(thing) and not isinstance(thing, type):
        names = (each.name for each in fields(thing) if each.name != "svg")
        return [text for name in names for text in block_texts(getattr(thing, name))]
    return []


def with_texts(block: Block, change: Callable[[str], str]) -> Block:
    """A block of which every text that a reader reads is changed.

    Args:
        block: the block.
        change: makes the new text; it is not asked of drawings, nor of names as they stand in a
            file.
    """

    def of(thing: Any) -> Any:
        if isinstance(thing, str):
            return change(thing)
        if isinstance(thing, Row):
            return Row(*map(change, thing))
        if isinstance(thing, tuple):
            return tuple(of(each) for each in thing)
        return with_texts(thing, change) if isinstance(thing, get_args(Block)) else thing

    if isinstance(block, Table):
        kept = block.names
        rows = tuple(
            tuple(text if at in kept else change(text) for at, text in enumerate(row))
            for row in block.rows
        )
        return replace(block, caption=change(block.caption), columns=of(block.columns), rows=rows)
    names = (each.name for each in fields(block) if each.name != "svg")
    return replace(block, **{name: of(getattr(block, name)) for name in names})
