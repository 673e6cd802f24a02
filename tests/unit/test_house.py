"""The house's own rules, as tests: style, types, layers, and documents that stay true."""

from __future__ import annotations

import ast
import functools
import os
import re
import subprocess
import sys
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any, get_args, get_type_hints

import pytest

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize(
    "command",
    [
        ("ruff", "check", "."),
        ("ruff", "format", "--check", "."),
        ("mypy",),
        ("lint-imports",),
    ],
    ids=" ".join,
)
def test_tool_finds_nothing(command: tuple[str, ...]) -> None:
    tool = Path(sys.executable).with_name(command[0])
    done = subprocess.run(
        [tool, *command[1:]], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


def _public_parameters() -> set[tuple[str, str]]:
    """(module, parameter) of every public function and class of woold.physics."""
    found = set()
    for path in sorted((ROOT / "src/woold/physics").glob("*.py")):
        if path.stem == "numeric":  # helpers for arrays: no quantities of the trade
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        public: set[str] = set()
        for node in tree.body:
            if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__":
                public = set(ast.literal_eval(node.value))
        for node in tree.body:
            if isinstance(node, ast.FunctionDef) and node.name in public:
                arguments = (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs)
                found |= {(path.stem, each.arg) for each in arguments}
            elif isinstance(node, ast.ClassDef) and node.name in public:
                found |= {
                    (path.stem, each.target.id)
                    for each in node.body
                    if isinstance(each, ast.AnnAssign)
                    and isinstance(each.target, ast.Name)
                    and not each.target.id.startswith("_")
                }
    return found


def test_nomenclature_names_every_public_parameter_of_the_physics() -> None:
    page = (ROOT / "docs/nomenclature.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`(\w+)`", page))
    missing = {each for each in _public_parameters() if each[1] not in named}
    assert not missing


def test_nomenclature_names_each_parameter_once() -> None:
    page = (ROOT / "docs/nomenclature.md").read_text(encoding="utf-8")
    first_cells = re.findall(r"^\|([^|]+)\|", page, flags=re.MULTILINE)
    rows = [name for cell in first_cells for name in re.findall(r"`(\w+)`", cell)]
    assert sorted(rows) == sorted(set(rows))


def _keys(model: Any) -> set[str]:
    """Every key of a result's JSON object, its inner objects included."""
    keys = set()
    # What is not compared is kept beside the document, for what comes after.
    beside = (
        {each.name for each in fields(model) if not each.compare} if is_dataclass(model) else ()
    )
    for name, hint in get_type_hints(model).items():
        if name in beside:
            continue
        keys.add(name)
        for inner in (hint, *get_args(hint)):
            if is_dataclass(inner) or hasattr(inner, "_fields"):
                keys |= _keys(inner)
    return keys


def test_json_page_lists_every_key() -> None:
    from woold.carriages.comparison import CarriageComparison
    from woold.carriages.film_test import FilmFitReport
    from woold.carriages.match import MatchReport
    from woold.carriages.study import CarriageReport
    from woold.dancer.results import CycleStudy, SpringTable, TraceStudy, TuneStudy
    from woold.design.result import DesignResult
    from woold.prediction.result import Prediction
    from woold.report.model import Report
    from woold.rows.blocks import Block
    from woold.transport.calibration import TransportCalibration
    from woold.transport.result import TransportResult
    from woold.transport.sensitivity import TransportEffect
    from woold.transport.simulation import TransportSimulation
    from woold.trial.analysis import Analysis
    from woold.trial.calibrate import Calibration
    from woold.trial.gauge import GaugeStudy
    from woold.trial.importing import Imported
    from woold.trial.plan import TrialPlan
    from woold.uncertainty.sensitivity import Effect
    from woold.verdict.result import Verdict

    page = (ROOT / "docs/json.md").read_text(encoding="utf-8")
    listed = set(re.findall(r"`(\w+)`", page))
    models = (Prediction, Effect, CarriageReport, CarriageComparison, MatchReport, FilmFitReport)
    of_trials = (Analysis, Calibration, GaugeStudy, Imported, TrialPlan)
    dancers = (SpringTable, CycleStudy, TuneStudy, TraceStudy)
    moved = (TransportResult, TransportEffect, TransportSimulation, TransportCalibration)
    of_reports = (Report, *get_args(Block))
    for model in (DesignResult, Verdict, *moved, *models, *of_trials, *dancers, *of_reports):
        assert _keys(model) - listed == set()


