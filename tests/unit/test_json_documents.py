"""Every document that a command prints is a typed model, with its schema and woold's version."""

from __future__ import annotations

import dataclasses
import json
import os
import re
import typing
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import woold
from pseudo_words import PseudoDemo, captured, commands, json_models
from woold.demo.scenario import STEPS
from woold.rows.document import plain
from woold.web.documents import shape_of

PAGE = (Path(__file__).parents[2] / "docs/json.md").read_text(encoding="utf-8")
LISTED = set(re.findall(r"`([\w-]+)`", PAGE))


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[PseudoDemo]:
    before = dict(os.environ)
    yield PseudoDemo(tmp_path_factory.mktemp("documents"), as_json=True)
    os.environ.clear()
    os.environ.update(before)


def shape(value: Any) -> Any:
    """The keys of a document, with what kind of thing each holds; numbers are one kind."""
    if isinstance(value, dict):
        return {key: shape(each) for key, each in value.items()}
    if isinstance(value, list):
        return [shape(each) for each in value]
    return float if isinstance(value, int | float) and not isinstance(value, bool) else type(value)


# Every report prints the same document, so that one is enough: they take long to make.
_NAMED = {
    f"{index:02d} {' '.join(step.arguments[:2])}": index
    for index, step in enumerate(STEPS)
    if step.arguments[0] != "report" or step.arguments[1] == "transport"
}


@pytest.mark.xdist_group("pseudo")
@pytest.mark.parametrize("name", _NAMED)
def test_what_a_command_prints_is_its_model(demo: PseudoDemo, name: str) -> None:
    """No key more and none less than the model has, each of its kind, in the reader's language."""
    step = STEPS[_NAMED[name]]
    if step.needs:
        pytest.importorskip(step.needs)
    ran = demo.step(_NAMED[name])
    assert ran.status == step.exit_status, ran.output
    assert ran.document is not None
    body = dict(ran.document)
    assert body.pop("woold") == woold.__version__
    name = body.pop("schema")
    kept = json.loads(json.dumps(body))
    if name == "trial-analysis":  # its means are sent with the unit in their keys
        for part in filter(None, (kept["film"], kept["film_without_outliers"], kept["cycle_time"])):
            for key in [each for each in part if each.endswith(("_kg", "_s"))]:
                part[key.rpartition("_")[0]] = part.pop(key)
    model = shape_of(json_models()[name])
    read = model.model_validate(kept)
    assert shape({key: plain(getattr(read, key)) for key in model.model_fields}) == shape(kept)
    assert ran.left == {}


def test_the_page_names_every_document_and_key() -> None:
    def keys(hint: Any, seen: set[Any]) -> Iterator[str]:
        if (dataclasses.is_dataclass(hint) or hasattr(hint, "_fields")) and hint not in seen:
            seen.add(hint)
            hints = typing.get_type_hints(hint)
            kept = dataclasses.fields(hint) if dataclasses.is_dataclass(hint) else ()
            beside = {each.name for each in kept if not each.compare}
            for name, inner in hints.items():
                if name not in beside:
                    yield name
                    yield from keys(inner, seen)
        for inner in typing.get_args(hint):
            yield from keys(inner, seen)

    for name, model in json_models().items():
        assert name in LISTED
        assert set(keys(model, set())) - LISTED == set(), name


NO_RESULT = {("serve",): "runs until it is stopped; its pages and its API tell what it does"}
"""Commands without a result of their own, and why."""


def test_every_command_that_ends_has_documents() -> None:
    every = commands()
    groups = {words[:-1] for words in every if words}
    for words in every:
        if words in groups or words in NO_RESULT:
            continue
        _status, text = captured(*words, "--help")[:2]
        assert "--json" in text, words


@pytest.mark.parametrize(
    "words",
    [
        ("predict", "none.toml", "--json"),
        ("sites", "pool", "none.csv", "--json"),
        ("watch", "loads", "--json"),
        ("trial", "plan", "none.toml", "--json"),
        ("predict", "--jsn", "--json"),
        ("nothing", "--json"),
    ],
)
def test_errors_are_a_document(words: tuple[str, ...]) -> None:
    status, out, _ = captured(*words)
    document = json.loads(out)
    assert status == 2
    assert document["schema"] == "errors"
    assert document["woold"] == woold.__version__
    assert [set(each) for each in document["errors"]] == [
        {"field", "given", "allowed", "todo", "file", "message", "kind"}
    ]


def test_an_unforeseen_fault_is_a_document_too(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: Any, **__: Any) -> None:
        raise RuntimeError("made up")

    monkeypatch.setattr("woold.cli.case.read_case", fails)
    status, out, errors = captured("case", "check", "any.toml", "--json")
    assert status == 70
    (found,) = json.loads(out)["errors"]
    assert "made up" in found["message"]
    assert "made up" in errors
