"""Trials over HTTP: entries are kept once, wholly or not at all, and nothing is overwritten."""

from __future__ import annotations

import base64
import datetime
import hashlib
import importlib.resources
import io
import json
import tomllib
import zipfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import event

from small_pictures import small_picture
from woold.trial.csv_text import as_text, from_text
from woold.trial.importing import import_written
from woold.trial.reading import read_written
from woold.trial.sheets import FIELDS
from woold.web.app import create_app
from woold.web.settings import WebSettings

KEY = "invented-line-1"
FILES = importlib.resources.files("woold.demo").joinpath("files")
CASES = ("today.toml", "next.toml", "today-tall.toml", "next-tall.toml")
MEASURED = {"film_mass": {"typed": "175.5", "unit": "g"}}


def trial_files() -> dict[str, Any]:
    return {
        "trial": tomllib.loads(FILES.joinpath("trial.toml").read_text(encoding="utf-8")),
        "cases": {name: FILES.joinpath(name).read_text(encoding="utf-8") for name in CASES},
        "loads_per_treatment": 8,
    }


@pytest.fixture
def client(tmp_path: Any) -> Iterator[TestClient]:
    app = create_app(WebSettings(store=str(tmp_path / "store.sqlite"), user="Tester"))
    with TestClient(app, base_url="http://localhost") as client:
        assert client.post("/api/trials", json=trial_files()).status_code == 201
        yield client


def load_row(client: TestClient, number: int, **more: dict[str, str]) -> dict[str, Any]:
    order = client.get(f"/api/trials/{KEY}").json()["order"]
    planned = next(each for each in order if each["number"] == number)
    row = {name: {"typed": planned[name]} for name in ("treatment", "load_type", "block", "shift")}
    return row | {"load": {"typed": str(number)}} | MEASURED | more


def put(client: TestClient, entry: str, **body: Any) -> Any:
    return client.put(f"/api/trials/{KEY}/entries/{entry}", json=body)


def records(client: TestClient, kind: str) -> list[dict[str, Any]]:
    every = client.get(f"/api/trials/{KEY}/records").json()["records"]
    return [each for each in every if each["kind"] == kind]


def test_a_form_learns_what_is_next(client: TestClient) -> None:
    trial = client.get(f"/api/trials/{KEY}").json()
    assert [each["is_wrapped"] for each in trial["order"]] == [False] * len(trial["order"])
    assert len(trial["order"]) == 16
    assert trial["zone_heights_m"]["jars"] == pytest.approx([0.25, 0.75, 1.25])
    mass = next(each for each in trial["sheets"][0]["fields"] if each["name"] == "film_mass")
    assert mass["factors"]["oz"] == pytest.approx(0.028349523, rel=1e-6)
    assert put(client, "entry-0001", load=load_row(client, 1)).status_code == 200
    trial = client.get(f"/api/trials/{KEY}").json()
    assert trial["wrapped"] == ["1"]
    lines = client.get("/api/trials").json()["trials"]
    assert (lines[0]["loads_wrapped"], lines[0]["loads_planned"]) == (1, 16)


def test_an_entry_sent_again_changes_nothing(client: TestClient) -> None:
    pull = {
        "load": {"typed": "1"},
        "height": {"typed": "250", "unit": "mm"},
        "side": {"typed": "front"},
        "force": {"typed": "44", "unit": "N"},
        "age": {"typed": "20", "unit": "min"},
    }
    body = {"load": load_row(client, 1), "pulls": [pull]}
    first = put(client, "entry-0001", **body).json()
    assert first["added"] == {"load": 1, "pull": 1}
    for _ in range(3):
        again = put(client, "entry-0001", **body)
        assert again.status_code == 200
        assert again.json()["known_entry"]
    assert len(records(client, "load")) == len(records(client, "pull")) == 1
    assert records(client, "load")[0]["cells"]["film_mass"] == ["175.5", "g", pytest.approx(0.1755)]
    assert records(client, "load")[0]["by"] == "Tester"


def test_an_id_stands_for_one_entry(client: TestClient) -> None:
    assert put(client, "entry-0001", load=load_row(client, 1)).status_code == 200
    assert put(client, "entry-0001", load=load_row(client, 2)).status_code == 409
    assert len(records(client, "load")) == 1


def test_the_same_entry_at_once_from_many_threads(client: TestClient) -> None:
    """A double tap, a retry and two tabs: one record."""
    row = load_row(client, 1)
    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(lambda _: put(client, "entry-0001", load=row), range(24)))
    assert {each.status_code for each in answers} == {200}
    assert sum(each.json()["added"].get("load", 0) for each in answers) == 1
    assert len(records(client, "load")) == 1


