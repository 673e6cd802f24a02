"""A calibration in blocks: parameters, what tells them, readings before and after."""

from __future__ import annotations

from collections.abc import Iterator

from woold.rows.blocks import Block, Bullets, Facts, Row, Table
from woold.rows.wording import Wording
from woold.trial.calibrate import Calibration

__all__ = ["calibration_blocks"]

_KINDS = {"kg": "small_mass", "m": "small_length", "N": "force"}


def calibration_blocks(found: Calibration, say: Wording) -> list[Block]:
    """A calibration.

    Args:
        found: the fit.
        say: words and numbers.
    """
    return [
        _parameter_table(found, say),
        Facts(
            say("What tells them"),
            tuple(Row(each.field, say.sentence(each.finding)) for each in found.parameters),
        ),
        _reading_table(found, say),
        Bullets(tuple(_fit(found, say))),
    ]


def _parameter_table(found: Calibration, say: Wording) -> Table:
    rows = tuple(
        (
            each.field,
            say.amount(each.before, each.kind),
            say.amount(each.after, each.kind),
            "" if each.standard_error is None else say.percent(each.standard_error / each.after),
            ""
            if each.low is None or each.high is None
            else say.span(each.low, each.high, each.kind),
            say("yes") if each.is_identified else say("no"),
        )
        for each in found.parameters
    )
    columns = (
        say("parameter"),
        say("before"),
        say("after"),
        say("standard error"),
        say("95 % interval"),
        say("told"),
    )
    caption = say(
        "Fitted to {trial}, {treatment}", trial=found.trial, treatment=say(found.treatment)
    )
    return Table(caption, columns, rows)


def _reading_table(found: Calibration, say: Wording) -> Table:
    rows = tuple(
        (
            each.what,
            each.load_type,
            str(each.readings),
            *(_value(value, each.unit, say) for value in (each.measured, each.before, each.after)),
            say.percent(each.relative_error),
        )
        for each in found.readings
    )
    columns = (
        say("average of"),
        say("load type"),
        say("loads"),
        say("measured"),
        say("before"),
        say("after"),
        say("error"),
    )
    return Table(say("Readings"), columns, rows, words=(0, 1))


def _value(value: float, unit: str, say: Wording) -> str:
    return say.amount(value, _KINDS[unit]) if unit in _KINDS else say.fixed(value, 3)


def _fit(found: Calibration, say: Wording) -> Iterator[str]:
    if found.pull_scale is not None:
        yield say(
            "Pull readings lie at {scale} times their prediction; that factor was left free, since"
            " friction at the corners and the plate's edges are not in the model.",
            scale=say.fixed(found.pull_scale, 2),
        )
    yield say(
        "Misfit {misfit} standard errors with {freedom} degrees of freedom; about 1 where all is"
        " well.",
        misfit=say.fixed(found.misfit, 2),
        freedom=found.degrees_of_freedom,
    )
    for each in found.findings:
        yield say.sentence(each)
