"""What stands beside the drawings of the pages: titles, axes and lines, in the reader's words."""

from __future__ import annotations

from pydantic import BaseModel

from woold.carriages.comparison import CarriageComparison
from woold.carriages.study import CarriageReport
from woold.dancer.results import CycleStudy, TraceStudy
from woold.design.result import FrontPoint
from woold.prediction.result import Prediction
from woold.rows.wording import Wording
from woold.transport.simulation import SimulatedWay
from woold.trial.analysis import Analysis
from woold.units import KINDS, unit_symbol
from woold.words import to_say

__all__ = [
    "BarWords",
    "ChartWords",
    "RatioChart",
    "cause_words",
    "curve_words",
    "cycle_words",
    "front_words",
    "order_words",
    "point_words",
    "profile_words",
    "ratio_chart",
    "slip_words",
    "speed_words",
    "turn_words",
]


class ChartWords(BaseModel):
    """A drawing in words: its title, its axes with their units, and its lines in their order."""

    title: str
    x: str
    y: str
    lines: list[str]


class BarWords(BaseModel):
    """Bars in words: what all of them are, and each one's name and value."""

    title: str
    names: list[str]
    values: list[str]


class RatioLine(BaseModel):
    """A measure, candidate over baseline; `limit` is the ratio down to which nothing is lost."""

    name: str
    ratio: float
    low: float | None
    high: float | None
    limit: float | None


class RatioChart(BaseModel):
    """Candidate over baseline with intervals, one line a measure, and the words beside them."""

    title: str
    no_change: str
    margin: str
    lines: list[RatioLine]


def _unit(kind: str, say: Wording) -> str:
    """The one unit that an axis is drawn in."""
    known = KINDS[kind]
    return unit_symbol(known.trade if say.units == "trade" else known.metric)


def profile_words(p: Prediction, say: Wording) -> ChartWords:
    """Containment over the height: when wrapped, later, and the later one's range."""
    return ChartWords(
        title=say(
            "Containment force over the height of the load: least {force} when wrapped. The table"
            " below says the same.",
            force=say.amount(p.containment_min_n, "force"),
        ),
        x=say("containment force [{unit}]", unit=_unit("force", say)),
        y=say("above the deck [{unit}]", unit=_unit("length", say)),
        lines=[
            say("when wrapped"),
            say("after {time}", time=say.amount(p.later_s, "hours")),
            say("its range"),
        ],
    )


def slip_words(way: SimulatedWay, say: Wording) -> ChartWords:
    """Slips over time, from the pallet up: the pallet on the vehicle, then each tier."""
    tiers = range(1, len(way.largest_slips_m))
    return ChartWords(
        title=say(
            "Slip of each tier over the one below, over time: {slip} at most. The table says the"
            " same.",
            slip=say.amount(max(way.largest_slips_m), "small_length"),
        ),
        x=say("time [s]"),
        y=say("slip [{unit}]", unit=_unit("small_length", say)),
        lines=[
            say("pallet on the vehicle"),
            *(
                say("tier {number} on the deck", number=number)
                if number == 1
                else say("tier {number} on the one below", number=number)
                for number in tiers
            ),
        ],
    )


def speed_words(p: Prediction, say: Wording) -> ChartWords:
    """Film speed round one turn."""
    return ChartWords(
        title=say(
            "Film speed round one turn: {low} at the flat of a side to {high} at a corner",
            low=say.amount(p.film_speed_min_m_per_s, "speed"),
            high=say.amount(p.film_speed_max_m_per_s, "speed"),
        ),
        x=say("part of a turn"),
        y=say("film speed [{unit}]", unit=_unit("speed", say)),
        lines=[say("film speed")],
    )


def curve_words(report: CarriageReport, say: Wording) -> ChartWords:
    """Delivered pre-stretch over force to load: base, candidate, rings, and what they mark."""
    return ChartWords(
        title=say("Delivered pre-stretch against force to load, base and candidate"),
        x=say("force to load [{unit}]", unit=_unit("force", say)),
        y=say("delivered pre-stretch [{unit}]", unit=_unit("elongation", say)),
        lines=[
            say("base"),
            say("candidate"),
            say("force to load of this case"),
            say("Rings: this case's {force}.", force=say.amount(report.force_to_load_n, "force")),
        ],
    )


