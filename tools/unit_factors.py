"""Writes src/woold/units/factors.py: units that people often write, as the pint library reads them.

Loading pint takes longer than a whole prediction, and nearly every file is written in these units.
"""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
TABLE = ROOT / "src/woold/units/factors.py"

OFTEN = """
m mm cm dm km um µm μm micron micrometer in inch inches ft foot feet yd mil gauge ga
m^2 m² mm^2 mm² cm^2 cm² in^2 in² ft^2 ft²
kg g mg t tonne lb lbs pound oz ounce kg/m g/m oz/ft lb/ft
kg/m^3 kg/m³ g/cm^3 g/cm³ g/cc lb/ft^3 lb/in^3
N kN mN lbf kgf gf ozf N/m N/mm N/cm kN/m lbf/in lbf/ft kgf/cm
Pa kPa MPa GPa bar psi ksi N/mm^2 N/mm²
N*m N·m N*mm lbf*ft lbf*in N*m*s N·m·s N*m*s/rad N*m/rad N·m/rad N*m/deg
kg*m^2 kg·m² kg*m² g*m^2 lb*ft^2 lb·ft² lb*in^2
W kW Hz kHz 1/s rad deg ° degree degrees turn rpm rad/s deg/s turn/s
m/s mm/s m/min cm/s ft/s ft/min in/s in/min km/h
m/s^2 m/s² mm/s^2 ft/s^2 ft/s² in/s^2 g_0
m/s/rad m/s/deg mm/s/deg m/s/rad/s m/s/deg/s
s ms min h hr hour hours day days d week weeks year years
K degC degF percent dimensionless ppm
"""


def table_text() -> str:
    """The module's whole text."""
    from woold.units import KINDS, read_by_pint

    texts = set(OFTEN.split())
    for kind in KINDS.values():
        examples = (each.split(" ", 1)[-1] for each in kind.examples if " " in each)
        texts |= {kind.unit, kind.metric, kind.trade, *examples} - {"%"}
    lines = [f'    "{text}": {_entry(read_by_pint(text))},' for text in sorted(texts)]
    return "\n".join(
        (
            '"""Units that people often write; `make units` writes this file from pint."""',
            "",
            "from __future__ import annotations",
            "",
            "from typing import NamedTuple",
            "",
            '__all__ = ["FACTORS", "Unit"]',
            "",
            "",
            "class Unit(NamedTuple):",
            '    """A unit that has been read.',
            "",
            "    Args:",
            "        dimension: its dimension, as text; of an angle as well, which has none in SI.",
            "        factor: SI value of one of it.",
            "        offset: SI value of none of it: a temperature's zero; else 0.",
            '    """',
            "",
            "    dimension: str",
            "    factor: float",
            "    offset: float = 0.0",
            "",
            "",
            "FACTORS = {",
            *lines,
            "}",
            '"""What each unit is, by how it is written."""',
            "",
        )
    )


def _entry(unit: tuple[str, float, float]) -> str:
    dimension, factor, offset = unit
    last = f", {offset!r}" if offset else ""
    return f'Unit("{dimension}", {factor!r}{last})'


def main() -> None:
    """Write the table."""
    TABLE.write_text(table_text(), encoding="utf-8")


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT / "src"))
    main()
