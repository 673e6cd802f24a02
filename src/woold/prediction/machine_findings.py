"""What a reader must be told of the machine's kind, and of values that are not usual."""

from __future__ import annotations

from collections.abc import Iterator

from woold.case.machine_kinds import kind_facts
from woold.case.model import Case
from woold.case.outline import load_outline
from woold.case.usual import questions
from woold.physics.outlines import largest_radius
from woold.physics.turned_load import turned_load_share
from woold.prediction.result import Finding
from woold.units import show
from woold.words import say

__all__ = ["confirmed_findings", "load_push_share", "machine_findings"]

LEAST_FRICTION = 0.25
"""Low end of friction between tiers of cartons, as the placeholder of transport.friction has it."""


def load_push_share(case: Case) -> float:
    """Largest acceleration that turning gives the load's far corner, as a share of gravity [-].

    0 where the load stands and the film is carried round it.
    """
    if not kind_facts(case.machine.kind).load_turns:
        return 0.0
    machine = case.machine
    ramps = [ramp for ramp in (machine.ramp_up, machine.ramp_down) if ramp > 0.0]
    reach = largest_radius(load_outline(case.load))
    return turned_load_share(machine.speed, reach, min(ramps, default=0.0))


def machine_findings(case: Case) -> Iterator[Finding]:
    """Findings of a load that is turned itself."""
    share = load_push_share(case)
    friction = LEAST_FRICTION
    if case.transport is not None:
        friction = case.range_of("transport.friction")[0]
    if share > friction:
        yield Finding(
            "load_may_shift_turning",
            "machine.speed",
            say(
                "On its table the load's far corner is pushed with {share} of its weight; between"
                " tiers as little as {friction} may hold it until the film does. Turn slower, give"
                " the ramps more time, or wrap where the load stands: arm or ring.",
                share=show(share, "fraction"),
                friction=show(friction, "fraction"),
            ),
        )
    if kind_facts(case.machine.kind).load_turns and 0.0 in (
        case.machine.ramp_up,
        case.machine.ramp_down,
    ):
        yield Finding(
            "turntable_without_ramp",
            "machine.ramp_up",
            say(
                "A table that starts or stops in no time jerks the load, which may shift or fall."
                " Time the ramp with a stop watch."
            ),
        )


def confirmed_findings(case: Case) -> Iterator[Finding]:
    """Values that are not usual, which whoever typed them says are right."""
    if not case.as_typed:
        return
    for each in questions(case):
        if each.field in case.as_typed:
            yield Finding(
                "as_typed",
                each.field,
                say(
                    "{given}, as typed; usual: {usual}. It was asked about and is said to be"
                    " right; every number here rests on it.",
                    given=each.given,
                    usual=each.allowed,
                ),
            )
