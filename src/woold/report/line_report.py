"""The report of a line: what each carriage serves as the only one, and the map of what works."""

from __future__ import annotations

from woold.line.map_result import LineMap
from woold.line.map_rows import map_blocks
from woold.line.one_carriage import LineCarriages
from woold.line.one_carriage_rows import carriages_blocks
from woold.physics import demand, film, grip, neck_down
from woold.report.making import Making, closing_blocks, finding_blocks, finished
from woold.report.model import Report
from woold.rows.blocks import Block, Bullets, Heading
from woold.words import say, to_say

__all__ = ["line_report"]

_METHOD = (
    to_say(
        "Every combination is predicted as a single case is, its load on its own: film, width,"
        " layers, containment felt over a patch, time, and what the drive is asked for."
    ),
    to_say(
        "A combination does not work where one limit is not kept. Whether the dancer is smooth is"
        " tried with the loads that move it most. Transport is not judged here: look at it case by"
        " case."
    ),
    to_say(
        "Which loads are served is judged at the given values; ranges are those of film a year"
        " alone."
    ),
)
_SOURCES = (
    (to_say("film's curve"), film.true_stress),
    (to_say("neck-down"), neck_down.width_loss_factor),
    (to_say("grip of the rollers"), grip.grip_limit),
    (to_say("film demand"), demand.demand_range),
    (to_say("loss of force with time"), film.force_loss_per_decade),
)


def line_report(carriages: LineCarriages, found: LineMap, making: Making) -> Report:
    """The report of a line.

    Args:
        carriages: each as the only one.
        found: the map.
        making: how the report is made.
    """
    words = making.say
    answer, *rest = carriages_blocks(carriages, words)
    blocks: list[Block] = [
        answer,
        *finding_blocks(carriages.findings, words),
        Heading(say("One carriage for the line")),
        *rest,
        Heading(say("What works where")),
        *map_blocks(found, words),
        Heading(say("Method and assumptions")),
        Bullets(tuple(say(each) for each in _METHOD)),
        *closing_blocks(making, _SOURCES, carriages.cautions),
    ]
    return finished("line", carriages.title or say("The line"), blocks, making)
