"""The analysis of a trial, from its records to the verdict. Field names are JSON keys."""

from __future__ import annotations

import dataclasses
import hashlib
import json
import math
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

import woold
from woold.errors import WooldError
from woold.prediction.predict import predict
from woold.prediction.result import CAUTIONS, Finding
from woold.trial import compare
from woold.trial.assumptions import (
    Check,
    Outlier,
    assumption_checks,
    outliers,
    swapped_blocks,
)
from woold.trial.compare import (
    BreakRates,
    FilmAndHold,
    TrialComparison,
    TypeComparison,
    ZoneComparison,
    comparison,
    means_of,
)
from woold.trial.records import TrialRecords
from woold.trial.setup import TREATMENTS, TrialSetup
from woold.trial.stretches import Expected, TreatmentStretch, treatment_stretches
from woold.trial.table import LoadTable, load_table
from woold.trial.treatment_means import TreatmentMeans
from woold.trial.verdict import TrialVerdict, verdict
from woold.units import show
from woold.words import say

__all__ = ["Analysis", "PredictedFilm", "TakenOut", "analyse", "analyse_table", "expectations"]

RESAMPLES = 10_000


@dataclass(frozen=True, slots=True)
class PredictedFilm:
    """What the cases predict, over the same mix of load types; null without a case.

    Args:
        treatment: baseline or candidate.
        film_mass_kg, film_width_on_load_m, stretch_on_load, cycle_time_s: predicted.
        measured_film_mass_kg, measured_film_width_m: means beside them.
        placeholders: number of values behind the prediction that nobody measured.
    """

    treatment: str
    film_mass_kg: float | None
    film_width_on_load_m: float | None
    stretch_on_load: float | None
    cycle_time_s: float | None
    measured_film_mass_kg: float | None
    measured_film_width_m: float | None
    placeholders: int


@dataclass(frozen=True, slots=True)
class TakenOut:
    """A record that does not count, and why."""

    kind: str
    key: str
    reason: str
    by: str


