"""The report of a trial: question, set-up, method, result with intervals, records, all of it."""

from __future__ import annotations

from collections.abc import Iterable

from woold.case.model import Case
from woold.pictures.trial_analysis import analysis_figure
from woold.prediction.predict import rests_on
from woold.prediction.result import RestsOn
from woold.prediction.yearly import Estimate
from woold.report.making import Making, closing_blocks, finding_blocks, finished, placeholder_blocks
from woold.report.model import Block, Bullets, Figure, Heading, InputHash, Paragraph, Report, Table
from woold.report.money_blocks import saving_blocks
from woold.report.prediction_report import prediction_sources
from woold.report.svg import figure_svg
from woold.report.trial_records_blocks import record_blocks
from woold.report.trial_result_blocks import comparison_blocks, span, trial_loads
from woold.report.voice import Voice
from woold.trial.analysis import Analysis
from woold.trial.arms import arm_means
from woold.trial.bootstrap import bootstrap_interval
from woold.trial.ratio import fieller_interval, log_ratio_interval, noninferiority_p
from woold.trial.records import TrialRecords
from woold.trial.setup import ARMS, TrialSetup
from woold.trial.table import load_table
from woold.units import KINDS

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
        (*making.inputs, InputHash(say("trial.records_of", trial=a.trial), a.records_sha256)),
        making.command,
    )
    cases = _cases(records.setup)
    blocks: list[Block] = [
        Paragraph(say.sentence(a.verdict.sentence), is_strong=True),
        Bullets(tuple(say.sentence(each) for each in a.verdict.reservations)),
        Heading(say("trial.question")),
        Paragraph(a.question or say("trial.no_question")),
        *finding_blocks(a.findings, say),
        *_setup_blocks(records.setup, a, say),
        Heading(say("method.heading")),
        Bullets(tuple(_method(a, say))),
        Heading(say("result.heading")),
    ]
    if with_figures:
        svg = figure_svg(analysis_figure(a, load_table(records)), "trial", say)
        alt = say("picture.trial_alt", verdict=say.sentence(a.verdict.sentence))
        blocks.append(Figure(svg, say("picture.trial"), alt))
    blocks += [
        *comparison_blocks(a, say),
        *_money(records.setup, a, making),
        *_assumption_blocks(a, say),
        *placeholder_blocks(_placeholders(cases), say),
        *record_blocks(records, say),
        *closing_blocks(making, _sources(a, cases), a.cautions),
    ]
    return finished("trial", a.title or a.trial, blocks, making)


def _cases(setup: TrialSetup) -> list[Case]:
    found = (setup.case(each.name, arm) for each in setup.trial.load_types for arm in ARMS)
    return [case for case in found if case is not None]


def _setup_blocks(setup: TrialSetup, a: Analysis, say: Voice) -> list[Block]:
    trial = setup.trial
    rows = tuple(
        (each.name, say.fixed(each.loads_per_year, 0), each.baseline or "", each.candidate or "")
        for each in trial.load_types
    )
    columns = (
        say("trial.load_type"),
        say("money.a_year"),
        say("trial.baseline_case"),
        say("trial.candidate_case"),
    )
    wrapped = say(
        "trial.wrapped",
        baseline=a.loads_baseline,
        candidate=a.loads_candidate,
        changeover=trial.order.changeover,
        rolls=trial.order.rolls,
    )
    aim = say(
        "trial.aim",
        saving=say.percent(trial.aim.saving),
        margin=say.percent(trial.aim.margin),
        power=say.percent(trial.aim.power, 0),
    )
    blocks: list[Block] = [
        Heading(say("trial.setup")),
        Paragraph(f"{wrapped} {aim}"),
        Table(say("trial.types_caption"), columns, rows, words=(0, 2, 3)),
    ]
    differences = _differences(setup, say)
    if differences is not None:
        blocks.append(differences)
    return [*blocks, Paragraph(trial.notes)] if trial.notes else blocks


