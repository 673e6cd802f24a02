"""What the carriage, dancer and design pages ask of the server."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from woold.carriages.compare import compare_carriages
from woold.carriages.study import carriage_report
from woold.case.file import case_from_table
from woold.case.text import table_from_toml
from woold.dancer.springs import spring_table
from woold.design.study import design_program
from woold.units import KINDS, from_si, show
from woold.web.app import create_app
from woold.web.settings import WebSettings


def _demo(name: str) -> dict[str, Any]:
    return table_from_toml(files("woold.demo").joinpath("files", name).read_text(encoding="utf-8"))


BASE, CANDIDATE = _demo("today.toml"), _demo("candidate.toml")


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    store = str(tmp_path_factory.mktemp("store") / "store.sqlite")
    with TestClient(create_app(WebSettings(store=store)), base_url="http://localhost") as client:
        yield client


def _same(document: Any, expected: Any) -> bool:
    return bool(document == json.loads(json.dumps(expected)))


def test_shown_units_are_those_of_the_command_line(client: TestClient) -> None:
    """Factor and offset give the same number as `woold.units`, which says it in text."""
    kinds = client.get("/api/fields").json()["kinds"]
    assert kinds.keys() == KINDS.keys()
    for name, kind in KINDS.items():
        for system, unit in (("metric", kind.metric), ("trade", kind.trade)):
            line = kinds[name][system]
            shown = line["factor"] * 2.5 + line["offset"]
            assert shown == pytest.approx(from_si(2.5, name, unit), rel=1e-12)
    assert show(1.0, "thickness", "trade").endswith(kinds["thickness"]["trade"]["symbol"])


def test_carriage_and_its_drawing(client: TestClient) -> None:
    answer = client.post("/api/carriage", json={"case": CANDIDATE}).json()
    assert _same(answer["report"], carriage_report(case_from_table(CANDIDATE)).to_json())
    drawing = answer["drawing"]
    assert len(drawing["rollers"]) == len(CANDIDATE["carriage"]["rollers"])
    # Spans and arcs take turns, end to end, from the roll to the way out.
    assert len(drawing["spans"]) == len(drawing["arcs"]) + 1
    for span, arc, after in zip(
        drawing["spans"], drawing["arcs"], drawing["spans"][1:], strict=False
    ):
        assert span["end_m"] == pytest.approx(arc["start_m"], abs=1e-9)
        assert arc["end_m"] == pytest.approx(after["start_m"], abs=1e-9)


def test_carriage_without_rollers_has_no_drawing(client: TestClient, table: dict[str, Any]) -> None:
    assert client.post("/api/carriage", json={"case": table}).json()["drawing"] is None


def test_comparison_is_that_of_the_command_line(client: TestClient) -> None:
    ask = {"base": BASE, "candidate": CANDIDATE, "draws": 200, "seed": 3}
    answer = client.post("/api/carriage/compare", json=ask)
    expected = compare_carriages(case_from_table(BASE), case_from_table(CANDIDATE), 200, 3)
    assert _same(answer.json()["comparison"], expected.to_json())


def test_example_carriages_can_be_reported(client: TestClient) -> None:
    for each in client.get("/api/carriage/examples").json()["carriages"]:
        case = copy.deepcopy(BASE) | {"carriage": each["carriage"]}
        assert client.post("/api/carriage", json={"case": case}).status_code == 200


def test_springs_and_the_one_tried(client: TestClient) -> None:
    answer = client.post("/api/dancer/springs", json={"case": BASE})
    assert _same(answer.json()["springs"], spring_table(case_from_table(BASE)).to_json())
    ask = {"case": BASE, "spring": 2, "hole": "140 mm", "speed": "10 rpm"}
    cycle = client.post("/api/dancer/simulate", json=ask).json()
    assert cycle["study"]["spring"] == 2
    assert cycle["arm"]["hole_m"] == pytest.approx(0.14)
    assert cycle["study"]["turning_speed_rad_per_s"] == pytest.approx(1.0472, rel=1e-4)
    assert len(cycle["turn"]["touched_vertex"]) == len(cycle["turn"]["angle_rad"])


@pytest.mark.parametrize(
    ("ask", "field"),
    [
        ({"hole": "140 N"}, "dancer.hole"),
        ({"speed": "0 rpm"}, "machine.speed"),
        ({"spring": 9}, "--spring"),
    ],
)
def test_what_cannot_be_tried_is_named(client: TestClient, ask: dict[str, Any], field: str) -> None:
    answer = client.post("/api/dancer/simulate", json={"case": BASE} | ask)
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == field


def test_trace_with_a_bad_line_names_the_file_as_it_was_called(
    client: TestClient, tmp_path: Path
) -> None:
    text = "time [s],dancer [deg]\n" + "".join(f"{n / 100},{n % 7}\n" for n in range(40)) + "x,1\n"
    answer = client.post("/api/dancer/trace", json={"name": "../../etc/a b.csv", "text": text})
    assert answer.status_code == 422
    assert "a_b.csv" in answer.json()["errors"][0]["field"]
    assert str(tmp_path.parent) not in answer.text
    assert "/tmp" not in answer.text


def test_design_tells_its_steps_and_ends_with_the_result(client: TestClient) -> None:
    started = client.post("/api/design", json={"case": BASE, "front": False})
    assert started.status_code == 202
    with client.stream("GET", f"/api/design/{started.json()['job']}/events") as stream:
        assert stream.headers["content-type"].startswith("text/event-stream")
        text = "".join(stream.iter_text())
    told = [block.split("\n") for block in text.strip().split("\n\n") if block.startswith("id")]
    assert [lines[0] for lines in told] == [f"id: {number}" for number in range(len(told))]
    names = [lines[1].removeprefix("event: ") for lines in told]
    assert names[:-1] == ["progress"] * (len(told) - 1)
    assert names[-1] == "result"
    last = json.loads(told[-1][2].removeprefix("data: "))
    assert (last["schema"], last["job"]) == ("design-job", started.json()["job"])
    answer = client.get(f"/api/design/{last['job']}", params={"units": "trade"}).json()
    result, expected = answer["design"], design_program(case_from_table(BASE)).to_json()
    for each in (result, expected):
        del each["search_time_s"]
    assert _same(result, expected)


def test_design_is_cancelled(client: TestClient) -> None:
    job = client.post("/api/design", json={"case": BASE}).json()["job"]
    assert client.delete(f"/api/design/{job}").status_code == 204
    with client.stream("GET", f"/api/design/{job}/events") as stream:
        assert "event: cancelled" in "".join(stream.iter_text())


def test_design_refuses_before_it_starts(client: TestClient) -> None:
    answer = client.post("/api/design", json={"case": BASE, "probability": "5 kg"})
    assert answer.status_code == 422
    answer = client.post("/api/design", json={"case": {"film": {}}})
    assert answer.status_code == 422
    assert client.get(f"/api/design/{'0' * 32}/events").status_code == 404
