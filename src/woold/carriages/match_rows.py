"""Films of a shelf on one carriage, in words."""

from __future__ import annotations

from woold.carriages.match import MatchReport
from woold.rows.blocks import Block, Bullets, Paragraph, Table
from woold.rows.wording import Wording

__all__ = ["match_blocks", "report_blocks"]

_NOT_KNOWN = "-"


def report_blocks(report: MatchReport, say: Wording, brief: Wording) -> list[Block]:
    """The same, of a shelf without a file.

    Args:
        report: the films on the carriage.
        say: words and numbers.
        brief: the same for tables, which may have less room.
    """
    return match_blocks(report, say("the shelf"), say, brief)


def match_blocks(report: MatchReport, shelf: str, say: Wording, brief: Wording) -> list[Block]:
    """Every film with what it does, and what limits those that do not suit.

    Args:
        report: the films on the carriage.
        shelf: name of the shelf's file.
        say: words and numbers.
        brief: the same for tables, which may have less room.
    """
    limits = [
        say("{film} is limited by: {limits}", film=each.name, limits=each.limited_by)
        for each in report.films
        if each.limited_by
    ]
    limits += [
        say("{film} cannot be computed: {reason}", film=each.name, reason=each.reason)
        for each in report.refused
    ]
    return [
        _film_table(report, shelf, say, brief),
        *([Bullets(tuple(limits))] if limits else []),
        Paragraph(
            say(
                "Margins are stretch ratios over the one asked for, grip the force held over the"
                " one asked for: below 1 is too little. Dancer: whether some spring in some hole"
                " holds the force to load. A dash is not known."
            )
        ),
    ]


def _film_table(report: MatchReport, shelf: str, say: Wording, brief: Wording) -> Table:
    def margin(value: float | None) -> str:
        return _NOT_KNOWN if value is None else say.fixed(value, 2)

    yes, no = say("yes"), say("no")
    rows = tuple(
        (
            each.name,
            yes if each.fits else no,
            say.amount(each.prestretch_delivered, "elongation"),
            margin(each.rated_margin),
            margin(each.break_margin),
            margin(min(each.grip_margin_slow, each.grip_margin_fast)),
            {True: yes, False: no, None: _NOT_KNOWN}[each.in_dancer_range],
            brief.amount(each.film_mass_kg, "small_mass"),
        )
        for each in report.films
    )
    heads = (
        say("film"),
        say("suits"),
        say("delivered"),
        say("margin to rating"),
        say("margin to break"),
        say("grip"),
        say("dancer"),
        say("per load"),
    )
    carriage = report.title or say("A carriage without a title")
    caption = say("Films of {shelf} on: {carriage}", shelf=shelf, carriage=carriage)
    return Table(caption, heads, rows, words=(0, 1, 6))
