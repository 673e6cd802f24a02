"""Every field that holds a number, in every file, table and option, says what is usual in it.

What is usual is common practice, no source, unless the field names one. A field that is new fails
here until it has a usual range, a hard one, and where they come from.
"""

from __future__ import annotations

import ast
import importlib
import math
import pkgutil
import re
import typing
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

import woold
from woold.case.asked import Asked, asked_count, asked_quantity, cell_questions, confirmed_names
from woold.case.fields import Section, facts_of, field_names, inner_section
from woold.case.reader import answered, checked
from woold.errors import InputError, Question
from woold.line.release_file import ReleaseFile
from woold.sites.read_sites import COVARIATE_KINDS, read_sites
from woold.sites.site_cells import SiteCells
from woold.transport.measured import given_rows, read_recording
from woold.trial.pilot import pilot_spread
from woold.trial.setup import Trial
from woold.units import Money
from woold.watch.records import read_records
from woold.watch.settings import WatchSettings

ROOT = Path(woold.__file__).parent
NAMES = {"spring", "seed", "version"}
"""Whole numbers that name something: which spring, which random order, which version."""


def sections() -> list[type[Section]]:
    """Every table of every file that woold reads."""
    for found in pkgutil.walk_packages([str(ROOT)], "woold."):
        if "migrations" not in found.name and not found.name.endswith("__main__"):
            importlib.import_module(found.name)

    def below(model: type[Section]) -> Iterator[type[Section]]:
        for each in model.__subclasses__():
            yield each
            yield from below(each)

    # Those that a test makes up are none of ours.
    return sorted({each for each in below(Section) if each.__module__.startswith("woold.")},
                  key=lambda each: each.__qualname__)  # fmt: skip


def holds_numbers(annotation: Any) -> bool:
    """Whether a field holds numbers or money, alone, in a list or where it is given."""
    if typing.get_origin(annotation) is typing.Literal:
        return False
    inner = typing.get_args(annotation)
    if inner:
        return any(holds_numbers(each) for each in inner)
    return annotation in (int, float, Money)


FIELDS = [
    (model, name)
    for model in sections()
    for name in field_names(model)
    if inner_section(model, name) is None
    and holds_numbers(model.model_fields[name].annotation)
    and name not in NAMES
]


def test_all_fields_are_looked_at() -> None:
    assert len(FIELDS) > 180
    assert {each.__name__ for each, _ in FIELDS} >= {
        "Film", "Dancer", "Promise", "MachineEntry", "Aim", "Asked", "SiteCells", "CycleColumns",
        "SlipCells",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("model", "name"), FIELDS, ids=lambda each: getattr(each, "__name__", each)
)
def test_field_has_a_usual_and_a_hard_range(model: type[Section], name: str) -> None:
    facts = facts_of(model, name)
    assert facts.usual is not None
    low, high = facts.usual
    assert low < high
    assert facts.usual_from
    if facts.kind.startswith("money"):
        return  # prices from 0 up are refused by one rule for all of them
    least, most = facts.each or facts.hard
    assert math.isfinite(most)
    assert least <= low + 1e-9 * abs(low)
    assert high <= most * (1.0 + 1e-9)
    if facts.nature != "deviation":
        assert math.isfinite(least)
    default = model.model_fields[name].default
    for value in (facts.low, facts.high, default):
        if isinstance(value, float | int) and not isinstance(value, bool):
            assert low - 1e-9 <= value <= high + 1e-9


def test_every_covariate_of_sites_has_a_usual_range() -> None:
    assert set(COVARIATE_KINDS) <= set(field_names(SiteCells))


def test_quantities_of_options_are_read_by_the_one_reader_that_asks() -> None:
    """An option that reads a quantity by itself would be judged by nobody."""
    for folder in ("cli", "library"):
        for path in sorted((ROOT / folder).glob("*.py")):
            names = {
                node.func.id
                for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
                if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
            }
            assert not names & {"parse_quantity", "parse_money"}, path.name


MACHINE = {"name": "a", "film": "c", "loads_per_year": 60000, "film_per_load": "175 g",
           "film_price": "2.2 USD/kg", "conversion_cost": "4000 USD",
           "technician_days": 1.5}  # fmt: skip
