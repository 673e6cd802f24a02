"""What trials teach of the inputs that nobody measured, and whether it can be trusted."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from woold.case.shelf import hash_of
from woold.learning import sampling
from woold.learning.density import LogDensity
from woold.learning.drift import DRIFT
from woold.learning.emulator import Emulated, emulated
from woold.learning.log_readings import log_readings
from woold.learning.sampling import Diagnostics, Sampled, sampled
from woold.learning.shared_unknowns import SharedUnknowns
from woold.learning.wrapped import Wrapped
from woold.prediction.yearly import Estimate
from woold.uncertainty.draws import SCORE_AT_END, Shape, Unknown, values_at_scores
from woold.words import say, to_say

__all__ = ["Learned", "LearnedInput", "LearnedReading", "LearnedSpread", "learn", "told"]

Array = npt.NDArray[np.float64]

_LOOKED_AT = 250
"""Draws at which the smooth functions are held against the model."""

_FOLLOWED = 1.0 / 3.0
"""What they may miss over what the model is taken to be off, to be left as they are [-]."""

_LOST = 1.5
"""What they may miss over that and the errors of averages, for anything to be said [-].

Both are engineering estimates.
"""

_ONCE_MORE = 3
"""So many times the draws, where chains do not agree at first."""

_WIDER = 1.5
_NARROWEST = 0.3
"""How far about those draws, in their standard deviations, and at least [scores]."""

_TELLS = 0.9
"""Left of an input's spread, above which nothing was learnt of it."""

_TAILS = (5.0, 50.0, 95.0)
_TORN = 0.2


@dataclass(frozen=True, slots=True)
class LearnedInput:
    """An input before and after.

    Args:
        owner: what it belongs to: a film, a carriage with a film, a machine, a load.
        field: dotted name in a case.
        kind: key of `woold.units.KINDS`.
        distribution: what its range is taken for: pert, normal or lognormal.
        before, after: medians with the middle 90 %, SI.
        left: part of its middle 90 % that is left, in normal scores [-].
        is_told: whether the trials tell it; else it keeps what was taken for it.
    """

    owner: str
    field: str
    kind: str
    distribution: Shape
    before: Estimate
    after: Estimate
    left: float
    is_told: bool


@dataclass(frozen=True, slots=True)
class LearnedSpread:
    """How far one kind of reading lies off the model, beyond what its inputs explain.

    Args:
        what: kind of reading.
        between_sites: standard deviation of what a site's readings share, as a share [-].
        of_model: the same of one treatment of one trial.
    """

    what: str
    between_sites: Estimate
    of_model: Estimate


@dataclass(frozen=True, slots=True)
class LearnedReading:
    """An average, beside what is predicted of it.

    Args:
        trial, treatment, load_type: of what.
        what: kind of reading, with place and age.
        unit: SI.
        measured: geometric mean.
        before, after: predicted, with the middle 90 %, without and with what was learnt.
    """

    trial: str
    treatment: str
    load_type: str
    what: str
    unit: str
    measured: float
    before: Estimate
    after: Estimate


@dataclass(frozen=True, slots=True)
class Learned:
    """What was learnt.

    Args:
        inputs: every unknown input; none where the draws cannot be trusted.
        spreads: by kind of reading; likewise.
        readings: what it was learnt from; likewise.
        trials: keys of the trials.
        diagnostics: whether the draws can be trusted.
        findings: what limits it, each a sentence.
        draws: scores of all unknowns and other numbers, shape (draws, numbers).
        unknowns: whose they are.
        density: where they stand.
    """

    inputs: tuple[LearnedInput, ...]
    spreads: tuple[LearnedSpread, ...]
    readings: tuple[LearnedReading, ...]
    trials: tuple[str, ...]
    diagnostics: Diagnostics
    findings: tuple[str, ...]
    draws: Array = field(compare=False)
    unknowns: SharedUnknowns = field(compare=False)
    density: LogDensity = field(compare=False)

    @property
    def can_be_trusted(self) -> bool:
        """Whether chains agree and have moved enough."""
        return not self.diagnostics.reason

    @property
    def kinds(self) -> tuple[str, ...]:
        """Kinds of reading that were measured."""
        return self.density.kinds

    @property
    def drift(self) -> Estimate | None:
        """How far grip differs from site to site, as a share; None where no grip is unknown, or
        nothing can be trusted."""
        if not self.can_be_trusted or not any(each.is_learnt for each in self.unknowns.drifts):
            return None
        return estimate(DRIFT * self.unknowns.drift_spread(self.draws))

    @property
    def spreads_by_kind(self) -> tuple[Array, Array]:
        """Spreads between sites and between ways, each of shape (draws, kinds)."""
        return self.density.spreads(self.draws)


