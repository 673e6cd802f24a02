"""What fields of a case are called in a form, where the words of their names would not be clear."""

from __future__ import annotations

from typing import Final

from woold.words import to_say

__all__ = ["FIELD_LABELS", "SECTION_LABELS"]

SECTION_LABELS: Final[dict[str, str]] = {
    "hold": to_say("What it must hold"),
    "hold.targets": to_say("Containment asked by zone"),
    "transport": to_say("On its way"),
    "design": to_say("What may be changed"),
    "program": to_say("Wrap program"),
    "carriage": to_say("Film carriage"),
    "made_of": to_say("Taken from the shelf"),
    "program.bands": to_say("Bands of extra turns"),
    "program.ropes": to_say("Turns gathered into a rope"),
    "machine.panel": to_say("Words on the panel"),
}
"""By the section's path."""

FIELD_LABELS: Final[dict[str, str]] = {
    "prestretch": to_say("Pre-stretch"),
    "rated_prestretch": to_say("Rated pre-stretch"),
    "prestretches": to_say("Pre-stretches to try"),
    "width_loss_prestretch": to_say("Pre-stretch of that width"),
    "exit_distance": to_say("Film exit distance"),
    "contact_angle_slow": to_say("Contact angle, slow roller"),
    "contact_angle_fast": to_say("Contact angle, fast roller"),
    "nip_force_slow": to_say("Nip force, slow roller"),
    "nip_force_fast": to_say("Nip force, fast roller"),
    "film_width_on_load": to_say("Film width on the load"),
    "neck_down": to_say("Neck-down"),
    "neck_down_error": to_say("Doubt of the neck-down"),
    "reload_modulus": to_say("Stiffness of stretched film"),
    "elastic_modulus": to_say("Stiffness before drawing"),
    "hardening_modulus": to_say("Strain hardening"),
    "extensibility": to_say("Limit of stretch"),
    "force_loss_per_decade": to_say("Force lost in each tenfold of time"),
    "softening": to_say("Softening by warmth"),
    "hoop_stiffness": to_say("Stiffness of the load all round"),
    "as_typed": to_say("Values said to be right"),
    "bottom_wraps_least": to_say("Bottom wraps, at least"),
    "bottom_wraps_most": to_say("Bottom wraps, at most"),
    "top_wraps_least": to_say("Top wraps, at least"),
    "top_wraps_most": to_say("Top wraps, at most"),
    "rise_least": to_say("Rise per turn, at least"),
    "rise_most": to_say("Rise per turn, at most"),
    "force_least": to_say("Force to load, at least"),
    "force_most": to_say("Force to load, at most"),
    "bands_most": to_say("Stops on the way, at most"),
    "one_rise": to_say("Fall as the rise"),
    "film_margin": to_say("Limit on film stress"),
    "grip_margin": to_say("Limit on grip"),
    "kept_limit": to_say("Lean that may stay"),
    "lean_limit": to_say("Lean while it lasts"),
    "slip_limit": to_say("Slip of a tier, at most"),
    "slip_margin": to_say("Safety on friction"),
    "slip_zone": to_say("Film sheared by a slip"),
    "package_give": to_say("Give of the packages"),
    "pallet_grip": to_say("Film on the pallet, at least"),
    "restraint_calibration": to_say("Measured over modelled hold"),
    "kinetic_share": to_say("Kinetic over static friction"),
    "foot_blocked": to_say("Foot of the pallet blocked"),
    "supported": to_say("Stands close against it"),
    "lengthways": to_say("Side along the vehicle"),
    "profiles": to_say("Ways that it goes"),
    "edge_load_limit": to_say("What a corner bears"),
    "top_overlap": to_say("Over the top"),
    "start_height": to_say("Lower film edge at the start"),
    "end_time": to_say("Handling time of a load"),
    "rethread_time": to_say("Time to change a roll"),
    "end_tail": to_say("Film left hanging at the end"),
    "start_tail": to_say("Film to fix the start"),
    "after": to_say("Age of the film"),
    "teeth": to_say("Teeth of its wheel"),
    "x": to_say("Place across"),
    "y": to_say("Place along"),
}
"""By the field's name."""