@dataclass(frozen=True, slots=True)
class Analysis:
    """Everything that a trial says.

    Args:
        trial, title, question: from the trial file.
        loads_baseline, loads_candidate: loads wrapped of each treatment.
        verdict: what may be said.
        film: film mass per load [kg].
        film_without_outliers: the same without the loads that stand apart, to show what they do.
        by_type: film mass of each load type.
        containment: pull readings by zone.
        joint: film and containment together; null without pull readings.
        cycle_time: [s]; null where it was not read with both treatments.
        breaks: film breaks; null where none were written down.
        stretches: stretch on the load of each treatment.
        predicted: prediction beside measurement, by treatment.
        predicted_ratio: film ratio that the cases predict.
        outliers: loads that stand apart; all are in the results above.
        checks: assumptions looked at.
        taken_out: records that were taken out, with their reasons.
        corrected_records: number of records that stand corrected.
        findings: what asks for attention.
        resamples, seed: of the bootstrap.
        version: of woold.
        records_sha256: fingerprint of the trial and its records, to tell whether they changed.
        cautions: the usual cautions.
    """

    trial: str
    title: str
    question: str
    loads_baseline: int
    loads_candidate: int
    verdict: TrialVerdict
    film: TrialComparison
    film_without_outliers: TrialComparison | None
    by_type: tuple[TypeComparison, ...]
    containment: tuple[ZoneComparison, ...]
    joint: FilmAndHold | None
    cycle_time: TrialComparison | None
    breaks: BreakRates | None
    stretches: tuple[TreatmentStretch, ...]
    predicted: tuple[PredictedFilm, ...]
    predicted_ratio: float | None
    outliers: tuple[Outlier, ...]
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
        document = asdict(self)
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
    found = analyse_table(load_table(records), records.setup, resamples, seed)
    return dataclasses.replace(
        found,
        taken_out=tuple(
            TakenOut(each.kind, each.key, each.reason, each.by) for each in records.void
        ),
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


def expectations(setup: TrialSetup) -> dict[tuple[int, int], Expected]:
    """Case and prediction by (load type, treatment); none where a case is missing or cannot be."""
    found = {}
    for code, each in enumerate(setup.trial.load_types):
        for side, treatment in enumerate(TREATMENTS):
            case = setup.case(each.name, treatment)
            if case is None:
                continue
            try:
                found[code, side] = Expected(case, predict(case))
            except WooldError:
                continue
    return found


def analyse_table(
    table: LoadTable, setup: TrialSetup, resamples: int = RESAMPLES, seed: int = 1
) -> Analysis:
    """The analysis of a table of loads.

    Raises:
        InputError: too few loads to compare.
    """
    aim, expected = setup.trial.aim, expectations(setup)
    film_means = means_of(table, table.film_mass, "film mass")
    film = comparison(film_means, table, resamples, seed)
    apart = outliers(film_means, table)
    zones, zone_means = compare.compare_zones(table, aim.margin)
    predicted = _predicted(table, expected, film_means)
    predicted_ratio = _ratio(predicted)
    without = _without(table, apart)
    checks = assumption_checks(film_means, table)
    findings = _findings(table, film, zones, expected, predicted_ratio)
    joint = compare.joint_comparison(film_means, zones, zone_means)
    confounded = table.has_blocks and not film.blocks_taken_out
    placeholders = [
        f"The aim rests on {name} of the trial file; choose it before the trial."
        for name in ("saving", "margin")
        if name not in setup.trial.aim.model_fields_set
    ]
    return Analysis(
        trial=setup.trial.key,
        title=setup.trial.title,
        question=setup.trial.question,
        loads_baseline=int(table.of_treatment(0).sum()),
        loads_candidate=int(table.of_treatment(1).sum()),
        verdict=verdict(
            film,
            zones,
            aim.saving,
            len(table.zone_names),
            confounded,
            [*_reservations(film, joint, without, apart, checks, findings), *placeholders],
        ),
        film=film,
        film_without_outliers=without,
        by_type=compare.compare_types(table),
        containment=zones,
        joint=joint,
        cycle_time=_cycle_time(table),
        breaks=compare.break_rates(table),
        stretches=treatment_stretches(table, expected),
        predicted=predicted,
        predicted_ratio=predicted_ratio,
        outliers=apart,
        checks=checks,
        taken_out=(),
        corrected_records=0,
        findings=findings,
        resamples=resamples,
        seed=seed,
        version=woold.__version__,
        records_sha256="",
    )


def _cycle_time(table: LoadTable) -> TrialComparison | None:
    counts = [int(np.isfinite(table.cycle_time[table.of_treatment(side)]).sum()) for side in (0, 1)]
    if min(counts) < 2:
        return None
    try:
        return comparison(means_of(table, table.cycle_time, "cycle time"), table)
    except WooldError:
        return None


def _without(table: LoadTable, apart: tuple[Outlier, ...]) -> TrialComparison | None:
    """Film mass without the outliers; None where there are none or too little is left."""
    if not apart:
        return None
    names = {each.load for each in apart}
    kept = np.array([number not in names for number in table.numbers])
    try:
        return comparison(
            means_of(table, np.where(kept, table.film_mass, np.nan), "film mass"), table
        )
    except WooldError:
        return None


def _predicted(
    table: LoadTable, expected: dict[tuple[int, int], Expected], film: TreatmentMeans
) -> tuple[PredictedFilm, ...]:
    shares = table.mix[list(film.types)] / table.mix[list(film.types)].sum()
    rows = []
    for side, treatment in enumerate(TREATMENTS):
        cases = [expected.get((code, side)) for code in film.types]
        known = [each for each in cases if each is not None]
        complete = len(known) == len(cases)

        def over_mix(name: str, known: list[Expected] = known, complete: bool = complete) -> Any:
            if not complete:
                return None
            values = [getattr(each.prediction, name) for each in known]
            return float(np.dot(shares, values))

        widths = table.film_width[table.of_treatment(side)]
        widths = widths[np.isfinite(widths)]
        rows.append(
            PredictedFilm(
                treatment=treatment,
                film_mass_kg=over_mix("film_mass_kg"),
                film_width_on_load_m=over_mix("film_width_on_load_m"),
                stretch_on_load=over_mix("stretch_on_load"),
                cycle_time_s=over_mix("cycle_time_s"),
                measured_film_mass_kg=film.candidate if side else film.baseline,
                measured_film_width_m=float(widths.mean()) if widths.size else None,
                placeholders=max((len(each.case.placeholders()) for each in known), default=0),
            )
        )
    return tuple(rows)


def _ratio(predicted: tuple[PredictedFilm, ...]) -> float | None:
    baseline, candidate = (each.film_mass_kg for each in predicted)
    return candidate / baseline if baseline and candidate else None


def _findings(
    table: LoadTable,
    film: TrialComparison,
    zones: tuple[ZoneComparison, ...],
    expected: dict[tuple[int, int], Expected],
    predicted_ratio: float | None,
) -> tuple[Finding, ...]:
    found = []
    if table.has_blocks and not film.blocks_taken_out:
        found.append(
            Finding(
                "treatments_confounded_with_blocks",
                "block",
                say(
                    "No block holds both treatments, so a difference between blocks passes for one"
                    " between treatments. Wrap both treatments in every block."
                ),
            )
        )
    measured_less = film.fieller.high is not None and film.fieller.high < 1
    measured_more = film.fieller.low is not None and film.fieller.low > 1
    if predicted_ratio is not None and (
        (measured_more and predicted_ratio < 0.99) or (measured_less and predicted_ratio > 1.01)
    ):
        found.append(
            Finding(
                "treatments_may_be_swapped",
                "treatment",
                say(
                    "The cases predict a film ratio of {predicted_ratio:.3f} and {ratio:.3f}"
                    " was measured, on the other side of 1. Were the treatments swapped, or the"
                    " case files?",
                    predicted_ratio=predicted_ratio,
                    ratio=film.ratio,
                ),
            )
        )
    swapped = swapped_blocks(table)
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
    ages = [table.pull_age[table.of_treatment(side)] for side in (0, 1)]
    means = [float(np.nanmean(each)) if np.isfinite(each).any() else math.nan for each in ages]
    if all(math.isfinite(each) for each in means) and max(means) > 1.5 * min(means) + 60:
        found.append(
            Finding(
                "pull_ages_differ",
                "age",
                say(
                    "Pull readings were taken {means} after wrapping in the baseline and"
                    " {means_2} in the candidate; film loses force with time.",
                    means=show(means[0], "hours"),
                    means_2=show(means[1], "hours"),
                ),
            )
        )
    missing = int((~np.isfinite(table.film_mass)).sum())
    if missing:
        found.append(
            Finding(
                "film_mass_missing",
                "film_mass",
                say("{missing} loads were not weighed.", missing=missing),
            )
        )
    left_out = [
        name
        for code, name in enumerate(table.type_names)
        if len(set(table.treatment[(table.load_type == code) & np.isfinite(table.film_mass)])) < 2
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
    compared = {each.zone for each in zones}
    for index, zone in enumerate(table.zone_names):
        readings = int(np.isfinite(table.zones[:, index]).sum())
        if readings and zone not in compared:
            found.append(
                Finding(
                    "zone_not_compared",
                    "zones",
                    say(
                        "The {zone} zone was read on {readings} loads, too few to compare the"
                        " treatments.",
                        zone=zone,
                        readings=readings,
                    ),
                )
            )
    if not expected:
        found.append(
            Finding(
                "no_case",
                "load_types",
                say("No case files are named, so nothing is predicted beside the measurements."),
            )
        )
    return tuple(found)


def _reservations(
    film: TrialComparison,
    joint: FilmAndHold | None,
    without: TrialComparison | None,
    apart: tuple[Outlier, ...],
    checks: tuple[Check, ...],
    findings: tuple[Finding, ...],
) -> list[str]:
    said = ["It is about these loads, this film and this place; another place can differ."]
    if joint is not None and film.fieller.high is not None and film.fieller.high < 1:
        equal = joint.equal_containment_interval
        if equal.holds(1.0) or joint.film_at_equal_containment > 1:
            said.append(
                f"Wrapped to the same pull reading in the {joint.zone} zone it would show no saving"
                f" (film ratio {joint.film_at_equal_containment:.3f}, {_text(equal.low)} to"
                f" {_text(equal.high)}): part of the saving was taken from the hold."
            )
    if without is not None:
        names = ", ".join(each.load for each in apart)
        before, after = film.fieller, without.fieller
        if (before.holds(1.0)) != (after.holds(1.0)):
            said.append(
                f"It hinges on load {names}, which stands apart: without it the film ratio would be"
                f" {without.ratio:.3f} ({_text(after.low)} to {_text(after.high)})."
            )
        else:
            said.append(
                f"Load {names} stands apart and is counted; without it the film ratio would be"
                f" {without.ratio:.3f} instead of {film.ratio:.3f}."
            )
    if film.bootstrap is not None and film.bootstrap.holds(1.0) != film.fieller.holds(1.0):
        said.append("The bootstrap interval and Fieller's disagree on whether there is a saving.")
    said += [each.finding for each in checks if each.raises_doubt]
    said += [
        each.message
        for each in findings
        if each.code in ("treatments_may_be_swapped", "block_may_be_swapped", "pull_ages_differ")
    ]
    return said


def _text(end: float | None) -> str:
    return "unbounded" if end is None else f"{end:.3f}"
