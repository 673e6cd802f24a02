"""A line's map in words: a heat table for each carriage, and the worst load of each place."""

from __future__ import annotations

from collections.abc import Sequence

from woold.line.limits import LIMITS, STATUSES
from woold.line.map_result import LineMap, MapCell
from woold.rows.blocks import Block, Facts, Paragraph, Row, Table
from woold.rows.wording import Wording
from woold.words import say

__all__ = ["heat_caption", "map_blocks", "map_note", "share_words", "there_over_asked"]


def map_blocks(result: LineMap, wording: Wording) -> list[Block]:
    """What works where, what limits it, and the worst load of each machine and film.

    Args:
        result: the map.
        wording: units and marks of its numbers.
    """
    blocks: list[Block] = [_head(result, wording)]
    if result.limits:
        rows = tuple(
            (
                say(LIMITS[each.limit]),
                wording.fixed(each.combinations, 0),
                wording.percent(each.combinations / result.combinations),
            )
            for each in result.limits
        )
        heads = (say("why it does not work"), say("combinations"), say("of all"))
        blocks.append(Table(say("What limits the line"), heads, rows))
    carriages = tuple(dict.fromkeys(each.carriage for each in result.cells))
    for carriage in carriages:
        blocks.append(_heat(carriage, [e for e in result.cells if e.carriage == carriage], wording))
    blocks.append(Paragraph(map_note()))
    blocks.append(_worst(result, wording))
    return blocks


def map_note() -> str:
    """What the shares of a heat table are."""
    return say(
        "Loads a year that can be wrapped, with or without a finding, as a share of all loads of"
        " the catalogue."
    )


def heat_caption(carriage: str) -> str:
    """What a heat table is called."""
    return say("Carriage {name}: loads that work", name=carriage)


def share_words(cell: MapCell, wording: Wording) -> str:
    """Share of the loads that work in a place."""
    return wording.percent(cell.works_share, 0)


def there_over_asked(share: float | None, wording: Wording) -> str:
    """What there is over what is asked, of a limit; a dash where no number is."""
    return "-" if share is None else wording.number(share)


def _head(result: LineMap, wording: Wording) -> Facts:
    rows = [
        Row(
            say(STATUSES[status]),
            wording.fixed(getattr(result, status), 0),
            note=wording.percent(getattr(result, status) / result.combinations),
        )
        for status in STATUSES
    ]
    return Facts(
        result.title or say("The line"),
        (
            Row(say("combinations"), wording.fixed(result.combinations, 0)),
            *rows,
            Row(say("kept in"), result.files),
        ),
    )


def _heat(carriage: str, cells: Sequence[MapCell], wording: Wording) -> Table:
    films = tuple(dict.fromkeys(each.film for each in cells))
    machines = tuple(dict.fromkeys(each.machine_model for each in cells))
    place = {(each.machine_model, each.film): each for each in cells}
    rows = tuple(
        (machine, *(share_words(place[machine, film], wording) for film in films))
        for machine in machines
    )
    return Table(heat_caption(carriage), (say("machine"), *films), rows)


def _worst(result: LineMap, wording: Wording) -> Table:
    """The worst load of each machine and film, with the carriage that serves most there."""
    best: dict[tuple[str, str], MapCell] = {}
    for each in result.cells:
        place = each.machine_model, each.film
        if place not in best or each.works_share > best[place].works_share:
            best[place] = each
    heads = (
        say("machine"),
        say("film"),
        say("carriage that serves most"),
        say("loads that work"),
        say("worst load"),
        say("what limits it"),
        say("there over asked"),
    )
    rows = tuple(_worst_row(each, wording) for each in best.values())
    caption = say("The worst load of each machine and film")
    return Table(caption, heads, rows, words=(0, 1, 2, 4, 5), is_small=True)


def _worst_row(each: MapCell, wording: Wording) -> tuple[str, ...]:
    return (
        each.machine_model,
        each.film,
        each.carriage,
        share_words(each, wording),
        each.worst_load,
        say(LIMITS[each.worst_limit]) if each.worst_limit else "-",
        there_over_asked(each.worst_share, wording),
    )
