"""Numbers of a claim: savings, confidences and shares of sites, in figures and in words."""

from __future__ import annotations

import re

from woold.errors import InputError
from woold.sites.claim_refusal import NUMBER_WORDS, not_understood, refused
from woold.words import say

__all__ = ["typed_level", "typed_saving", "typed_share"]

_UNITS = NUMBER_WORDS.split("|")[:20]
_TENS = NUMBER_WORDS.split("|")[20:]


def typed_saving(typed: str) -> float:
    """A saving [-] of what was typed, per cent.

    Raises:
        InputError: it can be read in two ways, or is no saving.
    """
    percent = typed_number(typed)
    if not -100.0 < percent < 100.0:
        raise InputError.one(
            "claim",
            f"{typed} %",
            say("savings below 100 %"),
            say("Mend the claim's number: no film at all is not a saving."),
        )
    return percent / 100.0


def typed_number(typed: str) -> float:
    if typed[0].isalpha():
        tens, _, unit = typed.replace("-", " ").partition(" ")
        if tens in _TENS:
            return 20.0 + 10.0 * _TENS.index(tens) + (_UNITS.index(unit) if unit else 0)
        return float(_UNITS.index(tens))
    if re.fullmatch(r"[-+]?[1-9]\d{0,2},\d{3}", typed):
        raise refused(
            say("{number} can be read as two numbers", number=typed),
            say("Write a decimal point, and nothing between thousands."),
        )
    digits = typed.replace(" ", "")
    if re.fullmatch(r"[-+]?[1-9]\d{0,2}(,\d{3})+\.\d+", digits):
        digits = digits.replace(",", "")
    elif re.fullmatch(r"[-+]?[1-9]\d{0,2}(\.\d{3})+,\d+", digits):
        digits = digits.replace(".", "")
    digits = digits.replace(",", ".")
    if not re.fullmatch(r"[-+]?(0|[1-9]\d*)(\.\d+)?", digits):
        raise refused(say("{number} is no number", number=typed))
    return float(digits)


def typed_level(typed: str) -> float:
    found = re.search(r"\d+(?:[.,]\d+)?", typed)
    assert found is not None
    level = typed_number(found[0])
    if not 50.0 <= level < 100.0:
        raise refused(say("a confidence of {level:g} %", level=level))
    return level / 100.0


def typed_share(typed: str) -> float:
    """Share of sites: "80 % of sites", "8 out of 10 sites", "most sites"."""
    if re.search(r"\b(half|most)\b", typed):
        return 0.5
    if found := re.search(r"(\d+(?:[.,]\d+)?) ?(?:%|per)", typed):
        share = typed_number(found[1]) / 100.0
    else:
        found = re.search(r"(\w+) (?:out of|of|in) (\w+) \w+$", typed)
        assert found is not None
        if any(each.isalpha() and each not in _UNITS for each in found.groups()):
            raise not_understood(typed)
        some, of = (typed_number(each) for each in found.groups())
        share = some / of if of else 2.0
    if not 0.0 < share < 1.0:
        raise refused(say("{words} is no share of sites", words=typed))
    return share
