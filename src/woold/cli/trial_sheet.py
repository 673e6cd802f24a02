"""`woold trial sheet`: the workbook and the printed form that a trial is written down on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import typer

from woold.cli.files import Force, must_be_new, write_file
from woold.cli.option_groups import grouped_options
from woold.cli.output import JsonFlag, print_json
from woold.cli.printing import PaperSize, Time, time_of
from woold.cli.progress import working
from woold.cli.trial_output import StoreUrl, TrialKey, trial_store
from woold.words import say

__all__ = ["sheet"]


@dataclass(frozen=True, slots=True)
class _Sheets:
    """What is written, and how it is printed."""

    out: Annotated[
        str | None, typer.Option("--out", metavar="FILE.xlsx", help="Workbook to write.")
    ] = None
    form: Annotated[
        str | None, typer.Option("--form", metavar="FILE.pdf", help="Printable form to write.")
    ] = None
    is_list: Annotated[
        bool,
        typer.Option(
            "--list", help="The form is a list in small print, not a large page for each load."
        ),
    ] = False
    paper: PaperSize = "a4"
    time: Time = None


_WORKBOOK = _Sheets()


@grouped_options
def sheet(
    trial: TrialKey,
    asked: _Sheets = _WORKBOOK,
    as_json: JsonFlag = False,
    force: Force = False,
    store_url: StoreUrl = None,
) -> None:
    """Write the workbook and the printable form of a trial that is kept."""
    from woold.trial.records import planned_loads, setup_of

    form, made_at = asked.form, time_of(asked.time)
    workbook = asked.out or (None if form else f"{trial}.xlsx")
    written = [each for each in (workbook, form) if each]
    must_be_new(written, force)
    with trial_store(store_url) as store:
        setup, order = setup_of(store, trial), planned_loads(store, trial)
    with working(say("Writing")):
        if workbook:
            from woold.trial.worksheet import worksheet_bytes

            content = worksheet_bytes(setup, order, paper=asked.paper, made_at=made_at)
            write_file(workbook, content, force)
        if form:
            from woold.trial.form import form_pdf

            write_file(form, form_pdf(setup, order, asked.paper, asked.is_list), force)
    if as_json:
        from woold.cli.trial_documents import SheetDocument

        print_json(SheetDocument(trial, len(order), tuple(written)))
    else:
        print(say("Wrote {files}. Loads: {loads}.", files=", ".join(written), loads=len(order)))
