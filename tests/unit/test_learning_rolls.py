"""Mass and length of rolls teach how thick a film is: off a trial's sheets and off labels."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import beta

from report_makers import demo_case
from trial_tables import Truth, made_up
from woold.case.shelf import Shelf, shelf_from_table
from woold.learning.density import LogDensity
from woold.learning.emulator import emulated
from woold.learning.log_readings import log_readings
from woold.learning.roll_labels import with_roll_labels
from woold.learning.shared_unknowns import SharedUnknowns
from woold.learning.wrapped import Wrapped
from woold.trial.averages import ROLL, Average, roll_averages

CASE = demo_case("next.toml")


def test_a_metre_of_a_roll_weighs_what_its_section_does() -> None:
    """20 in of 63 gauge at 918 kg/m^3; a gauge is 0.01 mil, and an inch 25.4 mm exactly.

    0.508 m x 63 x 0.254e-6 m x 918 kg/m^3 = 7.4624 g/m.
    """
    found = log_readings(CASE, [Average(ROLL, 0, 1, 0.0, 0.01)], {}, 1)
    assert math.exp(found[0, 0]) == pytest.approx(7.4624e-3, rel=1e-4)


def test_a_roll_counts_once() -> None:
    """Eight loads of four rolls, of which two have no name, but numbers of their own.

    8.0 and 8.2 g/m by name in the baseline, 7.0 and 7.1 g/m by number in the candidate, which has
    two loads of the baseline's roll too: they say nothing new.
    """
    table = made_up(np.random.default_rng(1), Truth(pairs=4, one_type=True))
    named = np.array([1, 1, 2, 0, 1, 0, 2, 0])
    per_metre = np.array([8.0, 8.0, 8.2, 7.0, 8.0, 7.1, 8.2, 7.1]) * 1e-3
    table = replace(table, roll=named, roll_density=per_metre)
    (before,) = roll_averages(table, 0, [0])
    (after,) = roll_averages(table, 1, [0])
    assert (before.values, after.values) == (2, 2)
    assert math.exp(before.log_mean) == pytest.approx(math.sqrt(8.0 * 8.2) * 1e-3)
    assert math.exp(after.log_mean) == pytest.approx(math.sqrt(7.0 * 7.1) * 1e-3)
    # Two rolls: half of ln(8.2/8.0) = 0.01235 is the standard error of their mean.
    assert before.log_error == pytest.approx(0.01235, rel=1e-3)
    nothing = replace(table, roll_density=np.full(8, np.nan))
    assert roll_averages(nothing, 0, [0]) == []


def test_rolls_narrow_the_thickness_as_bayes_theorem_says() -> None:
    """Thickness alone unknown, 61 to 65 gauge; two heavy rolls, to 1 % with all that is off.

    By sums over a grid of scipy's beta distribution: PERT with its peak at 63 has both shapes 3.
    """
    error = 0.004
    seen = Average(ROLL, 0, 4, math.log(7.4624e-3 * 1.02), error)
    wrapped = [Wrapped("site", "candidate", "jars", CASE, (seen,))]
    unknowns = SharedUnknowns(wrapped)
    names = [each.unknown.name for each in unknowns.all]
    own = [unknowns.all[index].unknown for index in unknowns.places[0]]
    place = names.index("film.thickness")
    density = LogDensity(wrapped, [emulated(wrapped[0], own)], unknowns)
    scores = np.linspace(-4.0, 4.0, 401)
    at = np.zeros((401, density.count))
    at[:, place] = scores
    weight = np.exp(np.array([density(each)[0] for each in at]))
    mean = float(weight @ scores / weight.sum())
    # Site 1 % and way 0.5 % beside the error, best guesses.
    off = math.hypot(error, 0.01, 0.005)
    gauge = np.linspace(61.0, 65.0, 4001)[1:-1]
    prior = beta(3.0, 3.0, loc=61.0, scale=4.0)
    told = prior.pdf(gauge) * np.exp(-0.5 * (np.log(gauge / (63.0 * 1.02)) / off) ** 2)
    from scipy.stats import norm

    wanted = float(told @ norm.ppf(prior.cdf(gauge)) / told.sum())
    assert wanted > 0.3
    # A quadratic stands for a logarithm, and its miss of up to 1e-5 widens the error.
    assert mean == pytest.approx(wanted, abs=0.02)


def _shelf(**lot: object) -> Shelf:
    film = {"name": "thick", "version": 1, "roll_width": "20 in", "thickness": "63 gauge"}
    film |= {"rated_prestretch": "300 %", "density": "918 kg/m^3"}
    lots = [{"number": "7", **lot}, {"number": "8", **lot}, {"number": "9", "notes": "no label"}]
    return shelf_from_table({"films": [film | {"lots": lots}]})


def test_labels_on_the_shelf_are_readings_once() -> None:
    """16 kg on 2000 m of 500 mm film: 8 g/m, and 8.128 g/m as wide as the film's 508 mm."""
    made_of = {"kind": "films", "name": "thick", "version": 1}
    case = CASE.model_copy(update={"made_of": (type("Made", (), made_of)(),)})
    marked = Average("stretch by marks", 0, 8, math.log(3.2), 0.01)
    wrapped = [Wrapped("a", way, "jars", case, (marked,)) for way in ("baseline", "candidate")]
    label = {"roll_mass": "16 kg", "roll_length": "2000 m", "roll_width": "500 mm"}
    first, second = with_roll_labels(wrapped, _shelf(**label))
    assert second == wrapped[1]
    assert [each.what for each in first.averages] == ["stretch by marks", ROLL]
    read = first.averages[1]
    assert (math.exp(read.log_mean), read.values) == (pytest.approx(8.128e-3), 2)
    # Labels that agree to the last digit are not trusted beyond 0.3 %.
    assert read.log_error == pytest.approx(0.003)
    for lots in ({}, {**label, "accepted": False}, {"roll_mass": "16 kg"}):
        assert with_roll_labels(wrapped, _shelf(**lots)) == wrapped
    assert with_roll_labels(wrapped, None) == wrapped
    changed = [replace(each, case=case.with_values({"film.thickness": 12e-6})) for each in wrapped]
    assert with_roll_labels(changed, _shelf(**label)) == changed
    # The first case changed the film that it took; its labels stay for the next that did not.
    mixed = with_roll_labels([changed[0], *wrapped], _shelf(**label))
    assert mixed == [changed[0], first, second]
