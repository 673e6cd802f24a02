"""`woold trial`: plan a trial, write it down, take the sheets in, correct, export."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import typer

from woold.case.asked import asked_count, cells_of, confirmed_names
from woold.cli import trial_results, trial_sheet
from woold.cli.blocks import print_blocks
from woold.cli.files import NO_PICTURE, Force, PictureFile, new_file
from woold.cli.option_groups import grouped_options
from woold.cli.output import (
    AsTyped,
    JsonFlag,
    StarterPath,
    console,
    new_app,
    print_findings,
    print_json,
)
from woold.cli.progress import working
from woold.cli.trial_output import (
    AS_USUAL,
    RecordOptions,
    StoreUrl,
    TrialKey,
    told,
    trial_store,
)
from woold.errors import InputError, errors_in
from woold.rows.blocks import Table
from woold.rows.document import OneError
from woold.trial.percent import percent
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["app"]

app = new_app("Trials: plan, sheets, records, gauge study, analysis, calibration.")
app.command("sheet")(trial_sheet.sheet)
app.command("gauge")(trial_results.gauge)
app.command("analyse")(trial_results.analyse)
app.command("calibrate")(trial_results.calibrate)

TrialFile = Annotated[str, typer.Argument(metavar="TRIAL.toml", help="The trial file.")]


@dataclass(frozen=True, slots=True)
class TwoCases:
    """Cases that a new trial file compares."""

    baseline: Annotated[
        str | None, typer.Option("--baseline", metavar="CASE.toml", help="Case of today's way.")
    ] = None
    candidate: Annotated[
        str | None, typer.Option("--candidate", metavar="CASE.toml", help="Case of the new way.")
    ] = None


_NO_CASES = TwoCases()


@app.command()
@grouped_options
def new(
    path: StarterPath = None,
    cases: TwoCases = _NO_CASES,
    as_json: JsonFlag = False,
    force: Force = False,
) -> None:
    """Write a commented trial file to start from, or the trial of two cases."""
    from woold.cli.starters import Starter, write_starter
    from woold.trial.from_cases import new_trial_text
    from woold.trial.setup import Trial

    text, findings = new_trial_text(cases.baseline, cases.candidate, path or "")
    starter = Starter("trial", Trial, say("A trial"), text)
    write_starter(path, starter, "woold trial plan", as_json, force)
    if path is not None and not as_json:
        print_findings(console(), findings)


@dataclass(frozen=True, slots=True)
class StartOptions:
    """Whether a planned trial is kept."""

    start: Annotated[
        bool, typer.Option("--start", help="Keep the trial and its order in the store.")
    ] = False
    reason: Annotated[str, typer.Option(help="Why a trial that is kept is changed.")] = ""


_NOT_KEPT = StartOptions()


@app.command()
@grouped_options
def plan(
    trial_path: TrialFile,
    pilot: Annotated[
        str | None,
        typer.Option(
            "--pilot",
            metavar="FILE.csv",
            help="Film masses of a pilot, whose spread is planned on.",
        ),
    ] = None,
    loads: Annotated[
        int | None,
        typer.Option("--loads", help="Loads of each treatment, instead of the number needed."),
    ] = None,
    keeping: StartOptions = _NOT_KEPT,
    as_typed: AsTyped = None,
    picture: PictureFile = NO_PICTURE,
    kept: RecordOptions = AS_USUAL,
) -> None:
    """Loads that a trial needs, what fewer would see, and the random order."""
    from woold.trial.plan import plan_trial
    from woold.trial.setup import read_trial

    cells, named = cells_of(as_typed or ())
    right, fields = confirmed_names(named, ("loads",))
    loads = None if loads is None else asked_count("loads", loads, "--loads", right)
    setup = read_trial(trial_path, fields)
    aim, spread_from = setup.trial.aim, say("the trial file")
    if pilot:
        from woold.trial.pilot import pilot_spread

        found_spread = pilot_spread(pilot, cells)
        aim = aim.model_copy(update={"film_spread": found_spread.upper_limit})
        spread_from = say(
            "the pilot ({spread}), at its upper 80 % limit",
            spread=percent(found_spread.variation),
        )
        if found_spread.read_as:
            spread_from = f"{spread_from}. {found_spread.read_as.rstrip('.')}"
    with working():
        found = plan_trial(setup.trial, aim, loads)
    if keeping.start:
        from woold.trial.starting import start_trial

        with trial_store(kept.store_url) as store:
            start_trial(store, setup, found.order, kept.person, keeping.reason)

    def figure() -> Figure:
        from woold.pictures.trial_plan import plan_figure

        return plan_figure(found)

    picture.save(figure)
    if kept.as_json:
        from woold.cli.trial_documents import PlanDocument

        key = setup.trial.key
        print_json(PlanDocument.with_more(found, trial=key, film_spread_from=spread_from))
        return
    from woold.trial.plan_rows import plan_blocks

    told(functools.partial(plan_blocks, setup.trial, found, spread_from))
    if keeping.start:
        print(say("Kept as {key}. Next: woold trial sheet {key}", key=setup.trial.key))


@app.command("import")
@grouped_options
def import_sheet(
    path: Annotated[str, typer.Argument(metavar="FILE", help="Workbook or CSV file.")],
    trial: Annotated[
        str, typer.Option("--trial", metavar="KEY", help="Trial, where the file does not say it.")
    ] = "",
    as_typed: Annotated[
        list[str] | None,
        typer.Option("--as-typed", metavar="CELL", help="A cell that was asked about is right."),
    ] = None,
    reason: Annotated[
        str, typer.Option(help="Why cells that differ from the record correct it.")
    ] = "",
    kept: RecordOptions = AS_USUAL,
) -> None:
    """Take a filled sheet into the store: all of it, or nothing and every bad cell named.

    A file of entries that a phone could not send is taken too, entry by entry.
    """
    from woold.trial.importing import import_written
    from woold.trial.reading import read_written
    from woold.trial.unsent import is_unsent, read_unsent

    if is_unsent(path):
        with errors_in(path):
            _import_unsent(read_unsent(path), kept)
        return

    with (
        working(say("Reading {file}", file=path)),
        trial_store(kept.store_url) as store,
    ):
        written = read_written(path)
        done = import_written(store, written, kept.person, trial, as_typed or (), reason)
    if kept.as_json:
        print_json(done)
        return
    from woold.trial.import_rows import import_blocks

    told(functools.partial(import_blocks, done))


def _import_unsent(content: bytes, kept: RecordOptions) -> None:
    """Takes a phone's file; exit status 2 where an entry was refused, the others are taken."""
    from woold.trial.unsent import take_unsent

    with trial_store(kept.store_url) as store:
        done = take_unsent(store, content, kept.person)
    if kept.as_json:
        from woold.cli.trial_documents import EntriesDocument

        refused = tuple(OneError.of(each) for each in done.refused)
        print_json(EntriesDocument(done.taken, done.known, refused))
        if refused:
            raise typer.Exit(2)
        return
    print(
        say("Entries taken: {taken}; known already: {known}.", taken=done.taken, known=done.known)
    )
    if done.refused:
        raise InputError.many(done.refused)


