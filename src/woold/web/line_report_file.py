"""An answer of a line as the report that its command writes: a page, or PDF to print."""

from __future__ import annotations

import hashlib
import shlex
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any, Literal

from woold.line.map_result import LineMap
from woold.line.one_carriage import LineCarriages
from woold.report.line_plan_report import line_plan_report
from woold.report.line_report import line_report
from woold.report.making import Making, layout_options
from woold.report.model import InputHash, Report
from woold.rows.typeset import Paper
from woold.rows.wording import Wording
from woold.web.line_questions import LineAsked
from woold.web.made_lately import report_content
from woold.web.sent_lines import LineParts

__all__ = ["line_report_file", "plan_report_file"]

_FIRST = LineAsked(question="map")


def line_report_file(
    results: tuple[Any, ...],
    folder: Path,
    asked: LineAsked,
    format: Literal["pdf", "html"],
    layout: tuple[Wording, Paper, datetime],
) -> tuple[str, bytes]:
    """Name and content of a report.

    Args:
        results: an answer; of carriages and map both, in any order.
        folder: where the line lies.
        asked: the question of the first.
        format: of the file.
        layout: words, paper, and when the first was found.
    """
    making = _making(folder, _words(asked, LineParts.in_folder(folder)), *layout)
    maps = [each for each in results if isinstance(each, LineMap)]
    alone = [each for each in results if isinstance(each, LineCarriages)]
    report = (
        line_report(alone[0], maps[0], making) if maps else line_plan_report(results[0], making)
    )
    return _written(report, f"line-{asked.question}", format)


def plan_report_file(
    result: Any, making: Making, stem: str, format: Literal["pdf", "html"]
) -> tuple[str, bytes]:
    """Name and content of the report of a plan.

    Args:
        result: the answer.
        making: how the report is made.
        stem: of its file's name.
        format: of the file.
    """
    return _written(line_plan_report(result, making), stem, format)


def _written(report: Report, stem: str, format: Literal["pdf", "html"]) -> tuple[str, bytes]:
    return f"{stem}.{format}", report_content(report, format)


def _making(folder: Path, words: list[str], wording: Wording, paper: Paper, at: datetime) -> Making:
    parts = LineParts.in_folder(folder)
    names = [each for each in (parts.line, parts.catalogue, parts.shelf) if each]
    inputs = tuple(
        InputHash(name, hashlib.sha256((folder / name).read_bytes()).hexdigest()) for name in names
    )
    if words[1] == "report":
        words += layout_options(wording, paper, at)
    return Making(wording, at, paper, inputs, shlex.join(words))


def _words(asked: LineAsked, parts: LineParts) -> list[str]:
    """The command that makes the same report; where none takes all options, the same numbers."""
    name = parts.line or "line.toml"
    right = [word for each in (*parts.as_typed, *asked.as_typed) for word in ("--as-typed", each)]
    if asked.question in ("map", "carriage"):
        sample = [] if asked.sample is None else ["--sample", str(asked.sample)]
        return ["woold", "report", "line", name, "--draws", str(asked.draws), *sample, *right]
    options = list(_options(asked))
    plain = [word for pair in options for word in pair if pair[0] in ("--carriage", "--machine")]
    if len(plain) == sum(map(len, options)):
        return ["woold", "report", "line-plan", asked.question, name, *plain, *right]
    return ["woold", "line", asked.question, name, *(e for pair in options for e in pair), *right]


def _options(asked: LineAsked) -> Iterator[tuple[str, ...]]:
    """Options that are not as they are when nothing is said."""
    if asked.carriage:
        yield "--carriage", asked.carriage
    if asked.question == "kits" and asked.by_machine:
        yield ("--by-machine",)
    if asked.question == "wear" and asked.rethread:
        yield "--rethread", asked.rethread
    if asked.question == "recipes":
        for option, given, usual in (
            ("--machine", asked.machine, _FIRST.machine),
            ("--film", asked.film, _FIRST.film),
            ("--loss", asked.loss, _FIRST.loss),
            ("--margin", asked.margin, _FIRST.margin),
        ):
            if given != usual:
                yield option, given
        yield from (("--set-force", each) for each in asked.forces)
