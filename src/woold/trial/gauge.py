"""How much of a reading's spread is the gauge: crossed study of a scale, pull gauge or ruler."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from woold.errors import InputError, Problem
from woold.trial.percent import percent
from woold.words import say

__all__ = ["AnovaRow", "Component", "GaugeStudy", "gauge_study", "loads_factor", "one_way_anova"]

Floats = NDArray[np.float64]

POOLING_P = 0.25
"""The interaction is taken into repeatability when its p value lies above this (AIAG's rule)."""

CATEGORY_FACTOR = 1.41
"""Distinct categories = 1.41 part spread / gauge spread, rounded down (AIAG's convention)."""


@dataclass(frozen=True, slots=True)
class AnovaRow:
    """One line of an analysis of variance; F and p are NaN for the last line."""

    source: str
    df: int
    sum_of_squares: float
    mean_square: float
    f: float
    p: float


@dataclass(frozen=True, slots=True)
class Component:
    """One part of the spread.

    Args:
        name: what spreads.
        variance: in the readings' unit squared; a negative estimate is shown as 0.
        sd: its root.
        study_share: sd over the total sd.
        variance_share: variance over the total variance.
    """

    name: str
    variance: float
    sd: float
    study_share: float
    variance_share: float


@dataclass(frozen=True, slots=True)
class GaugeStudy:
    """Result of a measurement-system study.

    Args:
        parts, appraisers, repeats: size of the study.
        anova: table with the interaction, and without it where it was pooled.
        pooled: whether the interaction was taken into repeatability.
        components: repeatability, reproducibility and its parts, gauge, part, total.
        categories: number of distinct categories.
        gauge_sd_interval: 95 % interval of the gauge's standard deviation.
        share_interval: 95 % interval of the gauge's share of the study variation.
    """

    parts: int
    appraisers: int
    repeats: int
    anova: tuple[AnovaRow, ...]
    pooled: bool
    components: tuple[Component, ...]
    categories: int
    gauge_sd_interval: tuple[float, float]
    share_interval: tuple[float, float]

    def component(self, name: str) -> Component:
        """The component of that name."""
        return next(each for each in self.components if each.name == name)

    @property
    def gauge_sd(self) -> float:
        """Standard deviation that the gauge and its use add to one reading."""
        return self.component("gauge").sd

    @property
    def verdict(self) -> str:
        """What the study says about the gauge, in the customary bands of study variation."""
        share = self.component("gauge").study_share
        if share < 0.10:
            band = say("The gauge is good for telling these parts apart.")
        elif share <= 0.30:
            band = say("The gauge may do, where a better one costs too much.")
        else:
            band = say("The gauge cannot tell these parts apart well enough.")
        makes_up = say(
            "It makes up {share} of the study variation (95 % interval {low} to {high}).",
            share=percent(share),
            low=percent(self.share_interval[0], 0),
            high=percent(self.share_interval[1], 0),
        )
        categories = (
            say("It tells 1 category apart.")
            if self.categories == 1
            else say("It tells {count} categories apart.", count=self.categories)
        )
        return f"{band} {makes_up} {categories}"


def one_way_anova(groups: ArrayLike) -> tuple[AnovaRow, AnovaRow]:
    """Analysis of variance between and within groups of equal size.

    Args:
        groups: readings, shape (groups, repeats).

    Returns:
        Rows "between" and "within".
    """
    from scipy import special

    table = np.asarray(groups, dtype=float)
    # Centring first keeps the digits of readings that differ in their last ones only.
    table = table - table[0, 0]
    count, repeats = table.shape
    means = table.mean(axis=1, keepdims=True)
    between = repeats * float(np.sum((means - means.mean()) ** 2))
    within = float(np.sum((table - means) ** 2))
    df_between, df_within = count - 1, count * (repeats - 1)
    mean_between, mean_within = between / df_between, within / df_within
    f = mean_between / mean_within if mean_within > 0 else math.inf
    p = float(special.fdtrc(df_between, df_within, f)) if math.isfinite(f) else 0.0
    return (
        AnovaRow("between", df_between, between, mean_between, f, p),
        AnovaRow("within", df_within, within, mean_within, math.nan, math.nan),
    )


def gauge_study(readings: ArrayLike, seed: int = 1) -> GaugeStudy:
    """Crossed measurement-system study: every appraiser reads every part several times.

    Two-way random-effects analysis of variance; the interaction is pooled into repeatability when
    its p value lies above 0.25. With one appraiser the study is one-way and shows repeatability
    only. Variance components from the expected mean squares; intervals by generalised pivots
    (each mean square over a chi-squared draw).

    Args:
        readings: shape (parts, appraisers, repeats), in one unit.
        seed: of the draws behind the intervals.

    Raises:
        InputError: fewer than two parts or repeats, a missing reading, or no spread at all.

    Source: AIAG, Measurement Systems Analysis, 4th ed. (2010), ANOVA method.
    """
    table = _checked(readings)
    parts, appraisers, repeats = table.shape
    rows, pooled = _anova(table)
    by_name = {row.source: row for row in rows}
    if appraisers == 1:
        last = "repeatability"
    else:
        last = "pooled repeatability" if pooled else "repeatability"
    squares = {"part": by_name["part"], "error": by_name[last]}
    if appraisers > 1:
        squares["appraiser"] = by_name["appraiser"]
        if not pooled:
            squares["interaction"] = by_name["part x appraiser"]
    mean_squares = {name: np.array(row.mean_square) for name, row in squares.items()}
    variances = {
        name: float(value) for name, value in _components(mean_squares, table.shape).items()
    }
    total = variances["total"]
    components = tuple(
        Component(name, value, math.sqrt(value), math.sqrt(value / total), value / total)
        for name, value in variances.items()
    )
    gauge = variances["gauge"]
    ratio = math.sqrt(variances["part"] / gauge) if gauge > 0 else math.inf
    rng = np.random.default_rng(seed)
    drawn = {
        name: row.mean_square * row.df / rng.chisquare(row.df, 20_000)
        for name, row in squares.items()
    }
    spread = _components(drawn, table.shape)
    gauge_low, gauge_high = np.quantile(np.sqrt(spread["gauge"]), [0.025, 0.975])
    share_low, share_high = np.quantile(np.sqrt(spread["gauge"] / spread["total"]), [0.025, 0.975])
    return GaugeStudy(
        parts=parts,
        appraisers=appraisers,
        repeats=repeats,
        anova=rows,
        pooled=pooled,
        components=components,
        categories=int(min(CATEGORY_FACTOR * ratio, 999)),
        gauge_sd_interval=(float(gauge_low), float(gauge_high)),
        share_interval=(float(share_low), float(share_high)),
    )


def _checked(readings: ArrayLike) -> Floats:
    table = np.asarray(readings, dtype=float)
    problems = []
    if table.ndim != 3:
        raise InputError.one(
            "readings",
            say("{ndim} dimensions", ndim=table.ndim),
            say("parts x people x repeats"),
            say("Give the readings by part, person and repeat."),
        )
    parts, _, repeats = table.shape
    if parts < 2:
        problems.append(
            Problem("parts", str(parts), say("at least 2, better 10"), say("Add parts."))
        )
    if repeats < 2:
        problems.append(
            Problem("repeats", str(repeats), say("at least 2"), say("Let each part be read again."))
        )
    if not np.isfinite(table).all():
        missing = np.argwhere(~np.isfinite(table))[:5]
        where = "; ".join(
            say(
                "part {part}, person {person}, repeat {repeat}",
                part=part + 1,
                person=who + 1,
                repeat=time + 1,
            )
            for part, who, time in missing
        )
        problems.append(
            Problem(
                "readings",
                say("missing: {where}", where=where),
                say("every reading"),
                say("Read it, or drop the part."),
            )
        )
    elif not problems and np.ptp(table) == 0:
        problems.append(
            Problem(
                "readings",
                say("all equal"),
                say("readings that differ"),
                say("Use parts that differ."),
            )
        )
    if problems:
        raise InputError.many(problems)
    return table


def _anova(table: Floats) -> tuple[tuple[AnovaRow, ...], bool]:
    from scipy import special

    parts, appraisers, repeats = table.shape
    if appraisers == 1:
        between, within = one_way_anova(table[:, 0, :])
        return (
            AnovaRow("part", *_numbers(between)),
            AnovaRow("repeatability", *_numbers(within)),
        ), False
    centred = table - table.mean()
    cells = centred.mean(axis=2)
    part_means, appraiser_means = cells.mean(axis=1), cells.mean(axis=0)
    ss_part = appraisers * repeats * float(part_means @ part_means)
    ss_appraiser = parts * repeats * float(appraiser_means @ appraiser_means)
    inter = cells - part_means[:, None] - appraiser_means
    ss_inter = repeats * float(np.sum(inter**2))
    ss_error = float(np.sum((centred - cells[:, :, None]) ** 2))
    df_part, df_appraiser = parts - 1, appraisers - 1
    df_inter, df_error = df_part * df_appraiser, parts * appraisers * (repeats - 1)

    def row(source: str, df: int, ss: float, against: float, against_df: int) -> AnovaRow:
        f = ss / df / against if against > 0 else math.inf
        p = float(special.fdtrc(df, against_df, f)) if math.isfinite(f) else 0.0
        return AnovaRow(source, df, ss, ss / df, f, p)

    ms_inter, ms_error = ss_inter / df_inter, ss_error / df_error
    interaction = row("part x appraiser", df_inter, ss_inter, ms_error, df_error)
    pooled = interaction.p > POOLING_P
    if pooled:
        against_df = df_inter + df_error
        against = (ss_inter + ss_error) / against_df
    else:
        against, against_df = ms_inter, df_inter
    rows = [
        row("part", df_part, ss_part, against, against_df),
        row("appraiser", df_appraiser, ss_appraiser, against, against_df),
        interaction,
        AnovaRow("repeatability", df_error, ss_error, ms_error, math.nan, math.nan),
    ]
    if pooled:
        rows.append(
            AnovaRow(
                "pooled repeatability", against_df, ss_inter + ss_error, against, math.nan, math.nan
            )
        )
    return tuple(rows), pooled


def _numbers(row: AnovaRow) -> tuple[int, float, float, float, float]:
    return row.df, row.sum_of_squares, row.mean_square, row.f, row.p


def _components(squares: dict[str, Floats], shape: tuple[int, ...]) -> dict[str, Floats]:
    parts, appraisers, repeats = shape
    error = squares["error"]
    below = squares.get("interaction", error)
    part = np.clip((squares["part"] - below) / (appraisers * repeats), 0, None)
    result = {"repeatability": error}
    gauge = error
    if appraisers > 1:
        appraiser = np.clip((squares["appraiser"] - below) / (parts * repeats), 0, None)
        result["appraiser"] = appraiser
        reproducibility = appraiser
        if "interaction" in squares:
            result["part x appraiser"] = np.clip((below - error) / repeats, 0, None)
            reproducibility = appraiser + result["part x appraiser"]
        result["reproducibility"] = reproducibility
        gauge = error + reproducibility
    result["gauge"] = gauge
    result["part"] = part
    result["total"] = gauge + part
    return result


def loads_factor(gauge_sd: float, load_sd: float) -> float:
    """How many times more loads a trial needs because of the gauge.

    n / n_perfect = 1 + gauge_sd^2/load_sd^2

    Args:
        gauge_sd: standard deviation that the gauge adds to the value of one load.
        load_sd: true standard deviation from load to load, in the same unit, > 0.
    """
    return 1.0 + (gauge_sd / load_sd) ** 2
