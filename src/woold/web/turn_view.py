"""What bench and dancer draw: the load's outline, the machine, and one turn of the film, SI."""

from __future__ import annotations

from typing import Any, Literal

import numpy as np
from pydantic import BaseModel

from woold.case.model import Case
from woold.physics import demand
from woold.prediction.predict import load_outline

__all__ = ["MachineShape", "OutlineShape", "Point", "Turn", "turn_view"]

ANGLES = 360
"""Places round a turn at which the film's speed is told."""

Point = tuple[float, float]


class OutlineShape(BaseModel):
    """The load seen from above: its hull's corners, or one centre and a radius."""

    vertices_m: list[Point]
    corner_radius_m: float


class MachineShape(BaseModel):
    """What is drawn of the machine."""

    kind: Literal["turntable", "rotary arm", "ring"]
    exit_distance_m: float
    turning_speed_rad_per_s: float


class Turn(BaseModel):
    """The film round one turn, at even steps of the exit point's angle."""

    angle_rad: list[float]
    film_speed_m_per_s: list[float]
    free_span_m: list[float]
    touched_vertex: list[int]


def turn_view(case: Case) -> dict[str, Any]:
    """Outline, machine and turn, by their names in a view."""
    outline, machine = load_outline(case), case.machine
    angle = np.linspace(0.0, 2.0 * np.pi, ANGLES, endpoint=False)
    seen = (angle, outline, machine.exit_distance)
    return {
        "outline": OutlineShape(
            vertices_m=outline.vertices.tolist(), corner_radius_m=outline.corner_radius
        ),
        "machine": MachineShape(
            kind=machine.kind,
            exit_distance_m=machine.exit_distance,
            turning_speed_rad_per_s=machine.speed,
        ),
        "turn": Turn(
            angle_rad=angle.tolist(),
            film_speed_m_per_s=demand.film_demand(*seen, machine.speed).tolist(),
            free_span_m=demand.free_span(*seen).tolist(),
            touched_vertex=demand.touch_vertex(*seen).tolist(),
        ),
    }
