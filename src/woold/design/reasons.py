"""Why a design is as it is: what binds it, or what makes the task impossible and by how much."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from woold.dancer.springs import spring_table
from woold.design.candidate import CONSTRAINTS, Candidate, Objective
from woold.design.choices import Choices
from woold.design.result import Binding, Obstacle
from woold.design.search import Search
from woold.design.verified import Verified, best_verified, most_containment
from woold.transport.unmeasured import (
    INPUT_NAMES,
    Unmeasured,
    at_one_value,
    unmeasured_inputs,
)
from woold.units import show, show_range
from woold.words import say

__all__ = ["binding_limits", "obstacles"]

_LEAST_GAIN = 1e-3
"""Gains below this share are not worth a line [-]."""

_FIELDS = {
    "rated pre-stretch": "film.rated_prestretch",
    "elongation at break": "film.elongation_at_break",
    "grip": "design.grip_margin",
    "film stress": "design.film_margin",
    "dancer travel": "dancer",
    "film speed": "design.film_speed_limit",
    "carriage speed": "machine.carriage_speed_limit",
    "edge load": "hold.edge_load_limit",
    "cycle time": "design.cycle_time_limit",
    "wraps": "design.bottom_wraps_most",
}
_FARTHEST = 4.0
"""How far beyond its range a force or a rise is looked for, as a multiple [-]."""


@dataclass(frozen=True, eq=False)
class _Variation:
    """The same task with one limit left out or moved."""

    limit: str
    field: str
    words: str
    search: Search
    choices: Choices
    relaxed: frozenset[str] = frozenset()


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
        other, _ = best_verified(
            variation.search,
            variation.choices,
            objective,
            variation.relaxed,
            below=base * (1.0 - _LEAST_GAIN),
        )
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
    unlimited = _unlimited(search)
    for name in CONSTRAINTS:
        if name in unlimited:
            continue
        yield _Variation(
            name,
            _FIELDS[name],
            say("Without the limit on {limit},", limit=say(name)),
            search,
            choices,
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
            replace(choices, forces=(*choices.forces, more)),
        )
    if len(choices.rises) > 1:
        for field, rise in (
            ("rise_most", max(choices.rises) + limits.rise_step),
            ("rise_least", min(choices.rises) - limits.rise_step),
        ):
            if rise > 0.0:
                rises = tuple(sorted((*choices.rises, rise)))
                falls = rises if choices.falls else ()
                yield _Variation(
                    "rise per turn",
                    f"design.{field}",
                    say("At {rise} rise per turn,", rise=show(rise, "small_length")),
                    search,
                    replace(choices, rises=rises, falls=falls),
                )
    yield from _fewer_wraps(search, choices)
    yield from _without_targets(search, choices)


def _unlimited(search: Search) -> set[str]:
    """Constraints that the case does not set, so that leaving them out changes nothing."""
    case, limits = search.case, search.limits
    limited = {
        "rated pre-stretch": any(film.rated_prestretch is not None for film in search.shelf),
        "elongation at break": any(film.elongation_at_break is not None for film in search.shelf),
        "dancer travel": case.dancer is not None and bool(case.dancer.springs),
        "film speed": limits.film_speed_limit is not None,
        "carriage speed": case.machine.carriage_speed_limit is not None,
        "edge load": case.hold.edge_load_limit is not None,
        "cycle time": limits.cycle_time_limit is not None,
    }
    return {name for name, is_set in limited.items() if not is_set}


def _fewer_wraps(search: Search, choices: Choices) -> Iterator[_Variation]:
    least, most = choices.bottom
    if most > least >= 1.0:
        yield _Variation(
            "bottom wraps",
            "design.bottom_wraps_least",
            say("Allowing bottom wraps down to {wraps:.0f},", wraps=least - 1.0),
            search,
            replace(choices, bottom=(least - 1.0, most)),
        )
    least, most = choices.top
    if most > least >= 1.0:
        yield _Variation(
            "top wraps",
            "design.top_wraps_least",
            say("Allowing top wraps down to {wraps:.0f},", wraps=least - 1.0),
            search,
            replace(choices, top=(least - 1.0, most)),
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
            choices,
        )
    if targets.tiers:
        guessed = unmeasured_inputs(search.case)
        if guessed:
            yield _Variation(
                "not measured",
                guessed[0].field,
                say(
                    "If what nobody measured ({inputs}) were measured and found as guessed,",
                    inputs=_named(guessed),
                ),
                search.with_targets(targets.redrawn(at_one_value(search.case))),
                choices,
            )
        yield _Variation(
            "transport",
            "transport.profiles",
            say("Without the transport profiles,"),
            search.with_targets(replace(targets, tiers=None)),
            choices,
        )
    yield _Variation(
        "cover",
        "load.height",
        say("If the load need not be covered everywhere,"),
        search.with_targets(replace(targets, whole_height=False)),
        choices,
    )


def _named(inputs: Sequence[Unmeasured]) -> str:
    return ", ".join(say(INPUT_NAMES[each.field]) for each in inputs)


def obstacles(search: Search, choices: Choices) -> tuple[Obstacle, ...]:
    """Each limit that makes the task impossible by itself, and how far the targets can be held.

    Where no single limit does, every limit that the best program without any of them breaks.

    Args:
        search: the search, with its targets.
        choices: what may be chosen.
    """
    if search.targets.beyond_film:
        message = say(
            "The whole pallet slides or tips on the vehicle, whatever film does: block its foot,"
            " make it grip, or ask for less."
        )
        if not search.targets.redrawn(at_one_value(search.case)).beyond_film:
            message = say(
                "Nobody measured {inputs}: at an end of its range the whole pallet slides or tips"
                " on the vehicle, whatever film does. Measure it, or block the pallet's foot.",
                inputs=_named(unmeasured_inputs(search.case)),
            )
        return (Obstacle("transport", "transport.profiles", 0.0, 1.0, "", message),)
    measures: dict[str, Objective] = {
        "edge load": "edge load",
        "cycle time": "time",
        "film stress": "film stress",
        "wraps": "wraps",
    }
    found = []
    for name in CONSTRAINTS:
        looked_at = choices
        if name in ("carriage speed", "film speed"):
            looked_at = replace(choices, speeds=(min(choices.speeds),))
        best, _ = best_verified(search, looked_at, measures.get(name, "film"), frozenset({name}))
        if best is not None:
            found += [each for each in _broken(search, choices, best) if each.limit == name]
    found += list(_out_of_range(search, choices))
    if not found:
        best, _ = best_verified(search, choices, "film", frozenset(CONSTRAINTS))
        if best is not None:
            found += list(_broken(search, choices, best))
    _, _, share = most_containment(search, choices, math.inf)
    found.append(
        Obstacle(
            "targets",
            "hold.targets",
            share,
            1.0,
            "",
            say("Within the limits, at most {share:.0%} of every target can be held.", share=share)
            if share > 0.0
            else say("Within the limits, not even the load's cover can be had."),
        )
    )
    return tuple(found)


def _broken(search: Search, choices: Choices, best: Verified) -> Iterator[Obstacle]:
    """Limits that a program breaks."""
    case, limits, made = search.case, search.limits, best.candidate
    p, film = best.prediction, best.case.film
    steepest = max(made.settings.rise_per_turn_m, made.settings.fall_per_turn_m or 0.0)
    rows: list[tuple[str, float | None, float | None, str, str]] = [
        ("edge load", made.edge_load, case.hold.edge_load_limit, "tension_per_width", "N/m"),
        ("cycle time", made.cycle_time, limits.cycle_time_limit, "time", "s"),
        ("film stress", made.stress_share, 1.0 - limits.film_margin, "fraction", ""),
        ("film speed", p.film_speed_max_m_per_s, limits.film_speed_limit, "speed", "m/s"),
        (
            "carriage speed",
            steepest * made.settings.speed_rad_per_s / (2.0 * math.pi),
            case.machine.carriage_speed_limit,
            "speed",
            "m/s",
        ),
        ("wraps", made.settings.bottom_wraps, choices.bottom[1], "ratio", ""),
        ("wraps", made.settings.top_wraps, choices.top[1], "ratio", ""),
        ("rated pre-stretch", p.prestretch_geared, film.rated_prestretch, "elongation", ""),
        ("elongation at break", p.prestretch_delivered, film.elongation_at_break, "elongation", ""),
    ]
    for limit, reached, allowed, kind, unit in rows:
        if reached is None or allowed is None or reached <= allowed * (1.0 + 1e-9):
            continue
        message = say(
            "{limit}: at least {needed} is needed, {allowed} is allowed.",
            limit=say(limit),
            needed=show(reached, kind),
            allowed=show(allowed, kind),
        )
        yield Obstacle(limit, _FIELDS[limit], reached, allowed, unit, message)
    yield from _broken_dancer(search, made.settings.force_to_load_n)
    margin = min(p.grip_margin_slow, p.grip_margin_fast) - 1.0
    if limits.grip_margin is not None and margin < limits.grip_margin:
        message = say(
            "grip: {margin} margin is left of the {asked} asked for.",
            margin=show(margin, "fraction"),
            asked=show(limits.grip_margin, "fraction"),
        )
        yield Obstacle("grip", _FIELDS["grip"], margin, limits.grip_margin, "", message)


def _broken_dancer(search: Search, force: float) -> Iterator[Obstacle]:
    """The dancer, where no spring in use balances a force within the arm's travel."""
    dancer = search.case.dancer
    if dancer is None or not dancer.springs or search.films.dancer_choice(force) is not None:
        return
    springs = spring_table(search.case).choices
    low = min(row.tension_lower_n for row in springs)
    high = max(row.tension_upper_n for row in springs)
    message = say(
        "dancer travel: {force} is needed; no spring in use balances it within the arm's travel"
        " (all of them span {span}).",
        force=show(force, "force"),
        span=show_range(low, high, "force"),
    )
    allowed = high if force > high else low
    yield Obstacle("dancer travel", _FIELDS["dancer travel"], force, allowed, "N", message)


