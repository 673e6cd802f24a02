"""A filled worksheet over HTTP: taken wholly or not at all, its bad cells marked where they stand.

The workbooks are written by openpyxl, xlwt, odfpy and csv: none of them reads for the program.
"""

from __future__ import annotations

import base64
import importlib.resources
import re
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from filled_sheets import filled_book, save, text_of
from trial_makers import demo_setup, wrapped
from woold.demo.wrapped_trial import written_worksheet
from woold.errors import InputError, Problem
from woold.rows.wording import Wording
from woold.store import Store
from woold.trial.from_cases import CaseOfTrial, new_trial_text, trial_of_cases
from woold.trial.marked_sheets import marked_sheets
from woold.trial.plan import plan_trial
from woold.trial.reading import written_in
from woold.web.app import create_app
from woold.web.made_lately import MadeLately, made_key
from woold.web.settings import WebSettings

FILES = importlib.resources.files("woold.demo").joinpath("files")
KEY = "line-1"


def trial_of_book() -> dict[str, Any]:
    """The trial that `filled_sheets` has a filled worksheet of: 12 loads of one type."""
    tables = {
        "key": KEY,
        "zones": {"limits": ["0.5 m", "1.0 m"]},
        "load_types": [{"name": "jars", "loads_per_year": 3000}],
    }
    return {"trial": tables, "loads_per_treatment": 6}


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    app = create_app(WebSettings(store=str(tmp_path / "store.sqlite"), user="Tester"))
    with TestClient(app, base_url="http://localhost") as client:
        assert client.post("/api/trials", json=trial_of_book()).status_code == 201
        yield client


def sent(path: Path) -> dict[str, str]:
    return {"name": path.name, "content": base64.b64encode(path.read_bytes()).decode()}


def take(client: TestClient, path: Path, **more: Any) -> Any:
    answer = client.post(f"/api/trials/{KEY}/sheets", json={"file": sent(path), **more})
    assert answer.status_code == 200, answer.text[:500]
    return answer.json()


def loads(client: TestClient) -> list[Any]:
    records = client.get(f"/api/trials/{KEY}/records").json()["records"]
    found = [each for each in records if each["kind"] == "load"]
    return sorted(found, key=lambda each: int(each["key"]))


def settled(client: TestClient, path: Path, **more: Any) -> Any:
    """The answer once every question about the file was answered, as somebody does by hand."""
    right: list[str] = []
    for _ in range(5):
        found = take(client, path, as_typed=right, **more)
        asked = [each["field"] for each in found["problems"] if each["kind"] == "question"]
        if not asked:
            return found
        right += asked
    return found


@pytest.mark.parametrize("suffix", [".xlsx", ".xls", ".ods"])
def test_a_filled_workbook_is_taken_once(client: TestClient, tmp_path: Path, suffix: str) -> None:
    path = save(filled_book(), tmp_path / f"filled{suffix}")
    found = settled(client, path)
    assert found["is_kept"], found["problems"]
    for count in ("12 new loads", "24 new widths", "72 new pull readings"):
        assert count in found["blocks"][0]["text"]
    assert len(loads(client)) == 12
    # The first row by hand: 193.1 g less 22 and with the bag of 12 on the scale is 183.1 g.
    assert loads(client)[0]["cells"]["film_mass"][:2] == ["183.1", "g"]
    again = settled(client, path)
    assert again["is_kept"]
    assert "on record already" in again["blocks"][0]["text"]
    assert len(loads(client)) == 12


