"""The catalogue holds every word of the program's own; a pseudo-language proves it.

Areas are tested one by one: pytest -k "words and predict" names a command of the demo, -k help a
command's help, -k page a page of the server. tests/pseudo_words.py prints what is left.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path

import polib
import pytest

import pseudo_words
from pseudo_words import CATALOGUE, PseudoDemo, Texts, english_left, pseudo
from woold.demo.scenario import STEPS
from woold.words import say, set_language, speaking
from words_catalogue import NoLiteralError, catalogue_text, python_texts


def test_catalogue_is_what_can_be_said() -> None:
    assert CATALOGUE.read_text(encoding="utf-8") == catalogue_text(), "run: make words"


def test_places_for_values_can_be_filled() -> None:
    """A brace that is no {name} would fail when the text is said."""
    for entry in polib.pofile(str(CATALOGUE)):
        if any(place.startswith(("typer", "woold --help")) for place, _ in entry.occurrences):
            continue
        inside = re.findall(r"\{([^{}]*)\}", entry.msgid)
        are_places = [re.fullmatch(r"\w+(?:![rsa])?(?::[^{}]*)?", each) for each in inside]
        # A text without any is said as it stands, braces and all.
        assert all(are_places) or not any(are_places), entry.msgid


def test_texts_that_no_catalogue_can_hold_are_refused(tmp_path: Path) -> None:
    source = tmp_path / "x.py"
    for call in ('say(f"{name} wraps")', 'say("bottom " + "wraps")', 'say("a" if x else "b")'):
        source.write_text(call, encoding="utf-8")
        with source.open("rb") as file, pytest.raises(NoLiteralError):
            list(python_texts(file, ("say",), (), {}))


def test_shares_are_written_with_a_space() -> None:
    """As ISO 80000-1 (7.1.4, from memory) has it, wherever the number is put in."""
    assert say("balances at {share:.0%}", share=0.589) == "balances at 59 %"
    assert say("{share:.1%} of {n}, {words!r}", share=0.005, n=3, words="x") == "0.5 % of 3, 'x'"
    assert say("95 % of {n}", n=3) == "95 % of 3"


def test_search_finds_english_and_spares_what_is_no_word() -> None:
    theirs = Texts({"Jars on a pallet"})
    assert english_left(pseudo("Film on {load}").replace("{load}", "12 kg"), theirs) == []
    assert (
        english_left("Jars on a pallet: 12.3 gauge, film.thickness, --units <si|trade>", theirs)
        == []
    )
    assert english_left("Film per load", theirs) == ["Film", "per", "load"]


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[PseudoDemo]:
    before = dict(os.environ)
    yield PseudoDemo(tmp_path_factory.mktemp("pseudo"))
    os.environ.clear()
    os.environ.update(before)


def test_pseudo_language_is_spoken(demo: PseudoDemo) -> None:  # noqa: ARG001
    with speaking(pseudo_words.TAG):
        assert say("film for {loads} loads", loads=3) == "film for 3 loads"
        assert say("bottom wraps") == pseudo("bottom wraps") != "bottom wraps"
    with pytest.raises(KeyError):
        set_language("no-such-tag")


_NAMED = {f"{index:02d} {' '.join(step.arguments[:2])}": index for index, step in enumerate(STEPS)}


@pytest.mark.xdist_group("pseudo")
@pytest.mark.parametrize("name", _NAMED)
def test_no_english_is_left_in_what_a_command_prints_and_writes(
    demo: PseudoDemo, name: str
) -> None:
    step = STEPS[_NAMED[name]]
    if step.needs:
        pytest.importorskip(step.needs)
    ran = demo.step(_NAMED[name])
    assert ran.status == step.exit_status, ran.output
    assert ran.left == {}


@pytest.mark.xdist_group("pseudo")
@pytest.mark.parametrize("words", pseudo_words.commands(), ids=" ".join)
def test_no_english_is_left_in_help(demo: PseudoDemo, words: tuple[str, ...]) -> None:  # noqa: ARG001
    assert pseudo_words.help_left(words) == []


@pytest.mark.xdist_group("pseudo")
@pytest.mark.parametrize("address", pseudo_words.pages())
def test_no_english_is_left_in_a_page(demo: PseudoDemo, address: str) -> None:  # noqa: ARG001
    assert pseudo_words.page_left(address) == []
