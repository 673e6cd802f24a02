"""Terminal, document, page and paper say one number of a trial and of a watch, in every unit.

Numbers are read back out of what is shown and held against the document's SI values by factors
that are exact by definition: 28.349523125 g to the ounce, 4.4482216152605 N to the pound-force,
.45359237 kg to the pound (NIST Special Publication 811, Appendix B).
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from report_makers import making, page_text, pdf_text
from trial_makers import demo_setup, wrapped
from woold.cli.blocks import print_blocks
from woold.cli.output import console
from woold.report.html import report_html
from woold.report.pdf import report_pdf
from woold.report.trial_report import trial_report
from woold.rows.wording import Wording
from woold.trial.analysis import Analysis, analyse
from woold.trial.analysis_rows import analysis_blocks
from woold.trial.records import TrialRecords

UNITS = ("si", "trade", "both")
THREE_DIGITS = 6e-3  # half a unit of the third


def read(text: str, before: str, units: str, *sizes: tuple[str, float]) -> list[float]:
    """SI values of the number behind a text: in its metric unit, in its trade unit, or in both."""
    number = r"(-?\d[\d,]*(?:\.\d+)?)"
    (metric, size), (trade, trade_size) = sizes
    wanted = {
        "si": rf"{number} {metric}(?! \([\d.,-]+ {trade}\))",
        "trade": rf"{number} {trade}",
        "both": rf"{number} {metric} \({number} {trade}\)",
    }[units]
    match = re.search(before + wanted, text)
    assert match is not None, (before, units)
    factors = {"si": (size,), "trade": (trade_size,), "both": (size, trade_size)}[units]
    return [
        float(each.replace(",", "")) * factor
        for each, factor in zip(match.groups(), factors, strict=True)
    ]


def one_line(text: str) -> str:
    return " ".join(text.replace("\N{NO-BREAK SPACE}", " ").split())


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[TrialRecords, Analysis]:
    folder = tmp_path_factory.mktemp("trial")
    records = wrapped(demo_setup(folder), folder, loads=16)
    return records, analyse(records, resamples=500)


@pytest.mark.parametrize("units", UNITS)
def test_a_trial(
    made: tuple[TrialRecords, Analysis], units: str, capsys: pytest.CaptureFixture[str]
) -> None:
    document = json.loads(json.dumps(made[1].to_json(), default=str))
    report = trial_report(*made, making(units=units))
    # Its command shows the units that the screen has room for; here each in turn.
    print_blocks(console(), analysis_blocks(made[1], Wording(units)))  # type: ignore[arg-type]
    shown = {
        "terminal": capsys.readouterr().out,
        "page": page_text(report_html(report)),
        "paper": pdf_text(report_pdf(report)),
    }
    for place, text in shown.items():
        line = one_line(text)
        for side in ("baseline", "candidate"):
            found = read(line, f"{side} ", units, ("g", 1e-3), ("oz", 28.349523125e-3))
            expected = [document["film"][f"{side}_kg"]] * len(found)
            assert found == pytest.approx(expected, rel=THREE_DIGITS), (place, side)
        # A table's cells break into lines on a narrow screen.
        for zone in document["containment"] if place != "terminal" else ():
            sizes = (("N", 1.0), ("lbf", 4.4482216152605))
            found = read(line, f"{zone['zone']} ", units, *sizes)
            expected = [zone["baseline_n"]] * len(found)
            assert found == pytest.approx(expected, rel=THREE_DIGITS), (place, zone["zone"])


@pytest.mark.parametrize("units", UNITS)
def test_a_watch(woold: Callable[..., Any], tmp_path: Path, units: str) -> None:
    film = 320 * (1 + 0.02 * np.random.default_rng(3).standard_normal(600))
    rows = [
        f"2026-03-0{2 + load // 200}T{6 + load % 200 // 20:02d}:{load % 20 * 3:02d},{mass:.2f}"
        for load, mass in enumerate(film)
    ]
    (tmp_path / "cycles.csv").write_text("time,film_mass_g\n" + "\n".join(rows))
    (tmp_path / "watch.toml").write_text(
        '[[promise]]\nbaseline_film_per_load = "340 g"\nsaving = "5 %"\n'
    )
    words = ("watch", "loads", "cycles.csv", "--settings", "watch.toml")
    document = json.loads(woold(*words, "--json", cwd=tmp_path).stdout)
    saved = document["machines"][0]["savings"]["saved_mass_kg"]
    # By hand: 600 loads of about 20 g less.
    assert saved == pytest.approx(12.0, rel=0.05)
    terminal = woold(*words, "--units", units, "--page", "page.html", cwd=tmp_path).stdout
    page = page_text((tmp_path / "page.html").read_text(encoding="utf-8"))
    woold(*words, "--units", units, "--page", "page.pdf", cwd=tmp_path)
    paper = pdf_text((tmp_path / "page.pdf").read_bytes())
    for place, text in (("terminal", terminal), ("page", page), ("paper", paper)):
        # On a screen of 80 columns there is room for SI alone.
        own = "si" if units == "both" and place == "terminal" else units
        sizes = (("kg", 1.0), ("lb", 0.45359237))
        found = read(one_line(text), "Saved to date: ", own, *sizes)
        assert found == pytest.approx([saved] * len(found), rel=THREE_DIGITS), place
