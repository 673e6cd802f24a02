"""What the machine's kind means, as rows: what turns, what is fixed, what stops."""

from __future__ import annotations

from collections.abc import Iterator

from woold.case.machine_kinds import kind_facts
from woold.case.model import Case
from woold.prediction.machine_findings import load_push_share
from woold.rows.blocks import Block, Facts, Row
from woold.units import show
from woold.words import say

__all__ = ["machine_blocks"]


def machine_blocks(case: Case) -> list[Block]:
    """The machine's kind in words, and what turning does to the load."""
    return [Facts(say("The machine, a {kind}", kind=say(case.machine.kind)), tuple(_rows(case)))]


def _rows(case: Case) -> Iterator[Row]:
    facts = kind_facts(case.machine.kind)
    yield Row(say("turns"), say(facts.turns))
    yield Row(say("is fixed"), say(facts.fixed))
    yield Row(say("stops"), say(facts.stops))
    push = load_push_share(case)
    yield Row(
        say("push on the load"),
        show(push, "fraction") if facts.load_turns else say("none"),
        note=say("of its weight, at its far corner") if facts.load_turns else "",
    )
    yield Row(say("film"), say("as on any kind: it follows from the motion against each other"))
    yield Row(say("take care"), say(facts.caution))
