"""Changes one sign, number or condition of the program at a time and sees whether a test fails.

cosmic-ray makes the changes ("mutants"); coverage.py says which tests run a line. A mutant of the
sample is tried, in a copy of the sources, against the tests that run its line, the quickest first,
and then against all tests of the files that run its module. What lives is shown; why it may is
written in docs/mutants.md.

    python tools/mutants.py cover      # which tests run which line; anew where files changed
    python tools/mutants.py run 540    # tries what is not tried yet, for 540 seconds at most;
                                       # with `quickly` only on the tests that run the line
    python tools/mutants.py again      # forgets what lived or hung, so that `run` tries it anew
    python tools/mutants.py report     # ends with 1 where too many live, or one without its reason
"""

from __future__ import annotations

import ast
import difflib
import hashlib
import os
import re
import shutil
import sys
import time
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import attrs
import cosmic_ray.plugins
from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.ast.ast_query import ASTQuery
from cosmic_ray.mutating import use_mutation
from cosmic_ray.work_db import WorkDB, use_db
from cosmic_ray.work_item import MutationSpec, TestOutcome, WorkerOutcome, WorkItem, WorkResult

from mutant_cover import ROOT, TREE, WORK, copy_tree, cover, is_compiled, limit_of, tests_of
from mutant_tests import HANGS, TestRun, make_ready, run_tests

SESSION = WORK / "session.sqlite"  # every mutant of the sample, with what became of it
PLANNED = WORK / "planned.txt"  # of which state of the sources it is the sample
EXPLAINED = ROOT / "docs/mutants.md"

ROOMS = ("physics", "prediction", "transport", "trial", "sites", "watch")
SAMPLE = 300
SEED = 1
ASKED = 0.9  # share that must die

# Changes that can be meant: of `a * b` also `a << b` could be made, which no test has to catch.
OPERATORS = (
    "core/ReplaceBinaryOperator_Add_Sub",
    "core/ReplaceBinaryOperator_Sub_Add",
    "core/ReplaceBinaryOperator_Mul_Div",
    "core/ReplaceBinaryOperator_Div_Mul",
    "core/ReplaceBinaryOperator_Mul_Add",
    "core/ReplaceBinaryOperator_FloorDiv_Div",
    "core/ReplaceBinaryOperator_Mod_Mul",
    "core/ReplaceBinaryOperator_Pow_Mul",
    "core/ReplaceComparisonOperator_Eq_NotEq",
    "core/ReplaceComparisonOperator_NotEq_Eq",
    "core/ReplaceComparisonOperator_Lt_LtE",
    "core/ReplaceComparisonOperator_LtE_Lt",
    "core/ReplaceComparisonOperator_Gt_GtE",
    "core/ReplaceComparisonOperator_GtE_Gt",
    "core/ReplaceComparisonOperator_Lt_Gt",
    "core/ReplaceComparisonOperator_Gt_Lt",
    "core/ReplaceComparisonOperator_LtE_GtE",
    "core/ReplaceComparisonOperator_GtE_LtE",
    "core/ReplaceComparisonOperator_Is_IsNot",
    "core/ReplaceComparisonOperator_IsNot_Is",
    "core/ReplaceUnaryOperator_USub_UAdd",
    "core/ReplaceUnaryOperator_Delete_Not",
    "core/AddNot",
    "core/ReplaceTrueWithFalse",
    "core/ReplaceFalseWithTrue",
    "core/ReplaceAndWithOr",
    "core/ReplaceOrWithAnd",
    "core/ReplaceBreakWithContinue",
    "core/ReplaceContinueWithBreak",
    "core/NumberReplacer",
    "core/ZeroIterationForLoop",
)
NO_CODE = re.compile(r"TYPE_CHECKING|^\s*(#|@|from |import |assert )|^\s*_?LOOSE\b")

FREE_WORDS = ("seed", "strict", "indent")


def words_of_text(text: str) -> set[int]:
    """Lines that belong to texts of several lines, where a number is no number."""
    inside: set[int] = set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            last = node.end_lineno or node.lineno
            inside |= set(range(node.lineno, last + 1)) if last > node.lineno else set()
    return inside


Place = tuple[int, int]  # line and column


def free_choices(text: str) -> list[tuple[Place, Place]]:
    """Where a change cannot be meant: seeds, guards of length and white space in files."""
    found: list[ast.expr] = []
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.keyword) and node.arg in FREE_WORDS:
            found.append(node.value)
        elif isinstance(node, ast.Call) and ast.unparse(node.func).endswith("default_rng"):
            found += [each for each in node.args if isinstance(each, ast.Constant)]
        elif isinstance(node, ast.arguments):
            names = [*node.posonlyargs, *node.args][::-1], node.defaults[::-1]
            pairs = [
                *zip(*names, strict=False),
                *zip(node.kwonlyargs, node.kw_defaults, strict=True),
            ]
            found += [value for name, value in pairs if value and name.arg in FREE_WORDS]
    return [
        ((each.lineno, each.col_offset), (each.end_lineno or each.lineno, each.end_col_offset or 0))
        for each in found
    ]


