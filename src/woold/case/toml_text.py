"""TOML as people save it, read without spending more memory than a file of settings is worth."""

from __future__ import annotations

import codecs
import re
import tomllib
from pathlib import Path
from typing import Any

from woold.errors import InputError, UnitError
from woold.words import say

__all__ = ["decoded", "parsed_toml", "read_toml", "require_printable"]

LARGEST_FILE = 1_000_000
"""A case file with more bytes than this is some other file [bytes]."""

DEEPEST_KEY = 8
"""Parts of a dotted key, and tables within tables."""

# As TOML 1.0 has them: a string of several lines may hold \""" and end in one or two marks of its
# own, and one that does not close reaches to the end, where the parser stops as well.
_STRINGS = re.compile(
    r'"""(?s:\\.|[^\\])*?(?:"{3,5}|\Z)'
    r"|'''(?s:.)*?(?:'{3,5}|\Z)"
    r'|"(?:\\.|[^"\\\n])*"'
    r"|'[^'\n]*'|#[^\n]*"
)
_DOTTED = re.compile(rf"(?<![\w.-])[\w-]+(?:[ \t]*\.[ \t]*[\w-]+){{{DEEPEST_KEY},}}")
_STEERING = re.compile(
    r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\ud800-\udfff]"
)
_DEEPEST_BRACKETS = 32
_BOMS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"),
         (codecs.BOM_UTF16_BE, "utf-16"))  # fmt: skip


def read_toml(path: Path | str, new: str = "") -> dict[str, Any]:
    """The tables of a TOML file, unchecked.

    Args:
        path: the file.
        new: command that writes such a file to start from; "" where none does.

    Raises:
        InputError: not there, too large, not UTF-8 text, or not TOML.
    """
    path = Path(path)
    allowed = say("a TOML text file of at most 1 MB")
    try:
        with path.open("rb") as stream:
            raw = stream.read(LARGEST_FILE + 1)
    except OSError as error:
        reason = error.strerror or say("cannot be read")
        todo = say("Check the name.")
        if new:
            command = f"{new} FILE"
            todo = say("Check the name, or write a new one with: {command}", command=command)
        raise InputError.one(str(path), reason, allowed, todo) from None
    if len(raw) > LARGEST_FILE:
        raise InputError.one(
            str(path), say("more than 1 MB"), allowed, say("Is it the right file?")
        )
    return parsed_toml(decoded(raw, str(path), allowed), str(path), allowed)


def decoded(raw: bytes, where: str, allowed: str) -> str:
    """Text of a file, by the mark at its beginning or as UTF-8.

    Args:
        raw: what the file holds.
        where, allowed: for messages.

    Raises:
        InputError: it is no such text.
    """
    encoding = next((name for mark, name in _BOMS if raw.startswith(mark)), "utf-8")
    try:
        return raw.decode(encoding)
    except UnicodeDecodeError:
        raise InputError.one(
            where, say("not UTF-8 text"), allowed, say("Is it the right file?")
        ) from None


def parsed_toml(text: str, where: str, allowed: str) -> dict[str, Any]:
    """Tables of a TOML text.

    Args:
        text: the text.
        where, allowed: for messages.

    Raises:
        InputError: not TOML, or keys and tables nested deeper than a file of settings has them.
    """
    bare = _STRINGS.sub(lambda found: "" if found[0].startswith("#") else "s", text)
    deep = _DOTTED.search(bare)
    if deep is not None or _depth(bare) > _DEEPEST_BRACKETS:
        given = say("tables nested too deeply")
        if deep is not None:
            line = bare.count("\n", 0, deep.start()) + 1
            given = say("a key of many parts, near line {line}", line=line)
        most = say("keys of at most {count} parts", count=DEEPEST_KEY)
        raise InputError.one(where, given, most, say("Is it the right file?"))
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError.one(
            where, say("not TOML: {error}", error=error), allowed, say("Mend that line.")
        ) from None
    except (RecursionError, ValueError) as error:
        given = say("tables nested too deeply")
        if isinstance(error, ValueError):
            given = say("not TOML: {error}", error=str(error)[:160])
        raise InputError.one(where, given, allowed, say("Is it the right file?")) from None


def require_printable(text: str, field: str) -> None:
    """Refuses a text that would steer a terminal, or turn the order of its letters round.

    Args:
        text: what was typed; tabs and new lines may stand in it.
        field: dotted name of the field, for messages.

    Raises:
        UnitError: it holds such a character.
    """
    if odd := _STEERING.search(text):
        raise UnitError.one(
            field,
            say("a character {character!r} that cannot be seen", character=odd[0]),
            say("a text that can be printed"),
            say("Take that character out."),
        )


def _depth(bare: str) -> int:
    """Deepest nesting of brackets and braces in a text without strings."""
    deepest = now = 0
    for mark in re.findall(r"[\[\]{}]", bare):
        now = now + 1 if mark in "[{" else max(now - 1, 0)
        deepest = max(deepest, now)
    return deepest
