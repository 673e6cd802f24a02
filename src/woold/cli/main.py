"""The `woold` command: its groups, and the one place where errors become messages."""

from __future__ import annotations

import gc
import importlib
import json
import os
import sys
from collections.abc import Sequence
from typing import Any, NoReturn

import typer

import woold
from woold.cli.spoken_help import SpokenGroup
from woold.cli.usage import ClickException, unknown_command, usage_problem
from woold.errors import Problem, WooldError, missing_extra
from woold.words import ENGLISH, say, to_say

__all__ = ["run"]

BAD_INPUT = 2
"""Exit status for input that cannot be used."""
UNFORESEEN = 70
"""Exit status for a fault of the program's own."""

_SELDOM = 50_000
"""New things after which the collector looks for circles [-]."""

_COMMANDS = {
    "account": ("woold.cli.account", to_say("Who may sign in to woold serve.")),
    "carriage": (
        "woold.cli.carriage",
        to_say("One film carriage, two side by side, or a shelf of films for one."),
    ),
    "case": ("woold.cli.case", to_say("Write, check and show case files.")),
    "dancer": (
        "woold.cli.dancer_film",
        to_say("Springs, cycle, tuning, recorded traces and films of the dancer."),
    ),
    "design": ("woold.cli.design", to_say("The least film that holds, with what binds it.")),
    "demo": ("woold.cli.demo", to_say("Run every command on an invented scenario.")),
    "film": ("woold.cli.film", to_say("Fit a film's curve to a tensile test.")),
    "learn": (
        "woold.cli.learn",
        to_say("What trials teach, and what it says of the next load."),
    ),
    "line": (
        "woold.cli.line_wear",
        to_say("One carriage for every machine, film and load of a plant."),
    ),
    "predict": ("woold.cli.predict", to_say("Film use, cover, hold and time of one wrapped load.")),
    "quote": (
        "woold.cli.quote",
        to_say("What another carriage may save, from five facts that a customer knows."),
    ),
    "serve": ("woold.cli.serve", to_say("The workbench in the browser.")),
    "shelf": (
        "woold.cli.shelf",
        to_say("Films, carriages, machines, loads and recipes, kept once and by name."),
    ),
    "store": (
        "woold.cli.store",
        to_say("Whether the store of records is sound, and copies of it."),
    ),
    "trial": ("woold.cli.trial", to_say("Trials: plan, sheets, records, analysis, calibration.")),
    "sites": ("woold.cli.sites", to_say("Many trials into one claim.")),
    "watch": ("woold.cli.watch", to_say("Charts of cycle records; alarms when a saving drifts.")),
    "transport": (
        "woold.cli.transport",
        to_say("Does the wrapped load stand its way: an estimate."),
    ),
    "report": (
        "woold.cli.report_line_plan",
        to_say("Reports and set-up sheets, as a page or on paper."),
    ),
}
"""Each command's module, which has an ``app``, and its line of help."""


class _LateGroup(SpokenGroup):
    """A group that imports a command only when it is called, so that --help stays quick."""

    def list_commands(self, ctx: Any) -> list[str]:  # noqa: ARG002
        return sorted(_COMMANDS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        if cmd_name.startswith("-"):
            return None
        if cmd_name not in _COMMANDS:
            raise unknown_command(ctx, cmd_name, list(_COMMANDS))
        app: typer.Typer = importlib.import_module(_COMMANDS[cmd_name][0]).app
        return typer.main.get_command(app)

    def format_commands(self, ctx: Any, formatter: Any) -> None:  # noqa: ARG002
        with formatter.section(say("Commands")):
            formatter.write_dl([(name, say(_COMMANDS[name][1])) for name in sorted(_COMMANDS)])


app = typer.Typer(
    cls=_LateGroup,
    add_completion=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _show_version(is_asked: bool) -> None:
    if is_asked:
        print(f"woold {woold.__version__}")
        raise typer.Exit


@app.callback()
def woold_command(
    version: bool = typer.Option(
        False, "--version", is_eager=True, callback=_show_version, help="Show the version."
    ),
    language: str = typer.Option(ENGLISH, "--language", help="Tag of the language to speak."),
) -> None:
    """Predict, match, dial in, test and compare stretch-film wrapping of pallet loads."""


def _speak_as_asked(words: Sequence[str]) -> None:
    """Speak the language asked for before anything is said: --help is said as well."""
    tag = os.environ.get("WOOLD_LANGUAGE", ENGLISH)
    for index, word in enumerate(words):
        option, equals, value = word.partition("=")
        if option == "--language":
            tag = value if equals else "".join(words[index + 1 : index + 2])
    if tag != ENGLISH:
        from woold.cli.output import speak

        speak(tag)


def run() -> None:
    """Run the command line: 0 done, 1 a finding that fails the asked check, 2 bad input."""
    # A command makes many things that last until its end: looking through them saves nothing.
    gc.set_threshold(_SELDOM)
    # Ours are small matrices: threads that wait for each other cost ten times the work when the
    # machine is busy. numpy reads it when it is loaded, which no command has done yet.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    for name in ("stdout", "stderr"):  # none where it was closed before we began
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115
    try:
        if "_WOOLD_COMPLETE" in os.environ:
            importlib.import_module("typer.completion").completion_init()
        _speak_as_asked(sys.argv[1:])
        code = _status()
        sys.stdout.flush()
        # Nor does a last look at the end, which would take as long as many a command.
        gc.freeze()
        sys.exit(code)
    except ClickException as error:
        _refuse((usage_problem(error),))
    except WooldError as error:
        _refuse(error.problems)
    except ModuleNotFoundError as error:
        missing = missing_extra(error)
        if missing is None:
            _unforeseen(error)
        else:
            _refuse(missing.problems)
    except typer.Abort:
        sys.exit(1)
    except BrokenPipeError:
        # The reader of our output has gone (for instance `| head`): nothing is wrong.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
    except Exception as error:
        _unforeseen(error)


def _status() -> Any:
    """What the command ends with.

    Raises:
        BrokenPipeError: the reader of its output has gone.
    """
    before = sys.stdout
    try:
        return app(standalone_mode=False, prog_name="woold")
    except SystemExit:
        # Typer ends with 1 when the reader has gone, and puts a stream of its own in place.
        if type(sys.stdout).__name__ == "PacifyFlushWrapper":
            sys.stdout = before
            raise BrokenPipeError from None
        raise


def _refuse(problems: Sequence[Problem]) -> NoReturn:
    """Say what cannot be used; as a document where one was asked for."""
    _print_errors(problems)
    for problem in problems:
        print(f"woold: {problem}", file=sys.stderr)
    sys.exit(BAD_INPUT)


def _print_errors(problems: Sequence[Problem]) -> None:
    """The document of what went wrong, where one was asked for."""
    if "--json" in sys.argv:
        from woold.rows.document import errors_document

        json.dump(errors_document(tuple(problems)), sys.stdout, indent=2, ensure_ascii=False)
        sys.stdout.write("\n")


def _unforeseen(error: Exception) -> NoReturn:
    if os.environ.get("WOOLD_TRACEBACK"):
        raise error
    problem = Problem(
        "woold",
        say("something unforeseen went wrong: {error}", error=f"{type(error).__name__}: {error}"),
        say("nothing was changed"),
        say("Run again with {setting} and report what it prints.", setting="WOOLD_TRACEBACK=1"),
    )
    _print_errors((problem,))
    print(f"{problem.field}: {problem.given}. {problem.todo}", file=sys.stderr)
    sys.exit(UNFORESEEN)
