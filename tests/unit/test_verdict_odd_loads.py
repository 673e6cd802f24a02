"""Verdicts on odd loads: limits worked out by hand, advice that is applied, one word everywhere."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from fastapi.testclient import TestClient

from report_makers import making
from unusual import confirmed, unusual_case
from woold.case.model import Case
from woold.prediction.predict import predict
from woold.report.setup_sheet import setup_sheet
from woold.rows.blocks import block_texts
from woold.rows.wording import Wording
from woold.transport.rows import transport_blocks
from woold.transport.screen import screen_transport
from woold.transport.simulation import simulate_transport
from woold.transport.unmeasured import INPUT_NAMES
from woold.verdict.result import Verdict, VerdictPart
from woold.verdict.verdict import verdict_of
from woold.web.app import create_app
from woold.web.settings import WebSettings

Run = Callable[..., Any]

# Packages that do not give: what tips and what slips follows from geometry and friction alone.
STIFF: dict[str, Any] = {
    "profiles": ["EUMOS 40509"],
    "acceleration": 0.2,
    "foot_blocked": True,
    "friction": "1.1",
    "deck_friction": "1.1",
    "vehicle_friction": "0.4",
    "kinetic_share": "0.95",
    "package_give": "0 mm",
    "pallet_mass": "0 kg",
}
TALL = {"length": "0.6 m", "width": "0.5 m", "height": "1.8 m", "mass": "200 kg", "tiers": 4}
ODD_LOADS: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {
    "tall and thin": (TALL, {"acceleration": 0.3}),
    "round": (
        {"length": None, "width": None, "diameter": "1 m"},
        {"acceleration": 0.5, "deck_friction": "0.2"},
    ),
    "one tier": ({"tiers": 1}, {"acceleration": 0.5, "deck_friction": "0.2"}),
    "rough": ({}, {"acceleration": 0.8}),
    "off centre": ({"offset": ["0.2 m", "0.1 m"]}, {"acceleration": 0.5, "deck_friction": "0.2"}),
    "sideways": ({"width": "0.4 m"}, {"profiles": ["EN 12195-1 road"], "acceleration": None}),
    "holds": ({}, {}),
}


def odd(table: dict[str, Any], load: dict[str, Any], transport: dict[str, Any]) -> dict[str, Any]:
    """A table of the starter case with another load and transport; None takes a key away."""
    table["transport"] = dict(STIFF)
    for section, values in (("load", load), ("transport", transport)):
        table[section].update(values)
        table[section] = {key: value for key, value in table[section].items() if value is not None}
    # Known by measurement, so that nothing is left unsaid.
    for field in INPUT_NAMES:
        name = field.removeprefix("transport.")
        if name in table["transport"]:
            table["transport"][name] = known(table["transport"][name])
    return table


def known(value: str) -> dict[str, str]:
    """A value that was measured."""
    return {"value": value, "origin": "for a count by hand"}


def judged(table: dict[str, Any]) -> tuple[Case, Verdict]:
    case = unusual_case(table)
    return case, verdict_of(case, predict(case))


def failing(verdict: Verdict, limit: str) -> list[VerdictPart]:
    return [each for each in verdict.parts if each.limit == limit and each.holds is False]


@pytest.mark.parametrize(("level", "holds"), [(0.2, True), (0.27, True), (0.28, False)])
def test_a_tall_load_tips_at_width_over_height(
    table: dict[str, Any], level: float, holds: bool
) -> None:
    # On a floor without a pallet: half of 0.5 m over half of 1.8 m is 0.2778 g, by hand.
    load = {**TALL, "deck_height": "0 mm"}
    _, verdict = judged(odd(table, load, {"acceleration": level}))
    assert verdict.holds is holds
    assert verdict.share == pytest.approx(0.25 / 0.9 / level, rel=1e-3)
    assert verdict.limited_by in ("stack_tips", "unit_tips")


def test_sideways_is_the_weaker(table: dict[str, Any]) -> None:
    # 0.4 m wide and 1.5 m high on 0.144 m of pallet without mass: 0.2 / 0.894 is 0.224 sideways,
    # where EN 12195-1 asks 0.6 of what may tip; along its 1.2 m it stands 0.6 / 0.894, 0.671.
    odd(table, *ODD_LOADS["sideways"])["transport"]["lengthways"] = "length"
    _, verdict = judged(table)
    assert (verdict.holds, verdict.limited_by) == (False, "unit_tips")
    assert verdict.worst is not None
    assert verdict.worst.direction == "sideways"
    assert verdict.share == pytest.approx(0.2 / 0.894 / 0.6, rel=1e-3)


def test_friction_that_is_advised_mends_it(table: dict[str, Any]) -> None:
    # 0.5 g, counted 1.2 times, on level ground: from a friction of 0.6 on nothing is left unsaid.
    slips = {"acceleration": 0.5, "deck_friction": "0.3", "kinetic_share": "0.75"}
    _, verdict = judged(odd(table, {}, slips))
    assert (verdict.holds, verdict.limited_by) == (False, "slip")
    assert verdict.worst is not None
    assert (verdict.worst.height_m, verdict.worst.friction_needed) == (0.0, pytest.approx(0.6))
    assert "over the pallet's deck" in verdict.answer
    assert "sheet on the deck, with a friction of at least 0.6." in verdict.mend
    for friction, word in (
        ("0.54", "does_not_hold"),
        ("0.55", "cannot_be_said"),
        ("0.59", "cannot_be_said"),
        ("0.6", "holds"),
    ):
        table["transport"]["deck_friction"] = known(friction)
        assert judged(table)[1].word == word


def test_straps_that_press_lower_the_friction_that_is_advised(table: dict[str, Any]) -> None:
    # By hand: 600 kg at 0.5 g, counted 1.2 times, pressed by their weight of 5886 N and 2000 N.
    slips = {"acceleration": 0.5, "deck_friction": "0.1", "pressing_force": "2000 N"}
    _, verdict = judged(odd(table, {}, slips))
    assert verdict.limited_by == "slip"
    assert verdict.worst is not None
    assert verdict.worst.friction_needed == pytest.approx(0.6 * 5886 / 7886)
    table["transport"]["deck_friction"] = known("0.448")
    assert judged(table)[1].word == "holds"


def test_between_tiers_the_sheet_goes_there(table: dict[str, Any]) -> None:
    _, verdict = judged(odd(table, {}, {"acceleration": 0.5, "friction": "0.3"}))
    assert verdict.limited_by == "slip"
    assert "sheets between tiers, with a friction of at least 0.6." in verdict.mend


def test_friction_beyond_sheets_is_not_advised(table: dict[str, Any]) -> None:
    # 0.8 g counted 1.2 times is 0.96, and anti-slip mats count 0.6: EN 12195-1:2010, Annex B, from
    # memory.
    _, verdict = judged(odd(table, {"height": "0.6 m"}, {"acceleration": 0.8, "friction": "0.3"}))
    assert verdict.limited_by == "slip"
    assert verdict.mend.startswith("Support from outside")
    assert "0.96" in verdict.mend


def test_layers_that_are_advised_mend_it(table: dict[str, Any]) -> None:
    # The deck alone slips. Wraps at the bottom are layers over it.
    slips = {"acceleration": 0.45, "deck_friction": "0.42"}
    _, verdict = judged(odd(table, {}, slips))
    assert (verdict.holds, verdict.limited_by) == (False, "slip")
    found = re.match(r"(\d+|One) more layers? of film there", verdict.mend)
    assert found, verdict.mend
    count = 1 if found[1] == "One" else int(found[1])
    assert 1 <= count <= 10
    table["program"]["bottom_wraps"] = float(table["program"]["bottom_wraps"]) + count
    _, mended = judged(table)
    assert failing(mended, "slip") == []
    assert mended.holds


def test_hundreds_of_layers_are_not_what_comes_first(table: dict[str, Any]) -> None:
    _, verdict = judged(odd(table, {}, {"acceleration": 0.5, "deck_friction": "0.1"}))
    assert verdict.mend.startswith("An anti-slip sheet on the deck")
    assert re.search(r"Film alone would take \d\d+ more layers there\.", verdict.mend)


def test_travel_without_an_end_has_no_share(table: dict[str, Any]) -> None:
    case, _ = judged(odd(table, {}, {"acceleration": 0.5, "deck_friction": "0.1"}))
    shown = transport_blocks(screen_transport(case, predict(case)), Wording(), Wording())
    text = " ".join(block_texts(shown))
    assert "any direction: film never stops what slips, so it travels on." in text
    assert "no end" not in text


@pytest.mark.parametrize("name", ODD_LOADS)
def test_one_word_of_odd_loads(
    table: dict[str, Any], name: str, tmp_path: Path, woold: Run
) -> None:
    odd(table, *ODD_LOADS[name])
    table["as_typed"] = confirmed(table)
    (tmp_path / "odd.toml").write_text(tomlkit.dumps(table), encoding="utf-8")
    case, verdict = judged(table)
    # No if any part is no.
    assert verdict.holds is all(each.holds for each in verdict.parts)
    assert verdict.holds is (name == "holds")
    assert (verdict.mend == "") is verdict.holds
    said = "the load holds" if verdict.holds else "the load does not hold"
    for words in (("predict",), ("transport",), ("transport", "--simulate")):
        shown = woold(*words, "odd.toml", cwd=tmp_path)
        assert shown.returncode == (0 if verdict.holds else 1), shown.stderr
        assert said in " ".join(shown.stdout.split())
        document = woold(*words, "odd.toml", "--json", cwd=tmp_path)
        assert document.returncode == shown.returncode
        answer = json.loads(document.stdout)["verdict"]
        assert (answer["word"], answer["answer"]) == (verdict.word, verdict.answer)
        assert answer["limited_by"] == verdict.limited_by
    sheet = setup_sheet(case, making(), with_figures=False, draws=5)
    assert said in " ".join(block_texts(sheet.blocks))


# Just within what friction carries by the screen, 1.1 times 0.3 g against 0.35, but not 1.2 times:
# it may break loose, and half of that friction does not stop it again.
UNSAFE = {
    "acceleration": 0.3,
    "friction": "0.35",
    "deck_friction": "0.35",
    "kinetic_share": "0.5",
    "pallet_mass": "25 kg",
}


def test_what_friction_just_holds_is_not_said_to_hold(
    table: dict[str, Any], tmp_path: Path, woold: Run
) -> None:
    odd(table, {}, UNSAFE)
    table["as_typed"] = confirmed(table)
    (tmp_path / "odd.toml").write_text(tomlkit.dumps(table), encoding="utf-8")
    case, still = judged(table)
    prediction = predict(case)
    screen = screen_transport(case, prediction)
    assert (still.word, screen.holds) == ("cannot_be_said", None)
    assert still.worst is not None
    assert (still.limited_by, still.worst.decided_by) == ("slip", ("transport.slip_margin",))
    assert "move it over time" in still.mend
    shown = woold("predict", "odd.toml", cwd=tmp_path)
    assert shown.returncode == 1
    assert "cannot be said whether the load holds" in " ".join(shown.stdout.split())
    sheet = setup_sheet(case, making(), with_figures=False, draws=5)
    assert "cannot be said whether the load holds" in " ".join(block_texts(sheet.blocks))
    simulation = simulate_transport(case, prediction, screen)
    moved = verdict_of(case, prediction, screen, simulation=simulation)
    slip = max(simulation.ways[0].largest_slips_m)
    assert slip > screen.slip_limit_m
    assert (moved.word, moved.limited_by) == ("does_not_hold", "simulated")
    assert moved.share == pytest.approx(0.03 / slip)  # 30 mm are allowed
    shown = woold("transport", "odd.toml", "--simulate", cwd=tmp_path)
    text = " ".join(shown.stdout.split())
    assert shown.returncode == 1
    assert "the load does not hold" in text
    assert "Limited by: the time simulation" in text
    assert "In the simulation the load does not hold" in text
    document = woold("transport", "odd.toml", "--simulate", "--json", cwd=tmp_path)
    assert document.returncode == 1
    assert json.loads(document.stdout)["verdict"]["word"] == "does_not_hold"
    assert woold("transport", "odd.toml", cwd=tmp_path).returncode == 1
    settings = WebSettings(store=str(tmp_path / "store.sqlite"))
    with TestClient(create_app(settings), base_url="http://localhost") as client:
        view = client.post("/api/transport", json={"case": table}).json()
    assert "does not hold" in view["overruled"][0]["text"]


def test_what_is_held_even_if_it_breaks_loose_holds(table: dict[str, Any]) -> None:
    # 0.35 even once it moves is more than 0.3 g: a start that breaks it loose moves nothing.
    _, verdict = judged(odd(table, {}, UNSAFE | {"kinetic_share": "1"}))
    assert verdict.word == "holds"


def test_what_the_screen_cannot_say_a_simulation_can(table: dict[str, Any]) -> None:
    case, still = judged(odd(table, {}, UNSAFE | {"acceleration": 0.295}))
    assert still.word == "cannot_be_said"
    prediction = predict(case)
    screen = screen_transport(case, prediction)
    simulation = simulate_transport(case, prediction, screen)
    moved = verdict_of(case, prediction, screen, simulation=simulation)
    assert simulation.holds is not None
    assert moved.holds is simulation.holds


def test_a_recorded_trip_that_it_does_not_survive_makes_it_no(
    table: dict[str, Any], tmp_path: Path, woold: Run
) -> None:
    # It stands 0.2 g by the screen; 0.5 / 0.894 is 0.56 g, and the trip has 0.9 g for a second.
    odd(table, {}, {"pallet_mass": "25 kg", "lengthways": "width"})
    table["as_typed"] = confirmed(table)
    (tmp_path / "odd.toml").write_text(tomlkit.dumps(table), encoding="utf-8")
    (tmp_path / "trip.csv").write_text(
        "time [s],acceleration [g]\n0,0\n0.05,0.9\n1,0.9\n1.05,0\n2,0\n", encoding="utf-8"
    )
    assert woold("transport", "odd.toml", cwd=tmp_path).returncode == 0
    shown = woold("transport", "odd.toml", "--recording", "trip.csv", cwd=tmp_path)
    text = " ".join(shown.stdout.split())
    assert shown.returncode == 1
    assert "the time simulation, as the vehicle was recorded to move: falls after" in text
    assert "Support from outside" in text or "support from outside" in text