def mutations_of(path: Path) -> Iterator[tuple[str, MutationSpec]]:
    """Every mutant of a module with its key: seed, place and change, without numbers of lines."""
    text = path.read_text(encoding="utf-8")
    rows = text.split("\n")
    nodes = list(ast_nodes(get_ast(text)))
    skipped, free = words_of_text(text), free_choices(text)
    module = path.relative_to(TREE)
    for operator_name in OPERATORS:
        operator = cosmic_ray.plugins.get_operator(operator_name)()
        places = (
            (node, start, end) for node in nodes for start, end in operator.mutation_positions(node)
        )
        seen: dict[str, int] = {}
        for occurrence, (node, start, end) in enumerate(places):
            row = rows[start[0] - 1]
            definition = ASTQuery(node).get_definition_name()
            key = f"{SEED}|{module}|{definition}|{row.strip()}|{operator_name}"
            seen[key] = seen.get(key, -1) + 1
            if NO_CODE.search(row) or start[0] in skipped:
                continue
            if any(first <= start and end <= last for first, last in free):
                continue
            yield (
                hashlib.sha256(f"{key}|{seen[key]}".encode()).hexdigest(),
                MutationSpec(
                    module_path=path,
                    operator_name=operator_name,
                    operator_args={},
                    occurrence=occurrence,
                    start_pos=start,
                    end_pos=end,
                    definition_name=definition,
                ),
            )


def plan() -> None:
    """Puts the sample into the session: mutants with the lowest keys, so that it hardly moves."""
    copy_tree()
    paths = [path for room in ROOMS for path in sorted((TREE / "src/woold" / room).glob("*.py"))]
    own = [Path(__file__), *paths]
    state = hashlib.sha256(b"".join(path.read_bytes() for path in own)).hexdigest()
    if PLANNED.exists() and PLANNED.read_text(encoding="utf-8") == state:
        return
    every = [each for path in paths for each in mutations_of(path)]
    # One change at a place: the first by its key.
    places: dict[tuple[object, ...], tuple[str, MutationSpec]] = {}
    for key, mutation in sorted(every, key=lambda each: each[0]):
        places.setdefault((mutation.module_path, mutation.start_pos), (key, mutation))
    chosen = sorted(places.values(), key=lambda each: each[0])[:SAMPLE]
    print(f"{len(every)} mutants at {len(places)} places; {len(chosen)} are tried")
    with use_db(str(SESSION), WorkDB.Mode.create) as session:
        results = dict(session.results)
        session.clear()
        session.add_work_items(WorkItem.single(key, mutation) for key, mutation in chosen)
        for key, _ in chosen:
            if key in results:
                session.set_result(key, results[key])
    PLANNED.write_text(state, encoding="utf-8")


SOUND: set[str] = set()
UNSOUND: set[str] = set()


def is_sound(name: str) -> bool:
    """Whether a test that failed passes by itself where nothing is changed."""
    if name not in SOUND | UNSOUND:
        alone = run_tests([name], 300.0, WORK / "loops")
        (SOUND if alone.passed else UNSOUND).add(name)
        if not alone.passed:
            print(f"fails without a change, so it is left out: {name}", flush=True)
    return name in SOUND


def try_mutant(mutation: MutationSpec, quickly: bool) -> tuple[WorkResult, str]:
    """What became of a mutant, and whether tests of its line or of its module decided it."""
    path = Path(mutation.module_path)
    module = str(path.relative_to(TREE))
    times = path.stat()
    operator = cosmic_ray.plugins.get_operator(mutation.operator_name)()
    loops = WORK / "loops"
    if is_compiled(module):
        # A loop that was compiled with another's old text would not see the change.
        loops = WORK / "loops-of-a-mutant"
        shutil.rmtree(loops, ignore_errors=True)
    with use_mutation(path, operator, mutation.occurrence) as (before, after):
        diff = "\n".join(
            difflib.unified_diff(before.split("\n"), after.split("\n"), lineterm="", n=0)
        )
    if change(diff) in explained():
        os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns))
        return WorkResult(WorkerOutcome.NORMAL, "", TestOutcome.SURVIVED, diff), "explained"
    rounds = tests_of(module, mutation.start_pos[0], mutation.end_pos[0])
    found, which = TestRun(True, ""), ""
    with use_mutation(path, operator, mutation.occurrence):
        for name, tests in zip(("line", "module"), rounds, strict=True):
            if not found.passed or (which and quickly):
                break
            sound = [test for test in tests if test.name not in UNSOUND]
            if sound:
                found = run_tests([test.name for test in sound], limit_of(sound), loops)
            which = name
    os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns))
    if found.failed and not is_sound(found.failed):
        return try_mutant(mutation, quickly)
    outcome = TestOutcome.SURVIVED if found.passed else TestOutcome.KILLED
    return WorkResult(WorkerOutcome.NORMAL, found.output, outcome, diff), which


