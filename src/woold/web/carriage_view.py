"""What the carriage page draws beside a report: rollers to scale, and the film's way round them."""

from __future__ import annotations

from typing import Any

from woold.carriages.study import carriage_report
from woold.case.model import Case
from woold.physics.rollers import FilmPath
from woold.prediction.film_on_load import lacing_of

__all__ = ["carriage_view"]


def carriage_view(case: Case) -> dict[str, Any]:
    """Report of a case's carriage, as `woold carriage show --json` has it, and its drawing, SI.

    Raises:
        WooldError: values that cannot be, rollers that no film can run round.
    """
    path = lacing_of(case).path
    return {
        "report": carriage_report(case).to_json(),
        "drawing": None if path is None else _drawing(path),
    }


def _drawing(path: FilmPath) -> dict[str, Any]:
    contacts = {contact.roller.name: contact for contact in path.contacts}
    return {
        "rollers": [
            {
                "name": each.name,
                "role": each.role,
                "x_m": each.x,
                "y_m": each.y,
                "diameter_m": each.diameter,
                "contact_angle_rad": (
                    contacts[each.name].contact_angle if each.name in contacts else None
                ),
            }
            for each in path.rollers
        ],
        "spans": [{"start_m": each.start, "end_m": each.end} for each in path.spans],
        "arcs": [
            {
                "start_m": each.arrives,
                "end_m": each.leaves,
                "radius_m": each.roller.radius,
                "contact_angle_rad": each.contact_angle,
                "turn": each.roller.turn,
            }
            for each in path.contacts
        ],
    }
