"""What asks for attention in a trial's records, and what limits its verdict."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from woold.prediction.result import Finding
from woold.trial.assumptions import Check, swapped_blocks
from woold.trial.compare import TrialComparison, TrialInterval, ZoneComparison
from woold.trial.judged import JudgedTrial
from woold.trial.outlying import Outlier
from woold.trial.setup import Aim
from woold.trial.table import LoadTable
from woold.units import show
from woold.words import say

__all__ = ["Looked", "record_findings", "reservations"]


@dataclass(frozen=True, slots=True)
class Looked:
    """What was found in the records, for findings and reservations.

    Args:
        table: the records judged.
        film: comparison of film mass.
        without: the same without the loads that stand apart.
        zones: zones compared.
        judged: what the looks have shown.
        apart: loads that stand apart.
        checks: assumptions looked at.
        predicted_ratio: film ratio that the cases predict; None without cases.
        confounded: what the treatments cannot be told from; "" where they can.
        is_fitted_once: before is compared with after, by plan.
    """

    table: LoadTable
    film: TrialComparison
    without: TrialComparison | None
    zones: tuple[ZoneComparison, ...]
    judged: JudgedTrial
    apart: tuple[Outlier, ...]
    checks: tuple[Check, ...]
    predicted_ratio: float | None
    confounded: str
    is_fitted_once: bool


def record_findings(looked: Looked) -> tuple[Finding, ...]:
    """Every finding, the gravest first."""
    return (
        *_confounding(looked),
        *_swaps(looked),
        *_ages(looked.table),
        *_missing(looked),
        *_no_case(looked),
    )


def _confounding(looked: Looked) -> list[Finding]:
    if not looked.confounded:
        return []
    return [
        Finding(
            "treatments_confounded",
            "block",
            say(
                "The treatments cannot be told from these: {what}. Wrap both treatments in every"
                " block, on shared rolls, or plan the trial as one that is fitted once.",
                what=looked.confounded,
            ),
        )
    ]


def _swaps(looked: Looked) -> list[Finding]:
    found = []
    film, predicted = looked.film, looked.predicted_ratio
    less = film.fieller.high is not None and film.fieller.high < 1
    more = film.fieller.low is not None and film.fieller.low > 1
    if predicted is not None and ((more and predicted < 0.99) or (less and predicted > 1.01)):
        found.append(
            Finding(
                "treatments_may_be_swapped",
                "treatment",
                say(
                    "The cases predict a film ratio of {predicted} and {measured} was measured, on"
                    " the other side of 1. Were the treatments swapped, or the case files?",
                    predicted=f"{predicted:.3f}",
                    measured=f"{film.ratio:.3f}",
                ),
            )
        )
    swapped = () if looked.is_fitted_once else swapped_blocks(looked.table, looked.apart)
    if swapped:
        found.append(
            Finding(
                "block_may_be_swapped",
                "treatment",
                say(
                    "Block {swapped}: the treatments differ as much as in the other blocks, but the"
                    " other way round. Were they swapped when they were written down?",
                    swapped=", ".join(swapped),
                ),
            )
        )
    return found


def _ages(table: LoadTable) -> list[Finding]:
    ages = [table.pull_age[table.of_treatment(place)] for place in (0, 1)]
    means = [float(np.nanmean(each)) if np.isfinite(each).any() else math.nan for each in ages]
    if not all(math.isfinite(each) for each in means) or max(means) <= 1.5 * min(means) + 60:
        return []
    return [
        Finding(
            "pull_ages_differ",
            "age",
            say(
                "Pull readings were taken {baseline} after wrapping with the baseline and"
                " {candidate} with the candidate; film loses force with time.",
                baseline=show(means[0], "hours"),
                candidate=show(means[1], "hours"),
            ),
        )
    ]


def _missing(looked: Looked) -> list[Finding]:
    table, found = looked.table, []
    missing = int((~np.isfinite(table.film_mass)).sum())
    if missing:
        words = (
            say("1 load was not weighed.")
            if missing == 1
            else say("{missing} loads were not weighed.", missing=missing)
        )
        found.append(Finding("film_mass_missing", "film_mass", words))
    weighed = np.isfinite(table.film_mass)
    left_out = [
        name
        for code, name in enumerate(table.type_names)
        if len(set(table.treatment[(table.load_type == code) & weighed])) < 2
    ]
    if left_out:
        found.append(
            Finding(
                "load_types_left_out",
                "load_type",
                say(
                    "Not weighed with both treatments, so not compared: {left_out}.",
                    left_out=", ".join(left_out),
                ),
            )
        )
    compared = {each.zone for each in looked.zones}
    for index, zone in enumerate(table.zone_names):
        readings = int(np.isfinite(table.zones[:, index]).sum())
        if readings and zone not in compared:
            found.append(
                Finding(
                    "zone_not_compared",
                    "zones",
                    say(
                        "The {zone} zone was read on too few loads to compare the treatments:"
                        " {readings}.",
                        zone=zone,
                        readings=readings,
                    ),
                )
            )
    return found


def _no_case(looked: Looked) -> list[Finding]:
    if looked.predicted_ratio is not None:
        return []
    return [
        Finding(
            "no_case",
            "load_types",
            say(
                "Not every load type names a case for both treatments, so no film ratio is"
                " predicted beside the measured one."
            ),
        )
    ]


def reservations(looked: Looked, aim: Aim, findings: Sequence[Finding]) -> list[str]:
    """What limits the verdict, each a sentence that says no more than an interval shows."""
    said = [say("It is about these loads, this film and this place; another place can differ.")]
    said += _where_the_saving_is_from(looked)
    said += _without_odd_loads(looked)
    film = looked.film
    if film.bootstrap is not None and film.bootstrap.holds(1.0) != film.fieller.holds(1.0):
        said.append(
            say("The bootstrap interval and Fieller's disagree on whether there is a saving.")
        )
    expected = {say("order")} if looked.is_fitted_once else set()
    said += [
        each.finding for each in looked.checks if each.raises_doubt and each.name not in expected
    ]
    grave = ("treatments_may_be_swapped", "block_may_be_swapped", "pull_ages_differ")
    said += [each.message for each in findings if each.code in grave]
    if "saving" not in aim.model_fields_set:
        said.append(say("The aim rests on a saving that nobody chose; choose it before the trial."))
    if "margin" not in aim.model_fields_set:
        said.append(say("The aim rests on a margin that nobody chose; choose it before the trial."))
    return said


def _where_the_saving_is_from(looked: Looked) -> list[str]:
    """Film saved and hold lost, said only where the intervals show both."""
    film = looked.judged.film
    lower = [each for each in looked.zones if each.is_lower]
    if film is None or not film.is_less or not lower:
        return []
    return [
        say(
            "Part of the film saved was taken from the hold ({zones}).",
            zones=", ".join(each.zone for each in lower),
        )
    ]


def _without_odd_loads(looked: Looked) -> list[str]:
    without, film = looked.without, looked.film
    if without is None:
        return []
    values = {
        "loads": ", ".join(each.load for each in looked.apart),
        "ratio": f"{without.ratio:.3f}",
        "interval": _span(without.fieller),
        "counted": f"{film.ratio:.3f}",
    }
    if film.fieller.holds(1.0) != without.fieller.holds(1.0):
        return [
            say(
                "It hinges on load {loads}, which may stand apart: without it the film ratio would"
                " be {ratio} ({interval}) instead of {counted}.",
                **values,
            )
        ]
    return [
        say(
            "Load {loads} may stand apart and is counted; without it the film ratio would be"
            " {ratio} ({interval}) instead of {counted}.",
            **values,
        )
    ]


def _span(interval: TrialInterval) -> str:
    low, high = (
        say("no bound") if end is None else f"{end:.3f}" for end in (interval.low, interval.high)
    )
    return say("{low} to {high}", low=low, high=high)