@dataclass(frozen=True, slots=True)
class _Change:
    """What shall stand in a record instead."""

    field: Annotated[str | None, typer.Option("--field", help="What to correct.")] = None
    value: Annotated[
        str, typer.Option("--value", help="What it shall be, with its unit; empty to take it out.")
    ] = ""
    void: Annotated[bool, typer.Option("--void", help="The load does not count any more.")] = False
    as_typed: Annotated[
        list[str] | None,
        typer.Option("--as-typed", metavar="FIELD", help="A field that was asked about is right."),
    ] = None


_NO_CHANGE = _Change()


@app.command()
@grouped_options
def correct(
    trial: TrialKey,
    load: Annotated[str, typer.Option("--load", help="Number of the load.")],
    reason: Annotated[str, typer.Option("--reason", help="Why; it is kept with the correction.")],
    change: _Change = _NO_CHANGE,
    kind: Annotated[str, typer.Option(help="Kind of record: load, width, pull or gauge.")] = "load",
    kept: RecordOptions = AS_USUAL,
) -> None:
    """Correct one value, or take a load out; what stood there before is kept."""
    from woold.trial.correcting import CellCorrection, correct_cell

    field, value, void = change.field, change.value, change.void
    if void == (field is not None):
        raise InputError.one(
            "--field",
            field or say("nothing"),
            say("--field NAME --value TEXT, or --void"),
            say("Give one."),
        )
    with trial_store(kept.store_url) as store:
        as_typed = tuple(change.as_typed or ())
        correction = CellCorrection(kind, load, field, value, reason, as_typed)
        correct_cell(store, trial, correction, kept.person)
    if kept.as_json:
        from woold.cli.trial_documents import CorrectionDocument

        print_json(CorrectionDocument(trial, kind, load, field, void))
    else:
        shown, named = _in_words(kind, field)
        print(
            say("{kind} {load}: taken out ({reason}).", kind=shown, load=load, reason=reason)
            if void
            else say(
                "{kind} {load}: {field} corrected ({reason}).",
                kind=shown,
                load=load,
                field=named,
                reason=reason,
            )
        )


