"""Start-up of fresh processes, in processor time, median of seven. Run with `make bench`."""

from __future__ import annotations

import resource
import statistics
import subprocess
import sys
from pathlib import Path

import pytest

CASE = str(Path(__file__).parents[1] / "src/woold/demo/files/today.toml")


def processor_time(*words: str) -> float:
    """User and system time of a fresh interpreter with these words, bytecode written [s]."""
    times = []
    for _ in range(8):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        done = subprocess.run([sys.executable, *words], capture_output=True, check=False)
        assert done.returncode in (0, 1), done.stderr  # 1: what the case asks for does not hold
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        times.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return statistics.median(times[1:])


@pytest.mark.parametrize(
    ("words", "asked"),
    [
        (("-m", "woold", "predict", CASE), 0.6),
        (("-m", "woold", "predict", CASE, "--json"), 0.6),
        (("-m", "woold", "--help"), 0.2),
        (("-c", "import woold"), 0.1),
    ],
)
def test_start_up(words: tuple[str, ...], asked: float) -> None:
    taken = processor_time(*words)
    print(f"\n{' '.join(words)}: {taken:.3f} s, asked for under {asked} s")
    assert taken < asked