PROMISE = {"baseline_film_per_load": "340 g", "saving": "5 %"}
TYPES = [{"name": "jars", "loads_per_year": "400"}]


def line(**changes: Any) -> tuple[type[Section], dict[str, Any]]:
    head = {"carriage": "b", "years": changes.pop("years", 2.0), "trial_cost": "1500 USD"}
    return ReleaseFile, head | {"machine": [MACHINE | changes]}


def watch(table: str, **fields: Any) -> tuple[type[Section], dict[str, Any]]:
    return WatchSettings, {table: [PROMISE | fields] if table == "promise" else fields}


def trial(table: str, **fields: Any) -> tuple[type[Section], dict[str, Any]]:
    return Trial, {"key": "x", "load_types": TYPES, table: fields}


ASKED: list[tuple[tuple[type[Section], dict[str, Any]], str]] = [
    (watch("film", price="220 USD/kg"), "film.price"),
    (watch("film", mass_per_metre="3.6 kg/m"), "film.mass_per_metre"),
    (watch("film", perimeter="4.4 mm"), "film.perimeter"),
    (watch("promise", baseline_film_per_load="340 kg"), "promise[0].baseline_film_per_load"),
    (watch("promise", saving="90 %"), "promise[0].saving"),
    (watch("promise", saving_low="-80 %"), "promise[0].saving_low"),
    (watch("promise", baseline_standard_error="60 g"), "promise[0].baseline_standard_error"),
    (watch("charts", setup_loads=20), "charts.setup_loads"),
    (watch("charts", ewma_weight=0.9), "charts.ewma_weight"),
    (watch("charts", shift_to_find=3.0), "charts.shift_to_find"),
    (watch("charts", group=5000), "charts.group"),
    (watch("charts", false_alarm_every=50.0), "charts.false_alarm_every"),
    (line(film_per_load="175 kg"), "machine[0].film_per_load"),
    (line(film_per_load="2 g"), "machine[0].film_per_load"),
    (line(film_price="0.01 USD/kg"), "machine[0].film_price"),
    (line(loads_per_year=12), "machine[0].loads_per_year"),
    (line(years=25.0), "years"),
    (trial("aim", saving="60 %"), "aim.saving"),
    (trial("aim", saving="0.1 %"), "aim.saving"),
    (trial("aim", margin="80 %"), "aim.margin"),
    (trial("aim", power="55 %"), "aim.power"),
    (trial("aim", film_spread="60 %"), "aim.film_spread"),
    (trial("aim", pulls_missing="75 %"), "aim.pulls_missing"),
    (trial("zones", limits=["5 mm", "1 m"]), "zones.limits"),
    (trial("looks", number=9), "looks.number"),
    (trial("order", loads_per_block=90), "order.loads_per_block"),
    (trial("fitted_once", roll_spread="40 %"), "fitted_once.roll_spread"),
    (trial("fitted_once", wander="30 %"), "fitted_once.wander"),
]
"""A file of settings, and the field that is asked about."""


@pytest.mark.parametrize(("given", "field"), ASKED, ids=[field for _, field in ASKED])
def test_absurd_settings_are_asked_about(
    given: tuple[type[Section], dict[str, Any]], field: str
) -> None:
    model, table = given
    with pytest.raises(InputError) as caught:
        checked(model, table)
    (question,) = caught.value.problems
    assert isinstance(question, Question)
    assert question.field == field
    assert "common practice, no source" in question.allowed
    checked(model, table, [field])
    checked(model, {**table, "as_typed": [field]})
    # What was kept by an earlier woold is read as it was.
    assert answered(model, table)["as_typed"] == [field]


OPTIONS = [
    ("slowest", "900 rpm", "0 rpm"),
    ("fastest", "200 rpm", "1e9 rpm"),
    ("speed", "0.5 rpm", "-12 rpm"),
    ("gain", "100 m/s/rad", "1e6 m/s/rad"),
    ("hole", "1 m", "140 m"),
    ("stop_angle", "170 deg", "900 deg"),
    ("stop_length", "2 m", "20 m"),
    ("stop_share", "150 %", "900 %"),
    ("specimen_width", "150 mm", "15 m"),
    ("specimen_thickness", "63 um", "16 mm"),
    ("gauge_length", "1 m", "50 m"),
    ("fit_from", "500 %", "5000 %"),
    ("at_least", "70 %", "300 %"),
    ("pilot_mass", "300 kg", "0 g"),
]


