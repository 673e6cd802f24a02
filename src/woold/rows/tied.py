"""What stays on one line: a number with its unit, a DOI; and where a long word may break."""

from __future__ import annotations

import functools
import re
import textwrap

from woold.units import KINDS, unit_symbol

__all__ = ["DOI", "breakable", "in_lines", "tied"]

_HARD_SPACE, _JOINER, _BREAK = "\N{NO-BREAK SPACE}", "\N{WORD JOINER}", "\N{ZERO WIDTH SPACE}"

DOI = r"(?:https?://(?:dx\.)?doi\.org/|doi: ?)?10\.[0-9]{4,9}/[^\s,;)\]]{1,60}"
"""A digital object identifier, with what usually stands before it (ISO 26324: prefix 10., a
registrant's number, a slash, a suffix)."""

_OTHERS = ("%", "‰", "h", "min", "d", "N/m²", "kg CO2e", "g CO2e", "cm", "kN", "kPa", "t", "USD/t")
_PRICE = r"[A-Z]{3}(?:/[A-Za-z]{1,4})?"


@functools.cache
def _with_unit() -> re.Pattern[str]:
    shown = {unit_symbol(unit) for kind in KINDS.values() for unit in (kind.metric, kind.trade)}
    units = sorted({*shown, *_OTHERS} - {""}, key=len, reverse=True)
    known = "|".join(map(re.escape, units))
    return re.compile(rf"(?<=\d) (?=(?:{known}|{_PRICE})(?![\w²³]))((?:{known}|{_PRICE}))")


def tied(text: str) -> str:
    """The text with every number tied to its unit or per cent sign: no line ends between them."""
    return _with_unit().sub(
        lambda found: _HARD_SPACE + found[1].replace(" ", _HARD_SPACE).replace("/", f"/{_JOINER}"),
        text,
    )


def in_lines(text: str, width: int) -> str:
    """The text in lines of at most so many letters, none of which ends between number and unit."""
    lines = (
        textwrap.wrap(tied(part), width, break_long_words=False, break_on_hyphens=False) or [""]
        for part in text.split("\n")
    )
    joined = "\n".join(line for part in lines for line in part)
    return joined.replace(_HARD_SPACE, " ").replace(_JOINER, "")


_WHOLE = re.compile(DOI)
_MARKS = r"._/\\=:,;&?-"


def breakable(text: str, longest: int) -> str:
    """The text with places where words of so many letters may break, behind marks where it can.

    Args:
        text: any.
        longest: letters that a line has room for; shorter words stay whole, and so do DOIs.
    """
    long, parts = _long_words(longest)

    def broken(found: re.Match[str]) -> str:
        word = found[0]
        return word if _WHOLE.search(word) else _BREAK.join(parts.findall(word))

    return long.sub(broken, text)


@functools.cache
def _long_words(longest: int) -> tuple[re.Pattern[str], re.Pattern[str]]:
    """Words that are too long, and the parts that such a word is broken into."""
    part = min(8, max(1, longest - 1))
    return (
        re.compile(rf"\S{{{longest},}}"),
        re.compile(rf"[^{_MARKS}]{{1,{part}}}[{_MARKS}]*|[{_MARKS}]+"),
    )
