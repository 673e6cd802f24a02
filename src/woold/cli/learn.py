"""`woold learn`: what all trials together teach, and what that says of the next load."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from woold.case.asked import asked_quantity, cells_of_sheets, confirmed_names
from woold.case.file import read_case
from woold.cli.blocks import print_blocks
from woold.cli.option_groups import grouped_options
from woold.cli.output import AsTyped, JsonFlag, Units, console, new_app, print_json, table_units
from woold.cli.progress import working
from woold.cli.trial_output import StoreUrl, trial_store
from woold.errors import InputError
from woold.rows.wording import Wording
from woold.words import say

if TYPE_CHECKING:
    from woold.store import Store

__all__ = ["app"]

app = new_app("What the trials of a store teach of inputs that nobody measured.")


@dataclass(frozen=True, slots=True)
class AskedOfLearning:
    """The load that is asked about, as it was typed."""

    case: Annotated[
        str | None,
        typer.Option(
            "--case", metavar="CASE.toml", help="A load not wrapped yet: what will it take?"
        ),
    ] = None
    against: Annotated[
        str | None,
        typer.Option(
            "--against", metavar="CASE.toml", help="The same load as it is wrapped today."
        ),
    ] = None
    at_least: Annotated[
        str | None, typer.Option("--at-least", help='Saving that is asked for, such as "3 %".')
    ] = None
    held_back: Annotated[
        str | None,
        typer.Option(
            "--held-back",
            metavar="KEY",
            help="Learn from all other trials, and say whether this one was inside.",
        ),
    ] = None
    kept: Annotated[
        str | None,
        typer.Option(
            "--kept",
            metavar="FILE",
            help="Keep what was learnt there: one more load is then answered in seconds.",
        ),
    ] = None
    as_typed: AsTyped = None


@dataclass(frozen=True, slots=True)
class LearnedFrom:
    """What is learnt from: trials of a store, or in files."""

    trial: Annotated[
        list[str] | None,
        typer.Option("--trial", metavar="KEY", help="Trial to learn from. May be repeated."),
    ] = None
    table: Annotated[
        list[str] | None,
        typer.Option(
            "--table",
            metavar="FILE",
            help="Instead of a store: a trial file, then its filled workbook or CSV file."
            " May be repeated.",
        ),
    ] = None
    store_url: StoreUrl = None


_FROM_STORE = LearnedFrom()


@app.callback(invoke_without_command=True)
@grouped_options
def learn_command(
    asked: AskedOfLearning,
    given: LearnedFrom = _FROM_STORE,
    units: Units = "both",
    seed: Annotated[int, typer.Option("--seed", min=0, help="Of the draws.")] = 1,
    as_json: JsonFlag = False,
) -> None:
    """What trials teach of unmeasured inputs; what to expect, and what to measure next."""
    cells, names = cells_of_sheets(asked.as_typed or ())
    right, of_case = confirmed_names(names, ("at_least",))
    if asked.case is None and (asked.against or asked.at_least):
        raise InputError.one(
            "--case",
            say("nothing"),
            say("a case file"),
            say("Name the case that is held against another with --case."),
        )
    if asked.at_least and not asked.against:
        raise InputError.one(
            "--against",
            say("nothing"),
            say("the case file of the same load as it is wrapped today"),
            say("A saving is a saving over something: name it with --against."),
        )
    if of_case and asked.case is None:
        raise InputError.one(
            "--as-typed", of_case[0], "at_least", say("A field of a case needs --case.")
        )
    case = None if asked.case is None else read_case(asked.case, of_case)
    baseline = None if asked.against is None else read_case(asked.against, of_case)
    saving = (
        None
        if asked.at_least is None
        else asked_quantity("at_least", asked.at_least, "--at-least", right)
    )
    from woold.learning.document import learned_document
    from woold.learning.forecast import forecast
    from woold.learning.held_back import held_back, plain_average
    from woold.learning.in_store import wrapped_in_store
    from woold.learning.kept import learn_again, read_kept, write_kept
    from woold.learning.rows import learned_blocks
    from woold.learning.wrapped import other_trials
    from woold.sites.from_store import comparable_sites
    from woold.trial.records import trial_records

    with working(say("Reading")), _trials(given, cells) as store:
        keys = other_trials(store, given.trial or (), asked.held_back)
        wrapped, findings = wrapped_in_store(store, keys)
        sites = comparable_sites(store, keys)[0]
        apart = None if asked.held_back is None else trial_records(store, asked.held_back)
    with working(
        say("Learning from {count} averages", count=sum(len(w.averages) for w in wrapped))
    ) as tell:
        path = None if asked.kept is None else Path(asked.kept)
        learned = learn_again(wrapped, None if path is None else read_kept(path), seed, tell)
        if path is not None:
            write_kept(path, learned, wrapped)
        told = back = None
        if learned.can_be_trusted:
            told = None if case is None else forecast(learned, case, baseline, saving)
            back = None if apart is None else held_back(learned, apart, sites)
    more = tuple(f"{f.field}: {f.message}" for f in findings)
    document = learned_document(learned, told, more, plain_average(sites), back)
    if as_json:
        print_json(document)
    else:
        out = console()
        print_blocks(out, learned_blocks(document, Wording(table_units(out, units))))
    if not learned.can_be_trusted:
        raise typer.Exit(1)


@contextmanager
def _trials(given: LearnedFrom, cells: list[str]) -> Iterator[Store]:
    """The store, or one of the files that were named."""
    if not given.table:
        if cells:
            raise InputError.one(
                "--as-typed", cells[0], "at_least", say("A cell of a sheet needs --table.")
            )
        with trial_store(given.store_url) as store:
            yield store
        return
    if given.store_url is not None and not os.environ.get("WOOLD_STORE"):
        raise InputError.one(
            "--table", say("together with --store"), say("one of the two"),
            say("Take one out: trials of a store, or in files."),
        )  # fmt: skip
    from woold.learning.trial_files import store_of_files

    with store_of_files(given.table, cells) as store:
        yield store
