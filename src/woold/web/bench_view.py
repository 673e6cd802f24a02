"""What the bench draws beside a prediction: the film's path, the load, the machine, one turn."""

from __future__ import annotations

from typing import Any

import numpy as np

from woold.case.model import Case
from woold.physics import demand
from woold.prediction.predict import load_outline, predict, program_legs

__all__ = ["bench_view", "turn_view"]

ANGLES = 360
"""Places round a turn at which the film's speed is told."""


def bench_view(case: Case) -> dict[str, Any]:
    """Prediction of a case and the geometry that it rests on, SI.

    Raises:
        PhysicsError: the case's values cannot happen together.
    """
    prediction = predict(case)
    legs = program_legs(case, prediction.film_width_on_load_m)
    load = case.load
    return {
        "prediction": prediction.to_json(),
        "legs": [
            {
                "part": leg.part,
                "first_turn": leg.first_turn,
                "last_turn": leg.last_turn,
                "first_edge_m": leg.first_edge,
                "last_edge_m": leg.last_edge,
                "width_m": leg.width,
            }
            for leg in legs
        ],
        "load": {
            "height_m": load.height,
            "tiers": load.tiers,
            "deck_height_m": load.deck_height,
            "offset_m": list(load.offset),
            "pallet_length_m": load.pallet_length,
            "pallet_width_m": load.pallet_width,
        },
        **turn_view(case),
    }


def turn_view(case: Case) -> dict[str, Any]:
    """Outline, machine, and one turn of the film round the load, SI."""
    outline, machine = load_outline(case), case.machine
    angle = np.linspace(0.0, 2.0 * np.pi, ANGLES, endpoint=False)
    seen = (angle, outline, machine.exit_distance)
    return {
        "outline": {
            "vertices_m": outline.vertices.tolist(),
            "corner_radius_m": outline.corner_radius,
        },
        "machine": {
            "kind": machine.kind,
            "exit_distance_m": machine.exit_distance,
            "turning_speed_rad_per_s": machine.speed,
        },
        "turn": {
            "angle_rad": angle.tolist(),
            "film_speed_m_per_s": demand.film_demand(*seen, machine.speed).tolist(),
            "free_span_m": demand.free_span(*seen).tolist(),
            "touched_vertex": demand.touch_vertex(*seen).tolist(),
        },
    }