def test_all_or_nothing(client: TestClient) -> None:
    bad = {"load": {"typed": "1"}, "side": {"typed": "under"}, "force": {"typed": "x", "unit": "N"}}
    answer = put(client, "entry-0001", load=load_row(client, 1), pulls=[bad])
    assert answer.status_code == 422
    fields = {each["field"] for each in answer.json()["errors"]}
    assert {"pull[0].side", "pull[0].force"} <= fields
    assert records(client, "load") == []
    # Nothing was kept, so the mended entry may go under the same id.
    assert put(client, "entry-0001", load=load_row(client, 1)).status_code == 200


def test_a_doubtful_value_is_asked_about_and_may_be_confirmed(client: TestClient) -> None:
    row = load_row(client, 1, film_mass={"typed": "175.5", "unit": "kg"})
    answer = put(client, "entry-0001", load=row)
    (problem,) = answer.json()["errors"]
    assert (answer.status_code, problem["kind"]) == (422, "question")
    assert "175.5 g would fit" in problem["todo"]
    assert "--as-typed" not in str(problem)
    confirmed = put(client, "entry-0001", load=row, as_typed=[problem["field"]])
    assert confirmed.status_code == 200


def test_what_differs_from_the_record_needs_a_reason(client: TestClient) -> None:
    assert put(client, "entry-0001", load=load_row(client, 1)).status_code == 200
    other = load_row(client, 1, film_mass={"typed": "180", "unit": "g"})
    answer = put(client, "entry-0002", load=other)
    (problem,) = answer.json()["errors"]
    assert (answer.status_code, problem["kind"]) == (422, "on record")
    assert "--reason" not in str(problem)
    done = put(client, "entry-0002", load=other, reason="misread the scale")
    assert done.json()["corrected"] == 1
    (record,) = records(client, "load")
    assert record["cells"]["film_mass"][0] == "180"
    assert record["reason"] == "misread the scale"
    history = client.get(f"/api/trials/{KEY}/history").json()["records"]
    masses = [each["cells"]["film_mass"][0] for each in history if each["kind"] == "load"]
    assert masses == ["175.5", "180"]


def test_readings_come_later_than_the_load(client: TestClient) -> None:
    assert put(client, "entry-0001", load=load_row(client, 1)).status_code == 200
    width = {
        "load": {"typed": "1"},
        "height": {"typed": "30", "unit": "in"},
        "film_width": {"typed": "450", "unit": "mm"},
    }
    load = {"load": {"typed": "1"}, "turns": {"typed": "17.5"}}
    load |= {name: load_row(client, 1)[name] for name in ("treatment", "load_type")}
    body = {"load": load, "widths": [width], "as_typed": ["load.load"]}
    done = put(client, "entry-0002", **body).json()
    assert (done["added"], done["completed"]) == ({"width": 1}, 1)
    cells = records(client, "load")[0]["cells"]
    assert (cells["turns"][0], cells["film_mass"][0]) == ("17.5", "175.5")


def test_two_phones_that_write_the_same_load_are_asked(client: TestClient) -> None:
    """One weighed it, the other read its turns: it may be two loads under one number."""
    assert put(client, "entry-0001", load=load_row(client, 1), typed_by="Anna").status_code == 200
    other = load_row(client, 1) | {"turns": {"typed": "17.5"}}
    del other["film_mass"]
    answer = put(client, "entry-0002", load=other, typed_by="Ben")
    (problem,) = answer.json()["errors"]
    assert (answer.status_code, problem["kind"], problem["field"]) == (422, "question", "load.load")
    assert "Anna" in problem["given"]
    assert "turns" not in records(client, "load")[0]["cells"]
    pull = {"load": {"typed": "1"}, "side": {"typed": "front"}}
    pull |= {"force": {"typed": "44", "unit": "N"}, "age": {"typed": "20", "unit": "min"}}
    pull |= {"height": {"typed": "250", "unit": "mm"}}
    load = {name: load_row(client, 1)[name] for name in ("load", "treatment", "load_type")}
    assert put(client, "entry-0003", load=load, pulls=[pull]).status_code == 422
    assert records(client, "pull") == []
    assert put(client, "entry-0002", load=other, as_typed=["load.load"]).json()["completed"] == 1
    # What says nothing new is no second load.
    assert put(client, "entry-0004", load=load_row(client, 1)).status_code == 200


