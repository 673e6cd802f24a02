"""What is taken for everything that the customer does not know: placeholders with their ranges."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from woold.case.file import case_from_table
from woold.case.model import Case, Input
from woold.case.reader import answered
from woold.errors import fields_renamed
from woold.prediction.result import RestsOn
from woold.quote.facts import QuoteFacts
from woold.uncertainty.draws import Unknown, draw_unknowns, unknown_of
from woold.units import KINDS
from woold.words import say, to_say

__all__ = ["BRAKED_SHARE", "Assumed", "assumed_of", "drawn_assumptions"]

Array = npt.NDArray[np.float64]

BRAKED_SHARE = 0.2
"""Of carriages of which nothing is known, those whose roll is braked [-] (placeholder)."""

_PRACTICE = to_say("common practice, no source")
_ESTIMATE = to_say("engineering estimate")
_OFFERED = to_say("engineering estimate: no carriage was named")

_PROGRAM = (
    ("program.overlap", "fraction", 0.5, 0.3, 0.6),
    ("program.bottom_wraps", "ratio", 2.0, 1.5, 4.0),
    ("program.top_wraps", "ratio", 2.0, 1.5, 4.0),
)
_USUAL_DENSITY = 280.0
"""Mass of a load in its size [kg/m^3]; film does not hang on it."""
_USUAL_AREA = 0.508 * 16e-6
_FORCE = (45.0, 30.0, 70.0)
"""Force to load of usual film, best guess and range [N]; wider or thicker film takes more."""

# A braked roll stretches film by little and unevenly, less than anybody builds rollers for: its
# range begins below what is usual of a carriage's pre-stretch, and nobody stated it to be asked.
_TODAY = {
    "rollers": (
        ("carriage.prestretch", "elongation", 3.2, 2.5, 4.0),
        ("carriage.gap", "small_length", 0.06, 0.03, 0.15),
    ),
    "brake": (
        ("carriage.prestretch", "elongation", 1.3, 1.05, 1.8),
        ("carriage.gap", "small_length", 0.6, 0.2, 1.2),
    ),
}
_OFFER = (
    ("carriage.prestretch", "elongation", 3.5, 3.2, 3.8),
    ("carriage.gap", "small_length", 0.04, 0.03, 0.06),
)
_OF_CARRIAGE = (
    "carriage.contact_angle_slow",
    "carriage.contact_angle_fast",
    "carriage.friction",
    "carriage.unwind_tension",
    "carriage.slow_roller_diameter",
)
_OF_FILM = (
    "film.yield_stress",
    "film.hardening_modulus",
    "film.extensibility",
    "film.elastic_modulus",
    "film.reload_modulus",
    "film.density",
    "film.neck_down_error",
)
_GAUGE_OFF = 0.05


@dataclass(frozen=True, slots=True)
class Assumed:
    """Cases that stand for today's carriage and the one offered, and what is drawn of them.

    Args:
        today, offered: one load, film and program; fields that are drawn hold their best guess.
        shared: unknowns of film and program, the same for both.
        of_rollers, of_brake: unknowns of today's carriage, if two rollers or a brake stretch.
        of_offered: unknowns of the carriage offered.
        braked: chance that today's roll is braked [-].
        rests_on: every unknown with its range and where it is from.
    """

    today: Case
    offered: Case
    shared: tuple[Unknown, ...]
    of_rollers: tuple[Unknown, ...]
    of_brake: tuple[Unknown, ...]
    of_offered: tuple[Unknown, ...]
    braked: float
    rests_on: tuple[RestsOn, ...]


def assumed_of(facts: QuoteFacts, offered: Case | None = None) -> Assumed:
    """What is taken for what the customer does not know.

    Args:
        facts: what the customer knows.
        offered: a case whose carriage is offered; a usual one of short gap where none is given.
    """
    today = _plain_case(facts)
    after = today if offered is None else today.with_section_of("carriage", offered)
    rests: list[RestsOn] = []
    own = {each.field: each for each in today.inputs()}
    area = facts.roll_width * facts.thickness / _USUAL_AREA
    usual, least, most = (each * area for each in _FORCE)
    shared = [_stated(each, _PRACTICE, rests) for each in _PROGRAM]
    shared.append(_stated(("program.force_to_load", "force", usual, least, most), _PRACTICE, rests))
    thick = facts.thickness
    ends = (thick, thick * (1.0 - _GAUGE_OFF), thick * (1.0 + _GAUGE_OFF))
    shared.append(_stated(("film.thickness", "thickness", *ends), _ESTIMATE, rests))
    shared += [_from_case(name, own, rests) for name in _OF_FILM]
    alike = [_from_case(name, own, rests, say("today's")) for name in _OF_CARRIAGE]
    braked = {"rollers": 0.0, "brake": 1.0, "unknown": BRAKED_SHARE}[facts.carriage]
    kinds = {
        kind: [
            _stated(each, _PRACTICE, rests if share else [], _kind_words(kind))
            for each in _TODAY[kind]
        ]
        for kind, share in (("rollers", 1.0 - braked), ("brake", braked))
    }
    if offered is None:
        theirs_too = {each.name: each for each in alike}
        tight = [
            Unknown(f"carriage.contact_angle_{each}", np.pi, 0.9 * np.pi, np.pi * 1.02)
            for each in ("slow", "fast")
        ]
        theirs_too |= {each.name: each for each in tight}
        for each in tight:
            rests.append(_rest(each, "angle", say(_OFFERED), say("offered")))
        theirs = [_stated(each, _OFFERED, rests, say("offered")) for each in _OFFER]
        theirs += theirs_too.values()
    else:
        theirs = [
            unknown
            for each in after.inputs()
            if each.field.startswith("carriage.") and each.field != "carriage.roughness"
            for unknown in [unknown_of(each)]
            if unknown is not None
        ]
        mine = {each.field: each for each in after.inputs()}
        rests += [
            _rest(each, mine[each.name].kind, mine[each.name].origin.words(), say("offered"))
            for each in theirs
        ]
    return Assumed(
        today,
        after,
        tuple(shared),
        (*kinds["rollers"], *alike),
        (*kinds["brake"], *alike),
        tuple(theirs),
        braked,
        tuple(rests),
    )


def drawn_assumptions(
    assumed: Assumed, count: int, seed: int
) -> tuple[dict[str, Array], dict[str, Array]]:
    """Draws for today's case and the one offered, each by field, shape (count,).

    Film and program are the same in both; so are numbers of both carriages that nobody knows
    better of one than of the other.
    """
    random = np.random.default_rng(seed)
    shared = draw_unknowns(assumed.shared, count, random)
    rollers = draw_unknowns(assumed.of_rollers, count, random)
    brake = draw_unknowns(assumed.of_brake, count, random)
    offered = draw_unknowns(assumed.of_offered, count, random)
    is_braked = random.random(count) < assumed.braked
    today = {name: np.where(is_braked, brake[name], rollers[name]) for name in rollers}
    same = {each.name: each for each in assumed.of_rollers}
    for each in assumed.of_offered:
        if same.get(each.name) == each:
            offered[each.name] = today[each.name]
    return shared | today, shared | offered


def _plain_case(facts: QuoteFacts) -> Case:
    """Today's case, with everything that nobody stated at its best guess."""
    volume = facts.length * facts.width * facts.height
    table = {
        "load": {
            "length": f"{facts.length} m",
            "width": f"{facts.width} m",
            "height": f"{facts.height} m",
            "mass": f"{min(_USUAL_DENSITY * volume, 100_000.0)} kg",
        },
        "film": {
            "roll_width": f"{facts.roll_width} m",
            "thickness": f"{facts.thickness * 1e6} um",
            "rated_prestretch": "300 %",
        },
        "carriage": {"prestretch": "220 %", "gap": "60 mm"},
        "machine": {"kind": "turntable", "speed": "12 rpm", "exit_distance": "20 m"},
        "program": {"force_to_load": "45 N", "overlap": "50 %"},
    }
    with fields_renamed(_FACTS):  # facts were judged when they were read
        return case_from_table(answered(Case, table))


_FACTS = {f"load.{name}": name for name in ("length", "width", "height")} | {
    f"film.{name}": name for name in ("roll_width", "thickness")
}


def _stated(
    row: tuple[str, str, float, float, float], origin: str, rests: list[RestsOn], of: str = ""
) -> Unknown:
    name, kind, value, low, high = row
    unknown = Unknown(name, value, low, high)
    rests.append(_rest(unknown, kind, say(origin), of))
    return unknown


def _from_case(
    name: str,
    own: Mapping[str, Input],
    rests: list[RestsOn],
    of: str = "",
) -> Unknown:
    given = own[name]
    unknown = unknown_of(given)
    assert unknown is not None
    rests.append(_rest(unknown, given.kind, given.origin.words(), of))
    return unknown


def _rest(unknown: Unknown, kind: str, origin: str, of: str) -> RestsOn:
    return RestsOn(
        unknown.name,
        unknown.value,
        kind,
        KINDS[kind].unit,
        unknown.low,
        unknown.high,
        f"{of}: {origin}" if of else origin,
    )


def _kind_words(kind: str) -> str:
    return say("today's, rollers stretch") if kind == "rollers" else say("today's, braked roll")
