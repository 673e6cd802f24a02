"""A release in words: the plan by stages, machines by gain, and the tests that could change it."""

from __future__ import annotations

from collections.abc import Iterator

from woold.line.release_result import (
    CombinationRank,
    MachineRank,
    Release,
    StageResult,
    TrialCounted,
)
from woold.rows.blocks import Block, Bullets, Facts, Heading, Paragraph, Row, Table
from woold.rows.wording import Wording
from woold.words import to_say

__all__ = ["release_blocks"]

_MOST_MACHINES = 40
"""Machines that a page lists; the document has all of them."""

_STEPS = {
    "convert": to_say("convert"),
    "test first": to_say("test first"),
    "match first": to_say("match first"),
    "later": to_say("later"),
    "leave": to_say("leave as it is"),
    "done": to_say("done"),
}
_BEFORE = {
    "match": to_say("film match"),
    "hold": to_say("predict its hold"),
    "trial": to_say("trial"),
}
_COUNTS = {
    "own": to_say("trial of its own"),
    "further site": to_say("another site"),
    "left out": to_say("nothing"),
}
_STRENGTHS = {
    "none": to_say("nothing"),
    "average": to_say("an average"),
    "next site": to_say("the next site"),
}


def release_blocks(result: Release, say: Wording) -> Iterator[Block]:
    """Which machines first, in which stage, and which test is worth most.

    Args:
        result: the release.
        say: words and numbers.
    """
    yield Heading(result.title or say("Which machines first: {name}", name=result.carriage))
    yield Paragraph(_answer(result, say), is_strong=True)
    for each in result.stages:
        yield Facts(_stage_head(each, say), tuple(_stage_rows(each, result, say)))
    yield Paragraph(_claim(result, say))
    yield _machines_table(result, say)
    yield _reasons_table(result, say)
    if len(result.machines) > _MOST_MACHINES:
        left = len(result.machines) - _MOST_MACHINES
        yield Paragraph(say("Machines that are not listed here: {count} (--json).", count=left))
    yield _combinations_table(result, say)
    yield _trials_table(result, say)
    if len(result.evidence) > _MOST_MACHINES:
        left = len(result.evidence) - _MOST_MACHINES
        yield Paragraph(say("Trials that are not listed here: {count} (--json).", count=left))
    yield _tests_table(result, say)
    yield Bullets(tuple(_how_to_read(result, say)))


def _answer(result: Release, say: Wording) -> str:
    chosen = [each for each in result.machines if each.stage is not None]
    gap = result.plan_bound - result.plan_worth
    exact = (
        say("No other choice within money and days is worth more.")
        if gap <= 1e-6 * max(abs(result.plan_worth), 1.0)
        else say(
            "Another choice may be worth {gap} more: the search was stopped.",
            gap=say.money(gap, result.currency),
        )
    )
    if not chosen:
        return say(
            "None of the machines is worth changing on what is known today. {exact}", exact=exact
        )
    return say(
        "Machines to change: {count} of {all}. Expected over {years} years, costs taken off:"
        " {gain}. {exact}",
        count=len(chosen),
        all=len(result.machines),
        years=say.number(result.years),
        gain=say.money(_net_gain(result), result.currency),
        exact=exact,
    )


def _net_gain(result: Release) -> float:
    """Of the machines of the plan, the cost of its trials taken off as well."""
    tests = sum(len(each.trials_of) for each in result.stages)
    return sum(each.gain for each in result.stages) - tests * result.trial_cost


def _stage_head(stage: StageResult, say: Wording) -> str:
    if stage.start is None:
        return stage.name
    return say("{name}, from {day}", name=stage.name, day=stage.start)


