"""What stands beside the film: its prediction, cycle time, and the result without odd loads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from woold.errors import WooldError
from woold.prediction.predict import predict
from woold.trial.compare import TrialComparison, comparison, means_of
from woold.trial.outlying import Outlier
from woold.trial.setup import TREATMENTS, TrialSetup
from woold.trial.stretches import Expected
from woold.trial.table import LoadTable
from woold.trial.treatment_means import TreatmentMeans
from woold.words import say

__all__ = [
    "PredictedFilm",
    "cycle_times",
    "expectations",
    "film_without",
    "predicted_films",
    "predicted_ratio",
]


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


def expectations(setup: TrialSetup) -> dict[tuple[int, int], Expected]:
    """Case and prediction by (load type, treatment); none where a case is missing or cannot be."""
    found = {}
    for code, each in enumerate(setup.trial.load_types):
        for place, treatment in enumerate(TREATMENTS):
            case = setup.case(each.name, treatment)
            if case is None:
                continue
            try:
                found[code, place] = Expected(case, predict(case))
            except WooldError:
                continue
    return found


def cycle_times(table: LoadTable) -> TrialComparison | None:
    """Cycle time of both treatments; None where it was not read with both."""
    read = np.isfinite(table.cycle_time)
    if min(int((read & table.of_treatment(place)).sum()) for place in (0, 1)) < 2:
        return None
    try:
        return comparison(means_of(table, table.cycle_time, say("cycle time")))
    except WooldError:
        return None


def film_without(table: LoadTable, apart: Sequence[Outlier]) -> TrialComparison | None:
    """Film mass without the outliers; None where there are none or too little is left."""
    if not apart:
        return None
    names = {each.load for each in apart}
    kept = np.array([number not in names for number in table.numbers])
    masses = np.where(kept, table.film_mass, np.nan)
    try:
        return comparison(means_of(table, masses, say("film mass")))
    except WooldError:
        return None


def predicted_films(
    table: LoadTable, expected: Mapping[tuple[int, int], Expected], film: TreatmentMeans
) -> tuple[PredictedFilm, ...]:
    """The prediction of each treatment beside what was measured, over the annual mix."""
    shares = table.mix[list(film.types)] / table.mix[list(film.types)].sum()
    rows = []
    for place, treatment in enumerate(TREATMENTS):
        cases = [expected.get((code, place)) for code in film.types]
        known = [each for each in cases if each is not None]
        over = _Mix(shares.tolist(), known if len(known) == len(cases) else ())
        widths = table.film_width[table.of_treatment(place)]
        widths = widths[np.isfinite(widths)]
        rows.append(
            PredictedFilm(
                treatment=treatment,
                film_mass_kg=over.mean("film_mass_kg"),
                film_width_on_load_m=over.mean("film_width_on_load_m"),
                stretch_on_load=over.mean("stretch_on_load"),
                cycle_time_s=over.mean("cycle_time_s"),
                measured_film_mass_kg=film.candidate if place else film.baseline,
                measured_film_width_m=float(widths.mean()) if widths.size else None,
                placeholders=max((len(each.case.placeholders()) for each in known), default=0),
            )
        )
    return tuple(rows)


@dataclass(frozen=True, slots=True)
class _Mix:
    shares: Sequence[float]
    cases: Sequence[Expected]

    def mean(self, name: str) -> float | None:
        """Mean of a predicted quantity; None where a load type lacks its case."""
        if not self.cases:
            return None
        values = [getattr(each.prediction, name) for each in self.cases]
        return float(np.dot(self.shares, values))


def predicted_ratio(predicted: Sequence[PredictedFilm]) -> float | None:
    """Film ratio that the cases predict."""
    baseline, candidate = (each.film_mass_kg for each in predicted)
    return candidate / baseline if baseline and candidate else None
