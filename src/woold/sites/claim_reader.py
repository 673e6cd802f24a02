"""A typed claim into what it says. Every word is understood, or the claim is refused.

The grammar stands in claim.lark, the phrasings that it was made for in tests/unit/claims.csv.
"""

from __future__ import annotations

import functools
import importlib.resources
import itertools
import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from woold.errors import InputError
from woold.rows.wording import Wording
from woold.sites.claim_language import other_language
from woold.sites.claim_numbers import typed_level, typed_saving, typed_share
from woold.sites.claim_parts import ClaimPart, Relation, Subject, part_text
from woold.sites.claim_refusal import allowed_claim, not_understood, refused, unfinished
from woold.words import say

if TYPE_CHECKING:
    from lark import Lark, Token, Tree

__all__ = ["read_claim"]

LONGEST_CLAIM = 300


_RELATIONS: dict[str, Relation] = {
    "AT_LEAST": "at least",
    "MINIMUM": "at least",
    "OR_MORE": "at least",
    "NO_SITE_LESS": "at least",
    "MORE_THAN": "more than",
    "AT_MOST": "at most",
    "OR_LESS": "at most",
    "NO_SITE_MORE": "at most",
    "LESS_THAN": "less than",
}
_SUBJECTS: dict[str, Subject] = {
    "AVERAGE": "average",
    "TYPICAL": "typical",
    "SHARE": "share of sites",
    "EVERY": "every site",
    "NO_SITE_LESS": "every site",
    "NO_SITE_MORE": "every site",
    "WORST": "every site",
    "BEST": "best site",
}
_MIDDLE = ("AVERAGE", "TYPICAL")
_UP = ("UP_TO", "MAXIMUM")
_LOWER: tuple[Relation, ...] = ("at least", "more than")


def read_claim(text: str) -> tuple[ClaimPart, ...]:
    """The parts of a claim in English: "5 % on average, up to 15 %".

    A saving that is said of no site in particular is read as an average; a bound that is said of no
    site in particular holds for every site.

    Raises:
        InputError: a word that is not understood, another language, a number that can be read in
            two ways or is no saving, or parts that cannot be meant together.
    """
    from lark.exceptions import UnexpectedCharacters, UnexpectedEOF, UnexpectedToken

    if len(text) > LONGEST_CLAIM:
        raise InputError.one("claim", text, allowed_claim(), say("Shorten it."))
    plain = _in_order(text)
    if not plain:
        raise InputError.one("claim", say("nothing"), allowed_claim(), say("Type what is claimed."))
    if found := re.search(r"(?:^|[ (])[,.]\d\S*", plain):
        raise refused(
            say("{number} lacks what stands before its point", number=found[0].strip(" (")),
            say("Write 0.5 %, with the zero."),
        )
    try:
        tree = _parser().parse(plain)
    except UnexpectedCharacters as error:
        language = other_language(plain)
        if language:
            raise InputError.one(
                "claim",
                say("words that look like {language}", language=say(language)),
                say("a claim in English"),
                say("Write it in English."),
            ) from None
        raise not_understood(plain[error.pos_in_stream :]) from None
    except UnexpectedEOF:
        raise unfinished(plain) from None
    except UnexpectedToken as error:
        start = error.token.start_pos
        if error.token.type == "$END" or start is None:
            raise unfinished(plain) from None
        if plain[:start].rstrip()[-1:].isdigit():
            raise unfinished(plain[:start]) from None
        raise not_understood(plain[start:]) from None
    said = _said(tree)
    parts = tuple(part for each in said for part in each.parts())
    _check_shared_subject(said)
    _check_together(parts)
    return parts


def _in_order(text: str) -> str:
    """The text in lower case, signs and spaces of one kind, a range written with "to"."""
    plain = unicodedata.normalize("NFKC", text).lower()
    plain = plain.replace("−", "-").replace("’", "'")
    plain = " ".join(plain.split()).strip(" \"'“”„»«")
    plain = plain.replace("per-cent", "per cent").replace("percents", "percent")
    plain = re.sub(r"(?<=[\d%])(?: [-–—] |[-–—])(?=\d)", " to ", plain)
    plain = re.sub(r" [–—-] ", ", ", plain)
    plain = re.sub(r"(?<!or )\bminus (?=\d)", "-", plain)
    # A confidence in brackets belongs to what it follows.
    plain = re.sub(r"\(([^()]*\b(?:confidence|ci|interval|confident|sure)\b[^()]*)\)", r"\1", plain)
    return re.sub(r"^\+ ?(?=\d)", "", plain)


@functools.cache
def _parser() -> Lark:
    from lark import Lark

    grammar = importlib.resources.files("woold.sites").joinpath("claim.lark").read_text("utf-8")
    return Lark(grammar, parser="earley", lexer="basic", propagate_positions=True)


