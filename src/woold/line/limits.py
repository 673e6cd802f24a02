"""What limits a carriage on a machine with a film, and what a reader must be told: codes in words.

A limit's share is what there is over what is asked: 1 or more holds.
"""

from __future__ import annotations

from typing import Final

from woold.words import to_say

__all__ = ["FINDINGS", "LIMITS", "STATUSES", "Status"]

LIMITS: Final[dict[str, str]] = {
    "roll_width": to_say("width of the roll that the carriage takes"),
    "film_exit": to_say("room between the load and the film's exit"),
    "film_rating": to_say("stretch that the film's maker allows"),
    "film_strength": to_say("strength of the film"),
    "lacing": to_say("a way for the film round the rollers"),
    "grip": to_say("grip of the rollers"),
    "pulled_through": to_say("hold of the fast roller against the load's pull"),
    "spring": to_say("a spring and hole for the force within the dancer's travel"),
    "torque": to_say("torque at the fast roller"),
    "power": to_say("power of the drive"),
    "film_speed": to_say("film speed at the fastest corner"),
    "mast_speed": to_say("travel of the carriage on its mast"),
    "program": to_say("the program on a load of this height"),
    "edge_load": to_say("force on the load's corners"),
    "hold": to_say("containment that is asked for"),
}
"""Limits, in the order in which they are asked; the first that fails without a share decides."""

FINDINGS: Final[dict[str, str]] = {
    "film_not_rated": to_say("Nobody says how far the film may be stretched."),
    "slips_at_corner": to_say("The film slips as its tension falls behind a corner."),
    "prestretch_slips": to_say("The film slips on a roller."),
    "grip_close": to_say("A roller holds hardly more than is asked."),
    "below_natural_draw": to_say("The film draws unevenly at this pre-stretch."),
    "prestretch_disagrees": to_say("Teeth and typed pre-stretch disagree."),
    "lacing_disagrees": to_say("Rollers and typed numbers disagree."),
    "roller_in_gap": to_say("A roller stands in the gap."),
    "force_above_drawing": to_say("The force to load draws the film on."),
    "unwind_draws_film": to_say("The unwind tension draws the film."),
    "sprung_back": to_say("The film springs back to its unstretched length."),
    "width_loss_at_another_stretch": to_say("The width was measured at another stretch."),
    "no_steady_drawing": to_say("The film does not draw steadily in the gap."),
    "neck_down_extrapolated": to_say("The film's width is an extrapolation."),
    "turntable_without_ramp": to_say("The table starts or stops in no time."),
    "load_may_shift_turning": to_say("The load may shift on its table."),
    "uncovered": to_say("Stripes of the load are bare."),
    "film_wider_than_load": to_say("The carriage does not rise."),
    "film_on_floor": to_say("The film's lower edge would be below the floor."),
    "lock_bridges_overhang": to_say("The load overhangs its pallet, the film does not touch that."),
    "pause_without_part": to_say("A pause stands before a part that the program lacks."),
    "torque_unknown": to_say("The rollers are not listed, so torque is not asked."),
    "dancer_not_smooth": to_say("The dancer is not smooth at the machine's speed."),
    "zone_above_load": to_say("A zone that is asked about reaches above the load."),
}
"""Findings, each a sentence; the number of each is that of its bit."""

Status = str
STATUSES: Final[dict[Status, str]] = {
    "works": to_say("works"),
    "finding": to_say("works with a finding"),
    "does_not": to_say("does not work"),
}
"""The answer for a combination."""
