"""Loads of the invented line: five thousand kinds, seeded, three of them gone wrong."""

from __future__ import annotations

from pathlib import Path

import numpy as np

__all__ = ["write_line_loads"]

_SEED = 20_260_402
_MACHINES = ("hall 1", "hall 2", "hall 3", "hall 4", "hall 5", "hall 6")
_SHARES = (0.08, 0.17, 0.2, 0.1, 0.2, 0.25)
_PALLETS = ((1200, 800), (1200, 1000), (1219, 1016), (1000, 1000))
_NARROW = ("51 gauge", "63 gauge", "80 gauge", "strong-47", "strong-39")
_WIDE = ("wide-51", "wide-63")
_HEAD = (
    "load,length [mm],width [mm],height [m],mass [kg],tiers,hold [N],edge_load_limit [N/m],"
    "loads_per_year,machine,film,recipe"
)


def write_line_loads(path: Path, count: int = 5000) -> None:
    """Write the catalogue.

    Args:
        path: a CSV file.
        count: kinds of load.
    """
    draw = np.random.default_rng(_SEED)
    lines = [_HEAD]
    for number in range(count):
        machine = _MACHINES[int(draw.choice(6, p=_SHARES))]
        films = _WIDE if machine in ("hall 5", "hall 6") else _NARROW
        length, width = _PALLETS[int(draw.integers(4))]
        length, width = (side - int(draw.integers(0, 60)) for side in (length, width))
        height = round(float(draw.uniform(0.7, 2.1)), 2)
        mass = max(round(float(draw.uniform(120.0, 620.0)) * length * width * height / 1e6), 40)
        is_tall = height > 1.7 and mass < 450
        tiers = max(round(height / float(draw.uniform(0.15, 0.35))), 1)
        # Half the loads ask for a share of what their weight would need in a hard stop.
        hold = min(max(round(0.12 * mass), 30), 95) if draw.random() < 0.8 else ""
        edge = 1500 if draw.random() < 0.1 else ""
        yearly = max(round(float(np.exp(draw.normal(5.0, 1.2)))), 2)
        film = films[int(draw.integers(len(films)))]
        lines.append(
            f"load {number + 1},{length},{width},{height},{mass},{tiers},{hold},{edge},"
            f"{yearly},{machine},{film},{'light and tall' if is_tall else ''}"
        )
    for row, cell, wrong in ((40, 3, "1x20"), (400, 9, "hall 9"), (1400, 4, "-5")):
        if row < count:
            cells = lines[row].split(",")
            cells[cell] = wrong
            lines[row] = ",".join(cells)
    path.write_text("\n".join([*lines, ""]), encoding="utf-8")
