"""Tags to print: a page of instructions, and the tags of frame, arm and load at their size."""

from __future__ import annotations

from woold.filmed.results import FILM_CAUTIONS
from woold.filmed.tags import ARM, CELLS, FAMILY, FRAME, LOAD, tag_cells
from woold.pictures.filmed_set_up import set_up_figure
from woold.report.making import Making, finished
from woold.report.model import Report
from woold.report.svg import figure_svg
from woold.rows.blocks import Block, Bullets, Cautions, Figure, Heading
from woold.rows.wording import Wording

__all__ = ["LOAD_SIDE", "tag_sheet"]

LOAD_SIDE = 0.12
"""Side of the load's tag: it passes quickly, so it is large [m]."""

_TEXT_WIDTHS = {"a4": 0.174, "letter": 0.1799}  # [m]
_RIM = 1.25  # white cells round a tag, to be left on when it is cut out


def tag_sheet(side: float, making: Making) -> Report:
    """The sheet.

    Args:
        side: of the frame's and the arm's tags, their black border included [m].
        making: how the sheet is made.
    """
    say = making.say
    blocks: list[Block] = [
        Heading(say("Film the dancer")),
        Cautions(say("Take care"), tuple(say(each) for each in FILM_CAUTIONS)),
        Figure(
            figure_svg(set_up_figure(), "set-up", say),
            say("What the phone should see."),
            say(
                "Drawing of the phone's picture: a tag on the carriage's frame beside the pivot, a"
                " tag on the arm, and a tag on the turntable's rim."
            ),
        ),
        Bullets(tuple(_steps(side, say))),
        _tag(FRAME, side, say("Frame: on a flat part that stands still beside the pivot."), making),
        _tag(
            ARM, side, say("Arm: flat on the arm, in a plane parallel to the frame's tag."), making
        ),
        _tag(
            LOAD,
            LOAD_SIDE,
            say(
                "Load: on the turntable's rim, or on the load, where the camera sees it each turn."
            ),
            making,
        ),
    ]
    return finished("tags", say("Tags for a film of the dancer"), blocks, making)


def _steps(side: float, say: Wording) -> tuple[str, ...]:
    return (
        say(
            "Print the next pages. Cut outside the grey lines: a tag's white rim belongs to it. Its"
            " size need not be kept; the tags of frame and arm are {side} wide, that of the load"
            " {load}.",
            side=say.amount(side, "small_length"),
            load=say.amount(LOAD_SIDE, "small_length"),
        ),
        say("Lock out the machine. Stick the three tags on flat; a bent tag is read wrongly."),
        say(
            "The tags of frame and arm lie in planes parallel to each other and to the arm's swing;"
            " one may stand higher. Which way up does not matter. Glossy paper glares: use matt."
        ),
        say(
            "Fix the phone to a stand outside the guard, looking straight at the plane in which the"
            " arm swings, within 30°: from above where its pivot stands upright. Each tag takes a"
            " twentieth of the picture's width or more, away from its edges."
        ),
        say(
            "Let the carriage stay at one height while you film, or fix the phone so that it rides"
            " along: the tags must stay in sight."
        ),
        say(
            "Film in 1080p with 60 frames a second or more and all the light there is, without"
            " zooming: half a minute, eight turns or more."
        ),
        say(
            "Then send the film on the dancer's page, or: {command}. The tags are the first three"
            " of the open family {family}.",
            command="woold dancer video FILM.mp4",
            family=FAMILY,
        ),
        say("Lock out the machine again and take the tags off."),
    )


def _tag(role: int, side: float, caption: str, making: Making) -> Figure:
    whole = side * (CELLS + 2 * _RIM) / CELLS
    return Figure(
        _tag_svg(role),
        caption,
        making.say("A square tag to be printed. {caption}", caption=caption),
        width=whole / _TEXT_WIDTHS[making.paper],
    )


def _tag_svg(role: int) -> str:
    """Cells of one unit each: a black square, and the white cells on it, a little over each other
    so that no hairline stands between them."""
    size = CELLS + 2 * _RIM
    over = 0.01
    wide = 1 + 2 * over
    white = "".join(
        f"M{_RIM + x - over:g} {_RIM + y - over:g}h{wide:g}v{wide:g}h{-wide:g}z"
        for y, row in enumerate(tag_cells(role))
        for x, is_black in enumerate(row)
        if not is_black
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size:g} {size:g}"'
        f' width="{100 * size:g}" height="{100 * size:g}">'
        f'<rect width="{size:g}" height="{size:g}" fill="#fff"/>'
        f'<rect x="0.02" y="0.02" width="{size - 0.04:g}" height="{size - 0.04:g}" fill="none"'
        ' stroke="#9aa5b0" stroke-width="0.03"/>'
        f'<rect x="{_RIM:g}" y="{_RIM:g}" width="{CELLS}" height="{CELLS}" fill="#000"/>'
        f'<path d="{white}" fill="#fff"/></svg>'
    )
