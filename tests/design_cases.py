"""Seeded random cases to design for: plain, zones, transport, tall, round, and a limit on edges.

The loads cover what pallets look like, not what any plant ships: an invented spread, said as such.
"""

from __future__ import annotations

import tomllib
from dataclasses import replace
from typing import Any

import numpy as np

from woold.case.file import case_from_table, starter_text
from woold.case.model import Case
from woold.design.choices import Choices
from woold.design.search import Search
from woold.design.settings import Settings, Stop, with_settings
from woold.errors import WooldError
from woold.prediction.predict import predict
from woold.verdict.targets import target_parts

KINDS = ("plain", "zones", "transport", "tall", "round", "edge limit")


def random_case(seed: int) -> tuple[str, Case]:
    """A case and its kind; kinds take turns."""
    rng = np.random.default_rng(seed)
    kind = KINDS[seed % len(KINDS)]
    table: dict[str, Any] = tomllib.loads(starter_text())
    height = rng.uniform(0.7, 1.7) if kind != "tall" else rng.uniform(1.9, 2.4)
    table["load"] |= {
        "length": f"{rng.uniform(0.8, 1.3):.3f} m",
        "width": f"{rng.uniform(0.8, 1.2):.3f} m",
        "height": f"{height:.3f} m",
        "mass": f"{rng.uniform(200, 900):.0f} kg",
        "tiers": int(rng.integers(3, 8)),
    }
    table["film"]["roll_width"] = f"{rng.choice([400, 500, 750])} mm"
    table["plant"] = table.get("plant", {}) | {"standstill_price": "60 USD/h"}
    table["film"]["price"] = "2.2 USD/kg"
    if kind == "round":
        for name in ("length", "width"):
            table["load"].pop(name)
        table["load"]["diameter"] = f"{rng.uniform(0.8, 1.2):.3f} m"
    if rng.random() < 0.3:
        table["program"]["ends_at"] = "top"
    table["hold"] = {"after": f"{rng.choice([0, 16])} h"}
    cut = round(height * rng.uniform(0.25, 0.75), 3)
    if kind in ("zones", "edge limit", "round"):
        table["hold"]["targets"] = [
            {"high": f"{cut} m", "force": f"{rng.uniform(60, 250):.0f} N"},
            {"low": f"{cut} m", "force": f"{rng.uniform(60, 250):.0f} N"},
        ]
    elif kind != "transport":
        table["hold"]["targets"] = [{"force": f"{rng.uniform(80, 220):.0f} N"}]
    if kind == "edge limit":
        table["hold"]["edge_load_limit"] = f"{rng.uniform(1500, 3000):.0f} N/m"
    table.pop("transport", None)
    if kind == "transport":
        table["program"]["start_height"] = "-100 mm"
        table["transport"] = {
            "profiles": ["EUMOS 40509"],
            "acceleration": f"{rng.uniform(0.3, 0.5):.2f}",
            "friction": known(f"{rng.uniform(0.25, 0.42):.2f}"),
            "deck_friction": known("0.6"),
            "kinetic_share": known("0.75"),
            "package_give": known("0.3 mm"),
            "foot_blocked": True,
        }
    table["design"] = {"bottom_wraps_most": 20, "top_wraps_most": 20}
    return kind, case_from_table(table)


def known(value: str) -> dict[str, str]:
    """A value that is no guess."""
    return {"value": value, "origin": "invented, as if measured"}