def test_who_typed_and_when_is_kept_apart_from_who_sent(client: TestClient) -> None:
    """A phone an hour ahead, whose person typed ten minutes before it was sent."""
    now = datetime.datetime.now(datetime.UTC)
    ahead = now + datetime.timedelta(hours=1)
    typed = ahead - datetime.timedelta(minutes=10)
    body = {"typed_by": "Anna", "typed_at": typed.isoformat(), "sent_at": ahead.isoformat()}
    done = put(client, "entry-0001", load=load_row(client, 1), **body).json()
    (record,) = records(client, "load")
    assert (record["by"], record["typed_by"]) == ("Tester", "Anna")
    kept = datetime.datetime.fromisoformat(record["typed_at"])
    assert abs((now - kept).total_seconds() - 600) < 10
    assert record["clock_s"] == done["clock_s"] == pytest.approx(3600, abs=10)
    assert abs((datetime.datetime.fromisoformat(record["at"]) - now).total_seconds()) < 10
    # The same entry again, an hour later: nothing changes, and nothing contradicts.
    again = put(client, "entry-0001", load=load_row(client, 1), typed_by="Ben")
    assert again.json()["known_entry"]


def test_an_entry_without_a_measurement_is_refused(client: TestClient) -> None:
    row = load_row(client, 1)
    del row["film_mass"]
    for load in ({}, row):
        answer = put(client, "entry-0001", load=load)
        assert answer.status_code == 422, load
        assert "measured" in answer.json()["errors"][0]["given"]
    assert records(client, "load") == []


def test_what_is_too_long_is_told_at_its_cell_in_letters(client: TestClient) -> None:
    row = load_row(client, 1, roll={"typed": "\N{GRINNING FACE}" * 5001})
    (found,) = put(client, "entry-0001", load=row).json()["errors"]
    assert found["field"] == "load.roll"
    assert found["given"].endswith("…, 5001 letters")
    assert len(found["given"]) < 90
    assert (found["allowed"], found["todo"]) == ("at most 5000 letters", "Write it shorter.")
    assert records(client, "load") == []


def test_photos_go_by_their_content(client: TestClient) -> None:
    picture = small_picture("JPEG")
    missing = put(client, "entry-0001", load=load_row(client, 1), photos=["0" * 64])
    assert missing.status_code == 422
    assert records(client, "load") == []
    names = {client.post("/api/photos", content=picture).json()["sha256"] for _ in range(2)}
    (sha256,) = names
    assert put(client, "entry-0001", load=load_row(client, 1), photos=[sha256]).status_code == 200
    assert [each["cells"]["load"][0] for each in records(client, "photo")] == ["1"]
    answer = client.get(f"/api/photos/{sha256}")
    assert hashlib.sha256(answer.content).hexdigest() == sha256
    assert answer.headers["content-type"] == "image/jpeg"
    assert client.get(f"/api/photos/{'0' * 64}").status_code == 404


def test_photos_come_in_pieces_after_the_numbers(client: TestClient) -> None:
    assert put(client, "entry-0001", load=load_row(client, 1)).status_code == 200
    picture = small_picture("JPEG", 400)
    path = "/api/photos/uploads/upload-0001"
    half = len(picture) // 2
    assert client.put(f"{path}/0", content=picture[:half]).json()["received"] == half
    assert client.put(f"{path}/{half + 1}", content=b"x").status_code == 409
    assert client.post(f"{path}/{len(picture)}/end").status_code == 409
    assert client.get(path).json()["received"] == half
    client.put(f"{path}/{half}", content=picture[half:])
    sha256 = client.post(f"{path}/{len(picture)}/end").json()["sha256"]
    assert client.post("/api/photos", content=picture).json()["sha256"] == sha256
    assert client.get(path).json()["received"] == 0
    body = {"load": "1", "photos": [sha256], "typed_by": "Anna"}
    for _ in range(2):
        assert client.put(f"/api/trials/{KEY}/photos", json=body).status_code == 204
    (tied,) = records(client, "photo")
    assert (tied["cells"]["load"][0], tied["typed_by"]) == ("1", "Anna")
    for wrong in (body | {"load": "99"}, body | {"photos": ["0" * 64]}):
        assert client.put(f"/api/trials/{KEY}/photos", json=wrong).status_code == 422


