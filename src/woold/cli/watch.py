"""`woold watch`: cycle records on charts, alarms as exit status, a page; and a whole fleet."""

from __future__ import annotations

import datetime
import shlex
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from woold.case.asked import cells_of
from woold.case.usual import require_answers
from woold.cli.blocks import print_blocks
from woold.cli.files import PictureFile, must_be_new, write_file
from woold.cli.option_groups import grouped_options
from woold.cli.output import AsTyped, JsonFlag, Units, console, new_app, print_json, table_units
from woold.cli.printing import ENDINGS, Comma, PaperSize, Time, moment_of, time_of
from woold.cli.progress import working
from woold.cli.trial_output import StoreUrl, trial_store
from woold.errors import InputError
from woold.rows.wording import Wording
from woold.watch.fleet_sources import Engine
from woold.watch.settings import MOST_SETUP_LOADS, ChartSettings, WatchSettings, read_settings
from woold.words import say

if TYPE_CHECKING:
    from woold.report.making import Making
    from woold.watch.machine import MachineWatch
    from woold.watch.records import Records

__all__ = ["app"]

app = new_app("Watch that a saving stays: charts of cycle records, one machine or a fleet.")

_MOST_ROWS = 10


@dataclass(frozen=True, slots=True)
class WatchOptions:
    """What to watch against."""

    settings_path: Annotated[
        str | None,
        typer.Option("--settings", metavar="WATCH.toml", help="Film, promise and charts."),
    ] = None
    setup_loads: Annotated[
        int | None,
        typer.Option(
            "--setup-loads", min=20, max=MOST_SETUP_LOADS, help="Loads of the set-up phase."
        ),
    ] = None

    as_typed: AsTyped = None

    @property
    def columns(self) -> list[str]:
        """Columns of the records that were asked about and are right."""
        return cells_of(self.as_typed or ())[0]

    @property
    def settings(self) -> WatchSettings:
        """The settings of the file, with what was typed."""
        _, right = cells_of(self.as_typed or ())
        settings = read_settings(Path(self.settings_path), right) if self.settings_path else None
        settings = settings or WatchSettings()
        if self.setup_loads is not None:
            charts = ChartSettings(**dict(settings.charts) | {"setup_loads": self.setup_loads})
            settings = settings.model_copy(update={"charts": charts})
        require_answers(settings, right)
        return settings


@dataclass(frozen=True, slots=True)
class RecordsSource:
    """Where the records and the promise come from, and which alarms are told."""

    trial: Annotated[
        str | None,
        typer.Option("--trial", metavar="KEY", help="Watch the candidate's loads of a trial."),
    ] = None
    promise: Annotated[
        str | None,
        typer.Option("--promise", metavar="KEY", help="Trial whose saving was promised."),
    ] = None
    store_url: StoreUrl = None
    since: Annotated[
        str | None,
        typer.Option("--since", metavar="DATE", help="Leave out events that ended before."),
    ] = None
    column: Annotated[
        list[str] | None,
        typer.Option("--column", metavar="KNOWN=NAME", help="A column's name in the file."),
    ] = None

    def read(
        self, paths: Sequence[str], settings: WatchSettings, as_typed: Collection[str]
    ) -> tuple[Records, WatchSettings]:
        """The records of files or of a trial, and the settings with what a trial promised."""
        from woold.watch.records import read_records

        if bool(paths) == bool(self.trial):
            given = say("files and a trial") if paths else say("nothing")
            raise InputError.one(
                "records",
                given,
                say("files, or --trial KEY"),
                say("Name the files, or the trial whose loads are watched."),
            )
        records = None
        if paths:
            records = read_records(
                [Path(path) for path in paths], _renames(self.column or []), as_typed
            )
        if self.trial or self.promise:
            from woold.trial.records import trial_records
            from woold.watch.from_store import candidate_loads, promises_of_trial

            with trial_store(self.store_url) as store:
                if self.promise:
                    promise = promises_of_trial(trial_records(store, self.promise))
                    settings = WatchSettings(
                        film=settings.film, promise=promise, charts=settings.charts
                    )
                if self.trial:
                    records = candidate_loads(trial_records(store, self.trial))
        assert records is not None
        return records, settings


@dataclass(frozen=True, slots=True)
class WatchShown(PictureFile):
    """How a watch is shown."""

    units: Units = "both"
    as_json: JsonFlag = False
    page: Annotated[
        str | None,
        typer.Option("--page", metavar="FILE", help="Write a page for people, .html or .pdf."),
    ] = None

    def __post_init__(self) -> None:
        PictureFile.__post_init__(self)
        if self.page and Path(self.page).suffix.lower() not in ENDINGS:
            raise InputError.one(
                "--page", self.page, say("a file name ending in .html or .pdf"), say("Rename it.")
            )
        must_be_new([each for each in (self.page, self.plot) if each], self.force)

    def draw(self, machines: Sequence[MachineWatch]) -> None:
        """The charts of the first machine that has any."""
        from woold.pictures.control_charts import machine_figure

        drawn = [each for each in machines if each.charted]
        if not drawn:
            raise InputError.one(
                "--plot",
                say("no machine that can be charted"),
                say("20 loads or more"),
                say("Leave --plot out until there are more loads."),
            )
        self.save(lambda: machine_figure(drawn[0], drawn[0].charted[0].quantity))

    def write_page(
        self,
        machines: Sequence[MachineWatch],
        settings: WatchSettings,
        records: Records,
        making: Making,
    ) -> None:
        """The page, with every machine."""
        from woold.cli.report import rendered
        from woold.report.watch_report import watch_report

        assert self.page is not None
        report = watch_report(machines, settings, records.findings, making)
        write_file(self.page, rendered(report, self.page), self.force)


