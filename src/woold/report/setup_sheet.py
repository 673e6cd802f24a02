"""One page for the operator: settings in the panel's words, film, lacing, checks, cautions."""

from __future__ import annotations

import math
from collections.abc import Iterator

from woold.case.model import Case
from woold.case.panel import PanelSetting
from woold.physics.rollers import FilmPath
from woold.pictures.canvas import new_figure
from woold.pictures.carriage_drawing import draw_path
from woold.prediction.film_on_load import lacing_of
from woold.prediction.predict import predict
from woold.prediction.result import Prediction
from woold.report.dancer_blocks import cycle_of, dancer_blocks
from woold.report.making import Making, finished
from woold.report.model import (
    Block,
    Cautions,
    Columns,
    Facts,
    Figure,
    Heading,
    Note,
    Paragraph,
    Report,
    Table,
)
from woold.report.prediction_report import spread_of
from woold.report.prediction_rows import Estimates
from woold.report.svg import figure_svg
from woold.report.voice import Voice
from woold.uncertainty.spread import DRAWS

__all__ = ["setup_sheet"]

_MARKS = 0.1
"""Distance of marks drawn on the unstretched film [m]."""

_TO_FILL_IN = "\N{NO-BREAK SPACE}" * 24

_MOST_FINDINGS = 4
_LONGEST_NOTES = 400


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
    say = making.say
    p = predict(case)
    known = spread_of(case, making.made_at.date(), draws).estimates
    left: list[Block] = [
        Heading(say("sheet.settings")),
        _settings_table(case, p, say),
    ]
    right: list[Block] = [
        Heading(say("sheet.film")),
        Facts(say("sheet.film_caption"), tuple(_film_rows(case, p, say))),
    ]
    path = lacing_of(case).path
    load: list[Block] = [
        Heading(say("sheet.load")),
        Facts(say("sheet.load_caption"), tuple(_load_rows(case, say))),
    ]
    if path is not None and with_figures:
        right.append(_lacing_figure(path, say))
        left += load
    else:
        right = [*load, *right]
    study = cycle_of(case, say)
    right += dancer_blocks(case, p, study, say)
    findings = [Note(each.field, say.sentence(each.message)) for each in p.warnings]
    if study is not None:
        findings += [Note("dancer", say.sentence(each)) for each in study.findings]
    more = len(findings) - _MOST_FINDINGS
    blocks: list[Block] = [
        Columns(tuple(left), tuple(right)),
        Heading(say("sheet.checks")),
        _check_table(case, p, known, say),
        Paragraph(say("sheet.checks_note", count=len(p.rests_on))),
        *findings[:_MOST_FINDINGS],
        *([Paragraph(say("sheet.more_findings", count=more))] if more > 0 else []),
    ]
    if case.notes:
        notes = case.notes
        shown = notes if len(notes) <= _LONGEST_NOTES else notes[: _LONGEST_NOTES - 1] + "…"
        blocks.append(Paragraph(say("sheet.notes", notes=shown)))
    cautions = p.cautions if study is None else study.cautions
    blocks.append(Cautions(say("caution.heading"), tuple(say.sentence(c) for c in cautions)))
    blocks.append(Paragraph(_foot(making)))
    return finished("sheet", case.title, blocks, making, is_sheet=True)


def _settings_table(case: Case, p: Prediction, say: Voice) -> Table:
    panel: dict[str, PanelSetting] = {each.setting: each for each in case.machine.panel}
    rows: list[tuple[str, ...]] = []
    for name, value in _settings(case, p, say):
        words = panel.get(name)
        label = words.label if words else ""
        if words and words.reading:
            value = say("sheet.reading", reading=words.reading, value=value)
        rows.append((say("setting." + name.replace(" ", "_")), label, value))
    columns = (say("sheet.setting"), say("sheet.on_the_panel"), say("sheet.set_to"))
    if not panel:
        rows = [(row[0], row[2]) for row in rows]
    heads = columns if panel else (columns[0], columns[2])
    caption = say("sheet.settings_caption", kind=case.machine.kind)
    return Table(caption, heads, tuple(rows), words=(0, 1, 2))


