"""Every word of the program's own, in the reader's language: `say("film for {loads} loads", ...)`.

English stands in the code, where it is read best. A translation is a gettext file, `de.po`, in
this folder or in the one that WOOLD_WORDS names; `woold.pot` lists what there is to translate
(`make words` writes it). What is not translated is said in English.
"""

from __future__ import annotations

import functools
import os
import string
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar, Token
from pathlib import Path
from types import MappingProxyType
from typing import Any

__all__ = [
    "ENGLISH",
    "language",
    "languages",
    "say",
    "set_language",
    "speaking",
    "to_say",
    "translations",
]

ENGLISH = "en"

_language: ContextVar[str] = ContextVar("language", default=ENGLISH)
_instead: ContextVar[Mapping[str, str]] = ContextVar("instead", default=MappingProxyType({}))


class _SpacedShares(string.Formatter):
    """Writes a share as everywhere else, "59 %": ISO 80000-1 puts a space before the sign."""

    def format_field(self, value: Any, format_spec: str) -> str:
        text = format(value, format_spec)
        return f"{text[:-1]} %" if format_spec.endswith("%") else text


_SHARES = _SpacedShares()


def say(text: str, /, **values: Any) -> str:
    """The text in the reader's language, with values put in.

    Args:
        text: English, with names in braces where values go; it is the key of the catalogue.
        values: what is put in, by name.
    """
    text = _instead.get().get(text, text)
    spoken = _language.get()
    if spoken != ENGLISH:
        text = translations(spoken).get(text, text)
    if not values:
        return text
    return _SHARES.format(text, **values) if "%}" in text else text.format(**values)


def to_say(text: str) -> str:
    """Marks a text that is said later, where it is shown: a constant has no language yet."""
    return text


def set_language(spoken: str) -> Token[str]:
    """What is said from here on is said in this language.

    Raises:
        KeyError: there is no catalogue of that language.
    """
    translations(spoken)
    return _language.set(spoken)


@contextmanager
def speaking(spoken: str, instead: Mapping[str, str] | None = None) -> Iterator[None]:
    """What is said inside is said in this language.

    Args:
        spoken: tag of the language.
        instead: English texts, by the text in whose place each is said: for readers who have other
            ways to do something than those that the text names.

    Raises:
        KeyError: there is no catalogue of that language.
    """
    token, other = set_language(spoken), _instead.set(instead or {})
    try:
        yield
    finally:
        _instead.reset(other)
        _language.reset(token)


def language() -> str:
    """Tag of the language that is spoken now."""
    return _language.get()


def languages() -> tuple[str, ...]:
    """Tags of the languages that there are catalogues for; English is always one."""
    return _languages(os.environ.get("WOOLD_WORDS"))


@functools.lru_cache(maxsize=16)
def _languages(named: str | None) -> tuple[str, ...]:
    found = (path.stem for folder in _folders(named) for path in folder.glob("*.po"))
    return tuple(sorted({ENGLISH, *found}))


def translations(spoken: str) -> Mapping[str, str]:
    """Translated texts by their English.

    Raises:
        KeyError: there is no catalogue of that language.
    """
    return _translations(spoken, os.environ.get("WOOLD_WORDS"))


def _folders(named: str | None) -> tuple[Path, ...]:
    return (Path(__file__).parent, *((Path(named),) if named else ()))


@functools.lru_cache(maxsize=16)
def _translations(spoken: str, named: str | None) -> Mapping[str, str]:
    if spoken == ENGLISH:
        return {}
    files = [folder / f"{spoken}.po" for folder in _folders(named)]
    found = [file for file in files if file.is_file()]
    if not found:
        raise KeyError(spoken)
    import polib

    return {
        entry.msgid: entry.msgstr
        for file in found
        for entry in polib.pofile(str(file)).translated_entries()
    }