@dataclass(slots=True)
class _Said:
    """The words of one part, and its numbers as typed."""

    words: dict[str, str] = field(default_factory=dict)
    twice: str = ""
    numbers: list[str] = field(default_factory=list)
    form: str = "amount"
    interval: list[str] = field(default_factory=list)

    def add(self, word: Token) -> None:
        if word.type in self.words:
            self.twice = str(word)
        self.words[word.type] = str(word)

    def parts(self) -> tuple[ClaimPart, ...]:
        """What these words say.

        Raises:
            InputError: words that do not go together, a number that is no saving.
        """
        savings = [typed_saving(each) for each in self.numbers]
        relation = self._relation()
        subject = self._subject(relation)
        extra = self._extra()
        if self.form == "plus_minus":
            middle, reach = savings
            extra |= {"low": middle - reach, "high": middle + reach}
            return (_made(subject, relation or "about", middle, extra),)
        if self.form == "range":
            return self._range(subject, relation, savings, extra)
        return (_made(subject, relation or "about", savings[0], extra),)

    def has(self, *types: str) -> bool:
        return any(each in self.words for each in types)

    def shown(self, *types: str) -> str:
        return ", ".join(f'"{self.words[each]}"' for each in types if each in self.words)

    def _relation(self) -> Relation | None:
        """At least, more than ...; None where only a saving is said."""
        if self.twice:
            raise refused(say('"{word}" stands twice in one part', word=self.twice))
        given = [each for each in _RELATIONS if each in self.words]
        # "A minimum of 3 % or more" says the same twice; "at least 3 % or less" does not.
        if len({_RELATIONS[each] in _LOWER for each in given}) > 1 or (
            given and self.has(*_UP, "BEST") and not set(given) <= {"OR_MORE", "MINIMUM"}
        ):
            shown = self.shown(*given, *_UP, "BEST")
            raise refused(say("{words} do not go together", words=shown))
        if given and self.has(*_UP, "BEST"):
            shown = self.shown(*_UP, "BEST", *given)
            raise refused(
                say("{words} do not go together: they name no end", words=shown),
                say('Say "up to", or say "at least".'),
            )
        relations = [_RELATIONS[each] for each in given]
        if not relations:
            is_least = self.form == "open_amount" or (self.has("GUARANTEED") and not self.has(*_UP))
            return "at least" if is_least and self.form != "range" else None
        strict = [each for each in relations if each in ("more than", "less than")]
        return (strict or relations)[0]

    def _subject(self, relation: Relation | None) -> Subject:
        named = [each for each in _SUBJECTS if each in self.words]
        subjects = {_SUBJECTS[each] for each in named}
        if len(subjects) > 1:
            raise refused(say("{words} do not go together", words=self.shown(*named)))
        if self.has(*_UP):
            return self._best(named)
        subject = subjects.pop() if subjects else None
        if subject is None and self.has("GUARANTEED"):
            subject = "every site"
        if subject is None and relation is not None:
            subject = "every site"
        self._check_vague(subject)
        return subject or "average"

    def _best(self, named: Sequence[str]) -> Subject:
        others = [each for each in (*named, "GUARANTEED") if each in self.words and each != "BEST"]
        if others:
            shown = self.shown(*_UP, *others)
            raise refused(
                say("{words} do not go together", words=shown),
                say('"Up to" is said of the best site: put the rest into a part of its own.'),
            )
        return "best site"

    def _check_vague(self, subject: Subject | None) -> None:
        if self.has("CAN") and subject != "best site":
            raise refused(
                say("{word} does not say of which sites", word=self.shown("CAN")),
                say('Say "up to", "on average" or "at least".'),
            )
        if self.has("ABOUT") and subject in ("every site", "share of sites"):
            raise refused(
                say("{word} is no limit that a site can be held to", word=self.shown("ABOUT")),
                say('Say "at least" or "up to".'),
            )

    def _extra(self) -> dict[str, Any]:
        """Confidence, interval and share of sites."""
        extra: dict[str, Any] = {}
        for each in ("CONFIDENCE", "CONFIDENCE_INTERVAL"):
            if each in self.words:
                extra["confidence"] = typed_level(self.words[each])
        if self.interval:
            low, high = (typed_saving(each) for each in self.interval)
            extra |= {"low": low, "high": high}
        if "SHARE" in self.words:
            extra["share"] = typed_share(self.words["SHARE"])
        return extra

    def _range(
        self,
        subject: Subject,
        relation: Relation | None,
        ends: Sequence[float],
        extra: dict[str, Any],
    ) -> tuple[ClaimPart, ...]:
        if relation is not None or subject in ("best site", "share of sites"):
            shown = self.shown(*self.words)
            raise refused(say("{words} and a range do not go together", words=shown))
        if ends[0] >= ends[1]:
            typed = say("{low} to {high}", low=self.numbers[0], high=self.numbers[1])
            raise refused(say("{range} falls", range=typed), say("Write the lower first."))
        low, high = ends
        if self.has("EVERY", "GUARANTEED", "AVERAGE", "TYPICAL"):
            return (
                _made(subject, "at least", low, extra),
                _made(subject, "at most", high, extra),
            )
        # "3 to 8 %" promises 3 % to everybody, and that 8 % are reached.
        return (
            _made("every site", "at least", low, extra),
            _made("best site", "about", high, extra),
        )


