"""The tables of a case: load, film, carriage, machine, program, hold, plant. SI floats, frozen."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import model_validator

from woold.fields import Section, plain, quantity
from woold.panel_section import PanelSetting
from woold.roller_section import RollerEntry
from woold.units import Money

__all__ = [
    "BandStop",
    "Carriage",
    "Film",
    "GatheredTurns",
    "Hold",
    "HoldTarget",
    "Load",
    "Machine",
    "Pause",
    "Program",
]


class Load(Section):
    """The product stacked on its pallet."""

    length: float | None = quantity("length", "outer length", None, example="1.2 m", gt=0, le=5)
    width: float | None = quantity("length", "outer width", None, example="1.0 m", gt=0, le=5)
    diameter: float | None = quantity("length", "of a round load, instead", None, gt=0, le=5)
    footprint: tuple[tuple[float, float], ...] | None = quantity(
        "length", "corners of any other outline, instead", None, min_length=3, max_length=1000
    )
    height: float = quantity("length", "product above the deck", example="1.5 m", gt=0, le=5)
    mass: float = quantity("mass", "product without the pallet", example="600 kg", gt=0)
    tiers: int = plain("layers of packages", 1, example="6", ge=1, le=200)
    offset: tuple[float, float] = quantity(
        "length",
        "centre of the load from the axis of turning",
        ("0 m", "0 m"),
        example='["0 m", "0 m"]',
    )
    deck_height: float = quantity("length", "pallet's deck above the floor", "144 mm", ge=0, le=1)
    pallet_length: float | None = quantity("length", "the pallet's own length", None, gt=0, le=5)
    pallet_width: float | None = quantity("length", "the pallet's own width", None, gt=0, le=5)

    @model_validator(mode="after")
    def _one_outline(self) -> Self:
        rectangle = self.length is not None and self.width is not None
        given = [rectangle, self.diameter is not None, self.footprint is not None]
        half = (self.length is None) != (self.width is None)
        if sum(given) != 1 or half:
            raise ValueError("length and width, or diameter, or footprint: one of the three")
        if (self.pallet_length is None) != (self.pallet_width is None):
            raise ValueError("pallet_length and pallet_width together, or neither")
        return self


class Film(Section):
    """The film on the roll."""

    roll_width: float = quantity("small_length", "width on the roll", example="20 in", gt=0, le=3)
    thickness: float = quantity("thickness", "thickness on the roll", example="63 gauge", gt=0)
    density: float = quantity(
        "density",
        "of the film",
        "918 kg/m^3",
        span=("910 kg/m^3", "925 kg/m^3"),
        placeholder="usual range of linear low density polyethylene",
        ge=500,
        le=2000,
    )
    rated_prestretch: float | None = quantity(
        "elongation", "the most that the maker allows", None, example="300 %", gt=1, le=8
    )
    yield_stress: float = quantity(
        "stress",
        "true stress at which drawing begins",
        "9 MPa",
        span=("7 MPa", "11 MPa"),
        placeholder="estimate for cast stretch film; replace it by a tensile test",
        gt=0,
    )
    hardening_modulus: float = quantity(
        "stress",
        "strain hardening of the drawn film",
        "2.4 MPa",
        span=("1.5 MPa", "2.5 MPa"),
        placeholder="estimate for cast stretch film; replace it by a tensile test",
        gt=0,
    )
    extensibility: float = quantity(
        "ratio",
        "limit of the network's stretch (Jm)",
        "80",
        span=("60", "120"),
        placeholder="estimate for cast stretch film; replace it by a tensile test",
        ge=2,
    )
    elastic_modulus: float = quantity(
        "stress",
        "stiffness before drawing",
        "150 MPa",
        span=("100 MPa", "250 MPa"),
        placeholder="estimate for cast stretch film; replace it by a tensile test",
        gt=0,
    )
    reload_modulus: float = quantity(
        "stress",
        "stiffness of stretched film",
        "400 MPa",
        span=("150 MPa", "600 MPa"),
        placeholder="estimate; calibrate it by weighing film cut off a load",
        gt=0,
    )
    force_loss_per_decade: float = quantity(
        "fraction",
        "share of force lost in each tenfold of time, at 23 degC",
        "0.056",
        span=("0.045", "0.075"),
        placeholder="two-point fit to 26 % lost in 30 days at 23 degC; early loss is larger",
        ge=0,
        le=0.3,
    )
    roll_mass: float = quantity(
        "mass",
        "film on a full roll, without its core",
        "17 kg",
        span=("14 kg", "20 kg"),
        placeholder="usual machine roll; read it off the label",
        gt=0,
    )
    price: Money | None = quantity("money/kg", "of the film", None, example="2.2 USD/kg")
    elongation_at_break: float | None = quantity(
        "elongation", "along the machine direction, from a tensile test", None, gt=1, le=20
    )
    test_elongations: tuple[float, ...] | None = quantity(
        "elongation",
        "points of a tensile test, instead of the four moduli above",
        None,
        max_length=10_000,
    )
    test_stresses: tuple[float, ...] | None = quantity(
        "stress", "force over unstretched section at those points", None, max_length=10_000
    )

    @model_validator(mode="after")
    def _points_in_pairs(self) -> Self:
        if (self.test_elongations is None) != (self.test_stresses is None):
            raise ValueError("test_elongations and test_stresses together, or neither")
        return self

    def unused(self) -> frozenset[str]:
        if self.test_elongations is None:
            return frozenset()
        return frozenset(("yield_stress", "hardening_modulus", "extensibility", "elastic_modulus"))


_FROM_ROLLERS = (
    "gap",
    "contact_angle_slow",
    "contact_angle_fast",
    "nip_force_slow",
    "nip_force_fast",
)


class Carriage(Section):
    """The film carriage: what the film passes between its roll and the load."""

    prestretch: float = quantity(
        "elongation", "set by gears, sprockets or drives", example="260 %", ge=1, le=8
    )
    gap: float = quantity(
        "small_length",
        "free film between slow and fast roller",
        "40 mm",
        ge=0,
        le=2,
        span=("20 mm", "80 mm"),
        placeholder="measure it along the film, tangent to tangent",
    )
    contact_angle_slow: float = quantity(
        "angle",
        "arc of the slow roller that the film touches",
        "180 deg",
        gt=0,
        le=6.2832,
        span=("90 deg", "200 deg"),
        placeholder="take it from the drawing of the rollers",
    )
    contact_angle_fast: float = quantity(
        "angle",
        "arc of the fast roller that the film touches",
        "180 deg",
        gt=0,
        le=6.2832,
        span=("90 deg", "200 deg"),
        placeholder="take it from the drawing of the rollers",
    )
    friction: float = quantity(
        "ratio",
        "film on the rollers' cover",
        "0.6",
        span=("0.4", "1.0"),
        placeholder="estimate for a rubber cover and tacky film",
        gt=0,
        le=5,
    )
    unwind_tension: float = quantity(
        "force",
        "film tension between roll and slow roller",
        "25 N",
        span=("10 N", "40 N"),
        placeholder="estimate; measure it with a pull gauge",
        ge=0,
    )
    nip_force_slow: float = quantity(
        "force", "of a roller pressed on the slow roller, 0 N for none", "0 N", ge=0
    )
    nip_force_fast: float = quantity(
        "force", "of a roller pressed on the fast roller, 0 N for none", "0 N", ge=0
    )
    roughness: float = quantity(
        "roughness",
        "of film and roller together, rms",
        "5 um",
        span=("2 um", "15 um"),
        placeholder="estimate for smooth film on a rubber cover",
        gt=0,
    )
    film_width_on_load: float | None = quantity(
        "small_length", "measured width on the load; wins over the model", None, gt=0
    )
    neck_down: float | None = quantity(
        "small_length", "measured loss of width, instead; wins over the model", None, ge=0
    )

    @model_validator(mode="after")
    def _one_width(self) -> Self:
        if self.film_width_on_load is not None and self.neck_down is not None:
            raise ValueError("film_width_on_load or neck_down, not both")
        return self

    price: Money | None = quantity("money", "of the carriage, fitted; for its payback", None)
    rollers: tuple[RollerEntry, ...] = plain(
        "the rollers; gap, contact angles and nip forces follow from them", (), max_length=50
    )

    @model_validator(mode="after")
    def _teeth_of_both(self) -> Self:
        teeth = {each.role for each in self.rollers if each.teeth is not None}
        if len(teeth) == 1:
            raise ValueError("teeth for both the slow and the fast roller, or for neither")
        return self

    def unused(self) -> frozenset[str]:
        return frozenset(_FROM_ROLLERS) if self.rollers else frozenset()


class Machine(Section):
    """The stretch wrapper. Turntable, rotary arm and ring share the relative motion."""

    kind: Literal["turntable", "rotary arm", "ring"] = plain(
        "turntable, rotary arm or ring: what turns", "turntable", example='"turntable"'
    )
    speed: float = quantity("turning_speed", "of the turning part", example="12 rpm", gt=0, le=12.6)
    exit_distance: float = quantity(
        "length", "from the axis of turning to the film's exit point", example="1.5 m", gt=0, le=10
    )
    ramp_up: float = quantity(
        "time",
        "from standstill to full speed",
        "3 s",
        span=("1 s", "6 s"),
        placeholder="time it with a stop watch",
        ge=0,
    )
    ramp_down: float = quantity(
        "time",
        "from full speed to standstill",
        "3 s",
        span=("1 s", "6 s"),
        placeholder="time it with a stop watch",
        ge=0,
    )
    end_time: float = quantity(
        "time",
        "load in, film fixed, film cut, load out",
        "30 s",
        span=("10 s", "90 s"),
        placeholder="time it with a stop watch",
        ge=0,
    )
    rethread_time: float = quantity(
        "time",
        "to change a roll and lace the film again",
        "4 min",
        span=("2 min", "8 min"),
        placeholder="time it with a stop watch",
        ge=0,
    )
    carriage_speed_limit: float | None = quantity(
        "speed", "fastest travel of the carriage on its mast", None, gt=0
    )
    panel: tuple[PanelSetting, ...] = plain(
        "the machine's own words for its settings", (), max_length=30
    )


PartName = Literal["bottom wraps", "rise", "top wraps", "fall", "closing wraps"]


class BandStop(Section):
    """Extra turns with the carriage standing still."""

    height: float = quantity("length", "film's lower edge over the deck", example="700 mm")
    wraps: float = plain("turns made there", example="1", gt=0, le=50)
    on_the_way: Literal["up", "down"] = plain("up or down", "up", example='"up"')


class GatheredTurns(Section):
    """Turns over which the film is gathered into a rope."""

    first_turn: float = plain("turn at which gathering begins", example="0", ge=0)
    last_turn: float = plain("turn at which it ends", example="1", gt=0)
    width: float = quantity("small_length", "width of the rope", example="60 mm", gt=0)
    at_edge: Literal["lower", "upper"] = plain("edge where it lies", "lower", example='"lower"')


class Pause(Section):
    """A standstill in the cycle, to place a top sheet for instance."""

    before: PartName = plain("part of the program that waits", example='"top wraps"')
    time: float = quantity("time", "that the turning part stands still", example="10 s", ge=0)


class Program(Section):
    """The turns and carriage moves of one cycle."""

    force_to_load: float = quantity(
        "force", "film tension as it meets the load", example="45 N", ge=0, le=2000
    )
    start_height: float = quantity(
        "small_length",
        "film's lower edge over the deck; negative is below it",
        "0 mm",
        example="-50 mm",
        ge=-1,
    )
    bottom_wraps: float = plain("turns at the start height", 2.0, example="2", ge=0, le=100)
    rise_per_turn: float | None = quantity(
        "small_length", "carriage travel in a turn on the way up", None, example="200 mm", gt=0
    )
    overlap: float | None = quantity(
        "fraction", "share of the film's width laid over the turn before, instead", None, ge=0, lt=1
    )
    top_overlap: float = quantity(
        "small_length", "film's upper edge above the load at the top", "75 mm", le=2
    )
    top_wraps: float = plain("turns at the top", 2.0, example="2", ge=0, le=100)
    fall_per_turn: float | None = quantity(
        "small_length",
        "carriage travel in a turn on the way down; as the rise if left out",
        None,
        example="200 mm",
        gt=0,
    )
    closing_wraps: float = plain("turns at the end", 1.0, example="1", ge=0, le=100)
    ends_at: Literal["bottom", "top"] = plain(
        "bottom, or top for a cycle that does not come down", "bottom", example='"bottom"'
    )
    start_tail: float = quantity("length", "film used to fix the start", "0 m", ge=0)
    end_tail: float = quantity("length", "film left hanging at the end", "0 m", ge=0)
    bands: tuple[BandStop, ...] = plain("extra turns at a height", (), max_length=20)
    ropes: tuple[GatheredTurns, ...] = plain("turns with gathered film", (), max_length=20)
    pauses: tuple[Pause, ...] = plain("standstills", (), max_length=20)

    @model_validator(mode="after")
    def _one_pitch(self) -> Self:
        if (self.rise_per_turn is None) == (self.overlap is None):
            raise ValueError("rise_per_turn or overlap: one of the two")
        return self


class HoldTarget(Section):
    """Containment force that must be held over a zone of height, at the age asked for."""

    low: float = quantity("length", "lower end of the zone over the deck", "0 m", ge=-1)
    high: float | None = quantity("length", "upper end; the load's top if left out", None)
    force: float = quantity("force", "that must be held", example="120 N", gt=0)

    @model_validator(mode="after")
    def _upwards(self) -> Self:
        if self.high is not None and self.high <= self.low:
            raise ValueError("high above low")
        return self


class Hold(Section):
    """What the wrapped load must hold, and when and how it is looked at."""

    after: float = quantity("hours", "age at which the film's force is asked for", "16 h", ge=0)
    temperature: float = quantity(
        "temperature", "where the load stands", "23 degC", ge=233.15, le=333.15
    )
    edge_load_limit: float | None = quantity(
        "tension_per_width", "most force on a corner, per metre of height", None, gt=0
    )
    pull_distance: float = quantity("small_length", "that a pull plate is pulled", "4 in", gt=0)
    pull_plate_width: float = quantity("small_length", "height of a pull plate", "6 in", gt=0)
    pull_height: float | None = quantity(
        "length", "of the plate over the deck; mid height if left out", None, ge=0
    )
    targets: tuple[HoldTarget, ...] = plain("what must be held where", (), max_length=50)
