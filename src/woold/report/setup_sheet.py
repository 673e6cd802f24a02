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
from woold.prediction.rows import Estimates
from woold.report.dancer_blocks import cycle_of, dancer_blocks
from woold.report.making import Making, finished
from woold.report.model import Report
from woold.report.prediction_report import spread_of
from woold.report.svg import figure_svg
from woold.rows.blocks import (
    Block,
    Cautions,
    Facts,
    Figure,
    Heading,
    Note,
    Paragraph,
    Row,
    SideBySide,
    Table,
)
from woold.rows.wording import Wording
from woold.uncertainty.spread import DRAWS
from woold.verdict.rows import answer_blocks, verdict_answer
from woold.verdict.verdict import verdict_of
from woold.words import to_say

__all__ = ["setup_sheet"]

_MARKS = 0.1
"""Distance of marks drawn on the unstretched film [m]."""

_TO_FILL_IN = "\N{NO-BREAK SPACE}" * 24

_MOST_FINDINGS = 4
_LONGEST_NOTES = 400

_MACHINES = {
    "turntable": to_say("turntable"),
    "rotary arm": to_say("rotary arm"),
    "ring": to_say("ring"),
}
_SIDES = {"left": to_say("left"), "right": to_say("right")}

_BANDS = {"up": to_say("{wraps} at {height} up"), "down": to_say("{wraps} at {height} down")}

_SETTINGS = {
    "start height": to_say("start height, lower film edge over the deck"),
    "top overlap": to_say("top overlap, upper film edge over the load"),
    "bands": to_say("bands: wraps, lower film edge, on the way"),
    "rope": to_say("film gathered"),
    "pre-stretch": to_say("pre-stretch"),
    "force to load": to_say("force to load"),
    "turning speed": to_say("turning speed"),
    "bottom wraps": to_say("bottom wraps"),
    "rise per turn": to_say("rise per turn"),
    "carriage speed up": to_say("carriage speed up"),
    "top wraps": to_say("top wraps"),
    "fall per turn": to_say("fall per turn"),
    "carriage speed down": to_say("carriage speed down"),
    "closing wraps": to_say("closing wraps"),
    "pause": to_say("pause"),
}
"""What the sheet calls a setting of the case."""


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
        Heading(say("Settings")),
        _settings_table(case, p, say),
    ]
    right: list[Block] = [
        Heading(say("Film and lacing")),
        Facts(say("Film on the machine"), tuple(_film_rows(case, p, say))),
    ]
    path = lacing_of(case).path
    load: list[Block] = [
        Heading(say("Load")),
        Facts(say("Set up for"), tuple(_load_rows(case, say))),
    ]
    if path is not None and with_figures:
        right.append(_lacing_figure(path, say))
        left += load
    else:
        right = [*load, *right]
    study = cycle_of(case, say)
    right += dancer_blocks(case, p, study, say)
    findings = [Note(each.field, say.sentence(each.message)) for each in p.findings]
    if study is not None:
        findings += [Note("dancer", say.sentence(each)) for each in study.findings]
    more = len(findings) - _MOST_FINDINGS
    verdict = verdict_of(case, p)
    told = (
        answer_blocks(verdict, say) if verdict.asked else [Paragraph(verdict_answer(verdict, say))]
    )
    blocks: list[Block] = [
        *told,
        SideBySide(tuple(left), tuple(right)),
        Heading(say("Check on the first loads")),
        _check_table(case, p, known, say),
        Paragraph(
            say(
                "Outside of the range: stop and look for the cause (slip, worn cover, wrong"
                " lacing, other film) before changing settings. The range rests on what"
                " nobody measured (inputs: {count}); measured values replace it.",
                count=len(p.rests_on),
            )
        ),
        *findings[:_MOST_FINDINGS],
        *(
            [
                Paragraph(
                    say("One more finding stands in the prediction report.")
                    if more == 1
                    else say("{count} more findings stand in the prediction report.", count=more)
                )
            ]
            if more > 0
            else []
        ),
    ]
    if case.notes:
        notes = case.notes
        shown = notes if len(notes) <= _LONGEST_NOTES else notes[: _LONGEST_NOTES - 1] + "…"
        blocks.append(Paragraph(say("Notes: {notes}", notes=shown)))
    cautions = p.cautions if study is None else study.cautions
    blocks.append(Cautions(say("Take care"), tuple(say.sentence(say(each)) for each in cautions)))
    blocks.append(Paragraph(_foot(making)))
    return finished("sheet", case.title, blocks, making, is_sheet=True)


