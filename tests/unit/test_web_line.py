"""The line over HTTP: the same documents as in the terminal, long work stopped and found again."""

from __future__ import annotations

import io
import json
import tomllib
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import polars
import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

import woold.cli.line_wear  # noqa: F401  # its command joins the others when it is loaded
from small_line import write_small_line
from web_client import page_client, sent
from woold.case.shelf import KINDS_OF_THINGS, Shelf
from woold.case.text import toml_from_table
from woold.cli.line_recipes import app as terminal
from woold.line.limits import LIMITS


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("line")
    write_small_line(made)
    return made


@pytest.fixture(scope="module")
def client(folder: Path) -> Iterator[TestClient]:
    with page_client(folder / "line.db", "/line") as client:
        yield client


def opened(client: TestClient, folder: Path, **more: Any) -> Any:
    names = ("line.toml", "line-loads.csv")
    return client.post("/api/line", json={"files": [sent(folder / each) for each in names], **more})


def worked_out(client: TestClient, line: str, **asked: Any) -> str:
    """The job of a question, once it is over."""
    found = client.post(f"/api/line/{line}/ask", json=asked)
    assert found.status_code == 202, found.text
    job: str = found.json()["job"]
    events = client.get(f"/api/work/{job}/events").text
    assert "event: result" in events, events[-600:]
    return job


def in_terminal(folder: Path, *words: str) -> dict[str, Any]:
    run = CliRunner().invoke(terminal, [words[0], str(folder / "line.toml"), *words[1:], "--json"])
    assert run.exit_code == 0, run.output
    found: dict[str, Any] = json.loads(run.stdout)
    return found


def without(document: dict[str, Any], *names: str) -> dict[str, Any]:
    return {name: each for name, each in document.items() if name not in names}


def test_the_map_is_that_of_the_terminal_and_leads_to_the_bench(
    client: TestClient, folder: Path
) -> None:
    line = opened(client, folder).json()
    assert (line["loads"], line["combinations"]) == (12, 2 * 2 * 2 * 12)
    assert line["rows_left_out"] == 0
    job = worked_out(client, line["line"], question="map")
    document = client.get(f"/api/line/answers/{job}/document").json()
    # Where the files lie and how long it took are its own.
    own = ("files", "seconds_s", "judged")
    ours = in_terminal(folder, "map", "--map", str(folder / "map"))
    assert without(document, *own) == without(ours, *own)

    answer = client.get(f"/api/line/answers/{job}").json()
    heat = next(each for each in answer["heat"] if each["carriage"] == "one for all")
    cells = {
        (each["machine_model"], each["film"]): each
        for each in document["cells"]
        if each["carriage"] == "one for all"
    }
    for machine, row in zip(heat["machines"], heat["cells"], strict=True):
        for film, cell in zip(heat["films"], row, strict=True):
            found = cells[machine, film]
            assert cell["share"] == pytest.approx(found["works_share"])
            assert cell["worst"].startswith(found["worst_load"])
            assert LIMITS[found["worst_limit"]] in cell["worst"]

    # From a place to its loads, the worst first, and from there to a case that can be predicted.
    place = {"carriage": "one for all", "machine": heat["machines"][0], "film": heat["films"][0]}
    loads = client.get(f"/api/line/answers/{job}/place", params=place).json()["loads"]
    assert loads[0]["load"] == cells[place["machine"], place["film"]]["worst_load"]
    assert len(loads) == 12
    assert [each["works"] for each in loads] == sorted(each["works"] for each in loads)
    one = client.get(
        f"/api/line/{line['line']}/load", params={**place, "load": loads[0]["load"]}
    ).json()
    assert loads[0]["load"] in one["case"]["title"]
    assert client.post("/api/predict", json={"case": one["case"]}).status_code == 200

    table = client.get(f"/api/line/answers/{job}/cells/parquet")
    assert polars.read_parquet(io.BytesIO(table.content)).height == 96
    assert client.get(f"/api/line/answers/{job}/cells/csv").text.count("\n") == 97


