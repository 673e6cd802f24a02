"""`woold case`: write a commented case file, check one, show what it says and where from."""

from __future__ import annotations

from rich.text import Text

from woold.case.file import read_case, starter_text
from woold.case.model import Case
from woold.cli.blocks import print_blocks
from woold.cli.files import Force
from woold.cli.output import (
    AsTyped,
    CasePath,
    JsonFlag,
    StarterPath,
    Units,
    console,
    new_app,
    print_findings,
    print_json,
    table_units,
)
from woold.cli.starters import Starter, write_starter
from woold.prediction.input_rows import input_table
from woold.prediction.predict import predict
from woold.rows.wording import Wording
from woold.units import KINDS
from woold.words import say

__all__ = ["app"]

app = new_app("Write, check and show case files.")


@app.command()
def new(
    path: StarterPath = None,
    as_json: JsonFlag = False,
    force: Force = False,
) -> None:
    """Write a commented case file to start from."""
    starter = Starter("case", Case, say("A case"), starter_text())
    write_starter(path, starter, "woold case check", as_json, force)


@app.command()
def check(
    case_path: CasePath,
    as_typed: AsTyped = None,
    as_json: JsonFlag = False,
    units: Units = "both",
) -> None:
    """Check a case file, and show every value with where it came from."""
    case = read_case(case_path, as_typed or ())
    prediction = predict(case)
    inputs = case.inputs()
    if as_json:
        from woold.cli.documents import CaseDocument, CaseInput, CaseThing

        print_json(
            CaseDocument(
                title=case.title,
                inputs=tuple(
                    CaseInput(
                        field=each.field,
                        value=each.value,
                        unit=KINDS[each.kind].unit
                        if each.kind in KINDS
                        else each.kind.replace("money", case.currency),
                        origin=each.origin.words(),
                        is_placeholder=each.origin.is_placeholder,
                        low=each.origin.low,
                        high=each.origin.high,
                    )
                    for each in inputs
                ),
                made_of=tuple(
                    CaseThing(each.kind, each.name, each.version, each.hash)
                    for each in case.made_of
                ),
                findings=prediction.findings,
            )
        )
        return
    out = console()
    brief = Wording(units=table_units(out, units))
    print_findings(out, prediction.findings)
    print_blocks(out, [input_table(case, case.title or case_path, brief)])
    if case.made_of:
        from woold.shelf.rows import made_of_table

        print_blocks(out, [made_of_table(case.made_of)])
    count = len(case.placeholders())
    found = (
        say("The case can be predicted. One of its values is a placeholder.")
        if count == 1
        else say("The case can be predicted. {count} of its values are placeholders.", count=count)
    )
    out.print(Text(found))
