"""`woold quote`: what another carriage may save, from five facts that a customer knows."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from woold.case.fields import field_names
from woold.case.file import read_case
from woold.cli.blocks import print_blocks
from woold.cli.files import Force, must_be_new, write_file
from woold.cli.option_groups import grouped_options
from woold.cli.output import AsTyped, JsonFlag, Units, console, new_app, print_json, table_units
from woold.cli.printing import ENDINGS, Comma, PaperSize, Time, time_of
from woold.cli.progress import working
from woold.cli.trial_output import StoreUrl, trial_store
from woold.errors import InputError
from woold.quote.facts import QuoteFacts, RightAsTyped, facts_from_texts
from woold.rows.wording import Wording
from woold.words import say

if TYPE_CHECKING:
    from woold.case.model import Case
    from woold.prediction.result import Finding
    from woold.quote.document import QuoteDocument
    from woold.quote.expected import TriedSites

__all__ = ["app"]

app = new_app("What another carriage may save, from five facts that a customer knows.")

_Text = str | None


@dataclass(frozen=True, slots=True)
class FactsTyped:
    """What the customer knows, as it was typed."""

    load: Annotated[
        _Text,
        typer.Option("--load", help='Length, width, height: "1.2 m x 1.0 m x 1.5 m".'),
    ] = None
    loads_per_year: Annotated[
        _Text, typer.Option("--loads-per-year", help="Loads wrapped in a year.")
    ] = None
    film: Annotated[
        _Text, typer.Option("--film", help='Roll width and thickness: "20 in x 63 gauge".')
    ] = None
    film_per_load: Annotated[
        _Text, typer.Option("--film-per-load", help='Film of a load, weighed: "300 g".')
    ] = None
    rolls_per_week: Annotated[
        _Text, typer.Option("--rolls-per-week", help="Rolls used up, in place of that.")
    ] = None
    roll_mass: Annotated[
        _Text, typer.Option("--roll-mass", help='Film on a roll, on its label: "17 kg".')
    ] = None
    carriage: Annotated[
        _Text,
        typer.Option(
            "--carriage",
            help="Today's: rollers (two rollers stretch the film), brake (the roll is braked) or"
            " unknown.",
        ),
    ] = None
    film_price: Annotated[
        _Text, typer.Option("--film-price", help='Price of the film: "2.2 USD/kg".')
    ] = None
    price: Annotated[
        _Text, typer.Option("--price", help='Of the carriage, fitted: "14500 USD".')
    ] = None
    as_typed: AsTyped = None

    @property
    def right(self) -> RightAsTyped:
        """What was asked about and is right."""
        return RightAsTyped.of(self.as_typed or ())

    def read(self) -> QuoteFacts:
        """The same, checked."""
        table = {
            **_sizes("--load", self.load, ("length", "width", "height"), "1.2 m x 1.0 m x 1.5 m"),
            **_sizes("--film", self.film, ("roll_width", "thickness"), "20 in x 63 gauge"),
        }
        table.update({name: typed for name in _PLAIN if (typed := getattr(self, name)) is not None})
        return facts_from_texts(table, self.right.facts, lambda name: f"--{name.replace('_', '-')}")


_PLAIN = (
    *("loads_per_year", "rolls_per_week", "film_per_load", "roll_mass"),
    *("carriage", "film_price", "price"),
)


_BETWEEN = re.compile(r"[xX\u00d7*]|\bby\b")
_UNIT = r"[^\W\d_]+$|['\"\u2032\u2033]+$"


def _sizes(option: str, typed: str | None, names: tuple[str, ...], example: str) -> dict[str, str]:
    parts = [each.strip() for each in _BETWEEN.split(typed or "")]
    unit = re.search(_UNIT, parts[-1])
    if option == "--load" and unit and not any(re.search(_UNIT, each) for each in parts[:-1]):
        # "1.2 x 1.0 x 1.5 m": one unit for all of them.
        parts = [*(f"{each} {unit[0]}" for each in parts[:-1] if each), parts[-1]]
    if len(parts) != len(names) or not all(parts):
        raise InputError.one(
            option,
            say("nothing") if typed is None else repr(typed),
            say('{count} lengths with their units: "{example}"', count=len(names), example=example),
            say("Write it like the example."),
        )
    return dict(zip(names, parts, strict=True))


@dataclass(frozen=True, slots=True)
class QuoteSources:
    """What is offered, and where carriages were tried."""

    offered: Annotated[
        _Text,
        typer.Option(
            "--offered", metavar="CASE.toml", help="Case file of the carriage that is offered."
        ),
    ] = None
    sites: Annotated[
        _Text,
        typer.Option(
            "--sites", metavar="SITES.csv", help="Table of sites tried; the store's trials if none."
        ),
    ] = None
    alone: Annotated[
        bool, typer.Option("--no-sites", help="Physics alone, whatever was tried.")
    ] = False
    store_url: StoreUrl = None

    def offered_case(self, as_typed: Sequence[str]) -> Case | None:
        """The case whose carriage is offered; None where none was named.

        Args:
            as_typed: its fields that were asked about and are right.
        """
        if self.offered is not None:
            return read_case(self.offered, as_typed)
        if as_typed:
            raise InputError.one(
                "--as-typed",
                as_typed[0],
                ", ".join(field_names(QuoteFacts)),
                say("Fields with a point are those of the case named with --offered."),
            )
        return None

    def tried(self, cells: Sequence[str]) -> tuple[TriedSites | None, tuple[Finding, ...]]:
        """Sites that were tried, and findings about how they were read.

        Args:
            cells: of a table of sites that are right as typed.
        """
        if self.alone and self.sites is None:
            return None, ()
        if self.alone:
            raise InputError.one(
                "--no-sites",
                say("a table of sites as well"),
                say("one of the two"),
                say("Leave --sites or --no-sites out."),
            )
        if self.sites is not None:
            from woold.quote.tried import sites_of_table

            return sites_of_table(Path(self.sites), cells)
        with _store_that_is_there(self.store_url) as store:
            if store is None:
                return None, ()
            from woold.quote.tried import tried_sites
            from woold.sites.from_store import comparable_sites

            return tried_sites(*comparable_sites(store))


@contextmanager
def _store_that_is_there(url: str | None) -> Iterator[Any]:
    """The store; None where nobody named one and there is none yet: asking makes none."""
    if url is None:
        try:
            from woold.store import default_url
        except ImportError:
            yield None
            return
        if not Path(default_url().removeprefix("sqlite:///")).exists():
            yield None
            return
    with trial_store(url) as store:
        yield store


@dataclass(frozen=True, slots=True)
class QuotePaper:
    """A page for the customer."""

    out: Annotated[
        list[str] | None,
        typer.Option("--out", metavar="FILE", help="One page: a .pdf or .html file."),
    ] = None
    paper: PaperSize = "a4"
    decimal_comma: Comma = False
    time: Time = None
    force: Force = False

    def must_be_possible(self) -> None:
        """No file that is there already or is no page."""
        for name in self.out or ():
            if Path(name).suffix.lower() not in ENDINGS:
                raise InputError.one(
                    "--out", name, say("a file name ending in .html or .pdf"), say("Rename it.")
                )
        must_be_new([Path(each) for each in self.out or ()], self.force)
        time_of(self.time)

    def write(self, document: QuoteDocument, units: Units) -> None:
        """Write the pages asked for."""
        if not self.out:
            return
        from woold.cli.report import rendered
        from woold.report.making import Making
        from woold.report.quote_sheet import quote_sheet

        making = Making(Wording(units, self.decimal_comma), time_of(self.time), self.paper)
        sheet = quote_sheet(document, making)
        for name in self.out:
            write_file(Path(name), rendered(sheet, name), self.force)


@app.callback(invoke_without_command=True)
@grouped_options
def quote_command(
    typed: FactsTyped,
    sources: QuoteSources,
    page: QuotePaper,
    units: Units = "both",
    seed: Annotated[int, typer.Option("--seed", min=0, help="Of the draws.")] = 1,
    as_json: JsonFlag = False,
) -> None:
    """What another carriage may save: likely, cautious and good, in film, money and payback."""
    facts, right = typed.read(), typed.right
    page.must_be_possible()
    offered = sources.offered_case(right.case)
    from woold.quote.document import quote_document
    from woold.quote.quote import quote_of
    from woold.quote.rows import quote_blocks

    with working():
        tried, as_read = sources.tried(right.cells)
        document = quote_document(
            quote_of(facts, offered, tried, seed, as_read, right.facts), facts
        )
        page.write(document, units)
    if as_json:
        print_json(document)
        return
    out = console()
    print_blocks(out, quote_blocks(document, Wording(table_units(out, units), page.decimal_comma)))
    for name in page.out or ():
        out.print(say("Wrote {file}.", file=name), markup=False, soft_wrap=True)