def unsent_file(client: TestClient, **more: Any) -> bytes:
    """As the phone's form writes it."""
    photo = base64.b64encode(small_picture("JPEG")).decode()
    entry = {"id": "entry-0001", "trial": KEY, "body": {"load": load_row(client, 1)}}
    entry |= {"typed_by": "Anna", "typed_at": "2026-01-02T03:04:05Z", "photos": [photo]}
    bad = {"id": "entry-0002", "trial": KEY, "body": {"load": {"load": {"typed": "2"}}}}
    return json.dumps({"schema": "entries-not-sent", "entries": [entry, bad], **more}).encode()


def test_a_file_of_what_was_not_sent_is_taken(client: TestClient) -> None:
    content = unsent_file(client)
    done = client.post("/api/entries", content=content).json()
    assert (done["taken"], done["known"], len(done["refused"])) == (1, 0, 1)
    assert "load 2" in done["refused"][0]["field"]
    (record,) = records(client, "load")
    assert (record["typed_by"], record["typed_at"][:10]) == ("Anna", "2026-01-02")
    assert len(records(client, "photo")) == 1
    assert client.post("/api/entries", content=content).json()["known"] == 1
    # A unit of 32 letters is judged with its cell; one of 33 is no unit, and the file is refused.
    for letters, status in ((32, 200), (33, 422)):
        cell = {"film_mass": {"typed": "200", "unit": "g" * letters}}
        entry = {"id": "entry-0003", "trial": KEY, "body": {"load": cell}}
        long = json.dumps({"schema": "entries-not-sent", "entries": [entry]}).encode()
        assert client.post("/api/entries", content=long).status_code == status
    for wrong in (b"", b"[]", b"{}", b"{" * 10_000, b"-1", unsent_file(client, schema="other")):
        answer = client.post("/api/entries", content=wrong)
        assert (answer.status_code, answer.json()["schema"]) == (422, "errors")
        assert answer.json()["errors"][0]["field"]


def test_a_file_of_what_was_not_sent_is_taken_by_the_command(
    client: TestClient, tmp_path: Path, woold: Any
) -> None:
    (tmp_path / "unsent.json").write_bytes(unsent_file(client))
    store = str(tmp_path / "store.sqlite")
    done = woold("trial", "import", str(tmp_path / "unsent.json"), "--store", store)
    assert done.returncode == 2
    assert "Entries taken: 1" in done.stdout
    assert "load 2" in done.stderr
    again = woold("trial", "import", str(tmp_path / "unsent.json"), "--store", store, "--json")
    found = json.loads(again.stdout)
    assert (found["schema"], found["known"], len(found["refused"])) == ("entries-taken", 1, 1)


@pytest.mark.parametrize(
    "words", ["=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", "\t=1", "'=1", " =1", "plain", "-5"]
)
def test_no_cell_of_an_export_is_run_as_a_formula(words: str) -> None:
    """Characters from OWASP's page on CSV injection; numbers stay numbers."""
    written = as_text(words)
    assert from_text(written) == words
    is_number = words.lstrip("-").isdigit()
    assert is_number or written[0] not in "=+-@\t\r"


def test_formulas_stay_words_from_the_form_to_the_export_and_back(
    client: TestClient, tmp_path: Path
) -> None:
    row = load_row(client, 1, notes={"typed": "=HYPERLINK(1)"})
    assert put(client, "entry-0001", load=row).status_code == 200
    with zipfile.ZipFile(io.BytesIO(client.get(f"/api/trials/{KEY}/export").content)) as archive:
        text = archive.read("loads.csv").decode()
    assert "'=HYPERLINK(1)" in text
    (tmp_path / "loads.csv").write_text(text, "utf-8")
    store = client.app.state.store  # type: ignore[attr-defined]
    again = import_written(store, read_written(tmp_path / "loads.csv"), "AB", KEY)
    assert (again.known, again.added) == (1, {})


def test_writing_a_load_down_reads_only_that_load(client: TestClient) -> None:
    """What is asked of the database for one entry does not grow with the trial."""
    engine = client.app.state.store.engine  # type: ignore[attr-defined]
    rows: list[int] = []

    def count(_connection: Any, cursor: Any, statement: str, *_more: Any) -> None:
        if statement.lstrip().startswith("SELECT"):
            plan = cursor.connection.execute("EXPLAIN QUERY PLAN " + statement, _more[0]).fetchall()
            rows.extend(1 for line in plan if line[3].startswith("SCAN record"))

    event.listen(engine, "after_cursor_execute", count)
    for number in range(1, 6):
        assert put(client, f"entry-{number:04d}", load=load_row(client, number)).status_code == 200
    event.remove(engine, "after_cursor_execute", count)
    assert rows == []


