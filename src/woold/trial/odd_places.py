"""Heights, ages and bags that are unlike those of the other readings of a trial."""

from __future__ import annotations

import math
import statistics
from collections import Counter, defaultdict
from collections.abc import Sequence

from woold.trial.alike import Against, ReadingsAlike, Usual
from woold.trial.odd_readings import Odd, Quantity, held
from woold.trial.sheets import field_of
from woold.trial.worksheet import zone_heights
from woold.trial.would_fit import unit_factor, would_fit
from woold.trial.written_readings import Context, OneRow

__all__ = ["odd_ages", "odd_bags", "odd_heights"]

_SAME_HEIGHT = 0.08
"""Heights this near to one another are one place [m]."""
_COMMON_HEIGHT = 3
"""Readings at a height that make it one of the usual places."""
_USUAL_SHARE = 0.8
"""Share of the readings at usual heights, below which heights are free."""
_SAME_AGE = math.log(1.6)
_FAR_AGE = math.log(2.5)
_BAG_DIFFERS = 1.4
_BAG_COUNTS = 0.02
"""Share of the film's mass below which a bag's weight moves nothing."""


def odd_heights(context: Context, rows: Sequence[OneRow]) -> list[Odd]:
    """Heights that are none of the places where this load type is read, or beyond the load."""
    by_type: dict[str, list[OneRow]] = defaultdict(list)
    for row in rows:
        if row.value("height") is not None:
            by_type[context.facts(row).load_type].append(row)
    found = []
    for load_type, some in by_type.items():
        places = _usual_places(context, load_type, some)
        predicted = context.predicted(some[0])
        top = predicted.height + 0.2 if predicted else None
        near = [row for row in some if _nearest(row.value("height"), places) <= _SAME_HEIGHT]
        is_fixed = len(some) >= 4 and len(near) >= _USUAL_SHARE * len(some)
        for row in some:
            height = row.value("height") or 0.0
            is_beyond = top is not None and not -0.3 <= height <= top
            is_elsewhere = is_fixed and _nearest(height, places) > _SAME_HEIGHT
            if row.is_new("height") and (is_beyond or is_elsewhere):
                found.append(_odd_height(row, height, places, top))
    return found


def _usual_places(context: Context, load_type: str, rows: Sequence[OneRow]) -> list[float]:
    """Planned heights, and those at which several readings were taken."""
    planned = list(zone_heights(context.setup, load_type)) if load_type else []
    counted = Counter(round(row.value("height") or 0.0, 2) for row in rows)
    return planned + [height for height, count in counted.items() if count >= _COMMON_HEIGHT]


def _nearest(height: float | None, places: Sequence[float]) -> float:
    return min((abs((height or 0.0) - each) for each in places), default=math.inf)


def _odd_height(row: OneRow, height: float, places: Sequence[float], top: float | None) -> Odd:
    field, cell = field_of(row.kind, "height"), row.cells["height"]
    best = _exchanged_height(row, height, places)
    for place in sorted(places):
        if place <= 0.0:
            continue
        usual = Usual(place, place - _SAME_HEIGHT, place + _SAME_HEIGHT, Against.ALIKE)
        fits = would_fit(height, cell.unit, (field.kind, field.units), usual)
        if fits and best is None:
            best = Odd(row, "height", height, usual, fits)
    low, high = (min(places), max(places)) if places else (0.0, top or height)
    return best or Odd(row, "height", height, Usual(high, low, high, Against.ALIKE), ())


def _exchanged_height(row: OneRow, height: float, places: Sequence[float]) -> Odd | None:
    """Where the number of the reading beside it is one of the usual heights."""
    name = "force" if row.kind == "pull" else "film_width"
    beside, factor = row.cells.get(name), unit_factor(row.cells["height"].unit, "length")
    own = unit_factor(beside.unit, field_of(row.kind, name).kind) if beside else None
    if beside is None or beside.si is None or not factor or not own or not places:
        return None
    other = beside.si / own * factor
    place = min(places, key=lambda each: abs(each - other))
    if abs(place - other) > _SAME_HEIGHT / 4.0:
        return None
    usual = Usual(place, place - _SAME_HEIGHT, place + _SAME_HEIGHT, Against.ALIKE)
    return Odd(row, "height", height, usual, ())


