"""The analysis of a trial, from its records to the verdict. Field names are JSON keys."""

from __future__ import annotations

import dataclasses
import hashlib
import json
from dataclasses import dataclass
from typing import Any

import numpy as np

import woold
from woold.prediction.result import CAUTIONS, Finding
from woold.rows.told import Told
from woold.trial import compare
from woold.trial.analysis_findings import Looked, record_findings, reservations
from woold.trial.assumptions import Check, assumption_checks
from woold.trial.attempts import reason_of
from woold.trial.before_after import BeforeAfter, judge_before_after
from woold.trial.beside import (
    PredictedFilm,
    cycle_times,
    expectations,
    film_without,
    predicted_films,
    predicted_ratio,
)
from woold.trial.compare import (
    BreakRates,
    TrialComparison,
    TypeComparison,
    ZoneComparison,
    comparison,
    means_of,
)
from woold.trial.confounding import confounded_with
from woold.trial.equal_hold import EqualHold, equal_hold
from woold.trial.judged import judge
from woold.trial.outlying import OddReading, Outlier, odd_readings_of_loads, outliers
from woold.trial.plan_findings import plan_findings
from woold.trial.progress import PlanState, Seen, TrialProgress, chance_at_the_end, progress_of
from woold.trial.records import TrialRecords
from woold.trial.setup import TREATMENTS, Aim, TrialSetup
from woold.trial.stretches import TreatmentStretch, treatment_stretches
from woold.trial.table import LoadTable, load_table
from woold.trial.treatment_means import TreatmentMeans
from woold.trial.verdict import TrialVerdict, trial_verdict
from woold.trial.verdict_method import VerdictFacts
from woold.words import say

__all__ = ["Analysis", "TakenOut", "analyse", "analyse_table"]

RESAMPLES = 10_000


@dataclass(frozen=True, slots=True)
class TakenOut:
    """A record that does not count, and why."""

    kind: str
    key: str
    reason: str
    by: str


@dataclass(frozen=True, slots=True, repr=False)
class Analysis(Told):
    """Everything that a trial says.

    Args:
        trial, title, question: from the trial file.
        loads_baseline, loads_candidate: loads wrapped of each treatment.
        progress: how far the trial has come, and its looks.
        verdict: what may be said.
        film: film mass per load [kg].
        film_without_outliers: the same without the loads that stand apart, to show what they do.
        by_type: film mass of each load type.
        containment: pull readings by zone.
        equal_hold: film and hold together; null without pull readings.
        before_after: what a trial that is fitted once rests on; null of an interleaved one.
        cycle_time: [s]; null where it was not read with both treatments.
        breaks: film breaks; null where none were written down.
        stretches: stretch on the load of each treatment.
        predicted: prediction beside measurement, by treatment.
        predicted_ratio: film ratio that the cases predict.
        outliers: loads that stand apart; all are in the results above.
        odd_readings: loads whose pulls, widths, marks or times stand apart; all are counted.
        checks: assumptions looked at.
        taken_out: records that were taken out, with their reasons.
        corrected_records: number of records that stand corrected.
        findings: what asks for attention.
        resamples, seed: of the bootstrap.
        version: of woold.
        records_sha256: fingerprint of the trial and its records, to tell whether they changed.
        cautions: the usual cautions.
    """

    told_as = "trial-analysis"
    told_by = "woold.trial.analysis_rows:analysis_blocks"

    trial: str
    title: str
    question: str
    loads_baseline: int
    loads_candidate: int
    progress: TrialProgress
    verdict: TrialVerdict
    film: TrialComparison
    film_without_outliers: TrialComparison | None
    by_type: tuple[TypeComparison, ...]
    containment: tuple[ZoneComparison, ...]
    equal_hold: EqualHold | None
    before_after: BeforeAfter | None
    cycle_time: TrialComparison | None
    breaks: BreakRates | None
    stretches: tuple[TreatmentStretch, ...]
    predicted: tuple[PredictedFilm, ...]
    predicted_ratio: float | None
    outliers: tuple[Outlier, ...]
    odd_readings: tuple[OddReading, ...]
    checks: tuple[Check, ...]
    taken_out: tuple[TakenOut, ...]
    corrected_records: int
    findings: tuple[Finding, ...]
    resamples: int
    seed: int
    version: str
    records_sha256: str
    cautions: tuple[str, ...] = CAUTIONS

    def to_json(self) -> dict[str, Any]:
        """The JSON document of this analysis."""
        document = Told.to_json(self)
        for name, unit in (("film", "kg"), ("film_without_outliers", "kg"), ("cycle_time", "s")):
            if document[name] is not None:
                document[name] = {
                    f"{key}_{unit}" if key in TREATMENTS else key: value
                    for key, value in document[name].items()
                }
        return document


