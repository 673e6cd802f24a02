"""Invented trials of ten sites and invented cycle records, drawn from fixed seeds."""

from __future__ import annotations

import datetime
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

__all__ = ["write_cycles", "write_fleet", "write_sites"]

_START = datetime.datetime(2026, 1, 5, 6, 0)

# Site, film force [N], gauge, load height [m], carriage, machine, film: all invented.
_SITES = (
    ("Riverside jars", 45, 63, 1.5, "line 1", "63 gauge"),
    ("North paper mill", 52, 63, 1.6, "line 2", "63 gauge"),
    ("Harbour cold store", 40, 51, 1.4, "line 1", "51 gauge"),
    ("Hillside dairy", 56, 63, 1.8, "line 2", "63 gauge"),
    ("Old brickyard", 38, 51, 1.2, "line 1", "51 gauge"),
    ("Lakeside bottling", 48, 63, 1.5, "line 1", "63 gauge"),
    ("Canal feed plant", 60, 63, 1.9, "line 2", "63 gauge"),
    ("South tissue works", 44, 51, 1.5, "line 1", "51 gauge"),
    ("Moor paint works", 50, 63, 1.3, "line 2", "63 gauge"),
    ("East pasta works", 42, 51, 1.6, "line 1", "51 gauge"),
)


def write_sites(path: Path) -> None:
    """Trials at ten sites that save about 5 %, a little more where the force is higher."""
    rng = np.random.default_rng(20)
    rows = ["site,saving,standard_error,force_to_load,thickness,load_height,carriage,machine,film"]
    for name, force, gauge, height, machine, film in _SITES:
        error = float(rng.uniform(0.008, 0.028))
        true = 0.05 + 0.0008 * (force - 48) + 0.008 * float(rng.standard_normal())
        saving = true + error * float(rng.standard_normal())
        rows.append(
            f"{name},{100 * saving:.1f} %,{100 * error:.1f} %,{force} N,{gauge} gauge,{height} m,"
            f"short gap,{machine},{film}"
        )
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")


def _times(days: int, loads_a_day: int, minutes: float) -> list[datetime.datetime]:
    step = datetime.timedelta(minutes=minutes)
    return [
        _START + datetime.timedelta(days=day) + load * step
        for day in range(days)
        for load in range(loads_a_day)
    ]


def _film(rng: np.random.Generator, tall: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Grams on each load: two load types, 2.5 % spread."""
    spread = 1.0 + 0.025 * rng.standard_normal(tall.size)
    return np.asarray(np.where(tall, 175.0, 120.0) * spread, float)


def write_cycles(path: Path) -> None:
    """Two machines over sixty days as a CSV file that is not clean.

    On line 2 the pre-stretch setting is lowered on day 38: film per load steps up by 3 %. On line 1
    the clock is set back by an hour, some rows come late and some stand twice.
    """
    rng = np.random.default_rng(24)
    times = _times(60, 80, 5.0)
    count = len(times)
    day = np.arange(count) // 80
    rows = []
    for machine in ("line 1", "line 2"):
        tall = rng.random(count) < 0.6
        film = _film(rng, tall)
        lowered = (machine == "line 2") & (day >= 38)
        film[lowered] *= 1.03
        shown = list(times)
        if machine == "line 1":
            shown = times[:3000] + [time - datetime.timedelta(hours=1) for time in times[3000:]]
        machine_rows = [
            f"{shown[index].isoformat()},{machine},{'tall jars' if tall[index] else 'short jars'},"
            f"{film[index]:.1f},{int(rng.random() < 0.012)},{62 + 2 * rng.standard_normal():.1f},"
            f"R{machine[-1]}{index // 95:03d},{'early' if index % 80 < 40 else 'late'},"
            f"{'240 %' if lowered[index] else '260 %'}"
            for index in range(count)
        ]
        if machine == "line 1":
            late = machine_rows[1210:1220]
            machine_rows = (
                machine_rows[:1210] + machine_rows[1220:1240] + late + machine_rows[1240:]
            )
            machine_rows[900:900] = machine_rows[890:893]
        rows += machine_rows
    header = "time,machine,load_type,film_mass_g,breaks,cycle_time_s,roll,shift,setting\n"
    path.write_text(header + "\n".join(rows) + "\n", encoding="utf-8")


def write_fleet(folder: Path) -> None:
    """Six machines over a hundred days as two Parquet files; line 4 drifts from day 60 on."""
    import polars as pl

    folder.mkdir(exist_ok=True)
    rng = np.random.default_rng(22)
    times = _times(100, 60, 8.0)
    day = np.arange(len(times)) // 60
    for part, lines in enumerate(((1, 2, 3), (4, 5, 6)), start=1):
        frames = []
        for line in lines:
            tall = rng.random(len(times)) < 0.6
            film = _film(rng, tall)
            if line == 4:
                film *= 1.0 + np.clip(day - 60, 0, 30) * 0.001
            frames.append(
                pl.DataFrame(
                    {
                        "time": times,
                        "machine": [f"line {line}"] * len(times),
                        "load_type": np.where(tall, "tall jars", "short jars").tolist(),
                        "film_mass_g": film,
                        "breaks": (rng.random(len(times)) < 0.012).astype(int),
                    }
                )
            )
        pl.concat(frames).write_parquet(folder / f"part-{part}.parquet")