def _stage_rows(stage: StageResult, result: Release, say: Wording) -> Iterator[Row]:
    def money(amount: float) -> str:
        return say.money(amount, result.currency)

    for each in stage.trials_of:
        yield Row(say("trial of"), each, note=say("then decide on its machines"))
    first = ", ".join(stage.machines[:8])
    more = len(stage.machines) - 8
    note = say("{names} and {count} more", names=first, count=more) if more > 0 else first
    yield Row(say("machines"), str(len(stage.machines)), note=note)
    of_money = "" if stage.budget is None else say("of {money}", money=money(stage.budget))
    yield Row(say("cost"), money(stage.cost), of_money)
    of_days = "" if stage.days is None else say("of {days}", days=say.number(stage.days))
    yield Row(say("technician days"), say.number(stage.days_used), of_days)
    yield Row(say("expected saving in a year"), money(stage.gain_per_year))
    yield Row(
        say("may be promised in a year"),
        money(stage.promise_per_year) if stage.promise_per_year > 0.0 else say("nothing"),
        note=say(
            "machines with a trial of their own: {count} of {all}",
            count=stage.machines_with_trials,
            all=len(stage.machines),
        ),
    )
    yield Row(say("may be claimed"), _stage_claim(stage, say))


def _stage_claim(stage: StageResult, say: Wording) -> str:
    if not stage.machines:
        return say("nothing")
    if stage.machines_with_claim == len(stage.machines):
        return say("what their own trials carry; see the combinations below")
    return say(
        "for {count} of its machines what their own trials carry, for the others nothing yet: what"
        " is expected of them is no claim",
        count=stage.machines_with_claim,
    )


def _claim(result: Release, say: Wording) -> str:
    return say(
        "Of the sites that were tried may be said today: {claim} After each stage pool its trials"
        " as well and ask again: woold sites pool.",
        claim=result.stages[0].claim,
    )


def _machines_table(result: Release, say: Wording) -> Table:
    return Table(
        say(
            "Machines, by what the change is expected to bring ({currency})",
            currency=result.currency,
        ),
        (
            say("machine"),
            say("gain"),
            say("pays back with"),
            say("pays from"),
            say("to promise a year"),
            say("stage"),
            say("next"),
        ),
        tuple(_machine_cells(each, say) for each in result.machines[:_MOST_MACHINES]),
        words=(0, 5, 6),
        is_small=True,
    )


def _named(machine: MachineRank) -> str:
    return f"{machine.rank}. {machine.machine}, {machine.film}"


def _machine_cells(machine: MachineRank, say: Wording) -> tuple[str, ...]:
    needed, promise = machine.break_even_saving, machine.promise_per_year
    return (
        _named(machine),
        say.fixed(machine.gain, 0),
        say.percent(machine.chance_of_payback, 0),
        "-" if needed is None else say.percent(needed),
        "-" if promise is None else say.fixed(promise, 0),
        machine.stage or "-",
        say(_STEPS[machine.next_step]),
    )


def _reasons_table(result: Release, say: Wording) -> Table:
    return Table(
        say("Why each stands where it stands, and what comes before it is changed"),
        (say("machine"), say("why"), say("before")),
        tuple(
            (_named(each), say.sentence(each.reason), _before(each, say))
            for each in result.machines[:_MOST_MACHINES]
        ),
        words=(0, 1, 2),
        is_small=True,
    )


def _before(machine: MachineRank, say: Wording) -> str:
    if machine.next_step in ("done", "leave"):
        return "-"
    return ", ".join(say(_BEFORE[each]) for each in machine.before) or "-"


def _combinations_table(result: Release, say: Wording) -> Table:
    return Table(
        say("Combinations: what is expected, and from what saving on the change pays"),
        (
            say("machine, film"),
            say("machines"),
            say("own trials"),
            say("they claim"),
            say("saving expected"),
            say("pays from"),
        ),
        tuple(
            (
                _combination(each),
                str(each.machines),
                str(each.trials),
                say(_STRENGTHS[each.own_claim]) if each.own_claim else "-",
                _expected(each, say),
                _break_even(each, say),
            )
            for each in result.combinations[:_MOST_MACHINES]
        ),
        words=(0, 3),
        is_small=True,
    )


