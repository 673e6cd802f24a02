"""The watch as a report: every machine's charts, alarms, steps and savings on one page."""

from __future__ import annotations

from collections.abc import Sequence

from woold.pictures.control_charts import machine_figure
from woold.prediction.result import Finding
from woold.report.making import Making, finished
from woold.report.model import Report
from woold.report.svg import figure_svg
from woold.rows.blocks import Figure
from woold.watch.machine import MachineWatch
from woold.watch.quantity_charts import QUANTITIES
from woold.watch.rows import headline, most_urgent, watch_blocks
from woold.watch.settings import WatchSettings

__all__ = ["watch_report"]

MOST_DRAWN = 12


def watch_report(
    machines: Sequence[MachineWatch],
    settings: WatchSettings,
    findings: Sequence[Finding],
    making: Making,
) -> Report:
    """The report of a watch.

    Args:
        machines: watched; the most urgent are drawn.
        settings: that they were watched with.
        findings: about the files.
        making: how the report is made.
    """
    say = making.say
    names = {each.machine: f"m{index}" for index, each in enumerate(most_urgent(machines))}

    def pictures(machine: MachineWatch) -> list[Figure]:
        if int(names[machine.machine][1:]) >= MOST_DRAWN:
            return []
        return [
            Figure(
                svg=figure_svg(
                    machine_figure(machine, charted.quantity),
                    f"{names[machine.machine]}-{charted.quantity}",
                    say,
                ),
                caption=say(
                    "{quantity}: the set-up phase is shaded, events are red",
                    quantity=say(QUANTITIES[charted.quantity]),
                ),
                alt=say(
                    "Control charts of {quantity} of {machine}; the tables below say the same.",
                    quantity=say(QUANTITIES[charted.quantity]),
                    machine=machine.machine,
                ),
            )
            for charted in machine.charted
            if charted.quantity == "film"
            or any(
                alarm.quantity == charted.quantity
                for event in machine.events
                for alarm in event.alarms
            )
        ]

    blocks = watch_blocks(machines, settings, findings, say, pictures)
    return finished("watch", headline(machines, say), blocks[1:], making)
