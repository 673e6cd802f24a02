"""What to watch against: the film, the promise of the trial, how often a false alarm may come."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from woold.errors import InputError, Problem, UnitError
from woold.units import parse_money, parse_quantity
from woold.words import say

__all__ = ["ANY_TYPE", "Promise", "WatchSettings", "read_settings"]

ANY_TYPE = ""
"""Load type of a promise that holds for every load."""


@dataclass(frozen=True, slots=True)
class Promise:
    """What the trial promised for loads of one type.

    Args:
        baseline: film per load before the change [kg].
        baseline_error: its standard error [kg]; 0 when not told.
        saving, saving_low, saving_high: promised share of the baseline with its limits [-].
    """

    baseline: float
    baseline_error: float
    saving: float
    saving_low: float
    saving_high: float


@dataclass(frozen=True, slots=True)
class WatchSettings:
    """Settings of a watch; each default is a placeholder that nobody measured.

    Args:
        mass_per_metre: of the film length that the records hold [kg/m]; None when not told.
        perimeter: of the load, when film is reckoned from turns [m]; None when not told.
        price: of film [currency/kg]; None when not told.
        currency: of the price.
        promises: load type -> promise.
        setup_loads: loads of the set-up phase; placeholder 300, 50 to 3000.
        false_alarm_every: loads between two false alarms of one quantity; placeholder 20 000,
            370 to 200 000.
        ewma_weight: of the newest load; placeholder 0.1, 0.05 to 0.3.
        shift_to_find: shift that the cumulative sums are set for [sigma]; placeholder 1, 0.5 to
            2.
        group: loads whose mean is charted as one value; 1 charts every load.
    """

    mass_per_metre: float | None = None
    perimeter: float | None = None
    price: float | None = None
    currency: str = ""
    promises: Mapping[str, Promise] = field(default_factory=dict)
    setup_loads: int = 300
    false_alarm_every: float = 20_000.0
    ewma_weight: float = 0.1
    shift_to_find: float = 1.0
    group: int = 1


_NUMBERS: dict[str, tuple[float, float, bool]] = {
    "setup_loads": (20, 1_000_000, True),
    "false_alarm_every": (20, 1_000_000, False),
    "ewma_weight": (0.02, 1.0, False),
    "shift_to_find": (0.1, 3.0, False),
    "group": (1, 10_000, True),
}
_SECTIONS = {
    "film": {"mass_per_metre", "perimeter", "price"},
    "promise": {
        "load_type", "baseline_film_per_load", "baseline_standard_error", "saving", "saving_low",
        "saving_high",
    },
    "charts": set(_NUMBERS),
}  # fmt: skip


def read_settings(path: Path) -> WatchSettings:
    """Settings from a TOML file with ``[film]``, ``[[promise]]`` and ``[charts]``, all optional.

    Raises:
        InputError: the file or any field cannot be used; every fault is named.
    """
    import tomllib

    try:
        if path.stat().st_size > 1_000_000:
            raise InputError.one(str(path), say("too large"), say("at most 1 MB"))
        document = tomllib.loads(path.read_bytes().decode("utf-8-sig"))
    except OSError as error:
        raise InputError.one(
            str(path), error.strerror or "unreadable", say("a readable file")
        ) from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError) as error:
        raise InputError.one(str(path), str(error)[:200], say("TOML")) from None
    return settings_of(document)


def settings_of(document: Mapping[str, Any]) -> WatchSettings:
    """Settings of a document that is already parsed; see :func:`read_settings`."""
    problems: list[Problem] = []
    values: dict[str, Any] = {}
    for name, section in document.items():
        tables = section if isinstance(section, list) else [section]
        if name not in _SECTIONS or not all(isinstance(table, dict) for table in tables):
            problems.append(Problem(name, say("unknown section"), ", ".join(sorted(_SECTIONS))))
            continue
        problems.extend(
            Problem(f"{name}.{key}", say("unknown key"), ", ".join(sorted(_SECTIONS[name])))
            for table in tables
            for key in table
            if key not in _SECTIONS[name]
        )
    if problems:
        raise InputError.many(problems)
    film = document.get("film", {})
    for key, kind in (("mass_per_metre", "linear_density"), ("perimeter", "length")):
        if key in film:
            try:
                values[key] = _positive(parse_quantity(film[key], kind, f"film.{key}"), key)
            except InputError as error:
                problems.extend(error.problems)
    if "price" in film:
        try:
            money = parse_money(film["price"], "kg", "film.price")
            values["price"], values["currency"] = money.amount, money.currency
        except UnitError as error:
            problems.extend(error.problems)
    promises: dict[str, Promise] = {}
    rows = document.get("promise", [])
    for index, row in enumerate(rows if isinstance(rows, list) else [rows]):
        place = f"promise[{index}]"
        load_type = str(row.get("load_type", ANY_TYPE))
        if load_type in promises:
            problems.append(
                Problem(f"{place}.load_type", repr(load_type), say("each load type once"))
            )
        try:
            promises[load_type] = _promise(row, place)
        except InputError as error:
            problems.extend(error.problems)
    for key, (least, most, whole) in _NUMBERS.items():
        value = document.get("charts", {}).get(key)
        if value is None:
            continue
        is_number = isinstance(value, int if whole else int | float) and not isinstance(value, bool)
        if not is_number or not least <= value <= most:
            allowed = f"a {'whole ' if whole else ''}number from {least:g} to {most:g}"
            problems.append(Problem(f"charts.{key}", repr(value), allowed))
            continue
        values[key] = int(value) if whole else float(value)
    if problems:
        raise InputError.many(problems)
    return WatchSettings(promises=promises, **values)


def _positive(value: float, field_name: str) -> float:
    if value <= 0.0:
        raise InputError.one(field_name, f"{value:g}", say("above 0"))
    return value


def _promise(row: Mapping[str, Any], place: str) -> Promise:
    problems: list[Problem] = []
    read: dict[str, float] = {}
    for key, kind in (
        ("baseline_film_per_load", "small_mass"),
        ("baseline_standard_error", "small_mass"),
        ("saving", "fraction"),
        ("saving_low", "fraction"),
        ("saving_high", "fraction"),
    ):
        if key not in row:
            if key in ("baseline_film_per_load", "saving"):
                problems.append(Problem(f"{place}.{key}", say("nothing"), say("a value")))
            continue
        try:
            read[key] = parse_quantity(row[key], kind, f"{place}.{key}")
        except UnitError as error:
            problems.extend(error.problems)
    if problems:
        raise InputError.many(problems)
    saving = read["saving"]
    low, high = read.get("saving_low", saving), read.get("saving_high", saving)
    if not -1.0 < low <= saving <= high < 1.0:
        raise InputError.one(
            f"{place}.saving",
            say("{saving:g} ({low:g} to {high:g})", saving=saving, low=low, high=high),
            say("low <= saving <= high < 1"),
        )
    spread = read.get("baseline_standard_error", 0.0)
    if read["baseline_film_per_load"] <= 0.0 or spread < 0.0:
        raise InputError.one(f"{place}.baseline_film_per_load", say("0 or less"), say("above 0"))
    return Promise(read["baseline_film_per_load"], spread, saving, low, high)
