"""Parts of carriages that are alike, as far as the line's file lists them."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from woold.case.things import CarriageThing
from woold.line.wear_result import PartKinds

__all__ = ["part_kinds"]

Parts = frozenset[tuple[object, ...]]


def _rollers(carriage: CarriageThing) -> Parts:
    """A roller is another where its diameter, teeth or cover is; its place does not count."""
    return frozenset(
        (round(each.diameter, 5), each.teeth, each.friction)
        for each in carriage.carriage.rollers
        if each.role not in ("roll", "load")
    )


def _springs(carriage: CarriageThing) -> Parts:
    springs = carriage.dancer.springs if carriage.dancer else ()
    return frozenset((round(each.rate, 3), round(each.free_length, 5)) for each in springs)


def _couplings(carriage: CarriageThing) -> Parts:
    drive = carriage.drive
    return (
        frozenset() if drive is None or not drive.couples_by else frozenset([(drive.couples_by,)])
    )


def _arms(carriage: CarriageThing) -> Parts:
    dancer = carriage.dancer
    if dancer is None or "arm_length" not in dancer.model_fields_set:
        return frozenset()
    return frozenset([(round(dancer.arm_length, 5), tuple(dancer.holes))])


_KINDS: dict[str, Callable[[CarriageThing], Parts]] = {
    "rollers": _rollers,
    "springs": _springs,
    "couplings": _couplings,
    "dancer arms": _arms,
}


def part_kinds(today: Sequence[CarriageThing], one: CarriageThing) -> tuple[PartKinds, ...]:
    """Different parts before and after, kind by kind.

    Args:
        today: carriages that are fitted, each once.
        one: the one for all.
    """
    found = []
    for kind, parts_of in _KINDS.items():
        lists = [parts_of(each) for each in today]
        after = parts_of(one)
        all_listed = all(lists)
        before = frozenset().union(*lists)
        found.append(
            PartKinds(
                kind=kind,
                before=len(before) if all_listed else None,
                in_common=len(frozenset.intersection(*lists)) if all_listed else None,
                after=len(after) if after else None,
                kept=len(after & before) if after and all_listed else None,
            )
        )
    return tuple(found)
