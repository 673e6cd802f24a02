"""Documents of the trial commands: what they did, and results with what belongs to them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from woold.rows.document import JsonDocument, OneError
from woold.trial.calibrate import Calibration
from woold.trial.gauge import Component, GaugeStudy
from woold.trial.plan import TrialPlan

__all__ = [
    "CalibrationDocument",
    "CorrectionDocument",
    "EntriesDocument",
    "ExportDocument",
    "GaugeDocument",
    "GaugeLine",
    "PhotosDocument",
    "PlanDocument",
    "SheetDocument",
    "TrialsDocument",
    "TrialsLine",
    "gauge_line",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanDocument(TrialPlan, JsonDocument):
    """A plan, the trial that it is for, and where the spread of film mass is from."""

    told_as = "trial-plan"

    trial: str
    film_spread_from: str


@dataclass(frozen=True, slots=True)
class SheetDocument(JsonDocument):
    """Sheets that were written."""

    told_as = "trial-sheet"

    trial: str
    loads: int
    files: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class EntriesDocument(JsonDocument):
    """Entries that were taken from a phone's file, and what was refused."""

    told_as = "entries-taken"

    taken: int
    known: int
    refused: tuple[OneError, ...]


@dataclass(frozen=True, slots=True)
class CorrectionDocument(JsonDocument):
    """A record that was corrected, or taken out where `void`."""

    told_as = "correction"

    trial: str
    kind: str
    key: str
    field: str | None
    void: bool


@dataclass(frozen=True, slots=True)
class PhotosDocument(JsonDocument):
    """Pictures that were kept, by their content's SHA-256."""

    told_as = "photos"

    trial: str
    load: str
    photos: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ExportDocument(JsonDocument):
    """A file with everything of a trial, and how many rows of each kind it holds."""

    told_as = "export"

    trial: str
    file: str
    rows: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class TrialsLine:
    """A trial of the store."""

    trial: str
    title: str
    loads: int


@dataclass(frozen=True, slots=True)
class TrialsDocument(JsonDocument):
    """The trials of the store."""

    told_as = "trials"

    trials: tuple[TrialsLine, ...]


@dataclass(frozen=True, slots=True)
class AnovaLine:
    """One line of an analysis of variance; F and p are null for the last line."""

    source: str
    df: int
    sum_of_squares: float
    mean_square: float
    f: float | None
    p: float | None


@dataclass(frozen=True, slots=True)
class GaugeLine:
    """The study of one gauge."""

    gauge: str
    parts: int
    appraisers: int
    repeats: int
    anova: tuple[AnovaLine, ...]
    pooled: bool
    components: tuple[Component, ...]
    categories: int
    gauge_sd_interval: tuple[float, float]
    share_interval: tuple[float, float]
    verdict: str
    effect_on_trial: str
    read_as: str


@dataclass(frozen=True, slots=True)
class GaugeDocument(JsonDocument):
    """Every gauge that was studied."""

    told_as = "gauge"

    gauges: tuple[GaugeLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationDocument(Calibration):
    """A calibration, and the case file that was written with it."""

    file: str | None


def gauge_line(name: str, study: GaugeStudy, effect: str, read_as: str = "") -> GaugeLine:
    """The study of one gauge.

    Args:
        name: of the gauge.
        study: of its readings.
        effect: what it does to the trial.
        read_as: how its file was read; "" where it says nothing.
    """
    return GaugeLine(
        gauge=name,
        parts=study.parts,
        appraisers=study.appraisers,
        repeats=study.repeats,
        anova=tuple(
            AnovaLine(
                source=row.source,
                df=row.df,
                sum_of_squares=row.sum_of_squares,
                mean_square=row.mean_square,
                f=None if row.f != row.f else row.f,
                p=None if row.p != row.p else row.p,
            )
            for row in study.anova
        ),
        pooled=study.pooled,
        components=study.components,
        categories=study.categories,
        gauge_sd_interval=study.gauge_sd_interval,
        share_interval=study.share_interval,
        verdict=study.verdict,
        effect_on_trial=effect,
        read_as=read_as,
    )
