"""A trial's plan in blocks: what it needs, when it is looked at, what other sizes see."""

from __future__ import annotations

from collections.abc import Iterator

from woold.rows.blocks import Block, Facts, Paragraph, Row, Table
from woold.rows.wording import Wording
from woold.trial.plan import TrialPlan
from woold.trial.setup import Trial

__all__ = ["plan_blocks"]

_SHOWN_LOADS = 8


def plan_blocks(trial: Trial, plan: TrialPlan, spread_from: str, say: Wording) -> list[Block]:
    """A plan.

    Args:
        trial: the trial.
        plan: its plan.
        spread_from: where the spread of film mass is from, in words.
        say: words and numbers.
    """
    blocks: list[Block] = [
        Paragraph(_answer(plan, say), is_strong=True),
        Facts(trial.title or trial.key, tuple(_rows(trial, plan, spread_from, say))),
    ]
    if len(plan.looks) > 1:
        blocks.append(_look_table(plan, say))
    return [*blocks, _size_table(plan, say), _order_table(plan, say)]


def _answer(plan: TrialPlan, say: Wording) -> str:
    types = (
        say("{count} of {name}", count=count, name=name)
        for name, count in plan.loads_by_type.items()
    )
    return say(
        "{loads} loads of each treatment ({types}) show both with a chance of {chance} or more.",
        loads=plan.loads_per_treatment,
        types=", ".join(types),
        chance=say.percent(plan.sight.both_power, 0),
    )


def _rows(trial: Trial, plan: TrialPlan, spread_from: str, say: Wording) -> Iterator[Row]:
    aim = plan.aim
    yield Row(say("saving to see, at equal hold"), say.percent(aim.saving))
    yield Row(
        say("margin of containment"),
        say(
            "{margin}, in each zone (zones: {zones})",
            margin=say.percent(aim.margin),
            zones=plan.zones,
        ),
    )
    yield Row(
        say("spread from load to load"),
        say(
            "film {film} (from {source}), pull readings {pulls}, correlation of the zones"
            " {correlation}",
            film=say.percent(aim.film_spread),
            source=spread_from,
            pulls=say.percent(aim.containment_spread),
            correlation=say.fixed(aim.zone_correlation, 2),
        ),
    )
    yield Row(
        say("pull readings expected to be missing"),
        say("{share} of the loads, in a zone", share=say.percent(aim.pulls_missing, 0)),
    )
    by_type = ", ".join(f"{count} {name}" for name, count in plan.loads_by_type.items())
    yield Row(
        say("loads of each treatment"),
        say("{loads} ({by_type})", loads=plan.loads_per_treatment, by_type=by_type),
    )
    yield Row(
        say("chance of showing both"),
        say(
            "{chance} at least, if the saving is there and hold is equal",
            chance=say.percent(plan.sight.both_power, 0),
        ),
    )
    if len(plan.looks) > 1:
        expected = plan.sight.expected_loads
        yield Row(
            say("loads of each treatment on average"),
            say(
                "about {loads}, if the saving is there and the trial ends at the look that shows"
                " everything: {saved} fewer than planned",
                loads=say.fixed(expected, 0),
                saved=say.fixed(plan.loads_per_treatment - expected, 0),
            ),
        )
    blocks = len({load.block for load in plan.order})
    if trial.is_fitted_once:
        words = (
            say(
                "{rolls} before and {rolls} after, and as many of an unchanged machine (loads"
                " weighed of each: {loads})",
                rolls=blocks // 2,
                loads=trial.order.loads_per_block,
            )
            if trial.fitted_once.control
            else say(
                "{rolls} before and {rolls} after (loads weighed of each: {loads})",
                rolls=blocks // 2,
                loads=trial.order.loads_per_block,
            )
        )
        yield Row(say("rolls"), words)
        return
    yield Row(
        say("blocks"),
        say(
            "{blocks} (loads of each treatment in a block: {loads})",
            blocks=blocks,
            loads=trial.order.loads_per_block,
        ),
    )


def _look_table(plan: TrialPlan, say: Wording) -> Table:
    columns = (
        say("look"),
        say("with load"),
        say("share of the plan"),
        say("decides beyond, standard errors"),
        say("one-sided p"),
    )
    rows = tuple(
        (
            str(each.number),
            str(each.loads),
            say.percent(each.share, 0),
            say.fixed(each.limit, 2),
            say.fixed(each.p, 5),
        )
        for each in plan.looks
    )
    return Table(say("Looks at the running trial"), columns, rows)


def _size_table(plan: TrialPlan, say: Wording) -> Table:
    aim = plan.aim
    power = say.percent(aim.power, 0)
    columns = (
        say("loads"),
        say("half of the interval"),
        say("chance to see {saving} at equal hold", saving=say.percent(aim.saving)),
        say("chance to show hold, one zone"),
        say("chance of both"),
        say("saving seen in {power}", power=power),
        say("margin kept in {power}", power=power),
    )
    rows = tuple(
        (
            f"{each.loads}{' *' if each.loads == plan.loads_per_treatment else ''}",
            f"±{say.percent(each.half_width)}",
            say.percent(each.equal_hold_power, 0),
            say.percent(each.containment_power, 0),
            say.percent(each.both_power, 0),
            say.percent(each.smallest_saving),
            say.percent(each.smallest_margin),
        )
        for each in plan.table
    )
    return Table(say("What other numbers of loads of each treatment see"), columns, rows)


def _order_table(plan: TrialPlan, say: Wording) -> Table:
    columns = (
        say("load"),
        say("block"),
        say("shift"),
        say("treatment"),
        say("load type"),
        say("roll"),
    )
    rows = tuple(
        (
            str(each.number),
            each.block,
            each.shift,
            say(each.treatment),
            each.load_type,
            each.roll,
        )
        for each in plan.order[:_SHOWN_LOADS]
    )
    return Table(say("The order begins"), columns, rows, words=(1, 2, 3, 4, 5))