def _out_of_range(search: Search, choices: Choices) -> Iterator[Obstacle]:
    """Force and rise that would do, just outside of what may be chosen."""
    limits = search.limits

    def first(
        values: list[float], at: Callable[[float], Choices]
    ) -> tuple[float, Candidate] | None:
        for value in values:
            best, _ = best_verified(search, at(value), "film")
            if best is not None:
                return value, best.candidate
        return None

    most = limits.force_most
    count = math.floor((_FARTHEST - 1.0) * most / limits.force_step)
    forces = [most + (index + 1) * limits.force_step for index in range(min(count, 60))]
    hit = first(forces, lambda force: replace(choices, forces=(force,)))
    if hit is not None:
        yield Obstacle(
            "force to load",
            "design.force_most",
            hit[0],
            most,
            "N",
            say(
                "force to load: {force} would do, {most} is the most.",
                force=show(hit[0], "force"),
                most=show(most, "force"),
            ),
        )
    least = limits.rise_least
    lower = [least - (index + 1) * limits.rise_step for index in range(40)]
    lower = [rise for rise in lower if rise >= least / _FARTHEST]
    hit = first(
        lower, lambda rise: replace(choices, rises=(rise,), falls=(rise,) if choices.falls else ())
    )
    if hit is not None:
        yield Obstacle(
            "rise per turn",
            "design.rise_least",
            hit[0],
            least,
            "m",
            say(
                "rise per turn: {rise} would do, {least} is the least.",
                rise=show(hit[0], "small_length"),
                least=show(least, "small_length"),
            ),
        )
