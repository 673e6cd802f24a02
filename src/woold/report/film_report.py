"""A film of the dancer as a report: verdict, the frame with what was followed, the trace."""

from __future__ import annotations

from woold.filmed.film_rows import film_blocks
from woold.filmed.film_study import FilmResult
from woold.pictures.dancer_trace import trace_figure
from woold.pictures.film_still import still_figure
from woold.report.making import Making, finished
from woold.report.model import Report
from woold.report.svg import figure_svg
from woold.rows.blocks import Block, Cautions, Figure

__all__ = ["film_report"]


def film_report(result: FilmResult, making: Making) -> Report:
    """The report.

    Args:
        result: a film judged.
        making: how it is made.
    """
    say = making.say
    told = list(film_blocks(result.study, say, say))
    pictures: list[Block] = [_still_picture(result, making)]
    if result.study.trace is not None:
        pictures.append(_trace_picture(result, making))
    end = next((at for at, each in enumerate(told) if isinstance(each, Cautions)), len(told))
    return finished("film", result.study.file, [*told[:end], *pictures, *told[end:]], making)


def _still_picture(result: FilmResult, making: Making) -> Figure:
    """The frame in which most was seen, cut to what was followed."""
    say = making.say
    return Figure(
        figure_svg(still_figure(result.reading), "still", say),
        say("A frame of the film, cut to what was followed."),
        say("A frame of the film with the tags, or the two points, outlined and named."),
        width=0.6,
    )


def _trace_picture(result: FilmResult, making: Making) -> Figure:
    """The trace over time, over the turn and by orders."""
    say = making.say
    assert result.study.trace is not None
    assert result.analysis is not None
    return Figure(
        figure_svg(trace_figure(result.study.trace, result.analysis), "trace", say),
        say("The arm over time, over one turn, and by orders of the turn."),
        say("Drawing of the arm's angle over time, every turn laid over the average one, and the"
            " size of its swing by times a turn."),
    )  # fmt: skip