def test_a_bad_cell_keeps_everything_out_and_is_marked(client: TestClient, tmp_path: Path) -> None:
    book = filled_book()
    book["Loads"][4][7] = "190 in"  # H5: a length on the scale
    path = save(book, tmp_path / "filled.xlsx")
    found = take(client, path)
    assert not found["is_kept"]
    assert loads(client) == []
    at = next(n for n, each in enumerate(found["problems"]) if each["field"] == "Loads!H5")
    assert "length" in found["problems"][at]["message"]
    sheet = next(each for each in found["sheets"] if each["title"] == "Loads")
    row = next(each for each in sheet["rows"] if each["number"] == 5)
    marked = {
        letter: cell["text"]
        for letter, cell in zip(sheet["columns"], row["cells"], strict=True)
        if at in cell["problems"]
    }
    assert marked == {"H": "190 in"}
    heads = [each for each in sheet["rows"] if each["is_head"]]
    assert [each["number"] for each in heads] == [1, 2]
    assert heads[0]["cells"][0]["text"] == "load"
    # Mended, it is taken.
    book["Loads"][4][7] = 190.0
    assert settled(client, save(book, tmp_path / "mended.xlsx"))["is_kept"]


def test_what_is_asked_is_answered_and_what_differs_needs_a_reason(
    client: TestClient, tmp_path: Path
) -> None:
    book = filled_book()
    assert settled(client, save(book, tmp_path / "filled.xlsx"))["is_kept"]
    book["Loads"][2][7] = book["Loads"][2][7] + 1
    changed = save(book, tmp_path / "changed.xlsx")
    found = settled(client, changed)
    assert [(each["field"], each["kind"]) for each in found["problems"]] == [
        ("Loads!H3", "on record")
    ]
    assert loads(client)[0]["cells"]["film_mass"][0] == "183.1"
    found = settled(client, changed, reason="misread")
    assert found["is_kept"]
    assert "1 corrected" in found["blocks"][0]["text"]
    assert loads(client)[0]["cells"]["film_mass"][0] == "184.1"


def test_text_and_files_that_are_no_sheet(client: TestClient, tmp_path: Path) -> None:
    path = tmp_path / "loads.csv"
    path.write_text(text_of(filled_book()["Loads"], ";", ","), encoding="utf-8")
    found = settled(client, path)
    assert found["is_kept"], found["problems"]
    assert len(loads(client)) == 12
    (tmp_path / "cat.xlsx").write_bytes(b"PK\x03\x04 no workbook")
    body = {"file": sent(tmp_path / "cat.xlsx")}
    answer = client.post(f"/api/trials/{KEY}/sheets", json=body)
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["todo"]
    assert client.post("/api/trials/none/sheets", json=body).status_code == 404
    body = {"file": {"name": "x.csv", "content": "no base64!"}}
    assert client.post(f"/api/trials/{KEY}/sheets", json=body).status_code == 422


def test_many_marked_rows_are_cut_and_counted() -> None:
    rows = [["load", "treatment", "load type", "film on the scale"], ["unit", "", "", "g"]]
    rows += [[n, "baseline", "jars", "x"] for n in range(1, 101)]
    written = written_in(text_of(rows).encode(), "loads.csv")
    (sheet,) = marked_sheets(written, [Problem("loads.csv!D3:D102", "x", "a mass")])
    # 60 rows are shown of the 100 that are marked, besides the heads.
    assert len(sheet.rows) == 61
    assert sheet.left_out == 40
    assert sheet.columns == ("A", "B", "C", "D")
    assert marked_sheets(written, [Problem("other!D3", "x", "a mass")]) == ()


def table(name: str) -> dict[str, Any]:
    return tomllib.loads(FILES.joinpath(name).read_text(encoding="utf-8"))


def test_a_trial_of_two_cases_takes_what_their_files_say() -> None:
    one, other = (
        CaseOfTrial("a.toml", table("today.toml")),
        CaseOfTrial("b.toml", table("next.toml")),
    )
    found, findings = trial_of_cases(one, other)
    assert found["load_types"][0]["baseline"] == "a.toml"
    assert found["load_types"][0]["candidate"] == "b.toml"
    assert re.fullmatch(r"[a-z0-9][a-z0-9-]{0,62}", found["key"])
    # By hand: today.toml asks for another hold in the middle than next.toml does.
    assert [each.code for each in findings] == ["hold_differs"]
    # What somebody typed stays.
    typed = {"key": "mine", "load_types": [{"name": "cans", "loads_per_year": "7"}, {"name": "x"}]}
    found, _ = trial_of_cases(one, other, typed)
    assert found["key"] == "mine"
    assert found["load_types"][0] == {
        "name": "cans", "loads_per_year": "7", "baseline": "a.toml", "candidate": "b.toml",
    }  # fmt: skip
    assert found["load_types"][1] == {"name": "x"}


