"""The invented scenario: its files, and the commands that show every part of woold on it."""

from __future__ import annotations

import importlib.resources
import itertools
from dataclasses import dataclass
from pathlib import Path

from woold.demo.customer import QUOTE
from woold.demo.dancer_traces import write_bouncing_trace, write_smooth_trace
from woold.demo.file_schemas import schema_texts
from woold.demo.invented_film import write_film
from woold.demo.invented_records import write_cycles, write_fleet, write_sites
from woold.demo.line_loads import write_line_loads
from woold.demo.line_register import write_register
from woold.words import to_say

__all__ = ["IN_STORE", "NOTICE", "STEPS", "STORE", "Step", "write_filled_sheets", "write_scenario"]

NOTICE = to_say(
    "An invented scenario: no plant, product, film, machine or number in it belongs to anyone."
)


@dataclass(frozen=True, slots=True)
class Step:
    """One command of the demo.

    Args:
        says: what it shows; said where it is shown.
        arguments: words behind ``woold``; paths are relative to the demo's folder.
        exit_status: what it must end with.
        needs: package of an extra, without which the step is left out.
    """

    says: str
    arguments: tuple[str, ...]
    exit_status: int = 0
    needs: str = ""


TRIAL = "invented-line-1"
STORE = ("--store", "records.sqlite")
IN_STORE = (*STORE, "--by", "AB")