def test_comparison_grows_with_the_records(client: TestClient) -> None:
    assert client.get(f"/api/trials/{KEY}/comparison").status_code == 422
    masses = {"baseline": 180.0, "candidate": 170.0}
    order = client.get(f"/api/trials/{KEY}").json()["order"]
    for load in order:
        mass = (
            masses[load["treatment"]]
            + 30.0 * (load["load_type"] == "tall jars")
            + load["number"] % 3
        )
        row = load_row(client, load["number"], film_mass={"typed": str(mass), "unit": "g"})
        assert put(client, f"entry-{load['number']:04d}", load=row).status_code == 200
    found = client.get(f"/api/trials/{KEY}/comparison").json()["comparison"]
    assert found["loads_baseline"] == found["loads_candidate"] == 8
    assert found["film"]["ratio"] < 1.0
    assert client.get(f"/api/trials/{KEY}/report/pdf").content.startswith(b"%PDF-")
    page = client.get(f"/api/trials/{KEY}/report/html")
    assert "attachment" in page.headers["content-disposition"]
    assert "less film per load" in page.text


def test_corrections_keep_what_stood_before(client: TestClient) -> None:
    assert put(client, "entry-0001", load=load_row(client, 1)).status_code == 200
    correction = {"kind": "load", "key": "1", "field": "film_mass", "value": "6 oz", "reason": "r"}
    path = f"/api/trials/{KEY}/corrections"
    assert client.post(path, json=correction).status_code == 204
    assert records(client, "load")[0]["cells"]["film_mass"] == [
        "6",
        "oz",
        pytest.approx(0.1701, 1e-3),
    ]
    assert client.post(path, json=correction | {"key": "99"}).status_code == 422
    assert client.post(path, json=correction | {"value": "6 in"}).status_code == 422
    assert client.post(path, json=correction | {"field": None}).status_code == 204
    assert records(client, "load")[0]["void"]


def test_plan_worksheet_and_unknown_trials(client: TestClient) -> None:
    plan = client.post("/api/trial-plan", json=trial_files()).json()["plan"]
    assert plan["loads_per_treatment"] == 8
    starter = client.get("/api/trial-plan").json()["starter"]
    assert client.post("/api/trial-plan", json={"trial": starter}).status_code == 200
    broken = client.post("/api/trial-plan", json={"trial": {"key": 1}})
    assert {each["field"] for each in broken.json()["errors"]} >= {"key", "load_types"}
    # ECMA-376 part 1, 18.3.1.63: paper 9 is A4, 1 is Letter.
    for query, code in (("", b'paperSize="9"'), ("?paper=letter", b'paperSize="1"')):
        sheet = client.get(f"/api/trials/{KEY}/worksheet{query}").content
        with zipfile.ZipFile(io.BytesIO(sheet)) as book:
            assert code in book.read("xl/worksheets/sheet2.xml")
    assert client.get(f"/api/trials/{KEY}/worksheet?paper=a5").status_code == 422
    assert client.get(f"/api/trials/{KEY}/export").content[:2] == b"PK"
    for path in ("", "/records", "/history", "/comparison", "/worksheet", "/export", "/report/pdf"):
        assert client.get(f"/api/trials/none{path}").status_code == 404
    assert put(client, "short", load={}).status_code == 422


ANY_CELL = st.fixed_dictionaries(
    {"typed": st.one_of(st.text(max_size=20), st.floats().map(str), st.just("1"))},
    optional={"unit": st.sampled_from(["", "g", "mm", "N", "min", "lbf", "°", "1", "**2"])},
)
ANY_ROW = st.dictionaries(
    st.sampled_from([each.name for each in FIELDS] + ["none"]), ANY_CELL, max_size=8
)


@pytest.fixture(scope="module")
def started(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    store = str(tmp_path_factory.mktemp("store") / "store.sqlite")
    with TestClient(create_app(WebSettings(store=store)), base_url="http://localhost") as client:
        assert client.post("/api/trials", json=trial_files()).status_code == 201
        yield client


@given(
    load=ANY_ROW,
    widths=st.lists(ANY_ROW, max_size=2),
    pulls=st.lists(ANY_ROW, max_size=2),
    number=st.integers(0, 99_999_999),
)
def test_whatever_is_typed_is_taken_or_refused(
    started: TestClient, load: Any, widths: Any, pulls: Any, number: int
) -> None:
    body = {"load": load, "widths": widths, "pulls": pulls}
    assert put(started, f"entry-{number:08d}", **body).status_code in (200, 409, 422)
