"""Speed of a carriage and of its draws. Run with `make bench`; never timed in tests."""

from __future__ import annotations

import importlib.resources
import tomllib
from typing import Any

import numpy as np

from woold.carriages.compare import compare_carriages
from woold.carriages.study import carriage_report
from woold.case.file import case_from_table
from woold.case.model import Case
from woold.prediction.film_on_load import lacing_of, lay_film


def demo_case(name: str) -> Case:
    files = importlib.resources.files("woold.demo").joinpath("files")
    return case_from_table(tomllib.loads(files.joinpath(name).read_text(encoding="utf-8")))


def test_whole_carriage_in_process(benchmark: Any) -> None:
    """Path, angles, gap, grip, delivered pre-stretch, width: asked for under 2 ms."""
    case = demo_case("today.toml")
    benchmark(lambda: lay_film(case, lacing_of(case)))


def test_carriage_report_in_process(benchmark: Any) -> None:
    """All of `woold carriage`, its curve of 121 points and the drive included."""
    benchmark(carriage_report, demo_case("today.toml"))


def test_ten_thousand_draws(benchmark: Any) -> None:
    """Film on the load in 10,000 draws, one core: asked for under 2 s."""
    case = demo_case("today.toml")
    lacing = lacing_of(case)
    random = np.random.default_rng(1)
    draws = {
        "film.yield_stress": random.uniform(7e6, 11e6, 10_000),
        "film.hardening_modulus": random.uniform(1.5e6, 2.5e6, 10_000),
        "film.elastic_modulus": random.uniform(100e6, 250e6, 10_000),
        "carriage.friction": random.uniform(0.4, 1.0, 10_000),
        "carriage.unwind_tension": random.uniform(10.0, 40.0, 10_000),
    }
    benchmark(lambda: lay_film(case, lacing, draws))


def test_comparison_with_ten_thousand_draws(benchmark: Any) -> None:
    """All of `woold carriage compare`: asked for under 2 s."""
    pair = demo_case("today.toml"), demo_case("candidate.toml")
    benchmark.pedantic(compare_carriages, (*pair, 10_000), rounds=5, warmup_rounds=1)
