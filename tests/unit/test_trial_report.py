"""The report of a trial against its analysis; records that try to be markup; many load types."""

from __future__ import annotations

import dataclasses
import itertools
from datetime import date
from pathlib import Path

import pytest

from report_makers import AWKWARD, making, page_tags, page_text, pdf_pages, pdf_text, plain
from trial_makers import demo_setup, with_load_types, wrapped
from woold.prediction.yearly import yearly_tax_rate
from woold.report.html import report_html
from woold.report.pdf import report_pdf
from woold.report.trial_report import trial_report
from woold.rows.blocks import Figure, block_texts
from woold.rows.wording import Wording
from woold.store import Cell
from woold.trial.analysis import Analysis, analyse
from woold.trial.analysis_rows import span
from woold.trial.records import TrialRecords

Made = tuple[TrialRecords, Analysis]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    folder = tmp_path_factory.mktemp("trial")
    records = wrapped(demo_setup(folder), folder, loads=16)
    return records, analyse(records, resamples=1000)


@pytest.fixture(scope="module")
def texts(made: Made) -> tuple[str, str]:
    """Text of the page and of the paper."""
    report = trial_report(*made, making())
    return page_text(report_html(report)), pdf_text(report_pdf(report))


def test_page_and_paper_show_the_analysis(made: Made, texts: tuple[str, str]) -> None:
    a, say = made[1], Wording()
    expected = [
        a.verdict.sentence,
        *a.verdict.method,
        *a.verdict.reservations,
        a.question,
        f"{say.amount(a.film.baseline, 'small_mass')}, mean of {a.film.baseline_loads} loads",
        f"{say.amount(a.film.candidate, 'small_mass')}, mean of {a.film.candidate_loads} loads",
        f"{a.film.ratio:.4f} of the baseline",
        f"{100 * abs(1 - a.film.ratio):.1f} % {'more' if a.film.ratio > 1 else 'less'} film "
        "as wrapped",
        f"{a.film.fieller.low:.4f} to {a.film.fieller.high:.4f}",
        f"{a.film.log_ratio.low:.4f} to {a.film.log_ratio.high:.4f}",
        a.records_sha256,
        *(each.finding for each in a.checks),
        *(each.finding for each in a.stretches),
        *a.cautions,
    ]
    for zone in a.containment:
        expected += [f"{zone.ratio:.3f} {span(zone.interval, say)}"]
    for each in a.by_type:
        expected += [f"{each.ratio:.3f}"]
    for page_or_paper in texts:
        for text in expected:
            assert text is not None
            assert plain(text) in page_or_paper


def test_worth_is_the_measured_saving_at_the_trials_loads(
    made: Made, texts: tuple[str, str]
) -> None:
    a, say = made[1], Wording()
    assert a.verdict.saving_low is not None
    assert a.verdict.saving_high is not None
    loads = 80_000  # 60,000 jars and 20,000 tall jars
    saved, low, high = (
        each * a.film.baseline * loads
        for each in (a.verdict.saving, a.verdict.saving_low, a.verdict.saving_high)
    )
    taxes = made[0].setup.case("jars", "candidate").plant.packaging_tax  # type: ignore[union-attr]
    money = 2.2 + yearly_tax_rate(taxes, date(2026, 1, 31))
    for page_or_paper in texts:
        assert say.amount(saved, "mass") in page_or_paper
        assert say.span(low, high, "mass") in page_or_paper
        assert f"{2.2 * saved:,.0f} USD {2.2 * low:,.0f} to {2.2 * high:,.0f} USD" in page_or_paper
        assert f"{14_500 / (money * saved):.1f} years" in page_or_paper


def test_every_record_stands_in_the_appendix_as_typed(made: Made, texts: tuple[str, str]) -> None:
    records = made[0]
    squeezed = ["".join(text.split()) for text in texts]
    for load in records.loads:
        row = [
            load.cells[name].typed
            for name in ("load", "treatment", "load_type", "block", "shift", "roll", "operator",
                         "film_mass", "tare", "turns", "cycle_time", "mark_before", "mark_after")
        ]  # fmt: skip
        assert all("".join("".join(row).split()) in text for text in squeezed)
    for pull in records.pulls:
        reading = f"{pull.cells['side'].typed}{pull.cells['force'].typed}N"
        assert all(reading in text for text in squeezed)


