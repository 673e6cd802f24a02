"""One page for the operator: settings in the panel's words, film, lacing, checks, cautions."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from woold.case.model import Case
from woold.prediction.film_on_load import lacing_of
from woold.prediction.predict import predict
from woold.report.dancer_blocks import cycle_of, dancer_facts, dancer_looks
from woold.report.making import Making, finished
from woold.report.model import Report
from woold.report.pdf import is_one_page
from woold.report.prediction_report import spread_of
from woold.report.setup_parts import (
    check_tables,
    film_text,
    lacing_figure,
    load_text,
    settings_table,
)
from woold.rows.blocks import Block, Cautions, Facts, Figure, Note, Paragraph, SideBySide, Table
from woold.uncertainty.spread import DRAWS
from woold.verdict.rows import answer_blocks, verdict_answer
from woold.verdict.verdict import verdict_of

__all__ = ["setup_sheet"]

_MOST_FINDINGS = 4
_LONGEST_NOTES = 400

_GIVES_WAY = ("notes", "looks", "findings", "lacing", "dancer", "columns")
"""What is left out, one after the other, until the sheet fits on its page; the print never gets
smaller. Settings, checks and cautions always stand, on a second page if there is no other way."""


@dataclass(frozen=True, slots=True)
class _Parts:
    """What a sheet is made of.

    Args:
        answer: whether the load holds.
        load, film: what it is set up for.
        settings, checks: the tables.
        lacing, dancer, looks: None where nothing is known, or asked for.
        findings: of the prediction and of the dancer.
        cautions: what to take care of.
        notes: of the case.
        placeholders: inputs that nobody measured.
    """

    answer: tuple[Block, ...]
    load: Paragraph
    film: Paragraph
    settings: Table
    checks: SideBySide
    lacing: Figure | None
    dancer: Facts | None
    looks: Paragraph
    findings: tuple[Note, ...]
    cautions: tuple[str, ...]
    notes: str
    placeholders: int


def setup_sheet(
    case: Case, making: Making, with_figures: bool = True, draws: int = DRAWS
) -> Report:
    """The operator's sheet of a case.

    Args:
        case: a checked case.
        making: how the sheet is made.
        with_figures: draw the lacing.
        draws: of uncertain inputs, for the intervals.

    Raises:
        WooldError: the case cannot be predicted.
    """
    parts = _parts(case, making, with_figures, draws)
    for count in range(len(_GIVES_WAY) + 1):
        blocks = tuple(_blocks(parts, frozenset(_GIVES_WAY[:count]), making))
        report = finished("sheet", case.title, blocks, making, is_sheet=True)
        if is_one_page(report):
            break
    return report


def _parts(case: Case, making: Making, with_figures: bool, draws: int) -> _Parts:
    say = making.say
    p = predict(case)
    known = spread_of(case, making.made_at.date(), draws).estimates
    path, study, verdict = lacing_of(case).path, cycle_of(case, say), verdict_of(case, p)
    findings = [Note(each.field, say.sentence(each.message)) for each in p.findings]
    if study is not None:
        findings += [Note("dancer", say.sentence(each)) for each in study.findings]
    told = (
        answer_blocks(verdict, say) if verdict.asked else [Paragraph(verdict_answer(verdict, say))]
    )
    cautions = p.cautions if study is None else study.cautions
    return _Parts(
        answer=tuple(told),
        load=load_text(case, say),
        film=film_text(case, p, say),
        settings=settings_table(case, p, say),
        checks=check_tables(case, p, known, say),
        lacing=None if path is None or not with_figures else lacing_figure(path, say),
        dancer=None if study is None else dancer_facts(study, say),
        looks=dancer_looks(case, p, say),
        findings=tuple(findings),
        cautions=tuple(say.sentence(say(each)) for each in cautions),
        notes=case.notes,
        placeholders=len(p.rests_on),
    )


def _blocks(parts: _Parts, without: frozenset[str], making: Making) -> Iterator[Block]:
    say = making.say
    yield from parts.answer
    yield parts.load
    beside: list[Block] = [parts.film]
    if parts.lacing is not None and "lacing" not in without:
        beside.append(parts.lacing)
    if parts.dancer is not None and "dancer" not in without:
        beside.append(parts.dancer)
    if "columns" in without:
        yield parts.film
        yield parts.settings
    else:
        yield SideBySide((parts.settings,), tuple(beside))
    if "looks" not in without:
        yield parts.looks
    yield parts.checks
    yield Paragraph(
        say(
            "Outside of the range: stop and look for the cause (slip, worn cover, wrong"
            " lacing, other film) before changing settings. The range rests on what"
            " nobody measured (inputs: {count}); measured values replace it.",
            count=parts.placeholders,
        )
    )
    shown = 1 if "findings" in without else _MOST_FINDINGS
    yield from parts.findings[:shown]
    more = len(parts.findings) - shown
    if more > 0:
        yield Paragraph(
            say("One more finding stands in the prediction report.")
            if more == 1
            else say("{count} more findings stand in the prediction report.", count=more)
        )
    if parts.notes and "notes" not in without:
        notes = parts.notes
        cut = notes if len(notes) <= _LONGEST_NOTES else notes[: _LONGEST_NOTES - 1] + "…"
        yield Paragraph(say("Notes: {notes}", notes=cut))
    yield Cautions(say("Take care"), parts.cautions)
    yield Paragraph(_foot(making))


def _foot(making: Making) -> str:
    hashes = ", ".join(f"{each.name} {each.sha256[:12]}" for each in making.inputs)
    return making.say(
        "Set by: ____________________   Date: ______________"
        "   Machine: ____________________   Made of: {inputs}",
        inputs=hashes,
    )
