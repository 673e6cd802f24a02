"""Forms as they are printed: measured on the PDF with a library that knows nothing of woold."""

from __future__ import annotations

import copy
import io
import re
import zipfile
from collections.abc import Callable
from datetime import UTC, datetime
from time import gmtime
from typing import Any
from unittest.mock import patch

import pytest

from paper_measures import (
    blank_boxes,
    cut_letters,
    letters,
    pages_of,
    printed_words,
    smallest_type,
)
from report_makers import pdf_pages
from woold.rows.typeset import Paper
from woold.trial.form import form_pdf
from woold.trial.load_order import PlannedLoad
from woold.trial.plan import plan_trial
from woold.trial.setup import TrialSetup, trial_from_tables
from woold.trial.worksheet import worksheet_bytes

Change = Callable[[dict[str, Any]], object]

MARGIN_MM = 8.0
"""Nothing is printed nearer to the edge: printers leave up to 6 mm white (common practice)."""


def _trial(tables: dict[str, Any], case: dict[str, Any], change: Change) -> TrialSetup:
    for each in tables["load_types"]:
        each |= {"baseline": "a.toml", "candidate": "b.toml"}
    del tables["zones"]
    change(tables)
    return trial_from_tables(tables, {"a.toml": case, "b.toml": case})


def _order(setup: TrialSetup, loads: int = 4) -> tuple[PlannedLoad, ...]:
    return plan_trial(setup.trial, loads_per_treatment=loads).order


def _as_it_is(tables: dict[str, Any]) -> None:
    """The small trial."""


def _long_names(tables: dict[str, Any]) -> None:
    """Long words, long names, a long title; trade units."""
    tables |= {"title": "Verpackungsmaschinenführer " * 7, "question": "Überstreckbarkeit? " * 100}
    tables["units"] = "trade"
    tables["load_types"][0]["name"] = "Donaudampfschifffahrtsgesellschaftskapitänsmützenkartonagen"
    tables["load_types"][1]["name"] = "half pallet of tall jars with lids and labels for export"
    tables["zones"] = {"names": ["Umwickelgeschwindigkeitszone am Fuß", "middle " * 11 + "zone"]}
    tables["order"] = {"shifts": ["Spätschichtverantwortlicher" * 3, "early and late, both lines"]}


def _many_zones(tables: dict[str, Any]) -> None:
    tables["zones"] = {"names": [f"zone {number}" for number in range(1, 13)]}


def _before_and_after(tables: dict[str, Any]) -> None:
    """More to write, and an unchanged machine beside it."""
    tables["order"] = {"design": "fitted once", "shifts": ["early"]}
    tables["fitted_once"] = {"control": True}


def _no_heights(tables: dict[str, Any]) -> None:
    for each in tables["load_types"]:
        del each["baseline"], each["candidate"]


