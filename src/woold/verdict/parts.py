"""Everything that a verdict rests on: hold, edges, transport, and whether the machine can do it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from woold.case.model import Case
from woold.physics.interface_friction import GRAVITY
from woold.prediction.result import Finding, Prediction
from woold.transport.result import (
    LARGEST_GIVE,
    InterfaceResult,
    TransportResult,
    WayResult,
)
from woold.transport.unmeasured import INPUT_NAMES, Unmeasured, range_text
from woold.units import show
from woold.verdict.result import VerdictPart
from woold.verdict.targets import target_parts
from woold.words import say

if TYPE_CHECKING:  # it brings the compiled simulation, which most verdicts do without
    from woold.transport.simulation import SimulatedWay, TransportSimulation

__all__ = ["asking_fields", "judged_parts", "simulated_parts", "transport_parts"]


def asking_fields(case: Case) -> tuple[str, ...]:
    """Fields of a case that ask something of the hold."""
    fields = [f"hold.targets[{index}]" for index in range(len(case.hold.targets))]
    if case.hold.edge_load_limit is not None:
        fields.append("hold.edge_load_limit")
    if case.transport is not None:
        fields.append("transport.profiles")
    return tuple(fields)


def judged_parts(case: Case, prediction: Prediction) -> Iterator[VerdictPart]:
    """Every part but the transport's.

    Args:
        case: the case.
        prediction: its prediction.
    """
    findings = {each.code: each for each in prediction.findings}
    yield from _machine_parts(case, prediction, findings)
    yield from _edge_part(case, prediction)
    yield from target_parts(case, prediction)


def _edge_part(case: Case, prediction: Prediction) -> Iterator[VerdictPart]:
    limit, force = case.hold.edge_load_limit, prediction.corner_force_max_n_per_m
    if limit is None:
        return
    field = "hold.edge_load_limit"
    if force is None:
        # A round load has no corner that could be crushed.
        yield VerdictPart("edge_load", field, holds=True, asked=limit, unit="N/m")
        return
    yield VerdictPart(
        "edge_load",
        field,
        holds=force <= limit * (1.0 + 1e-9),
        share=limit / force if force > 0.0 else None,
        value=force,
        asked=limit,
        unit="N/m",
    )


def _machine_parts(
    case: Case, prediction: Prediction, findings: dict[str, Finding]
) -> Iterator[VerdictPart]:
    """Grip, film and drive: what is predicted does not happen where one of them fails."""
    p = prediction
    slack, through = findings.get("prestretch_not_held"), findings.get("load_pulls_through")
    if slack is not None:
        margin = min(p.grip_margin_slow, p.grip_margin_fast)
        yield VerdictPart("grip", slack.field, holds=False, share=margin, reason=slack.message)
    elif through is not None:
        yield VerdictPart("grip", through.field, holds=False, reason=through.message)
    rated = findings.get("prestretch_above_rating")
    if rated is not None:
        # What its maker does not answer for may still hold: only a test can say.
        yield VerdictPart("film_strength", rated.field, holds=None, reason=rated.message)
    limit = case.machine.carriage_speed_limit
    if limit is not None:
        per_second = case.machine.speed / (2.0 * math.pi)
        fastest = max(p.rise_per_turn_m, p.fall_per_turn_m or 0.0) * per_second
        slow = findings.get("carriage_too_slow")
        yield VerdictPart(
            "drive",
            "machine.carriage_speed_limit",
            holds=slow is None,
            share=limit / fastest if fastest > 0.0 else None,
            value=fastest,
            asked=limit,
            unit="m/s",
            reason=slow.message if slow is not None else "",
        )


def transport_parts(result: TransportResult) -> Iterator[VerdictPart]:
    """A part for each direction of each profile.

    Args:
        result: the screen of the case.
    """
    limits = {
        "slip": result.slip_limit_m,
        "lean": result.lean_limit_m,
        "kept": result.kept_limit_m,
    }
    ranges = {each.field: each for each in result.unmeasured}
    for profile in result.profiles:
        for way in profile.ways:
            asked = limits.get(way.limited_by)
            known: dict[str, Any] = {
                "profile": profile.profile,
                "direction": way.direction,
                "holds": way.holds,
            }
            if way.holds is None:
                known |= {
                    "decided_by": way.decided_by,
                    "share_least": _share_of_limit(way.used_most),
                    "share_most": _share_of_limit(way.used_least),
                    "reason": _unmeasured_text(way, ranges),
                }
            else:
                known |= {"share": _share_of_limit(way.used), "unit": "m" if asked else ""}
                known |= {"asked": asked, **_placed(way, result.pressing_force_n)}
            yield VerdictPart(way.limited_by, "transport.profiles", **known)


def _unmeasured_text(way: WayResult, ranges: Mapping[str, Unmeasured]) -> str:
    """What decides a way and was not measured, as a sentence."""
    if not way.decided_by:
        return say(
            "Packages that give by more than {give} swing more than this estimate was weighed for.",
            give=show(LARGEST_GIVE, "small_length"),
        )
    inputs = [
        say("{input} ({range})", input=say(INPUT_NAMES[each]), range=range_text(ranges[each]))
        for each in way.decided_by
    ]
    return say("What decides is not known: {inputs}.", inputs=", ".join(inputs))


def _share_of_limit(used: float | None) -> float | None:
    """Limit over what is reached of it; 0 where film never stops it, None where nothing does."""
    if used is None:
        return 0.0
    return 1.0 / used if used > 0.0 else None


def _placed(way: WayResult, pressing_force: float) -> dict[str, Any]:
    """What is reached of a limit, and the interface where it is worst."""
    if way.limited_by == "slip":
        worst = max(way.interfaces, key=_slip)
        found = {
            "height_m": worst.height_m,
            "layers_missing": _missing_layers(worst),
            "friction_needed": _friction_needed(way, pressing_force),
        }
        if worst.slip_m is not None:
            return found | {"value": worst.slip_m}
        # Film never stops it, so there is no travel to tell: the forces say by how much.
        most, needed = worst.restraint_limit_n, worst.restraint_needed_n
        return found | {"value": most, "asked": needed, "unit": "N"}
    if way.limited_by == "stack_tips":
        tips = [each.height_m for each in way.interfaces if each.tips]
        return {"height_m": min(tips, default=None)}
    if way.limited_by in ("lean", "kept"):
        return {"value": way.top_travel_m if way.limited_by == "lean" else way.top_travel_kept_m}
    return {}


def _friction_needed(way: WayResult, pressing_force: float) -> float | None:
    """Static friction from which no tier slips, whatever it keeps of it once it moves.

    It is that much above what the acceleration alone asks by which the swing of a start counts: a
    tenth where packages hardly give.
    """
    needed = [
        way.slip_margin_most * way.acceleration_g * each.mass_above_kg * GRAVITY / pressed
        for each in way.interfaces
        if each.slips
        for pressed in [way.vertical_g * each.mass_above_kg * GRAVITY + pressing_force]
        if pressed > 0.0
    ]
    return max(needed, default=None)


def simulated_parts(result: TransportSimulation, screen: TransportResult) -> Iterator[VerdictPart]:
    """A part for each way that was moved over time.

    Args:
        result: the simulation.
        screen: the screen of the case, with its limits.
    """
    for way in result.ways:
        part = VerdictPart(
            "simulated",
            "transport.profiles",
            holds=way.holds,
            profile=way.profile,
            direction=way.direction,
        )
        if way.holds is None:
            reason = say(
                "In the time simulation, too, what decides is not known: {inputs}.",
                inputs=", ".join(say(INPUT_NAMES[each]) for each in way.decided_by),
            )
            yield replace(part, decided_by=way.decided_by, reason=reason)
            continue
        if way.fell_at_s is not None:
            yield replace(part, share=0.0, value=way.fell_at_s, unit="s")
            continue
        if way.largest_slips_m[0] > screen.slip_limit_m:
            part = replace(part, field="transport.vehicle_friction")
        reached, allowed = max(_travels(way, screen), key=lambda each: each[0] / each[1])
        share = allowed / reached if reached > 0.0 else None
        yield replace(part, share=share, value=reached, asked=allowed, unit="m")


def _travels(way: SimulatedWay, screen: TransportResult) -> tuple[tuple[float, float], ...]:
    """What a simulated load reaches of each limit, and the limit [m]."""
    return (
        (max(way.largest_slips_m), screen.slip_limit_m),
        (way.top_travel_m, screen.lean_limit_m),
        (way.top_travel_kept_m, screen.kept_limit_m),
    )


def _slip(each: InterfaceResult) -> float:
    return math.inf if each.slip_m is None else each.slip_m


def _missing_layers(each: InterfaceResult) -> float | None:
    if each.layers_needed is None or each.layers_needed <= each.layers_min:
        return None
    return each.layers_needed - each.layers_min
