"""A trial that is fitted once, judged: film, equal hold and every zone, before and after."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from woold.errors import InputError
from woold.trial.compare import LEVEL, TrialInterval, ZoneComparison, means_of
from woold.trial.equal_hold import LogRatio
from woold.trial.fitted_once import (
    Series,
    block_series,
    equal_hold_series,
    film_by_roll,
    step_at_change,
)
from woold.trial.judged import JudgedRatio, JudgedTrial
from woold.trial.ratio import noninferiority_p, student_quantile
from woold.trial.table import LoadTable
from woold.words import say

__all__ = ["BeforeAfter", "judge_before_after"]

ALPHA = (1.0 - LEVEL) / 2.0


@dataclass(frozen=True, slots=True)
class BeforeAfter:
    """What a comparison of before with after rests on.

    Args:
        blocks_before, blocks_after: rolls (blocks) compared.
        has_control: an unchanged machine was weighed beside it.
        rolls_weighed: film masses were taken over the mass of a metre of their roll.
        waves: slow waves that the error is taken from.
    """

    blocks_before: int
    blocks_after: int
    has_control: bool
    rolls_weighed: bool
    waves: int


def judge_before_after(
    table: LoadTable, margin: float, is_filled: bool
) -> tuple[JudgedTrial, BeforeAfter]:
    """Judge before against after.

    Args:
        table: all loads, unchanged machines included, in the order of time.
        margin: largest share of a zone's hold that may be lost.
        is_filled: whether the plan is; before that nothing is decided.

    Raises:
        InputError: too few blocks before or after.
    """
    masses, rolls_weighed = film_by_roll(table)
    film = block_series(table, masses)
    step = step_at_change(film)
    zones, series = _zones(table, margin, is_filled)
    together = equal_hold_series(film, series)
    equal = None if together is None else step_at_change(together)
    facts = BeforeAfter(
        blocks_before=int((~film.after).sum()),
        blocks_after=int(film.after.sum()),
        has_control=film.has_control,
        rolls_weighed=rolls_weighed,
        waves=int(step.df),
    )
    return (
        JudgedTrial(
            film=_judged(step, is_filled),
            equal_hold=None if equal is None else _judged(equal, is_filled),
            zones=zones,
        ),
        facts,
    )


def _judged(found: LogRatio, is_filled: bool) -> JudgedRatio:
    reach = student_quantile(1.0 - ALPHA, found.df) * found.error
    interval = TrialInterval(
        math.exp(found.estimate - reach),
        math.exp(found.estimate + reach) if found.estimate + reach < 50.0 else None,
        LEVEL,
        say("before and after"),
    )
    return JudgedRatio(
        ratio=math.exp(found.estimate),
        interval=interval,
        look=1 if is_filled and abs(found.estimate) > reach else None,
        is_less=is_filled and found.estimate + reach < 0.0,
        is_more=is_filled and found.estimate - reach > 0.0,
    )


def _zones(
    table: LoadTable, margin: float, is_filled: bool
) -> tuple[tuple[ZoneComparison, ...], list[Series]]:
    own = table.only(table.machine == 0)
    rows, series = [], []
    read = int(np.isfinite(table.zones).any(axis=0).sum())
    for index, name in enumerate(table.zone_names):
        values = table.zones[:, index]
        try:
            of_zone = block_series(table, values)
            found = step_at_change(of_zone)
            means = means_of(own, own.zones[:, index], name)
        except InputError:
            continue
        judged = _judged(found, is_filled)
        error = max(found.error, 1e-12)
        p = noninferiority_p(found.estimate, error, found.df, margin)
        lower = found.estimate + student_quantile(1.0 - ALPHA / read, found.df) * error < 0.0
        known = np.isfinite(own.zones[:, index])
        rows.append(
            ZoneComparison(
                zone=name,
                baseline_n=means.baseline,
                candidate_n=means.candidate,
                baseline_loads=int((known & own.of_treatment(0)).sum()),
                candidate_loads=int((known & own.of_treatment(1)).sum()),
                ratio=judged.ratio,
                interval=judged.interval,
                margin=margin,
                p_not_lower=p,
                is_not_lower=is_filled and p < ALPHA,
                is_lower=is_filled and lower,
            )
        )
        series.append(of_zone)
    return tuple(rows), series
