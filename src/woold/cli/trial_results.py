"""`woold trial gauge`, `analyse` and `calibrate`: what the records of a trial say."""

from __future__ import annotations

import datetime
import functools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import typer

from woold.cli.files import NO_PICTURE, PictureFile, must_be_new, write_file
from woold.cli.option_groups import grouped_options
from woold.cli.output import (
    JsonFlag,
    console,
    print_cautions,
    print_findings,
    print_json,
)
from woold.cli.progress import working
from woold.cli.trial_output import StoreUrl, TrialKey, told, trial_store
from woold.errors import InputError
from woold.prediction.result import CAUTIONS
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["analyse", "calibrate", "gauge"]


@grouped_options
def gauge(
    trial: Annotated[
        str, typer.Argument(metavar="TRIAL|FILE", help="Key of a trial, or a file of readings.")
    ],
    instrument: Annotated[
        str | None, typer.Option("--gauge", metavar="NAME", help="Only this gauge.")
    ] = None,
    as_json: JsonFlag = False,
    picture: PictureFile = NO_PICTURE,
    store_url: StoreUrl = None,
) -> None:
    """How much of the spread is the gauge and its use, and what that does to the trial."""
    from woold.trial.gauge_study import gauge_effect, gauge_tables, tables_in_file

    records = None
    if "." in trial:
        tables = tables_in_file(trial)
    else:
        from woold.trial.records import trial_records

        with trial_store(store_url) as store:
            records = trial_records(store, trial)
        tables = gauge_tables([dict(each.cells) for each in records.gauges])
    if instrument is not None:
        tables = {name: table for name, table in tables.items() if name == instrument}
    if not tables:
        raise InputError.one(
            "gauge",
            instrument or say("no readings of a gauge study"),
            say("rows in the Gauges sheet, or a file with gauge, part, person, repeat, reading"),
            say("Let two or three people read ten parts two or three times each."),
        )
    with working():
        studies = {name: table.study() for name, table in tables.items()}
    effects = {
        name: gauge_effect(name, study, records) if records else ""
        for name, study in studies.items()
    }

    def figure() -> Figure:
        from woold.pictures.trial_gauge import gauge_figure

        name = next(iter(tables))

        return gauge_figure(name, tables[name], studies[name])

    picture.save(figure)
    if as_json:
        from woold.cli.trial_documents import GaugeDocument, gauge_line

        lines = (
            gauge_line(name, study, effects[name], tables[name].read_as)
            for name, study in studies.items()
        )
        print_json(GaugeDocument(tuple(lines)))
        return
    from woold.trial.gauge_rows import gauge_blocks

    for read_as in {each.read_as for each in tables.values() if each.read_as}:
        print(read_as)
    for name, study in studies.items():
        told(functools.partial(gauge_blocks, name, study, effects[name]))


@grouped_options
def analyse(
    trial: TrialKey,
    resamples: Annotated[int, typer.Option(min=1000, max=1_000_000, help="Of the bootstrap.")] = (
        10_000
    ),
    seed: Annotated[int, typer.Option(min=0, help="Of the bootstrap.")] = 1,
    require_saving: Annotated[
        bool,
        typer.Option(
            "--require-saving",
            help="Exit with 1 unless film is saved at equal hold and no zone holds less.",
        ),
    ] = False,
    as_json: JsonFlag = False,
    picture: PictureFile = NO_PICTURE,
    store_url: StoreUrl = None,
) -> None:
    """Film saving, containment and the verdict, with intervals and assumptions."""
    from woold.trial.analysis import analyse as analysis_of
    from woold.trial.records import trial_records

    with trial_store(store_url) as store:
        records = trial_records(store, trial)
    with working():
        found = analysis_of(records, resamples, seed)

    def figure() -> Figure:
        from woold.pictures.trial_analysis import analysis_figure
        from woold.trial.table import load_table

        return analysis_figure(found, load_table(records))

    picture.save(figure)
    if as_json:
        print_json(found)
    else:
        from woold.trial.analysis_rows import number_blocks, verdict_blocks

        out = console()
        out.print(found.title or found.trial, style="bold", markup=False)
        if found.question:
            out.print(found.question, markup=False)
        out.print()
        told(functools.partial(verdict_blocks, found))
        print_findings(console(), found.findings)
        told(functools.partial(number_blocks, found))
        print_cautions(console(), found.cautions)
    if require_saving and found.verdict.claim != "saves film at equal hold":
        raise typer.Exit(1)


@dataclass(frozen=True, slots=True)
class CalibratedFiles:
    """A case file to write fitted values into, and the file that is made of it."""

    case_path: Annotated[
        str | None,
        typer.Option("--case", metavar="CASE.toml", help="Case file to write the values into."),
    ] = None
    out: Annotated[
        str | None, typer.Option("--out", metavar="FILE.toml", help="The calibrated case file.")
    ] = None


_NOT_WRITTEN = CalibratedFiles()


@grouped_options
def calibrate(
    trial: TrialKey,
    treatment: Annotated[
        str, typer.Option(help="Whose records: baseline or candidate.")
    ] = "baseline",
    fit: Annotated[
        str | None,
        typer.Option("--fit", metavar="FIELDS", help="What to fit, with commas between."),
    ] = None,
    written: CalibratedFiles = _NOT_WRITTEN,
    as_json: JsonFlag = False,
    picture: PictureFile = NO_PICTURE,
    store_url: StoreUrl = None,
) -> None:
    """Fit reload modulus, friction, loss of width and of force to the records of a treatment."""
    from woold.trial.calibrate import UNASKED
    from woold.trial.calibrate import calibrate as calibration_of
    from woold.trial.records import trial_records
    from woold.trial.setup import TREATMENTS
    from woold.trial.table import load_table

    if treatment not in TREATMENTS:
        raise InputError.one(
            "--treatment", treatment, " or ".join(TREATMENTS), say("Choose one of them.")
        )
    case_path, out = written.case_path, written.out
    if (case_path is None) != (out is None):
        raise InputError.one(
            "--case",
            case_path or say("nothing"),
            say("--case with --out, or neither"),
            say("Give both, or leave both out."),
        )
    must_be_new([each for each in (out, picture.plot) if each], picture.force)
    fields = UNASKED if fit is None else tuple(name.strip() for name in fit.split(","))
    with trial_store(store_url) as store:
        records = trial_records(store, trial)
    with working():
        found = calibration_of(load_table(records), records.setup, treatment, fields)
    if case_path is not None and out is not None:
        from woold.trial.write_back import calibrated_case_text, case_text_of

        text = calibrated_case_text(case_text_of(case_path), found, datetime.date.today())
        write_file(out, text.encode(), picture.force)

    def figure() -> Figure:
        from woold.pictures.trial_calibration import calibration_figure

        return calibration_figure(found)

    picture.save(figure)
    if as_json:
        from woold.cli.trial_documents import CalibrationDocument

        print_json(CalibrationDocument.with_more(found, file=out))
        return
    from woold.trial.calibration_rows import calibration_blocks

    told(functools.partial(calibration_blocks, found))
    if out:
        console().print(say("Wrote {file}.", file=out), markup=False)
    print_cautions(console(), CAUTIONS)
