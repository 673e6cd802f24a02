"""Which tests run a line of the program, and how long they take: a part of `tools/mutants.py`."""

from __future__ import annotations

import ast
import hashlib
import os
import re
import shutil
import subprocess
import sys
import time
import xml.etree.ElementTree as ElementTree
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from coverage import CoverageData

ROOT = Path(__file__).parents[1]
WORK = ROOT / ".mutants"
TREE = WORK / "tree"  # the copy of the sources that is changed
COVER = WORK / "cover"  # one file of coverage and one of times for each file of tests
TESTS = ("unit", "published", "property")
NOT_TRIED = re.compile(
    r"test_(house|front_end|words|plain_install|server_kill|slow_clients|workers|start_up|web_\w+"
    r"|json_documents|readme|learning\w*|line_\w+|recipes|release|quote|film_of_a_model)\."
)
"""Tests of style, pages, packaging and servers, and of rooms far above: long, and of no number of
those that are changed."""

QUICK_SECONDS = 20.0  # of the tests tried first, as long as they took under coverage
ALL_SECONDS = 90.0


@dataclass(frozen=True)
class Test:
    """One test, and how long it takes [s]."""

    name: str
    seconds: float


def copy_tree() -> None:
    """The sources as they are now, in the folder where they are changed."""
    listed = subprocess.run(
        ["git", "ls-files", "-co", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout.split("\n")
    static = (ROOT / "src/woold/web/static").rglob("*")
    names = {name for name in listed if name and (ROOT / name).is_file()}
    names |= {str(path.relative_to(ROOT)) for path in static if path.is_file()}
    for old in TREE.rglob("*") if TREE.exists() else ():
        name = str(old.relative_to(TREE))
        if old.is_file() and "__pycache__" not in name and name not in names:
            old.unlink()
    for name in names:
        source, target = ROOT / name, TREE / name
        if target.exists() and target.read_bytes() == source.read_bytes():
            continue
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(source, target)


def environment() -> dict[str, str]:
    """Variables of a run of tests over the copy."""
    return os.environ | {
        "PYTHONPATH": os.pathsep.join(str(TREE / name) for name in ("src", "tests", "tools")),
        "NUMBA_CACHE_DIR": str(WORK / "loops"),
        "OMP_NUM_THREADS": "1",
        "OPENBLAS_NUM_THREADS": "1",
    }


def files_of_tests() -> list[str]:
    """Files of tests that are run against mutants."""
    return sorted(
        str(path.relative_to(ROOT))
        for kind in TESTS
        for path in (ROOT / "tests" / kind).glob("test_*.py")
        if not NOT_TRIED.match(path.name)
    )


def cover(seconds: float) -> None:
    """Runs every file of tests once under coverage, one test's lines apart from another's."""
    COVER.mkdir(parents=True, exist_ok=True)
    copy_tree()
    end = time.monotonic() + seconds
    for name in files_of_tests():
        stem = name.replace("/", ".").removesuffix(".py")
        done, times = COVER / f"{stem}.coverage", COVER / f"{stem}.xml"
        # By its text: times of writing tell nothing after a checkout or a copy.
        of, text = COVER / f"{stem}.sha256", hashlib.sha256((ROOT / name).read_bytes()).hexdigest()
        if done.exists() and of.exists() and of.read_text(encoding="utf-8") == text:
            continue
        if time.monotonic() > end:
            print("time is up; run `cover` again")
            return
        command = [sys.executable, "-m", "pytest", "-p", "mutant_runs", f"--junitxml={times}", name]
        variables = environment() | {"MUTANT_LINES": str(done)}
        began = time.monotonic()
        done_run = subprocess.run(
            command, cwd=TREE, env=variables, capture_output=True, text=True, check=False
        )
        of.write_text(text, encoding="utf-8")
        last = (done_run.stdout.strip().splitlines() or [""])[-1]
        print(f"{time.monotonic() - began:6.1f} s  {name}  {last}", flush=True)
    print("all files are covered")


@cache
def seconds_of_tests() -> dict[str, float]:
    """How long each test takes [s], by its name."""
    seconds: dict[str, float] = {}
    for path in COVER.glob("*.xml"):
        for case in ElementTree.parse(path).iter("testcase"):
            if (
                case.find("failure") is None
                and case.find("error") is None
                and case.find("skipped") is None
            ):
                file = case.attrib["classname"].replace(".", "/") + ".py"
                seconds[f"{file}::{case.attrib['name']}"] = float(case.attrib["time"])
    return seconds


@cache
def lines_of_tests() -> dict[str, dict[int, set[str]]]:
    """For each module of the program, by line, the names of the tests that run it."""
    found: dict[str, dict[int, set[str]]] = {}
    for path in sorted(COVER.glob("*.coverage")):
        data = CoverageData(str(path))
        data.read()
        for file in data.measured_files():
            module = str(Path(file).relative_to(TREE))
            lines = found.setdefault(module, {})
            for line, tests in data.contexts_by_lineno(file).items():
                lines.setdefault(line, set()).update(test for test in tests if test)
    return found


@cache
def importers(module: str, folder: str = "src") -> frozenset[str]:
    """Modules, or files of tests, that import from a module of the program."""
    dotted = module.removeprefix("src/").removesuffix(".py").replace("/", ".")
    above, _, last = dotted.rpartition(".")
    pattern = re.compile(
        rf"from {re.escape(dotted)} import|import {re.escape(dotted)}\b"
        rf"|from {re.escape(above)} import [^\n]*\b{last}\b"
    )
    return frozenset(
        str(path.relative_to(ROOT))
        for path in (ROOT / folder).rglob("*.py")
        if pattern.search(path.read_text())
    )


def is_compiled(module: str) -> bool:
    """Whether the module's loops are compiled, and so leave no trace of lines."""
    text = (ROOT / module).read_text(encoding="utf-8")
    return bool(re.search(r"^@(compiled|late_compiled|njit)\(", text, re.MULTILINE))


def is_in_a_body(module: str, line: int) -> bool:
    """Whether a line is run when a function is called: others are, once, by the first to import."""
    return any(
        node.body[0].lineno <= line <= (node.end_lineno or line)
        for node in ast.walk(ast.parse((ROOT / module).read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    )


def tests_of_module(module: str) -> set[str]:
    """Names of tests that run any line of a module, or of those that import its compiled loops.

    Coverage sees no line of a compiled loop, so that tests which import one are taken by that.
    """
    lines = lines_of_tests()
    names = {name for tests in lines.get(module, {}).values() for name in tests}
    if is_compiled(module):
        about = importers(module, "tests")
        names |= {name for name in seconds_of_tests() if name.split("::")[0] in about}
        for other in importers(module):
            names |= tests_of_module(other)
    return names


@cache
def breadths() -> Counter[str]:
    """How many lines of the program each test runs: one that runs few is about them."""
    return Counter(
        name for lines in lines_of_tests().values() for tests in lines.values() for name in tests
    )


def tests_of(module: str, first: int, last: int) -> tuple[list[Test], list[Test]]:
    """Tests that run some lines, and then more of them and the others of their files.

    Those that name the module first, narrowest first; those that take long for what is left of the
    time are passed over.
    """
    seconds = seconds_of_tests()
    of_module = tests_of_module(module)
    lines = lines_of_tests().get(module, {})
    here: set[str] = set()
    for line in range(first, last + 1):
        here |= lines.get(line, set())
    if not here or is_compiled(module) or not is_in_a_body(module, first):
        here = set(of_module)
    files = {name.split("::")[0] for name in of_module}
    near = [Test(name, seconds[name]) for name in here if name in seconds]
    others = [
        Test(name, took)
        for name, took in seconds.items()
        if name.split("::")[0] in files and name not in here
    ]
    broad, about = breadths(), importers(module, "tests")

    def order(test: Test) -> tuple[bool, int, str]:
        return test.name.split("::")[0] not in about, broad[test.name], test.name

    near.sort(key=order)
    quick = list(within(near, QUICK_SECONDS))
    rest = [test for test in near if test not in quick]
    return quick, list(within([*rest, *sorted(others, key=order)], ALL_SECONDS))


def limit_of(tests: Iterable[Test]) -> float:
    """How long tests may take before they count as hanging [s]."""
    return 30.0 + 6.0 * sum(test.seconds for test in tests)


def within(tests: Iterable[Test], seconds: float) -> Iterator[Test]:
    """The first tests that take no longer than some seconds together; one at least."""
    total = 0.0
    for test in tests:
        if total > 0.0 and total + test.seconds > seconds:
            continue
        total += test.seconds
        yield test
