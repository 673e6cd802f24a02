"""Sites from a CSV or TOML file, one row a trial; every fault is named with its row."""

from __future__ import annotations

import difflib
import re
from collections.abc import Collection, Mapping
from dataclasses import replace
from pathlib import Path

from woold.case.asked import cell_problems, cell_questions
from woold.case.toml_text import decoded, parsed_toml
from woold.errors import InputError, Problem, UnitError, names_its_file
from woold.sites.effect import effect_of
from woold.sites.site_cells import SiteCells
from woold.sites.site_table import Site, SiteTable, table_of_sites
from woold.tables.text_table import (
    bytes_of,
    is_missing,
    joined,
    plain_number,
    split_heading,
    table_of,
)
from woold.units import parse_quantity
from woold.words import say

__all__ = ["COVARIATE_KINDS", "empty_table", "read_sites"]

LARGEST_TABLE_BYTES = 5_000_000
MOST_SITES = 5_000
_NORMAL_975 = 1.959963984540054

# Columns with a meaning of their own; any other column is a covariate.
_RESULT_COLUMNS = ("saving", "standard_error", "low", "high")
_PLACE_COLUMNS = ("carriage", "machine", "film")
_KNOWN = ("site", *_RESULT_COLUMNS, *_PLACE_COLUMNS, "loads", "note")

# Covariates that carry a unit in the table; SI inside.
COVARIATE_KINDS: dict[str, str] = {
    "contact_angle": "angle",
    "force_to_load": "force",
    "gap": "small_length",
    "load_height": "length",
    "load_mass": "mass",
    "load_perimeter": "length",
    "prestretch": "elongation",
    "thickness": "thickness",
    "turning_speed": "turning_speed",
}


def empty_table() -> str:
    """The heads of a table of sites, to fill in: CSV."""
    heads = ("site", "saving", "low", "high", "loads", *_PLACE_COLUMNS, *COVARIATE_KINDS, "note")
    return ",".join(heads) + "\n"


@names_its_file
def read_sites(path: Path, as_typed: Collection[str] = ()) -> SiteTable:
    """The sites of a CSV file (``site,saving,standard_error,...``) or a TOML file (``[[site]]``).

    Savings and errors are text with a unit, ``5.1 %``, or plain shares, ``0.051``. In place of a
    standard error a row may give the 95 % limits of the saving, ``low`` and ``high``.

    Args:
        path: the file.
        as_typed: cells that were asked about and are right, "sites.csv, line 3.saving".

    Raises:
        InputError: the file cannot be read, or any row cannot be used or is asked about; every one
            is named.
    """
    allowed = say("a CSV or TOML file")
    raw = bytes_of(path, allowed, LARGEST_TABLE_BYTES)
    if path.suffix.lower() == ".toml":
        document = parsed_toml(decoded(raw, str(path), allowed), str(path), allowed)
        rows = document.get("site")
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            raise InputError.one(
                str(path),
                say("no [[site]] table"),
                say("one [[site]] for each trial"),
                say("Write [[site]] above the values of each trial."),
            )
        return table_of_rows(rows, [f"site[{index}]" for index in range(len(rows))], as_typed)
    return _read_csv(path, raw, as_typed)


def _read_csv(path: Path, raw: bytes, as_typed: Collection[str]) -> SiteTable:
    table = table_of(raw, path.name, say("a CSV or TOML file"))
    rows: list[dict[str, object]] = []
    places = []
    problems = []
    first, lines = (table.rows[0][1], table.rows[1:]) if table.rows else ([], ())
    header = [split_heading(name)[0] for name in first]
    units = dict(zip(header, (split_heading(name)[1] for name in first), strict=True))
    doubled = sorted({name for name in header if header.count(name) > 1})
    if "site" not in header or doubled:
        given = (
            say("column {name!r} twice", name=doubled[0])
            if doubled
            else say("columns {names}", names=", ".join(header))
        )
        raise InputError.one(
            f"{path.name}, line 1",
            given,
            say("site, saving, standard_error, and covariates"),
            say("Name the columns in the first line, each once."),
        )
    for number, cells in lines:
        place = f"{path.name}, line {number}"
        if len(cells) != len(header):
            problems.append(
                Problem(
                    place,
                    say("cells: {cells}", cells=len(cells)),
                    say("cells: {header}", header=len(header)),
                    say(
                        "Look for a mark too many or too few; text that holds one stands in"
                        " quotation marks."
                    ),
                )
            )
            continue
        row = {
            name: _with_unit(plain_number(cell, table.dialect), units[name])
            for name, cell in zip(header, cells, strict=True)
            if not is_missing(cell)
        }
        rows.append(dict(row))
        places.append(place)
    if problems:
        raise InputError.many(problems)
    return replace(table_of_rows(rows, places, as_typed), read_as=joined(table.decided))


def _with_unit(cell: str, unit: str) -> str:
    """A bare number with the unit of its column's heading."""
    return f"{cell} {unit}" if unit and re.fullmatch(r"[-+\d.eE]+", cell) else cell