class Judge:
    """Any program against a case's targets and limits, by its prediction and its screen alone.

    Containment is judged as a verdict judges it: over patches.

    Args:
        search: with the targets.
    """

    def __init__(self, search: Search) -> None:
        self.search, self.targets = search, replace(search.targets, zones=())

    def score(self, settings: Settings, lack: float = 1e3) -> float:
        """Film of a program that holds [kg]; a large number, the larger the less it holds."""
        case, limits = self.search.case, self.search.limits
        tried = with_settings(case, case.film, settings)
        try:
            p = predict(tried)
        except WooldError:
            return 3.0 * lack
        missed = sum(
            1.0 - min(each.held / each.asked, 1.0) + 0.01
            for each in self.targets.shortfalls(tried, p)
        )
        missed += sum(
            1.01 - (each.share or 0.0) for each in target_parts(tried, p) if each.holds is not True
        )
        peak = limits.tension_peak * settings.force_to_load_n / p.drawing_force_n
        missed += max(peak - (1.0 - limits.film_margin), 0.0)
        limit = case.hold.edge_load_limit
        if limit is not None and p.corner_force_max_n_per_m is not None:
            missed += max(p.corner_force_max_n_per_m / limit * (1.0 - 1e-9) - 1.0, 0.0)
        return p.film_mass_kg if missed <= 0.0 else lack + missed


def one_rise(search: Search, choices: Choices, x: np.ndarray) -> Settings:
    """A program of one rise, from numbers between 0 and 1: force, rise, fall, bottom, top."""
    rise, fall = (_between(choices.rises, share) for share in x[1:3])
    return Settings(
        search.films.names[0],
        choices.prestretches[0],
        _between(choices.forces, x[0]),
        float(round(choices.bottom[0] + x[3] * (choices.bottom[1] - choices.bottom[0]))),
        rise,
        float(round(choices.top[0] + x[4] * (choices.top[1] - choices.top[0]))),
        fall if choices.falls else None,
        (),
        choices.speeds[0],
    )


def any_kind(search: Search, choices: Choices, x: np.ndarray, width: float) -> Settings:
    """A program with stops anywhere, both ways: five numbers as above, then height and turns."""
    made = one_rise(search, choices, x)
    case = search.case
    low = case.program.start_height
    high = max(case.load.height + case.program.top_overlap - width, low)
    stops = []
    for index, (height, turns) in enumerate(x[5:].reshape(-1, 2)):
        if turns > 0.2:
            way = "up" if index % 2 == 0 or not choices.falls else "down"
            stops.append(Stop(low + height * (high - low), 8.0 * float(turns - 0.2), way))
    bottom = choices.bottom[0] + x[3] * 8.0
    top = choices.top[0] + x[4] * 8.0
    return Settings(
        made.film, made.prestretch, made.force_to_load_n, float(bottom), made.rise_per_turn_m,
        float(top), made.fall_per_turn_m, tuple(stops), made.speed_rad_per_s,
    )  # fmt: skip


def numbers_of(search: Search, choices: Choices, made: Settings, width: float) -> np.ndarray:
    """The eleven numbers of `any_kind` for a program, as near as they come; its two first stops."""

    def share(values: tuple[float, ...], value: float) -> float:
        span = max(values) - min(values)
        return 0.5 if span <= 0.0 else (value - min(values)) / span

    case = search.case
    low = case.program.start_height
    high = max(case.load.height + case.program.top_overlap - width, low + 1e-9)
    x = np.zeros(11)
    x[:3] = (
        share(choices.forces, made.force_to_load_n),
        share(choices.rises, made.rise_per_turn_m),
        share(choices.falls, made.fall_per_turn_m or 0.0) if choices.falls else 0.5,
    )
    x[3] = (made.bottom_wraps - choices.bottom[0]) / 8.0
    x[4] = (made.top_wraps - choices.top[0]) / 8.0
    ways_up = [each for each in made.bands if each.on_the_way == "up"]
    for index, stop in zip((5, 9), ways_up, strict=False):
        x[index : index + 2] = (stop.height_m - low) / (high - low), stop.wraps / 8.0 + 0.2
    return np.clip(x, 0.0, 1.0)


def one_rise_numbers(choices: Choices, x: np.ndarray) -> np.ndarray:
    """The five numbers of `one_rise` for the first five of `any_kind`."""
    most = np.array([8.0 / max(each[1] - each[0], 1.0) for each in (choices.bottom, choices.top)])
    return np.clip(np.concatenate([x[:3], x[3:5] * most]), 0.0, 1.0)


def _between(values: tuple[float, ...], share: float) -> float:
    return float(min(values) + share * (max(values) - min(values)))
