"""A calibration in blocks: parameters, what tells them, readings before and after."""

from __future__ import annotations

from collections.abc import Iterator

from woold.rows.blocks import Block, Bullets, Facts, Heading, Row, Table
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
    findings: list[Block] = []
    if found.findings:
        findings += [Heading(say("Findings")), Bullets(tuple(map(say.sentence, found.findings)))]
    return [
        *findings,
        _parameter_table(found, say),
        Facts(
            say("What tells them"),
            tuple(Row(each.field, say.sentence(each.finding)) for each in found.parameters),
        ),
        _reading_table(found, say),
        _load_table(found, say),
        _check_table(found, say),
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


def _load_table(found: Calibration, say: Wording) -> Table:
    rows = tuple(
        (
            each.what,
            each.load_type,
            _value(each.after, each.unit, say),
            say(
                "{low} to {high}",
                low=_value(each.load_low, each.unit, say),
                high=_value(each.load_high, each.unit, say),
            ),
        )
        for each in found.readings
    )
    columns = (
        say("reading"),
        say("load type"),
        say("predicted, of the mean"),
        say("90 % range, of a load"),
    )
    return Table(say("What to expect of the mean, and of a single load"), columns, rows, (0, 1))


def _check_table(found: Calibration, say: Wording) -> Table:
    rows = tuple(
        (
            say(each.what),
            str(each.readings),
            say.percent(each.off),
            say.fixed(each.standard_errors, 1),
            say("yes") if each.is_off else say("no"),
        )
        for each in found.checks
    )
    columns = (
        say("kind of reading"),
        say("averages"),
        say("off the fit"),
        say("in standard errors"),
        say("more than chance"),
    )
    return Table(say("Each kind of reading against the fit"), columns, rows)


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
        "Misfit {misfit} standard errors (degrees of freedom: {freedom}); about 1 where all is"
        " well.",
        misfit=say.fixed(found.misfit, 2),
        freedom=found.degrees_of_freedom,
    )
    if found.mass_error is not None:
        error = found.mass_error
        yield say(
            "Film masses lie {estimate} off the mass balance (95 % interval {low} to {high});"
            " {tolerance} was allowed for film thickness and length, and the parameters allow for"
            " it.",
            estimate=say.percent(error.estimate),
            low=say.percent(error.low),
            high=say.percent(error.high),
            tolerance=say.percent(error.tolerance),
        )
        if error.thickness_from_rolls_m is not None:
            yield say(
                "By mass and length of the rolls the film is {thickness} thick.",
                thickness=say.amount(error.thickness_from_rolls_m, "thickness"),
            )
