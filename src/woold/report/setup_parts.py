"""Parts of the operator's sheet: settings in the panel's words, load, film, lacing, checks."""

from __future__ import annotations

import math
from collections.abc import Iterator

from woold.case.model import Case
from woold.case.panel import PanelSetting
from woold.physics.rollers import FilmPath
from woold.pictures.canvas import new_figure
from woold.pictures.carriage_drawing import draw_path
from woold.prediction.result import Prediction
from woold.prediction.rows import Estimates
from woold.report.svg import figure_svg
from woold.rows.blocks import TO_WRITE, Figure, Paragraph, Row, SideBySide, Table
from woold.rows.wording import Wording
from woold.words import to_say

__all__ = ["check_tables", "film_text", "lacing_figure", "load_text", "settings_table"]

_MARKS = 0.1
"""Distance of marks drawn on the unstretched film [m]."""

_LACING_MM = 88.0
"""Width of the drawing: a column of the sheet [mm]."""

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


def settings_table(case: Case, p: Prediction, say: Wording) -> Table:
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
    caption = say(
        "Settings, in the order of a cycle ({machine})", machine=say(_MACHINES[case.machine.kind])
    )
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
    if program.pauses:
        pauses = (
            say(
                "{time} before: {part}",
                time=say.amount(pause.time, "time"),
                part=say(pause.before),
            )
            for pause in program.pauses
        )
        yield Row("pause", "; ".join(pauses))


def load_text(case: Case, say: Wording) -> Paragraph:
    """The load that the sheet is for, in a line."""
    return Paragraph(say("Set up for: {facts}.", facts=_in_a_line(_load_rows(case, say))))


def film_text(case: Case, p: Prediction, say: Wording) -> Paragraph:
    """The film and where it runs, in a few lines."""
    return Paragraph(say("Film and lacing: {facts}.", facts=_in_a_line(_film_rows(case, p, say))))


def _in_a_line(rows: Iterator[Row]) -> str:
    return "; ".join(f"{row.label} {row.value}" for row in rows)


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


def lacing_figure(path: FilmPath, say: Wording) -> Figure:
    figure = new_figure(_LACING_MM / 25.4, 0.43 * _LACING_MM / 25.4)
    axes = figure.subplots()
    draw_path(axes, path, say.units, 0.43 * _LACING_MM / 25.4)
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
        figure_svg(figure, "lacing", say, _LACING_MM),
        say("Lacing seen from above"),
        say(
            "Drawing of the film's way through the carriage, seen from above. The film passes,"
            " in this order: {rollers}.",
            rollers=order,
        ),
    )


def check_tables(case: Case, p: Prediction, known: Estimates, say: Wording) -> SideBySide:
    """What to measure on the first loads, what to expect, and a box for what was found."""
    rows = list(_checks(case, p, known, say))
    half = (len(rows) + 1) // 2
    columns = (say("check"), say("expect (range)"), say("found"))

    def table(caption: str, part: list[tuple[str, ...]]) -> Table:
        return Table(caption, columns, tuple(part), words=(0, 1, 2))

    return SideBySide(
        (table(say("Check on the first loads (ranges: 90 %)"), rows[:half]),),
        (table(say("Wrap three, write down the middle value"), rows[half:]),),
    )


def _checks(case: Case, p: Prediction, known: Estimates, say: Wording) -> Iterator[tuple[str, ...]]:
    def row(check: str, name: str, kind: str, scale: float = 1.0) -> tuple[str, ...]:
        each = known[name].times(scale)
        ends = say.span(each.low, each.high, kind) if each.low < each.high else say("as set")
        expected = say("{value} ({range})", value=say.amount(each.value, kind), range=ends)
        return (check, expected, TO_WRITE)

    yield row(say("film cut off one load, weighed"), "film_mass_kg", "small_mass")
    yield row(say("film width on the load"), "film_width_on_load_m", "small_length")
    yield row(
        say(
            "two marks {apart} apart on the unstretched film, measured on the load",
            apart=say.amount(_MARKS, "small_length"),
        ),
        "stretch_on_load",
        "small_length",
        _MARKS,
    )
    if p.pull_plate_reading_n is not None:
        pull = say(
            "pull-plate reading, {pull} off the face at {height} (quality check only)",
            pull=say.amount(case.hold.pull_distance, "small_length"),
            height=say.amount(p.pull_plate_height_m, "length"),
        )
        yield row(pull, "pull_plate_reading_n", "force")
    yield row(say("cycle time"), "cycle_time_s", "time")
    turns = say("{value} ({range})", value=say.fixed(p.turns, 1), range=say("as set"))
    yield (say("turns"), turns, TO_WRITE)
