"""Sites to a claim, and the watch, over HTTP: the same answers as in the terminal."""

from __future__ import annotations

import base64
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from fastapi.testclient import TestClient

from cycle_tables import cycles
from trial_makers import demo_setup, wrapped
from woold.web.app import create_app
from woold.web.settings import WebSettings

# Thirteen trials of a vaccine: the logarithm of the risk ratio and its variance, to four digits.
# Source: G. A. Colditz et al., JAMA 271 (1994) 698, as the data set dat.bcg of the R package
# metadat gives it. A trial saves 1 - exp(log ratio). No site's saving may have an error of 100 %,
# so all logarithms are divided by ten here, and the variances by a hundred: the pooled mean is
# then a tenth of the published one.
BCG = (
    (-0.8893, 0.3256), (-1.5854, 0.1946), (-1.3481, 0.4154), (-1.4416, 0.0200),
    (-0.2175, 0.0512), (-0.7861, 0.0069), (-1.6209, 0.2230), (0.0120, 0.0040),
    (-0.4694, 0.0564), (-1.3713, 0.0730), (-0.3394, 0.0124), (0.4459, 0.5325),
    (-0.0173, 0.0714),
)  # fmt: skip


def bcg_table() -> str:
    lines = ["site,saving,standard_error"]
    for number, (log_ratio, variance) in enumerate(BCG, start=1):
        ratio = float(np.exp(log_ratio / 10.0))
        lines.append(f"trial {number},{1.0 - ratio:.6f},{ratio * variance**0.5 / 10.0:.6f}")
    return "\n".join(lines) + "\n"


def sent(name: str, content: str | bytes) -> dict[str, str]:
    raw = content.encode() if isinstance(content, str) else content
    return {"name": name, "content": base64.b64encode(raw).decode()}


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    folder = tmp_path_factory.mktemp("store")
    wrapped(demo_setup(folder), folder, 12)
    app = create_app(WebSettings(store=str(folder / "trial.db"), user="Tester"))
    with TestClient(app, base_url="http://localhost") as client:
        yield client


def confirmed(client: TestClient, path: str, body: dict[str, Any]) -> Any:
    """The answer once every question was answered, as somebody does by hand."""
    right: list[str] = []
    for _ in range(6):
        answer = client.post(path, json=body | {"as_typed": right})
        errors = answer.json().get("errors", []) if answer.status_code == 422 else []
        asked = [each["field"] for each in errors if each["kind"] == "question"]
        if not asked:
            return answer
        right += asked
    return answer


def rows_of(blocks: list[Any], caption: str) -> dict[str, Any]:
    facts = next(each for each in blocks if each.get("caption") == caption)
    return {each["label"]: each for each in facts["rows"]}


def test_a_table_of_sites_is_pooled_as_the_literature_has_it(client: TestClient) -> None:
    """By REML the mean log ratio is -0.7145 (W. Viechtbauer, J. Stat. Softw. 36(3) (2010), 3.1).

    A tenth of it is a saving of 1 - exp(-0.07145) = 6.90 %. Tolerance: what is printed.
    """
    body = {"file": sent("bcg.csv", bcg_table()), "claim": "3 % on average"}
    answer = confirmed(client, "/api/sites", body)
    assert answer.status_code == 200, answer.text[:600]
    found = answer.json()
    assert found["sites"] == 13
    average = rows_of(found["blocks"], "All sites")["average saving"]
    assert float(average["value"].split()[0]) == pytest.approx(6.9, abs=0.051)
    assert any(each["block"] == "figure" for each in found["blocks"])


def test_a_claim_is_judged_and_one_not_understood_is_refused(client: TestClient) -> None:
    def claim(text: str) -> Any:
        body = {"file": sent("bcg.csv", bcg_table()), "claim": text}
        return confirmed(client, "/api/sites", body)

    # The best trial's own saving is 1 - exp(-0.162) = 15 %: no average of 20 %.
    wrong = claim("20 % on average").json()
    assert not wrong["claim_holds"]
    assert "20" in wrong["blocks"][0]["text"]
    # The published interval of the mean, -1.07 to -0.36, is a saving of 3.5 to 10 % here.
    assert claim("at least 2 % on average").json()["claim_holds"]
    refused = claim("the carriage is wonderful")
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["todo"]