def _with_cells(records: TrialRecords, changes: dict[str, str]) -> TrialRecords:
    first, *rest = records.loads
    cells = {**first.cells, **{name: Cell(text) for name, text in changes.items()}}
    return dataclasses.replace(records, loads=(dataclasses.replace(first, cells=cells), *rest))


def test_text_of_records_is_never_markup(made: Made) -> None:
    records = _with_cells(made[0], {"notes": AWKWARD, "operator": AWKWARD[:60], "roll": "#let x"})
    tables = {**records.setup.tables, "title": AWKWARD, "question": AWKWARD}
    trial = records.setup.trial.model_copy(update={"title": AWKWARD, "question": AWKWARD})
    setup = dataclasses.replace(records.setup, trial=trial, tables=tables)
    records = dataclasses.replace(records, setup=setup)
    analysis = dataclasses.replace(
        made[1], title=AWKWARD, question=AWKWARD,
        outliers=tuple(dataclasses.replace(each, note=AWKWARD) for each in made[1].outliers),
    )  # fmt: skip
    report = trial_report(records, analysis, making(), with_figures=False)
    page = report_html(report)
    assert not page_tags(page) & {"script", "b", "link", "iframe", "img", "object"}
    assert plain(AWKWARD) in plain(page_text(page))
    printed = plain(pdf_text(report_pdf(report)))
    for part in ("<script>alert(", "{{ 7 * 7 }}", '#panic("x")', "$x^2$ *bold* _it_ @ref `raw`"):
        assert part in printed


def test_forty_load_types_with_long_names(tmp_path: Path) -> None:
    name = "jars in trays, shrink-wrapped, mixed tiers, number {}"
    setup = with_load_types(demo_setup(tmp_path), 40, name)
    records = wrapped(setup, tmp_path, loads=80)
    analysis = analyse(records, resamples=1000)
    assert len(analysis.by_type) == 40
    for paper in ("a4", "letter"):
        report = trial_report(records, analysis, making(paper), with_figures=paper == "a4")
        assert any(isinstance(each, Figure) for each in report.blocks) == (paper == "a4")
        printed = pdf_text(report_pdf(report))
        for index, each in itertools.product(range(40), [analysis.by_type]):
            assert name.format(index) in printed
            assert f"{each[index].ratio:.3f}" in printed


def test_report_without_figures_or_cases_says_what_is_missing(made: Made) -> None:
    records, analysis = made
    bare = dataclasses.replace(
        records.setup,
        trial=records.setup.trial.model_copy(
            update={
                "load_types": tuple(
                    each.model_copy(update={"baseline": None, "candidate": None})
                    for each in records.setup.trial.load_types
                )
            }
        ),
    )
    report = trial_report(
        dataclasses.replace(records, setup=bare), analysis, making(), with_figures=False
    )
    words = " ".join(block_texts(report))
    assert "names no case files" in words
    assert "<svg" not in report_html(report)
    assert len(pdf_pages(report_pdf(report))) > 1


@pytest.mark.parametrize(("low", "is_shown"), [(0.0, False), (0.001, True)])
def test_a_worth_says_what_is_not_shown(made: Made, low: float, is_shown: bool) -> None:
    verdict = dataclasses.replace(made[1].verdict, saving_low=low, saving_high=0.1)
    analysis = dataclasses.replace(made[1], verdict=verdict)
    report = trial_report(made[0], analysis, making(), with_figures=False)
    words = " ".join(block_texts(report))
    assert ("does not show that anything is saved" in words) != is_shown
    assert "How well the loads hold was not measured" not in words
    unheld = dataclasses.replace(analysis, containment=())
    words = " ".join(block_texts(trial_report(made[0], unheld, making(), with_figures=False)))
    assert "How well the loads hold was not measured" in words


def test_no_bounded_interval_no_worth(made: Made) -> None:
    verdict = dataclasses.replace(made[1].verdict, saving_low=None, saving_high=None)
    report = trial_report(
        made[0], dataclasses.replace(made[1], verdict=verdict), making(), with_figures=False
    )
    words = " ".join(block_texts(report))
    assert "nothing is said of its worth" in words
    assert "payback" not in words
