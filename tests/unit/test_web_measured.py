"""What was measured, over HTTP: a release, learning, a trace's constants, a real transport test.

Each answer is held against the room that makes it, which the terminal asks too.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from trial_makers import demo_setup, wrapped
from web_client import case_table, page_client, sent
from woold.case.file import case_from_table
from woold.demo.dancer_traces import write_smooth_trace
from woold.demo.invented_records import write_sites
from woold.demo.line_register import write_register
from woold.line.release import release
from woold.line.release_evidence import evidence_of_table
from woold.line.release_file import read_release
from woold.physics.stack_fit import CalibratedRange
from woold.rows.wording import Wording
from woold.sites.read_sites import read_sites
from woold.transport.calibration import TransportCalibration
from woold.web.api_transport import calibration_view


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("measured")
    wrapped(demo_setup(made), made, 12)
    return made


@pytest.fixture(scope="module")
def client(folder: Path) -> Iterator[TestClient]:
    with page_client(folder / "trial.db", "/learning") as client:
        yield client


def heard(client: TestClient, path: str, body: dict[str, Any]) -> tuple[str, dict[str, Any]]:
    """The job of a question, and the last that is told of it."""
    begun = client.post(path, json=body)
    assert begun.status_code == 202, begun.text
    job = begun.json()["job"]
    return job, json.loads(client.get(f"/api/work/{job}/events").text.rpartition("data: ")[2])


def test_a_release_is_that_of_the_terminal(client: TestClient, folder: Path) -> None:
    write_register(folder / "machines.csv", 12)
    write_sites(folder / "sites.csv")
    files = [sent(folder / name) for name in ("release.toml", "machines.csv")]
    sites = sent(folder / "sites.csv")
    job, last = heard(client, "/api/release", {"files": files, "sites": sites})
    right: list[str] = []
    while last["event"] == "problems":
        asked = [each["field"] for each in last["errors"] if each["kind"] == "question"]
        assert asked, last
        right += asked
        body = {"files": files, "sites": sites, "as_typed": right}
        job, last = heard(client, "/api/release", body)
    read = read_release(folder / "release.toml")
    ours = release(read, evidence_of_table(read.asked, read_sites(folder / "sites.csv")))
    document = client.get(f"/api/release/{job}/document")
    assert document.json() == json.loads(json.dumps(ours.to_dict()))
    assert 'filename="release.json"' in document.headers["content-disposition"]
    assert client.get(f"/api/release/{job}").json()["blocks"]
    # The command on the page makes the same again.
    comma = {"decimal_comma": True}
    shown = client.post(f"/api/release/{job}/report/html", json={}, params=comma).text
    assert "--decimal-comma" in shown
    # It states when the plan was found, and not when somebody takes it away.
    client.app.state.jobs.get(job).told_at = datetime(2026, 1, 31, tzinfo=UTC)  # type: ignore[attr-defined]
    shown = client.post(f"/api/release/{job}/report/html", json={}).text
    assert "Made 2026-01-31" in shown
    pdf = client.post(f"/api/release/{job}/report/pdf", json={})
    assert pdf.content[:5] == b"%PDF-"
    # A register elsewhere is not read, whatever the file names.
    bad = folder / "elsewhere"
    bad.mkdir()
    text = (folder / "release.toml").read_text(encoding="utf-8")
    elsewhere = text.replace('"machines.csv"', f'"{folder / "machines.csv"}"')
    (bad / "release.toml").write_text(elsewhere, encoding="utf-8")
    asked_of = {"files": [sent(bad / "release.toml")], "sites": sites}
    _, last = heard(client, "/api/release", asked_of)
    assert last["errors"][0]["field"] == "register_file"


def test_what_is_asked_of_learning_is_refused_at_its_field(client: TestClient) -> None:
    case, today = case_table("next.toml"), case_table("today.toml")
    nothing = client.post("/api/learning/forecast", json={"case": case}).json()
    assert (nothing["trials"], nothing["blocks"]) == ([], [])
    for body, field in (
        ({"against": today}, "case"),
        ({"case": case, "at_least": "3 %"}, "against"),
        ({"case": case, "against": today, "at_least": "3 bananas"}, "at_least"),
    ):
        _, last = heard(client, "/api/learning", body)
        assert last["errors"][0]["field"] == field
    unknown = client.post("/api/learning", json={"trials": ["no such trial"]})
    assert unknown.status_code == 422


def test_trials_in_files_are_read_as_the_terminal_reads_them(
    client: TestClient, tmp_path: Path
) -> None:
    """A sheet that its trial file stands beside is taken, and what is asked is looked at then."""
    records = wrapped(demo_setup(tmp_path), tmp_path, 8)
    sheet = sent(tmp_path / "filled.xlsx")
    alone = client.post("/api/learning", json={"files": [sheet]})
    assert alone.status_code == 422
    assert "whose trial file is there too" in alone.json()["errors"][0]["allowed"]
    files = [sent(tmp_path / name) for name in ("trial.toml", *records.setup.case_tables)]
    body = {"files": [sheet, *files], "as_typed": ["Loads!H3:H999"]}
    _, last = heard(client, "/api/learning", {**body, "against": case_table("today.toml")})
    assert last["errors"][0]["field"] == "case"


def test_constants_fitted_to_a_trace_go_into_the_case(client: TestClient, folder: Path) -> None:
    trace = folder / "smooth.csv"
    write_smooth_trace(trace, folder / "today.toml")
    case = case_table("today.toml")
    body = {"name": "smooth.csv", "text": trace.read_text(encoding="utf-8"), "case": case}
    found = client.post("/api/dancer/trace", json={**body, "fit": ["inertia"]})
    assert found.status_code == 200, found.text
    view = found.json()
    assert view["study"]["simulated"] is not None
    fitted = view["study"]["fit"]["values"][0]
    # The trace is a simulation with an inertia of 0.09 kg m^2; the case says another.
    assert fitted["low"] < 0.09 < fitted["high"]
    assert view["picture"][0]["block"] == "figure"
    captions = [each.get("caption") for each in view["blocks"]]
    assert view["fit"][0]["caption"] not in captions
    assert not view["study"]["fit"]["test"]["is_lacking"]
    [field] = view["fitted"]
    assert field["field"] == "dancer.inertia"
    known = {name: field[name] for name in ("value", "low", "high")}
    case["dancer"]["inertia"] = known | {"origin": "fitted to smooth.csv"}
    read = case_from_table(case)
    assert read.dancer is not None
    assert read.dancer.inertia == pytest.approx(fitted["value"], rel=1e-5)
    assert read.range_of("dancer.inertia") == pytest.approx(
        (fitted["low"], fitted["high"]), rel=1e-5
    )


def test_a_real_transport_test_calibrates_the_case(client: TestClient, folder: Path) -> None:
    case = case_table("today.toml")
    slips = folder / "slips.csv"
    slips.write_text("acceleration,ramp [s]\n0.45,0.05\n", encoding="utf-8")
    _, last = heard(client, "/api/transport/calibrate", {"case": case, "slips": sent(slips)})
    assert (last["event"], last["errors"][0]["field"]) == ("problems", "slips.csv")
    found = TransportCalibration(
        title="",
        tests=1,
        readings=2,
        reading_error_m=0.002,
        misfit=0.8,
        effective_draws=120.0,
        inputs=(
            CalibratedRange("friction", 0.42, 0.44, 0.46, 0.35, 0.55, is_decided=True),
            CalibratedRange("kinetic_share", 0.8, 0.9, 0.95, 0.8, 0.95, is_decided=False),
        ),
        findings=(),
    )
    view = calibration_view(found, Wording())
    # What the test says nothing of stays as the case states it.
    [field] = view.narrowed
    assert field.field == "transport.friction"
    case["transport"]["friction"] = {
        "value": field.value, "low": field.low, "high": field.high, "origin": "a test"
    }  # fmt: skip
    read = case_from_table(case)
    assert read.transport is not None
    assert read.transport.friction == pytest.approx(0.44)
    assert read.range_of("transport.friction") == pytest.approx((0.42, 0.46))


def test_a_recorded_trip_moves_the_load(client: TestClient, folder: Path) -> None:
    trip = folder / "trip.csv"
    samples = [(0.02 * n, 4.0 if 10 <= n < 40 else 0.0) for n in range(80)]
    text = "time [s],acceleration [m/s^2]\n" + "".join(f"{t:.2f},{a}\n" for t, a in samples)
    trip.write_text(text, encoding="utf-8")
    case = case_table("today.toml")
    view = client.post("/api/transport", json={"case": case, "recording": sent(trip)}).json()
    ways = view["simulation"]["ways"]
    # 4 m/s^2 over standard gravity, 9.80665 m/s^2 (ISO 80000-3).
    assert {round(each["acceleration_g"], 3) for each in ways} == {0.408}
    trip.write_text("time [s],speed [m/s]\n0,1\n", encoding="utf-8")
    refused = client.post("/api/transport", json={"case": case, "recording": sent(trip)})
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["field"] == "trip.csv"