def test_faults_of_a_table_name_its_line_and_no_folder(client: TestClient) -> None:
    body = {
        "file": sent("../../etc/sites.csv", "site,saving,standard_error\na,x %,1 %\nb,2 %,1 %\n")
    }
    answer = client.post("/api/sites", json=body)
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"].startswith("sites.csv, line 2")
    assert "/tmp" not in answer.text
    both = body | {"trials": ["invented-line-1"]}
    assert client.post("/api/sites", json=both).json()["errors"][0]["field"] == "trials"
    one = client.post("/api/sites", json={})
    assert one.status_code == 422
    assert "at least 2" in one.text


def test_a_jump_of_film_is_an_alarm_and_none_is_none(client: TestClient) -> None:
    """Film of known mean and spread, made here: +12 g of a sigma of 4 g must alarm."""
    for jump, is_alarm in ((12.0, True), (0.0, False)):
        body = {"files": [sent("cycles.csv", cycles(1600, jump))]}
        answer = confirmed(client, "/api/watch", body)
        assert answer.status_code == 200, answer.text[:600]
        found = answer.json()
        assert found["is_alarm"] == is_alarm
        report = found["report"]
        assert report["title"] == ("Alarms" if is_alarm else "No alarm") + " on this machine."
        assert any(each["block"] == "figure" for each in report["blocks"])


def test_watch_of_a_trial_its_promise_and_a_file_to_hand_over(client: TestClient) -> None:
    body = {"trial": "invented-line-1", "promise": "invented-line-1"}
    answer = confirmed(client, "/api/watch", body)
    assert answer.status_code == 200, answer.text[:600]
    assert any(
        "written down in the trial" in json.dumps(each)
        for each in answer.json()["report"]["blocks"]
    )
    pdf = confirmed(client, "/api/watch/report/pdf", {"files": [sent("c.csv", cycles(400, 0.0))]})
    assert pdf.content[:5] == b"%PDF-"
    none = client.post("/api/watch", json={"trial": "nobody"})
    assert (none.status_code, none.json()["errors"][0]["field"]) == (422, "trial")
    assert client.post("/api/watch", json={}).json()["errors"][0]["field"] == "records"


def test_a_fleet_shows_the_machine_that_loses_most_first(client: TestClient) -> None:
    files = [
        sent("one.csv", cycles(1600, 0.0, "line 1")),
        sent("two.csv", cycles(1600, 12.0, "line 2")),
    ]
    answer = confirmed(client, "/api/watch/fleet", {"files": files})
    assert answer.status_code == 200, answer.text[:600]
    table = next(each for each in answer.json()["blocks"] if each["block"] == "table")
    assert [each[0] for each in table["rows"]] == ["line 2", "line 1"]
    twice = client.post("/api/watch/fleet", json={"files": [files[0], files[0]]})
    assert twice.json()["errors"][0]["given"] == "one.csv"


def test_settings_are_judged_at_their_fields(client: TestClient) -> None:
    body = {
        "files": [sent("cycles.csv", cycles(400, 0.0))],
        "settings": {"film": {"price": "2 parsnips/kg"}},
    }
    assert client.post("/api/watch", json=body).json()["errors"][0]["field"] == "film.price"
    bad = {"files": [sent("cycles.parquet", b"PAR1 and no more")]}
    answer = client.post("/api/watch", json=bad)
    assert answer.status_code == 422
    assert "/tmp" not in answer.text


def test_the_store_and_the_log(client: TestClient, tmp_path: Path) -> None:
    del tmp_path
    assert client.get("/api/store").json()["are_made"] is False
    found = client.post("/api/store/check").json()
    assert found["is_sound"]
    counts = dict(found["blocks"][0]["rows"])
    assert int(counts["rows of records"]) > 24
    changes = client.get("/api/changes").json()["changes"]
    told = {(each["what"], each["target"], each["by"]) for each in changes}
    assert ("trial started", "invented-line-1", "AB") in told
    assert ("file taken in", "invented-line-1: filled.xlsx", "AB") in told