def _differences(setup: TrialSetup, say: Voice) -> Table | None:
    """What differs between the arms' cases, of the first load type that has both."""
    for each in setup.trial.load_types:
        baseline, candidate = (setup.case(each.name, arm) for arm in ARMS)
        if baseline is None or candidate is None:
            continue
        before, after = (
            {
                given.field: say.amount(given.value, given.kind)
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
        columns = (say("word.input"), say("trial.baseline"), say("trial.candidate"))
        caption = say("trial.differences", load_type=each.name)
        return Table(caption, columns, rows, is_small=True) if rows else None
    return None


def _method(a: Analysis, say: Voice) -> Iterable[str]:
    yield say("trial.method_mix")
    yield say("trial.method_blocks" if a.film.blocks_taken_out else "trial.method_no_blocks")
    yield say("trial.method_ratio", resamples=say.fixed(a.resamples, 0), seed=a.seed)
    if a.containment:
        yield say("trial.method_containment", margin=say.percent(a.containment[0].margin))
    yield say("trial.method_outliers")


def _money(setup: TrialSetup, a: Analysis, making: Making) -> list[Block]:
    """What the measured saving is worth, at the prices of the first load type's cases."""
    say, low, high = making.say, a.verdict.saving_low, a.verdict.saving_high
    pair = next(
        (
            (baseline, candidate)
            for each in setup.trial.load_types
            for baseline, candidate in [[setup.case(each.name, arm) for arm in ARMS]]
            if baseline is not None and candidate is not None
        ),
        None,
    )
    if low is None or high is None or pair is None:
        key = "trial.no_money" if pair is None else "trial.no_interval"
        return [Heading(say("money.saving_heading")), Paragraph(say(key))]
    baseline, candidate = pair
    saving = Estimate(a.verdict.saving, low, high)
    cost = None
    if baseline.film.price and candidate.film.price:
        before, after = baseline.film.price.amount, candidate.film.price.amount
        costs = (a.film.baseline * (before - after * (1.0 - each)) for each in
                 (saving.value, saving.low, saving.high))  # fmt: skip
        cost = Estimate(*costs)
    return saving_blocks(
        candidate,
        saving.times(a.film.baseline),
        making.made_at.date(),
        say,
        loads=trial_loads(setup, a),
        cost_per_load=cost,
        interval="trial.interval",
    )


def _assumption_blocks(a: Analysis, say: Voice) -> list[Block]:
    rows = tuple(
        (
            each.name,
            say("trial.doubt") if each.raises_doubt else say("trial.no_doubt"),
            say.sentence(each.finding),
            "" if each.p is None else say.fixed(each.p, 3),
        )
        for each in a.checks
    )
    columns = tuple(say(f"trial.{name}") for name in ("assumption", "raises", "finding", "p"))
    blocks: list[Block] = [
        Heading(say("trial.assumptions")),
        Table(say("trial.assumptions_caption"), columns, rows, words=(0, 1, 2), is_small=True),
    ]
    if a.outliers:
        names = ("load", "arm", "film_mass", "expected", "distance", "note")
        loads = tuple(
            (
                each.load,
                each.arm,
                say.amount(each.film_mass_kg, "small_mass"),
                say.amount(each.expected_kg, "small_mass"),
                say.fixed(each.modified_z, 1),
                each.note,
            )
            for each in a.outliers
        )
        heads = tuple(say(f"trial.{name}") for name in names)
        blocks.append(Table(say("trial.apart"), heads, loads, words=(0, 1, 5), is_small=True))
        if a.film_without_outliers is not None:
            without = a.film_without_outliers
            blocks.append(
                Paragraph(
                    say(
                        "trial.without",
                        ratio=say.fixed(without.ratio, 4),
                        interval=span(without.fieller, say),
                    )
                )
            )
    if a.taken_out:
        gone = tuple((f"{each.kind} {each.key}", each.reason, each.by) for each in a.taken_out)
        heads = (say("trial.record"), say("trial.reason"), say("trial.by"))
        blocks.append(Table(say("trial.taken_out"), heads, gone, words=(0, 1, 2), is_small=True))
    return blocks


def _placeholders(cases: Iterable[Case]) -> tuple[RestsOn, ...]:
    """Placeholders behind the predictions beside the measurements, each once."""
    found = {(each.field, each.value): each for case in cases for each in rests_on(case)}
    return tuple(found.values())


def _sources(a: Analysis, cases: list[Case]) -> list[tuple[str, object]]:
    used: list[tuple[str, object]] = [
        ("source.means", arm_means),
        ("source.fieller", fieller_interval),
        ("source.log_ratio", log_ratio_interval),
    ]
    if a.film.bootstrap is not None:
        used.append(("source.bootstrap", bootstrap_interval))
    if a.containment:
        used.append(("source.not_lower", noninferiority_p))
    known = dict(entry for case in cases for entry in prediction_sources(case))
    return [*used, *known.items()]
