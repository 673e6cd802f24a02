"""Readings of a trial that are far from what is expected: each with what would fit."""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Callable, Collection, Hashable, Sequence
from dataclasses import dataclass

from woold.trial.alike import LARGEST, LOOSER, Against, Held, Manner, ReadingsAlike, Usual
from woold.trial.sheets import field_of
from woold.trial.would_fit import would_fit
from woold.trial.written_readings import Context, OneRow

__all__ = ["Odd", "Quantity", "odd_readings", "quantities"]

_FITS = 3.0
"""Standard deviations within which both rows must fit the other way round."""
_SURE_OF_SWAP = 5.5
"""ln of how much likelier two rows are the other way round, from which that is asked."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """Something that is read, and how it is held against others.

    Args:
        kind: of the rows that it stands in.
        name: its field.
        value: what is held, of a row; None where it was not read.
        expected: what is predicted of it.
        groups: what it is alike, the nearest first.
        manner: how far such readings differ.
        si_held: what would be held if the cell's SI value were another.
        beside: field that is part of what is held.
    """

    kind: str
    name: str
    value: Callable[[OneRow], float | None]
    expected: Callable[[Context, OneRow], float | None]
    groups: Callable[[Context, OneRow], tuple[Hashable, ...]]
    manner: Manner
    si_held: Callable[[OneRow, float], float] = lambda _row, si: si
    beside: str = ""

    def is_new(self, row: OneRow) -> bool:
        """Whether any part of what is held of a row is written down now."""
        names = (self.name, self.beside) if self.beside else (self.name,)
        return any(name in row.cells and row.is_new(name) for name in names)


@dataclass(frozen=True, slots=True)
class Odd:
    """A reading that is asked about.

    Args:
        row, name: where it stands.
        kind: of the quantity.
        value, usual: what was held against what.
        fits: what would fit, as text.
        swapped: number of the row that it would fit; 0 where there is none.
        is_group: its whole group is off.
    """

    row: OneRow
    name: str
    value: float
    usual: Usual
    fits: tuple[str, ...]
    swapped: int = 0
    is_group: bool = False

    @property
    def other_unit(self) -> str:
        """The unit in which it would fit best; "" where that is the one it was typed in."""
        cell = self.row.cells.get(self.name)
        unit = self.fits[0].rpartition(" ")[2] if self.fits else ""
        return unit if cell is not None and unit != cell.unit else ""


def _load_groups(context: Context, row: OneRow) -> tuple[Hashable, ...]:
    facts = context.facts(row)
    return ((facts.load_type, facts.treatment), facts.load_type)


def _pull_groups(context: Context, row: OneRow) -> tuple[Hashable, ...]:
    facts, zone = context.facts(row), context.zone(row)
    return ((facts.load_type, facts.treatment, zone), (facts.load_type, zone), row.load)


def _net_mass(row: OneRow) -> float | None:
    gross = row.value("film_mass")
    return None if gross is None else gross - (row.value("tare") or 0.0)


def _stretch(row: OneRow) -> float | None:
    before, after = row.value("mark_before"), row.value("mark_after")
    return after / before if before and after is not None else None


def _film_mass(context: Context, row: OneRow) -> float | None:
    found = context.predicted(row)
    if found is None:
        return None
    # A wrong number of turns is asked about itself; it must not make the mass look odd.
    turns = row.value("turns")
    share = turns / found.turns if turns else 1.0
    return found.film_mass * (share if 1 / 1.3 <= share <= 1.3 else 1.0)


def _from_case(name: str) -> Callable[[Context, OneRow], float | None]:
    def expected(context: Context, row: OneRow) -> float | None:
        found = context.predicted(row)
        return None if found is None else getattr(found, name)

    return expected


def _pull(context: Context, row: OneRow) -> float | None:
    found = context.predicted(row)
    return None if found is None else found.pull(context.zone(row), row.value("age"))


def _nothing(_context: Context, _row: OneRow) -> float | None:
    return None


def _roll_density(row: OneRow) -> float | None:
    mass, length = row.value("roll_mass"), row.value("roll_length")
    return mass / length if mass is not None and length else None


def _gauge_groups(_context: Context, row: OneRow) -> tuple[Hashable, ...]:
    words = [row.cells[name].typed.casefold() if name in row.cells else ""
             for name in ("instrument", "part")]  # fmt: skip
    return (tuple(words), words[0])


def _cell(name: str) -> Callable[[OneRow], float | None]:
    return lambda row: row.value(name)


def quantities(context: Context) -> tuple[Quantity, ...]:
    """Everything that is read, with how far its readings differ.

    Least factors: film mass 1.3; the others are about three times what the trade sees from load to
    load (common practice, no source). Spreads of film mass and pulls are those of the trial's aim.

    Args:
        context: the trial.
    """
    aim = context.setup.trial.aim
    mass, pull = max(aim.film_spread, 0.01), max(aim.containment_spread, 0.03)
    return (
        Quantity(
            "load", "film_mass", _net_mass, _film_mass, _load_groups,
            Manner(1.3, LARGEST["film_mass"], 1.3, mass, LOOSER["film_mass"], 1.6),
            lambda row, si: si - (row.value("tare") or 0.0),
            "tare",
        ),
        Quantity(
            "load", "turns", _cell("turns"), _from_case("turns"), _load_groups,
            Manner(1.3, LARGEST["turns"], 1.4, 0.03, LOOSER["turns"], 1.8),
        ),
        Quantity(
            "load", "cycle_time", _cell("cycle_time"), _from_case("cycle_time"), _load_groups,
            Manner(1.4, LARGEST["cycle_time"], 2.5, 0.06, LOOSER["cycle_time"], 2.0),
        ),
        Quantity(
            "load", "mark_after", _stretch, _from_case("stretch"), _load_groups,
            Manner(1.2, LARGEST["mark_after"], 1.4, 0.03, LOOSER["mark_after"], 1.6),
            lambda row, si: si / (row.value("mark_before") or math.inf),
            "mark_before",
        ),
        Quantity(
            "load", "dancer_force", _cell("dancer_force"), _from_case("force_to_load"),
            _load_groups,
            Manner(1.3, LARGEST["dancer_force"], 1.8, 0.05, LOOSER["dancer_force"], 1.8),
        ),
        Quantity(
            "load", "roll_length", _roll_density, _from_case("roll_density"), _load_groups,
            Manner(1.15, LARGEST["roll_length"], 1.3, 0.02, LOOSER["roll_length"], 1.3),
            lambda row, si: (row.value("roll_mass") or 0.0) / si if si else 0.0,
            "roll_mass",
        ),
        Quantity(
            "width", "film_width", _cell("film_width"), _from_case("film_width"), _load_groups,
            Manner(1.2, LARGEST["film_width"], 1.5, 0.03, LOOSER["film_width"], 1.5),
        ),
        Quantity(
            "pull", "force", _cell("force"), _pull, _pull_groups,
            Manner(1.5, LARGEST["force"], 2.5, pull, LOOSER["force"], 2.2),
        ),
        Quantity(
            "gauge", "reading", _cell("reading"), _nothing, _gauge_groups,
            Manner(1.3, LARGEST["reading"], 2.0, 0.03, LOOSER["reading"], 3.0),
        ),
    )  # fmt: skip


def held(quantity: Quantity, context: Context, row: OneRow, value: float) -> Held:
    """A row's reading, as it is held against others."""
    return Held(
        value,
        quantity.expected(context, row) or None,
        quantity.groups(context, row),
        is_new=quantity.is_new(row),
    )