def _settings(case: Case, p: Prediction, say: Voice) -> Iterator[tuple[str, str]]:
    """Settings in the order of a cycle."""
    program = case.program
    per_second = case.machine.speed / (2.0 * math.pi)

    def length(value: float) -> str:
        return say.amount(value, "small_length")

    yield "pre-stretch", say.amount(case.carriage.prestretch, "elongation")
    yield "force to load", say.amount(program.force_to_load, "force")
    yield "turning speed", say.amount(case.machine.speed, "turning_speed")
    yield "start height", length(program.start_height)
    yield "bottom wraps", say.number(program.bottom_wraps)
    yield "rise per turn", length(p.rise_per_turn_m)
    yield "carriage speed up", say.amount(p.rise_per_turn_m * per_second, "speed")
    yield "top overlap", length(program.top_overlap)
    yield "top wraps", say.number(program.top_wraps)
    if p.fall_per_turn_m is not None:
        yield "fall per turn", length(p.fall_per_turn_m)
        yield "carriage speed down", say.amount(p.fall_per_turn_m * per_second, "speed")
        yield "closing wraps", say.number(program.closing_wraps)
    if program.bands:
        bands = (
            say(
                f"sheet.band_{band.on_the_way}",
                wraps=say.number(band.wraps),
                height=length(band.height),
            )
            for band in program.bands
        )
        yield "bands", "; ".join(bands)
    for rope in program.ropes:
        turns = (say.number(rope.first_turn), say.number(rope.last_turn))
        yield (
            "rope",
            say("sheet.rope", first=turns[0], last=turns[1], width=length(rope.width)),
        )
    for pause in program.pauses:
        time = say.amount(pause.time, "time")
        yield "pause", say("sheet.pause", time=time, part=pause.before)


def _load_rows(case: Case, say: Voice) -> Iterator[tuple[str, str]]:
    load = case.load
    if load.diameter is not None:
        yield say("sheet.diameter"), say.amount(load.diameter, "length")
    elif load.length is not None and load.width is not None:
        sides = (say.amount(load.length, "length"), say.amount(load.width, "length"))
        yield say("sheet.sides"), say("sheet.by", length=sides[0], width=sides[1])
    else:
        yield say("sheet.sides"), say("sheet.other_outline")
    yield say("sheet.height"), say.amount(load.height, "length")
    yield say("sheet.mass"), say.amount(load.mass, "mass")
    yield say("sheet.deck"), say.amount(load.deck_height, "small_length")


def _film_rows(case: Case, p: Prediction, say: Voice) -> Iterator[tuple[str, str]]:
    film = case.film
    yield (
        say("sheet.roll"),
        say(
            "sheet.by",
            length=say.amount(film.roll_width, "small_length"),
            width=say.amount(film.thickness, "thickness"),
        ),
    )
    if film.rated_prestretch is not None:
        yield say("sheet.rated"), say.amount(film.rated_prestretch, "elongation")
    yield say("rolls.loads"), say.fixed(p.loads_per_roll, 0)
    yield say("sheet.gap"), say.amount(p.gap_m, "small_length")
    yield (
        say("sheet.contact"),
        say(
            "sheet.contact_both",
            slow=say.amount(p.contact_angle_slow_rad, "angle"),
            fast=say.amount(p.contact_angle_fast_rad, "angle"),
        ),
    )


def _lacing_figure(path: FilmPath, say: Voice) -> Figure:
    figure = new_figure(5.4, 3.9)
    axes = figure.subplots()
    draw_path(axes, path, say.units, 3.6)
    axes.set_axis_off()
    order = ", ".join(
        say("picture.lacing_roller", name=each.roller.name, side=say(f"word.{each.roller.side}"))
        for each in path.contacts
    )
    return Figure(
        figure_svg(figure, "lacing", say),
        say("picture.lacing"),
        say("picture.lacing_alt", rollers=order),
        width=0.9,
    )


def _check_table(case: Case, p: Prediction, known: Estimates, say: Voice) -> Table:
    """What to measure on the first loads, what to expect, and the range of the prediction."""

    def row(check: str, name: str, kind: str, scale: float = 1.0) -> tuple[str, ...]:
        each = known[name].times(scale)
        ends = (
            say.span(each.low, each.high, kind) if each.low < each.high else say("sheet.no_range")
        )
        return (check, say.amount(each.value, kind), ends, _TO_FILL_IN)

    rows = [
        row(say("sheet.weigh"), "film_mass_kg", "small_mass"),
        row(say("sheet.width"), "film_width_on_load_m", "small_length"),
        row(
            say("sheet.marks", apart=say.amount(_MARKS, "small_length")),
            "stretch_on_load",
            "small_length",
            _MARKS,
        ),
    ]
    if p.pull_plate_reading_n is not None:
        pull = say(
            "sheet.pull",
            pull=say.amount(case.hold.pull_distance, "small_length"),
            height=say.amount(p.pull_plate_height_m, "length"),
        )
        rows.append(row(pull, "pull_plate_reading_n", "force"))
    rows.append(row(say("time.cycle"), "cycle_time_s", "time"))
    rows.append((say("parts.turns"), say.fixed(p.turns, 1), say("sheet.no_range"), _TO_FILL_IN))
    columns = tuple(say(f"sheet.{name}") for name in ("check", "expect", "limits", "found"))
    return Table(say("sheet.checks_caption"), columns, tuple(rows), words=(0, 3))


def _foot(making: Making) -> str:
    hashes = ", ".join(f"{each.name} {each.sha256[:12]}" for each in making.inputs)
    return making.say("sheet.foot", inputs=hashes)
