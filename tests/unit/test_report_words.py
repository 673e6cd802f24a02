"""The message catalogue: every key is used, every key is there, languages agree."""

from __future__ import annotations

import re
import string
from pathlib import Path

import pytest

from woold.errors import InputError
from woold.report.voice import Voice, catalogue, languages

SOURCES = [
    *(Path(__file__).parents[2] / "src/woold/report").glob("*.py"),
    *(Path(__file__).parents[2] / "src/woold/cli").glob("*.py"),
]


def _mentioned() -> tuple[set[str], set[str]]:
    """Keys written out in the code, and prefixes of those put together."""
    text = "\n".join(path.read_text(encoding="utf-8") for path in SOURCES)
    whole = set(re.findall(r'"([a-z_]+\.[a-z0-9_-]+)"', text))
    parts = set(re.findall(r'f?"([a-z_]+\.(?:[a-z_]+_)?)[{"]', text))
    return whole, parts


def test_every_key_of_the_catalogue_is_used() -> None:
    whole, parts = _mentioned()
    unused = [
        key
        for key in catalogue("en")
        if key not in whole and not any(key.startswith(part) for part in parts)
    ]
    assert unused == []


def test_every_key_in_the_code_is_in_the_catalogue() -> None:
    whole, parts = _mentioned()
    sections = {key.partition(".")[0] for key in catalogue("en")}
    asked = {key for key in whole if key.partition(".")[0] in sections}
    others = {"film", "hold", "page"}  # names of case tables and of files as well
    missing = {key for key in asked - set(catalogue("en")) if key.partition(".")[0] not in others}
    assert missing == set()
    parts = {part for part in parts if part.partition(".")[0] in sections}
    assert all(any(key.startswith(part) for key in catalogue("en")) for part in parts)


def test_languages_have_the_same_keys_and_values_to_put_in() -> None:
    english = catalogue("en")

    def names(text: str) -> set[str]:
        return {name for _, name, _, _ in string.Formatter().parse(text) if name}

    for language in languages():
        other = catalogue(language)
        assert set(other) == set(english)
        for key, text in english.items():
            assert names(other[key]) == names(text)


def test_unknown_language_is_refused() -> None:
    with pytest.raises(InputError, match="--language"):
        Voice("xx")("page.contents")
