"""Loads that were wrapped again or given up: each wrap has its own record, one of them counts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace

from woold.errors import Problem
from woold.store import Batch, Cell, Record
from woold.trial.load_names import load_key
from woold.trial.placed import Placed
from woold.trial.records import ATTEMPT
from woold.trial.sheets import ABANDONED, REPEAT
from woold.words import say

__all__ = ["is_first_of_repeated", "reason_of", "set_first_wrap_aside", "sorted_attempts"]


def reason_of(cells: Mapping[str, Cell]) -> str:
    """Why a load was repeated or abandoned: its reason, or else its note."""
    return next((cells[name].typed for name in ("reason", "notes") if name in cells), "")


def _attempt(cells: Mapping[str, Cell]) -> str:
    return cells["attempt"].typed if "attempt" in cells else ""


def sorted_attempts(placed: Sequence[Placed], problems: list[Problem]) -> list[Placed]:
    """The rows, those that do not count as attempts of their own.

    Of several rows of a load, the last one that says "repeat" counts; those that say "abandoned"
    and those before the repeat do not. Two rows that say nothing are a problem.

    Args:
        placed: rows with something measured.
        problems: to which what is wrong is added.
    """
    by_load: dict[str, list[Placed]] = defaultdict(list)
    for each in placed:
        if each.kind == "load":
            by_load[each.key].append(each)
            if _attempt(each.cells) and not reason_of(each.cells):
                problems.append(
                    Problem(
                        each.place("reason" if "reason" in each.table.columns else "attempt"),
                        say("{attempt}, without a reason", attempt=say(_attempt(each.cells))),
                        say("why it was repeated or abandoned"),
                        say("Write the reason, or a note."),
                    )
                )
    found = [each for each in placed if each.kind != "load"]
    for key, rows in by_load.items():
        counting = [each for each in rows if _attempt(each.cells) != ABANDONED]
        repeats = [each for each in counting if _attempt(each.cells) == REPEAT]
        plain = [each for each in counting if each not in repeats]
        for again in plain[1:]:
            problems.append(_twice(again, plain[0]))
        last = [*plain[:1], *repeats][-1] if counting else None
        aside = [each for each in rows if each is not last and each not in plain[1:]]
        found += [
            replace(each, kind=ATTEMPT, key=f"{key}|{number}", reason=_why(each, last))
            for number, each in enumerate(aside, start=1)
        ]
        if last is not None:
            found.append(last)
    return found


def _twice(again: Placed, first: Placed) -> Problem:
    return Problem(
        again.place("load"),
        say("load {load} again", load=again.cells["load"].typed),
        say("once; it stands in {before}", before=first.place("load")),
        say(
            "If it was wrapped twice, write repeat beside the wrap that counts, with the reason;"
            " else correct the number."
        ),
    )


def _why(each: Placed, last: Placed | None) -> str:
    own = reason_of(each.cells) if _attempt(each.cells) else ""
    return own or (reason_of(last.cells) if last is not None else "")


def is_first_of_repeated(row: Placed, current: Record | None) -> bool:
    """Whether a row repeats a load of which an earlier wrap, or none that counts, is on record."""
    if row.kind != "load" or _attempt(row.cells) != REPEAT:
        return False
    return current is None or current.void or _attempt(current.cells) != REPEAT


def set_first_wrap_aside(
    batch: Batch, trial: str, row: Placed, current: Record | None, others: Sequence[Placed]
) -> int:
    """Takes what is on record of an earlier wrap out of the count, before its repeat is written.

    Args:
        batch: where.
        trial: key of the trial.
        row: the repeat.
        current: the load as it is on record; None where it is not.
        others: every row that is written along.

    Returns:
        How many readings were taken out.
    """
    reason = say("wrapped again: {reason}", reason=reason_of(row.cells))
    has_own_row = any(
        each.kind == ATTEMPT and each.key.startswith(f"{row.key}|") for each in others
    )
    if current is not None and not current.void and not has_own_row:
        kept = [
            each for each in batch.current(trial, ATTEMPT) if each.key.startswith(f"{row.key}|")
        ]
        cells = {**current.cells, "reason": Cell(reason)}
        batch.add(trial, ATTEMPT, f"{row.key}|{len(kept) + 1}", cells)
    written = {(each.kind, each.key) for each in others}
    count = 0
    for kind in ("width", "pull"):
        for each in batch.current(trial, kind):
            is_of_load = "load" in each.cells and load_key(each.cells["load"].typed) == row.key
            if is_of_load and not each.void and (kind, each.key) not in written:
                batch.correct(each, {}, reason, void=True)
                count += 1
    return count