@dataclass(frozen=True, slots=True)
class PagePrinted:
    """How the page of a watch is printed, and the time that it states."""

    paper: PaperSize = "a4"
    decimal_comma: Comma = False
    time: Time = None

    def making(
        self, paths: Sequence[str], source: RecordsSource, options: WatchOptions, shown: WatchShown
    ) -> Making:
        """How to make the page again."""
        from woold.report.making import Making, file_hash, layout_options

        wording, made_at = Wording(shown.units, self.decimal_comma), time_of(self.time)
        asked = {
            "--trial": source.trial,
            "--promise": source.promise,
            "--since": source.since,
            "--settings": options.settings_path,
            "--setup-loads": options.setup_loads,
            "--page": shown.page,
        }
        words = ["woold", "watch", "loads", *paths]
        for name, value in asked.items():
            words += [] if value is None else [name, str(value)]
        for column in source.column or ():
            words += ["--column", column]
        words += layout_options(wording, self.paper, made_at, options.as_typed or ())
        settings = [options.settings_path] if options.settings_path else []
        return Making(
            wording,
            made_at,
            self.paper,
            tuple(file_hash(each) for each in (*paths, *settings)),
            shlex.join(words),
        )


@app.command()
@grouped_options
def loads(
    source: RecordsSource,
    options: WatchOptions,
    shown: WatchShown,
    printed: PagePrinted,
    paths: Annotated[
        list[str] | None,
        typer.Argument(metavar="[RECORDS...]", help="CSV or Parquet files, a row a load."),
    ] = None,
) -> None:
    """Charts of the loads of each machine; status 1 when there is an alarm."""
    from woold.watch.document import watch_document
    from woold.watch.machine import watch_machine
    from woold.watch.rows import most_urgent, watch_blocks

    start = _date(source.since)
    time_of(printed.time)
    with working(say("Reading")) as tell:
        records, settings = source.read(paths or [], options.settings, options.columns)
        tell(say("Calculating"))
        parts = records.frame.partition_by("machine", maintain_order=True)
        machines = most_urgent([watch_machine(part, settings, start) for part in parts])
    if shown.plot:
        shown.draw(machines)
    if shown.page:
        making = printed.making(paths or [], source, options, shown)
        shown.write_page(machines, settings, records, making)
    if shown.as_json:
        print_json(watch_document(machines, settings, records.findings))
    else:
        out = console()
        say_in = Wording(table_units(out, shown.units))
        blocks = watch_blocks(machines, settings, records.findings, say_in, most_rows=_MOST_ROWS)
        print_blocks(out, blocks)
    if any(each.events or (each.savings and each.savings.falls_short) for each in machines):
        raise typer.Exit(1)


@dataclass(frozen=True, slots=True)
class FleetTable:
    """What reads the fleet's records."""

    engine: Annotated[Engine, typer.Option("--engine", help="For Parquet files.")] = "duckdb"
    table: Annotated[str, typer.Option("--table", help="Table of a database.")] = ""
    memory: Annotated[str, typer.Option("--memory", help="That DuckDB may use.")] = "3GB"


@app.command()
@grouped_options
def fleet(
    read_with: FleetTable,
    options: WatchOptions,
    sources: Annotated[
        list[str],
        typer.Argument(
            metavar="SOURCE...", help="CSV or Parquet files, or postgres://... with --table."
        ),
    ],
    units: Units = "both",
    as_json: JsonFlag = False,
) -> None:
    """Every machine of a fleet by its days, the largest loss of film first."""
    from woold.watch.document import fleet_document
    from woold.watch.fleet import summarise_fleet
    from woold.watch.fleet_rows import fleet_blocks
    from woold.watch.fleet_sources import open_fleet, require_sound_options
    from woold.watch.records import read_records
    from woold.watch.text_fleet import MOST_LOADS, fleet_of_records, small_fleet

    settings = options.settings
    require_sound_options(sources, read_with.table, read_with.memory)
    with working(say("Reading")):
        files = small_fleet(sources, MOST_LOADS if read_with.engine == "duckdb" else 0)
        if files:
            # What watch loads reads is read in the same way, and its bad cells are said alike.
            records = read_records(files, as_typed=options.columns)
            table = fleet_of_records(records.frame)
            right = [f"fleet {name}" for name in records.frame.columns]  # asked about by file
            summary = summarise_fleet(table, settings, right)
            summary = replace(summary, findings=(*records.findings, *summary.findings))
        else:
            table = open_fleet(sources, read_with.engine, read_with.table, read_with.memory)
            summary = summarise_fleet(table, settings, options.columns)
    if as_json:
        print_json(fleet_document(summary, settings))
    else:
        out = console()
        print_blocks(out, fleet_blocks(summary, Wording(table_units(out, units))))
    if any(row.alarms or (row.savings and row.savings.falls_short) for row in summary.rows):
        raise typer.Exit(1)


def _date(text: str | None) -> datetime.datetime | None:
    if text is None:
        return None
    # Records are in UTC where they have an offset.
    return moment_of("--since", text, say("a date such as 2026-03-01")).replace(tzinfo=None)


def _renames(pairs: list[str]) -> dict[str, str]:
    renames: dict[str, str] = {}
    for pair in pairs:
        known, equals, found = pair.partition("=")
        if not equals or not known or not found:
            raise InputError.one(
                "--column",
                repr(pair),
                say("KNOWN=NAME, such as film_mass_g=Film"),
                say("Write the known name, = and the name in the file."),
            )
        renames[known.strip()] = found.strip()
    return renames
