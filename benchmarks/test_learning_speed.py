"""How long learning takes: 40 trials of two treatments, 25 loads each. Run with `make bench`."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))
sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "unit"))
from learning_simulations import simulated
from report_makers import demo_case
from woold.learning.forecast import forecast
from woold.learning.kept import learn_again, read_kept, write_kept
from woold.learning.learned import Learned
from woold.learning.wrapped import Wrapped
from woold.trial.averages import MARKS, MASS, PULL, WIDTH, Average

TRIALS, LOADS = 40, 25
MONTHS = 0.5
CASES = {"baseline": demo_case("today.toml"), "candidate": demo_case("next.toml")}
AVERAGES = (
    Average(MASS, 0, LOADS, 0.0, 0.007),
    Average(MARKS, 0, LOADS, 0.0, 0.007),
    Average(WIDTH, 0, LOADS, 0.0, 0.005),
    Average(PULL, 0, LOADS, 0.0, 0.016, height=0.75, age=600.0),
)


def _timed(what: Callable[[], Any]) -> tuple[Any, float, float]:
    """What it answers, with the time by the clock and that of the processor [s]."""
    clock, processor = time.perf_counter(), time.process_time()
    found = what()
    return found, time.perf_counter() - clock, time.process_time() - processor


def test_a_new_load_in_five_seconds_and_all_anew_in_five_minutes(
    benchmark: Any, tmp_path: Path
) -> None:
    """Promised: an answer after a new load under 5 s, full sampling under 5 minutes, on two cores,
    for 40 trials within 20 months and 2,000 loads.
    """
    wrapped = [
        Wrapped(f"site-{index}", way, "jars", case, AVERAGES, when=index * MONTHS * 2.63e6)
        for index in range(TRIALS)
        for way, case in CASES.items()
    ]
    seen = simulated(wrapped, np.random.default_rng(77)).wrapped
    path = tmp_path / "kept"

    def run() -> tuple[float, float]:
        learned, all_anew, processor = _timed(lambda: learn_again(seen, None))
        assert learned.can_be_trusted, learned.diagnostics
        write_kept(path, learned, seen)
        moved = replace(seen[-1].averages[0], log_mean=seen[-1].averages[0].log_mean + 0.001)
        after = [*seen[:-1], replace(seen[-1], averages=(moved, *seen[-1].averages[1:]))]

        def one_more() -> Learned:
            again = learn_again(after, read_kept(path))
            forecast(again, CASES["candidate"], CASES["baseline"])
            return again

        again, new_load, its_processor = _timed(one_more)
        assert again.can_be_trusted, again.diagnostics
        for name, clock, own in (
            ("all anew", all_anew, processor),
            (f"one load more, {again.diagnostics.by}", new_load, its_processor),
        ):
            print(f"\n{name}: {clock:.1f} s by the clock, {own:.1f} s of a processor", end="")
        return all_anew, new_load

    all_anew, new_load = benchmark.pedantic(run, rounds=1)
    assert all_anew < 300.0
    assert new_load < 5.0
