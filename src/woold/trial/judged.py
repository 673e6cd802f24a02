"""Film, film at equal hold and every zone, judged over the looks that a trial has reached."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError
from woold.trial.compare import (
    LEVEL,
    TrialInterval,
    ZoneComparison,
    compare_zones,
    means_of,
)
from woold.trial.equal_hold import LogRatio, film_at_equal_hold, log_ratio_of
from woold.trial.looks import LookLimits, interval_after_looks, normal_score
from woold.trial.ratio import student_quantile
from woold.trial.table import LoadTable
from woold.words import say

__all__ = ["JudgedRatio", "JudgedTrial", "judge"]


@dataclass(frozen=True, slots=True)
class JudgedRatio:
    """A ratio judged over the looks.

    Args:
        ratio: candidate over baseline, allowing for the looks (median-unbiased).
        interval: its interval, allowing for the looks.
        look: number of the look that decided; null where none did.
        is_less: shown to lie below 1.
        is_more: shown to lie above 1.
    """

    ratio: float
    interval: TrialInterval
    look: int | None
    is_less: bool
    is_more: bool


@dataclass(frozen=True, slots=True)
class JudgedTrial:
    """What the looks reached so far have shown.

    Args:
        film: film mass; null where it could not be compared at any look.
        equal_hold: film at equal hold; null where no zone could be compared.
        zones: zones that were compared, at the last look; `is_not_lower` counts from any look.
    """

    film: JudgedRatio | None
    equal_hold: JudgedRatio | None
    zones: tuple[ZoneComparison, ...]


@dataclass(frozen=True, slots=True)
class _Look:
    film: LogRatio | None
    equal_hold: LogRatio | None
    zones: tuple[ZoneComparison, ...]


def judge(
    table: LoadTable,
    margin: float,
    limits: LookLimits,
    reached: Sequence[NDArray[np.bool_]],
) -> JudgedTrial:
    """Judge the records at every look reached.

    The saving at equal hold counts from the first look that shows it, and each zone from the first
    look that shows it; every one of these is a test with its own error over all looks, and all
    must pass, so nothing need be shared out among them.

    Args:
        table: all loads.
        margin: largest share of a zone's hold that may be lost.
        limits: of the looks.
        reached: which loads each look reached judges.
    """
    looks = [
        _at_look(table.only(kept), margin, limits.nominal(place))
        for place, kept in enumerate(reached)
    ]
    shown = {each.zone for look in looks for each in look.zones if each.is_not_lower}
    last = looks[-1].zones if looks else ()
    equal = _judged([each.equal_hold for each in looks], limits)
    film = [each.film for each in looks]
    return JudgedTrial(
        # Where hold was read, film as wrapped ends no trial: all of its loads count to the end.
        film=_judged(film, limits) if equal is None else _to_the_end(film, limits),
        equal_hold=equal,
        zones=tuple(replace(each, is_not_lower=each.zone in shown) for each in last),
    )


def _at_look(table: LoadTable, margin: float, alpha: float) -> _Look:
    try:
        film = means_of(table, table.film_mass, say("film mass"))
    except InputError:
        return _Look(None, None, ())
    zones, means = compare_zones(table, margin, alpha)
    equal = film_at_equal_hold(film, means) if means else None
    return _Look(log_ratio_of(film), equal, zones)


def _judged(looks: Sequence[LogRatio | None], limits: LookLimits) -> JudgedRatio | None:
    """The first look that decides, or the last one reached."""
    last: tuple[int, LogRatio] | None = None
    for place, found in enumerate(looks):
        if found is None:
            continue
        last = (place, found)
        score = _score(found)
        if abs(score) >= limits.limits[place]:
            return _as_judged(found, limits, (place, place + 1), _freedoms(looks[:place]))
    if last is None:
        return None
    return _as_judged(last[1], limits, (last[0], None), _freedoms(looks[: last[0]]))


def _freedoms(looks: Sequence[LogRatio | None]) -> list[float]:
    """Degrees of freedom at these looks; a look that could not be compared decides nothing."""
    return [1.0 if each is None else each.df for each in looks]


def _to_the_end(looks: Sequence[LogRatio | None], limits: LookLimits) -> JudgedRatio | None:
    """The last look reached, of a ratio at which no trial stops; decided by any look."""
    first = _judged(looks, limits)
    last = next((each for each in reversed(looks) if each is not None), None)
    if first is None or last is None or first.look is None:
        return first
    is_final = len(looks) == len(limits.times)
    level = LEVEL if is_final else 1.0 - 2.0 * limits.nominal(len(looks) - 1)
    interval = last.interval(level)
    return JudgedRatio(
        ratio=math.exp(last.estimate),
        interval=replace(interval, method=interval.method if is_final else say("of this look")),
        look=first.look,
        is_less=first.is_less and (interval.high or math.inf) < 1.0,
        is_more=first.is_more and (interval.low or 0.0) > 1.0,
    )


def _score(found: LogRatio) -> float:
    if not found.error > 0.0:
        return math.copysign(math.inf, found.estimate) if found.estimate else 0.0
    return normal_score(found.estimate / found.error, found.df)


def _as_judged(
    found: LogRatio,
    limits: LookLimits,
    at: tuple[int, int | None],
    earlier_df: Sequence[float],
) -> JudgedRatio:
    """A ratio at a look (from 0), and the number of the look that decided, if one did."""
    place, decided = at
    is_last = place + 1 == len(limits.times)
    if decided is None and not is_last:
        # The trial goes on: an interval that holds at every look, however long it goes on.
        p = limits.nominal(place)
        reach = student_quantile(1.0 - p, found.df) * found.error
        low, middle, high = found.estimate - reach, found.estimate, found.estimate + reach
        method = say("holds at every look")
    else:
        low, middle, high = interval_after_looks(
            (found.estimate, found.error, found.df), limits, place, earlier_df, LEVEL
        )
        method = say("log ratio") if len(limits.times) == 1 else say("allows for the looks")
    interval = TrialInterval(_exp(low), _exp(high), LEVEL, method)
    return JudgedRatio(
        ratio=math.exp(middle),
        interval=interval,
        look=decided,
        is_less=decided is not None and found.estimate < 0.0,
        is_more=decided is not None and found.estimate > 0.0,
    )


def _exp(value: float) -> float | None:
    """The ratio; null where it is beyond all bounds."""
    return math.exp(value) if value < 50.0 else None
