"""The way over HTTP: what the page draws of the stack is what the simulation says."""

from __future__ import annotations

import importlib.resources
import tomllib
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from woold.case.file import case_from_table
from woold.prediction.predict import predict
from woold.transport.screen import screen_transport
from woold.transport.simulation import simulate_transport
from woold.web.app import create_app
from woold.web.settings import WebSettings


@pytest.fixture
def today() -> dict[str, Any]:
    text = importlib.resources.files("woold.demo").joinpath("files/today.toml").read_text("utf-8")
    return tomllib.loads(text)


def _sent(table: dict[str, Any]) -> dict[str, Any]:
    """As a page sends it: days as text."""
    table = table | {"plant": dict(table["plant"])}
    table["plant"].pop("packaging_tax", None)
    return table


def test_the_stack_in_motion(today: dict[str, Any], tmp_path: Path) -> None:
    settings = WebSettings(store=str(tmp_path / "store.sqlite"))
    with TestClient(create_app(settings), base_url="http://localhost") as client:
        table = _sent(today)
        view = client.post("/api/transport", json={"case": table}).json()
        case = case_from_table(table)
        prediction = predict(case)
        done = simulate_transport(case, prediction, screen_transport(case, prediction))
        way = view["simulation"]["ways"][0]
        assert view["schema"] == "transport-view"
        assert way["times_s"] == pytest.approx(list(done.ways[0].times_s))
        assert way["largest_slips_m"] == pytest.approx(list(done.ways[0].largest_slips_m))
        # A picture for each sample: the pallet and six tiers, along, up and turned.
        assert len(way["positions"]) == len(way["times_s"]) == len(way["slips_m"])
        assert {len(bodies) for bodies in way["positions"]} == {7}
        # It starts at rest, each body on the one below: .144 m of pallet, then tiers of .25 m.
        heights = [y for _, y, _ in way["positions"][0]]
        expected = [0.072, *(0.144 + 0.25 * (tier + 0.5) for tier in range(6))]
        assert heights == pytest.approx(expected, abs=0.003)
        assert view["names"] == ["EUMOS 40509, any direction, 0.4 g"]
        assert len(view["slips"][0]["lines"]) == 7
        del table["transport"]
        refused = client.post("/api/transport", json={"case": table})
        assert refused.status_code == 422
        assert "transport" in refused.text
