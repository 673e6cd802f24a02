"""Speed of reports: a trial of 1,000 loads on page and paper, asked for under 3 s."""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from woold.report.html import report_html
from woold.report.making import Making
from woold.report.pdf import report_pdf
from woold.report.trial_report import trial_report
from woold.rows.wording import Wording
from woold.trial.analysis import Analysis, analyse
from woold.trial.records import TrialRecords

sys.path.append(str(Path(__file__).parents[1] / "tests"))

MAKING = Making(Wording(), datetime(2026, 1, 31, tzinfo=UTC))


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[TrialRecords, Analysis]:
    """1,000 loads with some 8,000 widths and pull readings."""
    from trial_makers import demo_setup, wrapped

    folder = tmp_path_factory.mktemp("trial")
    records = wrapped(demo_setup(folder), folder, loads=500)
    assert len(records.loads) == 1000
    return records, analyse(records)


def test_report_of_1000_loads(benchmark: Any, made: tuple[TrialRecords, Analysis]) -> None:
    """From the analysis to both files, in a running process."""

    def run() -> int:
        report = trial_report(*made, MAKING)
        return len(report_html(report)) + len(report_pdf(report))

    assert benchmark.pedantic(run, rounds=3, warmup_rounds=1) > 1_000_000


def test_page_of_1000_loads(benchmark: Any, made: tuple[TrialRecords, Analysis]) -> None:
    report = trial_report(*made, MAKING)
    benchmark.pedantic(report_html, (report,), rounds=3, warmup_rounds=1)


def test_paper_of_1000_loads(benchmark: Any, made: tuple[TrialRecords, Analysis]) -> None:
    report = trial_report(*made, MAKING)
    benchmark.pedantic(report_pdf, (report,), rounds=3, warmup_rounds=1)