def table_of_rows(
    rows: list[dict[str, object]], places: list[str], as_typed: Collection[str] = ()
) -> SiteTable:
    """The table of rows that are already split into columns; ``places`` name them in messages."""
    if len(rows) > MOST_SITES:
        raise InputError.one(
            "sites",
            len(rows),
            say("at most {most_sites}", most_sites=MOST_SITES),
            say("Pool in parts."),
        )
    problems: list[Problem] = []
    sites: list[Site] = []
    texts: list[dict[str, str]] = []
    seen: dict[str, str] = {}
    for row, place in zip(rows, places, strict=True):
        try:
            site, row_texts = _site(row, place)
            _require_usual(row, site, place, as_typed)
        except InputError as error:
            problems.extend(error.problems)
            continue
        key = site.name.casefold()
        if key in seen:
            problems.append(
                Problem(
                    f"{place}.site",
                    say("{name!r}, which {seen} has too", name=site.name, seen=seen[key]),
                    say("each site once"),
                    say("Two trials of one site are not independent: pool them first, or rename."),
                )
            )
        seen.setdefault(key, place)
        sites.append(site)
        texts.append(row_texts)
    if not problems and len(sites) < 2:
        problems.append(
            Problem(
                "sites",
                say("1 row") if sites else say("no row"),
                say("at least 2"),
                say("One trial says nothing about other sites; its own report is the claim."),
            )
        )
    if problems:
        raise InputError.many(problems)
    return table_of_sites(sites, texts)


def _require_usual(
    row: Mapping[str, object], site: Site, place: str, as_typed: Collection[str]
) -> None:
    """Refuses cells that cannot be, and asks about those that are not usual."""
    read = {name: _number(row, name, place) for name in _RESULT_COLUMNS}
    given = {name: value for name, value in read.items() if value is not None}
    given |= {"loads": float(site.loads), **site.covariates}
    names = {name: f"{place}.{name}" for name in given}
    if problems := list(cell_problems(SiteCells, given, names)):
        raise InputError.many(problems)
    asked = list(cell_questions(SiteCells, given, names, as_typed))
    if asked:
        raise InputError.many(asked)


def _number(row: Mapping[str, object], column: str, place: str) -> float | None:
    value = row.get(column)
    if value is None or value == "":
        return None
    return parse_quantity(value, "fraction", f"{place}.{column}")


def _site(row: Mapping[str, object], place: str) -> tuple[Site, dict[str, str]]:
    problems: list[Problem] = []
    numbers: dict[str, float | None] = {}
    for column in _RESULT_COLUMNS:
        try:
            numbers[column] = _number(row, column, place)
        except UnitError as error:
            problems.extend(error.problems)
    for column in row:
        near = difflib.get_close_matches(column, _KNOWN, 1, 0.8)
        if column not in _KNOWN and column not in COVARIATE_KINDS and near:
            problems.append(
                Problem(
                    f"{place}.{column}",
                    say("unknown column"),
                    say("did you mean {near}?", near=near[0]),
                    say("Rename the column, or call it otherwise if it is another thing."),
                )
            )
    name = str(row.get("site", row.get("name", ""))).strip()
    if not name:
        problems.append(
            Problem(
                f"{place}.site", say("nothing"), say("the name of the site"), say("Name the site.")
            )
        )
    loads_text = str(row.get("loads", "0"))
    if not loads_text.isdecimal() or len(loads_text) > 9:
        problems.append(
            Problem(
                f"{place}.loads",
                repr(loads_text),
                say("a whole number"),
                say("Write how many loads were weighed, or leave it empty."),
            )
        )
    if problems:
        raise InputError.many(problems)
    saving, standard_error = numbers["saving"], numbers["standard_error"]
    low, high = numbers["low"], numbers["high"]
    if saving is None:
        raise InputError.one(
            f"{place}.saving",
            say("nothing"),
            say('a saving, such as "5.1 %"'),
            say("Write what the trial saved, or take the row out."),
        )
    if not -1.0 <= saving < 1.0:
        todo = say('Write a per cent sign: "{saving:g} %".', saving=saving)
        raise InputError.one(f"{place}.saving", f"{saving:.3g}", say("above -1 and below 1"), todo)
    covariates, texts = _covariates(row, place)
    return (
        Site(
            name=name,
            saving=saving,
            effect=effect_of(saving),
            standard_error=_effect_error(saving, standard_error, low, high, place),
            loads=int(loads_text),
            carriage=str(row.get("carriage", "")),
            machine=str(row.get("machine", "")),
            film=str(row.get("film", "")),
            covariates=covariates,
        ),
        texts,
    )


def _effect_error(
    saving: float, error: float | None, low: float | None, high: float | None, place: str
) -> float:
    """Standard error of the effect, from that of the saving or from its 95 % limits."""
    if error is None:
        if low is None or high is None:
            raise InputError.one(
                f"{place}.standard_error",
                say("nothing"),
                say("a standard error, or low and high (95 %)"),
                say("Take it from the trial's report."),
            )
        if not -1.0 <= low < saving < high < 1.0:
            raise InputError.one(
                f"{place}.low",
                say("{low:g} to {high:g} around {saving:g}", low=low, high=high, saving=saving),
                say("low < saving < high < 1"),
                say("Look whether saving and limits stand in the right columns."),
            )
        return (effect_of(high) - effect_of(low)) / (2.0 * _NORMAL_975)
    if not 0.0 < error < 1.0:
        todo = (
            say("A trial without spread is not a measurement: look at how it was analysed.")
            if error == 0.0
            else say('Write it like "1.2 %".')
        )
        raise InputError.one(
            f"{place}.standard_error", f"{error:g}", say("above 0 and below 1"), todo
        )
    return error / (1.0 - saving)


def _covariates(row: Mapping[str, object], place: str) -> tuple[dict[str, float], dict[str, str]]:
    values: dict[str, float] = {}
    texts: dict[str, str] = {}
    for column, cell in row.items():
        if column in _KNOWN or column == "name" or cell in ("", None):
            continue
        if column in COVARIATE_KINDS:
            values[column] = parse_quantity(cell, COVARIATE_KINDS[column], f"{place}.{column}")
            continue
        try:
            values[column] = float(str(cell))
        except ValueError:
            texts[column] = str(cell)
    return values, texts