CHANGES = (_as_it_is, _long_names, _many_zones, _before_and_after, _no_heights)
PAPERS: dict[Paper, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height [mm]. Source: ISO 216; ANSI/ASME Y14.1, size A."""


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("change", CHANGES, ids=lambda each: each.__name__.strip("_"))
def test_boxes_are_high_enough_and_nothing_is_cut(
    trial_tables: dict[str, Any], table: dict[str, Any], change: Change, paper: Paper
) -> None:
    setup = _trial(trial_tables, table, change)
    order = _order(setup, 12)[:3]
    pdf = form_pdf(setup, order, paper)
    count = 0
    for page in pages_of(pdf):
        count += 1
        size = [each * 25.4 / 72.0 for each in page.get_size()]
        assert size == pytest.approx(PAPERS[paper], abs=0.1)
        assert cut_letters(page, MARGIN_MM) == []
        boxes = blank_boxes(page)
        assert min((box.height for box in boxes), default=10.0) >= 10.0
        assert min((box.width for box in boxes), default=15.0) >= 15.0
    # Long names may take a load to a second page; nothing else does.
    assert count == 1 + len(order) + 1 or change is _long_names
    assert smallest_type(pdf) >= 9.0
    printed = printed_words(pdf)
    named = (setup.trial.title, *(each.name for each in setup.trial.load_types))
    for name in (*named, *setup.trial.zones.names, *(each.shift for each in order)):
        assert "".join(name.split()) in printed


def test_a_page_says_what_its_load_is_and_where_it_is_read(
    trial_tables: dict[str, Any], table: dict[str, Any]
) -> None:
    """Heights by hand: the middles of thirds of 1.5 m and of 0.9 m."""
    del trial_tables["zones"]
    low = copy.deepcopy(table)
    low["load"]["height"] = "0.9 m"
    for each, name in zip(trial_tables["load_types"], ("a.toml", "b.toml"), strict=True):
        each |= {"baseline": name, "candidate": name}
    setup = trial_from_tables(trial_tables, {"a.toml": table, "b.toml": low})
    order = _order(setup)
    pages = pdf_pages(form_pdf(setup, order))[1:-1]
    heights = {"jars": ("250 mm", "750 mm", "1250 mm"), "cans": ("150 mm", "450 mm", "750 mm")}
    for load, page in zip(order, pages, strict=True):
        assert page.startswith(f"Load {load.number} of {len(order)} {load.treatment} load type")
        assert f"{load.load_type} {load.block} {load.shift}" in page
        assert re.findall(r"(?:bottom|middle|top): (\d+ mm)", page) == list(heights[load.load_type])
        for field in ("film on the scale [g]", "pull reading [N], right", "wrapped at (time)"):
            assert field in page


def test_every_reading_has_a_box_for_its_value_and_one_for_its_time(setup: TrialSetup) -> None:
    load, gauge = pages_of(form_pdf(setup, _order(setup)[:1]))[1:]
    # Roll, mass, tare, turns, cycle time, two marks and breaks; a width and two pulls in each of
    # three zones; each with its time.
    assert len(blank_boxes(load)) == 2 * (8 + 3 * 3)
    # Ten parts, three people, three readings each, and the time of each column (AIAG's usual size).
    assert len(blank_boxes(gauge)) == 9 * (10 + 1)


def test_what_is_asked_stands_in_large_print(setup: TrialSetup) -> None:
    page = pages_of(form_pdf(setup, _order(setup)))[1]
    written = letters(page)
    text = "".join(each.text for each in written)
    for words, least in (("Load1of8", 22.0), ("candidate", 20.0), ("filmonthescale[g]", 14.0)):
        start = text.index(words)
        assert min(each.size for each in written[start : start + len(words)]) >= least


def test_the_trade_reads_its_own_units(trial_tables: dict[str, Any], table: dict[str, Any]) -> None:
    """A load of 1.5 m is 59.06 in high; the middles of its thirds lie at 9.8, 29.5 and 49.2 in."""
    setup = _trial(trial_tables, table, lambda tables: tables.update(units="trade"))
    page = pdf_pages(form_pdf(setup, _order(setup)))[1]
    assert re.findall(r"(?:bottom|middle|top): (\d+ in)", page) == ["10 in", "30 in", "49 in"]
    for head in ("film on the scale [oz]", "film width [in]", "pull reading [lbf], front"):
        assert head in page


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("change", CHANGES, ids=lambda each: each.__name__.strip("_"))
def test_the_list_cuts_nothing_and_repeats_its_heads(
    trial_tables: dict[str, Any], table: dict[str, Any], change: Change, paper: Paper
) -> None:
    setup = _trial(trial_tables, table, change)
    order = _order(setup, 12)
    pdf = form_pdf(setup, order, paper, is_list=True)
    wide, high = PAPERS[paper]
    for page in pages_of(pdf):
        assert [each * 25.4 / 72.0 for each in page.get_size()] == pytest.approx(
            (high, wide), abs=0.1
        )
        assert cut_letters(page, MARGIN_MM) == []
    pages = pdf_pages(pdf)
    loads = [page for page in pages if "film on the scale" in page]
    assert sum(len(re.findall(r"\b(?:baseline|candidate)\b", page)) for page in loads) == len(order)
    assert len(loads) >= 2
    readings = [page for page in pages if "pull reading" in page]
    assert len(readings) == len(pages) - len(loads) - 1
    for number in range(1, len(order) + 1):
        tables = -(-len(setup.trial.zones.names) // 4)
        assert sum(len(re.findall(rf"\b{number} (?!mm|in|/)", page)) for page in readings) >= tables


def test_two_hundred_loads(setup: TrialSetup) -> None:
    order = _order(setup, 100)
    pages = pdf_pages(form_pdf(setup, order))
    assert len(pages) == 202
    assert pages[200].startswith("Load 200 of 200")


def test_text_of_a_trial_is_never_markup(trial_tables: dict[str, Any]) -> None:
    trial_tables["title"] = "#emph[markup] $x$ \\ <b>"
    setup = trial_from_tables(trial_tables, {})
    for is_list in (False, True):
        pdf = form_pdf(setup, _order(setup), is_list=is_list)
        assert pdf == form_pdf(setup, _order(setup), is_list=is_list)
        assert "#emph[markup] $x$ \\ <b>" in " ".join(pdf_pages(pdf))
        assert "lock out the machine" in pdf_pages(pdf)[0]


@pytest.mark.parametrize("paper", PAPERS)
def test_workbook_is_the_same_for_the_same_time_and_prints_on_its_paper(
    setup: TrialSetup, paper: Paper
) -> None:
    time, order = datetime(2026, 1, 31, 12, tzinfo=UTC), _order(setup)
    content = worksheet_bytes(setup, order, paper=paper, made_at=time)
    with patch("time.time", return_value=4e9), patch("time.gmtime", return_value=gmtime(4e9)):
        assert worksheet_bytes(setup, order, paper=paper, made_at=time) == content
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        sheets = [name for name in archive.namelist() if name.startswith("xl/worksheets/sheet")]
        pages = [archive.read(name).decode() for name in sheets]
        assert "2026-01-31T12:00:00Z" in archive.read("docProps/core.xml").decode()
    # ECMA-376, part 1, 18.3.1.63: 1 is Letter, 9 is A4.
    code = {"a4": 9, "letter": 1}[paper]
    assert len(pages) == 5
    assert all(f'paperSize="{code}"' in page or (code == 1 and "paperSize" not in page)
               for page in pages)  # fmt: skip