def learn(
    wrapped: Sequence[Wrapped], seed: int = 1, tell: Callable[[str], None] = lambda _: None
) -> Learned:
    """What was wrapped and measured teaches of every unknown input.

    Args:
        wrapped: what was wrapped, of one trial or many.
        seed: of the draws.
        tell: is told what is done next.

    Raises:
        InputError: the sampler is not installed.
        WooldError: a case that cannot be predicted.
    """
    unknowns = SharedUnknowns(wrapped)
    _say_step(tell, 1)
    first = density = LogDensity(wrapped, _emulations(wrapped, unknowns), unknowns)
    _say_step(tell, 2)
    found = sampled(density, density.count, seed, start=density.start, apart=density.apart)
    missed = _missed_there(wrapped, unknowns, density, found.draws)
    if np.max(missed / density.usual_ways) > _FOLLOWED:
        _say_step(tell, 3)
        rough = unknowns.scores(found.draws)[:, : len(unknowns.all)]
        near = _emulations(wrapped, unknowns, rough.mean(axis=0), rough.std(axis=0))
        density = LogDensity(wrapped, near, unknowns)
        _say_step(tell, 4)
        found = sampled(density, density.count, seed, start=density.start, apart=density.apart)
        missed = _missed_there(wrapped, unknowns, density, found.draws)
    if found.diagnostics.reason:
        # Another way round the same place: chains that were too short to agree.
        _say_step(tell, 5)
        more, begin = _ONCE_MORE * sampling.KEPT, (density.start, density.apart)
        found = sampled(density, density.count, seed + 1, more, *begin)
        # Neighbours of so long chains tell the same: as many as usual are kept.
        found = replace(found, draws=found.draws[::_ONCE_MORE])
        missed = _missed_there(wrapped, unknowns, density, found.draws)
    lost = float(np.max(missed / np.hypot(density.errors, density.usual_ways)))
    if lost > _LOST and not found.diagnostics.reason:
        reason = say(
            "The smooth functions that stand for the model miss it by {found} times what it is"
            " taken to be off, where the answer lies.",
            found=f"{lost:.1f}",
        )
        found = replace(found, diagnostics=replace(found.diagnostics, reason=reason))
    found = replace(found, draws=unknowns.scores(found.draws))
    return told(wrapped, unknowns, density, found, first)


_STEPS = (
    to_say("Smooth functions over all ranges, step {step} of {steps}"),
    to_say("Sampling, step {step} of {steps}"),
    to_say("Smooth functions where the answer lies, step {step} of {steps}"),
    to_say("Sampling with them, step {step} of {steps}"),
    to_say("Sampling more, since chains do not agree yet, step {step} of {steps}"),
)


