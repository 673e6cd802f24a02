"""What a reader must be told of a film carriage."""

from __future__ import annotations

import math
from collections.abc import Iterator

from woold.case.model import Case
from woold.physics.grip import grip_limit, stretch_with_less_grip
from woold.prediction.film_on_load import Lacing, carriage_setting, teeth_stretch
from woold.prediction.film_roll import film_roll
from woold.prediction.names import governing_name, roller_name
from woold.prediction.result import FilmOnLoad, Finding
from woold.units import show
from woold.words import say, to_say

__all__ = ["CLOSE_GRIP", "carriage_findings"]

CLOSE_GRIP = 1.15
"""Below this grip margin a worn, wet or dusty roller may slip; our own mark, no source [-]."""

_SAME_STRETCH = 0.01


def carriage_findings(case: Case, sheet: FilmOnLoad, lacing: Lacing) -> Iterator[Finding]:
    """Findings of gears, grip and lacing, the gravest first."""
    yield from _grip_findings(case, sheet, lacing)
    by_teeth = teeth_stretch(case.carriage)
    typed = case.carriage.prestretch
    if by_teeth is not None and abs(by_teeth / typed - 1.0) > _SAME_STRETCH:
        yield Finding(
            "prestretch_disagrees",
            "carriage.prestretch",
            say(
                "Teeth and diameters give {counted}, the case says {typed}. The teeth are"
                " believed; count them again.",
                counted=show(by_teeth, "elongation"),
                typed=show(typed, "elongation"),
            ),
        )
    yield from _lacing_findings(case, lacing)
    if sheet.is_drawn and sheet.delivered < sheet.natural_draw:
        yield Finding(
            "below_natural_draw",
            "carriage.prestretch",
            say(
                "Below {stretch} this film draws unevenly: thick and thin stripes."
                " Stretch it further.",
                stretch=show(sheet.natural_draw, "elongation"),
            ),
        )
    if lacing.path is not None:
        names = [contact.roller.name for contact in lacing.path.contacts]
        roles = [contact.roller.role for contact in lacing.path.contacts]
        between = names[roles.index("slow") + 1 : roles.index("fast")]
        if between:
            yield Finding(
                "roller_in_gap",
                "carriage.rollers",
                say(
                    "In the gap between slow and fast roller stands: {rollers}. The free spans are"
                    " added up; film on a roller narrows less than that says.",
                    rollers=", ".join(between),
                ),
            )


def _lacing_findings(case: Case, lacing: Lacing) -> Iterator[Finding]:
    """Numbers that were typed beside the rollers from which they follow, and differ."""
    if lacing.path is None:
        return
    slack = {"small_length": 2e-3, "angle": math.radians(5.0), "force": 1.0}
    for name, kind in (
        ("gap", "small_length"),
        ("contact_angle_slow", "angle"),
        ("contact_angle_fast", "angle"),
        ("nip_force_slow", "force"),
        ("nip_force_fast", "force"),
    ):
        typed, drawn = getattr(case.carriage, name), getattr(lacing, name)
        if name in case.carriage.model_fields_set and abs(typed - drawn) > slack[kind]:
            yield Finding(
                "lacing_disagrees",
                f"carriage.{name}",
                say(
                    "The rollers give {drawn}, the case says {typed}. The rollers are"
                    " believed; check their places, or take the number out.",
                    drawn=show(drawn, kind),
                    typed=show(typed, kind),
                ),
            )


def _grip_findings(case: Case, sheet: FilmOnLoad, lacing: Lacing) -> Iterator[Finding]:
    margin = min(sheet.margin_slow, sheet.margin_fast)
    if sheet.governs != "gears" or not sheet.is_drawn or margin < CLOSE_GRIP:
        yield _weak_grip(case, sheet, margin)
    force = case.program.force_to_load
    # No roller holds back less than the film brings to it.
    if force <= sheet.drawing_force:
        return
    pulled = float(grip_limit(sheet.drawing_force, carriage_setting(case, lacing).fast))
    if force > pulled:
        yield Finding(
            "load_pulls_through",
            "program.force_to_load",
            say(
                "{force} on the load pulls the film over the fast roller, which holds back"
                " {pulled} at most. Lower the force to load.",
                force=show(force, "force"),
                pulled=show(pulled, "force"),
            ),
        )


def _weak_grip(case: Case, sheet: FilmOnLoad, margin: float) -> Finding:
    wanted, got = show(sheet.geared, "elongation"), show(sheet.delivered, "elongation")
    if not sheet.is_drawn:
        return Finding(
            "prestretch_not_held",
            "carriage",
            say(
                "Pre-stretch not held: the {roller} lets the film slip before it draws, so"
                " {got} reaches the film instead of {wanted}. {remedy}",
                roller=governing_name(sheet.governs),
                got=got,
                wanted=wanted,
                remedy=say(_REMEDY),
            ),
        )
    if sheet.governs != "gears":
        return Finding(
            "prestretch_slips",
            "carriage",
            say(
                "The film slips on the {roller}: {got} reaches it instead of {wanted}. {remedy}",
                roller=governing_name(sheet.governs),
                got=got,
                wanted=wanted,
                remedy=say(_REMEDY),
            ),
        )
    roll = film_roll(case.film)
    weaker = "slow" if sheet.margin_slow <= sheet.margin_fast else "fast"
    left = float(stretch_with_less_grip(roll.curve, roll.area, sheet.geared))
    return Finding(
        "grip_close",
        "carriage.friction",
        say(
            "The {roller} holds only {margin:.2f} times what {wanted} asks for. The"
            " film's curve is flat: a roller that falls a tenth short leaves {left}.",
            roller=roller_name(weaker),
            margin=margin,
            wanted=wanted,
            left=show(left, "elongation"),
        ),
    )


_REMEDY = to_say(
    "More contact angle, a cleaner or grippier cover, a nip, or more tension on its slack side"
    " holds it."
)