def test_carriages_and_wear_are_those_of_the_terminal(client: TestClient, folder: Path) -> None:
    line = opened(client, folder).json()["line"]
    job = worked_out(client, line, question="carriage", draws=100)
    document = client.get(f"/api/line/answers/{job}/document").json()
    assert document == in_terminal(folder, "carriage", "--draws", "100")
    # Carriages and map make one report: the other half is asked for.
    refused = client.post(f"/api/line/answers/{job}/report/pdf", json={})
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["field"] == "beside"
    beside = worked_out(client, line, question="map")
    # It states when the carriages were found, and not when somebody takes it away.
    client.app.state.jobs.get(job).told_at = datetime(2026, 1, 31, tzinfo=UTC)  # type: ignore[attr-defined]
    report = client.post(f"/api/line/answers/{job}/report/html", json={"beside": beside})
    assert "serves most" in report.text
    assert "Made 2026-01-31" in report.text
    assert "woold report line line.toml" in report.text

    job = worked_out(client, line, question="wear", carriage="one for all", rethread="3 min")
    document = client.get(f"/api/line/answers/{job}/document").json()
    wear = ("wear", "--carriage", "one for all", "--rethread", "3 min")
    assert document == in_terminal(folder, *wear)
    pdf = client.post(f"/api/line/answers/{job}/report/pdf", json={})
    assert pdf.content[:5] == b"%PDF-"


def test_recipes_bring_a_case_for_each_sheet(client: TestClient, folder: Path) -> None:
    line = opened(client, folder).json()["line"]
    narrowed = {"machine": "T12", "film": "63 gauge", "forces": ["45 N", "60 N"]}
    job = worked_out(client, line, question="recipes", **narrowed)
    document = client.get(f"/api/line/answers/{job}/document").json()
    sheets = client.get(f"/api/line/answers/{job}").json()["sheets"]
    recipes = document["machines"][0]["recipes"]
    assert [each["case"]["program"]["force_to_load"] for each in sheets] == [
        f"{each['force_n']:.12g} N" for each in recipes
    ]
    made = client.post("/api/reports/sheet/pdf", json={"case": sheets[0]["case"]})
    assert made.content[:5] == b"%PDF-"


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        ({"question": "wear"}, "carriage"),
        ({"question": "kits", "carriage": "long gap"}, "carriage"),
        ({"question": "recipes", "loss": "3 bananas"}, "film_loss"),
        ({"question": "recipes", "machine": "T99"}, "machine"),
        ({"question": "carriage", "draws": 5}, "draws"),
    ],
)
def test_a_question_that_cannot_be_names_its_field(
    client: TestClient, folder: Path, asked: dict[str, Any], field: str
) -> None:
    line = opened(client, folder).json()["line"]
    job = client.post(f"/api/line/{line}/ask", json=asked).json()["job"]
    last = client.get(f"/api/work/{job}/events").text.rpartition("data: ")[2]
    found = json.loads(last)
    assert (found["event"], found["errors"][0]["field"]) == ("problems", field), found
    assert client.get(f"/api/line/answers/{job}").status_code == 404


def test_no_file_is_read_but_those_that_were_sent(client: TestClient, folder: Path) -> None:
    secret = folder / "secret.csv"
    secret.write_text("load,height\n", encoding="utf-8")
    text = (folder / "line.toml").read_text(encoding="utf-8")
    bad = folder / "bad"
    bad.mkdir()
    for name in (str(secret), "../secret.csv", "line-loads.csv"):
        (bad / "line.toml").write_text(text.replace("line-loads.csv", name), encoding="utf-8")
        found = client.post("/api/line", json={"files": [sent(bad / "line.toml")]})
        assert found.status_code == 422
        assert found.json()["errors"][0]["field"] == "catalogue.file"
        assert "which was not sent" in found.text
    (bad / "line.toml").write_text(f'shelf = "{secret}"\n{text}', encoding="utf-8")
    files = [sent(bad / "line.toml"), sent(folder / "line-loads.csv")]
    found = client.post("/api/line", json={"files": files})
    assert found.json()["errors"][0]["field"] == "shelf"