STEPS: tuple[Step, ...] = (
    Step(to_say("A case file to start from"), ("case", "new", "starter.toml")),
    Step(to_say("What a case says, and where each value is from"), ("case", "check", "today.toml")),
    Step(
        to_say("What one load takes and holds"),
        ("predict", "today.toml", "--sure", "--plot", "wrapped-load.svg"),
    ),
    Step(
        to_say("Which inputs matter most"),
        ("predict", "today.toml", "--all", "--sensitivity", "--units", "si"),
    ),
    Step(
        to_say("The film carriage of today"),
        ("carriage", "today.toml", "--plot", "carriage-today.svg"),
    ),
    Step(
        to_say("Another film carriage"),
        ("carriage", "show", "candidate.toml", "--plot", "carriage-candidate.svg"),
    ),
    Step(
        to_say("The two on the same load"),
        ("carriage", "compare", "today.toml", "candidate.toml", "--plot", "two-carriages.svg"),
    ),
    Step(
        to_say("Does the wrapped load stand a tilt or acceleration test: an estimate"),
        ("transport", "today.toml", "--plot", "moved-stack.svg"),
    ),
    Step(
        to_say("The same over time: slips of each tier, and the stack as it moves"),
        ("transport", "today.toml", "--simulate", "--plot", "stack-motion.svg"),
    ),
    Step(
        to_say("The least film that holds it, and what else would do"),
        (
            *("design", "today.toml", "--shelf", "films.toml", "--profiled"),
            *("--plot", "design-front.svg"),
        ),
    ),
    Step(
        to_say("The two as a report, with what each holds"),
        ("report", "carriages", "today.toml", "candidate.toml"),
    ),
    Step(to_say("Films that suit it"), ("carriage", "match", "candidate.toml", "films.toml")),
    Step(
        to_say("A film's curve from its tensile test"),
        ("film", "fit", "tensile-test.csv", "--plot", "film-curve.svg"),
    ),
    Step(
        to_say("Ten sites' trials: what may be claimed, and whether a typed claim stands"),
        (
            "sites",
            "pool",
            "sites.csv",
            "--at-least",
            "3 %",
            "--claim",
            "5 % on average, up to 15 %",
            "--plot",
            "sites.png",
        ),
        exit_status=1,
    ),
    Step(
        to_say("Whether the saving stays: cycle records of two machines, one of which has changed"),
        ("watch", "loads", "cycles.csv", "--settings", "watch.toml", "--page", "watch.html"),
        exit_status=1,
    ),
    Step(
        to_say("A whole fleet from Parquet files"),
        ("watch", "fleet", "fleet/*.parquet", "--settings", "watch.toml"),
        exit_status=1,
        needs="ibis",
    ),
    Step(to_say("The same for programs"), ("predict", "today.toml", "--json")),
    Step(
        to_say("Who may sign in to the server"),
        ("account", "set", "technician", "--password-file", "password.txt", *STORE),
    ),
    Step(
        to_say("Who may do less from now on"),
        ("account", "role", "technician", "--role", "view", *STORE),
    ),
    Step(to_say("Everybody who may"), ("account", "list", *STORE)),
    Step(to_say("And may no more"), ("account", "remove", "technician", *STORE)),
    Step(
        to_say("Which spring in which hole of the dancer"),
        ("dancer", "springs", "today.toml", "--plot", "dancer-springs.svg"),
    ),
    Step(
        to_say("The dancer over one cycle"),
        ("dancer", "simulate", "today.toml", "--plot", "dancer-cycle.svg"),
    ),
    Step(
        to_say("How fast it may turn, and which spring, hole and gain pass the corners best"),
        ("dancer", "tune", "today.toml", "--fastest", "45 rpm", "--plot", "dancer-tuning.svg"),
    ),
    Step(
        to_say("A recorded dancer that bounces"),
        (
            "dancer",
            "trace",
            "bouncing-dancer.csv",
            "--stops",
            "-30 deg",
            "30 deg",
            "--plot",
            "bouncing-dancer.svg",
        ),
    ),
    Step(
        to_say("A smooth one, with the model fitted to it"),
        (
            "dancer",
            "trace",
            "smooth-dancer.csv",
            "--case",
            "today.toml",
            "--fit",
            "inertia,damping,film_stiffness",
            "--plot",
            "smooth-dancer.svg",
        ),
    ),
    Step(
        to_say("Tags to print, with which a phone can film the dancer"),
        ("dancer", "tags", "--out", "dancer-tags.pdf"),
        needs="cv2",
    ),
    Step(
        to_say("The dancer that bounces once more, as a phone films it"),
        (
            *("dancer", "video", "bouncing-dancer.avi", "--still", "dancer-still.png"),
            *("--trace", "filmed-dancer.csv", "--report", "filmed-dancer.pdf"),
        ),
        needs="cv2",
    ),
    Step(
        to_say("A report of how it stands its transport"),
        ("report", "transport", "today.toml", "--out", "transport.pdf"),
    ),
    Step(to_say("A report of the prediction"), ("report", "prediction", "today.toml")),
    Step(
        to_say("One page for the operator"), ("report", "sheet", "today.toml", "--paper", "letter")
    ),
    Step(to_say("A report of its way"), ("report", "transport", "today.toml")),
    Step(
        to_say("A report of the least film that holds"),
        ("report", "design", "today.toml", "--shelf", "films.toml", "--out", "design.pdf"),
    ),
    Step(to_say("A trial file to start from"), ("trial", "new", "starter-trial.toml")),
    Step(
        to_say("How many loads a trial needs, and in which order"),
        ("trial", "plan", "trial.toml", "--start", "--plot", "trial-plan.svg", *IN_STORE),
    ),
    Step(
        to_say("The sheets to write it down on"),
        ("trial", "sheet", TRIAL, "--out", "sheet.xlsx", "--form", "form.pdf", *STORE),
    ),
    Step(
        to_say("Grams in a column of kilograms are asked about, and nothing is kept"),
        ("trial", "import", "wrong-unit.csv", "--trial", TRIAL, *IN_STORE),
        exit_status=2,
    ),
    Step(
        to_say("The filled sheet goes into the store"),
        ("trial", "import", "filled.xlsx", *IN_STORE),
    ),
    Step(
        to_say("A correction adds to the record, with its reason"),
        (
            *("trial", "correct", TRIAL, "--load", "3", "--field", "notes"),
            *("--value", "corner board slipped", "--reason", "left on the paper", *IN_STORE),
        ),
    ),
    Step(
        to_say("A picture of a load"),
        ("trial", "photo", TRIAL, "load-3.png", "--load", "3", *IN_STORE),
    ),
    Step(to_say("Trials in the store"), ("trial", "list", *STORE)),
    Step(
        to_say("How much of the spread is the gauge"),
        ("trial", "gauge", TRIAL, "--plot", "gauge.svg", *STORE),
    ),
    Step(to_say("What the trial says"), ("trial", "analyse", TRIAL, "--plot", "trial.svg", *STORE)),
    Step(
        to_say("What the trial teaches the model"),
        (
            *("trial", "calibrate", TRIAL, "--treatment", "candidate", "--case", "next.toml"),
            *("--out", "calibrated.toml", "--plot", "calibration.svg", *STORE),
        ),
    ),
    Step(
        to_say("What all trials teach together, and what to measure next"),
        (
            *("learn", "--case", "next.toml", "--against", "today.toml", "--at-least", "3 %"),
            *STORE,
        ),
    ),
    Step(to_say("What a customer may save, from five facts"), (*QUOTE, *STORE)),
    Step(to_say("The trial as a page and on paper"), ("report", "trial", TRIAL, *STORE)),
    Step(
        to_say("A shelf of what a plant owns, to start from"),
        ("shelf", "new", "starter-shelf.toml"),
    ),
    Step(to_say("What stands on it"), ("shelf", "check", "plant.toml")),
    Step(to_say("The same, kept in the store"), ("shelf", "keep", "plant.toml", *STORE)),
    Step(to_say("One thing of it"), ("shelf", "show", "thin film", *STORE)),
    Step(to_say("The store's shelf as a file"), ("shelf", "write", "plant-again.toml", *STORE)),
    Step(
        to_say("What changed there since a case was made of it"),
        ("shelf", "since", "named.toml", *STORE),
        exit_status=1,
    ),
    Step(
        to_say("A line of machines, carriages, films and loads, to start from"),
        ("line", "new", "starter-line.toml"),
    ),
    Step(
        to_say("What an invented one holds: six machines, four carriages, 5,000 loads"),
        ("line", "check", "line.toml"),
    ),
    Step(
        to_say("Every carriage, machine, film and load of it; here a sample of its loads"),
        ("line", "map", "line.toml", "--sample", "120", "--fresh"),
        needs="polars",
    ),
    Step(
        to_say("Each carriage as the only one of the line, and what that costs in film"),
        ("line", "carriage", "line.toml", "--sample", "200", "--draws", "300"),
        needs="polars",
    ),
    Step(
        to_say("The two as a report"),
        (
            *("report", "line", "line.toml", "--sample", "120", "--draws", "300"),
            *("--out", "line-report.pdf", "--out", "line-report.html"),
        ),
        needs="polars",
    ),
    Step(
        to_say("One combination, and its case for the bench"),
        (
            *("line", "cell", "line.toml", "--carriage", "one for all", "--machine", "hall 6"),
            *("--film", "wide-51", "--load", "load 2", "--case", "from-the-line.toml"),
        ),
    ),
    Step(
        to_say("The fewest springs and holes that serve all of its films and machines"),
        ("line", "kits", "line.toml", "--carriage", "one for all"),
    ),
    Step(
        to_say("The fewest recipes for one of its machines, film by film"),
        (
            *("line", "recipes", "line.toml", "--machine", "T12", "--loss", "3 %"),
            *("--cases", "recipes", "--force"),
        ),
    ),
    Step(
        to_say("Parts, roll changes and duty of the drive with one carriage, beside today's"),
        ("line", "wear", "line.toml", "--carriage", "one for all"),
    ),
    Step(
        to_say("Which machines get a carriage, to start from"),
        ("line", "new-release", "starter-release.toml"),
    ),
    Step(
        to_say("Which of four hundred machines first, and which test is worth most"),
        ("line", "release", "release.toml", "sites.csv"),
    ),
    Step(
        to_say("The same as a report, to be decided on"),
        ("report", "line-plan", "release", "release.toml", "sites.csv", "--out", "release.pdf"),
    ),
    Step(to_say("Whether the store is sound"), ("store", "check", *STORE)),
    Step(to_say("A proven copy of it"), ("store", "backup", "copy.sqlite", *STORE)),
    Step(
        to_say("A new store from that copy"),
        ("store", "restore", "copy.sqlite", "--store", "restored.sqlite"),
    ),
    Step(
        to_say("Everything that is kept, to take away"),
        ("trial", "export", TRIAL, "--out", "trial.zip", *STORE),
    ),
)
"""Every command that ends by itself; a test holds this list against the command line."""


