"""The verdict of a trial: one sentence that never claims more than the data."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from woold.trial.compare import TrialComparison, ZoneComparison

__all__ = ["TrialVerdict", "verdict"]

Claim = Literal[
    "saves film, hold within the margin",
    "saves film, hold not shown",
    "saves film, hold not measured",
    "saves film, holds less",
    "no difference shown",
    "uses more film",
    "no claim",
]


@dataclass(frozen=True, slots=True)
class TrialVerdict:
    """What the trial allows to be said.

    Args:
        claim: in a few words, for programs.
        sentence: the same in one sentence, with its numbers.
        saving: share of the baseline's film that the candidate saves.
        saving_low, saving_high: its 95 % interval (Fieller); null without a bounded one.
        aim_reached: whether the interval lies above the saving that was asked for.
        reservations: what limits it, each a sentence.
    """

    claim: Claim
    sentence: str
    saving: float
    saving_low: float | None
    saving_high: float | None
    aim_reached: bool
    reservations: tuple[str, ...]


def verdict(
    film: TrialComparison,
    zones: Sequence[ZoneComparison],
    aim: float,
    zones_asked: int,
    confounded: bool,
    reservations: Sequence[str] = (),
) -> TrialVerdict:
    """The strongest sentence that the intervals allow.

    A saving is claimed only where Fieller's 95 % interval lies below 1 (one-sided size 2.5 %), and
    hold as well only where every zone that the trial asked for was shown not to lose the margin
    (each at 2.5 % one-sided: all must pass, so nothing need be shared out among them).

    Args:
        film: comparison of film mass.
        zones: comparison of each zone that has readings.
        aim: saving that the trial was made to see.
        zones_asked: number of zones that the trial looks at.
        confounded: the treatments cannot be told from the blocks.
        reservations: what limits the claim, each a sentence.
    """
    saving = 1 - film.ratio
    low = None if film.fieller.high is None else 1 - film.fieller.high
    high = None if film.fieller.low is None else 1 - film.fieller.low
    claim, sentence = _claim(zones, aim, zones_asked, confounded, saving, low, high)
    if claim != "no claim" and film.mix_covered < 0.9995:
        sentence = sentence[:-1] + (
            f"; this is about load types that make up {film.mix_covered:.0%} of a year's loads."
        )
    return TrialVerdict(
        claim=claim,
        sentence=sentence,
        saving=saving,
        saving_low=low,
        saving_high=high,
        aim_reached=low is not None and low >= aim and claim.startswith("saves film"),
        reservations=tuple(reservations),
    )


def _claim(
    zones: Sequence[ZoneComparison],
    aim: float,
    zones_asked: int,
    confounded: bool,
    saving: float,
    low: float | None,
    high: float | None,
) -> tuple[Claim, str]:
    if low is None or high is None:
        return "no claim", (
            "No claim: the loads differ so much that no bounded interval of the film ratio exists."
        )
    between = f"(95 % interval {_span(low, high)})"
    if confounded:
        return "no claim", (
            f"No claim: the candidate took {_less(saving)} film, but the treatments were"
            " wrapped in different blocks, so shift, film roll or day can have made that difference."
        )
    if low <= 0 <= high:
        beyond = f"; a saving of {aim:.1%} or more is ruled out" if high < aim else ""
        return "no difference shown", (
            f"No difference in film was shown: the data fit anything from {_less(low)} to"
            f" {_less(high)} film in the candidate{beyond}."
        )
    if high < 0:
        return "uses more film", (
            f"The candidate used {-saving:.1%} more film per load than the baseline {between}."
        )
    used = f"The candidate used {saving:.1%} less film per load than the baseline {between}"
    if low < aim <= high:
        used += f", which leaves open whether the {aim:.1%} asked for is reached"
    if not zones:
        return "saves film, hold not measured", (
            f"{used}; containment was not measured, so nothing is said of how well it holds."
        )
    lower = [each for each in zones if each.is_lower and not each.is_not_lower]
    if lower:
        return "saves film, holds less", (
            f"{used}, but it held less in the {_names(lower)} ({_ratios(lower)} of the baseline's"
            " pull reading): less film with less hold is no saving."
        )
    not_shown = [each for each in zones if not each.is_not_lower]
    margin = zones[0].margin
    if not_shown:
        return "saves film, hold not shown", (
            f"{used}, but in the {_names(not_shown)} it was not shown that containment stays within"
            f" {margin:.1%} of the baseline's ({_ratios(not_shown)})."
        )
    if len(zones) < zones_asked:
        return "saves film, hold not shown", (
            f"{used}; containment was measured in the {_names(zones)} only, and there it was not"
            f" lower by {margin:.1%} or more."
        )
    lower_within = [each for each in zones if each.is_lower]
    within = ""
    if lower_within:
        within = f" (they were lower in the {_names(lower_within)}: {_ratios(lower_within)})"
    return "saves film, hold within the margin", (
        f"{used}, and pull readings in the {_names(zones)} were shown not to be lower by"
        f" {margin:.1%} or more{within}."
    )


def _less(share: float) -> str:
    return f"{share:.1%} less" if share >= 0 else f"{-share:.1%} more"


def _span(low: float, high: float) -> str:
    if low >= 0 or high <= 0:
        first, last = sorted((abs(low), abs(high)))
        return f"{first:.1%} to {last:.1%}"
    return f"{_less(low)} to {_less(high)}"


def _names(zones: Sequence[ZoneComparison]) -> str:
    names = [each.zone for each in zones]
    listed = names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
    return f"{listed} zone{'s' * (len(names) > 1)}"


def _ratios(zones: Sequence[ZoneComparison]) -> str:
    parts = []
    for each in zones:
        low, high = each.interval.low, each.interval.high
        span = "" if low is None or high is None else f", 95 % interval {low:.1%} to {high:.1%}"
        parts.append(f"{each.ratio:.1%}{span}")
    return "; ".join(parts)
