"""Any text is read or refused, and nothing in a claim that is read was passed over."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from woold.errors import InputError
from woold.sites.claim_parts import ClaimPart
from woold.sites.claim_reader import read_claim

WORDS = (
    *("up to", "at least", "no more than", "less than", "on average", "typically", "guaranteed"),
    *("every site saves", "or more", "or less", "about", "can", "max.", "min.", "at best", "most"),
    *("5", "3 %", "15 %", "12,3 %", "1,234 %", "-2 %", "five percent", "± 2 %", "%", "film", "to"),
    *("between", "and", "from", "with 95 % confidence", "95 % confidence interval", "saves", "+"),
    *("80 % of sites", "8 out of 10 sites", "at worst", "most sites", "the best site", "(", ")"),
    *("-", ";", ",", "."),
)


def read(text: str) -> tuple[ClaimPart, ...]:
    try:
        return read_claim(text)
    except InputError:
        return ()


@settings(max_examples=300, deadline=None)
@given(st.lists(st.sampled_from(WORDS), max_size=10))
def test_any_words_are_read_or_refused(words: list[str]) -> None:
    text = " ".join(words)
    for part in read(text):
        assert -1.0 < part.saving < 1.0
        if any(word in text for word in ("up to", "max.", "at best")):
            continue
        assert part.subject != "best site" or "to" in words or "and" in words or "best site" in text


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=60))
def test_any_text_is_read_or_refused(text: str) -> None:
    read(text)


@settings(max_examples=100, deadline=None)
@given(st.sampled_from(["5 % on average, up to 15 %", "at least 3 %"]), st.integers(0, 20),
       st.text("bcdghjklqrvwxyz", min_size=3, max_size=8))  # fmt: skip
def test_a_claim_with_an_unknown_word_is_refused(text: str, place: int, word: str) -> None:
    words = text.split()
    words.insert(place % (len(words) + 1), word)
    with pytest.raises(InputError):
        read_claim(" ".join(words))
