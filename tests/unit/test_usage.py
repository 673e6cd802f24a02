"""Words of a command line that cannot be used: one message, or one document, and status 2."""

from __future__ import annotations

import json

import pytest

from pseudo_words import woold
from woold.errors import missing_extra


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("predict", "CASE.toml: nothing; allowed: a value. See woold predict --help."),
        ("predict a.toml b.toml", "woold predict: 'b.toml'; allowed: woold predict"),
        ("predict a.toml --units foo", "--units: 'foo'; allowed: one of trade, si, both."),
        (
            "predict a.toml --unit si",
            "--unit: no such option; allowed: --as-typed, --json, --plot, --units",
        ),
        ("predict a.toml --unit si", 'Did you mean "--units"?'),
        ("predict a.toml --plot", "--plot: no value"),
        ("prdict", 'no command "prdict"; allowed: one of account, carriage'),
        ("prdict", 'Did you mean "woold predict"?'),
        ("carriage", "woold carriage: no command; allowed: one of show, compare, match."),
        ("carriage compar", 'Did you mean "woold carriage compare"?'),
        ("sites pool --confidence 2", "--confidence: '2'; allowed: at most 0.999."),
        ("sites pool --confidence x", "--confidence: 'x'; allowed: a number."),
        ("carriage compare a b --seed 1.5", "--seed: '1.5'; allowed: a whole number."),
        ("--language no-such predict", "--language: no-such; allowed: one of en."),
    ],
)
def test_unusable_words_are_named(line: str, message: str) -> None:
    status, output = woold(*line.split())
    assert status == 2
    assert output.startswith("woold: ")
    assert message in output


def test_unusable_words_are_a_document_where_one_is_asked_for() -> None:
    status, output = woold("predict", "--json", "--units", "foo", "a.toml")
    document = json.loads(output[: output.rindex("}") + 1])
    assert status == 2
    assert document["schema"] == "errors"
    assert document["errors"][0]["field"] == "--units"


def test_version() -> None:
    status, output = woold("--version")
    assert (status, output.split()[0]) == (0, "woold")


def test_package_of_an_extra_is_named_with_its_extra() -> None:
    message = str(missing_extra(ModuleNotFoundError(name="polars.exceptions")))
    assert "woold[watch]" in message
    assert missing_extra(ModuleNotFoundError(name="no_such_module")) is None
