"""The invented scenario: its files, and the commands that show every part of woold on it."""

from __future__ import annotations

import importlib.resources
from dataclasses import dataclass
from pathlib import Path

from woold.demo.dancer_traces import write_bouncing_trace, write_smooth_trace

__all__ = ["NOTICE", "STEPS", "Step", "write_scenario"]

NOTICE = "An invented scenario: no plant, product, film, machine or number in it belongs to anyone."


@dataclass(frozen=True, slots=True)
class Step:
    """One command of the demo.

    Args:
        says: what it shows.
        arguments: words behind ``woold``; paths are relative to the demo's folder.
        exit_status: what it must end with.
    """

    says: str
    arguments: tuple[str, ...]
    exit_status: int = 0


STEPS: tuple[Step, ...] = (
    Step("A case file to start from", ("case", "new", "starter.toml")),
    Step("What a case says, and where each value is from", ("case", "check", "today.toml")),
    Step(
        "What one load takes and holds",
        ("predict", "today.toml", "--plot", "wrapped-load.svg"),
    ),
    Step("Which inputs matter most", ("predict", "today.toml", "--sensitivity", "--units", "si")),
    Step(
        "The film carriage of today",
        ("carriage", "today.toml", "--plot", "carriage-today.svg"),
    ),
    Step(
        "Another film carriage",
        ("carriage", "show", "candidate.toml", "--plot", "carriage-candidate.svg"),
    ),
    Step(
        "The two on the same load",
        ("carriage", "compare", "today.toml", "candidate.toml", "--plot", "two-carriages.svg"),
    ),
    Step("Films that suit it", ("carriage", "match", "candidate.toml", "films.toml")),
    Step(
        "A film's curve from its tensile test",
        ("film", "fit", "tensile-test.csv", "--plot", "film-curve.svg"),
    ),
    Step("The same for programs", ("predict", "today.toml", "--json")),
    Step(
        "Which spring in which hole of the dancer",
        ("dancer", "springs", "today.toml", "--plot", "dancer-springs.svg"),
    ),
    Step(
        "The dancer over one cycle",
        ("dancer", "simulate", "today.toml", "--plot", "dancer-cycle.svg"),
    ),
    Step(
        "How fast it may turn, and which spring, hole and gain pass the corners best",
        ("dancer", "tune", "today.toml", "--fastest", "45 rpm", "--plot", "dancer-tuning.svg"),
    ),
    Step(
        "A recorded dancer that bounces",
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
        "A smooth one, with the model fitted to it",
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
)
"""Every command there is; a test holds this list against the command line."""


def write_scenario(folder: Path) -> None:
    """Write the scenario's files into a folder.

    Args:
        folder: made if need be; its files of the same names are replaced.
    """
    folder.mkdir(parents=True, exist_ok=True)
    for source in importlib.resources.files("woold.demo").joinpath("files").iterdir():
        (folder / source.name).write_bytes(source.read_bytes())
    write_bouncing_trace(folder / "bouncing-dancer.csv")
    write_smooth_trace(folder / "smooth-dancer.csv", folder / "today.toml")
    # `case new` never replaces a file, so that the demo can run twice in one folder.
    (folder / "starter.toml").unlink(missing_ok=True)
