"""`woold demo`: every command on the invented scenario, in a folder of its own."""

from __future__ import annotations

import importlib.util
import shlex
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

import typer

from woold.cli.output import JsonFlag, console, new_app, print_cautions, print_json
from woold.demo.scenario import NOTICE, STEPS, Step, write_scenario
from woold.errors import InputError
from woold.prediction.result import CAUTIONS
from woold.words import ENGLISH, language, say

__all__ = ["app"]

app = new_app()

_LONGEST_SHOWN = 40


@app.command()
def demo(
    out: Annotated[
        str, typer.Option("--out", metavar="FOLDER", help="Folder that the demo writes to.")
    ] = "woold-demo",
    full: Annotated[bool, typer.Option("--full", help="Show every line of output.")] = False,
    as_json: JsonFlag = False,
) -> None:
    """Run every command on an invented scenario, and keep what each printed."""
    folder = Path(out)
    try:
        write_scenario(folder)
    except OSError as error:
        raise InputError.one(
            "--out",
            f"{folder} ({error.strerror})",
            say("a folder that can be written"),
            say("Choose another folder, or make room."),
        ) from None
    screen = console()
    if not as_json:
        screen.print(say(NOTICE), style="bold", markup=False)
    ran = []
    for number, step in enumerate(STEPS, start=1):
        if not as_json:
            title = f"\n{number}. {say(step.says)}\n$ {_line(step)}\n"
            screen.print(title, style="bold", markup=False)
        each = _ran(number, step, folder)
        ran.append(each)
        if not as_json:
            _show_output(each, full)
        if each.status not in (None, step.exit_status):
            if not as_json:
                ended = say("This step ended with status {status}.", status=each.status)
                screen.print(ended, style="bold")
            break
    if as_json:
        _print_document(folder, ran)
    elif len(ran) == len(STEPS):
        _show_files(folder)
    if len(ran) < len(STEPS) or each.status not in (None, step.exit_status):
        raise typer.Exit(1)


@dataclass(frozen=True, slots=True)
class _Ran:
    """What a step printed, and how it ended; no status where it was left out."""

    command: str
    output: str
    status: int | None
    file: Path | None


def _line(step: Step) -> str:
    """The step's command, in the reader's language."""
    spoken = () if language() == ENGLISH else ("--language", language())
    return shlex.join(("woold", *spoken, *step.arguments))


def _ran(number: int, step: Step, folder: Path) -> _Ran:
    """Run a step in the reader's language, and keep what it printed."""
    line = _line(step)
    if step.needs and importlib.util.find_spec(step.needs) is None:
        left_out = say(
            "Left out: it needs {package}, which an extra of woold installs.", package=step.needs
        )
        return _Ran(line, left_out, None, None)
    done = subprocess.run(
        [sys.executable, "-m", *shlex.split(line)],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )
    file = folder / f"{number:02d}-{step.arguments[0]}.txt"
    output = done.stdout + done.stderr
    file.write_text(f"$ {line}\n\n{output}", encoding="utf-8")
    return _Ran(line, output, done.returncode, file)


def _show_output(ran: _Ran, full: bool) -> None:
    lines = ran.output.splitlines()
    shown = lines if full else lines[:_LONGEST_SHOWN]
    print("\n".join(shown))
    if len(lines) > len(shown):
        more = len(lines) - len(shown)
        print(say("… more lines in the demo's folder: {more}", more=more))


def _show_files(folder: Path) -> None:
    """Where everything is."""
    screen = console()
    where = say("Every file of the demo is in {folder}", folder=folder.resolve())
    screen.print(f"\n{where}", style="bold", markup=False)
    for page in sorted((*folder.glob("*.html"), *folder.glob("*.pdf"))):
        screen.print(f"  {page.name}", markup=False)
    browser = say("The workbench in the browser: woold serve, then its Bench page.")
    screen.print(browser, markup=False)
    print_cautions(screen, CAUTIONS)


def _print_document(folder: Path, ran: list[_Ran]) -> None:
    from woold.cli.documents import DemoDocument, StepDone

    steps = (
        StepDone(
            command=each.command,
            state="left out" if each.status is None else "done",
            exit_status=each.status,
            file=None if each.file is None else each.file.name,
        )
        for each in ran
    )
    print_json(DemoDocument(str(folder.resolve()), tuple(steps)))
