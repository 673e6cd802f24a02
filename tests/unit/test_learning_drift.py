"""What drifts between sites and with time, and what was marked as changed."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from report_makers import demo_case
from woold.case.model import Case, MadeOf
from woold.learning.drift import CHANGED, DRIFT, SECONDS_A_YEAR, Drift
from woold.learning.learned import Learned
from woold.learning.new_site import NEW_SITE
from woold.learning.sampling import Diagnostics
from woold.learning.shared_unknowns import OwnedUnknown, SharedUnknowns
from woold.learning.wrapped import Wrapped
from woold.trial.averages import MASS, Average
from woold.uncertainty.draws import values_at_scores

AVERAGES = (Average(MASS, 0, 8, 0.0, 0.012),)
COUNT = 200_000


def _places(count: int) -> np.ndarray:
    return np.arange(count, dtype=np.int64)


@pytest.mark.parametrize("size", [0.5, 1.0, 3.0])
def test_sites_wander_and_wear_as_walks_do(size: float) -> None:
    """Against walks made of 400 steps a year, and a regression of a fifth site on four.

    Over a drift of 5 %, wear of a tenth a year is 2, whatever the drift is.
    """
    random = np.random.default_rng(1)
    years = np.array([0.0, 0.25, 1.0, 1.5, 2.0])
    walk = np.cumsum(random.standard_normal((20_000, 800)).astype(np.float32), axis=1) / 20.0
    walked = np.column_stack([np.zeros(20_000), walk[:, [99, 399, 599, 799]]])
    wear = 2.0 * random.standard_normal((20_000, 1)) * years
    off = size * (random.standard_normal((20_000, 5)) + walked) + wear
    drift = Drift(0, _places(4), years[:4, None] * SECONDS_A_YEAR + 5e8, 1.0, is_learnt=True)
    root = drift.directions * drift.sizes(np.array(size))
    np.testing.assert_allclose(root @ root.T, np.cov(off[:, :4].T), atol=0.5 * max(size, 1.0))
    factors, [spread] = drift.at((2.0 * SECONDS_A_YEAR + 5e8,), np.array([size]))
    fit = np.linalg.lstsq(off[:, :4], off[:, 4], rcond=None)[0]
    np.testing.assert_allclose(factors[0], fit, atol=0.05)
    assert spread == pytest.approx(float(np.std(off[:, 4] - off[:, :4] @ fit)), rel=0.03)


def test_steady_wear_is_a_direction_of_its_own_and_the_others_do_not_lean_on_each_other() -> None:
    """By hand, sites at 0, 1 and 2 years: without wear squares 1, 2, 3 (1 + t), shared min(t, u).

    Of [[2, 1], [1, 3]] the inverse is [[3, -1], [-1, 2]]/5, so that (1, 2) tells (3 - 4 + 8)/5 =
    1.4 of wear, whose direction is (0, 1, 2)/sqrt(1.4). Of what it leaves, [[2 - 1/1.4, 1 - 2/1.4],
    [.., 3 - 4/1.4]] = [[9, -3], [-3, 1]]/7, the principal squares are 0 and 10/7. With the tenth a
    year of wear over drift of 5 %, the first is sqrt(1 + 4 x 1.4) = 2.569 in size.
    """
    years = np.array([[0.0], [1.0], [2.0]])
    drift = Drift(0, _places(3), years * SECONDS_A_YEAR, 1.0, is_learnt=True)
    found = drift.directions
    np.testing.assert_allclose(found[:, 0], np.array([0.0, 1.0, 2.0]) / 1.4**0.5, atol=1e-9)
    others = found[:, 1:].T @ found[:, 1:]
    np.testing.assert_allclose(others, np.diag([1.0, 10.0 / 7.0]), atol=1e-9)
    np.testing.assert_allclose(drift.sizes(np.array(1.0)), [2.569, 1.0, 1.0], atol=5e-4)
    # Half the drift is half the size of all but the wear: sqrt(0.25 + 5.6) = 2.419.
    np.testing.assert_allclose(drift.sizes(np.array(0.5)), [2.419, 0.5, 0.5], atol=5e-4)


def _at_rest(unknowns: SharedUnknowns) -> np.ndarray:
    """Draws by which everything learnt is at its best guess, the drift's spread too."""
    return np.zeros((COUNT, unknowns.count))