def test_two_cases_of_other_loads_and_two_of_the_same_are_told() -> None:
    one = CaseOfTrial("a.toml", table("today.toml"))
    tall = CaseOfTrial("b.toml", table("today-tall.toml"))
    assert "load_differs" in [each.code for each in trial_of_cases(one, tall)[1]]
    same = trial_of_cases(one, CaseOfTrial("c.toml", table("today.toml")))[1]
    assert [each.code for each in same] == ["nothing_differs"]


def test_the_spread_of_a_pilot(client: TestClient, tmp_path: Path) -> None:
    """By hand: 171, 180 and 189 g have a mean of 180 g and a standard deviation of 9 g: 5 %.

    McKay's upper 80 % limit of 5 % in 3 readings is 5 % sqrt(2/q), with q the 20 % point of
    chi-squared with 2 degrees of freedom, -2 ln(0.8) = 0.4463, to first order: 10.6 %.
    """
    path = tmp_path / "pilot.csv"
    path.write_text("171 g\n180 g\n189 g\n", encoding="utf-8")
    found = client.post("/api/trial-plan/pilot", json={"file": sent(path)}).json()
    assert float(found["film_spread"].split()[0]) == pytest.approx(10.6, abs=0.05)
    assert "5.0 %" in found["told"]
    path.write_text("171 g\n180 in\n", encoding="utf-8")
    bad = client.post("/api/trial-plan/pilot", json={"file": sent(path)})
    assert bad.json()["errors"][0]["field"] == "pilot.csv, line 2"


def test_the_terminal_starts_a_trial_of_two_case_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("today.toml", "next.toml"):
        (tmp_path / name).write_bytes(FILES.joinpath(name).read_bytes())
    (tmp_path / "trials").mkdir()
    monkeypatch.chdir(tmp_path)
    text, findings = new_trial_text("today.toml", "next.toml", "trials/t.toml")
    (first,) = tomllib.loads(text)["load_types"]
    assert (first["baseline"], first["candidate"]) == ("../today.toml", "../next.toml")
    assert [each.code for each in findings] == ["hold_differs"]
    with pytest.raises(InputError, match="--candidate: nothing"):
        new_trial_text("today.toml", None, "")


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """A server on a store with the demo's trial, wrapped and weighed."""
    folder = tmp_path_factory.mktemp("demo")
    wrapped(demo_setup(folder), folder, 12)
    app = create_app(WebSettings(store=str(folder / "trial.db"), user="Tester"))
    with TestClient(app, base_url="http://localhost") as client:
        yield client


DEMO = "/api/trials/invented-line-1"


def test_gauges_of_a_trial_and_of_a_file(demo: TestClient, tmp_path: Path) -> None:
    found = demo.get(f"{DEMO}/gauge").json()
    assert found["gauges"] == ["pull gauge [N]", "scale [g]"]
    path = tmp_path / "ruler.csv"
    rows = ["gauge,part,person,repeat,reading"]
    rows += [
        f"ruler,{part},{person},{repeat},{100 + part + 0.1 * ((part * repeat + len(person)) % 3)}"
        for part in range(5)
        for person in ("A", "BB")
        for repeat in (1, 2)
    ]
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    found = demo.post("/api/gauge-study", json={"file": sent(path)}).json()
    assert found["gauges"] == ["ruler"]
    captions = [each["caption"] for each in found["blocks"] if each["block"] == "table"]
    assert captions[0] == "ruler: analysis of variance (parts: 5, people: 2, repeats: 2)"
    path.write_text("\n".join(rows[:-1]) + "\n", encoding="utf-8")
    answer = demo.post("/api/gauge-study", json={"file": sent(path)})
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == "ruler, 4, BB"
    assert "/tmp" not in answer.text


