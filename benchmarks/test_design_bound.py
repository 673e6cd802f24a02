"""The design and its bound against search that knows nothing of either. Run with `make bench`.

Random search and scipy's differential evolution over 40 seeded cases, each program judged by the
verdict's containment over patches and its transport screen alone: nothing of any kind may lie
below the bound, and nothing of one rise more than 1 % below the chosen program.
"""

from __future__ import annotations

import os
import time

import numpy as np
import pytest
from scipy.optimize import differential_evolution

from design_cases import (
    Judge,
    any_kind,
    numbers_of,
    one_rise,
    one_rise_numbers,
    random_case,
)
from woold.case.design import Design
from woold.design.choices import Choices, allowed_choices
from woold.design.proof import proven_best
from woold.design.refined import best_between
from woold.design.search import Search
from woold.design.settings import Settings, with_settings
from woold.design.targets import targets_of
from woold.design.varying import best_varying
from woold.design.verified import best_verified
from woold.prediction.film_on_load import film_on_load
from woold.prediction.predict import predict

CASES = int(os.environ.get("WOOLD_DESIGN_CASES", "40"))
SECONDS = float(os.environ.get("WOOLD_DESIGN_SECONDS", "60"))


def least_found(
    judge: Judge, choices: Choices, known: tuple[Settings, ...], seed: int
) -> tuple[float, float]:
    """Film of the lightest program of one rise, and of any kind, found in the processor time given.

    Half of it is random search; then differential evolution begins with the best of that, the
    programs that are known and others near them.
    """
    search = judge.search
    first = known[0] if known else one_rise(search, choices, np.full(5, 0.5))
    width = film_on_load(with_settings(search.case, search.case.film, first)).width
    rng = np.random.default_rng(seed)
    starts = [numbers_of(search, choices, each, width) for each in known]
    ends = []
    for kind, size in (("one", 5), ("any", 11)):
        near = [one_rise_numbers(choices, each) for each in starts[:1]] if kind == "one" else starts

        def score(x: np.ndarray, kind: str = kind) -> float:
            made = (
                one_rise(search, choices, x)
                if kind == "one"
                else any_kind(search, choices, x, width)
            )
            return judge.score(made)

        until = time.process_time() + 0.25 * SECONDS
        tried: list[tuple[float, int, np.ndarray]] = []
        while time.process_time() < until or len(tried) < 10 * size:
            x = rng.random(size)
            tried.append((score(x), len(tried), x))
        tried.sort()
        around = [np.clip(x + 0.03 * rng.standard_normal(size), 0, 1) for x in near for _ in "abc"]
        pool = [*near, *around, *(x for _, _, x in tried)][: 10 * size]
        until = time.process_time() + 0.25 * SECONDS
        found = differential_evolution(
            score, [(0.0, 1.0)] * size, maxiter=10**6, seed=seed, tol=0.0, polish=False,
            init=np.array(pool), callback=lambda *_, until=until: time.process_time() > until,
        )  # fmt: skip
        ends.append(min(tried[0][0], float(found.fun)))
    return ends[0], ends[1]


@pytest.mark.parametrize("seed", range(CASES))
def test_nothing_found_beats_the_bound_or_the_chosen_program(seed: int) -> None:
    kind, case = random_case(seed)
    limits = case.design or Design()
    search = Search(case, (case.film,), targets_of(case, predict(case)), limits)
    steps = allowed_choices(case, (case.film,), limits)
    grid, _ = best_verified(search, steps, "film")
    best, choices = best_between(search, steps, "film", grid)
    bound = search.bound(choices, "film")
    judge = Judge(search)
    if best is None:
        one, _ = least_found(judge, steps, (), seed)
        print(f"\n{seed} {kind}: nothing holds; found {one if one < 1e3 else 'nothing'}")
        assert one >= 1e3
        return
    assert bound is not None
    best, choices, proof = proven_best(search, choices, "film", best)
    rise_varies = best_varying(search, choices, "film", best)
    varying = np.inf if rise_varies is None else rise_varies.candidate.film_mass
    known = (best, *([] if rise_varies is None else [rise_varies]))
    settings = tuple(each.candidate.settings for each in known)
    one, anyhow = least_found(judge, steps, settings, seed)
    mass = best.candidate.film_mass
    assert proof is not None
    print(
        f"\n{seed} {kind}: bound {1e3 * bound.bound:.1f} g, rise that varies {1e3 * varying:.1f},"
        f" one rise {1e3 * mass:.1f} (proven {1e3 * proof.bound:.1f}); found of one rise"
        f" {1e3 * one:.1f}, of any kind {1e3 * anyhow:.1f}"
    )
    assert min(one, anyhow, varying) >= bound.bound * (1.0 - 1e-9)
    assert one >= 0.99 * mass
    assert one >= proof.bound * (1.0 - 1e-9)
    assert mass <= 1.01 * proof.bound


def test_rise_that_varies_is_near_the_bound() -> None:
    gaps: list[float] = []
    prices: list[float] = []
    for seed in range(CASES):
        kind, case = random_case(seed)
        limits = case.design or Design()
        search = Search(case, (case.film,), targets_of(case, predict(case)), limits)
        choices = allowed_choices(case, (case.film,), limits)
        bound = search.bound(choices, "film")
        grid, _ = best_verified(search, choices, "film")
        best, choices = best_between(search, choices, "film", grid)
        if best is None:
            continue
        assert bound is not None
        best, choices, _ = proven_best(search, choices, "film", best)
        found = best_varying(search, choices, "film", best)
        assert found is not None
        gaps.append(found.candidate.film_mass / bound.bound - 1.0)
        prices.append(best.candidate.film_mass / found.candidate.film_mass - 1.0)
        print(f"{seed} {kind}: gap {gaps[-1]:.3f}, price of one rise {prices[-1]:.3f}")
    print()
    print(f"gap: median {np.median(gaps):.3f}, most {max(gaps):.3f}, of {len(gaps)} cases")
    print(f"price of one rise: median {np.median(prices):.3f}, most {max(prices):.3f}")
    assert np.median(gaps) <= 0.05
    assert max(gaps) <= 0.10
