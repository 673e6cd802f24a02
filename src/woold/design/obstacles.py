"""What makes a task impossible, each limit by itself, and by how much it is missed."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from woold.dancer.springs import spring_rows
from woold.design.candidate import CONSTRAINTS, Objective, Relaxed
from woold.design.choices import Choices
from woold.design.result import Obstacle
from woold.design.search import Search
from woold.design.verified import Verified, best_verified, most_containment
from woold.transport.unmeasured import at_one_value, inputs_named, unmeasured_inputs
from woold.units import show, show_range
from woold.words import say

__all__ = ["LIMIT_FIELDS", "obstacles", "unlimited"]

LIMIT_FIELDS = {
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
"""Field of the case that each limit stands in."""

_SHARE_STEP = 3e-3
"""How near to the largest share that can be held it is told [-]."""

_FORCES = 24
"""Forces at which it is told how much patches can hold [-]."""

_GROWS = 4.0
"""Steps to larger shares grow by this factor [-]."""

_FARTHEST = 4.0
"""How far beyond its range a force or a rise is looked for, as a multiple [-]."""


def unlimited(search: Search) -> set[str]:
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
                inputs=inputs_named(unmeasured_inputs(search.case)),
            )
        return (Obstacle("transport", "transport.profiles", 0.0, 1.0, "", message),)
    measures: dict[str, Objective] = {
        "edge load": "edge load",
        "cycle time": "time",
        "film stress": "film stress",
        "wraps": "wraps",
    }
    found = []
    felt, search = search, search.at_points()
    for name in CONSTRAINTS:
        if name in unlimited(search):
            continue
        relaxed, looked_at = frozenset({name}), _gentlest(search, choices, name)
        best, _ = best_verified(search, looked_at, measures.get(name, "film"), relaxed)
        if best is not None:
            found += [each for each in _broken(search, choices, best) if each.limit == name]
    found += list(_out_of_range(search, choices))
    if not found:
        best, _ = best_verified(search, choices, "film", frozenset(CONSTRAINTS))
        if best is not None:
            found += list(_broken(search, choices, best))
    _, _, share = most_containment(search, choices, math.inf, _SHARE_STEP, is_short=True)
    if search.targets.is_felt and share > 0.0:
        share = _felt_share(felt, choices, share)
    found.append(
        Obstacle(
            "targets",
            "hold.targets",
            share,
            1.0,
            "",
            say(
                "Within the limits, {share:.0%} of every target can be held; none was found that"
                " holds more, though between the steps that were looked at one may hold up to 3 %"
                " more.",
                share=share,
            )
            if share > 0.0
            else say("Within the limits, not even the load's cover can be had."),
        )
    )
    return tuple(found)


def _felt_share(search: Search, choices: Choices, at_points: float) -> float:
    """Share of every target that can be held over patches, from what can be held at points."""
    each = max(len(choices.forces) // _FORCES, 1)
    some = replace(choices, forces=(*choices.forces[::each], choices.forces[-1]))

    def holds(scale: float) -> bool:
        scaled = search.with_targets(search.targets.scaled(scale))
        return best_verified(scaled, some, "film")[0] is not None

    # Mostly not much more, and to see that more does not hold takes longest: in growing steps.
    low, step = at_points, _SHARE_STEP
    while (high := low * (1.0 + step)) < 1.0 and holds(high):
        low, step = high, _GROWS * step
    high = min(high, 1.0)
    while high - low > _SHARE_STEP * high:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low


def _gentlest(search: Search, choices: Choices, name: str) -> Choices:
    """The choices without what asks for more of a limit than a program needs that holds."""
    if name not in ("carriage speed", "film speed", "rated pre-stretch", "elongation at break"):
        return choices
    relaxed = frozenset({name})
    if name.endswith("speed"):
        choices = replace(choices, speeds=(min(choices.speeds),))
    if name == "carriage speed":
        rises = sorted(choices.rises)
        most = _nearest(search, rises, lambda some: _with_rises(choices, some), relaxed)
        return choices if most is None else _with_rises(choices, rises[: rises.index(most) + 1])
    if name != "film speed":
        stretches = sorted(choices.prestretches)
        most = _nearest(
            search, stretches, lambda some: replace(choices, prestretches=some), relaxed
        )
        return choices if most is None else replace(choices, prestretches=(most,))
    return choices


def _with_rises(choices: Choices, rises: Sequence[float]) -> Choices:
    """The choices with other rises, and the same falls where there are any."""
    some = tuple(sorted(rises))
    return replace(choices, rises=some, falls=some if choices.falls else ())


def _nearest(
    search: Search,
    values: Sequence[float],
    at: Callable[[tuple[float, ...]], Choices],
    relaxed: Relaxed = frozenset(),
) -> float | None:
    """The first value with which, or with one before it, a program holds; None where none does."""

    def holds(count: int) -> bool:
        return best_verified(search, at(tuple(values[:count])), "film", relaxed)[0] is not None

    low, high = 0, len(values)
    if not values or not holds(high):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if holds(middle) else (middle, high)
    return values[high - 1]


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
            "{limit}: {needed} would do, {allowed} is allowed.",
            limit=say(limit),
            needed=show(reached, kind),
            allowed=show(allowed, kind),
        )
        if limit == "edge load" and search.targets.is_felt:
            # Looked for at every point: what holds over patches alone is not weighed for it.
            message = f"{message} {say('Less may do: the least that would was not looked for.')}"
        yield Obstacle(limit, LIMIT_FIELDS[limit], reached, allowed, unit, message)
    yield from _broken_dancer(search, made.settings.force_to_load_n)
    margin = min(p.grip_margin_slow, p.grip_margin_fast) - 1.0
    if limits.grip_margin is not None and margin < limits.grip_margin:
        message = say(
            "grip: {margin} margin is left of the {asked} asked for.",
            margin=show(margin, "fraction"),
            asked=show(limits.grip_margin, "fraction"),
        )
        yield Obstacle("grip", LIMIT_FIELDS["grip"], margin, limits.grip_margin, "", message)


def _broken_dancer(search: Search, force: float) -> Iterator[Obstacle]:
    """The dancer, where no spring in use balances a force within the arm's travel."""
    dancer = search.case.dancer
    if dancer is None or not dancer.springs or search.films.dancer_choice(force) is not None:
        return
    springs = spring_rows(search.case)
    low = min(row.tension_lower_n for row in springs)
    high = max(row.tension_upper_n for row in springs)
    message = say(
        "dancer travel: {force} is needed; no spring in use balances it within the arm's travel"
        " (all of them span {span}).",
        force=show(force, "force"),
        span=show_range(low, high, "force"),
    )
    allowed = high if force > high else low
    yield Obstacle("dancer travel", LIMIT_FIELDS["dancer travel"], force, allowed, "N", message)


def _out_of_range(search: Search, choices: Choices) -> Iterator[Obstacle]:
    """Force and rise that would do, just outside of what may be chosen."""
    limits = search.limits

    most = limits.force_most
    count = math.floor((_FARTHEST - 1.0) * most / limits.force_step)
    forces = [most + (index + 1) * limits.force_step for index in range(min(count, 60))]
    hit = _nearest(search, forces, lambda some: replace(choices, forces=some))
    if hit is not None:
        yield Obstacle(
            "force to load",
            "design.force_most",
            hit,
            most,
            "N",
            say(
                "force to load: {force} would do, {most} is the most.",
                force=show(hit, "force"),
                most=show(most, "force"),
            ),
        )
    least = limits.rise_least
    lower = [least - (index + 1) * limits.rise_step for index in range(40)]
    lower = [rise for rise in lower if rise >= least / _FARTHEST]
    hit = _nearest(search, lower, lambda some: _with_rises(choices, some))
    if hit is not None:
        yield Obstacle(
            "rise per turn",
            "design.rise_least",
            hit,
            least,
            "m",
            say(
                "rise per turn: {rise} would do, {least} is the least.",
                rise=show(hit, "small_length"),
                least=show(least, "small_length"),
            ),
        )
