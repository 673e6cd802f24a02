"""The report of a trial: question, set-up, method, result with intervals, records, all of it."""

from __future__ import annotations

from collections.abc import Iterable

from woold.case.model import Case
from woold.pictures.trial_analysis import analysis_figure
from woold.prediction.plain_units import with_unit
from woold.prediction.predict import rests_on
from woold.prediction.result import RestsOn
from woold.prediction.yearly import Estimate
from woold.report.making import Making, closing_blocks, finding_blocks, finished, placeholder_blocks
from woold.report.model import InputHash, Report
from woold.report.money_blocks import saving_blocks
from woold.report.prediction_report import prediction_sources
from woold.report.svg import figure_svg
from woold.report.trial_records_blocks import record_blocks
from woold.rows.blocks import Block, Bullets, Figure, Heading, Paragraph, Table
from woold.rows.wording import Wording
from woold.trial.analysis import Analysis
from woold.trial.analysis_rows import comparison_blocks, progress_blocks, verdict_blocks
from woold.trial.assumption_rows import assumption_blocks
from woold.trial.bootstrap import bootstrap_interval
from woold.trial.ratio import fieller_interval, log_ratio_interval, noninferiority_p
from woold.trial.records import TrialRecords
from woold.trial.setup import TREATMENTS, TrialSetup
from woold.trial.table import load_table
from woold.trial.treatment_means import treatment_means
from woold.units import KINDS
from woold.words import to_say

__all__ = ["trial_report"]

_WRAPPING = ("load.", "film.", "carriage.", "machine.", "program.")
"""Sections of a case that say how a load is wrapped."""


def trial_report(
    records: TrialRecords, analysis: Analysis, making: Making, with_figures: bool = True
) -> Report:
    """The whole report of a trial.

    Args:
        records: as they stand.
        analysis: of these records.
        making: how the report is made; the records' fingerprint is added to its inputs.
        with_figures: draw the results.
    """
    say, a = making.say, analysis
    making = Making(
        say,
        making.made_at,
        making.paper,
        (
            *making.inputs,
            InputHash(say("records of the trial {trial}", trial=a.trial), a.records_sha256),
        ),
        making.command,
    )
    cases = _cases(records.setup)
    blocks: list[Block] = [
        *verdict_blocks(a, say),
        *progress_blocks(a.progress, say),
        Heading(say("Question")),
        Paragraph(a.question or say("The trial file states no question.")),
        *finding_blocks(a.findings, say),
        *_setup_blocks(records.setup, a, say),
        Heading(say("Method and assumptions")),
        Bullets(tuple(_method(a, say))),
        Heading(say("Result")),
    ]
    if with_figures:
        svg = figure_svg(analysis_figure(a, load_table(records)), "trial", say)
        alt = say(
            "Four drawings: film mass of every load in order; film ratio with intervals;"
            " containment ratio by zone; film ratio against containment ratio. {verdict} The"
            " tables below give the numbers.",
            verdict=say.sentence(a.verdict.sentence),
        )
        blocks.append(
            Figure(
                svg,
                say(
                    "Every load, the film ratio with its intervals, pull readings by zone, and"
                    " film against containment."
                ),
                alt,
            )
        )
    blocks += [
        *comparison_blocks(a, say),
        *_money(records.setup, a, making),
        *assumption_blocks(a, say),
        *placeholder_blocks(_placeholders(cases), say),
        *record_blocks(records, say),
        *closing_blocks(making, _sources(a, cases), a.cautions),
    ]
    return finished("trial", a.title or a.trial, blocks, making)


def _cases(setup: TrialSetup) -> list[Case]:
    found = (
        setup.case(each.name, treatment)
        for each in setup.trial.load_types
        for treatment in TREATMENTS
    )
    return [case for case in found if case is not None]


def _setup_blocks(setup: TrialSetup, a: Analysis, say: Wording) -> list[Block]:
    trial = setup.trial
    rows = tuple(
        (each.name, say.fixed(each.loads_per_year, 0), each.baseline or "", each.candidate or "")
        for each in trial.load_types
    )
    columns = (
        say("load type"),
        say("a year"),
        say("case of the baseline"),
        say("case of the candidate"),
    )
    wrapped = say(
        "{baseline} loads were wrapped with the baseline and {candidate} with the candidate;"
        " by plan the treatments change places {changeover}, film rolls: {rolls}.",
        baseline=a.loads_baseline,
        candidate=a.loads_candidate,
        changeover=say(trial.order.changeover),
        rolls=say(trial.order.rolls),
    )
    aim = say(
        "The trial was to see a saving of {saving}, and a loss of containment of {margin} or"
        " more, with a chance of {power}.",
        saving=say.percent(trial.aim.saving),
        margin=say.percent(trial.aim.margin),
        power=say.percent(trial.aim.power, 0),
    )
    blocks: list[Block] = [
        Heading(say("Set-up")),
        Paragraph(f"{wrapped} {aim}"),
        Table(say("Load types"), columns, rows, words=(0, 2, 3)),
    ]
    differences = _differences(setup, say)
    if differences is not None:
        blocks.append(differences)
    return [*blocks, Paragraph(trial.notes)] if trial.notes else blocks


