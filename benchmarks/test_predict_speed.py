"""Speed of a prediction and of batches of programs. Run with `make bench`; never timed in tests."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from typing import Any

import numpy as np
import pytest

from woold.case.file import case_from_table, starter_text
from woold.physics import layer_kernel, pattern
from woold.prediction.drawn import predict_draws
from woold.prediction.predict import predict
from woold.uncertainty.draws import draw_unknowns
from woold.uncertainty.spread import unknown_inputs
from woold.verdict.verdict import verdict_of

PROGRAMS = 20_000
HEIGHTS = np.linspace(0.0, 1.5, 31)


def programs() -> np.ndarray:
    """Random programs of about 20 turns, shape (programs, legs, 6)."""
    rng = np.random.default_rng(1)
    tables = []
    for _ in range(PROGRAMS):
        rise = rng.uniform(0.15, 0.25)
        legs = pattern.wrap_path(pattern.WrapProgram(
            load_height=1.5, film_width=0.45, start_height=0.0, bottom_wraps=rng.uniform(1, 4),
            rise_per_turn=rise, top_overlap=0.05, top_wraps=rng.uniform(1, 4),
            fall_per_turn=rise, closing_wraps=1.0,
        ))  # fmt: skip
        tables.append(layer_kernel.leg_table(legs, [1.0] * len(legs)))
    return np.stack(tables)


def plain_cover(tables: np.ndarray, heights: np.ndarray) -> np.ndarray:
    """The same least passes in plain NumPy: arrays over programs and heights, loops over legs."""
    first, last, edge, end, width = (tables[:, :, i, None] for i in range(5))
    slope = (end - edge) / (last - first)
    flat = np.abs(slope) < 1e-12
    with np.errstate(divide="ignore", invalid="ignore"):
        one = first + (heights - width - 1e-9 - edge) / slope
        two = first + (heights + 1e-9 - edge) / slope
    inside = (edge <= heights + 1e-9) & (edge >= heights - width - 1e-9)
    begin = np.where(flat, first, np.maximum(np.minimum(one, two), first))
    stop = np.where(flat, np.where(inside, last, first - 1), np.minimum(np.maximum(one, two), last))
    length = np.maximum(stop - begin, 0.0)
    whole = np.floor(length + 1e-7)
    rest = length - whole
    open_arc = rest > 1e-7
    arc_begin = begin % 1.0
    arc_end = (arc_begin + rest + 1e-7) % 1.0
    wraps = arc_begin + rest + 1e-7 >= 1.0
    least = np.where(open_arc.any(axis=1), open_arc.sum(axis=1), 0).astype(float)
    for probe in range(tables.shape[1]):
        point = arc_end[:, probe : probe + 1]
        after, before = point >= arc_begin, point < arc_end
        covered = open_arc & np.where(wraps, after | before, after & before)
        counts = np.where(open_arc[:, probe], covered.sum(axis=1), np.inf)
        least = np.minimum(least, counts)
    return whole.sum(axis=1) + least


def test_help(benchmark: Any) -> None:
    """`woold --help`, whole process: asked for under 0.3 s."""
    command = [sys.executable, "-m", "woold", "--help"]
    benchmark.pedantic(subprocess.run, (command,), {"capture_output": True}, rounds=7)


def test_predict_in_process(benchmark: Any) -> None:
    """One prediction of a program of 17 turns: asked for under 1 ms."""
    case = case_from_table(tomllib.loads(starter_text()))
    benchmark(predict, case)


def test_batch_compiled(benchmark: Any) -> None:
    """20,000 programs over 31 heights on one core, compiled."""
    tables = programs()
    least, mean = np.empty((PROGRAMS, 31)), np.empty((PROGRAMS, 31))
    layer_kernel.path_cover(tables[:1], HEIGHTS, least[:1], mean[:1])
    benchmark.pedantic(layer_kernel.path_cover, (tables, HEIGHTS, least, mean), rounds=7)
    benchmark.extra_info["programs_per_s"] = PROGRAMS / benchmark.stats.stats.median
    print(f"\ncompiled: {benchmark.extra_info['programs_per_s']:,.0f} programs/s")
    assert np.array_equal(least[:500], plain_cover(tables[:500], HEIGHTS))


def test_batch_plain_numpy(benchmark: Any) -> None:
    """The same in plain NumPy, in chunks that fit the cache."""
    tables = programs()

    def run() -> None:
        for start in range(0, PROGRAMS, 500):
            plain_cover(tables[start : start + 500], HEIGHTS)

    benchmark.pedantic(run, rounds=3)
    print(f"\nplain NumPy: {PROGRAMS / benchmark.stats.stats.median:,.0f} programs/s")


MEASURED = {"friction": 0.5, "deck_friction": 0.5, "vehicle_friction": 0.6, "kinetic_share": 0.8,
            "package_give": "2 mm", "slip_margin": 1.25}  # fmt: skip


@pytest.mark.parametrize("supported", [["forward", "sideways"], []], ids=["one way", "three ways"])
@pytest.mark.parametrize("measured", [True, False], ids=["measured", "unmeasured"])
def test_verdict(benchmark: Any, measured: bool, supported: list[str]) -> None:
    """What a verdict with a transport adds to a prediction: asked for under 0.2 ms."""
    table = tomllib.loads(starter_text())
    table["hold"] = {"targets": [{"force": "80 N"}]}
    table["load"] |= {"tiers": 6, "mass": "500 kg"}
    table["transport"] = {"profiles": ["EN 12195-1 road"], "supported": supported}
    if measured:
        table["transport"] |= {
            name: {"value": value, "origin": "measured"} for name, value in MEASURED.items()
        }
    case = case_from_table(table)
    prediction = predict(case)
    for _ in range(20):  # its loops are compiled after a few calls
        verdict_of(case, prediction)
    benchmark(verdict_of, case, prediction)


def test_a_thousand_draws(benchmark: Any) -> None:
    """Behind every interval: at once, instead of a thousand predictions."""
    case = case_from_table(tomllib.loads(starter_text()))
    unknowns = unknown_inputs(case, ("load.", "film.", "carriage.", "program.", "hold."))
    draws = draw_unknowns(unknowns, 1000, np.random.default_rng(1))
    benchmark(lambda: list(predict_draws(case, draws, 1000)))
    assert benchmark.stats["median"] < 0.5
