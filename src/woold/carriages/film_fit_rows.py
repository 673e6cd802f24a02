"""A film curve fitted to a tensile test, in words."""

from __future__ import annotations

from woold.carriages.film_test import FilmFitReport
from woold.rows.blocks import Block, Facts, Row, Table
from woold.rows.wording import Wording

__all__ = ["film_fit_blocks"]


def film_fit_blocks(report: FilmFitReport, say: Wording) -> list[Block]:
    """The fitted values, and how well they fit.

    Args:
        report: the fit.
        say: words and numbers.
    """
    values = tuple(
        (
            each.field,
            say.amount(each.value, each.kind),
            say.amount(each.standard_error, each.kind),
            say.span(each.low, each.high, each.kind),
        )
        for each in report.values
    )
    caption = say(
        "{source}: curve fitted from {stretch} on",
        source=report.source,
        stretch=say.amount(report.fit_from_stretch, "elongation"),
    )
    points = say(
        "{used} of {points} fitted",
        used=say.fixed(report.points_used, 0),
        points=say.fixed(report.points, 0),
    )
    rows = [
        Row(say("points"), points),
        Row(say("residual deviation"), say.amount(report.residual_deviation_pa, "stress")),
        Row(say("part of the variance explained, R²"), say.fixed(report.determination, 4)),
        Row(say("draws evenly above"), say.amount(report.natural_draw_stretch, "elongation")),
        Row(say("tested up to"), say.amount(report.largest_tested_stretch, "elongation")),
    ]
    if report.toe > 0.0:
        rows.append(Row(say("slack taken off (toe)"), say.amount(1.0 + report.toe, "elongation")))
    if not report.values:
        stand_for = tuple(
            (say.amount(stretch, "elongation"), say.amount(stress, "stress"))
            for stretch, stress in report.curve
        )
        caption = say("{source}: points that stand for the test", source=report.source)
        heads: tuple[str, ...] = (say("elongation"), say("stress"))
        return [Table(caption, heads, stand_for), Facts(say("Fit"), tuple(rows))]
    heads = (say("field"), say("value"), say("standard error"), say("95 % range"))
    return [Table(caption, heads, values), Facts(say("Fit"), tuple(rows))]
