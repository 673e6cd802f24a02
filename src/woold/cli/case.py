"""`woold case`: write a commented case file, check one, show what it says and where from."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rich.text import Text

from woold.case.file import read_case, starter_text
from woold.case.model import Case
from woold.case.schema import schema_text
from woold.cli.blocks import print_blocks
from woold.cli.output import (
    AsTyped,
    CasePath,
    JsonFlag,
    Units,
    console,
    new_app,
    print_findings,
    print_json,
    table_units,
)
from woold.errors import InputError
from woold.prediction.input_rows import input_table
from woold.prediction.predict import predict
from woold.rows.wording import Wording
from woold.units import KINDS
from woold.words import say

__all__ = ["app"]

app = new_app("Write, check and show case files.")

SCHEMA = "case.schema.json"
"""File that is written beside a new case."""


@app.command()
def new(
    path: Annotated[
        str | None, typer.Argument(metavar="[FILE]", help="File to write; standard output if none.")
    ] = None,
) -> None:
    """Write a commented case file to start from."""
    if path is None:
        print(starter_text(), end="")
        return
    target = Path(path)
    schema = target.with_name(SCHEMA)
    try:
        with target.open("x", encoding="utf-8") as stream:
            stream.write(f"#:schema {SCHEMA}\n{starter_text()}")
        schema.write_text(schema_text(Case, say("A case")), encoding="utf-8")
    except FileExistsError:
        raise InputError.one(
            str(target),
            say("a file that exists"),
            say("a new file name"),
            say("Nothing was changed."),
        ) from None
    except OSError as error:
        raise InputError.one(
            str(target),
            error.strerror or say("cannot be written"),
            say("a file that can be written"),
        ) from None
    print(say("Wrote {file}. Next: {command}", file=target, command=f"woold case check {target}"))
    print(say("{file} beside it lets editors complete keys and show units.", file=schema))


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
        print_json(
            "case",
            {
                "title": case.title,
                "inputs": [
                    {
                        "field": each.field,
                        "value": each.value,
                        "unit": KINDS[each.kind].unit if each.kind in KINDS else each.kind,
                        "origin": each.origin.words(),
                        "is_placeholder": each.origin.is_placeholder,
                        "low": each.origin.low,
                        "high": each.origin.high,
                    }
                    for each in inputs
                ],
                "findings": [
                    {"code": each.code, "field": each.field, "message": each.message}
                    for each in prediction.findings
                ],
            },
        )
        return
    out = console()
    brief = Wording(units=table_units(out, units))
    print_blocks(out, [input_table(case, case.title or case_path, brief)])
    count = len(case.placeholders())
    found = (
        say("The case can be predicted. One of its values is a placeholder.")
        if count == 1
        else say("The case can be predicted. {count} of its values are placeholders.", count=count)
    )
    out.print(Text(found))
    out.print()
    print_findings(out, prediction.findings)