def test_a_fit_makes_cases_that_can_be_read(demo: TestClient) -> None:
    choices = demo.get("/api/calibration-fields").json()["fields"]
    assert [each["field"] for each in choices if not each["is_usual"]] == ["load.hoop_stiffness"]
    found = demo.post(f"{DEMO}/calibration", json={"treatment": "candidate"}).json()
    assert [each["name"] for each in found["cases"]] == ["next.toml", "next-tall.toml"]
    fitted = tomllib.loads(found["cases"][0]["toml"])
    stated = [
        each["origin"]
        for section in fitted.values()
        if isinstance(section, dict)
        for each in section.values()
        if isinstance(each, dict) and "origin" in each
    ]
    assert any("fitted to trial invented-line-1, candidate" in each for each in stated)
    read = demo.post("/api/case/read", json={"toml": found["cases"][0]["toml"]}).json()
    assert read["problems"] == []
    none = demo.post(f"{DEMO}/calibration", json={"fields": ["film.colour"]})
    assert none.status_code == 422
    assert "--fit" not in none.text


def test_the_report_as_a_page_or_why_it_cannot_be_made(
    demo: TestClient, client: TestClient
) -> None:
    found = demo.get(f"{DEMO}/report").json()
    assert found["subtitle"] == "Trial report"
    assert {"table", "figure", "cautions"} <= {each["block"] for each in found["blocks"]}
    pdf = demo.get(f"{DEMO}/form/list")
    assert pdf.content[:5] == b"%PDF-"
    # What is taken away is the report that was shown, not one that is reckoned once more.
    made: MadeLately = demo.app.state.made  # type: ignore[attr-defined]
    at = datetime.fromisoformat(found["made_at"])
    key = made_key(Wording(), "trial", DEMO.rpartition("/")[2], at.isoformat())
    shown = made.find(key)
    assert shown is not None
    made.keep(key, replace(shown, title="The one that was shown"))
    page = f"{DEMO}/report/html"
    assert "The one that was shown" in demo.get(page, params={"at": found["made_at"]}).text
    assert "The one that was shown" not in demo.get(page).text
    # Nothing is weighed yet: said with what to do, and no report.
    answer = client.get(f"/api/trials/{KEY}/report")
    assert answer.status_code == 422
    assert all(each["todo"].endswith(".") for each in answer.json()["errors"])


def test_the_worksheet_of_the_demo_comes_back_through_the_page(tmp_path: Path) -> None:
    """What the program gives out, filled in, is what it takes in."""
    setup = demo_setup(tmp_path)
    plan = plan_trial(setup.trial, setup.trial.aim, 8)
    (tmp_path / "filled.xlsx").write_bytes(written_worksheet(setup, plan.order))
    store = str(tmp_path / "store.sqlite")
    Store(store).close()
    app = create_app(WebSettings(store=store, user="Tester"))
    with TestClient(app, base_url="http://localhost") as client:
        cases = {name: (tmp_path / name).read_text(encoding="utf-8") for name in setup.case_tables}
        body = {"trial": table("trial.toml"), "cases": cases, "loads_per_treatment": 8}
        assert client.post("/api/trials", json=body).status_code == 201
        path, right = f"{DEMO}/sheets", []
        for _ in range(4):
            body = {"file": sent(tmp_path / "filled.xlsx"), "as_typed": right}
            found = client.post(path, json=body).json()
            right += [each["field"] for each in found["problems"] if each["kind"] == "question"]
        assert found["is_kept"], found["problems"]
        assert client.get(f"{DEMO}/comparison").status_code == 200
