"""Why a design is as it is: the limits that keep the chosen program from being better."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, replace

from woold.design.candidate import CONSTRAINTS, Objective
from woold.design.choices import Choices
from woold.design.obstacles import LIMIT_FIELDS, unlimited
from woold.design.result import Binding
from woold.design.search import Search
from woold.design.verified import Verified, best_verified
from woold.transport.unmeasured import at_one_value, inputs_named, unmeasured_inputs
from woold.units import show
from woold.words import say

__all__ = ["binding_limits"]

_LEAST_GAIN = 1e-3
"""Gains below this share are not worth a line [-]."""

_OF_FILMS = frozenset(
    {"rated pre-stretch", "elongation at break", "grip", "film stress", "dancer travel"}
)
"""Limits that keep a film from use at a force, whatever the program is."""


@dataclass(frozen=True, eq=False)
class _Variation:
    """The same task with one limit left out or moved, and what that lets in, set by set."""

    limit: str
    field: str
    words: str
    search: Search
    choices: tuple[Choices, ...]
    relaxed: frozenset[str] = frozenset()

    def best(self, objective: Objective, below: float) -> Verified | None:
        """The best of what is let in, where it scores less than so much."""
        best: Verified | None = None
        for choices in self.choices:
            found, _ = best_verified(self.search, choices, objective, self.relaxed, below)
            if found is not None:
                best, below = found, found.candidate.score
        return best


def binding_limits(
    search: Search, choices: Choices, objective: Objective, chosen: Verified
) -> tuple[Binding, ...]:
    """Limits that keep the chosen program from being better, the strongest first.

    Args:
        search: the search, with its targets.
        choices: what may be chosen.
        objective: what is made small.
        chosen: the best program.
    """
    found = []
    base = chosen.candidate.score
    for variation in _variations(search, choices):
        other = variation.best(objective, base * (1.0 - _LEAST_GAIN))
        if other is None or base <= 0.0:
            continue
        gain = 1.0 - other.candidate.score / base
        if gain > _LEAST_GAIN:
            message = f"{variation.words} {_less_text(gain, objective)}"
            found.append(Binding(variation.limit, variation.field, message, gain))
    return tuple(sorted(found, key=lambda each: -each.gain))


def _less_text(gain: float, objective: Objective) -> str:
    share = show(gain, "fraction")
    if objective == "film":
        return say("{share} less film would do.", share=share)
    if objective == "cost":
        return say("{share} less cost would do.", share=share)
    return say("{share} less time would do.", share=share)


def _variations(search: Search, choices: Choices) -> Iterator[_Variation]:
    left_out = unlimited(search)
    for name in CONSTRAINTS:
        if name in left_out:
            continue
        yield _Variation(
            name,
            LIMIT_FIELDS[name],
            say("Without the limit on {limit},", limit=say(name)),
            search,
            tuple(_films_let_in(search, choices, name)) if name in _OF_FILMS else (choices,),
            frozenset({name}),
        )
    limits = search.limits
    if len(choices.forces) > 1:
        more = max(choices.forces) + limits.force_step
        yield _Variation(
            "force to load",
            "design.force_most",
            say("At {force} force to load,", force=show(more, "force")),
            search,
            (replace(choices, forces=(more,)),),
        )
    if len(choices.rises) > 1:
        for field, rise in (
            ("rise_most", max(choices.rises) + limits.rise_step),
            ("rise_least", min(choices.rises) - limits.rise_step),
        ):
            if rise > 0.0:
                yield _Variation(
                    "rise per turn",
                    f"design.{field}",
                    say("At {rise} rise per turn,", rise=show(rise, "small_length")),
                    search,
                    tuple(_pairs_let_in(choices, rise)),
                )
    yield from _fewer_wraps(search, choices)
    yield from _without_targets(search, choices)


def _films_let_in(search: Search, choices: Choices, limit: str) -> Iterator[Choices]:
    """Each film and pre-stretch at the forces at which one limit alone keeps it from use."""
    films = search.films
    for place, prestretch in itertools.product(choices.films, choices.prestretches):
        laid = films.at_forces(place, prestretch, choices.forces)
        forces = tuple(
            case.program.force_to_load
            for case, sheet in laid
            if films.may_be_used(case, sheet, frozenset({limit}))
            and not films.may_be_used(case, sheet, frozenset())
        )
        if forces:
            yield replace(choices, films=(place,), prestretches=(prestretch,), forces=forces)


def _pairs_let_in(choices: Choices, rise: float) -> Iterator[Choices]:
    """The pairs of rise and fall that one more of them adds."""
    if choices.one_rise or not choices.falls:
        yield replace(choices, rises=(rise,), falls=(rise,) if choices.falls else ())
        return
    yield replace(choices, rises=(rise,), falls=(*choices.falls, rise))
    yield replace(choices, falls=(rise,))


def _fewer_wraps(search: Search, choices: Choices) -> Iterator[_Variation]:
    least, most = choices.bottom
    if most > least >= 1.0:
        yield _Variation(
            "bottom wraps",
            "design.bottom_wraps_least",
            say("Allowing bottom wraps down to {wraps:.0f},", wraps=least - 1.0),
            search,
            (replace(choices, bottom=(least - 1.0, most)),),
        )
    least, most = choices.top
    if most > least >= 1.0:
        yield _Variation(
            "top wraps",
            "design.top_wraps_least",
            say("Allowing top wraps down to {wraps:.0f},", wraps=least - 1.0),
            search,
            (replace(choices, top=(least - 1.0, most)),),
        )


def _without_targets(search: Search, choices: Choices) -> Iterator[_Variation]:
    targets = search.targets
    for index, zone in enumerate(targets.zones):
        others = targets.zones[:index] + targets.zones[index + 1 :]
        yield _Variation(
            "containment",
            zone.field,
            say(
                "Without the {force} from {low} to {high},",
                force=show(zone.force * targets.scale, "force"),
                low=show(zone.low, "length"),
                high=show(zone.high, "length"),
            ),
            search.with_targets(replace(targets, zones=others)),
            (choices,),
        )
    if targets.tiers:
        guessed = unmeasured_inputs(search.case)
        if guessed:
            yield _Variation(
                "not measured",
                guessed[0].field,
                say(
                    "If what nobody measured ({inputs}) were measured and found as guessed,",
                    inputs=inputs_named(guessed),
                ),
                search.with_targets(targets.redrawn(at_one_value(search.case))),
                (choices,),
            )
        yield _Variation(
            "transport",
            "transport.profiles",
            say("Without the transport profiles,"),
            search.with_targets(replace(targets, tiers=None)),
            (choices,),
        )
    yield _Variation(
        "cover",
        "load.height",
        say("If the load need not be covered everywhere,"),
        search.with_targets(replace(targets, whole_height=False)),
        (choices,),
    )
