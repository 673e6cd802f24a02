"""Every phrasing of claims.csv is read as it says there, or refused with the words it names."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from woold.errors import InputError
from woold.sites.claim_parts import ClaimPart
from woold.sites.claim_reader import read_claim

with (Path(__file__).parent / "claims.csv").open(encoding="utf-8") as stream:
    PHRASINGS = [tuple(row) for row in csv.reader(stream, delimiter="|", quoting=csv.QUOTE_NONE)][
        1:
    ]

_RELATIONS = {
    "about": "",
    "at least": ">= ",
    "more than": "> ",
    "at most": "<= ",
    "less than": "< ",
}
_SUBJECTS = {"every site": "every", "best site": "most"}


def written(part: ClaimPart) -> str:
    """A part in the short form of claims.csv."""
    subject = _SUBJECTS.get(part.subject, part.subject)
    if part.share is not None:
        subject = f"share {100 * part.share:g}"
    text = f"{subject} {_RELATIONS[part.relation]}{100 * part.saving:.6g}"
    if part.low is not None and part.high is not None:
        text += f" in {100 * part.low:.6g}..{100 * part.high:.6g}"
    return text if part.confidence is None else f"{text} @{100 * part.confidence:g}"


@pytest.mark.parametrize(("text", "reading"), PHRASINGS, ids=[row[0][:40] for row in PHRASINGS])
def test_phrasing_is_read_or_refused(text: str, reading: str) -> None:
    if reading.startswith("refused: "):
        with pytest.raises(InputError) as caught:
            read_claim(text)
        (problem,) = caught.value.problems
        # What is allowed names a claim as an example: only what was found counts.
        assert reading.removeprefix("refused: ") in f"{problem.given} {problem.todo}"
        assert len(problem.given) <= 80  # longer ones are cut where they are shown
    else:
        assert "; ".join(written(part) for part in read_claim(text)) == reading


def test_there_are_three_hundred_phrasings_and_each_stands_once() -> None:
    assert len({text for text, _ in PHRASINGS}) == len(PHRASINGS) >= 300


def test_a_long_text_is_refused_quickly() -> None:
    with pytest.raises(InputError, match="Shorten"):
        read_claim("5 % " * 200)
