"""A shelf in words: what stands there, and what changed since a case was made of it."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from woold.case.model import MadeOf
from woold.case.shelf import KINDS_OF_THINGS, Kept, Shelf
from woold.case.things import KIND_WORDS
from woold.rows.blocks import Block, Paragraph, Table
from woold.shelf.since import ChangedField, Since, changes_between, typed_fields
from woold.words import say, to_say

__all__ = ["by_hand_blocks", "made_of_table", "shelf_blocks", "since_blocks", "thing_blocks"]

_STATES = {
    "as it was": to_say("as it was"),
    "newer": to_say("has a later version"),
    "rewritten": to_say("holds something else now"),
    "gone": to_say("is not on the shelf"),
}


def shelf_blocks(shelf: Shelf, caption: str) -> list[Block]:
    """Every thing as it stands now.

    Args:
        shelf: the shelf.
        caption: where it is kept.
    """
    rows = tuple(
        (say(KIND_WORDS[kind]), f"@{each.name}", str(each.version), each.hash)
        for kind in KINDS_OF_THINGS
        for each in shelf.latest(kind)
    )
    heads = (say("kind"), say("name in a case"), say("version"), say("mark of what was typed"))
    return [Table(caption, heads, rows, words=(0, 1, 3))]


def thing_blocks(versions: Sequence[Kept]) -> list[Block]:
    """One thing: what was typed, and what changed from version to version.

    Args:
        versions: all of its versions, the latest last.
    """
    latest = versions[-1]
    blocks: list[Block] = [
        Paragraph(
            say(
                "{kind} {name}, version {version}, mark {hash}",
                kind=say(KIND_WORDS[latest.kind]),
                name=f"@{latest.name}",
                version=latest.version,
                hash=latest.hash,
            )
        )
    ]
    typed = tuple(typed_fields(latest).items())
    blocks.append(Table(say("As typed"), (say("field"), say("typed")), typed, words=(0, 1)))
    for older, newer in itertools.pairwise(versions):
        caption = say("Version {old} to {new}", old=older.version, new=newer.version)
        blocks.append(_changes_table(caption, changes_between(older, newer)))
    return blocks


def made_of_table(made_of: Sequence[MadeOf]) -> Table:
    """The versions that a case was made of.

    Args:
        made_of: one for each thing.
    """
    rows = tuple(
        (say(KIND_WORDS[each.kind]), f"@{each.name}", str(each.version), each.hash)
        for each in made_of
    )
    heads = (say("kind"), say("name"), say("version"), say("mark of what was typed"))
    return Table(say("What the case was made of"), heads, rows, words=(0, 1, 3))


def since_blocks(found: Sequence[Since]) -> list[Block]:
    """What became of the things that a case was made of.

    Args:
        found: one for each thing.
    """
    if not found:
        return [Paragraph(say("The case names nothing on a shelf: it is all written out."))]
    rows = tuple(
        (
            say(KIND_WORDS[each.kind]),
            f"@{each.name}",
            str(each.version),
            "-" if each.latest is None else str(each.latest),
            say(_STATES[each.state]),
        )
        for each in found
    )
    heads = (say("kind"), say("name"), say("made of"), say("latest"), say("since then"))
    blocks: list[Block] = [Table(say("What the case was made of"), heads, rows, words=(0, 1, 4))]
    for each in found:
        if each.changes:
            caption = say("What changed in {name}", name=f"@{each.name}")
            blocks.append(_changes_table(caption, each.changes))
    return blocks


def by_hand_blocks(name: str, changes: Sequence[ChangedField]) -> list[Block]:
    """What a case says otherwise than the thing that it was made of.

    Args:
        name: the thing's.
        changes: none where it says the same.
    """
    if not changes:
        return []
    caption = say("Changed by hand after {name} was taken", name=f"@{name}")
    rows = tuple((each.field, each.before or "-", each.after or "-") for each in changes)
    heads = (say("field"), say("on the shelf"), say("in the case"))
    return [Table(caption, heads, rows, words=(0, 1, 2))]


def _changes_table(caption: str, changes: Sequence[ChangedField]) -> Table:
    rows = tuple((each.field, each.before or "-", each.after or "-") for each in changes)
    return Table(caption, (say("field"), say("before"), say("after")), rows, words=(0, 1, 2))
