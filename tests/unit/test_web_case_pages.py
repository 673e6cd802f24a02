"""What the pages ask of a case besides its prediction: reports, sensitivity, films, tuning."""

from __future__ import annotations

import json
import re
import shlex
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from woold.case.file import case_from_table
from woold.case.text import table_from_toml
from woold.uncertainty.sensitivity import input_effects
from woold.web.app import create_app
from woold.web.settings import WebSettings


def demo(name: str) -> str:
    return files("woold.demo").joinpath(f"files/{name}").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    store = str(tmp_path_factory.mktemp("store") / "store.sqlite")
    with TestClient(create_app(WebSettings(store=store)), base_url="http://localhost") as client:
        yield client


@pytest.fixture(scope="module")
def today() -> dict[str, Any]:
    return table_from_toml(demo("today.toml"))


def post(client: TestClient, path: str, body: Any, status: int = 200) -> Any:
    answer = client.post(path, json=body)
    assert answer.status_code == status, answer.text
    return answer.json()


def test_the_command_that_a_report_names_makes_the_same_file(
    client: TestClient, today: dict[str, Any], tmp_path: Path, woold: Any
) -> None:
    body = {"case": today, "at": "2026-01-31T12:00:00Z"}
    answer = client.post("/api/reports/prediction/html", json=body)
    assert answer.status_code == 200
    view = post(client, "/api/reports/prediction", body)
    told = next(
        each["text"] for each in view["blocks"] if each.get("text", "").startswith("Run: woold")
    )
    words = shlex.split(told.removeprefix("Run: woold "))
    # The case as the bench downloads it, under the name that the report states.
    toml = post(client, "/api/case/write", {"case": today})["toml"]
    (tmp_path / words[2]).write_text(toml, encoding="utf-8")
    woold(*words, "--out", "again.html", cwd=tmp_path)
    assert (tmp_path / "again.html").read_bytes() == answer.content
    name = re.search(r'filename="(.+)"', answer.headers["content-disposition"])
    assert name is not None
    assert name[1] == f"{words[2].removesuffix('.toml')}-prediction-report.html"


@pytest.mark.parametrize(
    ("kind", "field", "todo"),
    [
        ("carriages", "candidate", "on the carriage page first"),
        ("design", "job", "Search on the design page, then come back."),
    ],
)
def test_a_report_that_lacks_something_says_where_it_is_made(
    client: TestClient, today: dict[str, Any], kind: str, field: str, todo: str
) -> None:
    (problem,) = post(client, f"/api/reports/{kind}", {"case": today}, 422)["errors"]
    assert problem["field"] == field
    assert todo in problem["todo"]


def test_a_way_that_is_not_asked_about_has_no_report(
    client: TestClient, today: dict[str, Any]
) -> None:
    case = {name: each for name, each in today.items() if name != "transport"}
    (problem,) = post(client, "/api/reports/transport", {"case": case}, 422)["errors"]
    assert problem["field"] == "transport"


def test_measure_first_ranks_as_the_library_does(client: TestClient, today: dict[str, Any]) -> None:
    blocks = post(client, "/api/sensitivity", {"case": today})["blocks"]
    table = next(each for each in blocks if each["block"] == "table")
    ranked = [each.field for each in input_effects(case_from_table(today))]
    assert [row[0] for row in table["rows"]] == ranked


def test_curve_of_a_test_is_that_of_the_terminal(
    client: TestClient, tmp_path: Path, woold: Any
) -> None:
    view = post(client, "/api/film/fit", {"name": "t.csv", "text": demo("tensile-test.csv")})
    (tmp_path / "t.csv").write_text(demo("tensile-test.csv"), encoding="utf-8")
    told = json.loads(woold("film", "fit", "t.csv", "--json", cwd=tmp_path).stdout)
    values = {each["field"]: each["value"] for each in told["values"]}
    stress, modulus = (
        float(view["film"][name]["value"].split()[0]) * 1e6
        for name in ("yield_stress", "hardening_modulus")
    )
    assert stress == pytest.approx(values["film.yield_stress"], rel=1e-3)
    assert modulus == pytest.approx(values["film.hardening_modulus"], rel=1e-3)
    assert "figure" in {each["block"] for each in view["blocks"]}
    asked = {"name": "t.csv", "text": "a,b\n1,2\n", "gauge_length": "50 kg"}
    (problem,) = post(client, "/api/film/fit", asked, 422)["errors"]
    assert problem["field"] == "gauge_length"
    errors = post(client, "/api/film/fit", {"name": "../t.csv", "text": "a,b\n1,2\n"}, 422)[
        "errors"
    ]
    assert "/tmp" not in str(errors)


def test_films_of_the_shelf_are_matched(client: TestClient, today: dict[str, Any]) -> None:
    (problem,) = post(client, "/api/film/match", {"case": today}, 422)["errors"]
    assert problem["field"] == "shelf"
    post(client, "/api/shelf/file", {"toml": demo("plant.toml")}, 201)
    view = post(client, "/api/film/match", {"case": today})
    # The latest version of the one film that stands there.
    assert view["names"] == ["thin film"]
    assert set(view["fitting"]) <= {"thin film"}


def test_the_dancer_is_tuned_within_what_the_case_lists(
    client: TestClient, today: dict[str, Any]
) -> None:
    asked = {"case": today, "slowest": "6 rpm", "fastest": "14 rpm"}
    best = post(client, "/api/dancer/tune", asked)["best"]
    dancer = case_from_table(today).dancer
    assert dancer is not None
    assert 1 <= best["spring"] <= len(dancer.springs)
    drive = today["dancer"].get("drive", {}) | {"gain": best["gain"]}
    case = today | {"dancer": today["dancer"] | {"hole": best["hole"], "drive": drive}}
    put = case_from_table(case).dancer
    assert put is not None
    assert min(abs((put.hole or 0.0) - each) for each in dancer.holes) < 1e-6
    (problem,) = post(client, "/api/dancer/tune", asked | {"slowest": "6 kg"}, 422)["errors"]
    assert problem["field"] == "slowest"
