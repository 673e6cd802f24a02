"""The shelf over HTTP: versions that are only added, cases that name things or take them."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from woold.case.text import table_from_toml
from woold.web.app import create_app
from woold.web.settings import WebSettings

FILM = {"roll_width": "20 in", "thickness": "47 gauge", "rated_prestretch": "300 %"}


def demo(name: str) -> str:
    return files("woold.demo").joinpath(f"files/{name}").read_text(encoding="utf-8")


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    settings = WebSettings(store=str(tmp_path / "store.sqlite"), hosts=())
    with TestClient(create_app(settings), base_url="http://localhost") as client:
        yield client


def post(client: TestClient, path: str, body: Any, status: int = 200) -> Any:
    answer = client.post(path, json=body)
    assert answer.status_code == status, answer.text
    return answer.json()


def film(version: int, **changes: Any) -> dict[str, Any]:
    typed = FILM | changes
    return {"kind": "films", "name": "thin", "version": version, "typed": typed}


def today() -> dict[str, Any]:
    return table_from_toml(demo("today.toml"))


def shelved(client: TestClient) -> None:
    post(client, "/api/shelf/file", {"toml": demo("plant.toml")}, 201)


def test_versions_are_added_and_what_changed_is_told(client: TestClient) -> None:
    assert post(client, "/api/shelf", film(1), 201)["added"] == ["@thin#1"]
    post(client, "/api/shelf", film(2, thickness="45 gauge"), 201)
    found = client.get("/api/shelf/thing", params={"kind": "films", "name": "thin"}).json()
    assert [each["version"] for each in found["versions"]] == [2, 1]
    change = found["blocks"][-1]
    assert change["rows"] == [["films.thickness", "47 gauge", "45 gauge"]]
    (line,) = client.get("/api/shelf").json()["kinds"][0]["things"]
    assert (line["name"], line["version"]) == ("thin", 2)


def test_somebody_else_was_first(client: TestClient) -> None:
    post(client, "/api/shelf", film(1), 201)
    refused = post(client, "/api/shelf", film(1, thickness="45 gauge"), 409)
    assert "version 1, other than the one that is kept" in refused["errors"][0]["message"]
    same = post(client, "/api/shelf", film(2), 409)
    assert "the same as version 1" in same["errors"][0]["message"]
    # New resin: it is marked as changed though its table says the same.
    assert (same["errors"][0]["field"], same["errors"][0]["kind"]) == ("films", "question")
    changed = post(client, "/api/shelf", film(2) | {"as_typed": ["films"]}, 201)
    assert changed["added"] == ["@thin#2"]


def test_problems_stand_at_the_fields_of_the_form(client: TestClient) -> None:
    refused = post(client, "/api/shelf", film(1, thickness="thick"), 422)
    assert refused["errors"][0]["field"] == "films.thickness"
    asked = post(client, "/api/shelf", film(1, thickness="900 gauge"), 422)["errors"][0]
    assert (asked["field"], asked["kind"]) == ("films.thickness", "question")
    body = film(1, thickness="900 gauge") | {"as_typed": ["films.thickness"]}
    post(client, "/api/shelf", body, 201)


@pytest.mark.parametrize(
    "path",
    [
        "/api/predict", "/api/verdict", "/api/case/write", "/api/carriage", "/api/carriage/compare",
        "/api/dancer/springs", "/api/dancer/simulate", "/api/transport", "/api/design",
    ],
)  # fmt: skip
def test_a_named_film_is_found_wherever_a_case_is_sent(client: TestClient, path: str) -> None:
    case = today() | {"film": "@thin"}
    body = {"case": case, "base": case, "candidate": case, "speed": None, "spring": None}
    refused = client.post(path, json=body)
    assert refused.status_code == 422
    assert "Nothing is on the shelf yet" in refused.text
    post(client, "/api/shelf", film(1), 201)
    answer = client.post(path, json=body)
    assert "shelf" not in answer.text or answer.status_code < 300, answer.text
    assert '"film"' not in answer.text or answer.status_code < 300, answer.text


def test_a_file_of_names_is_read_written_out(client: TestClient) -> None:
    shelved(client)
    read = post(client, "/api/case/read", {"toml": demo("named.toml")})
    assert read["problems"] == []
    # The demo's case rests on the first version, whose film is the thicker one.
    assert read["case"]["film"]["thickness"] == "47 gauge"
    made_of = {(each["kind"], each["name"], each["version"]) for each in read["case"]["made_of"]}
    assert ("films", "thin film", 1) in made_of
    since = post(client, "/api/shelf/since", {"case": read["case"]})
    told = {each["kind"]: each for each in since["things"]}
    assert (told["films"]["state"], told["films"]["latest"]) == ("newer", 2)
    assert told["loads"]["state"] == "as it was"
    rows = [each["rows"] for each in since["blocks"] if each["caption"].startswith("What changed")]
    assert ["films.thickness", "47 gauge", "45 gauge"] in rows[0]


def test_taking_keeps_the_version_and_replaces_what_it_brings_alone(client: TestClient) -> None:
    shelved(client)
    case = today() | {"as_typed": ["film.thickness", "load.mass"]}
    body = {"case": case, "kind": "films", "name": "thin film", "version": 1}
    taken = post(client, "/api/shelf/take", body)["case"]
    assert taken["film"] == {
        "roll_width": "20 in", "thickness": "47 gauge", "rated_prestretch": "300 %",
        "price": "2.5 USD/kg",
    }  # fmt: skip
    assert taken["load"] == case["load"]
    assert taken["as_typed"] == ["load.mass"]
    assert [(each["name"], each["version"]) for each in taken["made_of"]] == [("thin film", 1)]
    again = post(client, "/api/shelf/take", body | {"case": taken, "version": None})["case"]
    assert again["film"]["thickness"] == "45 gauge"
    assert [(each["name"], each["version"]) for each in again["made_of"]] == [("thin film", 2)]
    line = post(client, "/api/shelf/take", body | {"case": again, "kind": "machines",
                "name": "line 1", "version": None})["case"]  # fmt: skip
    assert [each["kind"] for each in line["made_of"]] == [
        "films", "machines", "machine_models", "carriages",
    ]  # fmt: skip
    post(client, "/api/predict", {"case": line})


def test_what_was_changed_by_hand_after_taking_is_told(client: TestClient) -> None:
    shelved(client)
    body = {"case": today(), "kind": "films", "name": "thin film"}
    taken = post(client, "/api/shelf/take", body)["case"]
    assert post(client, "/api/shelf/since", {"case": taken})["things"][0]["by_hand"] == 0
    taken["film"]["thickness"] = "50 gauge"
    since = post(client, "/api/shelf/since", {"case": taken})
    assert since["things"][0]["told"] == "as on the shelf; 1 changed by hand"
    assert since["blocks"][-1]["rows"] == [["films.thickness", "45 gauge", "50 gauge"]]


def test_the_shelf_is_taken_away_as_a_file(client: TestClient) -> None:
    assert client.get("/api/shelf/file").status_code == 404
    shelved(client)
    table = tomllib.loads(client.get("/api/shelf/file").text)
    assert [each["version"] for each in table["films"]] == [1, 2]
    assert post(client, "/api/shelf/file", {"toml": demo("plant.toml")}, 201)["added"] == []


def test_what_is_sent_can_be_anything(client: TestClient) -> None:
    shelved(client)
    odd = {
        "made_of": [1, {"kind": "films"}, {"kind": [], "name": {}}],
        "as_typed": [1, {}],
        "film": 3,
    }
    assert post(client, "/api/shelf/since", {"case": odd})["things"] == []
    body = {"case": odd, "kind": "films", "name": "thin film"}
    assert post(client, "/api/shelf/take", body)["case"]["film"]["thickness"] == "45 gauge"
    deep: Any = "x"
    for _ in range(40):
        deep = [deep]
    refused = post(client, "/api/shelf/since", {"case": {"film": deep}}, 422)
    assert "nested too deeply" in refused["errors"][0]["message"]


def test_cases_of_a_trial_may_name_what_is_kept(client: TestClient) -> None:
    """As a case on the bench may; what cannot be found is told with its file."""
    trial = table_from_toml(demo("trial.toml"))
    for each in trial["load_types"]:
        each |= {"baseline": "named.toml", "candidate": "next.toml"}
    cases = {"named.toml": demo("named.toml"), "next.toml": demo("next.toml")}
    body = {"trial": trial, "cases": cases, "loads_per_treatment": 8}
    problems = post(client, "/api/trial-plan", body, 422)["errors"]
    assert {each["field"] for each in problems} == {
        f"named.toml, {name}" for name in ("load", "film", "machine", "program")
    }
    shelved(client)
    assert post(client, "/api/trial-plan", body)["plan"]["loads_per_treatment"] == 8
    pair = {"trial": trial} | {
        side: {"name": name, "toml": cases[name]}
        for side, name in (("baseline", "named.toml"), ("candidate", "next.toml"))
    }
    assert post(client, "/api/trial-plan/cases", pair)["trial"]["load_types"]
    started = post(client, "/api/trials", body, 201)
    assert started["plan"]["loads_per_treatment"] == 8
