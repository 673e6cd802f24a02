"""Random cases for blocks of predictions: programs, loads and machines of every kind."""

from __future__ import annotations

import numpy as np

from woold.case.hold import Hold, HoldTarget
from woold.case.load import Load
from woold.case.model import Case
from woold.case.program import BandStop, GatheredTurns, Pause, Program

__all__ = ["random_load", "random_program", "with_random_machine"]


def random_load(draw: np.random.Generator) -> tuple[Load, Hold]:
    """A load of any outline, off its centre, some on a pallet or soft, with what it must hold."""
    height = float(draw.uniform(0.2, 2.4))
    kind = draw.integers(3)
    length, width = draw.uniform(0.5, 1.4, 2).tolist()
    size: dict[str, object] = {"length": length, "width": width}
    if kind == 1:
        size = {"diameter": length}
    elif kind == 2:
        angles = np.sort(draw.uniform(0.0, 2.0 * np.pi, 7))
        size = {
            "footprint": tuple(
                (float(0.5 * length * np.cos(each)), float(0.5 * width * np.sin(each)))
                for each in angles
            )
        }
    if draw.random() < 0.3:
        size |= {"pallet_length": 1.2, "pallet_width": 1.0}
    if draw.random() < 0.15:
        size["hoop_stiffness"] = float(draw.uniform(2e3, 1e5))
    load = Load(
        height=height,
        mass=400.0,
        tiers=4,
        offset=tuple(draw.uniform(-0.1, 0.1, 2).tolist()),
        **size,
    )
    targets = tuple(
        HoldTarget(low=low, high=high, force=float(draw.uniform(10.0, 120.0)))
        for low, high in ((0.0, None), (0.3 * height, 0.5 * height), (0.0, 9.0))[: draw.integers(4)]
    )
    hold = Hold(
        after=float(draw.uniform(0.0, 1e6)),
        temperature=float(draw.uniform(275.0, 310.0)),
        targets=targets,
        edge_load_limit=float(draw.uniform(100.0, 2000.0)) if draw.random() < 0.3 else None,
    )
    return load, hold


def random_program(draw: np.random.Generator) -> Program:
    """Any program, with bands, pauses and ropes now and then."""
    pitch = (
        {"overlap": float(draw.uniform(0.0, 0.85))}
        if draw.random() < 0.5
        else {"rise_per_turn": float(draw.uniform(0.05, 0.45))}
    )
    if draw.random() < 0.4:
        pitch["fall_per_turn"] = float(draw.uniform(0.05, 0.45))
    bands = tuple(
        BandStop(
            height=float(draw.uniform(0.0, 0.5)),
            wraps=float(draw.uniform(0.3, 2.0)),
            on_the_way=str(draw.choice(["up", "down"])),
        )
        for _ in range(draw.integers(3))
    )
    parts = ("bottom wraps", "rise", "top wraps", "fall", "closing wraps")
    pauses = tuple(
        Pause(before=str(draw.choice(parts)), time=float(draw.uniform(0.0, 20.0)))
        for _ in range(draw.integers(3))
    )
    ropes = (
        (GatheredTurns(first_turn=0.5, last_turn=1.5, width=0.06),) if draw.random() < 0.1 else ()
    )
    return Program(
        force_to_load=float(draw.uniform(20.0, 60.0)),
        start_height=float(draw.choice([-0.1, 0.0, 0.1])),
        bottom_wraps=float(draw.choice([0.0, 1.0, 2.0, 2.5])),
        top_overlap=float(draw.uniform(0.0, 0.15)),
        top_wraps=float(draw.choice([0.0, 1.0, 2.0])),
        closing_wraps=float(draw.choice([0.0, 1.0, 1.3])),
        ends_at=str(draw.choice(["bottom", "bottom", "top"])),
        start_tail=float(draw.uniform(0.0, 1.0)),
        bands=bands,
        pauses=pauses,
        ropes=ropes,
        **pitch,
    )


def with_random_machine(case: Case, draw: np.random.Generator) -> Case:
    """A case with another speed, ramps and kind."""
    return case.with_values(
        {
            "machine.speed": float(draw.uniform(0.5, 5.0)),
            "machine.ramp_up": float(draw.choice([0.0, 2.0, 6.0])),
            "machine.ramp_down": float(draw.choice([0.0, 3.0])),
            "machine.exit_distance": 2.5,
            "machine.kind": str(draw.choice(["turntable", "rotary arm", "ring"])),
        }
    )
