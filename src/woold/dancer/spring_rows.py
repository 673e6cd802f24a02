"""A dancer's springs and holes in words: what fits, what does not, and why."""

from __future__ import annotations

import math
from collections.abc import Iterator

from woold.dancer.placeholder_rows import placeholder_table
from woold.dancer.results import SpringRow, SpringTable
from woold.rows.blocks import Block, Bullets, Cautions, Heading, Paragraph, Table
from woold.rows.wording import Wording

__all__ = ["spring_blocks", "spring_in_hole"]


def spring_blocks(table: SpringTable, say: Wording, brief: Wording) -> Iterator[Block]:
    """The ranked table of springs and holes.

    Args:
        table: the springs.
        say: words and numbers.
        brief: the same for cells of wide tables.
    """
    yield Heading(table.title or say("A case without a title"))
    fitting = [row for row in table.choices if row.fits]
    asked = say(
        "{force} on {thickness} film",
        force=say.amount(table.force_to_load_n, "force"),
        thickness=say.amount(table.film_thickness_m, "thickness"),
    )
    if fitting:
        yield _fitting_table(fitting, asked, say, brief)
        yield Paragraph(
            say(
                "{spring} comes first: {reason}.",
                spring=_spring(fitting[0], say),
                reason=say.sentence(fitting[0].reason),
            )
        )
        yield Paragraph(
            say(
                "A low change of tension per film taken passes the corners evenly; the film that a"
                " spring serves is at the stress of this film under the force asked for."
            )
        )
    else:
        yield Paragraph(
            say("No spring fits in any hole for {asked}: try other rates or holes.", asked=asked)
        )
    others = [row for row in table.choices if not row.fits]
    if others:
        yield Heading(say("Those that do not fit"), 3)
        yield Bullets(
            tuple(f"{row.rank}. {_spring(row, say)}: {say.sentence(row.reason)}" for row in others)
        )
    yield from placeholder_table(table.rests_on, say, brief)
    yield Cautions(say("Take care"), tuple(say(each) for each in table.cautions))


def _fitting_table(fitting: list[SpringRow], asked: str, say: Wording, brief: Wording) -> Table:
    return Table(
        say("Springs that fit for {asked}, the best first", asked=asked),
        (
            say("spring in hole"),
            say("tension over the travel"),
            say("balances at (of travel)"),
            say("tension per film taken"),
            say("film that it serves"),
        ),
        tuple(
            (
                f"{row.rank}. {_spring(row, say)}",
                _tension_range(row, brief),
                f"{say.fixed(math.degrees(row.balance_angle_rad or 0.0), 1)}°"
                f" ({say.percent(row.travel_share or 0.0, 0)})",
                f"{say.number(row.tension_per_film_n_per_m or 0.0)} N/m",
                brief.span(row.serves_thinnest_m, row.serves_thickest_m, "thickness"),
            )
            for row in fitting
        ),
    )


def spring_in_hole(rate: float, hole: float, say: Wording) -> str:
    """A spring in its hole: named by its rate, in SI on every surface.

    Args:
        rate: of the spring [N/m].
        hole: from the arm's pivot [m].
        say: words and numbers.
    """
    si = Wording("si", say.decimal_comma)
    return say(
        "{rate} in {hole}",
        rate=si.amount(rate, "stiffness"),
        hole=si.amount(hole, "small_length"),
    )


def _spring(row: SpringRow, say: Wording) -> str:
    return spring_in_hole(row.rate_n_per_m, row.hole_m, say)


def _tension_range(row: SpringRow, say: Wording) -> str:
    low, high = sorted((row.tension_lower_n, row.tension_upper_n))
    return say.span(low, high, "force")
