"""Programs that hold with a given probability while film, friction and neck-down vary.

Draws of everything that is known only within a range are predicted one by one; the share that
misses no target is the probability. The program is looked for against a film that is narrower,
weaker and slipperier than the best guess, by a quantile of the draws, which is moved until the
least film that holds often enough is found. That it holds is measured; that no other program of
less film would hold as often is not proven.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.design.candidate import Candidate, Objective
from woold.design.choices import Choices
from woold.design.search import Search
from woold.design.settings import Settings, with_film
from woold.design.targets import Targets
from woold.errors import WooldError
from woold.prediction.film_on_load import lacing_of, lay_film
from woold.prediction.film_over_height import layer_force_later
from woold.prediction.predict import predict
from woold.prediction.result import FilmOnLoad
from woold.uncertainty.draws import Unknown, draw_unknowns, unknown_of
from woold.words import say

__all__ = [
    "DRAWS",
    "RobustDesign",
    "best_robust",
    "hold_probability",
    "probability_interval",
    "unknowns_of",
]

Floats = NDArray[np.float64]

DRAWS = 200
SEED = 20240607

_QUANTILE_STEPS = 6
_TRIED_PER_STEP = 3
_LEFT_OUT = (
    "film.density",
    "film.roll_mass",
    "carriage.roughness",
    "transport.acceleration",
    "transport.pressing_force",
    "transport.slip_limit",
    "transport.lean_limit",
    "transport.kept_limit",
    "transport.pallet_grip",
)
"""Numbers with ranges that do not change what is held, or that are chosen and not measured."""


@dataclass(frozen=True, slots=True)
class RobustDesign:
    """A program that holds often enough.

    Args:
        candidate: the program, measured at the best guess.
        probability: share of the draws in which it holds [-].
    """

    candidate: Candidate
    probability: float


def unknowns_of(case: Case) -> tuple[Unknown, ...]:
    """Numbers of film, carriage and transport that are known only within a range."""
    return tuple(
        unknown
        for each in case.inputs()
        if each.field.startswith(("film.", "carriage.", "transport."))
        and each.field not in _LEFT_OUT
        for unknown in [unknown_of(each)]
        if unknown is not None
    )


def hold_probability(
    case: Case,
    targets: Targets,
    draws: int = DRAWS,
    seed: int = SEED,
    give_up_below: float = 0.0,
) -> float:
    """Share of draws in which a case's program misses no target.

    Args:
        case: the case with the program.
        targets: what must be held.
        draws: how many are predicted.
        seed: of the draws.
        give_up_below: stop as soon as this share cannot be reached; the share that is returned is
            then too small [-].
    """
    drawn = draw_unknowns(unknowns_of(case), draws, np.random.default_rng(seed))
    held = 0
    for index in range(draws):
        if held + draws - index < give_up_below * draws:
            break
        values = {field: float(values[index]) for field, values in drawn.items()}
        try:
            drawn_case = case.with_drawn(values)
            held += not targets.redrawn(drawn_case).shortfalls(drawn_case, predict(drawn_case))
        except WooldError:
            continue
    return held / draws


def probability_interval(probability: float, draws: int = DRAWS) -> tuple[float, float]:
    """Wilson's 95 % interval of a share of draws.

    Source: Wilson, Journal of the American Statistical Association 22 (1927) 209-212.
    """
    z2 = 1.959964**2
    centre = (probability + z2 / (2.0 * draws)) / (1.0 + z2 / draws)
    spread = math.sqrt(z2 * (probability * (1.0 - probability) / draws + z2 / (4.0 * draws**2)))
    half = spread / (1.0 + z2 / draws)
    return max(centre - half, 0.0), max(min(centre + half, 1.0), probability)


def best_robust(
    search: Search,
    choices: Choices,
    objective: Objective,
    probability: float,
    progress: Callable[[str], None] = lambda _: None,
) -> RobustDesign | None:
    """The best program found that holds with a probability.

    Args:
        search: the search, with its targets.
        choices: what may be chosen.
        objective: what shall be small.
        probability: share of the draws that must hold [-].
        progress: told what is being done.

    Returns:
        The program; None where none was found.
    """
    adverse = _Adverse(search)
    shares: dict[Settings, float] = {}
    best: RobustDesign | None = None
    low, high = 0.0, 1.0
    quantile = probability
    for step in range(_QUANTILE_STEPS):
        progress(
            say(
                "looking for a program that holds often enough, {step} of {steps}",
                step=step + 1,
                steps=_QUANTILE_STEPS,
            )
        )
        found = None
        candidates, _ = adverse.search_at(quantile).best(choices, objective, keep=_TRIED_PER_STEP)
        for candidate in candidates:
            made = search.measured(candidate.settings, candidate.place, objective)
            if made is None:
                continue
            if best is not None and made.score >= best.candidate.score - 1e-12:
                found = best
                break
            if made.settings not in shares:
                shares[made.settings] = hold_probability(
                    search.case_of(made), search.targets, give_up_below=probability
                )
            if shares[made.settings] >= probability:
                found = RobustDesign(made, shares[made.settings])
                break
        if found is None:
            low = quantile
        else:
            best, high = found, quantile
        quantile = 0.5 * (low + high)
    return best


class _Adverse:
    """The search against films that are worse than the best guess by a quantile of the draws."""

    def __init__(self, search: Search) -> None:
        self.search = search
        self.widths: dict[tuple[int, float], Floats] = {}

    def search_at(self, quantile: float) -> Search:
        """The search with width, force kept and friction at a quantile on the bad side."""
        search = self.search

        def seen_as(case: Case, sheet: FilmOnLoad) -> FilmOnLoad:
            key = (id(case.film), case.carriage.prestretch)
            if key not in self.widths:
                self.widths[key] = self._width_shares(case, sheet)
            share = float(np.quantile(self.widths[key], 1.0 - quantile))
            return replace(sheet, width=sheet.width * min(share, 1.0))

        worst = max(
            self._force_shares(with_film(search.case, film), quantile) for film in search.shelf
        )
        targets = search.targets.scaled(worst)
        if search.case.transport is not None and targets.tiers:
            drawn = draw_unknowns(unknowns_of(search.case), 4 * DRAWS, np.random.default_rng(SEED))
            values: dict[str, float] = {
                field: float(np.quantile(drawn[field], 1.0 - quantile))
                for field in (
                    "transport.friction",
                    "transport.deck_friction",
                    "transport.kinetic_share",
                )
                if field in drawn
            }
            targets = targets.redrawn(search.case.with_drawn(values))
        return search.with_targets(targets).with_sheets(seen_as)

    def _width_shares(self, case: Case, sheet: FilmOnLoad) -> Floats:
        """Width on the load over the best guess, in many draws."""
        drawn = draw_unknowns(unknowns_of(case), 4 * DRAWS, np.random.default_rng(SEED))
        try:
            laid = lay_film(case, lacing_of(case), drawn)
        except WooldError:
            return np.ones(1)
        shares = np.asarray(laid.width, dtype=float) / sheet.width
        return np.atleast_1d(shares[np.isfinite(shares)] if shares.ndim else shares)

    def _force_shares(self, case: Case, quantile: float) -> float:
        """Force that the targets are met with over that at a quantile of the draws."""
        unknowns = [each for each in unknowns_of(case) if each.name == "film.force_loss_per_decade"]
        if not unknowns:
            return 1.0
        drawn = draw_unknowns(unknowns, 4 * DRAWS, np.random.default_rng(SEED))
        loss = float(np.quantile(drawn["film.force_loss_per_decade"], quantile))
        later = layer_force_later(case.with_values({"film.force_loss_per_decade": loss}))
        if later <= 0.0:
            return 1.0
        if self.search.targets.tiers is not None:
            return max(layer_force_later(case) / later, 1.0)
        # Targets are met at the worse end of the loss; a quantile of it asks for less.
        return layer_force_later(case, is_safe=True) / later