def _spread_of(unknowns: SharedUnknowns, owned: OwnedUnknown) -> float:
    random = np.random.default_rng(2)
    scores = unknowns.scores_of(owned, _at_rest(unknowns), lambda _: random.standard_normal(COUNT))
    return float(np.log(values_at_scores(scores, owned.unknown)).std())


@pytest.mark.parametrize(("years", "square"), [(0.0, 1.0), (1.0, 6.0), (2.0, 19.0)])
def test_grip_of_another_site_is_known_worse_the_later(years: float, square: float) -> None:
    """By hand: D^2 (1 + t) + W^2 t^2 where one site was tried, at t = 0, and W is 2 D."""
    case = demo_case("next.toml")
    unknowns = SharedUnknowns([Wrapped("a", "candidate", "jars", case, AVERAGES, when=1e9)])
    known = unknowns.known(case, (NEW_SITE, ""), 1e9 + years * SECONDS_A_YEAR)
    [grip] = [each for each, _ in known if each.unknown.name == "carriage.friction"]
    # Ranges of either side differ a little: 0.52 to 0.68 about 0.6.
    assert _spread_of(unknowns, grip) == pytest.approx(DRIFT * math.sqrt(square), rel=0.03)


def _of_version(case: Case, film: int) -> Case:
    made = MadeOf(kind="films", name="thin film", version=film, hash="0123456789ab")
    return case.model_copy(update={"made_of": (made,)})


def test_a_film_marked_as_changed_is_known_worse_from_then_on() -> None:
    """A later version that states the same: C of its inputs' spread a change, by hand."""
    case = demo_case("next.toml")
    tried = Wrapped("a", "candidate", "jars", _of_version(case, 2), AVERAGES)
    unknowns = SharedUnknowns([tried])
    for version, changes in ((1, 0), (2, 0), (3, 1), (6, 4)):
        known = unknowns.known(_of_version(case, version), (NEW_SITE, ""))
        [stress] = [each for each, _ in known if each.unknown.name == "film.yield_stress"]
        random = np.random.default_rng(3)
        scores = unknowns.scores_of(
            stress, _at_rest(unknowns), lambda _, r=random: r.standard_normal(COUNT)
        )
        assert scores.std() == pytest.approx(CHANGED * math.sqrt(changes), rel=0.01, abs=1e-12)
        # What was learnt of the film is still where it stands.
        assert {e.unknown.name: p for e, p in known}["film.yield_stress"] is not None
    both = SharedUnknowns(
        [tried, replace(tried, trial="b", case=_of_version(case, 4), when=SECONDS_A_YEAR)]
    )
    at = np.random.default_rng(4).standard_normal((COUNT, both.count))
    at[:, -1] = 0.0
    scores = both.scores(at)
    names = [(each.unknown.name, each.about is None) for each in both.all]
    old, new = names.index(("film.yield_stress", True)), names.index(("film.yield_stress", False))
    # Two changes, and the hundredth that keeps changes of one time apart.
    assert (scores[:, new] - scores[:, old]).std() == pytest.approx(CHANGED * 2.01**0.5, rel=0.01)
    np.testing.assert_allclose(both.independent(scores), at, atol=1e-9)
    assert both.usual_spreads()[new] == pytest.approx(scores[:, new].std(), rel=0.01)


def test_nothing_measured_leaves_the_drift_as_it_was_guessed() -> None:
    """5 %, nine in ten between 5 % e^(-0.5 1.645) and 5 % e^(0.5 1.645): 2.2 and 11.4 %."""
    unknowns = SharedUnknowns([Wrapped("a", "candidate", "jars", demo_case("next.toml"), ())])
    draws = np.random.default_rng(5).standard_normal((COUNT, unknowns.count))
    trusted = Diagnostics(1.0, 1e4, 1e4, 0, COUNT, "", "chance")
    density: Any = None
    found = Learned((), (), (), ("a",), trusted, (), draws, unknowns, density).drift
    assert found is not None
    assert found.value == pytest.approx(0.05, rel=0.01)
    assert found.low == pytest.approx(0.0220, rel=0.02)
    assert found.high == pytest.approx(0.1138, rel=0.02)
