"""Numbers as people write them: 1,800 or 1.200,5 or 5 1/2, with a keyboard's sign or another."""

from __future__ import annotations

import re
import unicodedata
from typing import NamedTuple

__all__ = ["Number", "leading_number", "plain_text"]


class Number(NamedTuple):
    """A number that was read.

    Args:
        value: the number; where it can be read in two ways, the one with its comma between
            thousands.
        other: the number with its comma as decimal mark, where both can be meant; else None.
    """

    value: float
    other: float | None = None


_SIGNS = str.maketrans(
    {
        "\u2212": "-",  # minus sign
        "\u2010": "-",
        "\u2011": "-",
        "\u2013": "-",
        "\ufe63": "-",
        "\uff0b": "+",
        "\uff0d": "-",
        "\u2044": "/",  # fraction slash
        "\u2032": "'",  # prime: feet
        "\u2019": "'",
        "\u2018": "'",
        "\u2033": '"',  # double prime: inches
        "\u201c": '"',
        "\u201d": '"',
        "\u22c5": "·",
        "\u2022": "·",
        "\u2219": "·",
        "\u00a0": " ",
        "\u2007": " ",
        "\u2009": " ",
        "\u202f": " ",
        "\u2103": "°C",
        "\u2109": "°F",
        "\u207b": "-",
        "\u00b9": "1",
    }
)

_DIGITS = r"[0-9]+"
_SIGN = r"(?P<sign>[-+]?)\s*"
_MIXED = re.compile(rf"{_SIGN}(?:({_DIGITS})(?:\s+|-))?({_DIGITS})\s*/\s*({_DIGITS})(?![0-9.,])")
_GROUPED = r"[0-9]{1,3}(?:(?P<mark>[ ,.'])[0-9]{3})(?:(?P=mark)[0-9]{3})*(?![0-9])"
_PLAIN = r"[0-9]+"
_DECIMAL = re.compile(
    rf"{_SIGN}(?P<whole>{_GROUPED}|{_PLAIN})?(?:(?P<point>[.,])(?P<part>[0-9]*))?"
    r"(?:(?:[eE]|\s?[x×·]\s?10\^)(?P<power>[-+]?[0-9]{1,3})"
    r"|\s?[x×·]\s?10(?P<raised>-?[⁰²³⁴-⁹]{1,3}))?(?![0-9])"
)


def plain_text(text: str) -> str:
    """The text with a keyboard's signs in place of typographic ones, and fractions written out."""
    if text.isascii():
        return text
    text = text.translate(_SIGNS)
    return "".join(_written_out(each) for each in text)


def _written_out(letter: str) -> str:
    """A fraction that is one sign, as digits: "½" is 1/2, with a space before it."""
    if letter.isascii() or unicodedata.category(letter) != "No":
        return letter
    parts = unicodedata.normalize("NFKD", letter).replace("\u2044", "/")
    return f" {parts}" if re.fullmatch(r"[0-9]+/[0-9]+", parts) else letter


def leading_number(text: str) -> tuple[Number, str] | None:
    """The number at the start of a text, and what stands behind it; None where there is none.

    Args:
        text: as :func:`plain_text` gives it.
    """
    text = text.strip()
    mixed = _MIXED.match(text)
    if mixed is not None and float(mixed[4]) != 0.0:
        sign = -1.0 if mixed["sign"] == "-" else 1.0
        value = float(mixed[2] or 0) + float(mixed[3]) / float(mixed[4])
        return Number(sign * value), text[mixed.end() :].strip()
    found = _DECIMAL.match(text)
    if found is None or not (found["whole"] or found["part"]):
        return None
    number = _decimal(found)
    return None if number is None else (number, text[found.end() :].strip())


def _decimal(found: re.Match[str]) -> Number | None:
    whole, mark = found["whole"] or "", found["mark"] or ""
    point, part = found["point"] or "", found["part"] or ""
    power = found["power"] or unicodedata.normalize("NFKC", found["raised"] or "0")
    if point and point == mark:
        return None
    # One point with three digits behind it is a decimal point, as everywhere in a file.
    alone = mark in (".", ",") and not point and whole.count(mark) == 1
    if alone and (mark == "." or whole.startswith("0")):
        whole, _, part = whole.partition(mark)
        mark = ""
    made = float(f"{found['sign']}{_joined(whole)}.{part or '0'}e{power}")
    if alone and mark == ",":
        return Number(made, float(f"{found['sign']}{whole.replace(',', '.')}e{power}"))
    return Number(made)


def _joined(whole: str) -> str:
    return re.sub(r"[ ,.']", "", whole) or "0"