def _in_words(kind: str, field: str | None) -> tuple[str, str]:
    """A kind of record and one of its fields, as the worksheet calls them."""
    from woold.trial.sheets import field_named, sheet_of_kind

    found = field_named(sheet_of_kind(kind).fields, field) if field else None
    kinds = {
        "load": say("load"),
        "width": say("width"),
        "pull": say("pull reading"),
        "gauge": say("gauge reading"),
    }
    return kinds[kind], say(found.label) if found else ""


def _shown_file(name: str) -> str:
    """What an exported file holds."""
    return {
        "history": say("rows of history"),
        "loads": say("loads"),
        "widths": say("widths"),
        "pulls": say("pull readings"),
        "gauges": say("gauge readings"),
        "photos": say("photos"),
    }[name]


@app.command()
@grouped_options
def photo(
    trial: TrialKey,
    paths: Annotated[list[str], typer.Argument(metavar="FILE...", help="JPEG, PNG or WebP.")],
    load: Annotated[str, typer.Option("--load", help="Number of the load.")],
    kept: RecordOptions = AS_USUAL,
) -> None:
    """Keep pictures of a load, named by their content's SHA-256."""
    from woold.trial.entry import keep_photo

    with trial_store(kept.store_url) as store:
        names = [keep_photo(store, trial, load, path, kept.person) for path in paths]
    if kept.as_json:
        from woold.cli.trial_documents import PhotosDocument

        print_json(PhotosDocument(trial, load, tuple(names)))
    else:
        for path, name in zip(paths, names, strict=True):
            print(say("Load {load}: kept {file} as {name}.", load=load, file=path, name=name))


@app.command()
def export(
    trial: TrialKey,
    out: Annotated[str, typer.Option("--out", metavar="FILE.zip", help="File to write.")],
    as_json: JsonFlag = False,
    force: Force = False,
    store_url: StoreUrl = None,
) -> None:
    """Write everything that is kept of a trial: history, tables, photos."""
    from woold.trial.export import export_trial

    with (
        new_file(out, force) as stream,
        trial_store(store_url) as store,
        working(say("Writing")),
    ):
        counts = export_trial(store, trial, stream)
    if as_json:
        from woold.cli.trial_documents import ExportDocument

        print_json(ExportDocument(trial, out, counts))
    else:
        shown = ", ".join(
            say("{what}: {count}", what=_shown_file(name), count=count)
            for name, count in counts.items()
        )
        print(say("Wrote {file} ({shown}).", file=out, shown=shown))


@app.command("list")
def list_trials(as_json: JsonFlag = False, store_url: StoreUrl = None) -> None:
    """List the trials in the store."""
    from woold.trial.records import setup_of

    rows = []
    with trial_store(store_url) as store:
        for key in store.trials():
            setup = setup_of(store, key)
            loads = [each for each in store.current(key, "load") if not each.void]
            rows.append((key, setup.trial.title, len(loads)))
    if as_json:
        from woold.cli.trial_documents import TrialsDocument, TrialsLine

        print_json(TrialsDocument(tuple(TrialsLine(*row) for row in rows)))
        return
    heads = (say("trial"), say("title"), say("loads"))
    cells = tuple((key, title, str(loads)) for key, title, loads in rows)
    print_blocks(console(), [Table(say("Trials"), heads, cells, words=(0,))])