def run(seconds: float, quickly: bool = False) -> None:
    """Tries mutants until time is up or none is left; quickly: on the tests of its line alone."""
    plan()
    make_ready()
    end = time.monotonic() + seconds
    with use_db(str(SESSION), WorkDB.Mode.open) as session:
        pending = sorted(session.pending_work_items, key=order_of)
        for count, item in enumerate(pending):
            if time.monotonic() > end:
                print(f"time is up; {len(pending) - count} are left")
                return
            mutation = item.mutations[0]
            began = time.monotonic()
            result, which = try_mutant(mutation, quickly)
            took = time.monotonic() - began
            output = f"{took:.1f} s, {which}\n{(result.output or '')[-1900:]}"
            session.set_result(item.job_id, attrs.evolve(result, output=output))
            print(f"{took:5.1f} s  {result.test_outcome.value:9} {place(mutation)}", flush=True)
    print("all are tried")


def order_of(item: WorkItem) -> tuple[bool, str]:
    """Loops that are compiled anew for each of their mutants come last."""
    module = Path(item.mutations[0].module_path).relative_to(TREE)
    return is_compiled(str(module)), item.job_id


def place(mutation: MutationSpec) -> str:
    """Where a mutant stands and what it changes."""
    module = Path(mutation.module_path).relative_to(TREE / "src/woold")
    return f"{module}:{mutation.start_pos[0]} {mutation.operator_name.removeprefix('core/')}"


def again() -> None:
    """Forgets what lived, and what died of its time alone."""
    with use_db(str(SESSION), WorkDB.Mode.open) as session:
        items = session.work_items
        killed = {
            key: each
            for key, each in session.results
            if each.test_outcome is not TestOutcome.SURVIVED and not hangs(each)
        }
        session.clear()
        session.add_work_items(items)
        for key, each in killed.items():
            session.set_result(key, each)
    print(f"{len(items) - len(killed)} are tried anew")


def hangs(result: WorkResult) -> bool:
    """Whether a mutant died because its tests did not end."""
    return (result.output or "").endswith(HANGS)


@cache
def explained() -> str:
    """What docs/mutants.md says; a change that stands there is not tried, and lives."""
    return EXPLAINED.read_text(encoding="utf-8") if EXPLAINED.exists() else ""


def change(diff: str) -> str:
    """The changed line before and after, as docs/mutants.md writes it."""
    rows = [row for row in diff.split("\n") if row[:1] in "+-" and row[:3] not in ("---", "+++")]
    return " → ".join(f"`{row[1:].strip()}`" for row in rows)


def report() -> int:
    """How many died, and what lived and why; 1 where that is not enough."""
    with use_db(str(SESSION), WorkDB.Mode.open) as session:
        done = session.completed_work_items
        left = session.num_work_items - len(done)
    lived = [
        (item.mutations[0], each)
        for item, each in done
        if each.test_outcome is TestOutcome.SURVIVED
    ]
    dead = len(done) - len(lived)
    took = sorted(float((each.output or "0").split(" s", 1)[0]) for _, each in done)
    unexplained = 0
    for mutation, each in sorted(lived, key=lambda pair: place(pair[0])):
        text = change(each.diff or "")
        known = text in explained()
        unexplained += not known
        print(f"{'explained' if known else 'LIVES':9} {place(mutation)}\n          {text}")
    if not done:
        print("no mutant was tried")
        return 1
    print(
        f"{dead} of {len(done)} died: {dead / len(done):.1%} (asked {ASKED:.0%}); {left} are left"
    )
    print(f"{unexplained} live that docs/mutants.md does not explain")
    for item, each in done:
        if hangs(each):
            print(f"hangs     {place(item.mutations[0])}\n          {change(each.diff or '')}")
    print(f"time a mutant: median {took[len(took) // 2]:.1f} s, most {took[-1]:.1f} s")
    return int(left > 0 or unexplained > 0 or dead < ASKED * len(done))


def main(words: list[str]) -> int:
    """Does what the first word says, for as many seconds as the second."""
    seconds = float(words[1]) if len(words) > 1 else 1e9
    what = words[0] if words else "all"
    if what in ("cover", "all"):
        cover(seconds)
    if what == "again":
        again()
    if what in ("run", "all"):
        run(seconds, quickly="quickly" in words)
    return report() if what in ("report", "all") else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
