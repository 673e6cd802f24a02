"""What is doubtful about a result is said before its numbers, in every command's text."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from pseudo_words import captured
from woold.demo.scenario import write_scenario

# Each command with a file of its own that gives it something to say, and where its numbers begin.
_COMMANDS = {
    "predict": (("predict", "doubtful.toml"), "At a glance"),
    "predict all": (("predict", "doubtful.toml", "--all"), "Cover and hold"),
    "case check": (("case", "check", "doubtful.toml"), "load.length"),
    "carriage show": (("carriage", "show", "doubtful.toml"), "Pre-stretch"),
    "carriage compare": (
        ("carriage", "compare", "today.toml", "candidate.toml", "--draws", "1000"),
        "Two ways to spend",
    ),
    "transport": (("transport", "doubtful.toml"), "Limits:"),
    "film fit": (("film", "fit", "uneven-test.csv"), "uneven-test.csv:"),
    "sites pool": (("sites", "pool", "semicolons.csv"), "All sites"),
    "watch loads": (("watch", "loads", "gaps.csv"), "Loads from"),
    "watch fleet": (("watch", "fleet", "gaps.csv"), "Machines, the largest"),
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("scenario")
    write_scenario(place)
    today = (place / "today.toml").read_text(encoding="utf-8")
    (place / "doubtful.toml").write_text(
        today.replace("acceleration = 0.4", "acceleration = 0.9"), encoding="utf-8"
    )
    points = [f"{10 * n},{5 + 3 * (n % 9) + n // 9}" for n in range(40)]
    test = "\n".join(["elongation [%],stress [MPa]", *points, ""])
    (place / "uneven-test.csv").write_text(test, encoding="utf-8")
    sites = "site;saving;standard_error\nA;5,1 %;1,2 %\nB;3,5 %;1,0 %\nC;4,5 %;1,1 %\n"
    (place / "semicolons.csv").write_text(sites, encoding="utf-8")
    masses = ["n/a" if n == 7 else 200 + n % 5 for n in range(400)]
    rows = [
        f"2026-03-{1 + n // 40:02d} 10:{n % 40:02d}:00,{'ab'[n % 2]},{mass}"
        for n, mass in enumerate(masses)
    ]
    (place / "gaps.csv").write_text(
        "\n".join(["time,machine,film_mass_g", *rows, ""]), encoding="utf-8"
    )
    return place


@pytest.mark.parametrize("name", _COMMANDS)
def test_findings_stand_before_numbers(
    name: str, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    words, numbers = _COMMANDS[name]
    monkeypatch.chdir(folder)
    monkeypatch.setenv("COLUMNS", "1000")
    status, text, errors = captured(*words)
    assert status in (0, 1), errors
    document = json.loads(captured(*words, "--json")[1])
    found = [each["message"] for each in document["findings"]]
    assert found
    assert numbers in text
    for message in found:
        start = message[:40]
        assert start.lower() in text.lower()
        assert text.lower().index(start.lower()) < text.index(numbers), message
