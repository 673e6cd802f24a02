"""What nobody measured and decides cannot be said: one rule, wherever a verdict is shown."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
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
from woold.transport.result import (
    GUESSED_UNSAID_SHARE,
    LARGEST_GIVE,
    SIMULATED_LOADS,
    STRICT_SHARE,
    UNSAFE_SHARE,
    UNSAID_SHARE,
)
from woold.transport.rows import cautious_text, transport_blocks
from woold.transport.screen import screen_transport
from woold.transport.unmeasured import (
    HOW_TO_MEASURE,
    INPUT_NAMES,
    Unmeasured,
    at_one_value,
    range_text,
)
from woold.verdict.verdict import verdict_of
from woold.web.app import create_app
from woold.web.settings import WebSettings

Run = Callable[..., Any]


def measured(value: str) -> dict[str, str]:
    return {"value": value, "origin": "for a count by hand"}


# 0.3 g on packages that do not give. A friction of 0.5 holds 1.2 times that, 0.25 does not, and
# a few layers of film never stop what slips.
KNOWN: dict[str, Any] = {
    "profiles": ["EUMOS 40509"],
    "acceleration": 0.3,
    "foot_blocked": True,
    "friction": measured("0.5"),
    "deck_friction": measured("0.5"),
    "kinetic_share": measured("0.75"),
    "package_give": measured("0 mm"),
}
BARE = {"start_height": "0 mm", "bottom_wraps": 1, "top_wraps": 1, "closing_wraps": 1}


def case_with(table: dict[str, Any], **transport: Any) -> Case:
    table["program"] |= BARE
    table["transport"] = {
        key: value for key, value in (KNOWN | transport).items() if value is not None
    }
    return unusual_case(table)


def word(case: Case) -> str:
    return verdict_of(case, predict(case)).word


def test_an_input_that_decides_makes_it_unsaid_and_is_named(table: dict[str, Any]) -> None:
    assert word(case_with(table)) == "holds"
    assert word(case_with(table, friction=measured("0.25"))) == "does_not_hold"
    # The placeholder's range is 0.25 to 0.5, whether it was typed or not.
    for guess in (None, "0.4", "0.5"):
        case = case_with(table, friction=guess)
        verdict = verdict_of(case, predict(case))
        assert verdict.word == "cannot_be_said"
        assert verdict.fails
        assert verdict.worst is not None
        assert verdict.worst.decided_by == ("transport.friction",)
        assert "friction between tiers (0.25 to 0.5)" in verdict.answer
        assert "raise one end until the upper one slides" in verdict.mend


@pytest.mark.parametrize("field", [each for each in INPUT_NAMES if each != "transport.slip_margin"])
def test_what_an_input_decides_it_decides_at_its_ends(table: dict[str, Any], field: str) -> None:
    # Whatever a screen of known inputs says at any of nine places of the range: said is only what
    # it says at all of them; where an input is said to decide, it says one and the other.
    rng = np.random.default_rng(3)
    words = set()
    for _ in range(25):
        name = field.removeprefix("transport.")
        known = {
            "friction": measured(f"{rng.uniform(0.25, 0.6):.3f}"),
            "deck_friction": measured(f"{rng.uniform(0.25, 0.6):.3f}"),
            "vehicle_friction": measured(f"{rng.uniform(0.3, 0.6):.3f}"),
            "kinetic_share": measured(f"{rng.uniform(0.5, 1.0):.3f}"),
            "package_give": measured(f"{rng.uniform(0.3, 1.0):.3f} mm"),
            "foot_blocked": False if name == "vehicle_friction" else None,
            "acceleration": round(float(rng.uniform(0.2, 0.5)), 3),
        }
        case = case_with(table, **(known | {name: None}))
        case = case.with_drawn({"program.force_to_load": float(rng.uniform(20.0, 60.0))})
        prediction = predict(case)
        said = screen_transport(case, prediction)
        low, high = case.range_of(field)
        at_each = {
            screen_transport(case.with_drawn({field: each}), prediction).holds
            for each in np.linspace(low, high, 9).tolist()
        }
        if said.holds is None:
            assert field in said.profiles[0].ways[0].decided_by
            assert at_each == {True, False}
        else:
            assert at_each == {said.holds}
        words.add(said.holds)
    assert len(words) > 1


def test_a_value_that_its_owner_calls_a_placeholder_is_not_measured(table: dict[str, Any]) -> None:
    guess = {"value": "0.5", "origin": "placeholder: as last year"}
    assert word(case_with(table, friction=guess)) == "cannot_be_said"
    near = guess | {"low": "0.45", "high": "0.55"}
    assert word(case_with(table, friction=near)) == "holds"


def test_what_is_not_there_decides_nothing(table: dict[str, Any]) -> None:
    # One tier has no friction between tiers, and a blocked foot none on the vehicle.
    case = case_with(table, friction=None, deck_friction=measured("0.2"))
    table["load"]["tiers"] = 1
    one = screen_transport(unusual_case(table), predict(case))
    assert one.holds is False
    assert [each.field for each in one.unmeasured] == ["transport.slip_margin"]


def test_a_range_is_told_in_its_own_unit() -> None:
    """Packages give by lengths, a fraction of an inch; friction and shares have no unit."""
    give = Unmeasured("transport.package_give", 0.0003, 0.0001, 0.00254)
    assert range_text(give) == "0.1 to 2.54 mm (0.00394 to 0.1 in)"
    assert range_text(Unmeasured("transport.kinetic_share", 0.75, 0.5, 1.0)) == "0.5 to 1"


def test_every_input_says_how_it_is_measured() -> None:
    assert list(HOW_TO_MEASURE) == list(INPUT_NAMES)


def test_guessed_inputs_taken_as_measured_are_said(table: dict[str, Any]) -> None:
    case = case_with(table, friction=None, package_give=None)
    assert word(case) == "cannot_be_said"
    assert word(at_one_value(case)) in ("holds", "does_not_hold")


def test_softer_packages_than_the_rule_was_weighed_for_cannot_be_said(
    table: dict[str, Any],
) -> None:
    soft = f"{1000 * LARGEST_GIVE + 0.5} mm"
    slips = {"friction": measured("1.1"), "deck_friction": measured("0.3")}
    assert word(case_with(table, package_give=measured(soft), **slips)) == "does_not_hold"
    rough = {"friction": measured("1.1"), "deck_friction": measured("1.1")}
    assert word(case_with(table, package_give=measured("2 mm"), **rough)) == "holds"
    case = case_with(table, package_give=measured(soft), **rough)
    verdict = verdict_of(case, predict(case))
    assert verdict.word == "cannot_be_said"
    assert "Packages that give by more than 2 mm" in verdict.answer


def test_one_word_wherever_it_is_said(table: dict[str, Any], tmp_path: Path, woold: Run) -> None:
    case = case_with(table, kinetic_share=None, friction=None)
    table["as_typed"] = confirmed(table)
    (tmp_path / "case.toml").write_text(tomlkit.dumps(table), encoding="utf-8")
    said = "cannot be said whether the load holds"
    sheet_made = woold("report", "sheet", "--out", "sheet.html", "case.toml", cwd=tmp_path)
    assert sheet_made.returncode == 1, sheet_made.stderr
    for command in ("predict", "transport"):
        shown = woold(command, "case.toml", cwd=tmp_path)
        assert shown.returncode == 1, shown.stderr
        assert said in " ".join(shown.stdout.split())
        document = json.loads(woold(command, "case.toml", "--json", cwd=tmp_path).stdout)
        verdict = document["verdict"]
        assert (verdict["word"], verdict["holds"]) == ("cannot_be_said", None)
        assert "transport.friction" in verdict["worst"]["decided_by"]
    assert (document["holds"], document["profiles"][0]["holds"]) == (None, None)
    assert {each["code"] for each in document["findings"]} == {"not_measured"}
    sheet = setup_sheet(case, making(), with_figures=False, draws=5)
    assert said in " ".join(block_texts(sheet.blocks))
    settings = WebSettings(store=str(tmp_path / "store.sqlite"))
    with TestClient(create_app(settings), base_url="http://localhost") as client:
        view = client.post("/api/predict", json={"case": table}).json()
    assert view["verdict"]["word"] == "cannot_be_said"
    assert said in view["answer"][0]["text"]


def test_the_sentence_of_how_cautious_it_is_says_what_the_benchmark_holds() -> None:
    # The benchmark asserts these constants of simulated loads, and prints them beside its shares.
    text = cautious_text(Wording())
    for told in (
        f"on {SIMULATED_LOADS} random loads",
        f"at most {100 * UNSAFE_SHARE:.0f} % of those said to hold here did not",
        f"at most {100 * STRICT_SHARE:.0f} % of those that held were said not to hold",
        f"give by up to {1000 * LARGEST_GIVE:.0f} mm",
        f"Of up to {100 * UNSAID_SHARE:.0f} % of the loads it could not be said",
        f"of up to {100 * GUESSED_UNSAID_SHARE:.0f} %",
    ):
        assert told in text
    assert (UNSAFE_SHARE, STRICT_SHARE) == (0.05, 0.15)  # what was asked for


def test_film_without_force_holds_nothing(table: dict[str, Any]) -> None:
    # After 10^18 times 60 s all of the force has gone, by the law of its loss: no tier is stopped.
    slips = {"friction": measured("0.3"), "deck_friction": measured("0.3")}
    case = case_with(table, **slips).with_drawn({"hold.after": 6e19})
    way = screen_transport(case, predict(case)).profiles[0].ways[0]
    assert [each.restraint_limit_n for each in way.interfaces] == [0.0] * 6
    assert way.used is None
    assert all(each.slip_m is None and each.layers_needed is None for each in way.interfaces)
    shown = " ".join(
        block_texts(transport_blocks(screen_transport(case, predict(case)), Wording(), Wording()))
    )
    assert "nan" not in shown.lower()
    held = case_with(table).with_drawn({"hold.after": 6e19})
    assert word(held) == "holds"  # by friction alone


def test_few_wraps_leave_interfaces_bare(table: dict[str, Any]) -> None:
    # One turn at the bottom and none on the way up: film lies over the lowest interfaces alone.
    slips = {"friction": measured("0.3"), "deck_friction": measured("0.3")}
    case_with(table, **slips)
    few = {"start_height": "-100 mm", "rise_per_turn": "1200 mm", "fall_per_turn": "1200 mm"}
    table["program"] |= few
    case = unusual_case(table)
    places = screen_transport(case, predict(case)).profiles[0].ways[0].interfaces
    assert places[0].layers_min >= 1.0
    bare = [each for each in places if each.layers_min == 0.0]
    assert bare
    assert all(each.slip_m is None and not each.holds for each in bare)
    assert word(case) == "does_not_hold"


def test_interlocked_tiers_slip_on_the_deck_alone(table: dict[str, Any]) -> None:
    # Packages that reach into one another do not slip: a friction of 2. The deck carries 0.3 of it.
    locked = {"friction": measured("2"), "deck_friction": measured("0.3")}
    case = case_with(table, acceleration=0.4, **locked)
    way = screen_transport(case, predict(case)).profiles[0].ways[0]
    assert [each.slips for each in way.interfaces] == [True] + [False] * 5
    # By hand: all 600 kg, at 0.4 g less 0.75 of 0.3.
    assert way.interfaces[0].restraint_needed_n == pytest.approx(600 * 9.81 * 0.175)
    one = case_with(table, acceleration=0.4, **locked).with_values({"load.tiers": 1})
    whole = screen_transport(one, predict(one)).profiles[0].ways[0]
    assert whole.interfaces[0].restraint_needed_n == pytest.approx(600 * 9.81 * 0.175)


def test_a_tilt_is_slow_but_not_static(table: dict[str, Any]) -> None:
    # Tilted over 20 s nothing swings, but the drop from static to kinetic friction comes at once.
    # By hand at mu = c: all of the need is that drop, so that a tilt travels as a sudden start.
    table["program"] |= {"start_height": "-100 mm", "bottom_wraps": 8, "force_to_load": "60 N"}
    table["transport"] = KNOWN | {
        "profiles": ["49 CFR working load"],
        "acceleration": None,
        "friction": measured("1.5"),
        "deck_friction": measured("0.435"),
    }
    del table["transport"]["acceleration"]
    found = {}
    for ramp in ("0 s", "20 s"):
        table["transport"]["ramp_time"] = ramp
        case = unusual_case(table)
        way = screen_transport(case, predict(case)).profiles[0].ways[0]
        assert (way.direction, way.acceleration_g) == ("forward", 0.435)
        found[ramp] = way.interfaces[0]
    tilt, sudden = found["20 s"], found["0 s"]
    assert tilt.slip_m == pytest.approx(sudden.slip_m, rel=1e-6)
    assert tilt.slip_m > 1.9 * tilt.slip_slow_m
    # With the friction a fifth below, part of the need grows with the tilt.
    table["transport"]["deck_friction"] = measured("0.348")
    case = unusual_case(table)
    place = screen_transport(case, predict(case)).profiles[0].ways[0].interfaces[0]
    assert place.slip_slow_m < place.slip_m
    # s = (mu - mu_k)/(c - mu_k) = (0.348 - 0.261)/(0.435 - 0.261) = 1/2: half way to a sudden one.
    # 1 %: a swing that a ramp of 20 s leaves is counted by its envelope, to the safe side.
    table["transport"]["ramp_time"] = "0 s"
    case = unusual_case(table)
    start = screen_transport(case, predict(case)).profiles[0].ways[0].interfaces[0]
    assert place.slip_m == pytest.approx(0.5 * (place.slip_slow_m + start.slip_m), rel=1e-2)
