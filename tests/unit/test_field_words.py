"""Fields of a case by the words of the form, wherever a text names them."""

from __future__ import annotations

import pytest

from woold.case.field_words import about_words, in_field_words


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("film.thickness", "Film: thickness"),
        ("carriage.rollers[0].diameter", "Rollers, 1: diameter"),
        ("dancer.drive.gain", "Drive: gain"),
        ("film.price of base.carriage.friction.",
         "“Film: price” of “Film carriage: friction” of the base."),
        ("candidate.carriage", "“Film carriage” of the candidate"),
        # What only looks like one: a word, a longer name, a file's, a place.
        ("film", "film"),
        ("see film.thickness_left, case.film.price and www.film.price.example",
         "see film.thickness_left, case.film.price and www.film.price.example"),
    ],
)  # fmt: skip
def test_a_field_is_named_in_words(text: str, said: str) -> None:
    assert in_field_words(text) == said


def test_what_a_finding_is_about_is_words_or_nothing() -> None:
    assert about_words("carriage") == "Film carriage"
    assert about_words("hold.targets[1].force") == "Containment asked by zone, 2: force"
    assert about_words("load 6") == "load 6"
    for code in ("loads_per_year", "--draws", "catalogue.refuse_above"):
        assert about_words(code) == ""
