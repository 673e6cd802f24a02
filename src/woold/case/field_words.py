"""Fields of a case as a reader of pages and paper knows them, and not by their names in a file."""

from __future__ import annotations

import functools
import re

from woold.case.field_labels import FIELD_LABELS, SECTION_LABELS
from woold.case.fields import field_paths
from woold.case.model import Case
from woold.words import say

__all__ = ["about_words", "field_label", "field_words", "in_field_words", "section_label"]

_OF_TWO = re.compile(r"^(base|candidate)\.")
_CODE = re.compile(r"-*[a-z0-9]+([_.-][a-z0-9]+)+|--[a-z]+")
_INDEX = re.compile(r"\[(\d+)\]")


def field_label(name: str) -> str:
    """A field's name in words, without the table that it stands in: "rise_per_turn" is "Rise per
    turn".

    Args:
        name: as it stands in the file.
    """
    return say(FIELD_LABELS.get(name, name.replace("_", " ").capitalize()))


def section_label(path: str) -> str:
    """A table's name in words.

    Args:
        path: its dotted name, without indices.
    """
    own = SECTION_LABELS.get(path)
    return field_label(path.rpartition(".")[2]) if own is None else say(own)


def field_words(path: str) -> str:
    """A field with the part that it stands in: "Film: thickness"; another text as it is.

    Args:
        path: dotted name, with indices where it stands in a list, and "base." or "candidate."
            before it where two cases are compared.
    """
    if not _dotted().fullmatch(path):
        return path
    own = _OF_TWO.sub("", path)
    table, _, name = own.rpartition(".")
    is_table = _INDEX.sub("", own) in _tables()
    label = section_label(_INDEX.sub("", own)) if is_table else field_label(_INDEX.sub("", name))
    if not table:
        return _numbered(label, own)
    parent = _numbered(section_label(_INDEX.sub("", table)), table)
    label = _numbered(label, name)
    return say("{part}: {field}", part=parent, field=label[0].lower() + label[1:])


def in_field_words(text: str) -> str:
    """A text in which fields are named in words: quoted, and of two cases it is said whose.

    Args:
        text: a sentence, or a field's name alone.
    """
    if "." not in text:
        return text
    if _dotted().fullmatch(text) and not _OF_TWO.match(text):
        return field_words(text)
    return _dotted().sub(lambda found: _quoted(found[0]), text)


def about_words(path: str) -> str:
    """What a finding is about, as a reader knows it; nothing where only a file has a name for it.

    Args:
        path: of a finding: a field, a table, a record, or words.
    """
    if path in _tables():
        return section_label(path)
    said = in_field_words(path)
    return "" if said == path and _CODE.fullmatch(path) else said


def _quoted(path: str) -> str:
    field = field_words(path)
    if path.startswith("base."):
        return say("“{field}” of the base", field=field)
    if path.startswith("candidate."):
        return say("“{field}” of the candidate", field=field)
    return f"“{field}”"


def _numbered(label: str, path: str) -> str:
    """A label with the place in a list that the last part of a path names, counted from 1."""
    found = _INDEX.search(path.rpartition(".")[2])
    return say("{name}, {number}", name=label, number=int(found[1]) + 1) if found else label


@functools.cache
def _tables() -> frozenset[str]:
    """Dotted names of a case's tables."""
    return frozenset(path.rpartition(".")[0] for path in field_paths(Case) if "." in path)


@functools.cache
def _dotted() -> re.Pattern[str]:
    """Finds the dotted names of a case's fields and tables in a text; those in tables first."""
    paths = sorted((each for each in field_paths(Case) if "." in each), key=len, reverse=True)
    names = "|".join(
        r"\.".join(rf"{re.escape(part)}(?:\[\d+\])?" for part in path.split(".")) for path in paths
    )
    tables = "|".join(sorted(each for each in _tables() if "." not in each))
    whole = rf"(?:{names})|(?<=base\.)(?:{tables})|(?<=candidate\.)(?:{tables})"
    return re.compile(rf"(?<![\w.\[])(?:base\.|candidate\.)?(?:{whole})(?![\w\[])")
