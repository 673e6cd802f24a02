"""Inputs of a transport that nobody measured: each is moved alone over its range.

What they decide cannot be said. Only what can be measured on the load by itself is moved, not the
screen's own constants, which only a test of the wrapped load sets; `transport_effects` tells those.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable, Iterator
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from woold.case.fields import facts_of
from woold.case.model import Case
from woold.case.transport import Transport
from woold.physics.interface_friction import LOOSE_MARGIN
from woold.units import show_range
from woold.words import language, say, to_say

__all__ = [
    "HOW_TO_MEASURE",
    "INPUT_NAMES",
    "MARGIN",
    "Unmeasured",
    "asked_states",
    "at_one_value",
    "every_state",
    "inputs_named",
    "moved_inputs",
    "range_text",
    "unmeasured_inputs",
]

INPUT_NAMES: Final[dict[str, str]] = {
    "transport.friction": to_say("friction between tiers"),
    "transport.deck_friction": to_say("friction of the lowest tier on the deck"),
    "transport.vehicle_friction": to_say("friction of the pallet on the vehicle"),
    "transport.kinetic_share": to_say("kinetic over static friction"),
    "transport.package_give": to_say("how far packages give"),
    "transport.slip_margin": to_say("whether a start breaks loose what friction just holds"),
}
"""What can be measured on a load by itself, and decides whether it holds; and what nobody can."""


HOW_TO_MEASURE: Final[dict[str, str]] = {
    "transport.friction": to_say(
        "put one tier, or a package, on another and raise one end until the upper one"
        " slides; rise over run is the static friction. Repeat it five times, and give"
        " transport.friction the lowest with its origin."
    ),
    "transport.deck_friction": to_say(
        "put a package on the pallet's deck, with its sheet if there is one, and raise"
        " one end until it slides; rise over run is the static friction. Repeat it five times, and"
        " give transport.deck_friction the lowest with its origin."
    ),
    "transport.vehicle_friction": to_say(
        "pull an empty pallet over the vehicle's floor with a gauge; the force at which"
        " it starts, over its weight, is the static friction. Give transport.vehicle_friction the"
        " lowest of five with its origin; or block the pallet's foot."
    ),
    "transport.kinetic_share": to_say(
        "pull a package over another, or over the deck, with a gauge; the force while"
        " it moves evenly, over the force that started it. Give transport.kinetic_share the lowest"
        " of five with its origin."
    ),
    "transport.package_give": to_say(
        "put as much weight on one tier as the whole load has, and measure at its four"
        " edges how far it gives. Give transport.package_give the mean with its origin."
    ),
    "transport.slip_margin": to_say(
        "Friction holds it by less than a fifth: put an anti-slip sheet there or lay more film, or"
        " move it over time, or test a wrapped load."
    ),
}
"""How each of them is measured, and where it is put down."""


class Unmeasured(NamedTuple):
    """An input that nobody measured.

    Args:
        field: dotted name.
        value: best guess, SI.
        low, high: ends of its range, SI.
    """

    field: str
    value: float
    low: float
    high: float


def unmeasured_inputs(case: Case) -> tuple[Unmeasured, ...]:
    """Those of the inputs above that are placeholders.

    Args:
        case: a case with a [transport] table.
    """
    found = []
    for field in _measurable(case):
        value, origin = case.known_of(field)
        if not origin.is_placeholder:
            continue
        low, high = origin.low, origin.high
        if low is None or high is None:  # called a placeholder, without a range of its own
            facts = facts_of(Transport, field.removeprefix("transport."))
            low, high = facts.low, facts.high
        if low is not None and high is not None and low < high:
            found.append(Unmeasured(field, value, min(low, value), max(high, value)))
    return tuple(found)


def _measurable(case: Case) -> Iterator[str]:
    """Fields that say something of this load."""
    asked = case.transport
    for field in INPUT_NAMES:
        is_alone = field == _TIERS and case.load.tiers == 1
        is_blocked = field == _VEHICLE and asked is not None and asked.foot_blocked
        if field != MARGIN and not is_alone and not is_blocked:
            yield field


def moved_inputs(case: Case) -> tuple[Unmeasured, ...]:
    """Those, and how much a start adds to what friction must hold, which nobody can measure.

    Args:
        case: a case with a [transport] table.
    """
    found, margin = unmeasured_inputs(case), case.known_of(MARGIN)[0]
    if margin < LOOSE_MARGIN:
        found = (*found, Unmeasured(MARGIN, margin, margin, LOOSE_MARGIN))
    return found


def range_text(each: Unmeasured) -> str:
    """Its range, with the unit."""
    return _range_text(each, language())


@functools.lru_cache(maxsize=256)
def _range_text(each: Unmeasured, _spoken: str) -> str:
    kind = "small_length" if each.field == "transport.package_give" else "ratio"
    return show_range(each.low, each.high, kind)


def at_one_value(case: Case) -> Case:
    """The case with each of those inputs known to be what is guessed.

    Args:
        case: a case with a [transport] table.
    """
    return case.with_drawn({each.field: each.value for each in unmeasured_inputs(case)})


def _moved(unmeasured: tuple[Unmeasured, ...]) -> Iterator[tuple[str, dict[str, float]]]:
    """Each input at the ends of its range, by name of the [transport] table.

    The deck goes with the tiers where neither is known: packages that are slippery are so on both.
    How much friction is left counts once an interface is loose, so that the margin goes with it.
    """
    known = {each.field: each for each in unmeasured}
    deck, margin = known.get(_DECK), known.get(MARGIN)
    for each in unmeasured:
        field, value, low, high = each
        name = field.removeprefix("transport.")
        lows, highs = {name: low}, {name: high}
        if field == _TIERS and deck is not None:
            lows["deck_friction"], highs["deck_friction"] = deck.low, deck.high
        if field == _KINETIC and margin is not None:
            lows["slip_margin"] = highs["slip_margin"] = margin.high
        if low != value:
            yield field, lows
        if high != value:
            yield field, highs


def asked_states(
    asked: Transport, unmeasured: tuple[Unmeasured, ...]
) -> Iterator[tuple[str, Transport]]:
    """The [transport] table as guessed, then with each input at the ends of its range.

    Each with the field that is moved, "" for the first.

    Args:
        asked: the table.
        unmeasured: inputs that are not known.
    """
    yield "", asked
    for field, ends in _moved(unmeasured):
        yield field, asked.model_copy(update=ends)


def every_state(
    asked: Transport, tiers: int, unmeasured: tuple[Unmeasured, ...]
) -> tuple[NDArray[np.float64], tuple[str, ...]]:
    """The same for the compiled screen: as guessed first, then each at the ends of its range.

    Args:
        asked: the case's [transport] table.
        tiers: how many there are.
        unmeasured: inputs that are not known.

    Returns:
        States as `woold.physics.screen_kernel.screen_ways` takes them; field that is moved in each,
        "" in the first.
    """
    guess = (asked.vehicle_friction, asked.kinetic_share, asked.package_give, asked.slip_margin)
    return _states((*guess, asked.deck_friction, asked.friction), tiers, unmeasured)


@functools.lru_cache(maxsize=256)
def _states(
    known: tuple[float, ...], tiers: int, unmeasured: tuple[Unmeasured, ...]
) -> tuple[NDArray[np.float64], tuple[str, ...]]:
    """Those states, made once, which nobody changes."""
    guess = [*known[:_BETWEEN_TIERS], *known[_BETWEEN_TIERS:] * (tiers - 1)]
    states, moved = [guess], [""]
    for field, ends in _moved(unmeasured):
        state = guess.copy()
        for name, end in ends.items():
            if name == "friction":
                state[_BETWEEN_TIERS:] = [end] * (tiers - 1)
            else:
                state[_COLUMNS[name]] = end
        states.append(state)
        moved.append(field)
    return np.array(states), tuple(moved)


MARGIN: Final = "transport.slip_margin"
_TIERS, _DECK = "transport.friction", "transport.deck_friction"
_VEHICLE: Final = "transport.vehicle_friction"
_KINETIC: Final = "transport.kinetic_share"
_COLUMNS: Final = {
    "vehicle_friction": 0,
    "kinetic_share": 1,
    "package_give": 2,
    "slip_margin": 3,
    "deck_friction": 4,
}
_BETWEEN_TIERS: Final = 5


def inputs_named(inputs: Iterable[Unmeasured]) -> str:
    """The names of inputs in one line.

    Args:
        inputs: what nobody measured.
    """
    return ", ".join(say(INPUT_NAMES[each.field]) for each in inputs)
