"""Runs tests in a fork of a process that has the libraries loaded: a part of `tools/mutants.py`.

Loading them takes longer than most tests. What is woold's own is loaded in the fork, changed.
"""

from __future__ import annotations

import compileall
import gc
import importlib
import os
import re
import signal
import sys
import time
import traceback
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from mutant_cover import TREE, WORK, environment

# polars is not among them: its threads do not live through a fork.
LIBRARIES = (
    *("numpy", "scipy.special", "scipy.stats", "scipy.optimize", "scipy.signal", "scipy.integrate"),
    *(
        "numba",
        "pydantic",
        "pydantic_core",
        "typer",
        "rich.console",
        "rich.table",
        "tomlkit",
        "lark",
    ),
    *("platformdirs", "polib", "sqlalchemy", "alembic", "hypothesis", "hypothesis.strategies"),
    *("coverage", "pytest"),
    *("shapely", "statsmodels.api", "jinja2", "matplotlib.figure", "xlsxwriter", "python_calamine"),
)


HANGS = "time is up"


@dataclass(frozen=True)
class TestRun:
    """Whether tests passed, what was printed, and the first that failed, if that is known."""

    passed: bool
    output: str
    failed: str = ""


def make_ready() -> None:
    """Loads the libraries; the tests' own variables come first, as some are read then."""
    os.environ.update(environment())
    os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
    sys.dont_write_bytecode = True
    sys.path[:0] = [str(TREE / name) for name in ("src", "tests", "tools")]
    for name in LIBRARIES:
        importlib.import_module(name)
    compileall.compile_dir(TREE / "src", quiet=1)
    gc.collect()
    gc.freeze()
    assert not any(name.split(".")[0] == "woold" for name in sys.modules)


def run_tests(names: Sequence[str], limit: float, loops: Path) -> TestRun:
    """Runs tests until one fails.

    Args:
        names: of the tests.
        limit: of processor time, after which they count as hanging; of time that merely passes,
            on a busy machine, twenty times as much [s].
        loops: folder where compiled loops are kept.
    """
    printed = WORK / "printed.txt"
    child = os.fork()
    if child == 0:
        _in_fork(names, printed, loops)
    end, look = time.monotonic() + 20.0 * limit, time.monotonic() + 1.0
    while time.monotonic() < end:
        if time.monotonic() > look:
            if processor_seconds(child) > limit:
                break
            look = time.monotonic() + 1.0
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            text = printed.read_text(encoding="utf-8", errors="replace")
            if "ERROR collecting" in text:  # a module that tests import failed with the change
                return TestRun(False, text)
            if "found no collectors" in text or "ERROR: not found" in text:
                gone = set(re.findall(r"not found: .*?/tree/(\S.*)$", text, re.MULTILINE))
                left = [name for name in names if not ({name, name.partition("[")[0]} & gone)]
                if len(left) == len(names):
                    raise SystemExit(f"A test went that was covered; run `cover` again.\n{text}")
                return run_tests(left, limit, loops) if left else TestRun(True, text)
            if os.waitstatus_to_exitcode(status) == 0:
                return TestRun(True, text)
            told = (name for name in names if f"FAILED {name}" in text or f"ERROR {name}" in text)
            return TestRun(False, text, max(told, key=len, default=""))
        time.sleep(0.02)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return TestRun(False, HANGS)


def processor_seconds(group: int) -> float:
    """Processor time of a group of processes, ended children included [s]."""
    ticks = 0
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = path.read_text(encoding="utf-8", errors="replace").rpartition(")")[2].split()
        except OSError:  # it ended
            continue
        if int(fields[2]) == group:
            ticks += sum(map(int, fields[11:15]))
    return ticks / os.sysconf("SC_CLK_TCK")


def _in_fork(names: Sequence[str], printed: Path, loops: Path) -> None:
    """Runs the tests and ends the process."""
    status = 70
    try:
        os.setsid()
        out = os.open(printed, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(out, 1)
        os.dup2(out, 2)
        os.chdir(TREE)
        import numba
        import pytest

        os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
        numba.config.CACHE_DIR = os.environ["NUMBA_CACHE_DIR"] = str(loops)
        words = ["-x", "-q", "--no-header", "--tb=line", "-p", "mutant_runs"]
        words += [
            "-p",
            "_hypothesis_pytestplugin",
            "-p",
            "no:cacheprovider",
            "-W",
            "ignore::pytest.PytestAssertRewriteWarning",
        ]
        status = int(pytest.main([*words, *names]))
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status)
