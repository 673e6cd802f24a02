"""What a fresh process loads: start-up time is what it imports. `make bench` takes the time."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
CASE = str(ROOT / "src/woold/demo/files/today.toml")

_SHOW = """
import contextlib, io, json, sys
sys.argv = ["woold", *sys.argv[1:]]
with contextlib.redirect_stdout(io.StringIO()):
    from woold.cli.main import run
    with contextlib.suppress(SystemExit):
        run()
print(json.dumps(sorted(sys.modules)))
"""

SLOW = {"duckdb", "fastapi", "ibis", "jinja2", "matplotlib", "numba", "pint", "polars", "scipy"}
SLOW |= {
    "alembic",
    "pandas",
    "polib",
    "ruptures",
    "sqlalchemy",
    "statsmodels",
    "typst",
    "xlsxwriter",
}


def _loaded(code: str, *words: str) -> set[str]:
    done = subprocess.run(
        [sys.executable, "-c", code, *words], capture_output=True, text=True, check=True
    )
    return {name.partition(".")[0] for name in json.loads(done.stdout)}


@pytest.mark.parametrize("line", [f"predict {CASE}", f"predict {CASE} --json", f"carriage {CASE}"])
def test_a_prediction_loads_no_compiler_and_nothing_of_the_extras(line: str) -> None:
    assert _loaded(_SHOW, *line.split()) & SLOW == set()


def test_help_loads_no_physics() -> None:
    assert _loaded(_SHOW, "--help") & (SLOW | {"numpy", "tomlkit"}) == set()


def test_the_library_loads_what_is_used() -> None:
    loaded = _loaded("import json, sys, woold; print(json.dumps(sorted(sys.modules)))")
    assert loaded & (SLOW | {"numpy", "pydantic", "typer", "rich"}) == set()


def test_a_compiler_without_linear_algebra_leaves_it_to_those_who_ask_for_it() -> None:
    code = """
import json, sys
from woold.physics.compiled import load_compiler
load_compiler()
before = sorted(sys.modules)
import scipy.linalg
assert abs(scipy.linalg.det([[2.0, 1.0], [1.0, 2.0]]) - 3.0) < 1e-12
print(json.dumps(before))
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(json.loads(done.stdout))
    assert "numba.np.arraymath" in loaded
    assert not {name for name in loaded if name.startswith("scipy.linalg")}