def _trials_table(result: Release, say: Wording) -> Table:
    return Table(
        say("Trials so far, and what each counts for"),
        (say("trial"), say("tried"), say("saving"), say("counts as"), say("because")),
        tuple(
            (
                each.trial,
                ", ".join(name for name in (each.carriage, each.machine, each.film) if name) or "-",
                _saving(each, say),
                say(_COUNTS[each.counts_as]),
                each.reason or _of_machines(each, say),
            )
            for each in result.evidence[:_MOST_MACHINES]
        ),
        words=(0, 1, 3, 4),
        is_small=True,
    )


def _of_machines(trial: TrialCounted, say: Wording) -> str:
    return say("machines of this model and film: {count}", count=trial.machines)


def _saving(trial: TrialCounted, say: Wording) -> str:
    if trial.saving is None:
        return "-"
    text = say.fixed(100.0 * trial.saving, 1)
    if trial.saving_error is not None:
        text += f" ± {say.fixed(100.0 * trial.saving_error, 1)}"
    return f"{text} %".replace(" ", "\N{NO-BREAK SPACE}")


def _tests_table(result: Release, say: Wording) -> Table:
    return Table(
        say(
            "Tests, by what one more trial is worth ({currency}; it costs {cost})",
            currency=result.currency,
            cost=say.fixed(result.trial_cost, 0),
        ),
        (
            say("machine, film"),
            say("worth"),
            say("changes a decision"),
            say("plan if it finds much, or little"),
            say("next"),
        ),
        tuple(
            (
                _combination(each),
                say.fixed(each.trial_value, 0),
                say.percent(each.chance_of_change, 0),
                _changes(each, say),
                _combination_step(each, say),
            )
            for each in result.combinations[:_MOST_MACHINES]
        ),
        words=(0, 3, 4),
        is_small=True,
    )


def _combination(row: CombinationRank) -> str:
    return f"{row.machine}, {row.film}"


def _expected(row: CombinationRank, say: Wording) -> str:
    ends = (100.0 * row.expected_saving, 100.0 * row.expected_saving_error)
    text = f"{say.fixed(ends[0], 1)} ± {say.fixed(ends[1], 1)} %"
    return text.replace(" ", "\N{NO-BREAK SPACE}")


def _break_even(row: CombinationRank, say: Wording) -> str:
    low, high = row.break_even_low, row.break_even_high
    if low is None or high is None:
        return "-"
    ends = say.fixed(100.0 * low, 1), say.fixed(100.0 * high, 1)
    text = f"{ends[0]} %" if ends[0] == ends[1] else f"{ends[0]} - {ends[1]} %"
    return text.replace(" ", "\N{NO-BREAK SPACE}")


def _combination_step(row: CombinationRank, say: Wording) -> str:
    if row.match == "failed":
        return say("its film match failed")
    return say(_STEPS[row.next_step])


def _changes(row: CombinationRank, say: Wording) -> str:
    more, fewer = row.machines_more_if_good, row.machines_fewer_if_bad
    if more is None or fewer is None:
        return "-"
    if not more and not fewer:
        return say("the same")
    return say("{more} machines in, or {fewer} out", more=more, fewer=fewer)


def _how_to_read(result: Release, say: Wording) -> Iterator[str]:
    yield say(
        "A gain is the film saved over {years} years from the first stage on, less the cost; it is"
        " what is expected of many such machines, not of each.",
        years=say.number(result.years),
    )
    yield say(
        "Before a trial of its own a combination is expected to save what a further site would; its"
        " own trials are weighed against that. Machines of one model and film are one combination."
    )
    yield say(
        "A trial is worth what the better decision brings, if it is as exact as the trials so far;"
        " it comes first where that is more than it costs and than the delay."
    )
    yield say(
        "A promise holds with a chance of {chance} and is made for no machine without a trial of"
        " its own combination.",
        chance=say.percent(result.promised_with, 0),
    )