def analyse(records: TrialRecords, resamples: int = RESAMPLES, seed: int = 1) -> Analysis:
    """The analysis of a trial's records.

    Args:
        records: as they stand.
        resamples: of the bootstrap.
        seed: of its random numbers.

    Raises:
        InputError: too few loads to compare, or readings that cannot be placed.
    """
    state = PlanState(
        len(records.planned), frozenset(each.key for each in records.void if each.kind == "load")
    )
    found = analyse_table(load_table(records), records.setup, state, resamples, seed)
    return dataclasses.replace(
        found,
        taken_out=(
            *(TakenOut(each.kind, each.key, each.reason, each.by) for each in records.void),
            *(
                TakenOut(each.kind, each.key, reason_of(each.cells), each.by)
                for each in records.attempts
            ),
        ),
        findings=(*found.findings, *plan_findings(records)),
        corrected_records=records.corrected,
        records_sha256=_fingerprint(records),
    )


def _fingerprint(records: TrialRecords) -> str:
    """SHA-256 over the trial and everything that counts in it."""
    content = json.dumps(
        [
            records.setup.tables,
            records.setup.case_tables,
            [
                (each.kind, each.key, sorted(each.cells.items()))
                for kind in (records.loads, records.widths, records.pulls)
                for each in kind
            ],
        ],
        sort_keys=True,
        default=str,
    )
    return hashlib.sha256(content.encode()).hexdigest()


def analyse_table(
    table: LoadTable,
    setup: TrialSetup,
    state: PlanState | None = None,
    resamples: int = RESAMPLES,
    seed: int = 1,
) -> Analysis:
    """The analysis of a table of loads.

    Args:
        table: all loads.
        setup: the trial.
        state: its plan; None where none is kept.
        resamples: of the bootstrap.
        seed: of its random numbers.

    Raises:
        InputError: too few loads to compare.
    """
    aim, expected, what = setup.trial.aim, expectations(setup), say("film mass")
    progress, limits, reached = progress_of(table, setup.trial.looks, state)
    before_after = None
    if setup.trial.is_fitted_once:
        judged, before_after = judge_before_after(table, aim.margin, progress.is_filled)
        table = table.only(table.machine == 0)
    else:
        judged = judge(table, aim.margin, limits, reached)
        if reached:
            table = table.only(reached[-1])
    by_load, film_means = (means_of(table, table.film_mass, what, each) for each in (False, True))
    film = comparison(film_means, resamples, seed)
    apart = outliers(by_load, table)
    compared, zone_means = compare.compare_zones(table, aim.margin)
    zones = judged.zones or compared
    together = equal_hold(film_means, [each.zone for each in compared], zone_means)
    seen = _seen(by_load, zone_means, together, len(np.unique(table.block)))
    predicted = predicted_films(table, expected, film_means)
    looked = Looked(
        table=table,
        film=film,
        without=film_without(table, apart),
        zones=zones,
        judged=judged,
        apart=apart,
        checks=assumption_checks(by_load, table),
        predicted_ratio=predicted_ratio(predicted),
        confounded="" if before_after else confounded_with(table, film.blocks_taken_out),
        is_fitted_once=before_after is not None,
    )
    findings, facts = record_findings(looked), _verdict_facts(looked, aim, progress, before_after)
    return Analysis(
        trial=setup.trial.key,
        title=setup.trial.title,
        question=setup.trial.question,
        loads_baseline=int(table.of_treatment(0).sum()),
        loads_candidate=int(table.of_treatment(1).sum()),
        progress=_with_chance(progress, setup, state, seen),
        verdict=trial_verdict(facts, reservations(looked, aim, findings)),
        film=film,
        film_without_outliers=looked.without,
        by_type=compare.compare_types(table),
        containment=zones,
        equal_hold=together,
        before_after=before_after,
        cycle_time=cycle_times(table),
        breaks=compare.break_rates(table),
        stretches=treatment_stretches(table, expected),
        predicted=predicted,
        predicted_ratio=looked.predicted_ratio,
        outliers=apart,
        odd_readings=odd_readings_of_loads(table),
        checks=looked.checks,
        taken_out=(),
        corrected_records=0,
        findings=findings,
        resamples=resamples,
        seed=seed,
        version=woold.__version__,
        records_sha256="",
    )


def _with_chance(
    progress: TrialProgress, setup: TrialSetup, state: PlanState | None, seen: Seen
) -> TrialProgress:
    chance = chance_at_the_end(setup.trial, state, progress, seen)
    return dataclasses.replace(progress, chance=chance)


def _seen(
    film: TreatmentMeans, zones: tuple[TreatmentMeans, ...], together: EqualHold | None, blocks: int
) -> Seen:
    correlation = together.zone_correlation if together else None
    return Seen(film, zones, correlation, blocks)


def _verdict_facts(
    looked: Looked, aim: Aim, progress: TrialProgress, before_after: BeforeAfter | None
) -> VerdictFacts:
    return VerdictFacts(
        film=looked.film,
        judged=looked.judged,
        progress=progress,
        aim=aim.saving,
        margin=aim.margin,
        zones_asked=len(looked.table.zone_names),
        confounded=looked.confounded,
        before_after=before_after,
    )
