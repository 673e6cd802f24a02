"""What sets turntable, rotary arm and ring apart: what turns, what is fixed, how fast, what stops.

The film does not tell them apart: demand, layers, stretch and time follow from the motion of load
and carriage against each other, which is the same for all three. The load does: on a turntable it
is turned, started and stopped, and pushed outward; beside an arm or in a ring it stands.
All of it is common practice of the trade, without a source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from woold.units.reading import unit_of
from woold.words import to_say

__all__ = ["KINDS_OF_MACHINE", "MachineKind", "kind_facts"]

MachineKind = Literal["turntable", "rotary arm", "ring"]


@dataclass(frozen=True, slots=True)
class KindFacts:
    """One kind of stretch wrapper.

    Args:
        load_turns: the load is turned; else it stands and the film is carried round it.
        usual_speeds: turning speeds that nobody is asked about [rad/s].
        usual_clearance: least distance between load and film's exit as they pass [m].
        turns, fixed, stops: in words.
        caution: the danger that is its own.
    """

    load_turns: bool
    usual_speeds: tuple[float, float]
    usual_clearance: float
    turns: str
    fixed: str
    stops: str
    caution: str


_RPM = unit_of("rpm").factor

KINDS_OF_MACHINE: dict[MachineKind, KindFacts] = {
    "turntable": KindFacts(
        load_turns=True,
        usual_speeds=(3 * _RPM, 20 * _RPM),
        usual_clearance=0.04,
        turns=to_say("the load, on its table"),
        fixed=to_say("the mast; the film's exit stays at its distance from the axis"),
        stops=to_say("the table with the load on it, so it starts and stops gently"),
        caution=to_say(
            "A load on a turntable is pushed outward and jerked as it starts and stops: a loose or"
            " tall one may shift or fall. Keep clear of the table while it turns."
        ),
    ),
    "rotary arm": KindFacts(
        load_turns=False,
        usual_speeds=(3 * _RPM, 40 * _RPM),
        usual_clearance=0.05,
        turns=to_say("the arm with the carriage, round a load that stands"),
        fixed=to_say("the load; the arm's reach gives the distance of the film's exit"),
        stops=to_say("the arm; nothing pushes the load"),
        caution=to_say(
            "The arm sweeps the whole circle round the load, at head height and below: fence it,"
            " and lock it before anyone steps in."
        ),
    ),
    "ring": KindFacts(
        load_turns=False,
        usual_speeds=(8 * _RPM, 80 * _RPM),
        usual_clearance=0.03,
        turns=to_say("the carriage on its ring, round a load that stands"),
        fixed=to_say("the load; the ring's radius gives the distance of the film's exit"),
        stops=to_say("the carriage on its ring; nothing pushes the load"),
        caution=to_say(
            "The ring rises and falls round the load with the carriage running on it: fence it,"
            " and secure it against falling before anyone reaches in."
        ),
    ),
}
"""What is known of each kind."""


def kind_facts(kind: MachineKind) -> KindFacts:
    """What is known of a kind of machine."""
    return KINDS_OF_MACHINE[kind]