def test_the_shelf_of_the_server_is_a_line_with_a_table_of_loads(
    client: TestClient, folder: Path
) -> None:
    loads = sent(folder / "line-loads.csv")
    found = client.post("/api/line", json={"files": [loads]})
    assert "nothing on this server's shelf" in found.text
    table = tomllib.loads((folder / "line.toml").read_text(encoding="utf-8"))
    shelf = toml_from_table({name: table[name] for name in KINDS_OF_THINGS if name in table}, Shelf)
    kept = client.post("/api/shelf/file", json={"toml": shelf})
    assert kept.status_code == 201, kept.text
    found = client.post("/api/line", json={"files": [loads]})
    assert found.status_code == 200, found.text
    assert found.json()["combinations"] == opened(client, folder).json()["combinations"]


def test_what_is_asked_of_line_and_of_its_shelf_is_answered_apart(
    client: TestClient, folder: Path
) -> None:
    odd = folder / "odd"
    odd.mkdir()
    write_small_line(odd)
    table = tomllib.loads((odd / "line.toml").read_text(encoding="utf-8"))
    shelf = {"films": [{**table["films"][0], "name": "thick", "thickness": "900 gauge"}]}
    (odd / "shelf.toml").write_text(toml_from_table(shelf, Shelf), encoding="utf-8")
    text = (odd / "line.toml").read_text(encoding="utf-8")
    text = 'shelf = "shelf.toml"\n' + text.replace('"63 gauge"\n', '"900 gauge"\n', 2)
    (odd / "line.toml").write_text(text, encoding="utf-8")
    files = [sent(odd / name) for name in ("shelf.toml", "line.toml", "line-loads.csv")]
    right: list[str] = []
    for _ in range(6):
        found = client.post("/api/line", json={"files": files, "as_typed": right})
        if found.status_code == 200:
            break
        right += [each["field"] for each in found.json()["errors"]]
    assert found.status_code == 200, found.text
    assert any(each.startswith("shelf: films[0]") for each in right)
    assert "thick" in found.json()["films"]


def test_work_that_is_stopped_ends(client: TestClient) -> None:
    found = client.post("/api/line", json={"example": True}).json()
    # Three rows of the invented catalogue are gone wrong on purpose.
    assert found["rows_left_out"] == 3
    line = found["line"]
    job = client.post(f"/api/line/{line}/ask", json={"question": "kits"}).json()["job"]
    assert client.delete(f"/api/work/{job}").status_code == 204
    events = client.get(f"/api/work/{job}/events").text
    assert events.rpartition("event: ")[2].startswith("cancelled")
    # A search on the design page is none of a line's, and the other way round.
    assert client.get(f"/api/design/{job}").status_code == 404
    assert client.get(f"/api/line/{'0' * 32}").status_code == 404


def test_lines_that_were_sent_are_listed_with_who_asked_what(
    client: TestClient, folder: Path
) -> None:
    """The one used last comes first; of each question the latest run leads to its answer."""
    first = opened(client, folder, title="").json()["line"]
    worked_out(client, first, question="map", sample=3)
    job = worked_out(client, first, question="map", sample=3)
    found = client.get("/api/line").json()
    assert found["schema"] == "lines"
    latest = found["lines"][0]
    assert (latest["line"], latest["name"]) == (first, "line.toml")
    assert latest["by"]
    assert latest["at"] <= latest["runs"][0]["at"]
    (run,) = [each for each in latest["runs"] if each["sample"] == 3]
    assert (run["question"], run["job"], run["by"]) == ("map", job, latest["by"])
    assert client.get(f"/api/line/answers/{run['job']}").json()["question"] == "map"
    assert client.get(f"/api/line/{latest['line']}").json()["line"] == first
