"""`woold demo`: a story in twelve steps, or every command, on the invented scenario."""

from __future__ import annotations

import importlib.util
import os
import shlex
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

import typer

from woold.cli.output import JsonFlag, console, new_app, print_cautions, print_json
from woold.cli.progress import working
from woold.demo.scenario import NOTICE, STEPS, Step, write_scenario
from woold.demo.story import STORY, TO_OPEN, story_cautions
from woold.errors import InputError
from woold.prediction.result import CAUTIONS
from woold.words import ENGLISH, language, say

__all__ = ["app"]

app = new_app()

_LONGEST_SHOWN = 40
_LONGEST_TOLD = 52
_COLUMNS = 80


@app.command()
def demo(
    out: Annotated[
        str, typer.Option("--out", metavar="FOLDER", help="Folder that the demo writes to.")
    ] = "woold-demo",
    every: Annotated[
        bool, typer.Option("--all", help="Run every command there is, not the story alone.")
    ] = False,
    full: Annotated[bool, typer.Option("--full", help="Show every line of output.")] = False,
    as_json: JsonFlag = False,
) -> None:
    """Tell a story in twelve steps on an invented scenario, and keep what each printed."""
    folder, steps = Path(out), STEPS if every else STORY
    try:
        with working(say("Writing the scenario's files")):
            write_scenario(folder, steps)
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
    for number, step in enumerate(steps, start=1):
        if not as_json:
            title = f"\n{number}. {say(step.says)}\n$ {_line(step)}\n"
            screen.print(title, style="bold", markup=False)
        with working(say("Running")):
            each = _ran(number, step, folder)
        ran.append(each)
        if not as_json:
            _show_output(each, full, every)
        if each.status not in (None, step.exit_status):
            if not as_json:
                ended = say("This step ended with status {status}.", status=each.status)
                screen.print(ended, style="bold")
            break
    if as_json:
        _print_document(folder, ran)
    elif len(ran) == len(steps):
        _show_files(folder, every)
    if len(ran) < len(steps) or each.status not in (None, step.exit_status):
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
        env={**os.environ, "COLUMNS": str(console().width if _is_narrow() else _COLUMNS)},
    )
    file = folder / f"{number:02d}-{step.arguments[0]}.txt"
    output = done.stdout + done.stderr
    file.write_text(f"$ {line}\n\n{output}", encoding="utf-8")
    return _Ran(line, output, done.returncode, file)


def _is_narrow() -> bool:
    """Whether a screen shows less than a usual line."""
    return sys.stdout.isatty() and console().width < _COLUMNS


def _show_output(ran: _Ran, full: bool, every: bool) -> None:
    lines = ran.output.splitlines()
    if not every:
        lines = _without_cautions(lines)
    shown = lines if full else lines[:_LONGEST_SHOWN] if every else _first_parts(lines)
    print("\n".join(shown))
    if len(lines) > len(shown):
        more = len(lines) - len(shown)
        print(say("… more lines in {file}: {more}", file=ran.file and ran.file.name, more=more))


def _first_parts(lines: list[str]) -> list[str]:
    """As much of an output as a screen shows, up to the end of a part: answers come first."""
    if len(lines) <= _LONGEST_TOLD:
        return lines
    ends = [place for place, line in enumerate(lines[:_LONGEST_TOLD]) if not line]
    return lines[: ends[-1] + 1 if ends else _LONGEST_TOLD]


def _without_cautions(lines: list[str]) -> list[str]:
    """What a step printed but the cautions at its end: the story says them once, at its own."""
    heads = [place for place, line in enumerate(lines) if line == say("Take care")]
    if not heads:
        return lines
    start = heads[-1]
    end = next(
        (place for place, line in enumerate(lines[start + 1 :], start + 1)
         if line and not line.startswith(" ")),
        len(lines),
    )  # fmt: skip
    kept = [*lines[:start], *lines[end:]]
    while kept and not kept[-1]:
        kept.pop()
    return kept


def _show_files(folder: Path, every: bool) -> None:
    """What to open, where everything is, and what to take care of."""
    screen = console()
    print()
    if every:
        where = say("Every file of the demo is in {folder}", folder=folder.resolve())
        screen.print(where, style="bold", markup=False, soft_wrap=True)
        for page in sorted((*folder.glob("*.html"), *folder.glob("*.pdf"))):
            screen.print(f"  {page.name}", markup=False)
    else:
        print_cautions(screen, story_cautions())
        screen.print()
        where = say("What to open, in {folder}", folder=folder.resolve())
        screen.print(where, style="bold", markup=False, soft_wrap=True)
        for name, what in TO_OPEN:
            screen.print(f"  {name:<20} {say(what)}", markup=False)
    browser = say("The workbench in the browser: woold serve, then its Bench page.")
    screen.print(browser, markup=False)
    if every:
        print_cautions(screen, CAUTIONS)
    else:
        screen.print(say("Every other command: woold demo --all"), markup=False)


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
