"""Draws of everything unknown, and whether they can be trusted."""

from __future__ import annotations

import importlib
import os
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from woold.errors import InputError
from woold.words import say

__all__ = ["Diagnostics", "Sampled", "sampled"]

Array = npt.NDArray[np.float64]
Density = Callable[[Array], tuple[float, Array]]

CHAINS = 4
TUNED = 600
KEPT = 1000
ACCEPTED = 0.9
"""Share of the steps that the sampler aims to accept [-]."""

_APART = 0.5
"""Standard deviation of where chains start about what they are told [-]."""

WORST_R_HAT = 1.01
FEWEST = 400
"""Independent draws of every number, as Vehtari et al. (2021) ask: 100 for each chain [-]."""

FEWEST_IN_TAILS = 200
"""The same of the ends of its middle 90 %, which are then right to 1.5 % of probability [-]."""

_MANY = 100
"""Numbers from which on chains side by side are quicker than waiting for each other's turn [-]."""

MOST_DIVERGENT = 0.005
"""Share of the draws at which the sampler lost its way."""


@dataclass(frozen=True, slots=True)
class Diagnostics:
    """Whether chains agree and have moved enough.

    Args:
        r_hat: largest rank-normalised split R-hat of any number.
        effective: fewest independent draws of any number.
        effective_in_tails: the same of the ends of its middle 90 %.
        divergences: draws at which the sampler lost its way.
        draws: draws in all.
        reason: why they cannot be trusted; empty where they can.
        by: how they were drawn.
    """

    r_hat: float
    effective: float
    effective_in_tails: float
    divergences: int
    draws: int
    reason: str
    by: str


@dataclass(frozen=True, slots=True)
class Sampled:
    """Draws, shape (draws, numbers), and whether they can be trusted."""

    draws: Array
    diagnostics: Diagnostics


def sampled(
    density: Density,
    count: int,
    seed: int = 1,
    kept: int = 0,
    start: Array | None = None,
    apart: Array | float = 1.0,
) -> Sampled:
    """Draws from a density by the no-U-turn sampler.

    Args:
        density: logarithm of the density and its slope, of numbers of shape (count,).
        count: numbers.
        seed: of the draws.
        kept: draws kept of each chain; 0 for as many as an answer needs.
        start: about which chains start, shape (count,); anywhere near 0 if not given.
        apart: how far from there, over half of each number's spread, shape (count,).

    Raises:
        InputError: the sampler is not installed.

    Source:
        Hoffman and Gelman, J. Machine Learning Research 15 (2014) 1593-1623; R-hat and effective
        size: Vehtari, Gelman, Simpson, Carpenter and Buerkner, Bayesian Analysis 16 (2021) 667-718.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        nutpie, from_pyfunc, arviz = _libraries()

        def make_logp() -> Density:
            return density

        def make_expand(*_: int) -> Callable[[Array], dict[str, Array]]:
            return lambda at: {"all": at}

        def make_start(of_chain: int) -> Array:
            chance = np.random.default_rng(of_chain).standard_normal(count)
            return np.asarray((0.0 if start is None else start) + _APART * apart * chance)

        model = from_pyfunc(
            count,
            make_logp,
            make_expand,
            [np.dtype(float)],
            [(count,)],
            ["all"],
            make_initial_point_fn=make_start,
        )
        trace = nutpie.sample(
            model,
            draws=kept or KEPT,
            tune=TUNED,
            chains=CHAINS,
            cores=min(CHAINS, os.cpu_count() or 1) if count >= _MANY else 1,
            seed=seed,
            progress_bar=False,
            target_accept=ACCEPTED,
        )
        r_hat = float(arviz.rhat(trace)["all"].max())
        bulk, tail = (
            float(arviz.ess(trace, method=each)["all"].min()) for each in ("bulk", "tail")
        )
    divergences = int(trace.sample_stats["diverging"].sum())
    draws = np.asarray(trace.posterior["all"], dtype=float).reshape(-1, count)
    return Sampled(
        draws,
        Diagnostics(
            r_hat,
            bulk,
            tail,
            divergences,
            len(draws),
            _reason(r_hat, (bulk, tail), divergences / len(draws)),
            say("sampling"),
        ),
    )


def _libraries() -> tuple[Any, Any, Any]:
    """The sampler, what makes a model of a density for it, and what judges its chains."""
    try:
        nutpie = importlib.import_module("nutpie")
        from_pyfunc = importlib.import_module("nutpie.compiled_pyfunc").from_pyfunc
        return nutpie, from_pyfunc, importlib.import_module("arviz")
    except ImportError as error:
        raise InputError.one(
            "woold learn",
            say("the sampler is not installed"),
            "woold[learn]",
            say("Install it: pip install 'woold[learn]'."),
        ) from error


def _reason(r_hat: float, effective: tuple[float, float], divergent: float) -> str:
    if not r_hat <= WORST_R_HAT:
        return say(
            "The chains do not agree (R-hat {found}, at most {most}).",
            found=f"{r_hat:.3f}",
            most=f"{WORST_R_HAT:g}",
        )
    for found, least in zip(effective, (FEWEST, FEWEST_IN_TAILS), strict=True):
        if not found >= least:
            return say(
                "Too few independent draws ({found}, at least {least}).",
                found=f"{found:.0f}",
                least=least,
            )
    if divergent > MOST_DIVERGENT:
        return say(
            "The sampler lost its way in {found} of the draws (at most {most}).",
            found=f"{divergent:.1%}",
            most=f"{MOST_DIVERGENT:.1%}",
        )
    return ""
