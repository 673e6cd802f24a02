"""The invented trial of the demo: what seeded people weighed and read on loads that never were."""

from __future__ import annotations

import zlib
from typing import Any

import numpy as np

from woold.case.model import Case
from woold.physics.film import retained_force_fraction
from woold.prediction.predict import predict
from woold.trial.load_order import PlannedLoad
from woold.trial.setup import TrialSetup
from woold.trial.worksheet import blank_rows, worksheet_bytes, zone_heights

__all__ = ["small_picture", "written_worksheet"]

TRUTH = {
    "film.reload_modulus": 330e6,
    "film.force_loss_per_decade": 0.066,
}
"""What the invented film really does, unlike the placeholders of its case; calibration finds it."""

_FILM_SPREAD, _BLOCK_SPREAD, _PULL_SPREAD, _MARK_SPREAD = 0.03, 0.015, 0.07, 0.012
_PEOPLE = ("AB", "CD")


def written_worksheet(setup: TrialSetup, order: tuple[PlannedLoad, ...], seed: int = 20) -> bytes:
    """A filled worksheet of the invented trial, metric units.

    Args:
        setup: the trial, with a case for each load type and treatment.
        order: its planned loads.
        seed: of everything random.
    """
    rng = np.random.default_rng(seed)
    truths = {
        (each.name, treatment): _Truth(setup, each.name, treatment)
        for each in setup.trial.load_types
        for treatment in ("baseline", "candidate")
    }
    blocks = {load.block for load in order}
    block_factor = {name: 1 + _BLOCK_SPREAD * rng.standard_normal() for name in sorted(blocks)}
    rows: dict[str, list[dict[str, Any]]] = {
        **blank_rows(setup, order),
        "width": [],
        "pull": [],
        "gauge": _gauge_rows(rng),
    }
    for load, row in zip(order, rows["load"], strict=True):
        truth = truths[load.load_type, load.treatment]
        row |= _load_row(load, truth, block_factor[load.block], rng)
        rows["width"] += _width_rows(load, truth, rng)
        rows["pull"] += _pull_rows(load, truth, rng)
    odd = rows["load"][len(order) // 3]
    odd["film_mass"] = round(odd["film_mass"] * 1.22, 1)
    odd["notes"] = "film broke in turn 4, threaded anew, a second start tail"
    odd["breaks"] = 1
    return worksheet_bytes(setup, order, rows)


def small_picture() -> bytes:
    """A picture of a wrapped load, as far as one can be drawn with 8 x 8 grey dots."""
    rows = b"".join(b"\0" + bytes([200 + 20 * (row % 2)]) * 8 for row in range(8))

    def chunk(name: bytes, content: bytes) -> bytes:
        size, check = len(content), zlib.crc32(name + content)
        return size.to_bytes(4, "big") + name + content + check.to_bytes(4, "big")

    head = (8).to_bytes(4, "big") * 2 + bytes((8, 0, 0, 0, 0))
    parts = (chunk(b"IHDR", head), chunk(b"IDAT", zlib.compress(rows)), chunk(b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


class _Truth:
    """What a load type and treatment really give."""

    def __init__(self, setup: TrialSetup, load_type: str, treatment: str) -> None:
        case = setup.case(load_type, treatment)
        assert case is not None
        self.case: Case = case.with_values(TRUTH)
        self.prediction = predict(self.case)
        self.heights = zone_heights(setup, load_type)
        self.readings = tuple(
            predict(self.case.with_values({"hold.pull_height": height})).pull_plate_reading_n or 0.0
            for height in self.heights
        )


def _load_row(
    load: PlannedLoad, truth: _Truth, block: float, rng: np.random.Generator
) -> dict[str, Any]:
    p = truth.prediction
    tare = 12.0
    film = 1000 * p.film_mass_kg * block * (1 + _FILM_SPREAD * rng.standard_normal())
    stretch = p.stretch_on_load * (1 + _MARK_SPREAD * rng.standard_normal())
    return {
        "operator": _PEOPLE[load.number % 2],
        "roll": f"R{1 + (int(load.block) - 1) // 6}",
        "film_mass": round(film + tare, 1),
        "tare": tare,
        "turns": round(p.turns, 1),
        "cycle_time": round(p.cycle_time_s + 3 * rng.standard_normal()),
        "mark_before": 100,
        "mark_after": round(100 * stretch),
        "breaks": int(rng.poisson(0.01)),
    }


def _width_rows(load: PlannedLoad, truth: _Truth, rng: np.random.Generator) -> list[dict[str, Any]]:
    width = 1000 * truth.prediction.film_width_on_load_m
    return [
        {
            "load": load.number,
            "height": round(1000 * height),
            "film_width": round(width + 4 * rng.standard_normal()),
        }
        for height in truth.heights[:2]
    ]


def _pull_rows(load: PlannedLoad, truth: _Truth, rng: np.random.Generator) -> list[dict[str, Any]]:
    ages = [30] if load.number % 5 else [30, 240, 1440]  # [min]; some loads are kept for a day
    of_load = 1 + 0.6 * _PULL_SPREAD * rng.standard_normal()
    rows = []
    for age in ages:
        kept = float(retained_force_fraction(60.0 * age, truth.case.film.force_loss_per_decade))
        for height, reading in zip(truth.heights, truth.readings, strict=True):
            for side in ("front", "right"):
                spread = 1 + 0.8 * _PULL_SPREAD * rng.standard_normal()
                rows.append(
                    {
                        "load": load.number,
                        "height": round(1000 * height),
                        "side": side,
                        "force": round(reading * kept * of_load * spread, 1),
                        "age": age,
                    }
                )
    return rows


def _gauge_rows(rng: np.random.Generator) -> list[dict[str, Any]]:
    """A pull gauge and a scale, each read by three people on ten parts, three times."""
    rows = []
    for instrument, middle, part_sd, person_sd, repeat_sd, digits in (
        ("pull gauge [N]", 30.0, 2.2, 0.2, 0.5, 1),
        ("scale [g]", 180.0, 9.0, 0.1, 0.4, 1),
    ):
        parts = middle + part_sd * rng.standard_normal(10)
        people = person_sd * rng.standard_normal(3)
        for part, value in enumerate(parts, start=1):
            for person, offset in zip(("AB", "CD", "EF"), people, strict=True):
                for repeat in (1, 2, 3):
                    reading = value + offset + repeat_sd * rng.standard_normal()
                    rows.append(
                        {
                            "instrument": instrument,
                            "part": f"part {part}",
                            "person": person,
                            "repeat": repeat,
                            "reading": round(reading, digits),
                        }
                    )
    return rows