def odd_readings(
    quantity: Quantity, context: Context, rows: Sequence[OneRow], trusted: Collection[str] = ()
) -> list[Odd]:
    """Readings of one quantity that are asked about.

    Args:
        quantity: what is read.
        context: the trial.
        rows: of the quantity's kind, written now and on record.
        trusted: fields whose column somebody confirmed as a whole.
    """
    readings = [
        (row, held(quantity, context, row, value))
        for row in rows
        if (value := quantity.value(row)) is not None and value > 0.0
    ]
    alike = ReadingsAlike(
        [each for _, each in readings], quantity.manner, trusts_groups=quantity.name in trusted
    )
    found: dict[int, Odd] = {}
    field = field_of(quantity.kind, quantity.name)
    for place, (row, each) in enumerate(readings):
        if not each.is_new:
            continue
        usual = alike.usual(each)
        if usual is None or usual.holds(each.value):
            continue
        cell = row.cells.get(quantity.name)
        fits: tuple[str, ...] = ()
        if cell is not None and cell.si is not None:
            as_held = functools.partial(quantity.si_held, row)
            of_kind = (field.kind, field.units)
            fits = would_fit(cell.si, cell.unit, of_kind, usual, as_held)
        is_group = (each.expected is not None, each.groups[0]) in alike.off
        found[place] = Odd(row, quantity.name, each.value, usual, fits, 0, is_group)
    found |= _swaps(quantity, alike, readings, found)
    return _without_the_right_side([found[place] for place in sorted(found)])