def _settings_table(case: Case, p: Prediction, say: Wording) -> Table:
    panel: dict[str, PanelSetting] = {each.setting: each for each in case.machine.panel}
    rows: list[tuple[str, ...]] = []
    for name, value, *_ in _settings(case, p, say):
        words = panel.get(name)
        label = words.label if words else ""
        if words and words.reading:
            value = say("{reading} ({value})", reading=words.reading, value=value)
        rows.append((say(_SETTINGS.get(name, name)), label, value))
    columns = (say("setting"), say("on the panel"), say("set to"))
    if not panel:
        rows = [(row[0], row[2]) for row in rows]
    heads = columns if panel else (columns[0], columns[2])
    caption = say("In the order of a cycle ({machine})", machine=say(_MACHINES[case.machine.kind]))
    return Table(caption, heads, tuple(rows), words=(0, 1, 2))


def _settings(case: Case, p: Prediction, say: Wording) -> Iterator[Row]:
    """Settings in the order of a cycle."""
    program = case.program
    per_second = case.machine.speed / (2.0 * math.pi)

    def length(value: float) -> str:
        return say.amount(value, "small_length")

    yield Row("pre-stretch", say.amount(case.carriage.prestretch, "elongation"))
    yield Row("force to load", say.amount(program.force_to_load, "force"))
    yield Row("turning speed", say.amount(case.machine.speed, "turning_speed"))
    yield Row("start height", length(program.start_height))
    yield Row("bottom wraps", say.number(program.bottom_wraps))
    yield Row("rise per turn", length(p.rise_per_turn_m))
    yield Row("carriage speed up", say.amount(p.rise_per_turn_m * per_second, "speed"))
    yield Row("top overlap", length(program.top_overlap))
    yield Row("top wraps", say.number(program.top_wraps))
    if p.fall_per_turn_m is not None:
        yield Row("fall per turn", length(p.fall_per_turn_m))
        yield Row("carriage speed down", say.amount(p.fall_per_turn_m * per_second, "speed"))
    yield Row("closing wraps", say.number(program.closing_wraps))
    if program.bands:
        bands = (
            say(
                _BANDS[band.on_the_way],
                wraps=say.number(band.wraps),
                height=length(band.height),
            )
            for band in program.bands
        )
        yield Row("bands", "; ".join(bands))
    for rope in program.ropes:
        turns = (say.number(rope.first_turn), say.number(rope.last_turn))
        yield Row(
            "rope",
            say(
                "turns {first} to {last}, gathered to {width}",
                first=turns[0],
                last=turns[1],
                width=length(rope.width),
            ),
        )
    for pause in program.pauses:
        time = say.amount(pause.time, "time")
        yield Row("pause", say("{time} before: {part}", time=time, part=say(pause.before)))


def _load_rows(case: Case, say: Wording) -> Iterator[Row]:
    load = case.load
    if load.diameter is not None:
        yield Row(say("diameter"), say.amount(load.diameter, "length"))
    elif load.length is not None and load.width is not None:
        sides = (say.amount(load.length, "length"), say.amount(load.width, "length"))
        yield Row(
            say("length and width"), say("{length} by {width}", length=sides[0], width=sides[1])
        )
    else:
        yield Row(say("length and width"), say("an outline of its own, see the case"))
    yield Row(say("height above the deck"), say.amount(load.height, "length"))
    yield Row(say("mass"), say.amount(load.mass, "mass"))
    yield Row(say("pallet's deck above the floor"), say.amount(load.deck_height, "small_length"))


