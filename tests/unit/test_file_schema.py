"""JSON Schema of settings files: what is committed, what it takes and what it refuses."""

from __future__ import annotations

import json
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

import jsonschema_rs
import pytest

from schemas import FOLDER
from woold.case.file import starter_text
from woold.demo.file_schemas import schema_texts
from woold.demo.scenario import write_scenario
from woold.trial.starter import starter_text as trial_starter_text


def _schema(name: str) -> Any:
    return json.loads((FOLDER / f"{name}.schema.json").read_text(encoding="utf-8"))


def _demo(name: str) -> dict[str, Any]:
    """A file of the demo; dates as editors see them, as text."""
    text = files("woold.demo").joinpath("files", name).read_text(encoding="utf-8")
    plain: dict[str, Any] = json.loads(json.dumps(tomllib.loads(text), default=str))
    return plain


def test_committed_schemas_are_those_of_the_models() -> None:
    assert {path.name for path in FOLDER.iterdir()} == set(schema_texts())
    for name, text in schema_texts().items():
        assert (FOLDER / name).read_text(encoding="utf-8") == text, "run: make schema"


@pytest.mark.parametrize("name", ["case", "line", "release", "shelf", "trial", "watch"])
def test_schema_follows_its_draft(name: str) -> None:
    assert jsonschema_rs.meta.is_valid(_schema(name))


@pytest.mark.parametrize(
    ("schema", "file"),
    [
        ("case", "today.toml"),
        ("case", "candidate.toml"),
        ("case", "next.toml"),
        ("shelf", "films.toml"),
        ("trial", "trial.toml"),
        ("release", "release.toml"),
        ("line", "line.toml"),
        ("watch", "watch.toml"),
    ],
)
def test_files_of_the_demo_fit(schema: str, file: str) -> None:
    errors = jsonschema_rs.validator_for(_schema(schema)).iter_errors(_demo(file))
    assert [str(each) for each in errors] == []


def test_starters_fit() -> None:
    for name, text in (("case", starter_text()), ("trial", trial_starter_text())):
        assert jsonschema_rs.validator_for(_schema(name)).is_valid(tomllib.loads(text))


@pytest.mark.parametrize(
    ("table", "key", "value"),
    [
        ("film", "thickness", 63),
        ("film", "thickness", "gauge"),
        ("film", "thikness", "63 gauge"),
        ("film", "thickness", {"value": "63 gauge"}),
        ("film", "thickness", {"value": "63 gauge", "origin": "gauge block", "most": "1 m"}),
        ("machine", "kind", "hoverboard"),
        ("load", "offset", ["0 m"]),
        ("load", "tiers", "six"),
        ("program", "bands", {}),
    ],
)
def test_mistakes_are_refused(table: str, key: str, value: object) -> None:
    case = _demo("today.toml")
    validator = jsonschema_rs.validator_for(_schema("case"))
    assert validator.is_valid(case)
    case[table][key] = value
    assert not validator.is_valid(case)


def test_new_case_names_its_schema(tmp_path: Path) -> None:
    from pseudo_words import woold

    status, _output = woold("case", "new", str(tmp_path / "jars.toml"))
    first = (tmp_path / "jars.toml").read_text(encoding="utf-8").splitlines()[0]
    beside = tmp_path / first.removeprefix("#:schema ")
    assert status == 0
    assert json.loads(beside.read_text(encoding="utf-8")) == _schema("case")


def test_quantities_show_their_units() -> None:
    thickness = _schema("case")["definitions"]["thickness"]
    assert '"63 gauge"' in thickness["description"]
    assert "63 gauge" in thickness["anyOf"][0]["examples"]


def test_documents_name_every_schema() -> None:
    page = (Path(FOLDER).parent / "installation.md").read_text(encoding="utf-8")
    assert all(name in page for name in schema_texts())


@pytest.mark.parametrize(
    ("words", "schema"), [(("case", "new"), "case"), (("trial", "new"), "trial")]
)
def test_a_new_file_names_its_schema(tmp_path: Path, words: tuple[str, ...], schema: str) -> None:
    """The first line is the one that editors look for; the schema lies beside the file."""
    from pseudo_words import captured

    file = tmp_path / "started.toml"
    status, _, errors = captured(*words, str(file))
    assert (status, errors) == (0, "")
    assert file.read_text().splitlines()[0] == f"#:schema {schema}.schema.json"
    beside = (tmp_path / f"{schema}.schema.json").read_text(encoding="utf-8")
    assert beside == schema_texts()[f"{schema}.schema.json"]


def test_the_scenarios_files_name_schemas_that_lie_beside_them(tmp_path: Path) -> None:
    """Case, shelf, line, trial and watch alike."""
    write_scenario(tmp_path)
    named = {
        file.name: file.read_text(encoding="utf-8").splitlines()[0]
        for file in tmp_path.glob("*.toml")
    }
    assert {line.partition(" ")[0] for line in named.values()} == {"#:schema"}
    schemas = {line.partition(" ")[2] for line in named.values()}
    assert schemas == set(schema_texts())
    assert all((tmp_path / name).is_file() for name in schemas)
