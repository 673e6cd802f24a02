"""What a reader of a prediction must be told: each finding has a code, a field and a sentence."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from woold.case.model import Case
from woold.case.outline import overhang
from woold.physics.neck_down import FITTED_STRETCH
from woold.physics.pattern import Leg
from woold.prediction.carriage_findings import carriage_findings
from woold.prediction.film_on_load import Lacing
from woold.prediction.film_over_height import FilmOverHeight
from woold.prediction.machine_findings import confirmed_findings, machine_findings
from woold.prediction.result import FilmOnLoad, Finding
from woold.units import show, show_range
from woold.words import say

__all__ = ["case_findings", "film_findings", "width_findings"]

_OTHER_STRETCH = 0.15
"""Farther from the stretch at which a width was measured it is another one [-]."""


def case_findings(
    case: Case,
    sheet: FilmOnLoad,
    lacing: Lacing,
    legs: Sequence[Leg],
    over_height: FilmOverHeight,
    corner_force: float | None,
    first_layer_force: float,
) -> tuple[Finding, ...]:
    """Every finding of a prediction: what is not usual, carriage, film, pattern, load, machine."""
    return (
        *confirmed_findings(case),
        *carriage_findings(case, sheet, lacing),
        *film_findings(case, sheet),
        *width_findings(case, sheet),
        *_pattern_findings(case, sheet, legs, over_height),
        *_load_findings(case, corner_force, first_layer_force),
        *machine_findings(case),
    )


def film_findings(case: Case, sheet: FilmOnLoad) -> Iterator[Finding]:
    """Findings of the film between its roll and the load."""
    rated = case.film.rated_prestretch
    if rated is not None and sheet.geared > rated:
        yield Finding(
            "prestretch_above_rating",
            "film.rated_prestretch",
            say(
                "The carriage stretches by {geared}, the film is rated for {rated}: expect"
                " holes and breaks, in the carriage and at the corners. Lower the pre-stretch"
                " or choose another film.",
                geared=show(sheet.geared, "elongation"),
                rated=show(rated, "elongation"),
            ),
        )
    if sheet.is_drawn_on:
        yield Finding(
            "force_above_drawing",
            "program.force_to_load",
            say(
                "{force} on the load is more than the {drawing} that stretches the film in the"
                " carriage: it draws on to {stretch} and narrows before it meets the load. Lower"
                " the force to load; a weak place in the film will tear.",
                force=show(case.program.force_to_load, "force"),
                drawing=show(sheet.drawing_force, "force"),
                stretch=show(sheet.stretch, "elongation"),
            ),
        )
    if sheet.entry_stretch > 1.0:
        yield Finding(
            "unwind_draws_film",
            "carriage.unwind_tension",
            say(
                "{tension} draws this film to {stretch} before the slow roller, and the rollers"
                " multiply that. Lower the unwind tension.",
                tension=show(case.carriage.unwind_tension, "force"),
                stretch=show(sheet.entry_stretch, "elongation"),
            ),
        )
    if sheet.stretch <= 1.0:
        yield Finding(
            "sprung_back",
            "film.reload_modulus",
            say(
                "By these values the film springs back to its unstretched length. Check the"
                " reload modulus; no film does that."
            ),
        )


def width_findings(case: Case, sheet: FilmOnLoad) -> Iterator[Finding]:
    """Findings of where its width on the load comes from."""
    if case.width_is_measured or not sheet.is_drawn:
        return
    measured_at = case.film.width_loss_prestretch
    if measured_at is not None and abs(sheet.delivered - measured_at) > _OTHER_STRETCH:
        yield Finding(
            "width_loss_at_another_stretch",
            "film.width_loss",
            say(
                "The film's width was measured at {measured}, here it is drawn to {delivered}:"
                " the law says how one follows from the other, and its error comes back. Measure"
                " a width at this pre-stretch.",
                measured=show(measured_at, "elongation"),
                delivered=show(sheet.delivered, "elongation"),
            ),
        )
    if not sheet.is_steady:
        yield Finding(
            "no_steady_drawing",
            "carriage.prestretch",
            say(
                "By its yield stress and hardening this film does not draw steadily to {stretch}"
                " in a gap: thick and thin places come and go, and its width is an"
                " extrapolation. Stretch it further, or measure the width.",
                stretch=show(sheet.delivered, "elongation"),
            ),
        )
    elif not sheet.is_within_fit:
        yield Finding(
            "neck_down_extrapolated",
            "carriage.film_width_on_load",
            say(
                "The law of neck-down was fitted for stretches of {stretches}, yield stress over"
                " hardening of 1 to 8 and gaps to 0.4 of the roll width; here it is"
                " extrapolated. Measure the width on the load.",
                stretches=show_range(*FITTED_STRETCH, "elongation"),
            ),
        )


def _pattern_findings(
    case: Case, sheet: FilmOnLoad, legs: Sequence[Leg], over_height: FilmOverHeight
) -> Iterator[Finding]:
    heights = over_height.heights[over_height.on_load]
    bare = heights[over_height.layers_min[over_height.on_load] < 1.0 - 1e-9]
    if bare.size:
        yield Finding(
            "uncovered",
            "program",
            say(
                "Some of the load's side between {lowest} and {highest} above the deck is not"
                " covered. Lower the rise per turn, or add wraps there.",
                lowest=show(float(bare.min()), "length"),
                highest=show(float(bare.max()), "length"),
            ),
        )
    if case.load.height + case.program.top_overlap - sheet.width < case.program.start_height:
        yield Finding(
            "film_wider_than_load",
            "program.top_overlap",
            say(
                "The film at its start height stands above the top overlap already, so the"
                " carriage does not rise."
            ),
        )
    limit = case.machine.carriage_speed_limit
    per_second = case.machine.speed / (2.0 * math.pi)
    fastest = max(abs(leg.last_edge - leg.first_edge) / leg.turns for leg in legs) * per_second
    if limit is not None and fastest > limit * (1.0 + 1e-9):
        yield Finding(
            "carriage_too_slow",
            "machine.carriage_speed_limit",
            say(
                "The program asks for {fastest} of carriage travel, the mast allows {limit}."
                " Turn slower or lower the rise per turn.",
                fastest=show(fastest, "speed"),
                limit=show(limit, "speed"),
            ),
        )
    if case.program.pauses:
        parts = {leg.part for leg in legs}
        for index, pause in enumerate(case.program.pauses):
            if pause.before not in parts:
                yield Finding(
                    "pause_without_part",
                    f"program.pauses[{index}].before",
                    say(
                        'The program has no part "{part}", so this pause takes no time.'
                        " Let it wait before a part that the program has.",
                        part=say(pause.before),
                    ),
                )


def _load_findings(
    case: Case, corner_force: float | None, first_layer_force: float
) -> Iterator[Finding]:
    limit = case.hold.edge_load_limit
    if limit is not None and corner_force is not None and corner_force > limit:
        yield Finding(
            "edge_load",
            "hold.edge_load_limit",
            say(
                "The film presses {force} on a corner; the product takes {limit}. Lower"
                " the force to load or the layers.",
                force=show(corner_force, "tension_per_width"),
                limit=show(limit, "tension_per_width"),
            ),
        )
    stiffness = case.load.hoop_stiffness
    if stiffness is not None and first_layer_force <= 0.0:
        yield Finding(
            "soft_load_slack",
            "load.hoop_stiffness",
            say(
                "This load gives way so much that the first layers fall slack under the later"
                " ones. Fewer layers at less force hold as much; the containment given is on the"
                " low side."
            ),
        )
    if -case.program.start_height > case.load.deck_height:
        yield Finding(
            "film_on_floor",
            "program.start_height",
            say(
                "The film's lower edge would be below the floor: the deck is {height} above it.",
                height=show(case.load.deck_height, "small_length"),
            ),
        )
    over = overhang(case.load)
    if over is not None and over > 0.0 and case.program.start_height < 0.0:
        yield Finding(
            "lock_bridges_overhang",
            "load.pallet_length",
            say(
                "The load overhangs its pallet by {length}: film below the deck does not touch"
                " the pallet there and locks the load less than the force says.",
                length=show(over, "small_length"),
            ),
        )