def _without_the_right_side(odd: list[Odd]) -> list[Odd]:
    """Of groups that differ from one another, those that another unit would put right."""

    def is_side(each: Odd) -> bool:
        return each.is_group and each.usual.against is Against.OTHER_GROUPS

    if not any(is_side(each) and each.other_unit for each in odd):
        return odd
    return [each for each in odd if not is_side(each) or each.other_unit]


Place = tuple[OneRow, Held]


def _swaps(
    quantity: Quantity, alike: ReadingsAlike, readings: Sequence[Place], odd: dict[int, Odd]
) -> dict[int, Odd]:
    """Neighbouring rows that fit far better the other way round.

    ln of the likelihood ratio, normal in ln: the sum of squared distances as they stand less that
    the other way round, over twice the square of the spread.
    """
    found: dict[int, Odd] = {}
    # Of many pairs that are right, some look swapped by chance.
    sure = _SURE_OF_SWAP + math.log(max(len(readings) / 20.0, 1.0))
    spread = max(alike.spread, quantity.manner.spread / 2.0)
    for place, ((row, one), (other_row, other)) in enumerate(itertools.pairwise(readings)):
        is_pair = row.table is not None and row.table is other_row.table
        if not (is_pair and one.is_new and other.is_new) or one.groups[0] == other.groups[0]:
            continue
        exchanged = _exchanged(quantity, row, other_row), _exchanged(quantity, other_row, row)
        usuals = alike.usual(one), alike.usual(other)
        if None in exchanged or None in usuals:
            continue
        logs = [
            math.log(value / usual.middle)
            for values in ((one.value, other.value), exchanged)
            for value, usual in zip(values, usuals, strict=True)
            if value is not None and usual is not None and usual.against in _NEAR
        ]
        if len(logs) < 4:
            continue
        gain = (logs[0] ** 2 + logs[1] ** 2 - logs[2] ** 2 - logs[3] ** 2) / (2.0 * spread**2)
        if gain <= sure or max(abs(logs[2]), abs(logs[3])) > _FITS * spread:
            continue
        for at, (this, that), usual in (
            (place, (row, other_row), usuals[0]),
            (place + 1, (other_row, row), usuals[1]),
        ):
            before = odd.get(at)
            if usual is not None and not (before and before.fits):
                value = readings[at][1].value
                found[at] = Odd(this, quantity.name, value, usual, (), that.number)
    return found


_NEAR = (Against.ALIKE, Against.RECORD)


def _exchanged(quantity: Quantity, row: OneRow, other: OneRow) -> float | None:
    """What would be held of a row if its cell stood in the other row, and the other way round."""
    cell = other.cells.get(quantity.name)
    if cell is None or cell.si is None:
        return None
    value = quantity.si_held(row, cell.si)
    return value if value > 0.0 else None
