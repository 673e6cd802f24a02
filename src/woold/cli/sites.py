"""`woold sites`: many trials into one honest claim."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from woold.case.asked import asked_quantity, confirmed_names
from woold.cli.blocks import print_blocks
from woold.cli.files import NO_PICTURE, PictureFile
from woold.cli.option_groups import grouped_options
from woold.cli.output import AsTyped, JsonFlag, Units, console, new_app, print_json, table_units
from woold.cli.progress import working
from woold.cli.trial_output import StoreUrl, trial_store
from woold.errors import InputError
from woold.prediction.result import Finding
from woold.rows.wording import Wording
from woold.sites.analysis import SitesQuestions, analyse_sites
from woold.sites.between_sites import Estimator
from woold.sites.document import sites_document
from woold.sites.next_site import Convention
from woold.sites.read_sites import read_sites
from woold.sites.rows import sites_blocks
from woold.sites.site_table import SiteTable
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["app"]

app = new_app()


@app.callback()
def sites_command() -> None:
    """Pool the trials of many sites, and test a claim."""


_TABLE_HELP = "Table of sites: CSV or TOML, one row a trial."


@dataclass(frozen=True, slots=True)
class SitesSource:
    """Where the sites come from: a table, or trials of the store."""

    trial: Annotated[
        list[str] | None,
        typer.Option("--trial", metavar="KEY", help="Trial of the store to pool. May be repeated."),
    ] = None
    store_url: StoreUrl = None

    def read(
        self, table_path: str | None, as_typed: Collection[str]
    ) -> tuple[SiteTable, tuple[Finding, ...]]:
        """The table, and findings about how it was read."""
        if table_path is not None and self.trial:
            raise InputError.one(
                "--trial",
                say("a table as well"),
                say("a table, or trials of the store"),
                say("Leave one of the two out."),
            )
        if table_path is not None:
            path = Path(table_path)
            table = read_sites(path, as_typed)
            told = table.read_as
            return table, ((Finding("read_as", path.name, told),) if told else ())
        from woold.sites.from_store import sites_of_store

        with trial_store(self.store_url) as store:
            return sites_of_store(store, self.trial or ())


@dataclass(frozen=True, slots=True)
class PoolOptions:
    """What is asked of the sites, as it was typed."""

    claim: Annotated[
        str, typer.Option("--claim", help='Claim to test: "5 % on average, up to 15 %".')
    ] = ""
    at_least: Annotated[
        list[str] | None,
        typer.Option("--at-least", help='Share of sites that save this: "3 %". May be repeated.'),
    ] = None
    explain: Annotated[
        str, typer.Option("--explain", help="Covariates to fit together, by commas.")
    ] = ""
    estimator: Annotated[
        Estimator, typer.Option("--estimator", help="Of the spread between sites.")
    ] = "REML"
    convention: Annotated[
        Convention, typer.Option("--next-site", help="How the prediction interval is made.")
    ] = "spread-uncertain"
    confidence: Annotated[
        float, typer.Option("--confidence", min=0.5, max=0.999, help="Of all intervals.")
    ] = 0.95

    as_typed: AsTyped = None

    def questions(self, right: Collection[str]) -> SitesQuestions:
        """The same, read; some of it was asked about and is right."""
        explain = tuple(name.strip() for name in self.explain.split(",") if name.strip())
        if self.explain and not explain:
            raise InputError.one(
                "--explain",
                repr(self.explain),
                say("names of columns, by commas"),
                say("Name a column of the table."),
            )
        return SitesQuestions(
            claim=self.claim,
            at_least=tuple(
                asked_quantity("at_least", text, "--at-least", right)
                for text in self.at_least or ()
            ),
            explain=explain,
            estimator=self.estimator,
            convention=self.convention,
            confidence=self.confidence,
        )


@app.command()
@grouped_options
def pool(
    source: SitesSource,
    asked: PoolOptions,
    table_path: Annotated[
        str | None,
        typer.Argument(metavar="[SITES.csv]", help=_TABLE_HELP + " The store's trials if none."),
    ] = None,
    units: Units = "both",
    as_json: JsonFlag = False,
    picture: PictureFile = NO_PICTURE,
) -> None:
    """Average saving, spread between sites, the next site, and what may be claimed."""
    right, cells = confirmed_names(asked.as_typed or (), ("at_least",))
    questions = asked.questions(right)
    with working():
        table, as_read = source.read(table_path, cells)
        analysis = analyse_sites(table, questions, as_read)

    def figure() -> Figure:
        from woold.pictures.forest import forest_figure

        return forest_figure(table, analysis.pooled)

    picture.save(figure)
    if as_json:
        print_json(sites_document(analysis))
    else:
        out = console()
        print_blocks(out, sites_blocks(analysis, Wording(table_units(out, units))))
    if not analysis.claim_holds:
        raise typer.Exit(1)
