"""A trial of two cases: what their files say already need not be typed again."""

from __future__ import annotations

import os
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from woold.case.file import case_from_table, read_case_table
from woold.case.text import toml_from_table
from woold.errors import InputError, WooldError
from woold.prediction.result import Finding
from woold.trial.setup import Trial
from woold.trial.starter import starter_text
from woold.words import say

__all__ = ["CaseOfTrial", "new_trial_text", "trial_of_cases"]

_LOAD, _TITLE, _KEY = 60, 200, 63


@dataclass(frozen=True, slots=True)
class CaseOfTrial:
    """A case that a trial names.

    Args:
        name: of its file, as the trial will name it.
        table: its tables as read.
    """

    name: str
    table: Mapping[str, Any]

    @property
    def title(self) -> str:
        """What it is called."""
        found = self.table.get("title")
        return found if isinstance(found, str) and found else self.name.removesuffix(".toml")


def trial_of_cases(
    baseline: CaseOfTrial, candidate: CaseOfTrial, before: Mapping[str, Any] | None = None
) -> tuple[dict[str, Any], tuple[Finding, ...]]:
    """Tables of a trial file that compares two cases, and what to know of the two.

    The first load type takes the cases; what else is typed already stays.

    Args:
        baseline, candidate: what is compared.
        before: tables of the trial file so far.

    Returns:
        Tables, in which loads a year may still be missing; and findings.
    """
    found = dict(before or {})
    title = say(
        "{candidate}, against {baseline}", candidate=candidate.title, baseline=baseline.title
    )
    found.setdefault("key", _key(candidate.title))
    found.setdefault("title", title[:_TITLE])
    found.setdefault(
        "question", say("Does the candidate save film at equal hold, with no zone held less?")
    )
    types = found.get("load_types")
    rest = [dict(each) for each in types if isinstance(each, Mapping)] if types else []
    first = rest.pop(0) if rest else {}
    first.setdefault("name", _load_name(baseline))
    first |= {"baseline": baseline.name, "candidate": candidate.name}
    found["load_types"] = [first, *rest]
    return found, _differences(baseline, candidate)


def new_trial_text(
    baseline: str | None, candidate: str | None, path: str
) -> tuple[str, tuple[Finding, ...]]:
    """Text of a trial file to start from, and what to know of the cases that it compares.

    Args:
        baseline, candidate: case files; a commented file with an example where there are none.
        path: of the trial file, from which it will name them; "" where it has none yet.

    Raises:
        InputError: one case without the other, or a case file that cannot be read.
    """
    if baseline is None and candidate is None:
        return starter_text(), ()
    if baseline is None or candidate is None:
        raise InputError.one(
            "--baseline" if baseline is None else "--candidate",
            say("nothing"),
            say("both cases, or neither"),
            say("Name the other case too."),
        )
    folder = Path(path).parent
    one, other = (
        CaseOfTrial(os.path.relpath(each, folder), read_case_table(each))
        for each in (baseline, candidate)
    )
    tables, findings = trial_of_cases(one, other)
    return toml_from_table(tables, Trial), findings


def _load_name(case: CaseOfTrial) -> str:
    """The name of the load on a shelf, where it has one."""
    named = case.table.get("load")
    if isinstance(named, str):
        return named.removeprefix("@")[:_LOAD]
    made_of = case.table.get("made_of")
    for each in made_of if isinstance(made_of, list) else ():
        if isinstance(each, Mapping) and each.get("kind") == "loads":
            return str(each.get("name", ""))[:_LOAD]
    return say("loads")


def _key(title: str) -> str:
    """A title as a short name: a-z, 0-9 and hyphens."""
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().casefold()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:_KEY].rstrip("-") or "trial"


def _differences(baseline: CaseOfTrial, candidate: CaseOfTrial) -> tuple[Finding, ...]:
    """What the two cases do not have in common though a trial wraps the same loads."""
    try:
        one, other = case_from_table(baseline.table), case_from_table(candidate.table)
    except WooldError:
        return ()  # what must be mended is told where the trial is planned
    found = []
    if one.load != other.load:
        told = say(
            "The two cases differ in [load]. A trial wraps the same loads both ways: otherwise"
            " the loads are compared, not the wrapping."
        )
        found.append(Finding("load_differs", "load", told))
    if one.hold != other.hold:
        told = say("The two cases differ in [hold]: each is asked for another hold.")
        found.append(Finding("hold_differs", "hold", told))
    if all(
        getattr(one, name) == getattr(other, name)
        for name in ("film", "carriage", "dancer", "machine", "program")
    ):
        told = say(
            "The two cases have the same film, carriage, machine and program: there is nothing"
            " to compare."
        )
        found.append(Finding("nothing_differs", "candidate", told))
    return tuple(found)