@pytest.mark.parametrize(("name", "absurd", "impossible"), OPTIONS)
def test_absurd_options_are_asked_about(name: str, absurd: str, impossible: str) -> None:
    with pytest.raises(InputError) as caught:
        asked_quantity(name, absurd, f"--{name}")
    (question,) = caught.value.problems
    assert isinstance(question, Question)
    assert question.field == name
    assert asked_quantity(name, absurd, f"--{name}", [name]) > 0
    with pytest.raises(InputError) as caught:
        asked_quantity(name, impossible, f"--{name}", [name])
    (problem,) = caught.value.problems
    assert not isinstance(problem, Question)
    assert problem.field == f"--{name}"
    assert problem.given == impossible


def test_counts_are_asked_about_too() -> None:
    assert asked_count("corners", 4) == 4
    with pytest.raises(InputError, match=r"corners: 80; usual: 1 to 12"):
        asked_count("corners", 80, "--corners")


def test_a_name_of_another_commands_option_is_refused() -> None:
    assert confirmed_names(["load.mass", "slowest"], ["slowest"]) == (["slowest"], ["load.mass"])
    with pytest.raises(InputError, match="fastest"):
        confirmed_names(["fastest"], ["slowest"])


CELLS: list[tuple[str, str, Callable[..., Any], str]] = [
    ("sites.csv", "site,saving,standard_error\nA,75 %,1 %\nB,4 %,1 %\n",
     read_sites, "sites.csv, line 2.saving"),
    ("sites.csv", "site,saving,standard_error\nA,5 %,40 %\nB,4 %,1 %\n",
     read_sites, "sites.csv, line 2.standard_error"),
    ("sites.csv", "site,saving,standard_error,load_mass\nA,5 %,1 %,600 g\nB,4 %,1 %,500 kg\n",
     read_sites, "sites.csv, line 2.load_mass"),
    ("slips.csv", "acceleration,ramp [s],hold [s],height [mm],largest [mm]\n4,.05,.4,9,2\n",
     given_rows, ":2 acceleration"),
    ("slips.csv", "acceleration,ramp [s],hold [s],height [mm],largest [mm]\n.4,.05,.4,9,900\n",
     given_rows, ":2 largest"),
    ("trip.csv", "time [s],acceleration [g]\n" + "".join(f"{n},{n % 2 * 40}\n" for n in range(9)),
     read_recording, "trip.csv acceleration"),
    ("pilot.csv", "film mass [kg]\n312\n310\n305\n", pilot_spread, "pilot.csv, line 2"),
    ("cycles.csv", "time,film_mass_g\n" + "".join(
        f"2026-03-01T10:{n:02d}:00,0.3\n" for n in range(40)),
     lambda path, right=(): read_records([Path(path)], as_typed=right), "cycles.csv film_mass_g"),
    ("cycles.csv", "time,turns,cycle_time_s\n" + "".join(
        f"2026-03-01T10:{n:02d}:00,{12 + n % 3},2\n" for n in range(40)),
     lambda path, right=(): read_records([Path(path)], as_typed=right), "cycles.csv cycle_time_s"),
]  # fmt: skip
"""A table, what reads it, and the end of the name of the cell or column that is asked about."""


@pytest.mark.parametrize(("name", "text", "read", "cell"), CELLS, ids=[each[3] for each in CELLS])
def test_absurd_cells_are_asked_about(
    tmp_path: Path, name: str, text: str, read: Callable[..., Any], cell: str
) -> None:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    given: Any = str(path) if read is given_rows else path
    with pytest.raises(InputError) as caught:
        read(given)
    assert all(isinstance(each, Question) for each in caught.value.problems)
    fields = [each.field for each in caught.value.problems]
    assert fields[0].endswith(cell)
    assert all(re.search("no source", each.allowed) for each in caught.value.problems)
    read(given, fields)


def test_only_columns_that_are_known_are_judged() -> None:
    names = {"saving": "a", "colour": "b"}
    assert list(cell_questions(SiteCells, {"saving": 0.05, "colour": 1e9}, names, ())) == []
    assert field_names(Asked)
