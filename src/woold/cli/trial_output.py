"""What the trial commands share: options, the store, and how results are shown."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console

from woold.cli.output import print_rows, print_table
from woold.errors import InputError
from woold.units import show
from woold.words import say

if TYPE_CHECKING:
    from woold.store import Store
    from woold.trial.analysis import Analysis
    from woold.trial.calibrate import Calibration
    from woold.trial.compare import TrialComparison, TrialInterval
    from woold.trial.gauge import GaugeStudy
    from woold.trial.plan import TrialPlan
    from woold.trial.setup import Trial

__all__ = [
    "By",
    "StoreUrl",
    "TrialKey",
    "print_analysis",
    "print_calibration",
    "print_gauge",
    "print_plan",
    "trial_store",
    "write_new",
]

StoreUrl = Annotated[
    str | None,
    typer.Option(
        "--store",
        metavar="URL",
        envvar="WOOLD_STORE",
        help="Database URL or SQLite file; the store in your data folder if not given.",
    ),
]
TrialKey = Annotated[str, typer.Argument(metavar="TRIAL", help="Key of a trial that is kept.")]
By = Annotated[
    str | None, typer.Option("--by", metavar="NAME", help="Who writes; your login if not given.")
]


@contextmanager
def trial_store(url: str | None) -> Iterator[Store]:
    """The store, closed afterwards."""
    from woold.store import Store

    store = Store(url)
    try:
        yield store
    finally:
        store.close()


def write_new(path: str, content: bytes) -> None:
    """Write a file that does not exist yet.

    Raises:
        InputError: it exists, or cannot be written.
    """
    try:
        with Path(path).open("xb") as stream:
            stream.write(content)
    except FileExistsError:
        raise InputError.one(
            path, say("a file that exists"), say("a new file name"), say("Nothing was changed.")
        ) from None
    except OSError as error:
        raise InputError.one(
            path, error.strerror or "cannot be written", say("a file that can be written")
        ) from None


def print_plan(out: Console, trial: Trial, plan: TrialPlan, spread_from: str) -> None:
    """A plan: what it needs, what other sizes see, how the order begins."""
    aim = plan.aim
    by_type = ", ".join(f"{count} {name}" for name, count in plan.loads_by_type.items())
    print_rows(
        out,
        trial.title or trial.key,
        (
            ("saving to see", f"{aim.saving:.1%} of the film"),
            ("margin of containment", f"{aim.margin:.1%}, in each of {plan.zones} zones"),
            (
                "spread from load to load",
                f"film {aim.film_spread:.1%} (from {spread_from}), pull readings"
                f" {aim.containment_spread:.1%}",
            ),
            ("loads of each treatment", f"{plan.loads_per_treatment} ({by_type})"),
            (
                "chance of showing both",
                f"{plan.sight.both_power:.0%} at least, if the saving is there and hold is equal",
            ),
            (
                "blocks",
                f"{len({load.block for load in plan.order})} of {trial.order.loads_per_block} loads"
                " of each treatment",
            ),
        ),
    )
    print_table(
        out,
        "What other numbers of loads of each treatment see",
        (
            "loads",
            "half of the\ninterval",
            f"chance to see\n{aim.saving:.1%} saving",
            "chance to show\nhold, one zone",
            f"saving seen\nin {aim.power:.0%}",
            f"margin kept\nin {aim.power:.0%}",
        ),
        [
            (
                f"{each.loads}{' *' if each.loads == plan.loads_per_treatment else ''}",
                f"±{each.half_width:.1%}",
                f"{each.film_power:.0%}",
                f"{each.containment_power:.0%}",
                f"{each.smallest_saving:.1%}",
                f"{each.smallest_margin:.1%}",
            )
            for each in plan.table
        ],
    )
    print_table(
        out,
        "The order begins",
        ("load", "block", "shift", "treatment", "load type", "roll"),
        [
            (str(each.number), each.block, each.shift, each.treatment, each.load_type, each.roll)
            for each in plan.order[:8]
        ],
    )


def print_gauge(out: Console, name: str, study: GaugeStudy, effect: str) -> None:
    """A gauge study."""
    print_table(
        out,
        f"{name}: analysis of variance ({study.parts} parts, {study.appraisers} people,"
        f" {study.repeats} repeats)",
        ("source", "freedom", "sum of squares", "mean square", "F", "p"),
        [
            (
                row.source,
                str(row.df),
                f"{row.sum_of_squares:.5g}",
                f"{row.mean_square:.5g}",
                "" if row.f != row.f else f"{row.f:.2f}",
                "" if row.p != row.p else f"{row.p:.4f}",
            )
            for row in study.anova
        ],
    )
    if study.appraisers > 1:
        rule = "p above 0.25, so it was taken into repeatability"
        kept = "p at or below 0.25, so it was kept"
        out.print(f"Interaction of part and person: {rule if study.pooled else kept}.\n")
    print_table(
        out,
        "Where the spread comes from",
        (
            "part of the spread",
            "standard deviation",
            "share of variance",
            "share of study variation",
        ),
        [
            (each.name, f"{each.sd:.4g}", f"{each.variance_share:.1%}", f"{each.study_share:.1%}")
            for each in study.components
        ],
    )
    out.print(study.verdict, markup=False)
    if effect:
        out.print(effect, markup=False)
    out.print()


def print_analysis(out: Console, a: Analysis) -> None:
    """An analysis, verdict first."""
    out.print(a.title or a.trial, style="bold", markup=False)
    if a.question:
        out.print(a.question, markup=False)
    out.print()
    out.print(a.verdict.sentence, style="bold", markup=False)
    for each in a.verdict.reservations:
        out.print(f"  {each}", markup=False)
    out.print()
    _print_film(out, a)
    if a.containment:
        print_table(
            out,
            f"Pull readings, candidate over baseline (margin {a.containment[0].margin:.0%})",
            ("zone", "baseline", "candidate", "ratio", "95 % interval", "not lower"),
            [
                (
                    each.zone,
                    show(each.baseline_n, "force", "si"),
                    show(each.candidate_n, "force", "si"),
                    f"{each.ratio:.3f}",
                    span(each.interval),
                    f"{'shown' if each.is_not_lower else 'not shown'} (p {each.p_not_lower:.4f})",
                )
                for each in a.containment
            ],
        )
        out.print(
            "A pull reading mixes tension and stiffness: it checks quality and does not predict"
            " survival in transit.\n",
            markup=False,
        )
    if a.joint is not None:
        print_rows(
            out,
            f"Two ways to spend a saving ({a.joint.zone} zone, where the candidate does worst;"
            " containment taken as proportional to film)",
            (
                (
                    "film at equal containment",
                    f"{a.joint.film_at_equal_containment:.3f} of the baseline"
                    f" ({span(a.joint.equal_containment_interval)})",
                ),
                (
                    "containment at equal film",
                    f"{a.joint.containment_at_equal_film:.3f} of the baseline"
                    f" ({span(a.joint.equal_film_interval)})",
                ),
                (
                    "both together, 95 %",
                    f"film {span(a.joint.film_interval)}, containment"
                    f" {span(a.joint.containment_interval)}",
                ),
            ),
        )
    _print_beside(out, a)
    if a.outliers:
        print_table(
            out,
            "Loads that stand apart (they are counted)",
            ("load", "treatment", "film mass", "expected", "robust z", "note"),
            [
                (
                    each.load,
                    each.treatment,
                    show(each.film_mass_kg, "small_mass", "si"),
                    show(each.expected_kg, "small_mass", "si"),
                    f"{each.modified_z:+.1f}",
                    each.note,
                )
                for each in a.outliers
            ],
        )
    print_rows(
        out,
        "Assumptions, looked at",
        (
            (
                each.name,
                ("! " if each.raises_doubt else "")
                + each.finding
                + ("" if each.p is None else f" (p {each.p:.3f})"),
            )
            for each in a.checks
        ),
    )
    if a.taken_out:
        print_rows(
            out,
            "Taken out, with reasons",
            ((f"{each.kind} {each.key}", f"{each.reason} ({each.by})") for each in a.taken_out),
        )


def _print_film(out: Console, a: Analysis) -> None:
    film = a.film
    rows = [
        ("baseline", f"{show(film.baseline, 'small_mass')} per load, {film.baseline_loads} loads"),
        (
            "candidate",
            f"{show(film.candidate, 'small_mass')} per load, {film.candidate_loads} loads",
        ),
        ("film ratio", f"{film.ratio:.4f}, a saving of {1 - film.ratio:.1%}"),
        ("95 % interval, Fieller", span(film.fieller)),
        ("95 % interval, log ratio", span(film.log_ratio)),
    ]
    if film.bootstrap is not None:
        rows.append((f"95 % interval, {film.bootstrap.method}", span(film.bootstrap)))
    if a.film_without_outliers is not None:
        without = a.film_without_outliers
        rows.append(
            ("without loads that stand apart", f"{without.ratio:.4f} ({span(without.fieller)})")
        )
    if a.predicted_ratio is not None:
        rows.append(("film ratio predicted", f"{a.predicted_ratio:.4f}"))
    print_rows(out, "Film, weighted by the annual mix", rows)
    if len(a.by_type) > 1:
        print_table(
            out,
            "Film by load type",
            ("load type", "share of year", "loads", "baseline", "candidate", "ratio", "interval"),
            [
                (
                    each.load_type,
                    f"{each.mix_share:.0%}",
                    f"{each.baseline_loads} + {each.candidate_loads}",
                    show(each.baseline_kg, "small_mass", "si"),
                    show(each.candidate_kg, "small_mass", "si"),
                    f"{each.ratio:.3f}",
                    "one load" if each.interval is None else span(each.interval),
                )
                for each in a.by_type
            ],
        )


def _print_beside(out: Console, a: Analysis) -> None:
    rows: list[tuple[str, str]] = []
    if a.cycle_time is not None:
        rows.append(("cycle time", _two_means(a.cycle_time, "time")))
    if a.breaks is not None:
        rows.append(
            (
                "film breaks in 100 loads",
                f"{a.breaks.baseline_per_100:.1f} ({span(a.breaks.baseline_interval, 1)}) and"
                f" {a.breaks.candidate_per_100:.1f} ({span(a.breaks.candidate_interval, 1)}),"
                f" p {a.breaks.p_differ:.2f}",
            )
        )
    for each in a.predicted:
        parts = []
        if each.film_mass_kg is not None and each.measured_film_mass_kg is not None:
            parts.append(
                f"film {show(each.measured_film_mass_kg, 'small_mass', 'si')} measured,"
                f" {show(each.film_mass_kg, 'small_mass', 'si')} predicted"
            )
        if each.film_width_on_load_m is not None and each.measured_film_width_m is not None:
            parts.append(
                f"width {show(each.measured_film_width_m, 'small_length', 'si')} measured,"
                f" {show(each.film_width_on_load_m, 'small_length', 'si')} predicted"
            )
        if parts:
            words = f"{'; '.join(parts)} ({each.placeholders} placeholders)"
            rows.append((f"{each.treatment}, beside its prediction", words))
    for stretch in a.stretches:
        parts = []
        if stretch.by_marks is not None:
            parts.append(f"{show(stretch.by_marks, 'elongation')} by marks")
        if stretch.by_mass is not None:
            parts.append(f"{show(stretch.by_mass, 'elongation')} by mass balance")
        if stretch.predicted is not None:
            parts.append(f"{show(stretch.predicted, 'elongation')} predicted")
        if parts:
            rows.append((f"{stretch.treatment}, stretch on the load", "; ".join(parts)))
            rows.append(("", stretch.finding))
    print_rows(out, "Beside the film", rows)


def _two_means(found: TrialComparison, kind: str) -> str:
    return (
        f"{show(found.baseline, kind)} and {show(found.candidate, kind)}, ratio {found.ratio:.3f}"
        f" ({span(found.fieller)})"
    )


def span(interval: TrialInterval, decimals: int = 3) -> str:
    """Text of an interval."""
    if interval.low is None or interval.high is None:
        return "unbounded"
    return f"{interval.low:.{decimals}f} to {interval.high:.{decimals}f}"


def print_calibration(out: Console, found: Calibration) -> None:
    """A calibration: parameters, then readings before and after."""
    print_table(
        out,
        f"Fitted to {found.trial}, {found.treatment}",
        ("parameter", "before", "after", "standard error", "95 % interval", "told"),
        [
            (
                each.field,
                show(each.before, each.kind, "si"),
                show(each.after, each.kind, "si"),
                "" if each.standard_error is None else f"{each.standard_error / each.after:.1%}",
                ""
                if each.low is None or each.high is None
                else f"{show(each.low, each.kind, 'si')} to {show(each.high, each.kind, 'si')}",
                "yes" if each.is_identified else "no",
            )
            for each in found.parameters
        ],
    )
    print_rows(out, "What tells them", ((each.field, each.finding) for each in found.parameters))
    print_table(
        out,
        "Readings",
        ("average of", "load type", "loads", "measured", "before", "after", "error"),
        [
            (
                each.what,
                each.load_type,
                str(each.readings),
                *(_value(value, each.unit) for value in (each.measured, each.before, each.after)),
                f"{each.relative_error:.1%}",
            )
            for each in found.readings
        ],
    )
    _print_fit(out, found)


def _print_fit(out: Console, found: Calibration) -> None:
    lines: list[str] = []
    if found.pull_scale is not None:
        lines.append(
            f"Pull readings lie at {found.pull_scale:.2f} times their prediction; that factor was"
            " left free, since friction at the corners and the plate's edges are not in the model."
        )
    lines.append(
        f"Misfit {found.misfit:.2f} standard errors with {found.degrees_of_freedom} degrees of"
        " freedom; about 1 where all is well."
    )
    _print_lines(out, [*lines, *found.findings])


def _print_lines(out: Console, lines: Iterable[str]) -> None:
    for line in lines:
        out.print(line, markup=False)
    out.print()


def _value(value: float, unit: str) -> str:
    kinds = {"kg": "small_mass", "m": "small_length", "N": "force"}
    return show(value, kinds[unit], "si") if unit in kinds else f"{value:.3f}"
