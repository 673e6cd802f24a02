"""Values as normal scores of their rank among the set-up phase, one freed from the one before.

A chart of such scores gives the same false alarms whatever the shape of the values: their ranks do
not know it. The scores are blunt for single values far out, which is meant: one odd load is no
change of level.
"""

from __future__ import annotations

import math

import numpy as np

from woold.watch.charts import MEAN_RANGE_OF_TWO, Array, moving_ranges

__all__ = ["freed_scores", "normal_scores", "shift_left"]

MOST_AUTOCORRELATION = 0.8
MOST_SCORE = 6.0


def normal_scores(values: Array, setup: int, of_means: bool = False) -> Array:
    """Phi^-1 of each value's place among the set-up values; ties share the middle place.

    Means of many loads spread nearly normally: theirs go on beyond the set-up phase's extremes by
    (x - extreme)/sigma, so that a large shift of few means is found as soon as it can be.

    Args:
        values: in order, the first ``setup`` of them the set-up phase, shape (values,).
        setup: at least 2.
        of_means: the values are means of many loads.

    Source: Hackl & Ledolter, Technometrics 34 (1992) 43 (charts of ranks against a reference);
        van der Waerden scores.
    """
    from scipy.special import ndtri

    reference = np.sort(values[:setup])
    below = np.searchsorted(reference, values, "left")
    through = np.searchsorted(reference, values, "right")
    places = (0.5 * (below + through) + 0.5) / (setup + 1)
    # A value of the set-up phase stands among the others with itself.
    places[:setup] = 0.5 * (below[:setup] + through[:setup]) / setup
    scores = np.asarray(ndtri(places), float)
    if not of_means:
        return scores
    sigma = float(moving_ranges(values[:setup]).mean()) / MEAN_RANGE_OF_TWO
    beyond = np.maximum(values - reference[-1], 0.0) - np.maximum(reference[0] - values, 0.0)
    return np.asarray(np.clip(scores + beyond / sigma, -MOST_SCORE, MOST_SCORE), float)


def freed_scores(scores: Array, setup: int) -> tuple[Array, float]:
    """What of each score the one before does not tell: (s_i - a s_(i-1))/sqrt(1 - a²).

    Args:
        scores: shape (values,).
        setup: values that give a, the correlation of neighbours.

    Returns:
        freed scores, and a with its bias taken off, (1 + 3 a)/n (Marriott & Pope, Biometrika 41
        (1954) 390).
    """
    own = scores[:setup]
    alike = float((own[1:] * own[:-1]).sum() / (own**2).sum())
    alike += (1.0 + 3.0 * alike) / setup
    alike = min(max(alike, -MOST_AUTOCORRELATION), MOST_AUTOCORRELATION)
    freed = scores.copy()
    freed[1:] = (scores[1:] - alike * scores[:-1]) / math.sqrt(1.0 - alike**2)
    return freed, alike


def shift_left(autocorrelation: float) -> float:
    """Share of a shift that is left in freed scores: (1 - a)/sqrt(1 - a²)."""
    return math.sqrt((1.0 - autocorrelation) / (1.0 + autocorrelation))