def _differences(setup: TrialSetup, say: Wording) -> Table | None:
    """What differs between the treatments' cases, of the first load type that has both."""
    for each in setup.trial.load_types:
        baseline, candidate = (setup.case(each.name, treatment) for treatment in TREATMENTS)
        if baseline is None or candidate is None:
            continue
        before, after = (
            {
                given.field: with_unit(say.amount(given.value, given.kind), given.field, given.kind)
                for given in case.inputs()
                if given.kind in KINDS and given.field.startswith(_WRAPPING)
            }
            for case in (baseline, candidate)
        )
        rows = tuple(
            (field, before.get(field, ""), after.get(field, ""))
            for field in dict.fromkeys([*before, *after])
            if before.get(field) != after.get(field)
        )
        columns = (say("input"), say("baseline"), say("candidate"))
        caption = say(
            "What differs between the treatments by their case files ({load_type})",
            load_type=each.name,
        )
        return Table(caption, columns, rows, is_small=True) if rows else None
    return None


def _method(a: Analysis, say: Wording) -> Iterable[str]:
    yield say("Means are taken over the load types in the proportions of a year, not of the trial.")
    if a.film.blocks_taken_out:
        yield say(
            "Differences between blocks (loads wrapped close together, on one film roll) are taken"
            " out."
        )
    else:
        yield say(
            "No block effect was taken out: there is one block, or the treatments cannot be told"
            " from the blocks."
        )
    yield say(
        "The film ratio is the ratio of the mean film masses. Its interval is Fieller's; a"
        " log-ratio and a bootstrap interval ({resamples} resamples, seed {seed}) stand beside it."
        " Errors need no equal spread with both treatments.",
        resamples=say.fixed(a.resamples, 0),
        seed=a.seed,
    )
    if a.containment:
        yield say(
            "Containment counts as not lower where it was shown, zone by zone, that less than"
            " {margin} of the baseline's pull reading is lost (one-sided, {error}).",
            margin=say.percent(a.containment[0].margin),
            error=say.percent(0.025),
        )
    yield say(
        "No load is dropped for standing apart; such loads are listed, with what the result is"
        " without them."
    )


def _money(setup: TrialSetup, a: Analysis, making: Making) -> list[Block]:
    """What the measured saving is worth, at the prices of the first load type's cases."""
    say, low, high = making.say, a.verdict.saving_low, a.verdict.saving_high
    saved = a.verdict.saving
    pair = next(
        (
            (baseline, candidate)
            for each in setup.trial.load_types
            for baseline, candidate in [
                [setup.case(each.name, treatment) for treatment in TREATMENTS]
            ]
            if baseline is not None and candidate is not None
        ),
        None,
    )
    if saved is None or low is None or high is None or pair is None:
        key = (
            to_say(
                "The trial names no case files, so no prices are known and nothing is said of"
                " money."
            )
            if pair is None
            else to_say("The saving has no bounded interval, so nothing is said of its worth.")
        )
        return [Heading(say("What the saving is worth")), Paragraph(say(key))]
    baseline, candidate = pair
    saving = Estimate(saved, low, high)
    cost = None
    if baseline.film.price and candidate.film.price:
        before, after = baseline.film.price.amount, candidate.film.price.amount
        costs = (a.film.baseline * (before - after * (1.0 - each)) for each in
                 (saving.value, saving.low, saving.high))  # fmt: skip
        cost = Estimate(*costs)
    heading, *worth = saving_blocks(
        candidate,
        saving.times(a.film.baseline),
        making.made_at.date(),
        say,
        loads=a.film.mix_covered * sum(each.loads_per_year for each in setup.trial.load_types),
        cost_per_load=cost,
        interval=to_say("95 % interval"),
    )
    return [heading, *_what_is_open(a, low, say), *worth]


def _what_is_open(a: Analysis, low: float, say: Wording) -> Iterable[Block]:
    """What must be known before anybody counts on a saving."""
    if low <= 0.0:
        yield Paragraph(
            say(
                "The trial does not show that anything is saved: nobody should count on what stands"
                " here."
            )
        )
    if not a.containment:
        yield Paragraph(
            say(
                "How well the loads hold was not measured: film that is saved by holding less is no"
                " saving."
            )
        )


def _placeholders(cases: Iterable[Case]) -> tuple[RestsOn, ...]:
    """Placeholders behind the predictions beside the measurements, each once."""
    found = {(each.field, each.value): each for case in cases for each in rests_on(case)}
    return tuple(found.values())


def _sources(a: Analysis, cases: list[Case]) -> list[tuple[str, object]]:
    used: list[tuple[str, object]] = [
        (to_say("errors of the treatments' means"), treatment_means),
        (to_say("interval of a ratio"), fieller_interval),
        (to_say("interval on the log scale"), log_ratio_interval),
    ]
    if a.film.bootstrap is not None:
        used.append((to_say("bootstrap"), bootstrap_interval))
    if a.containment:
        used.append((to_say("not lower by the margin"), noninferiority_p))
    known = dict(entry for case in cases for entry in prediction_sources(case))
    return [*used, *known.items()]