def write_scenario(folder: Path, steps: tuple[Step, ...] = STEPS) -> None:
    """Write the scenario's files into a folder.

    Args:
        folder: made if need be; its files of the same names are replaced.
        steps: whose results of an earlier run are taken away.
    """
    folder.mkdir(parents=True, exist_ok=True)
    for source in importlib.resources.files("woold.demo").joinpath("files").iterdir():
        (folder / source.name).write_bytes(source.read_bytes())
    for name, text in schema_texts().items():
        (folder / name).write_text(text, encoding="utf-8")
    write_bouncing_trace(folder / "bouncing-dancer.csv")
    write_smooth_trace(folder / "smooth-dancer.csv", folder / "today.toml")
    write_film(folder / "bouncing-dancer.avi")
    write_sites(folder / "sites.csv")
    write_cycles(folder / "cycles.csv")
    write_fleet(folder / "fleet")
    write_line_loads(folder / "line-loads.csv")
    write_register(folder / "machines.csv")
    # No command replaces a file, so that the demo can run twice in one folder.
    for name in (*_named_in(steps), *_WRITTEN):
        (folder / name).unlink(missing_ok=True)
    (folder / "password.txt").write_text("an invented password\n", encoding="utf-8")
    write_filled_sheets(folder)


_NEW_FILES = ("new", "--plot", "--page", "--out", "--form", "--still", "--trace", "--report")


def _named_in(steps: tuple[Step, ...]) -> tuple[str, ...]:
    return tuple(
        name
        for step in steps
        for option, name in itertools.pairwise(step.arguments)
        if option in _NEW_FILES
    )


_WRITTEN = (
    *(
        f"{stem}.{ending}"
        for stem in ("today-candidate-report", "today-report", "today-sheet", f"{TRIAL}-report")
        for ending in ("html", "pdf")
    ),
    *("records.sqlite", "records.sqlite-wal", "records.sqlite-shm"),
    *("copy.sqlite", "restored.sqlite", "restored.sqlite-wal", "restored.sqlite-shm"),
)
"""Written under names that no step states."""


def write_filled_sheets(folder: Path) -> None:
    """The trial's worksheet as filled in, one with a unit gone wrong, and a picture."""
    from woold.demo.wrapped_trial import small_picture, written_worksheet
    from woold.trial.plan import plan_trial
    from woold.trial.setup import read_trial

    setup = read_trial(folder / "trial.toml")
    order = plan_trial(setup.trial).order
    (folder / "filled.xlsx").write_bytes(written_worksheet(setup, order))
    rows = [
        f"{load.number},{load.treatment},{load.load_type},{180 + load.number % 7}"
        for load in order[:6]
    ]
    text = "\n".join(["load,treatment,load_type,film_mass [kg]", *rows, ""])
    (folder / "wrong-unit.csv").write_text(text, encoding="utf-8")
    (folder / "load-3.png").write_bytes(small_picture())
