"""Rows and blocks of a result as they are sent to a page: their text is all that it shows."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter

from woold.rows.blocks import Block, Heading, to_data

__all__ = ["BlockData", "sent", "untitled"]


class _Data(BaseModel):
    model_config = ConfigDict(extra="forbid")


class RowData(_Data):
    """One fact: what it is, its value, how far it may be off, what to know of it."""

    label: str
    value: str
    range: str
    note: str


class HeadingData(_Data):
    """A heading of level 2 or 3."""

    block: Literal["heading"]
    text: str
    level: Literal[2, 3]


class ParagraphData(_Data):
    """A paragraph; the one that answers the question is strong."""

    block: Literal["paragraph"]
    text: str
    is_strong: bool


class BulletsData(_Data):
    """A list of short texts."""

    block: Literal["bullets"]
    items: list[str]


class FactsData(_Data):
    """Rows under a caption."""

    block: Literal["facts"]
    caption: str
    rows: list[RowData]


class TableData(_Data):
    """A table; `words` are the indexes of columns that hold words, `names` of those that hold names
    as they stand in a file."""

    block: Literal["table"]
    caption: str
    columns: list[str]
    rows: list[list[str]]
    words: list[int]
    is_small: bool
    names: list[int]


class FigureData(_Data):
    """A picture as SVG, with what can be read off it."""

    block: Literal["figure"]
    svg: str
    caption: str
    alt: str
    width: float


class NoteData(_Data):
    """A finding: a sentence, and the field that it is about."""

    block: Literal["note"]
    about: str
    text: str


class CautionsData(_Data):
    """What to take care of."""

    block: Literal["cautions"]
    heading: str
    items: list[str]


class SideBySideData(_Data):
    """Blocks side by side."""

    block: Literal["side-by-side"]
    left: list[BlockData]
    right: list[BlockData]


BlockData = Annotated[
    HeadingData
    | ParagraphData
    | BulletsData
    | FactsData
    | TableData
    | FigureData
    | NoteData
    | CautionsData
    | SideBySideData,
    Field(discriminator="block"),
]

SideBySideData.model_rebuild()
_BLOCKS: TypeAdapter[list[Any]] = TypeAdapter(list[BlockData])


def sent(blocks: Iterable[Block]) -> list[Any]:
    """Blocks as they are sent."""
    return _BLOCKS.validate_python(to_data(list(blocks)))


def untitled(blocks: Iterable[Block]) -> list[Any]:
    """The same without a title at their head, where the page has one of its own."""
    head, *rest = blocks
    return sent(rest if isinstance(head, Heading) else [head, *rest])
