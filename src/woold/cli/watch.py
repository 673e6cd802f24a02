"""`woold watch`: cycle records on charts, alarms as exit status, a page; and a whole fleet."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.text import Text

from woold.cli.output import (
    JsonFlag,
    PlotPath,
    console,
    new_app,
    print_cautions,
    print_findings,
    print_json,
    print_table,
)
from woold.cli.trial_output import StoreUrl, trial_store
from woold.errors import InputError
from woold.prediction.result import Finding
from woold.watch.fleet import Engine
from woold.watch.settings import WatchSettings, read_settings
from woold.words import say

if TYPE_CHECKING:
    from woold.watch.machine import MachineWatch
    from woold.watch.records import Records

__all__ = ["app"]

app = new_app("Watch that a saving stays: charts of cycle records, one machine or a fleet.")

SettingsPath = Annotated[
    str | None,
    typer.Option("--settings", metavar="WATCH.toml", help="Film, promise and charts."),
]
SetupLoads = Annotated[
    int | None, typer.Option("--setup-loads", min=20, help="Loads of the set-up phase.")
]
_MOST_ROWS = 10


@app.command()
def loads(
    paths: Annotated[
        list[str] | None,
        typer.Argument(metavar="[RECORDS...]", help="CSV or Parquet files, a row a load."),
    ] = None,
    trial: Annotated[
        str | None,
        typer.Option("--trial", metavar="KEY", help="Watch the candidate's loads of a trial."),
    ] = None,
    promise: Annotated[
        str | None,
        typer.Option("--promise", metavar="KEY", help="Trial whose saving was promised."),
    ] = None,
    store_url: StoreUrl = None,
    settings_path: SettingsPath = None,
    setup_loads: SetupLoads = None,
    since: Annotated[
        str | None,
        typer.Option("--since", metavar="DATE", help="Leave out alarms that ended before."),
    ] = None,
    column: Annotated[
        list[str] | None,
        typer.Option("--column", metavar="KNOWN=NAME", help="A column's name in the file."),
    ] = None,
    as_json: JsonFlag = False,
    page: Annotated[
        str | None, typer.Option("--page", metavar="FILE.html", help="Write a page for people.")
    ] = None,
    plot: PlotPath = None,
) -> None:
    """Charts of the loads of each machine; status 1 when there is an alarm."""
    from woold.watch.document import watch_document
    from woold.watch.machine import watch_machine
    from woold.watch.wording import most_urgent

    settings = _settings(settings_path, setup_loads)
    start = _date(since)
    if bool(paths) == bool(trial):
        given = "files and a trial" if paths else "nothing"
        raise InputError.one("records", given, say("files, or --trial KEY"))
    records, settings = _read(
        paths or [], trial, promise, store_url, _renames(column or []), settings
    )
    parts = records.frame.partition_by("machine", maintain_order=True)
    machines = most_urgent([watch_machine(part, settings, start) for part in parts])
    if plot:
        from woold.pictures.canvas import save_figure
        from woold.pictures.control_charts import machine_figure

        drawn = [each for each in machines if each.charted]
        if not drawn:
            raise InputError.one(
                "--plot", say("no machine that can be charted"), say("20 loads or more")
            )
        save_figure(machine_figure(drawn[0], drawn[0].charted[0].quantity), plot)
    if page:
        from woold.pictures.watch_page import watch_page, write_watch_page

        write_watch_page(watch_page(machines, settings, records.findings), page)
    if as_json:
        print_json("watch", watch_document(machines, settings, records.findings))
    else:
        _print_machines(machines, settings, records.findings)
    if any(each.alarms or (each.savings and each.savings.falls_short) for each in machines):
        raise typer.Exit(1)


def _read(
    paths: list[str],
    trial: str | None,
    promise: str | None,
    store_url: str | None,
    renames: dict[str, str],
    settings: WatchSettings,
) -> tuple[Records, WatchSettings]:
    """The records of files or of a trial, and the settings with what a trial promised."""
    from woold.watch.records import read_records

    records = None if trial else read_records([Path(path) for path in paths], renames)
    if trial or promise:
        from woold.trial.records import trial_records
        from woold.watch.from_store import candidate_loads, promises_of_trial

        with trial_store(store_url) as store:
            if promise:
                promises = promises_of_trial(trial_records(store, promise))
                settings = replace(settings, promises=promises)
            if trial:
                records = candidate_loads(trial_records(store, trial))
    assert records is not None
    return records, settings


def _print_machines(
    machines: Sequence[MachineWatch], settings: WatchSettings, findings: Sequence[Finding]
) -> None:
    from woold.watch.document import WATCH_CAUTIONS
    from woold.watch.wording import alarm_cells, headline, step_cells, summary_lines

    out = console()
    out.print(Text(headline(machines), style="bold"))
    out.print()
    for machine in machines:
        out.print(Text(machine.machine, style="bold"))
        for sentence in summary_lines(machine, settings):
            out.print(Text(f"  {sentence}"))
        out.print()
        alarms = alarm_cells(machine)
        if alarms:
            more = len(alarms) - _MOST_ROWS
            title = f"Alarms (the last {_MOST_ROWS} of {len(alarms)})" if more > 0 else "Alarms"
            names = ("quantity", "chart", "loads", "from")
            print_table(out, title, names, [row[:4] for row in alarms[-_MOST_ROWS:]])
        steps = step_cells(machine)
        for quantity, step, at, when, causes in steps[-_MOST_ROWS:]:
            out.print(Text(f"  Step of {quantity}: {step} at load {at}, {when}: {causes}."))
        if steps:
            out.print()
    print_findings(out, (*findings, *(one for each in machines for one in each.findings)))
    print_cautions(out, WATCH_CAUTIONS)


@app.command()
def fleet(
    sources: Annotated[
        list[str],
        typer.Argument(metavar="SOURCE...", help="Parquet files, or postgres://... with --table."),
    ],
    engine: Annotated[Engine, typer.Option("--engine", help="For Parquet files.")] = "duckdb",
    table: Annotated[str, typer.Option("--table", help="Table of a database.")] = "",
    memory: Annotated[str, typer.Option("--memory", help="That DuckDB may use.")] = "3GB",
    settings_path: SettingsPath = None,
    setup_loads: SetupLoads = None,
    as_json: JsonFlag = False,
) -> None:
    """Every machine of a fleet by its days, the largest loss of film first."""
    from woold.watch.document import WATCH_CAUTIONS, fleet_document
    from woold.watch.fleet import open_fleet, summarise_fleet

    settings = _settings(settings_path, setup_loads)
    summary = summarise_fleet(open_fleet(sources, engine, table, memory), settings)
    if as_json:
        print_json("fleet", fleet_document(summary, settings))
    else:
        out = console()
        shown = summary.rows[:40]
        print_table(
            out,
            f"{len(summary.rows)} machines"
            + (f", the first {len(shown)}" if len(shown) < len(summary.rows) else ""),
            (
                "machine",
                "loads",
                "film\nnow",
                "more kg\na year",
                "changed",
                "alarm\ndays",
                "last alarm",
                "breaks\nin 1000",
            ),
            [
                (
                    row.machine,
                    f"{row.loads:,}",
                    "-" if row.recent is None else f"{100 * (row.recent - 1):+.1f} %",
                    "-" if row.lost_kg_per_year is None else f"{row.lost_kg_per_year:,.0f}",
                    str(row.changed or "-"),
                    str(row.alarms),
                    str(row.last_alarm or "-"),
                    "-" if row.breaks_per_1000 is None else f"{row.breaks_per_1000:.1f}",
                )
                for row in shown
            ],
        )
        print_findings(out, summary.findings)
        print_cautions(out, WATCH_CAUTIONS)
    if any(row.alarms or (row.savings and row.savings.falls_short) for row in summary.rows):
        raise typer.Exit(1)


def _settings(path: str | None, setup_loads: int | None) -> WatchSettings:
    settings = read_settings(Path(path)) if path else WatchSettings()
    return replace(settings, setup_loads=setup_loads) if setup_loads else settings


def _date(text: str | None) -> datetime.datetime | None:
    if text is None:
        return None
    try:
        moment = datetime.datetime.fromisoformat(text)
    except ValueError:
        raise InputError.one("--since", repr(text), say("a date such as 2026-03-01")) from None
    if moment.tzinfo is not None:  # records are in UTC where they have an offset
        moment = moment.astimezone(datetime.UTC).replace(tzinfo=None)
    return moment


def _renames(pairs: list[str]) -> dict[str, str]:
    renames: dict[str, Any] = {}
    for pair in pairs:
        known, equals, found = pair.partition("=")
        if not equals or not known or not found:
            raise InputError.one(
                "--column", repr(pair), say("KNOWN=NAME, such as film_mass_g=Film")
            )
        renames[known.strip()] = found.strip()
    return renames