def _say_step(tell: Callable[[str], None], step: int) -> None:
    words = _STEPS[step - 1]
    tell(say(words, step=step, steps=max(2 * -(-step // 2), step)))


def _missed_there(
    wrapped: Sequence[Wrapped], unknowns: SharedUnknowns, density: LogDensity, draws: Array
) -> Array:
    """What smooth functions miss the model by at draws: root mean square, shape (averages,).

    Draws in which the film tears, or runs through, are left out.
    """
    some = draws[:: max(len(draws) // _LOOKED_AT, 1)]
    scores = unknowns.scores(some)[:, : len(unknowns.all)]
    given = [each.unknown for each in unknowns.all]
    values = [values_at_scores(scores[:, one], each) for one, each in enumerate(given)]
    drawn = [{given[one].name: values[one] for one in own} for own in unknowns.places]
    model = [
        log_readings(each.case, each.averages, own, len(some))
        for each, own in zip(wrapped, drawn, strict=True)
    ]
    told = density.predicted(scores)
    off = told - np.column_stack([model[load][:, place] for load, place in density.order])
    known = np.isfinite(off)
    squares = np.where(known, off, 0.0) ** 2
    return np.asarray(np.sqrt(squares.sum(axis=0) / np.maximum(known.sum(axis=0), 1)))


def told(
    wrapped: Sequence[Wrapped],
    unknowns: SharedUnknowns,
    density: LogDensity,
    found: Sampled,
    first: LogDensity | None = None,
) -> Learned:
    """What draws say; nothing where they cannot be trusted.

    Args:
        wrapped: what was wrapped.
        unknowns: of it.
        density: that the draws are of.
        found: the draws, scores of all unknowns and other numbers.
        first: density with smooth functions over the whole ranges; made where not given.
    """
    first = first or LogDensity(wrapped, _emulations(wrapped, unknowns), unknowns)
    findings = _torn(wrapped, first.emulations)
    is_trusted = not found.diagnostics.reason
    if not is_trusted:
        findings = (*findings, say("Nothing is said, since the draws cannot be trusted."))
    return Learned(
        _inputs(unknowns, found.draws) if is_trusted else (),
        _spreads(density, found.draws) if is_trusted else (),
        _readings(wrapped, first, density, found, unknowns) if is_trusted else (),
        tuple(dict.fromkeys(each.trial for each in wrapped)),
        found.diagnostics,
        findings,
        found.draws,
        unknowns,
        density,
    )


def _emulations(
    wrapped: Sequence[Wrapped],
    unknowns: SharedUnknowns,
    centre: Array | None = None,
    spread: Array | None = None,
) -> list[Emulated]:
    """The model of each as quadratics; cases that state the same share theirs at the beginning."""
    found, alike = [], dict[tuple[object, ...], Emulated]()
    # Rounded up, so that cases which state the same are the same at all times.
    usual = np.ceil(10.0 * unknowns.usual_spreads()) / 10.0
    for each, places in zip(wrapped, unknowns.places, strict=True):
        own = [unknowns.all[place].unknown for place in places]
        if centre is None or spread is None:
            key = (*_alike(each, own), tuple(usual[places]))
            if key not in alike:
                alike[key] = emulated(each, own, usual[places])
            found.append(alike[key])
        else:
            width = np.clip(_WIDER * spread[places], _NARROWEST, usual[places])
            found.append(emulated(each, own, usual[places], (centre[places], width)))
    return found


def _alike(each: Wrapped, own: Sequence[Unknown]) -> tuple[object, ...]:
    """Equal where cases, what was measured of them and what is taken for unknowns are."""
    places = tuple((repr((a.what, a.height, a.age, a.first_age, a.turns))) for a in each.averages)
    return hash_of(each.case.model_dump(mode="json", exclude={"title"})), places, tuple(own)


def _torn(wrapped: Sequence[Wrapped], emulations: Sequence[Emulated]) -> tuple[str, ...]:
    return tuple(
        say(
            "{trial}, {treatment}, {load}: over the ranges that were stated the film tears, or runs"
            " through the rollers unstretched, in {share} of the draws, which are left out.",
            trial=each.trial,
            treatment=say(each.treatment),
            load=each.load_type,
            share=f"{emulation.torn:.0%}",
        )
        for each, emulation in zip(wrapped, emulations, strict=True)
        if emulation.torn > _TORN
    )


def estimate(draws: Array) -> Estimate:
    """Median and middle 90 % of draws."""
    low, middle, high = np.percentile(draws, _TAILS)
    return Estimate(float(middle), float(low), float(high))


def _inputs(unknowns: SharedUnknowns, draws: Array) -> tuple[LearnedInput, ...]:
    random = np.random.default_rng(3)
    untaught = unknowns.scores(random.standard_normal((len(draws), unknowns.count)))
    found = []
    for place, owned in enumerate(unknowns.all):
        (low, middle, high), then = (
            np.percentile(each[:, place], _TAILS) for each in (draws, untaught)
        )
        left = float((high - low) / (then[2] - then[0]))
        moved = abs(middle - then[1]) * 2.0 * SCORE_AT_END / (then[2] - then[0]) > 1.0 - _TELLS
        found.append(
            LearnedInput(
                owned.owner.named,
                owned.unknown.name,
                owned.kind,
                owned.unknown.shape,
                estimate(values_at_scores(untaught[:, place], owned.unknown)),
                estimate(values_at_scores(draws[:, place], owned.unknown)),
                left,
                left < _TELLS or bool(moved),
            )
        )
    return tuple(sorted(found, key=lambda each: each.left))


def _spreads(density: LogDensity, draws: Array) -> tuple[LearnedSpread, ...]:
    sites, ways = density.spreads(draws)
    return tuple(
        LearnedSpread(kind, estimate(sites[:, index]), estimate(ways[:, index]))
        for index, kind in enumerate(density.kinds)
    )


def _readings(
    wrapped: Sequence[Wrapped],
    prior: LogDensity,
    density: LogDensity,
    found: Sampled,
    unknowns: SharedUnknowns,
) -> tuple[LearnedReading, ...]:
    random = np.random.default_rng(2)
    shape = (len(found.draws), density.count)
    untaught = unknowns.scores(random.standard_normal(shape))
    before = np.exp(prior.true_averages(untaught, random, is_seen=False))
    after = np.exp(density.true_averages(found.draws, random, is_seen=True))
    told = []
    for index, (load, place) in enumerate(density.order):
        each = wrapped[load]
        average = each.averages[place]
        told.append(
            LearnedReading(
                each.trial,
                each.treatment,
                each.load_type,
                average.described,
                average.unit,
                math.exp(average.log_mean),
                estimate(before[:, index]),
                estimate(after[:, index]),
            )
        )
    return tuple(told)