def _film_rows(case: Case, p: Prediction, say: Wording) -> Iterator[Row]:
    film = case.film
    yield Row(
        say("roll width, thickness"),
        say(
            "{length} by {width}",
            length=say.amount(film.roll_width, "small_length"),
            width=say.amount(film.thickness, "thickness"),
        ),
    )
    if film.rated_prestretch is not None:
        yield Row(
            say("pre-stretch it is rated for"), say.amount(film.rated_prestretch, "elongation")
        )
    yield Row(say("loads per roll"), say.fixed(p.loads_per_roll, 0))
    yield Row(say("gap between slow and fast roller"), say.amount(p.gap_m, "small_length"))
    yield Row(
        say("contact angle"),
        say(
            "slow roller {slow}, fast roller {fast}",
            slow=say.amount(p.contact_angle_slow_rad, "angle"),
            fast=say.amount(p.contact_angle_fast_rad, "angle"),
        ),
    )


def _lacing_figure(path: FilmPath, say: Wording) -> Figure:
    figure = new_figure(5.4, 3.9)
    axes = figure.subplots()
    draw_path(axes, path, say.units, 3.6)
    axes.set_axis_off()
    order = ", ".join(
        say(
            "{name} (on the film's {side})",
            name=each.roller.name,
            side=say(_SIDES[each.roller.side]),
        )
        for each in path.contacts
    )
    return Figure(
        figure_svg(figure, "lacing", say),
        say("Lacing seen from above: how the film runs through the carriage."),
        say(
            "Drawing of the film's way through the carriage, seen from above. The film passes,"
            " in this order: {rollers}.",
            rollers=order,
        ),
        width=0.9,
    )


def _check_table(case: Case, p: Prediction, known: Estimates, say: Wording) -> Table:
    """What to measure on the first loads, what to expect, and the range of the prediction."""

    def row(check: str, name: str, kind: str, scale: float = 1.0) -> tuple[str, ...]:
        each = known[name].times(scale)
        ends = say.span(each.low, each.high, kind) if each.low < each.high else say("as set")
        return (check, say.amount(each.value, kind), ends, _TO_FILL_IN)

    rows = [
        row(say("film cut off one load, weighed"), "film_mass_kg", "small_mass"),
        row(say("film width on the load"), "film_width_on_load_m", "small_length"),
        row(
            say(
                "two marks {apart} apart on the unstretched film, measured on the load",
                apart=say.amount(_MARKS, "small_length"),
            ),
            "stretch_on_load",
            "small_length",
            _MARKS,
        ),
    ]
    if p.pull_plate_reading_n is not None:
        pull = say(
            "pull-plate reading, {pull} off the face at {height} (quality check only)",
            pull=say.amount(case.hold.pull_distance, "small_length"),
            height=say.amount(p.pull_plate_height_m, "length"),
        )
        rows.append(row(pull, "pull_plate_reading_n", "force"))
    rows.append(row(say("cycle time"), "cycle_time_s", "time"))
    rows.append((say("turns"), say.fixed(p.turns, 1), say("as set"), _TO_FILL_IN))
    columns = tuple(
        say(name)
        for name in (to_say("check"), to_say("expect"), to_say("90 % range"), to_say("found"))
    )
    return Table(
        say("Wrap three loads, measure each, write down the middle value"),
        columns,
        tuple(rows),
        words=(0, 3),
    )


def _foot(making: Making) -> str:
    hashes = ", ".join(f"{each.name} {each.sha256[:12]}" for each in making.inputs)
    return making.say(
        "Set by: ____________________   Date: ______________"
        "   Machine: ____________________   Made of: {inputs}",
        inputs=hashes,
    )