def test_demo_runs_every_command() -> None:
    """Each command, and each command of a group, stands in the demo's list of steps."""
    import importlib

    from woold.cli.main import _COMMANDS
    from woold.demo.scenario import STEPS

    shown = {step.arguments[:length] for step in STEPS for length in (1, 2)}
    for name, (module, _) in _COMMANDS.items():
        app = importlib.import_module(module).app
        names = [each.name or each.callback.__name__ for each in app.registered_commands]
        if name in ("demo", "serve"):  # the demo itself, and a server that runs until stopped
            continue
        if len(names) == 1:
            assert (name,) in shown
        for each in names if len(names) > 1 else ():
            assert (name, each) in shown


LARGEST_MODULE, LARGEST_FUNCTION, MOST_PARAMETERS = 400, 80, 7
"""Lines of a module and of a function, and parameters: as CONTRIBUTING.md says."""


def _sources() -> list[Path]:
    front = [
        path for path in (ROOT / "frontend/src").rglob("*.ts") if "generated" not in path.parts
    ]
    return [*(ROOT / "src").rglob("*.py"), *front]


def test_modules_stay_small() -> None:
    sizes = {
        str(path.relative_to(ROOT)): len(path.read_text(encoding="utf-8").splitlines())
        for path in _sources()
    }
    assert {path: size for path, size in sizes.items() if size > LARGEST_MODULE} == {}


@functools.cache
def _functions() -> list[tuple[str, ast.FunctionDef | ast.AsyncFunctionDef]]:
    return [
        (f"{path.relative_to(ROOT)}:{node.lineno} {node.name}", node)
        for path in sorted((ROOT / "src").rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    ]


def test_functions_stay_small() -> None:
    lines = {name: (node.end_lineno or 0) - node.lineno + 1 for name, node in _functions()}
    assert {name: count for name, count in lines.items() if count > LARGEST_FUNCTION} == {}


def test_parameters_that_travel_together_are_grouped() -> None:
    counts = {
        name: len(node.args.posonlyargs) + len(node.args.args) + len(node.args.kwonlyargs)
        for name, node in _functions()
    }
    assert {name: count for name, count in counts.items() if count > MOST_PARAMETERS} == {}


def test_the_guide_for_contributors_names_these_limits() -> None:
    guide = (ROOT / "CONTRIBUTING.md").read_text(encoding="utf-8")
    assert f"{LARGEST_MODULE} lines" in guide
    assert f"{LARGEST_FUNCTION} lines" in guide
    assert f"{MOST_PARAMETERS} parameters" in guide


def test_a_class_name_means_one_thing() -> None:
    places: dict[str, list[str]] = {}
    for path in sorted((ROOT / "src").rglob("*.py")):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                places.setdefault(node.name, []).append(str(path.relative_to(ROOT)))
    assert {name: found for name, found in places.items() if len(found) > 1} == {}


def test_only_what_it_must_stands_at_the_packages_root() -> None:
    root = {path.name for path in (ROOT / "src/woold").iterdir() if path.suffix == ".py"}
    assert root <= {"__init__.py", "__main__.py", "errors.py", "units.py"}


def _problems_made() -> list[tuple[str, ast.Call]]:
    """Every place where a problem is made, alone or with its error."""
    found = []
    for path in sorted((ROOT / "src/woold").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            of_error = isinstance(node.func, ast.Attribute) and node.func.attr == "one"
            if of_error or ast.unparse(node.func) in ("Problem", "Question", "OnRecord"):
                found.append((f"{path.name}:{node.lineno}", node))
    return found


def test_every_problem_says_what_to_do() -> None:
    found = _problems_made()
    assert len(found) > 400
    told = {
        place: node.args[3] if len(node.args) > 3 else each[0]
        for place, node in found
        if len(node.args) > 3 or (each := [one.value for one in node.keywords if one.arg == "todo"])
    }
    assert [place for place, _ in found if place not in told] == []
    assert [place for place, each in told.items() if ast.unparse(each) in ("''", "None")] == []


@pytest.mark.skipif("PYTEST_XDIST_WORKER" not in os.environ, reason="runs on one worker")
@pytest.mark.xdist_group("one-worker")
def test_a_group_of_tests_stays_on_one_worker(request: pytest.FixtureRequest) -> None:
    """Else the one server, demo or Java machine of a group is two, and the suite half as fast."""
    assert request.node.nodeid.endswith("@one-worker")
