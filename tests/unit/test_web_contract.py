"""The contract between server and pages: every answer a typed document, one description of all."""

from __future__ import annotations

import json
from collections.abc import Iterator
from importlib.metadata import version
from pathlib import Path
from typing import Any, get_args

import pytest
from fastapi.testclient import TestClient

from woold.rows import blocks
from woold.web.app import create_app
from woold.web.block_data import sent
from woold.web.settings import WebSettings

ROOT = Path(__file__).parents[2]
DESCRIPTION = ROOT / "frontend/openapi.json"


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    store = str(tmp_path_factory.mktemp("store") / "store.sqlite")
    with TestClient(create_app(WebSettings(store=store)), base_url="http://localhost") as client:
        yield client


@pytest.fixture(scope="module")
def description(client: TestClient) -> dict[str, Any]:
    found: dict[str, Any] = client.get("/openapi.json").json()
    return found


def test_pages_are_built_from_this_description(description: dict[str, Any]) -> None:
    """The build has no woold to ask, so the description is kept beside the pages."""
    kept = json.loads(DESCRIPTION.read_text(encoding="utf-8"))
    assert kept == description, "write it anew: uv run python tests/unit/test_web_contract.py"


def _answers(description: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    for path, methods in description["paths"].items():
        for method, operation in methods.items():
            for status, answer in operation["responses"].items():
                content = answer.get("content", {}).get("application/json")
                if content:
                    yield f"{method} {path} {status}", content["schema"]


def test_every_answer_is_a_document_with_schema_and_version(description: dict[str, Any]) -> None:
    models = description["components"]["schemas"]
    count = 0
    for where, schema in _answers(description):
        assert "$ref" in schema, where
        model = models[schema["$ref"].rpartition("/")[2]]
        assert {"schema", "woold"} <= set(model["required"]), where
        assert model["properties"]["schema"]["const"], where
        count += 1
    assert count > 100


def test_no_two_models_share_a_name(description: dict[str, Any]) -> None:
    """Where they did, the pages' types would be named after modules."""
    assert [name for name in description["components"]["schemas"] if "__" in name] == []


def test_no_key_of_an_answer_is_left_open(description: dict[str, Any]) -> None:
    """No object may hold just anything, but the tables of a case, which the user writes."""
    models = description["components"]["schemas"]
    seen: set[str] = set()

    def look(part: Any, where: str) -> None:
        if isinstance(part, list):
            for each in part:
                look(each, where)
        if not isinstance(part, dict):
            return
        if "$ref" in part:
            name = part["$ref"].rpartition("/")[2]
            if name not in seen and name != "Value":
                seen.add(name)
                look(models[name], name)
            return
        assert part.get("additionalProperties") is not True, where
        for key, each in part.get("properties", {}).items():
            known = {"type", "$ref", "anyOf", "oneOf", "const", "enum"} & set(each)
            assert known, f"{where}.{key}"
        for key, each in part.items():
            if key != "required":
                look(each, where)

    for where, schema in _answers(description):
        look(schema, where)
    assert {"Predicted", "Prediction", "HeightPoint", "DesignResult", "Analysis"} <= seen


def test_refusals_have_the_shape_of_the_terminals(client: TestClient) -> None:
    for answer in (
        client.post("/api/predict", json={"case": {"film": {"thickness": "3 parsnips"}}}),
        client.post("/api/predict", json={}),
        client.get("/api/nothing-here"),
        client.get("/api/trials/no-such-trial"),
    ):
        document = answer.json()
        assert document["schema"] == "errors"
        assert document["woold"] == version("woold")
        for each in document["errors"]:
            assert {"field", "given", "allowed", "todo", "message"} <= each.keys()


@pytest.mark.parametrize("kind", get_args(blocks.Block))
def test_every_block_can_be_sent(kind: type) -> None:
    made = {
        blocks.Heading: blocks.Heading("Result", 3),
        blocks.Paragraph: blocks.Paragraph("It holds.", is_strong=True),
        blocks.Bullets: blocks.Bullets(("one", "two")),
        blocks.Facts: blocks.Facts("Film", (blocks.Row("turns", "14", "13 to 15", "counted"),)),
        blocks.Table: blocks.Table("Turns", ("part", "turns"), (("bottom wraps", "2"),)),
        blocks.Figure: blocks.Figure("<svg/>", "the load", "a load"),
        blocks.Note: blocks.Note("film.thickness", "Thin."),
        blocks.Cautions: blocks.Cautions("Take care", ("Keep clear.",)),
        blocks.SideBySide: blocks.SideBySide((blocks.Paragraph("left"),), ()),
    }[kind]
    (data,) = sent([made])
    assert json.loads(data.model_dump_json()) == json.loads(json.dumps(blocks.to_data(made)))


def test_rows_come_in_the_readers_units(client: TestClient, table: dict[str, Any]) -> None:
    def film(**params: str) -> str:
        answer = client.post("/api/predict", json={"case": table}, params=params)
        return str(answer.json()["figures"][0]["rows"][0]["value"])

    assert " g" in film(units="si")
    assert "oz" not in film(units="si")
    assert "oz" in film(units="trade")
    both = film(units="both")
    assert "oz" in both
    assert " g" in both
    assert (
        client.post("/api/predict", json={"case": table}, params={"units": "x"}).status_code == 422
    )


if __name__ == "__main__":
    made = create_app(WebSettings(store="sqlite://")).openapi()
    DESCRIPTION.write_text(json.dumps(made, indent=1) + "\n", encoding="utf-8")
