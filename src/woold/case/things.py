"""What a plant owns, each thing once and by name: films, carriages, machines, loads, recipes.

A case is load + film + carriage + machine + recipe, each written out or named. A thing has
versions; they are only ever added, so that what a prediction rested on can be made again.
"""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field

from woold.case.carriage import Carriage
from woold.case.dancer import Dancer
from woold.case.fields import Section, as_in, plain, quantity
from woold.case.film import Film
from woold.case.hold import Hold
from woold.case.load import Load
from woold.case.machine import Machine
from woold.case.program import Program
from woold.case.transport import Transport
from woold.words import say, to_say

__all__ = [
    "KIND_WORDS",
    "NAMED_TABLES",
    "CarriageThing",
    "DriveRating",
    "FilmLot",
    "Kind",
    "LoadThing",
    "MachineModel",
    "OwnMachine",
    "Recipe",
    "ShelfFilm",
    "name_field",
    "version_field",
]

Kind = Literal["films", "carriages", "machine_models", "machines", "loads", "recipes"]
"""What a shelf keeps, by the name of its list."""

KIND_WORDS: dict[Kind, str] = {
    "films": to_say("film"),
    "carriages": to_say("carriage"),
    "machine_models": to_say("machine model"),
    "machines": to_say("machine"),
    "loads": to_say("load"),
    "recipes": to_say("recipe"),
}

NAMED_TABLES = ("load", "film", "carriage", "machine", "program")
"""Tables of a case that may be named, each a thing's own or one of a thing's tables."""

_NOT_IN_NAMES = "@#"


def _usable(name: str) -> str:
    if name != name.strip() or any(
        each in _NOT_IN_NAMES or not each.isprintable() for each in name
    ):
        raise ValueError(say('a name without "@", "#" and spaces at its ends'))
    return name


Name = Annotated[str, AfterValidator(_usable)]


def name_field(example: str) -> Any:
    """The name of a thing."""
    return plain("what it is called", example=f'"{example}"', min_length=1, max_length=80)


def version_field() -> Any:
    """The version of a thing."""
    return plain("its version, counted up with every change", 1, ge=1, le=100_000, strict=True)


def _reference(doc: str, default: Any, example: str) -> Any:
    return plain(doc, default, example=f'"@{example}"', max_length=90)


class FilmLot(Section):
    """Rolls of a film that came together: what their labels and the acceptance say."""

    number: str = plain("lot or order number", example='"240117"', min_length=1, max_length=80)
    received: date | None = plain("day it came", None, example="2026-04-01")
    roll_mass: float | None = as_in(Film, "roll_mass", "film on a roll", None)
    roll_length: float | None = quantity(
        "length", "film on a roll", None, gt=0, le=100_000, usual=("300 m", "8000 m")
    )
    roll_width: float | None = as_in(Film, "roll_width", "of a roll", None)
    accepted: bool | None = plain("passed what was asked of it", None)
    notes: str = plain("anything worth keeping", "", max_length=2000)


class ShelfFilm(Film):
    """A film on the shelf: its name, and the fields of a case's [film]."""

    name: Name = name_field("thin film")
    version: int = version_field()
    lots: tuple[FilmLot, ...] = plain("rolls that came together", (), max_length=500)

    def unused(self) -> frozenset[str]:
        """In a case, only the film's own fields count."""
        return frozenset({"name", "version", "lots"})


class DriveRating(Section):
    """The most that the drive of a carriage's two stretching rollers may give."""

    torque: float | None = quantity(
        "torque", "at the fast roller", None, gt=0, le=5000, usual=("1 N*m", "100 N*m")
    )
    power: float | None = quantity(
        "power", "of the motor, losses taken off", None, gt=0, le=50_000, usual=("50 W", "3000 W")
    )
    film_speed: float | None = quantity(
        "speed", "of the film behind the fast roller", None, gt=0, le=50,
        usual=("0.3 m/s", "10 m/s"),
    )  # fmt: skip
    couples_by: Literal["belt", "chain", "gears", "two motors"] | None = plain(
        "what couples the slow roller to the fast one", None, example='"belt"'
    )


class CarriageThing(Section):
    """A film carriage: a case's [carriage], and its [dancer] if it has one."""

    name: Name = name_field("short gap")
    version: int = version_field()
    carriage: Carriage
    dancer: Dancer | None = None
    drive: DriveRating | None = None


class MachineModel(Section):
    """A model of machine: a case's [machine]."""

    name: Name = name_field("turntable, 12 rpm")
    version: int = version_field()
    machine: Machine
    drive: DriveRating | None = None


class OwnMachine(Section):
    """A machine that stands somewhere: its model, and what is fitted to it."""

    name: Name = name_field("line 1")
    version: int = version_field()
    serial: str = plain("serial number on its plate", "", max_length=80)
    site: str = plain("where it stands", "", max_length=120)
    model: str = _reference("its model on this shelf", ..., "turntable, 12 rpm")
    carriage: str | None = _reference("the carriage fitted to it", None, "short gap#2")
    spring: int | None = plain("number of the dancer's spring, from 1", None, ge=1, le=50)
    hole: float | None = quantity(
        "small_length", "the spring's hole, from the arm's pivot", None, gt=0, le=1,
        usual=("20 mm", "400 mm"),
    )  # fmt: skip
    since: date | None = plain("day since when it is so", None, example="2026-04-01")


class LoadThing(Section):
    """Loads of one kind: a case's [load], [hold] and [transport], and how many there are."""

    name: Name = name_field("jars")
    version: int = version_field()
    load: Load
    hold: Hold = Field(default_factory=Hold)
    transport: Transport | None = None
    loads_per_year: float | None = quantity(
        "ratio", "wrapped in a year", None, gt=0, le=1e9, usual=("1", "20000000")
    )
    machines: tuple[str, ...] = plain(
        "machines that wrap it", (), example='["@line 1"]', max_length=500
    )


class Recipe(Section):
    """What an operator sets: a case's [program], and what it is made for."""

    name: Name = name_field("jars, thin film")
    version: int = version_field()
    program: Program
    machine_model: str | None = _reference("the model of machine it is for", None, "turntable")
    film: str | None = _reference("the film it is for", None, "thin film")
    loads: tuple[str, ...] = plain("loads it is for", (), example='["@jars"]', max_length=500)
