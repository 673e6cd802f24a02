"""Verdicts on loads that can be worked out by hand; the numbers stand beside each case."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from fastapi.testclient import TestClient

import woold
from pseudo_words import Done, captured
from report_makers import making
from unusual import confirmed, unusual_case
from woold.carriages.compare import compare_carriages
from woold.carriages.comparison_rows import answered_blocks
from woold.case.model import Case
from woold.design.study import design_program
from woold.prediction.predict import predict
from woold.report.prediction_report import prediction_report
from woold.report.setup_sheet import setup_sheet
from woold.rows.blocks import block_texts
from woold.rows.wording import Wording
from woold.verdict import chance
from woold.verdict.chance import sureness
from woold.verdict.result import Verdict, VerdictPart
from woold.verdict.rows import answer_blocks, verdict_blocks
from woold.verdict.verdict import _worst as decided
from woold.web.app import create_app
from woold.web.settings import WebSettings

# Film of 40 N and 500 mm on the load that loses no force: every number below is a count of layers.
KNOWN = {
    "film": {"force_loss_per_decade": {"value": "0", "origin": "for a count by hand"}},
    "carriage": {"film_width_on_load": {"value": "500 mm", "origin": "for a count by hand"}},
    "program": {
        "force_to_load": "40 N",
        "start_height": "0 mm",
        "top_overlap": "0 mm",
        "rise_per_turn": "250 mm",
        "fall_per_turn": "250 mm",
    },
}
# A load lower than the film is wide: the carriage stays, and 2 + 2 + 1 turns are 5 layers, 200 N.
LOW = {
    "load": {"height": "0.4 m"},
    "program": {**KNOWN["program"], "top_overlap": "100 mm"},
}
TRANSPORT = {
    "profiles": ["EUMOS 40509"],
    "acceleration": 0.5,
    "friction": {"value": "1", "origin": "for a count by hand"},
    "deck_friction": {"value": "1", "origin": "for a count by hand"},
    "vehicle_friction": {"value": "1", "origin": "for a count by hand"},
    "package_give": {"value": "0 mm", "origin": "for a count by hand"},
}


def changed(table: dict[str, Any], *changes: dict[str, Any]) -> dict[str, Any]:
    for each in (KNOWN, *changes):
        for section, values in each.items():
            table.setdefault(section, {}).update(values)
    return table


def case_of(table: dict[str, Any], *changes: dict[str, Any]) -> Case:
    return unusual_case(changed(table, *changes))


def targets(*zones: tuple[str, str, str]) -> dict[str, Any]:
    return {"hold": {"targets": [{"low": a, "high": b, "force": f} for a, b, f in zones]}}


def told(verdict: Verdict) -> str:
    return " ".join(block_texts(verdict_blocks(verdict, Wording(), Wording())))


def run(path: Path, table: dict[str, Any], *words: str) -> Done:
    path.write_text(tomlkit.dumps(table), encoding="utf-8")
    # What is unusual of these cases is meant.
    meant = [word for field in confirmed(table) for word in ("--as-typed", field)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("COLUMNS", "80")
        return captured(*words, str(path), *meant)


def test_a_target_missed_in_one_zone(table: dict[str, Any]) -> None:
    # Half of each turn lies on the turn before: 2 layers up and 2 down are 160 N at mid height.
    asked = targets(("0.55 m", "0.75 m", "150 N"), ("0.75 m", "0.95 m", "200 N"))
    verdict = woold.judge(case_of(table, asked))
    assert (verdict.asked, verdict.holds, verdict.limited_by) == (True, False, "target")
    assert verdict.asked_by == ("hold.targets[0]", "hold.targets[1]")
    first, second = verdict.parts
    assert first.holds
    assert first.share == pytest.approx(160 / 150, rel=1e-6)
    assert (first.share_below, first.layers_missing) == (0.0, None)
    assert verdict.worst == second
    assert verdict.share == second.share == pytest.approx(0.8, rel=1e-6)
    assert (second.low_m, second.high_m) == (0.75, 0.95)
    assert 0.75 <= second.height_m <= 0.95
    assert second.share_below == pytest.approx(1.0)
    assert second.layers_missing == pytest.approx(1.0, rel=1e-6)  # 40 N are one layer
    assert "One more layer" in verdict.mend
    assert "does not hold: 80.0 % of what is asked" in told(verdict)


def test_layers_that_are_missing_are_those_of_the_worst_film(table: dict[str, Any]) -> None:
    """Two decades after a minute at a loss of .1 each, .15 at worst: of 40 N in each of 5 layers 28
    are left, 140 N. Of 168 N that is five sixths, and 28 N are one such layer.

    Film laid first is half a minute older: .02 % of the force.
    """
    loss = {"value": "0.1", "origin": "from a test", "low": "0.05", "high": "0.15"}
    asked = targets(("0 m", "0.4 m", "168 N"))
    asked["hold"]["after"] = "99 min"
    case = case_of(table, LOW, asked, {"film": {"force_loss_per_decade": loss}})
    (part,) = woold.judge(case).parts
    assert part.value == pytest.approx(140.0, rel=2e-3)
    assert part.share == pytest.approx(5 / 6, rel=2e-3)
    # The same of all five layers, over one of them: .065 of 28 N.
    assert part.layers_missing == pytest.approx(1.0, abs=4e-3)


@pytest.mark.parametrize(
    ("rise", "holds", "low", "high"),
    [
        # 251 mm leave 2 mm of 500 with a layer less, up and down: a patch 25 mm high feels at
        # most 2 x 2/25 of a layer less, 153.6 N of 160.
        ("251 mm", True, 153.6 / 150, 160 / 150),
        # 280 mm leave 60 mm with a layer less: a whole patch stands in it, so 120 N or less.
        ("280 mm", False, 0.0, 120 / 150),
    ],
)
def test_a_sliver_does_not_decide(
    table: dict[str, Any], rise: str, holds: bool, low: float, high: float
) -> None:
    program = {"program": {**KNOWN["program"], "rise_per_turn": rise, "fall_per_turn": rise}}
    case = case_of(table, program, targets(("0.55 m", "0.95 m", "150 N")))
    points = [each for each in predict(case).containment_profile if 0.55 < each.height_m < 0.95]
    assert min(each.force_later_n for each in points) <= 120.0 + 1e-6  # at a point both miss it
    verdict = woold.judge(case)
    assert verdict.holds is holds
    assert low - 1e-6 <= verdict.share <= high + 1e-6
    assert (verdict.worst.share_below > 0.0) is not holds


def test_film_is_judged_at_the_worse_end_of_its_loss(table: dict[str, Any]) -> None:
    # After 16 h, log10(1 + 57 600/60) = 2.9827: at .056 a tenfold 83.3 % are left, at .075 77.6 %.
    # 5 layers of 40 N are 166.6 N at the best guess and 155.3 N at the worse end.
    wide = {"film": {"force_loss_per_decade": "0.056"}}
    verdict = woold.judge(case_of(table, LOW, wide, targets(("0 m", "0.4 m", "160 N"))))
    assert verdict.holds is False
    assert verdict.worst.value == pytest.approx(155.3, abs=0.3)
    assert verdict.safe_side == pytest.approx(0.068, abs=0.001)
    assert "6.8 % below its best guess" in told(verdict)


def test_edge_load(table: dict[str, Any]) -> None:
    # 200 N on 0.5 m are 400 N/m; a right angle turns that into 565.7 N/m on the corner.
    case = case_of(table, LOW, {"hold": {"edge_load_limit": "500 N/m"}})
    verdict = woold.judge(case)
    assert (verdict.holds, verdict.limited_by) == (False, "edge_load")
    assert verdict.worst.value == pytest.approx(565.685, abs=0.01)
    assert verdict.share == pytest.approx(0.88388, abs=1e-4)
    assert woold.judge(case.change({"hold.edge_load_limit": "570 N/m"})).holds is True


def test_a_round_load_has_no_corner(table: dict[str, Any]) -> None:
    for name in ("length", "width"):
        del table["load"][name]
    round_load = {"load": {"diameter": "1 m"}, "hold": {"edge_load_limit": "1 N/m"}}
    verdict = woold.judge(case_of(table, round_load))
    assert (verdict.holds, verdict.share) == (True, None)
    assert "no corner" in told(verdict)


def test_a_carriage_that_is_too_slow(table: dict[str, Any]) -> None:
    # 250 mm a turn at 12 turns a minute are 50 mm/s.
    limit = {"machine": {"carriage_speed_limit": "40 mm/s"}}
    verdict = woold.judge(case_of(table, limit, targets(("0.55 m", "0.95 m", "150 N"))))
    assert (verdict.holds, verdict.limited_by) == (False, "drive")
    assert verdict.share == pytest.approx(0.8, rel=1e-6)
    assert verdict.parts[-1].holds is True  # the target itself is met, by a program that cannot run
    assert "Turn slower" in verdict.mend


def test_pre_stretch_that_is_not_held(table: dict[str, Any]) -> None:
    weak = {"carriage": {**KNOWN["carriage"], "friction": 0.05, "unwind_tension": "1 N"}}
    verdict = woold.judge(case_of(table, weak, targets(("0.55 m", "0.95 m", "150 N"))))
    assert (verdict.holds, verdict.limited_by) == (False, "grip")
    assert "Pre-stretch not held" in verdict.answer


def test_a_stack_that_tips_ends_with_1(table: dict[str, Any], tmp_path: Path) -> None:
    # Half of 0.4 m over half of 2 m is 0.2: at 0.5 g it tips at two fifths of what is asked, and
    # sooner the farther its top has moved. Its pallet is wide enough not to tip.
    tall = {
        "load": {
            "length": "0.4 m",
            "width": "0.4 m",
            "height": "2 m",
            "tiers": 4,
            "mass": "200 kg",
            "pallet_length": "1.6 m",
            "pallet_width": "1.6 m",
        },
        "transport": TRANSPORT,
    }
    changed(table, tall)
    verdict = woold.judge(unusual_case(table))
    assert (verdict.holds, verdict.limited_by) == (False, "stack_tips")
    assert 0.3 < verdict.share <= 0.4 + 1e-9
    assert "film does not stop it" in verdict.mend.lower()
    for command in ("transport", "predict"):
        shown = run(tmp_path / "tall.toml", table, command)
        assert shown.returncode == 1, shown.stderr
        text = " ".join(shown.stdout.split())
        assert "the load does not hold" in text
        assert "tipping of the stack" in text
        document = run(tmp_path / "tall.toml", table, command, "--json")
        assert document.returncode == 1
        assert json.loads(document.stdout)["verdict"]["limited_by"] == "stack_tips"


def test_a_unit_that_slides_on_the_vehicle(table: dict[str, Any]) -> None:
    # Friction 0.3 against 0.5 g, counted 1.1 times.
    vehicle = {"vehicle_friction": {"value": "0.3", "origin": "for a count by hand"}}
    case = case_of(table, {"transport": {**TRANSPORT, **vehicle}})
    verdict = woold.judge(case)
    assert (verdict.holds, verdict.limited_by) == (False, "unit_slides")
    assert verdict.share == pytest.approx(0.3 / 0.55)
    assert "anti-slip mats" in verdict.mend
    assert woold.judge(case.change({"transport.foot_blocked": True})).holds is True


def test_nothing_is_asked(table: dict[str, Any], tmp_path: Path) -> None:
    changed(table, LOW)
    verdict = woold.judge(unusual_case(table))
    assert (verdict.asked, verdict.holds, verdict.share, verdict.limited_by) == (
        *(False, None),
        *(None, None),
    )
    assert not verdict.fails
    shown = run(tmp_path / "plain.toml", table, "predict")
    assert shown.returncode == 0
    for offer in ("Nothing is asked", "hold.targets", "edge_load_limit", "transport.profiles"):
        assert offer in shown.stdout


def test_what_cannot_be_said(table: dict[str, Any], tmp_path: Path) -> None:
    changed(table, LOW, targets(("0 m", "0.4 m", "150 N"), ("0 m", "1 m", "150 N")))
    verdict = woold.judge(unusual_case(table))
    assert (verdict.asked, verdict.holds, verdict.share) == (True, None, None)
    assert verdict.fails
    assert verdict.word == "cannot_be_said"
    assert "cannot be said" in verdict.answer
    assert "does not hold" not in told(verdict)
    assert "0.4 m" in verdict.answer
    assert run(tmp_path / "beyond.toml", table, "predict").returncode == 1
    # One part that fails is "no", whatever cannot be said beside it.
    table["hold"]["targets"][0]["force"] = "250 N"
    worse = woold.judge(unusual_case(table))
    assert (worse.holds, worse.share) == (False, pytest.approx(0.8, rel=1e-6))
    assert worse.word == "does_not_hold"


def test_a_transport_without_its_level_cannot_be_said(table: dict[str, Any]) -> None:
    unstated = {key: each for key, each in TRANSPORT.items() if key != "acceleration"}
    verdict = woold.judge(case_of(table, LOW, {"transport": unstated}))
    assert verdict.holds is None
    assert "transport.acceleration" in verdict.answer


def test_how_sure_is_known_by_hand(table: dict[str, Any]) -> None:
    # PERT from 30 to 50 N, likeliest at 40 N: below x of the range lie x^3 (10 - 15 x + 6 x^2).
    # 5 layers hold 175 N from 35 N on: all but (10 - 3.75 + 0.375)/64 = 10.4 %.
    force = {"value": "40 N", "origin": "pull gauge", "low": "30 N", "high": "50 N"}
    program = {"program": {**LOW["program"], "force_to_load": force}}
    grip = {"friction": {"value": "1.5", "origin": "so that no draw slips"}}
    carriage = {"carriage": {**KNOWN["carriage"], **grip}}
    case = case_of(table, LOW, program, carriage, targets(("0 m", "0.4 m", "175 N")))
    sure = sureness(case, draws=400, seed=3)
    assert (sure.draws, sure.refused, sure.seed) == (400, 0, 3)
    assert "program.force_to_load" in sure.varied
    assert sure.share == pytest.approx(0.896, abs=0.05)  # three standard errors of 400 draws
    assert sure.low < sure.share < sure.high
    # Wilson's interval of 358 of 400, by hand: (0.895 + 0.0048)/1.0096 -+ 0.0301, so 0.060 wide.
    assert sure.high - sure.low == pytest.approx(0.060, abs=0.015)
    verdict = woold.judge(case, draws=100)
    assert verdict.sure is not None
    assert "of 100 draws (seed 1" in told(verdict)


@pytest.mark.parametrize(
    ("held", "draws", "low", "high"),
    [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_interval_of_how_sure(held: int, draws: int, low: float, high: float) -> None:
    """R. G. Newcombe, Statist. Med. 17 (1998) 857, table I, method 3 (from memory, and as
    scipy.stats has it): printed digits. Its mirror image is that of the draws that do not hold."""
    assert chance._interval(held / draws, draws) == pytest.approx((low, high), abs=5e-5)
    mirrored = chance._interval(1 - held / draws, draws)
    assert mirrored == pytest.approx((1 - high, 1 - low), abs=5e-5)


def part(holds: bool | None, share: float | None = None, **more: float) -> VerdictPart:
    return VerdictPart("target", "hold.targets", holds, share, **more)


def test_the_part_that_decides() -> None:
    """What is not touched is best, what cannot be said comes before what holds, a no before all."""
    tight, idle = part(True, 1.05), part(True)
    assert decided([idle, part(True, 1.4), tight]) == (True, 1.05, tight)
    assert decided([idle]) == (True, None, idle)
    # Of those that cannot be said the one without any number, then the one that may be worst.
    open_end, least = part(None), part(None, share_least=0.7, share_most=1.3)
    other = part(None, share_least=0.9, share_most=1.1)
    assert decided([tight, other, least]) == (None, None, least)
    assert decided([tight, other, least, open_end]) == (None, None, open_end)
    short, none_at_all = part(False, 0.9), part(False)
    assert decided([tight, least, short, part(False, 0.95)]) == (False, 0.9, short)
    assert decided([short, none_at_all]) == (False, None, none_at_all)


def test_less_film_that_does_not_hold_is_no_saving(table: dict[str, Any]) -> None:
    case = case_of(table, targets(("0.55 m", "0.95 m", "300 N")))
    better = case.change({"carriage.prestretch": "280 %"})
    found = compare_carriages(case, better, draws=100)
    assert (found.is_saving, found.candidate_verdict.holds) == (False, False)
    page = " ".join(block_texts(answered_blocks(found, Wording(), Wording())))
    assert "no saving" in page
    assert "Two ways to spend the saving" not in page
    held = case.change({"hold.targets": [{"low": "0.55 m", "high": "0.95 m", "force": "100 N"}]})
    kept = compare_carriages(held, better, draws=100)
    assert kept.is_saving
    page = " ".join(block_texts(answered_blocks(kept, Wording(), Wording())))
    assert "Two ways to spend the saving" in page


def test_a_design_says_of_both_programs_whether_they_hold(table: dict[str, Any]) -> None:
    limits = {"design": {"force_step": "20 N", "rise_step": "50 mm"}}
    case = case_of(table, limits, targets(("0 m", "1.5 m", "120 N")))
    design = design_program(case)
    assert design.chosen is not None
    assert (design.today.verdict.holds, design.chosen.verdict.holds) == (False, True)
    first = next(iter(block_texts(design.blocks()[2:])))
    assert "Today's program: By this estimate the load does not hold" in first


def test_the_bench_shows_the_verdict_first(table: dict[str, Any], tmp_path: Path) -> None:
    changed(table, LOW, targets(("0 m", "0.4 m", "250 N")))
    table["as_typed"] = confirmed(table)
    settings = WebSettings(store=str(tmp_path / "store.sqlite"))
    with TestClient(create_app(settings), base_url="http://localhost") as client:
        view = client.post("/api/predict", json={"case": table}).json()
        assert view["verdict"]["holds"] is False
        assert view["verdict"]["share"] == pytest.approx(0.8, rel=1e-6)
        first = view["answer"][0]
        assert first["is_strong"]
        assert "does not hold: 80.0 %" in first["text"]
        judged = client.post("/api/verdict", json={"case": table}).json()
        assert judged["schema"] == "verdict-view"
        assert judged["verdict"]["sure"]["share"] == 0.0


def test_an_answer_says_what_to_do_first(table: dict[str, Any]) -> None:
    verdict = woold.judge(case_of(table, LOW, targets(("0 m", "0.4 m", "290 N"))))
    texts = block_texts(answer_blocks(verdict, Wording()))
    assert any(text.startswith("First: 3 more layers") for text in texts)  # 90 N of 40 N layers


def test_one_word_wherever_it_is_said(table: dict[str, Any], tmp_path: Path) -> None:
    """Terminal, document, exit status, page, report and set-up sheet: the same word."""
    zones = [("0 m", "0.4 m", "150 N")]
    words = {
        "holds": (0, "the load holds"),
        "does_not_hold": (1, "the load does not hold"),
        "cannot_be_said": (1, "It cannot be said whether the load holds"),
    }
    for word, zone in zip(
        words, (zones, [("0 m", "0.4 m", "250 N")], [*zones, ("0 m", "1 m", "150 N")]), strict=True
    ):
        asked = json.loads(json.dumps(table))
        changed(asked, LOW, targets(*zone))
        status, said = words[word]
        path = tmp_path / f"{word}.toml"
        shown = run(path, asked, "predict")
        assert shown.returncode == status
        assert said in " ".join(shown.stdout.split())
        document = run(path, asked, "predict", "--json")
        assert document.returncode == status
        assert json.loads(document.stdout)["verdict"]["word"] == word
        case = unusual_case(asked)
        for build in (prediction_report, setup_sheet):
            report = build(case, making(), with_figures=False, draws=5)
            assert said in " ".join(block_texts(report.blocks))
        page = tmp_path / f"{word}.html"
        done = run(path, asked, "report", "sheet", "--out", str(page))
        assert done.returncode == status, done.stderr
        assert page.exists()
