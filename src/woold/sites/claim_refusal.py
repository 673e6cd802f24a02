"""Why a claim is refused: what was read, and what to write instead."""

from __future__ import annotations

import re

from woold.errors import InputError
from woold.words import say

__all__ = ["NUMBER_WORDS", "allowed_claim", "not_understood", "refused", "unfinished"]

NUMBER_WORDS = (
    "zero|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|thirteen|fourteen|fifteen"
    "|sixteen|seventeen|eighteen|nineteen|twenty|thirty|forty|fifty|sixty|seventy|eighty|ninety"
)
_WORDS_SHOWN = 4


def allowed_claim() -> str:
    return say('a claim such as "5 % on average, up to 15 %" or "at least 3 % at every site"')


def refused(reason: str, todo: str = "") -> InputError:
    return InputError.one("claim", reason, allowed_claim(), todo or say("Write it like that."))


def not_understood(rest: str) -> InputError:
    words = " ".join(rest.split()[:_WORDS_SHOWN])
    if words[0].isdigit() or words[0] in ",;%" or re.match(r"(and|or|-)", words):
        return refused(
            say('not understood from "{words}" on', words=words),
            say("Write each saving with its % sign, and a comma between two of them."),
        )
    return refused(
        say('not understood from "{words}" on', words=words),
        say("Say it without these words: what is not understood is not judged."),
    )


def unfinished(plain: str) -> InputError:
    if not re.search(rf"\d|\b({NUMBER_WORDS})\b", plain):
        return refused(say("no number in it"), say("Write each saving with its % sign."))
    ending = " ".join(plain.split()[-_WORDS_SHOWN:])
    return refused(
        say('"{ending}" ends too early', ending=ending),
        say("Write each saving with its % sign, and both ends of a range."),
    )
