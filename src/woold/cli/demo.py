"""`woold demo`: every command on the invented scenario, in a folder of its own."""

from __future__ import annotations

import importlib.util
import shlex
import subprocess
import sys
from pathlib import Path
from typing import Annotated

import typer

from woold.cli.output import console, new_app, print_cautions
from woold.demo.scenario import NOTICE, STEPS, write_scenario
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
) -> None:
    """Run every command on an invented scenario, and keep what each printed."""
    folder = Path(out)
    try:
        write_scenario(folder)
    except OSError as error:
        raise InputError.one(
            "--out", f"{folder} ({error.strerror})", say("a folder that can be written")
        ) from None
    screen = console()
    screen.print(say(NOTICE), style="bold", markup=False)
    spoken = () if language() == ENGLISH else ("--language", language())
    for number, step in enumerate(STEPS, start=1):
        words = (*spoken, *step.arguments)
        line = shlex.join(("woold", *words))
        screen.print(f"\n{number}. {say(step.says)}\n$ {line}\n", style="bold", markup=False)
        if step.needs and importlib.util.find_spec(step.needs) is None:
            left_out = say(
                "Left out: it needs {package}, which an extra of woold installs.",
                package=step.needs,
            )
            print(left_out)
            continue
        done = subprocess.run(
            [sys.executable, "-m", "woold", *words],
            cwd=folder,
            capture_output=True,
            text=True,
            check=False,
        )
        (folder / f"{number:02d}-{step.arguments[0]}.txt").write_text(
            f"$ {line}\n\n{done.stdout}{done.stderr}", encoding="utf-8"
        )
        lines = (done.stdout + done.stderr).splitlines()
        shown = lines if full else lines[:_LONGEST_SHOWN]
        print("\n".join(shown))
        if len(lines) > len(shown):
            more = len(lines) - len(shown)
            print(say("… more lines in the demo's folder: {more}", more=more))
        if done.returncode != step.exit_status:
            ended = say("This step ended with status {status}.", status=done.returncode)
            screen.print(ended, style="bold")
            raise typer.Exit(1)
    where = say("Every file of the demo is in {folder}", folder=folder.resolve())
    screen.print(f"\n{where}", style="bold", markup=False)
    for page in sorted((*folder.glob("*.html"), *folder.glob("*.pdf"))):
        screen.print(f"  {page.name}", markup=False)
    browser = say("The workbench in the browser: woold serve, then its Bench page.")
    screen.print(browser, markup=False)
    print_cautions(screen, CAUTIONS)
