"""`woold sites`: many trials into one honest claim, and the line that still has to be tried."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

import typer
from rich.text import Text

from woold.cli.output import (
    JsonFlag,
    PlotPath,
    console,
    new_app,
    print_findings,
    print_json,
    print_rows,
    print_table,
)
from woold.cli.trial_output import StoreUrl, trial_store
from woold.errors import InputError
from woold.prediction.result import Finding
from woold.sites.analysis import SitesAnalysis, analyse_sites
from woold.sites.claim import CAUTION, claim_sentence, percent
from woold.sites.line import LineView, line_view, read_combinations
from woold.sites.pooling import Convention, Estimator, saving_of
from woold.sites.table import COVARIATE_KINDS, read_sites
from woold.units import parse_quantity, show_range
from woold.words import say

__all__ = ["app"]

app = new_app("Pool the trials of many sites, test a claim, see what has not been tried.")

_LONGEST_NAME = 28

_TABLE_HELP = "Table of sites: CSV or TOML, one row a trial."


@app.command()
def pool(
    table_path: Annotated[
        str | None,
        typer.Argument(metavar="[SITES.csv]", help=_TABLE_HELP + " The store's trials if none."),
    ] = None,
    trial: Annotated[
        list[str] | None,
        typer.Option("--trial", metavar="KEY", help="Trial of the store to pool. May be repeated."),
    ] = None,
    store_url: StoreUrl = None,
    claim: Annotated[
        str, typer.Option("--claim", help='Claim to test: "5 % on average, up to 15 %".')
    ] = "",
    at_least: Annotated[
        list[str] | None,
        typer.Option("--at-least", help='Share of sites that save this: "3 %". May be repeated.'),
    ] = None,
    explain: Annotated[
        str, typer.Option("--explain", help="Covariates to fit together, by commas.")
    ] = "",
    estimator: Annotated[
        Estimator, typer.Option("--estimator", help="Of the spread between sites.")
    ] = "REML",
    convention: Annotated[
        Convention, typer.Option("--next-site", help="How the prediction interval is made.")
    ] = "spread-uncertain",
    confidence: Annotated[
        float, typer.Option("--confidence", min=0.5, max=0.999, help="Of all intervals.")
    ] = 0.95,
    as_json: JsonFlag = False,
    plot: PlotPath = None,
) -> None:
    """Average saving, spread between sites, the next site, and what may be claimed."""
    if table_path is not None and trial:
        raise InputError.one(
            "--trial", say("a table as well"), say("a table, or trials of the store")
        )
    as_read: tuple[Finding, ...] = ()
    if table_path is not None:
        table = read_sites(Path(table_path))
    else:
        from woold.sites.from_store import sites_of_store

        with trial_store(store_url) as store:
            table, as_read = sites_of_store(store, trial or ())
    analysis = analyse_sites(
        table,
        estimator=estimator,
        convention=convention,
        confidence=confidence,
        at_least=tuple(_share(text) for text in at_least or ()),
        explain=tuple(name.strip() for name in explain.split(",") if name.strip()),
        claim=claim,
        as_read=as_read,
    )
    if plot:
        from woold.pictures.canvas import save_figure
        from woold.pictures.forest import forest_figure

        save_figure(forest_figure(table, analysis.pooled), plot)
    if as_json:
        print_json("sites", analysis.to_json())
    else:
        _print_analysis(analysis)
    if not analysis.claim_holds:
        raise typer.Exit(1)


def _share(text: str) -> float:
    share = parse_quantity(text, "fraction", "--at-least")
    if not -1.0 < share < 1.0:
        raise InputError.one("--at-least", text, say("above -100 % and below 100 %"))
    return share


def _print_analysis(analysis: SitesAnalysis) -> None:
    out = console()
    pooled = analysis.pooled
    influence = analysis.influence
    print_table(
        out,
        f"Film saved at {pooled.sites} sites",
        ("site", "saving", "standard\nerror", "weight", "average\nwithout it"),
        [
            (
                _short(site.name),
                percent(site.saving),
                percent(site.standard_error * (1.0 - site.saving)),
                f"{100 * influence[index].weight:.0f} %" if influence else "",
                percent(saving_of(influence[index].mean_without)) if influence else "",
            )
            for index, site in enumerate(analysis.table.sites)
        ],
    )
    print_rows(out, "All sites", _pooled_rows(analysis))
    if analysis.explanations:
        print_table(
            out,
            "What may explain that sites differ",
            ("covariate", "over", "saving", "p-value", "p-value,\nall looks"),
            [
                (
                    _short(slope.covariate),
                    _range_of(slope.covariate, *slope.at),
                    " to ".join(percent(saving_of(each)) for each in slope.effect_at).replace(
                        " %", "", 1
                    ),
                    f"{slope.p_value:.3f}",
                    f"{slope.adjusted_p_value:.3f}",
                )
                for each in analysis.explanations
                for slope in each.slopes
            ],
        )
    for part in analysis.verdicts:
        text = f'Claimed "{part.part.kind} {percent(part.part.saving)}": {part.verdict}. '
        out.print(Text(text + part.reason[0].upper() + part.reason[1:] + "."))
        out.print()
    print_findings(out, analysis.findings)
    out.print(Text("What may be said", style="bold"))
    out.print(Text(claim_sentence(pooled)))
    out.print(Text(CAUTION))


def _short(name: str) -> str:
    return name if len(name) <= _LONGEST_NAME else name[: _LONGEST_NAME - 1] + "…"


def _range_of(covariate: str, low: float, high: float) -> str:
    kind = COVARIATE_KINDS.get(covariate)
    return show_range(low, high, kind, "si") if kind else f"{low:g} to {high:g}"


def _pooled_rows(analysis: SitesAnalysis) -> Iterator[tuple[str, str]]:
    pooled = analysis.pooled
    level = f"{100 * pooled.confidence:g} %"

    def span(low: float, high: float) -> str:
        return f"{percent(saving_of(low))} to {percent(saving_of(high))}"

    yield (
        "average saving",
        f"{percent(saving_of(pooled.mean))}, {level} interval {span(pooled.low, pooled.high)}"
        f" (Hartung-Knapp, {pooled.estimator})",
    )
    yield (
        "spread between sites",
        f"standard deviation {100 * pooled.tau2**0.5:.1f} points, {level} interval "
        f"{100 * pooled.tau2_low**0.5:.1f} to {100 * pooled.tau2_high**0.5:.1f} (Q-profile)",
    )
    yield (
        "are all sites equal?",
        f"Q {pooled.q:.1f}, chance of so much spread if they were {pooled.q_p_value:.3f}",
    )
    yield (
        "next site",
        f"{level} prediction {span(pooled.prediction_low, pooled.prediction_high)}"
        f" ({pooled.convention})",
    )
    for least, (share, low, high) in analysis.shares:
        yield (
            f"sites that save {percent(least)} or more",
            f"{percent(share)}, {level} interval {percent(low)} to {percent(high)}",
        )
    look = analysis.small_trials
    if look is not None and look.enough_sites:
        yield (
            "a very large trial would show",
            f"{percent(saving_of(look.limit))}, {level} interval"
            f" {span(look.limit_low, look.limit_high)}; chance that small trials do not differ"
            f" {look.p_value:.3f}",
        )


@app.command()
def line(
    line_path: Annotated[
        str, typer.Argument(metavar="LINE.toml", help="Carriages, machines, films and volumes.")
    ],
    table_path: Annotated[str, typer.Argument(metavar="SITES.csv", help=_TABLE_HELP)],
    as_json: JsonFlag = False,
) -> None:
    """Which combinations are matched, tried and claimed, and which test is worth most."""
    combinations, needed, currency = read_combinations(Path(line_path))
    view = line_view(combinations, needed, currency, read_sites(Path(table_path)))
    if as_json:
        print_json("untried", view.to_json())
        return
    _print_line(view)


def _print_line(view: LineView) -> None:
    out = console()
    print_table(
        out,
        f"The line, by what one more trial is worth [{view.currency} a year]",
        (
            "carriage, machine, film",
            "match",
            "trials",
            "claim",
            "saving\n[%]",
            "a trial\nis worth",
            "next",
        ),
        [
            (
                f"{row.combination.carriage}, {row.combination.machine}, {row.combination.film}",
                row.combination.match,
                str(row.trials),
                row.claim or "-",
                f"{100 * row.saving:.1f}±{100 * row.saving_error:.1f}",
                f"{row.trial_value:,.0f}",
                row.next_step if row.next_step != "nothing" else "-",
            )
            for row in view.rows
        ],
    )
    out.print(
        Text(
            f"A change pays from a saving of {percent(view.break_even)} on. A trial is worth the "
            "money that the better decision brings in a year, the trial's own cost not taken off; "
            "it is taken to be as exact as the trials so far."
        )
    )
    out.print(Text(CAUTION))
