"""Blocks as a piece of HTML without style or script: a notebook lays it out as its own tables."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

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

__all__ = ["blocks_html"]


def blocks_html(blocks: Iterable[Block]) -> str:
    """The blocks as HTML; every text in them is escaped, pictures are named by their caption.

    Args:
        blocks: what there is to read.
    """
    return "\n".join(_html(each) for each in blocks)


def _html(block: Block) -> str:
    match block:
        case Heading():
            return f"<h{block.level + 1}>{escape(block.text)}</h{block.level + 1}>"
        case Paragraph():
            text = escape(block.text)
            return f"<p><strong>{text}</strong></p>" if block.is_strong else f"<p>{text}</p>"
        case Bullets():
            return _list(block.items)
        case Facts():
            rows = [(row.label, "  ".join(filter(None, row[1:]))) for row in block.rows]
            return _table(block.caption, (), rows, words=(0, 1))
        case Table():
            return _table(block.caption, block.columns, block.rows, block.words)
        case Note():
            return f"<p><strong>{escape(block.about)}</strong> {escape(block.text)}</p>"
        case Cautions():
            return f"<p><strong>{escape(block.heading)}</strong></p>\n{_list(block.items)}"
        case SideBySide():
            return blocks_html((*block.left, *block.right))
        case Figure():
            return f"<p>{escape(block.caption)}</p>"


def _list(items: Iterable[str]) -> str:
    return f"<ul>{''.join(f'<li>{escape(item)}</li>' for item in items)}</ul>"


def _table(
    caption: str, heads: Sequence[str], rows: Iterable[Sequence[str]], words: Sequence[int]
) -> str:
    """A table; cells of numbers are set to the right."""

    def cells(tag: str, texts: Sequence[str]) -> str:
        made = (
            f'<{tag} style="text-align: {"left" if index in words else "right"}">'
            f"{escape(text)}</{tag}>"
            for index, text in enumerate(texts)
        )
        return f"<tr>{''.join(made)}</tr>"

    head = f"<thead>{cells('th', heads)}</thead>" if heads else ""
    body = "".join(cells("td", row) for row in rows)
    return f"<table><caption>{escape(caption)}</caption>{head}<tbody>{body}</tbody></table>"
