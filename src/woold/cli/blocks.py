"""Blocks on a terminal: what a page lays out, in the width of a screen."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from typing import Any

from rich.console import Console
from rich.containers import Lines
from rich.padding import Padding
from rich.table import Table as Grid
from rich.text import Text

from woold.cli.output import print_rows
from woold.rows.blocks import (
    Block,
    Bullets,
    Cautions,
    Facts,
    Figure,
    Heading,
    Note,
    Paragraph,
    SideBySide,
    Table,
)
from woold.rows.tied import in_lines

__all__ = ["print_blocks"]

_WIDEST_NAME = 34
_SAMPLE = 60
"""Rows by which the widths of a table are chosen."""
_NARROWEST_NAME, _GAP = 14, 2
"""Letters of a name that others leave room to, and between two columns."""
_LONGEST_WORD = 12
_SCREEN = 200
"""A wider one cuts no name."""


def print_blocks(out: Console, blocks: Iterable[Block]) -> None:
    """Print blocks one below the other; pictures are left out."""
    for block in blocks:
        match block:
            case Heading():
                out.print()
                out.print(Text(block.text, style="bold"))
            case Paragraph():
                told = in_lines(block.text, out.width)
                out.print(Text(told, style="bold" if block.is_strong else ""))
                out.print()
            case Bullets():
                _print_items(out, block.items)
            case Facts():
                print_rows(out, block.caption, block.rows)
            case Table():
                _print_table(out, block)
            case Note():
                told = in_lines(f"{block.about}: {block.text}", out.width - 2)
                out.print(Padding(Text(told), (0, 0, 0, 2)))
            case Cautions():
                out.print(Text(block.heading, style="bold"))
                _print_items(out, block.items)
            case SideBySide():
                print_blocks(out, (*block.left, *block.right))
            case Figure():
                pass


def _print_items(out: Console, items: Iterable[str]) -> None:
    for item in items:
        out.print(Padding(Text(in_lines(item, out.width - 2)), (0, 0, 0, 2)))
    out.print()


def _print_table(out: Console, table: Table) -> None:
    """No word is cut: names keep to a line up to a width, and break where they are longer."""
    grid = Grid(box=None, padding=(0, _GAP, 0, 0), header_style="underline")
    is_narrow = out.width < _SCREEN
    # What the other columns cannot do without, the names leave to them.
    least = [_longest_word(table, index) for index in range(1, len(table.columns))]
    others = sum(least) + _GAP * len(least)
    room = max(out.width - others - 2 * _GAP, _NARROWEST_NAME)
    widest = min(_WIDEST_NAME, out.width * 3 // 7, room)
    names = max((len(row[0]) for row in table.rows), default=0)
    if is_narrow:
        names = widest = _name_width(table, least, min(names, widest), out.width)
    widths = _widths(table, least, out.width - names - others - 2 * _GAP)
    for index in range(len(table.columns)):
        is_words = index in table.words
        grid.add_column(
            Text(_head_of(table, index)),
            justify="left" if is_words else "right",
            no_wrap=index == 0 and is_narrow,
            overflow="fold",
            width=widths[index] if index else None,
        )
    for name, *cells in table.rows:
        # Broken here: a column that keeps its width while others give way would be cut.
        lines = textwrap.wrap(name, widest) if is_narrow else [name]
        grid.add_row(Text("\n".join(lines)), *(_Tied(cell) for cell in cells))
    out.print(Text(table.caption, style="bold"))
    out.print(Padding(grid, (0, 0, 1, 2)))


def _name_width(table: Table, least: Sequence[int], most: int, width: int) -> int:
    """Width of the names at which the table has fewest lines; the widest of those."""
    words = max((len(word) for row in table.rows for word in row[0].split()), default=0)
    others = sum(least) + _GAP * len(least)

    def lines(names: int) -> int:
        widths = [names, *_widths(table, least, width - names - others - 2 * _GAP)[1:]]
        return sum(
            max(-(-len(cell) // max(each, 1)) for cell, each in zip(row, widths, strict=False))
            for row in table.rows[:_SAMPLE]
        )

    tried = range(min(max(words, _NARROWEST_NAME), most), most + 1)
    return min(reversed(tried), key=lines, default=most)


class _Tied(Text):
    """A cell whose lines do not end between a number and its unit, where there is room for both."""

    def wrap(self, console: Console, width: int, **how: Any) -> Lines:
        if how.get("no_wrap"):
            return super().wrap(console, width, **how)
        return Text(in_lines(self.plain, width), self.style).wrap(console, width, **how)


def _widths(table: Table, least: Sequence[int], left: int) -> list[int]:
    """Width of each column beside the names: what it cannot do without, and of the rest by need."""
    widths = [0, *least]
    needed = [0] + [
        max(len(line) for cell in _cells(table, index) for line in cell.split("\n"))
        for index in range(1, len(widths))
    ]
    for index in sorted(range(1, len(widths)), key=lambda each: needed[each] - widths[each]):
        more = min(max(needed[index] - widths[index], 0), max(left, 0))
        widths[index] += more
        left -= more
    return widths


def _cells(table: Table, index: int) -> list[str]:
    return [_head_of(table, index), *(row[index] for row in table.rows)]


def _head_of(table: Table, index: int) -> str:
    """The head of a column as it is printed."""
    column = table.columns[index]
    return column if index in table.words else _head(column, [row[index] for row in table.rows])


def _longest_word(table: Table, index: int) -> int:
    """Width that keeps words whole, a date and a number with its unit among them."""
    words = (word for cell in _cells(table, index) for word in in_lines(cell, 1).split("\n"))
    return min(max(map(len, words), default=0), _LONGEST_WORD)


def _head(column: str, cells: list[str]) -> str:
    """The head of a column of numbers, broken so that it takes no room from the numbers."""
    widest = max((len(cell) for cell in cells), default=0) + 3
    return "\n".join(textwrap.wrap(column, max(widest, *map(len, column.split()), 1)))
