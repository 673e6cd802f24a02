"""The watch as a report: every machine's charts, alarms, steps and savings on one page."""

from __future__ import annotations

from collections.abc import Sequence

from woold.pictures.control_charts import machine_figure
from woold.prediction.result import Finding
from woold.report.making import Making, closing_blocks, finished
from woold.report.model import Report
from woold.report.svg import figure_svg
from woold.rows.blocks import Figure, Paragraph
from woold.rows.wording import Wording
from woold.watch.breaks import standard_gap
from woold.watch.charts import weighted_means
from woold.watch.level_steps import change_points
from woold.watch.machine import MachineWatch
from woold.watch.quantity_charts import QUANTITIES, Charted
from woold.watch.rows import WATCH_CAUTIONS, headline, watch_blocks
from woold.watch.run_length import cusum_run_length
from woold.watch.scores import normal_scores
from woold.watch.settings import WatchSettings
from woold.words import to_say

__all__ = ["watch_report"]

MOST_BYTES = 285_000
"""Of a page: it can be sent, and opens on a phone."""

_TEXT_BYTES, _MACHINE_BYTES = 15_000, 2_500
"""Of a page's text, about: what is told once, and of each machine."""


def watch_report(
    machines: Sequence[MachineWatch],
    settings: WatchSettings,
    findings: Sequence[Finding],
    making: Making,
) -> Report:
    """The report of a watch.

    Args:
        machines: watched; the most urgent are drawn, as many as a page has room for.
        settings: that they were watched with.
        findings: about the files.
        making: how the report is made.
    """
    say = making.say
    room = MOST_BYTES - _TEXT_BYTES - _MACHINE_BYTES * len(machines)
    drawn: list[Figure] = []
    full: list[str] = []

    def pictures(machine: MachineWatch) -> list[Figure]:
        found = []
        for charted in _worth_drawing(machine):
            if full:
                break
            figure = _chart(machine, charted.quantity, f"m{len(drawn)}", say)
            if sum(len(each.svg) for each in (*drawn, figure)) > room:
                full.append(machine.machine)
                break
            drawn.append(figure)
            found.append(figure)
        return found

    blocks = list(watch_blocks(machines, settings, findings, say, pictures))
    if full:
        blocks.insert(
            -1,
            Paragraph(
                say(
                    "Charts are drawn of the most urgent machines: of {machine} and those below it"
                    " the text tells.",
                    machine=full[0],
                )
            ),
        )
    # The cautions are those of the closing.
    closing = closing_blocks(making, _sources(machines), WATCH_CAUTIONS)
    return finished("watch", headline(machines, say), [*blocks[1:-1], *closing], making)


def _worth_drawing(machine: MachineWatch) -> list[Charted]:
    """Film, and every other quantity that an alarm came from."""
    alarmed = {alarm.quantity for event in machine.events for alarm in event.alarms}
    return [each for each in machine.charted if each.quantity == "film" or each.quantity in alarmed]


def _chart(machine: MachineWatch, quantity: str, name: str, say: Wording) -> Figure:
    return Figure(
        svg=figure_svg(machine_figure(machine, quantity), name, say),
        caption=say(
            "{quantity}: the set-up phase is shaded, events are red",
            quantity=say(QUANTITIES[quantity]),
        ),
        alt=say(
            "Control charts of {quantity} of {machine}; the tables below say the same.",
            quantity=say(QUANTITIES[quantity]),
            machine=machine.machine,
        ),
    )


def _sources(machines: Sequence[MachineWatch]) -> list[tuple[str, object]]:
    used: list[tuple[str, object]] = []
    charts = [each.chart for machine in machines for each in machine.charted]
    if charts:
        used += [
            (to_say("scores by rank"), normal_scores),
            (to_say("weighted means"), weighted_means),
            (to_say("cumulative sums and their limits"), cusum_run_length),
            (to_say("steps of the level"), change_points),
        ]
    if any(machine.breaks is not None for machine in machines):
        used.append((to_say("gaps between film breaks"), standard_gap))
    return used
