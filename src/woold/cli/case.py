"""`woold case`: write a commented case file, check one, show what it says and where from."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from woold.case.file import read_case, starter_text
from woold.cli.output import (
    CasePath,
    JsonFlag,
    Units,
    console,
    new_app,
    print_json,
    print_table,
    table_units,
)
from woold.errors import InputError
from woold.prediction.predict import predict
from woold.units import KINDS, show
from woold.words import say

__all__ = ["app"]

app = new_app("Write, check and show case files.")


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
    try:
        with target.open("x", encoding="utf-8") as stream:
            stream.write(starter_text())
    except FileExistsError:
        raise InputError.one(
            str(target),
            say("a file that exists"),
            say("a new file name"),
            say("Nothing was changed."),
        ) from None
    except OSError as error:
        raise InputError.one(
            str(target), error.strerror or "cannot be written", say("a file that can be written")
        ) from None
    print(f"Wrote {target}. Next: woold case check {target}")


@app.command()
def check(case_path: CasePath, as_json: JsonFlag = False, units: Units = "both") -> None:
    """Check a case file, and show every value with where it came from."""
    case = read_case(case_path)
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
    units = table_units(out, units)
    print_table(
        out,
        case.title or case_path,
        ("field", "value", "origin"),
        [
            (
                each.field,
                show(each.value, each.kind, units) if each.kind in KINDS else f"{each.value:g}",
                ("placeholder: " if each.origin.is_placeholder else "") + each.origin.words(),
            )
            for each in inputs
        ],
    )
    count = len(case.placeholders())
    out.print(f"The case can be predicted. {count} of its values are placeholders.", markup=False)
    for finding in prediction.findings:
        out.print(f"{finding.field}: {finding.message}", markup=False)
