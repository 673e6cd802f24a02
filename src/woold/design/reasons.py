"""Why a design is as it is: what binds it, or what makes the task impossible and by how much."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from woold.dancer.springs import spring_table
from woold.design.candidate import CONSTRAINTS, Candidate, Objective
from woold.design.choices import Space
from woold.design.result import Binding, Obstacle
from woold.design.search import Search
from woold.design.verified import Verified, best_verified, most_containment
from woold.units import show, show_range

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
    space: Space
    relaxed: frozenset[str] = frozenset()


def binding_limits(
    search: Search, space: Space, objective: Objective, chosen: Verified
) -> tuple[Binding, ...]:
    """Limits that keep the chosen program from being better, the strongest first.

    Args:
        search: the search, with its targets.
        space: what may be chosen.
        objective: what is made small.
        chosen: the best program.
    """
    found = []
    base = chosen.candidate.score
    for variation in _variations(search, space):
        other, _ = best_verified(variation.search, variation.space, objective, variation.relaxed)
        if other is None or base <= 0.0:
            continue
        gain = 1.0 - other.candidate.score / base
        if gain > _LEAST_GAIN:
            less = {"film": "film", "cost": "cost", "time": "time"}.get(objective, objective)
            message = f"{variation.words} {show(gain, 'fraction')} less {less} would do."
            found.append(Binding(variation.limit, variation.field, message, gain))
    return tuple(sorted(found, key=lambda each: -each.gain))


def _variations(search: Search, space: Space) -> Iterator[_Variation]:
    for name in CONSTRAINTS:
        yield _Variation(
            name, _FIELDS[name], f"Without the limit on {name},", search, space, frozenset({name})
        )
    asks = search.asks
    if len(space.forces) > 1:
        more = max(space.forces) + asks.force_step
        yield _Variation(
            "force to load",
            "design.force_most",
            f"At {show(more, 'force')} force to load,",
            search,
            replace(space, forces=(*space.forces, more)),
        )
    if len(space.rises) > 1:
        for field, rise in (
            ("rise_most", max(space.rises) + asks.rise_step),
            ("rise_least", min(space.rises) - asks.rise_step),
        ):
            if rise > 0.0:
                rises = tuple(sorted((*space.rises, rise)))
                falls = rises if space.falls else ()
                yield _Variation(
                    "rise per turn",
                    f"design.{field}",
                    f"At {show(rise, 'small_length')} rise per turn,",
                    search,
                    replace(space, rises=rises, falls=falls),
                )
    for name, (least, most) in (("bottom", space.bottom), ("top", space.top)):
        if most > least >= 1.0:
            fewer = (least - 1.0, most)
            other = replace(space, bottom=fewer) if name == "bottom" else replace(space, top=fewer)
            yield _Variation(
                f"{name} wraps",
                f"design.{name}_wraps_least",
                f"With {least - 1:.0f} {name} wraps allowed,",
                search,
                other,
            )
    yield from _without_targets(search, space)


def _without_targets(search: Search, space: Space) -> Iterator[_Variation]:
    targets = search.targets
    for index, zone in enumerate(targets.zones):
        others = targets.zones[:index] + targets.zones[index + 1 :]
        where = f"{show(zone.low, 'length')} to {show(zone.high, 'length')}"
        yield _Variation(
            "containment",
            zone.field,
            f"Without the {show(zone.force * targets.scale, 'force')} from {where},",
            search.with_targets(replace(targets, zones=others)),
            space,
        )
    if targets.ways:
        yield _Variation(
            "transport",
            "transport.profiles",
            "Without the transport profiles,",
            search.with_targets(replace(targets, ways=())),
            space,
        )
    yield _Variation(
        "cover",
        "load.height",
        "If the load need not be covered everywhere,",
        search.with_targets(replace(targets, cover=False)),
        space,
    )


def obstacles(search: Search, space: Space) -> tuple[Obstacle, ...]:
    """Each limit that makes the task impossible by itself, and how far the targets can be held.

    Where no single limit does, every limit that the best program without any of them breaks.

    Args:
        search: the search, with its targets.
        space: what may be chosen.
    """
    measures: dict[str, Objective] = {
        "edge load": "edge load",
        "cycle time": "time",
        "film stress": "film stress",
        "wraps": "wraps",
    }
    found = []
    for name in CONSTRAINTS:
        looked_at = space
        if name in ("carriage speed", "film speed"):
            looked_at = replace(space, speeds=(min(space.speeds),))
        best, _ = best_verified(search, looked_at, measures.get(name, "film"), frozenset({name}))
        if best is not None:
            found += [each for each in _broken(search, space, best) if each.limit == name]
    found += list(_out_of_range(search, space))
    if not found:
        best, _ = best_verified(search, space, "film", frozenset(CONSTRAINTS))
        if best is not None:
            found += list(_broken(search, space, best))
    _, _, share = most_containment(search, space, math.inf)
    found.append(
        Obstacle(
            "targets",
            "hold.targets",
            share,
            1.0,
            "",
            f"Within the limits, at most {share:.0%} of every target can be held."
            if share > 0.0
            else "Within the limits, not even the load's cover can be had.",
        )
    )
    return tuple(found)


def _broken(search: Search, space: Space, best: Verified) -> Iterator[Obstacle]:
    """Limits that a program breaks."""
    case, asks, made = search.case, search.asks, best.candidate
    p, film = best.prediction, best.case.film
    steepest = max(made.settings.rise_per_turn_m, made.settings.fall_per_turn_m or 0.0)
    rows: list[tuple[str, float | None, float | None, str, str]] = [
        ("edge load", made.edge_load, case.hold.edge_load_limit, "tension_per_width", "N/m"),
        ("cycle time", made.cycle_time, asks.cycle_time_limit, "time", "s"),
        ("film stress", made.stress_share, 1.0 - asks.film_margin, "fraction", ""),
        ("film speed", p.film_speed_max_m_per_s, asks.film_speed_limit, "speed", "m/s"),
        (
            "carriage speed",
            steepest * made.settings.speed_rad_per_s / (2.0 * math.pi),
            case.machine.carriage_speed_limit,
            "speed",
            "m/s",
        ),
        ("wraps", made.settings.bottom_wraps, space.bottom[1], "ratio", ""),
        ("wraps", made.settings.top_wraps, space.top[1], "ratio", ""),
        ("rated pre-stretch", p.prestretch_geared, film.rated_prestretch, "elongation", ""),
        ("elongation at break", p.prestretch_delivered, film.elongation_at_break, "elongation", ""),
    ]
    for limit, reached, allowed, kind, unit in rows:
        if reached is None or allowed is None or reached <= allowed * (1.0 + 1e-9):
            continue
        yield Obstacle(
            limit,
            _FIELDS[limit],
            reached,
            allowed,
            unit,
            f"{limit}: at least {show(reached, kind)} is needed, {show(allowed, kind)} is allowed.",
        )
    if case.dancer is not None and case.dancer.springs:
        choices = spring_table(case).choices
        low = min(row.tension_lower_n for row in choices)
        high = max(row.tension_upper_n for row in choices)
        force = made.settings.force_to_load_n
        if search.films.dancer_choice(force) is None:
            yield Obstacle(
                "dancer travel",
                _FIELDS["dancer travel"],
                force,
                high if force > high else low,
                "N",
                f"dancer travel: {show(force, 'force')} is needed; no spring in use balances it"
                f" within the arm's travel (all of them span {show_range(low, high, 'force')}).",
            )
    margin = min(p.grip_margin_slow, p.grip_margin_fast) - 1.0
    if asks.grip_margin is not None and margin < asks.grip_margin:
        yield Obstacle(
            "grip",
            _FIELDS["grip"],
            margin,
            asks.grip_margin,
            "",
            f"grip: {show(margin, 'fraction')} margin is left of the"
            f" {show(asks.grip_margin, 'fraction')} asked for.",
        )


def _out_of_range(search: Search, space: Space) -> Iterator[Obstacle]:
    """Force and rise that would do, just outside of what may be chosen."""
    asks = search.asks

    def first(values: list[float], at: Callable[[float], Space]) -> tuple[float, Candidate] | None:
        for value in values:
            best, _ = best_verified(search, at(value), "film")
            if best is not None:
                return value, best.candidate
        return None

    most = asks.force_most
    count = math.floor((_FARTHEST - 1.0) * most / asks.force_step)
    forces = [most + (index + 1) * asks.force_step for index in range(min(count, 60))]
    hit = first(forces, lambda force: replace(space, forces=(force,)))
    if hit is not None:
        yield Obstacle(
            "force to load",
            "design.force_most",
            hit[0],
            most,
            "N",
            f"force to load: {show(hit[0], 'force')} would do, {show(most, 'force')} is the most.",
        )
    least = asks.rise_least
    lower = [least - (index + 1) * asks.rise_step for index in range(40)]
    lower = [rise for rise in lower if rise >= least / _FARTHEST]
    hit = first(
        lower, lambda rise: replace(space, rises=(rise,), falls=(rise,) if space.falls else ())
    )
    if hit is not None:
        yield Obstacle(
            "rise per turn",
            "design.rise_least",
            hit[0],
            least,
            "m",
            f"rise per turn: {show(hit[0], 'small_length')} would do,"
            f" {show(least, 'small_length')} is the least.",
        )
