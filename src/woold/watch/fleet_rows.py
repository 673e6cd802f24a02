"""What a watch of a fleet says, as blocks that every surface shows alike."""

from __future__ import annotations

from woold.rows.blocks import Block, Cautions, Heading, Note, Paragraph, Table
from woold.rows.wording import Wording
from woold.watch.fleet import FleetRow, FleetSummary
from woold.watch.rows import WATCH_CAUTIONS, change_text

__all__ = ["fleet_blocks"]

_MOST_MACHINES = 40


def fleet_blocks(summary: FleetSummary, say: Wording) -> tuple[Block, ...]:
    """The fleet, the machine that loses most film first."""
    shown = summary.rows[:_MOST_MACHINES]
    columns = (
        say("machine"),
        say("loads"),
        say("film now"),
        say("more kg a year"),
        say("changed"),
        say("alarm days"),
        say("last alarm"),
        say("breaks in 1000"),
    )
    blocks: list[Block] = []
    if summary.findings:
        blocks.append(Heading(say("Findings"), 3))
        blocks += [Note(each.field, say.sentence(each.message)) for each in summary.findings]
    blocks.append(
        Table(
            say("Machines, the largest loss of film first: {count}", count=len(summary.rows)),
            columns,
            tuple(_fleet_cells(row, say) for row in shown),
        )
    )
    if len(shown) < len(summary.rows):
        more = len(summary.rows) - len(shown)
        blocks.append(Paragraph(say("{count} more are in the JSON document.", count=more)))
    blocks.append(Cautions(say("Take care"), tuple(say(each) for each in WATCH_CAUTIONS)))
    return tuple(blocks)


def _fleet_cells(row: FleetRow, say: Wording) -> tuple[str, ...]:
    lost = row.lost_kg_per_year
    return (
        row.machine,
        say.fixed(row.loads, 0),
        "-" if row.recent is None else change_text(row.recent, say),
        "-" if lost is None else say.fixed(lost, 0),
        str(row.changed or "-"),
        str(row.alarms),
        str(row.last_alarm or "-"),
        "-" if row.breaks_per_1000 is None else say.fixed(row.breaks_per_1000, 1),
    )
