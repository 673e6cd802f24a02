"""Film and money saved to date, against what the trial promised."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from woold.watch.charts import Array
from woold.watch.settings import ANY_TYPE, Promise
from woold.watch.text_labels import Labels

__all__ = ["SavingsKept", "savings_kept", "savings_of_totals"]

_NORMAL_975 = 1.959963984540054


@dataclass(frozen=True, slots=True)
class SavingsKept:
    """What was saved over some loads.

    Args:
        loads: with a film figure and a promise for their type.
        loads_left_out: without one.
        film_kg: that they took.
        baseline_kg: that they would have taken before the change.
        saved_kg, saved_low_kg, saved_high_kg: the difference; 95 %, from the baseline's error,
            which is common to all loads and does not average out.
        promised_kg, promised_low_kg, promised_high_kg: that the trial promised for these loads.
    """

    loads: int
    loads_left_out: int
    film_kg: float
    baseline_kg: float
    saved_kg: float
    saved_low_kg: float
    saved_high_kg: float
    promised_kg: float
    promised_low_kg: float
    promised_high_kg: float

    @property
    def saving(self) -> float:
        """Share of the baseline's film that was saved."""
        return self.saved_kg / self.baseline_kg

    @property
    def kept(self) -> float | None:
        """Saved film over promised film; None when nothing was promised."""
        return self.saved_kg / self.promised_kg if self.promised_kg > 0.0 else None

    @property
    def falls_short(self) -> bool:
        """Even the high end of what was saved lies below the low end of the promise."""
        return self.saved_high_kg < self.promised_low_kg


def savings_kept(
    film: Array, load_types: Labels, promises: Mapping[str, Promise]
) -> SavingsKept | None:
    """Savings of some loads; None when none of them has a promise.

    saved = Σ over types of count x baseline - Σ film.

    Args:
        film: per load [kg], NaN where not known, shape (loads,).
        load_types: of each load.
        promises: load type -> promise; the one for any type stands in for those not listed.
    """
    measured = np.isfinite(film)
    known, codes = film[measured], load_types.codes[measured]
    counts = np.bincount(codes, minlength=len(load_types.names))
    sums = np.bincount(codes, known, len(load_types.names))
    return savings_of_totals(
        [
            (int(count), float(total), promises.get(name, promises.get(ANY_TYPE)))
            for name, count, total in zip(load_types.names, counts, sums, strict=True)
        ],
        unmeasured=int(film.size - known.size),
    )


def savings_of_totals(
    totals: Sequence[tuple[int, float, Promise | None]], unmeasured: int = 0
) -> SavingsKept | None:
    """Savings from the totals of each load type; None when none of them has a promise.

    Args:
        totals: loads, film [kg] and promise of each type.
        unmeasured: loads without a film figure.
    """
    promised = [each for each in totals if each[2] is not None and each[0] > 0]
    if not promised:
        return None
    loads = sum(count for count, _, _ in promised)
    used = sum(film for _, film, _ in promised)
    baseline = kept = kept_low = kept_high = 0.0
    errors: dict[int, float] = {}  # one promise for several types has one error, not several
    for count, _, promise in promised:
        assert promise is not None
        amount = count * promise.baseline_film_per_load
        baseline += amount
        kept += amount * promise.saving
        kept_low += amount * promise.least
        kept_high += amount * promise.most
        errors[id(promise)] = errors.get(id(promise), 0.0) + count * promise.baseline_standard_error
    reach = _NORMAL_975 * math.sqrt(sum(error**2 for error in errors.values()))
    saved = baseline - used
    return SavingsKept(
        loads=loads,
        loads_left_out=unmeasured + sum(count for count, _, promise in totals if promise is None),
        film_kg=used,
        baseline_kg=baseline,
        saved_kg=saved,
        saved_low_kg=saved - reach,
        saved_high_kg=saved + reach,
        promised_kg=kept,
        promised_low_kg=kept_low,
        promised_high_kg=kept_high,
    )
