"""What every command prints alike: JSON documents, groups of values, findings, cautions."""

from __future__ import annotations

import json
import os
import re
import sys
from collections.abc import Iterable, Sequence
from typing import Annotated, Any, TextIO

import typer
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from woold.cli.spoken_help import SpokenCommand, SpokenGroup, speak_typer
from woold.errors import InputError
from woold.prediction.result import Finding
from woold.rows.document import JsonDocument
from woold.rows.tied import in_lines
from woold.units import UnitSystem
from woold.words import languages, say, set_language

__all__ = [
    "AsTyped",
    "CasePath",
    "FileFirstGroup",
    "JsonFlag",
    "PlotPath",
    "StarterPath",
    "Units",
    "console",
    "new_app",
    "of_case_and_shelf",
    "print_cautions",
    "print_findings",
    "print_json",
    "print_rows",
    "speak",
    "table_units",
]

_WIDE = 110
_PIPED = 240
"""Width where nobody looks at a screen: the widest table fits."""

CasePath = Annotated[str, typer.Argument(metavar="CASE.toml", help="The case file.")]
StarterPath = Annotated[
    str | None, typer.Argument(metavar="[FILE]", help="File to write; standard output if none.")
]
AsTyped = Annotated[
    list[str] | None,
    typer.Option(
        "--as-typed",
        metavar="FIELD",
        help="A field that was asked about is right as typed; may be given again.",
    ),
]
JsonFlag = Annotated[bool, typer.Option("--json", help="Print one JSON document in SI units.")]
PlotPath = Annotated[
    str | None, typer.Option("--plot", metavar="FILE", help="Draw to FILE (.svg, .png or .pdf).")
]
Units = Annotated[UnitSystem, typer.Option("--units", help="Units shown: trade, si or both.")]


def of_case_and_shelf(as_typed: Sequence[str] | None) -> tuple[list[str], list[str]]:
    """Fields that are right as typed: those of a case, and those of a shelf of films."""
    given = as_typed or ()
    shelf = [each for each in given if each.startswith("films")]
    return [each for each in given if each not in shelf], shelf


class FileFirstGroup(SpokenGroup):
    """A group whose first command may be left out before a file: `carriage CASE.toml`."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        if args and args[0] not in self.commands and re.search(r"[./\\]", args[0]):
            args = [next(iter(self.commands)), *args]
        return super().parse_args(ctx, args)


class _App(typer.Typer):
    """Commands whose help speaks the reader's language."""

    def command(self, name: str | None = None, **settings: Any) -> Any:
        return super().command(name, **({"cls": SpokenCommand} | settings))


def new_app(help_text: str | None = None, group: type[SpokenGroup] = SpokenGroup) -> typer.Typer:
    """A command or a group of commands, plain in its help."""
    return _App(
        cls=group,
        help=help_text,
        add_completion=False,
        rich_markup_mode=None,
        context_settings={"help_option_names": ["-h", "--help"]},
    )


def speak(tag: str) -> None:
    """Speak this language from here on.

    Raises:
        InputError: there is no catalogue of that language.
    """
    speak_typer()
    try:
        set_language(tag)
    except KeyError:
        raise InputError.one(
            "--language",
            tag,
            say("one of {tags}", tags=", ".join(languages())),
            say("Choose one of them, or add its catalogue to the folder that WOOLD_WORDS names."),
        ) from None


class _Lean:
    """Standard output without blanks at the ends of lines, which a table leaves there."""

    def __init__(self, stream: TextIO) -> None:
        self.stream, self.kept = stream, ""

    def write(self, text: str) -> int:
        lines = (self.kept + text).split("\n")
        self.kept = lines.pop()
        for line in lines:
            self.stream.write(f"{line.rstrip(' ')}\n")
        return len(text)

    def flush(self) -> None:
        """What has no end of line yet is kept until it has one."""
        self.stream.flush()

    def isatty(self) -> bool:
        """Never: a terminal is written to as it is."""
        return False

    @property
    def encoding(self) -> str:
        """Of the stream."""
        return self.stream.encoding or "utf-8"


class _Output(Console):
    """A console whose reader may go away without anything being wrong."""

    def on_broken_pipe(self) -> None:
        raise BrokenPipeError


def console() -> Console:
    """A console for standard output that neither breaks nor colours numbers by itself.

    Where it is no terminal, lines are as long as they are and end where their text ends; the
    setting COLUMNS bounds them all the same.
    """
    if sys.stdout.isatty():
        return _Output(highlight=False, soft_wrap=False, emoji=False)
    asked = os.environ.get("COLUMNS", "")
    width = int(asked) if asked.isdigit() and 20 <= int(asked) <= 1000 else _PIPED
    lean: Any = _Lean(sys.stdout)
    return _Output(file=lean, width=width, highlight=False, soft_wrap=False, emoji=False)


def table_units(out: Console, units: UnitSystem) -> UnitSystem:
    """Units of a table: both only where the screen is wide enough for them."""
    if units != "both" or out.width >= _WIDE:
        return units
    if sys.stdout.isatty():
        told = say("Tables show SI units alone on a narrow screen; --units trade shows the others.")
        Console(stderr=True).print(Text(told, style="dim"))
    return "si"


def print_json(document: JsonDocument) -> None:
    """One JSON document and nothing else.

    Args:
        document: a result, or what a command did.
    """
    json.dump(document.to_dict(), sys.stdout, indent=2, allow_nan=False, ensure_ascii=False)
    sys.stdout.write("\n")


def print_rows(out: Console, heading: str, rows: Iterable[tuple[str, ...]]) -> None:
    """A heading, and below it rows: names with their values, ranges and notes."""
    table = Table.grid(padding=(0, 2))
    table.add_column(no_wrap=True)
    table.add_column()
    for name, *told in rows:
        table.add_row(Text(name), Text("  ".join(each for each in told if each)))
    out.print(Text(heading, style="bold"))
    out.print(Padding(table, (0, 0, 1, 2)))


def print_findings(out: Console, findings: Sequence[Finding]) -> None:
    """Every finding with the field to change."""
    if not findings:
        return
    out.print(Text(say("Findings"), style="bold"))
    for finding in findings:
        told = in_lines(f"{finding.field}: {finding.message}", out.width - 2)
        out.print(Padding(Text(told), (0, 0, 0, 2)))
    out.print()


def print_cautions(out: Console, cautions: Sequence[str]) -> None:
    """The usual cautions."""
    out.print(Text(say("Take care"), style="bold"))
    for caution in cautions:
        out.print(Padding(Text(in_lines(say(caution), out.width - 2)), (0, 0, 0, 2)))
