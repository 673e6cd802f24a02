"""The register of an invented company: four hundred machines that may get another carriage."""

from __future__ import annotations

from pathlib import Path

import numpy as np

__all__ = ["write_register"]

_SEED = 20_260_601
_MODELS = (
    ("line 1", "63 gauge", 60_000.0, 175.0),
    ("line 2", "63 gauge", 80_000.0, 240.0),
    ("line 2", "51 gauge", 70_000.0, 210.0),
    ("line 3", "63 gauge", 110_000.0, 310.0),
    ("line 3", "39 gauge", 110_000.0, 260.0),
    ("table by hand", "63 gauge", 9_000.0, 280.0),
)
"""Model, film, loads a year and grams of film on a load, about."""
_MATCH = {("line 3", "39 gauge"): "failed", ("line 2", "51 gauge"): "none"}
_HEAD = (
    "name,site,model,film,carriage_now,loads_per_year,hours_per_year,film_per_load [g],"
    "film_price,conversion_cost,technician_days,match,hold_margin"
)


def write_register(path: Path, count: int = 400) -> None:
    """Write the register.

    Args:
        path: a CSV file.
        count: of machines.
    """
    draw = np.random.default_rng(_SEED)
    lines = [_HEAD]
    for number in range(count):
        model, film, loads, grams = _MODELS[int(draw.choice(6, p=(0.25, 0.2, 0.1, 0.15, 0.1, 0.2)))]
        loads = round(loads * float(np.exp(draw.normal(0.0, 0.5))))
        hours = min(round(loads / float(draw.uniform(14.0, 30.0))) + 300, 8500)
        cost = round(float(draw.uniform(2500.0, 6500.0)), -2)
        days = round(2.0 * float(draw.uniform(0.8, 3.0))) / 2.0
        fitted = "short gap" if draw.random() < 0.05 else "long gap"
        margin = "" if draw.random() < 0.15 else f"{round(float(draw.normal(18.0, 14.0)))} %"
        lines.append(
            f"machine {number + 1},site {int(draw.integers(1, 31))},{model},{film},{fitted},"
            f"{loads},{hours},{round(grams * float(draw.uniform(0.8, 1.25)))},2.2 USD/kg,"
            f"{cost:.0f} USD,{days},{_MATCH.get((model, film), 'passed')},{margin}"
        )
    path.write_text("\n".join([*lines, ""]), encoding="utf-8")