def cause_words(comparison: CarriageComparison, say: Wording) -> BarWords:
    """The saving by cause."""
    names = [say(each.cause) for each in comparison.causes]
    values = [say.percent(each.share) for each in comparison.causes]
    told = ", ".join(f"{name} {value}" for name, value in zip(names, values, strict=True))
    return BarWords(title=say("Saving by cause: {list}", list=told), names=names, values=values)


def cycle_words(study: CycleStudy, say: Wording) -> list[ChartWords]:
    """Film tension, arm angle and film speed over the cycle."""
    time = say("time [s]")
    return [
        ChartWords(
            title=say(
                "Film tension over the cycle: mean {mean}, most {most}",
                mean=say.amount(study.tension_mean_n, "force"),
                most=say.amount(study.tension_peak_n, "force"),
            ),
            x=time,
            y=say("film tension [{unit}]", unit=_unit("force", say)),
            lines=[say("film tension")],
        ),
        ChartWords(
            title=say("Arm angle over the cycle, between its stops"),
            x=time,
            y=say("arm angle [{unit}]", unit=_unit("angle", say)),
            lines=[say("arm angle"), say("lower stop"), say("upper stop")],
        ),
        ChartWords(
            title=say("Film speed that the load asks for and that the drive gives"),
            x=time,
            y=say("film speed [{unit}]", unit=_unit("speed", say)),
            lines=[say("given by the drive"), say("asked for by the load")],
        ),
    ]


def turn_words(study: TraceStudy, say: Wording) -> ChartWords:
    """The average turn of a trace, and the simulated one."""
    return ChartWords(
        title=say("The average turn of the trace"),
        x=say("part of a turn"),
        y=say("about its mean [{unit}]", unit=_unit(study.position_kind, say)),
        lines=[say("recorded, average turn"), say("the case's dancer, simulated")],
    )


def order_words(study: TraceStudy, say: Wording) -> str:
    """How large a trace's swing is by times a turn."""
    most = max(study.order_amplitudes, default=0.0)
    return say(
        "Amplitudes by times a turn, the largest {most}",
        most=say.amount(most, study.position_kind),
    )


def front_words(say: Wording) -> ChartWords:
    """The front of film against the share that is held, and what its signs are."""
    return ChartWords(
        title=say("Front: programs that no other beats in film, hold and time at once"),
        x=say("film per load [{unit}]", unit=_unit("small_mass", say)),
        y=say("held of what is asked, at the worst place [%]"),
        lines=[say("today"), say("asked"), say("holds"), say("does not hold")],
    )


def point_words(point: FrontPoint, holds: bool, say: Wording) -> str:
    """A program of the front."""
    text = (
        to_say("{film} of film, {share} held, {time}")
        if holds
        else to_say("{film} of film, does not hold: {share} of what is asked, {time}")
    )
    return say(
        text,
        film=say.amount(point.film_mass_kg, "small_mass"),
        share=say.percent(point.share_of_targets, 0),
        time=say.amount(point.cycle_time_s, "time"),
    )


def ratio_chart(found: Analysis, say: Wording) -> RatioChart:
    """Film and containment of a trial, candidate over baseline."""
    lines = []
    if found.equal_hold is not None:
        together = found.equal_hold
        lines.append(
            RatioLine(
                name=say("film at equal hold"),
                ratio=together.film_at_equal_hold,
                low=together.interval.low,
                high=together.interval.high,
                limit=None,
            )
        )
    lines.append(
        RatioLine(
            name=say("film per load"),
            ratio=found.film.ratio,
            low=found.film.fieller.low,
            high=found.film.fieller.high,
            limit=None,
        )
    )
    lines += [
        RatioLine(
            name=say("containment, {zone}", zone=each.zone),
            ratio=each.ratio,
            low=each.interval.low,
            high=each.interval.high,
            limit=1.0 - each.margin,
        )
        for each in found.containment
    ]
    return RatioChart(
        title=say("Candidate over baseline with their intervals; the tables below say the same"),
        no_change=say("no change"),
        margin=say("margin"),
        lines=lines,
    )
