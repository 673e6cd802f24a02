"""Rows held against the plan: loads, treatments and types that it does not have."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence

from woold.errors import Problem, Question
from woold.store import Batch
from woold.trial.load_names import load_key
from woold.trial.placed import Placed, Rows, is_complete
from woold.trial.records import ATTEMPT, PLAN, planned_loads
from woold.trial.setup import TrialSetup
from woold.words import say

__all__ = ["check_against_plan", "check_types", "loads_that_others_name", "named_twice"]


def check_types(setup: TrialSetup, placed: Iterable[Placed]) -> list[Problem]:
    """Load types that the trial does not have."""
    names = ", ".join(each.name for each in setup.trial.load_types)
    return [
        Problem(each.place("load_type"), repr(each.cells["load_type"].typed), names,
                say("Choose one of them."))
        for each in placed
        if each.kind in ("load", ATTEMPT)
        and setup.trial.type_named(each.cells["load_type"].typed) is None
    ]  # fmt: skip


def check_against_plan(
    setup: TrialSetup, batch: Batch, trial: str, placed: Sequence[Placed]
) -> list[Problem]:
    """Questions about loads that are not planned, or not as they were planned."""
    loads = [each for each in placed if each.kind in ("load", ATTEMPT)]
    keys = {each.key.partition("|")[0] if each.kind == ATTEMPT else each.key for each in loads}
    plan = {str(load.number): load for load in planned_loads(batch, trial, keys)}
    has_plan = bool(plan) or bool(batch.recent(trial, PLAN, 1))
    on_record = {each.key for each in batch.current(trial, "load", keys)} if has_plan else set()
    found: list[Problem] = []
    for each in loads:
        key = each.key.partition("|")[0] if each.kind == ATTEMPT else each.key
        load = plan.get(key)
        if load is None:
            if has_plan and key not in on_record:
                found.append(_not_planned(each))
            continue
        for name, wanted in (("treatment", load.treatment), ("load_type", load.load_type)):
            typed = each.cells[name].typed
            known = name == "treatment" or setup.trial.type_named(typed) is not None
            if known and typed.casefold() != wanted.casefold():
                found.append(
                    Question(
                        each.place(name),
                        say("{typed}, where the plan says {wanted}",
                            typed=say(typed) if name == "treatment" else typed,
                            wanted=say(wanted) if name == "treatment" else wanted),
                        say(wanted) if name == "treatment" else wanted,
                        say("Were two loads swapped?"),
                    )
                )  # fmt: skip
    return found


def _not_planned(each: Placed) -> Problem:
    return Question(
        each.place("load"),
        say("load {load}, which is not planned", load=each.cells["load"].typed),
        say("a load of the plan"),
        say(
            "Is the number right? A load that was wrapped again keeps its number, with repeat and"
            " the reason beside it."
        ),
    )


def loads_that_others_name(
    batch: Batch, trial: str, rows: Rows, problems: list[Problem], *, has_loads: bool = True
) -> list[Placed]:
    """Printed loads that others name; and a problem for each load that is not there.

    Args:
        batch: where.
        trial: key of the trial.
        rows: of the file.
        problems: to which what is missing is added.
        has_loads: whether the file has a sheet of loads at all.
    """
    others = [each for each in rows.measured if each.kind in ("width", "pull")]
    named = {load_key(each.cells["load"].typed) for each in others}
    kept = {each.key for each in batch.current(trial, "load", named)}
    written = {each.key for each in rows.measured if each.kind == "load"}
    more: list[Placed] = []
    unknown: list[Placed] = []
    for each in others:
        load = load_key(each.cells["load"].typed)
        if load in written or load in kept:
            continue
        if load in rows.printed:
            written.add(load)
            line = rows.printed[load]
            if is_complete(line, problems):
                more.append(line)
        elif load not in rows.seen:
            unknown.append(each)
    if unknown and not has_loads:
        problems.append(_no_loads(unknown))
    else:
        problems += [_unknown_load(each, [*rows.seen, *kept]) for each in unknown]
    return more


def _no_loads(unknown: Sequence[Placed]) -> Problem:
    """One problem, where the whole sheet of loads is not there."""
    loads = list(dict.fromkeys(each.cells["load"].typed for each in unknown))
    shown = ", ".join(loads[:6]) + (", …" if len(loads) > 6 else "")
    sheets = ", ".join(dict.fromkeys(each.table.title for each in unknown))
    return Problem(
        say("Loads"),
        say("not in the file; {sheets} name loads {loads}", sheets=sheets, loads=shown),
        say('a sheet "{name}" that has them, or loads on record', name=say("Loads")),
        say("Put the sheet back, or import it first."),
    )


def _unknown_load(each: Placed, known: Sequence[str]) -> Problem:
    typed = each.cells["load"].typed
    near = difflib.get_close_matches(load_key(typed), known, n=1, cutoff=0.75)
    todo = (
        say("Correct the number (is it {near}?), or write the load down.", near=near[0])
        if near and not typed.strip().isdigit()
        else say("Correct the number, or write the load down.")
    )
    allowed = say("a load of the Loads sheet, or on record")
    return Problem(each.place("load"), say("load {typed}", typed=typed), allowed, todo)


def named_twice(placed: Iterable[Placed]) -> list[Problem]:
    """Rows of one kind that are about the same thing."""
    first: dict[tuple[str, str], Placed] = {}
    found: list[Problem] = []
    for each in placed:
        before = first.setdefault((each.kind, each.key), each)
        if before is each or each.kind in ("load", ATTEMPT):
            continue
        words = ", ".join(
            f"{part} {each.cells[part].typed}"
            for part in each.table.sheet.key
            if part in each.cells
        )
        found.append(
            Problem(
                each.place(each.table.sheet.key[0]),
                say("{words} again", words=words),
                say("once; it stands in {before}", before=before.place(each.table.sheet.key[0])),
                say("Correct the load, height, side or time, or take one of them out."),
            )
        )
    return found