def odd_ages(rows: Sequence[OneRow]) -> list[Odd]:
    """Ages that are unlike those of the other loads, unless a load was kept to be read again."""
    ages: dict[str, list[float]] = defaultdict(list)
    for row in rows:
        age = row.value("age")
        if age is not None and age > 0.0:
            ages[row.load].append(math.log(age))
    found = []
    logs = [log for some in ages.values() for log in some]
    middle = statistics.median(logs) if logs else 0.0
    for row in rows:
        age = row.value("age")
        if age is None or age <= 0.0 or not row.is_new("age"):
            continue
        log, own = math.log(age), ages[row.load]
        # Somebody else read at this age too; or the load was kept, and read again as a whole.
        elsewhere = sum(
            any(abs(log - each) < _SAME_AGE for each in some)
            for load, some in ages.items()
            if load != row.load
        )
        own_alike = sum(abs(log - each) < 0.2 for each in own)
        was_kept = own_alike > 1 and min(own) < log - _SAME_AGE
        alone = len(own) > 2 and own_alike == 1 and elsewhere < max(3, 0.2 * len(ages))
        unlike = len(ages) > 2 and not elsewhere and abs(log - middle) > _FAR_AGE and not was_kept
        if not (alone and abs(log - statistics.median(own)) > _SAME_AGE) and not unlike:
            continue
        centre = statistics.median(own) if alone else middle
        usual = Usual(
            math.exp(centre), math.exp(centre - _SAME_AGE), math.exp(centre + _SAME_AGE),
            Against.SAME_LOAD if alone else Against.ALIKE,
        )  # fmt: skip
        field, cell = field_of("pull", "age"), row.cells["age"]
        fits = would_fit(age, cell.unit, (field.kind, field.units), usual)
        found.append(Odd(row, "age", age, usual, fits))
    return found


def odd_bags(context: Context, rows: Sequence[OneRow], film_mass: Quantity) -> list[Odd]:
    """Weights of a bag or tray that make the film fit worse than the usual bag would."""
    weighed = [row for row in rows if (row.value("tare") or 0.0) > 0.0 and row.value("film_mass")]
    if len(weighed) < 4:
        return []
    usual_bag = statistics.median(row.value("tare") or 0.0 for row in weighed)
    nets = [
        (row, held(film_mass, context, row, net))
        for row in rows
        if (net := film_mass.value(row)) is not None and net > 0.0
    ]
    alike = ReadingsAlike([each for _, each in nets], film_mass.manner)
    found = []
    for row in weighed:
        gross, tare = row.value("film_mass") or 0.0, row.value("tare") or 0.0
        net, other = gross - tare, gross - usual_bag
        factor = max(tare, usual_bag) / min(tare, usual_bag)
        if not row.is_new("tare") or factor < _BAG_DIFFERS or other <= 0.0:
            continue
        if abs(tare - usual_bag) < _BAG_COUNTS * other:
            continue
        usual = alike.usual(held(film_mass, context, row, other), is_among=False)
        off = math.inf if net <= 0.0 or usual is None else abs(math.log(net / usual.middle))
        off_other = 0.0 if usual is None else abs(math.log(other / usual.middle))
        if usual is not None and off <= off_other + max(alike.spread, 0.01):
            continue
        field, cell = field_of("load", "tare"), row.cells["tare"]
        bag = Usual(usual_bag, usual_bag / _BAG_DIFFERS, usual_bag * _BAG_DIFFERS, Against.ALIKE)
        fits = would_fit(tare, cell.unit, (field.kind, field.units), bag)
        found.append(Odd(row, "tare", tare, bag, fits))
    return found