def _made(subject: Subject, relation: Relation, saving: float, extra: dict[str, Any]) -> ClaimPart:
    if subject in ("every site", "share of sites") and relation == "about":
        relation = "at least"  # who saves 5 % at every site saves at least that
    part = ClaimPart(subject, relation, saving, **extra)
    if part.share is not None and relation not in _LOWER:
        raise refused(say("a share of sites is judged by what it saves at least"))
    if part.low is not None and part.high is not None:
        if part.relation != "about" or not part.low <= saving <= part.high:
            raise refused(
                say(
                    "the interval {low:.4g} to {high:.4g} % does not stand around {saving:.4g} %",
                    low=100.0 * part.low,
                    high=100.0 * part.high,
                    saving=100.0 * saving,
                ),
            )
        if subject not in ("average", "typical"):
            raise refused(say("an interval goes with an average"))
    return part


def _said(tree: Tree[Token]) -> list[_Said]:
    """The words and numbers of each part; what stands behind the last belongs to it."""
    found: list[_Said] = []
    for child in tree.children:
        assert not isinstance(child, str)
        if child.data == "words":
            _add_words(found[-1], child)
            continue
        said = _Said()
        for each in child.children:
            assert not isinstance(each, str)
            if each.data == "words":
                _add_words(said, each)
            else:
                _add_value(said, each)
        found.append(said)
    return found


def _add_words(said: _Said, words: Tree[Token]) -> None:
    for word in words.children:
        assert not isinstance(word, str)
        for each in word.children:
            if isinstance(each, str):
                said.add(each)
            else:
                said.interval = _numbers(each)


def _numbers(form: Tree[Token]) -> list[str]:
    return [
        str(each)
        for each in form.children
        if isinstance(each, str) and each.type in ("NUMBER", "NUMBER_WORD")
    ]


def _add_value(said: _Said, value: Tree[Token]) -> None:
    (form,) = value.children
    assert not isinstance(form, str)
    said.form = form.data
    said.numbers = _numbers(form)


def _check_shared_subject(said: Sequence[_Said]) -> None:
    """Refuses "more than 5 % but less than 8 % on average": of which sites is the first said?"""
    lower = [name for name, relation in _RELATIONS.items() if relation in _LOWER]
    upper = [name for name, relation in _RELATIONS.items() if relation not in _LOWER]
    for first, second in itertools.pairwise(said):
        has_none = not first.has(*_SUBJECTS, "GUARANTEED")
        if has_none and first.has(*lower) and second.has(*upper) and second.has(*_MIDDLE):
            raise refused(
                say(
                    "{words} may be said of both limits, or of the second alone",
                    words=second.shown(*_MIDDLE),
                ),
                say('Say "on average" with each limit, or "at every site".'),
            )


def _check_together(parts: Sequence[ClaimPart]) -> None:
    """Refuses what is said twice, and limits that stand in the wrong order."""
    words = Wording()
    seen: dict[tuple[str, bool], ClaimPart] = {}
    for part in parts:
        key = (part.subject, part.relation in ("at most", "less than"))
        if key in seen and replace(part, saving=0.0) != replace(seen[key], saving=-1.0):
            raise refused(
                say(
                    "the same is said twice: {first}, and {second}",
                    first=part_text(seen[key], words),
                    second=part_text(part, words),
                ),
            )
        seen[key] = part
    least = [each for each in parts if each.subject == "every site" and each.relation in _LOWER]
    middle = [each for each in parts if each.subject in ("average", "typical")]
    most = [
        each
        for each in parts
        if each.subject == "best site"
        or (each.subject == "every site" and each.relation not in _LOWER)
    ]
    for below, above in (*_pairs(least, middle), *_pairs(least, most), *_pairs(middle, most)):
        if below.saving > above.saving:
            raise refused(
                say(
                    "{first}, and yet {second}",
                    first=part_text(below, words),
                    second=part_text(above, words),
                ),
            )


def _pairs(
    below: Sequence[ClaimPart], above: Sequence[ClaimPart]
) -> list[tuple[ClaimPart, ClaimPart]]:
    return [(low, high) for low in below for high in above if high.relation in ("about", "at most")]
