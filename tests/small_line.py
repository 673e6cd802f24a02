"""A small line: two of each thing of the invented one, and a dozen of its loads."""

from __future__ import annotations

import tomllib
from importlib.resources import files
from pathlib import Path

from woold.case.text import toml_from_table
from woold.demo.line_loads import write_line_loads
from woold.line.line_file import Line

__all__ = ["write_small_line"]

_KEPT = {
    "films": ("63 gauge", "wide-51"),
    "carriages": ("long gap", "one for all"),
    "machine_models": ("T12", "A28 arm"),
    "machines": ("hall 2", "hall 5"),
    "recipes": ("plain", "light and tall"),
}


def write_small_line(folder: Path, loads: int = 12) -> tuple[Path, Path]:
    """Writes the line and its loads.

    Args:
        folder: where.
        loads: of its table.

    Returns:
        Paths of line.toml and line-loads.csv.
    """
    text = files("woold.demo").joinpath("files/line.toml").read_text(encoding="utf-8")
    table = tomllib.loads(text)
    for kind, names in _KEPT.items():
        table[kind] = [each for each in table[kind] if each["name"] in names]
    for each in table["machines"]:
        each["carriage"] = "@long gap"
    line, catalogue = folder / "line.toml", folder / "line-loads.csv"
    line.write_text(toml_from_table(table, Line), encoding="utf-8")
    write_line_loads(catalogue, 20 * loads)
    head, *rows = catalogue.read_text(encoding="utf-8").splitlines()
    cells = [row.split(",") for row in rows]
    own = [each for each in cells if each[9] in _KEPT["machines"]][:loads]
    kept = [",".join((*each[:10], "", *each[11:])) for each in own]
    catalogue.write_text("\n".join((head, *kept, "")), encoding="utf-8")
    return line, catalogue
