"""A report of a case as a page shows it, and as the file that somebody takes away."""

from __future__ import annotations

import hashlib
import re
import shlex
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Literal

from woold.carriages.compare import compare_carriages
from woold.case.file import case_from_table
from woold.case.model import Case
from woold.case.text import toml_from_table
from woold.design.result import DesignResult
from woold.errors import InputError
from woold.report.carriages_report import carriages_report
from woold.report.design_report import design_report
from woold.report.making import Making, layout_options
from woold.report.model import InputHash, Report
from woold.report.prediction_report import prediction_report
from woold.report.setup_sheet import setup_sheet
from woold.report.transport_report import transport_report
from woold.rows.typeset import Paper
from woold.rows.wording import Wording
from woold.words import say

__all__ = ["ReportAsked", "ReportKind", "report_asked", "report_stem", "stated"]

ReportKind = Literal["prediction", "sheet", "carriages", "design", "transport"]

_DRAWS, _SEED = 10_000, 1


@dataclass(frozen=True, slots=True)
class ReportAsked:
    """What a report is made of.

    Args:
        kind: which report.
        case: a case file's tables.
        candidate: those of the case whose carriage is compared.
        goal: what a design was best at; "" where it was not said.
        design: what a search found for the case.
        paper: size of the printed page.
        at: the time that it states; now where there is none.
        wording: units and decimal mark.
    """

    kind: ReportKind
    case: Mapping[str, Any]
    candidate: Mapping[str, Any] | None
    goal: str
    design: DesignResult | None
    paper: Paper
    at: datetime | None
    wording: Wording


def report_stem(asked: ReportAsked) -> str:
    """Name of the report's file, without its ending."""
    ending = {"sheet": "sheet", "design": "design"}.get(asked.kind, f"{asked.kind}-report")
    return f"{_slug(asked.case)}-{ending}"


def report_asked(asked: ReportAsked) -> Report:
    """The report.

    Raises:
        WooldError: it cannot be made; says why.
    """
    case = case_from_table(asked.case)
    making = _making(asked)
    if asked.kind == "prediction":
        return prediction_report(case, making)
    if asked.kind == "sheet":
        return setup_sheet(case, making)
    if asked.kind == "transport":
        return transport_report(case, making)
    if asked.kind == "carriages":
        return _compared(case, asked, making)
    if asked.design is None:
        raise InputError.one(
            "job", say("no search"), say("a search that has found something"),
            say("Search on the design page first."),
        )  # fmt: skip
    return design_report(case, asked.design, making)


def _compared(case: Case, asked: ReportAsked, making: Making) -> Report:
    if asked.candidate is None:
        raise InputError.one(
            "candidate", say("no carriage to compare with"), say("a second carriage"),
            say("Choose or draw one on the carriage page first."),
        )  # fmt: skip
    candidate = case_from_table(asked.candidate)
    compared = compare_carriages(case, candidate, _DRAWS, _SEED)
    return carriages_report(case, candidate, compared, making)


def _making(asked: ReportAsked) -> Making:
    at = stated(asked.at or datetime.now(UTC))
    case = f"{_slug(asked.case)}.toml"
    inputs = [_hash(case, asked.case)]
    words = ["woold", "report", asked.kind, case]
    if asked.kind == "carriages" and asked.candidate is not None:
        inputs.append(_hash("candidate.toml", asked.candidate))
        words += ["candidate.toml", "--draws", str(_DRAWS), "--seed", str(_SEED)]
    if asked.kind == "design":
        words += [*(["--goal", asked.goal] if asked.goal else []), "--front"]
    words += layout_options(asked.wording, asked.paper, at)
    return Making(asked.wording, at, asked.paper, tuple(inputs), shlex.join(words))


def stated(at: datetime) -> datetime:
    """The time that a report is asked to state, in UTC.

    Raises:
        InputError: it has no date.
    """
    try:
        return at.astimezone(UTC).replace(microsecond=0)
    except OverflowError:  # an offset may lead before the year 1
        raise InputError.one(
            "at", at, say("a time such as 2026-01-31T12:00Z"), say("Write it like that.")
        ) from None


def _hash(name: str, table: Mapping[str, Any]) -> InputHash:
    """Of the case's file, as the bench downloads it."""
    return InputHash(name, hashlib.sha256(toml_from_table(table).encode()).hexdigest())


def _slug(table: Mapping[str, Any]) -> str:
    """The name under which the bench downloads the case."""
    title = table.get("title")
    name = re.sub(r"[^A-Za-z0-9]+", "-", title if isinstance(title, str) else "")
    return name.strip("-").lower()[:60] or "case"
