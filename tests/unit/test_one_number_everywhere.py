"""Terminal, document, page, bench and paper say one number, and one range, in every unit setting.

Numbers are read back out of what is shown and held against the document's SI values by factors
that are exact by definition: 28.349523125 g to the ounce, .3048 m to the foot, 25.4 mm to the inch,
4.4482216152605 N to the pound-force (NIST Special Publication 811, Appendix B).
"""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from report_makers import making, page_text, pdf_text
from woold.case.file import case_from_table
from woold.case.text import toml_from_table
from woold.report.html import report_html
from woold.report.pdf import report_pdf
from woold.report.prediction_report import prediction_report
from woold.rows.wording import Wording
from woold.web.bench_view import bench_view

# Label in the rows, key in the document, SI unit and its size, trade unit and its size.
SHOWN = (
    ("film per load", "film_mass_kg", ("g", 1e-3), ("oz", 28.349523125e-3)),
    ("film length per load", "film_length_m", ("m", 1.0), ("ft", 0.3048)),
    ("film width on the load", "film_width_on_load_m", ("mm", 1e-3), ("in", 0.0254)),
    ("neck-down", "neck_down_m", ("mm", 1e-3), ("in", 0.0254)),
    ("containment force, least", "containment_min_n", ("N", 1.0), ("lbf", 4.4482216152605)),
    (
        "containment force after 16 h, least",
        "containment_later_min_n",
        ("N", 1.0),
        ("lbf", 4.4482216152605),
    ),
    ("turns", "turns", ("", 1.0), ("", 1.0)),
    ("cycle time", "cycle_time_s", ("s", 1.0), ("s", 1.0)),
)


def found(text: str, label: str, unit: str) -> list[float]:
    """Numbers behind a label: the value, and the range where one is shown, in one unit.

    Ends of a range that read alike are said once.
    """
    number, mark = r"(\d[\d,]*(?:\.\d+)?)", rf"\s{re.escape(unit)}" if unit else ""
    ends = rf"(?:{number} to )?{number}{mark}"
    head = rf"(?:^|\s){re.escape(label)}\s+"
    first = rf"{number}{mark}(?: \([^)]*\))?(?:, 90 % range {ends})?"
    # Trade units stand in brackets where both are shown.
    bracket = rf"[\d,.]+ \S+ \({number}{mark}\)(?:, 90 % range [^(]*\({ends}\))?"
    match = re.search(head + first, text) or re.search(head + bracket, text)
    assert match is not None, (label, unit)
    value, low, high = match.groups()
    shown = [value] if high is None else [value, low or high, high]
    return [float(each.replace(",", "")) for each in shown]


@pytest.mark.parametrize("units", ["si", "trade", "both"])
def test_everywhere_the_same(
    table: dict[str, Any], woold: Callable[..., Any], tmp_path: Path, units: str
) -> None:
    table = copy.deepcopy(table)
    table["program"] |= {"overlap": "50 %"}
    del table["program"]["rise_per_turn"], table["program"]["fall_per_turn"]
    case = case_from_table(table)
    (tmp_path / "case.toml").write_text(toml_from_table(table), encoding="utf-8")
    path = str(tmp_path / "case.toml")
    document = json.loads(woold("predict", path, "--ranges", "--json").stdout)
    report = prediction_report(case, making(units=units), with_figures=False)
    bench = bench_view(case, Wording(units=units))  # type: ignore[arg-type]
    shown = {
        "terminal": woold("predict", path, "--ranges", "--units", units).stdout,
        "page": page_text(report_html(report)),
        "paper": pdf_text(report_pdf(report)),
        "bench": " ".join(
            f"{row.label} {row.value}"
            for block in bench.numbers
            for row in getattr(block, "rows", None) or ()
            if hasattr(row, "label")
        ),
    }
    for place, text in shown.items():
        one_line = " ".join(text.replace("\N{NO-BREAK SPACE}", " ").split())
        for label, key, *sizes in SHOWN:
            for unit, size in (
                sizes if units == "both" else sizes[("si", "trade").index(units) :][:1]
            ):
                expected = [document[key]]
                if place != "bench":
                    expected += document["ranges"][key]
                # Three digits are shown, so half a unit of the third.
                assert [size * each for each in found(one_line, label, unit)] == pytest.approx(
                    expected, rel=6e-3
                ), (place, label, unit)
