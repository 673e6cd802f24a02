"""The short form to start with: what is asked of a newcomer, why, and how to measure it.

What is left empty is taken as a placeholder, with its usual range, and says so in the case.
"""

from __future__ import annotations

from dataclasses import dataclass

from woold.words import to_say

__all__ = ["GUIDE", "GuideField", "GuidePart"]


@dataclass(frozen=True, slots=True)
class GuideField:
    """A field of the short form.

    Args:
        path: field of the case that it fills.
        label: what it is called.
        what, why, how: what it is, what it decides, how it is measured.
        usual: placeholder where it is left empty; "" where it must be given, or is left out.
        low, high: usual range of that placeholder; common practice, no source.
        example: what may be typed.
        choices: codes and labels, where one of them is chosen; the first is taken.
        must: it must be given.
        counted: a plain number without a unit.
    """

    path: str
    label: str
    what: str
    why: str
    how: str
    usual: str = ""
    low: str = ""
    high: str = ""
    example: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    must: bool = False
    counted: bool = False

    @property
    def id(self) -> str:
        """Name of the field on the page."""
        return self.path.replace(".", "-").replace("_", "-")


@dataclass(frozen=True, slots=True)
class GuidePart:
    """Fields that belong together, under one picture."""

    name: str
    label: str
    fields: tuple[GuideField, ...]


_LOAD = (
    GuideField(
        "load.length",
        to_say("Length"),
        to_say("The longer side of the product, seen from above; without the pallet."),
        to_say("The way round the load is the film that one turn takes."),
        to_say("Tape measure, at the widest tier."),
        example="1.2 m",
        must=True,
    ),
    GuideField(
        "load.width",
        to_say("Width"),
        to_say("The shorter side of the product, seen from above."),
        to_say("With the length it gives the way round, and how hard film presses on corners."),
        to_say("Tape measure, at the widest tier."),
        example="1.0 m",
        must=True,
    ),
    GuideField(
        "load.height",
        to_say("Height"),
        to_say("From the pallet's deck to the top of the product."),
        to_say("It decides how many turns there are, and how easily the load leans."),
        to_say("Tape measure, from the boards that the product stands on."),
        example="1.5 m",
        must=True,
    ),
    GuideField(
        "load.mass",
        to_say("Mass"),
        to_say("The product alone, without the pallet."),
        to_say("When a vehicle brakes, a heavier load pushes harder on its film."),
        to_say(
            "From the delivery note; or weigh the pallet and take off about 25 kg for its wood."
        ),
        example="600 kg",
        must=True,
    ),
    GuideField(
        "load.tiers",
        to_say("Tiers"),
        to_say("Layers of packages, one on another."),
        to_say("Each tier can slip on the one below it."),
        to_say("Count them on one side."),
        example="6",
        must=True,
        counted=True,
    ),
)

_FILM = (
    GuideField(
        "film.roll_width",
        to_say("Roll width"),
        to_say("Width of the film on its roll."),
        to_say("Wider film covers more with each turn, and narrows more when it is stretched."),
        to_say("On the label in the core; or a tape measure along the roll."),
        usual="20 in",
        low="17 in",
        high="30 in",
    ),
    GuideField(
        "film.thickness",
        to_say("Thickness"),
        to_say("Thickness of the film on its roll, in gauge, micrometre or mil."),
        to_say("Film by weight and the force that it can hold follow from it."),
        to_say("On the label in the core. 63 gauge is 16 µm."),
        usual="63 gauge",
        low="45 gauge",
        high="90 gauge",
    ),
    GuideField(
        "film.price",
        to_say("Price"),
        to_say("What a kilogram or pound of film costs."),
        to_say("Without it no money is told. Nothing else depends on it."),
        to_say("From the last invoice."),
        example="2.2 USD/kg",
    ),
)

_MACHINE = (
    GuideField(
        "machine.kind",
        to_say("What turns"),
        to_say("The load on a turntable, an arm round the load, or a ring round it."),
        to_say("It decides where the film comes from while the load is wrapped."),
        to_say("Watch one load being wrapped, from outside the guard."),
        choices=(
            ("turntable", to_say("the load, on a turntable")),
            ("rotary arm", to_say("an arm, round the load")),
            ("ring", to_say("a ring, round the load")),
        ),
    ),
    GuideField(
        "machine.speed",
        to_say("Turning speed"),
        to_say("Turns in a minute at full speed."),
        to_say("It decides the cycle time, and how fast the film must follow the corners."),
        to_say("Time ten turns in the middle of a load with a stop watch."),
        usual="12 rpm",
        low="6 rpm",
        high="30 rpm",
    ),
    GuideField(
        "machine.exit_distance",
        to_say("Film exit distance"),
        to_say("From the axis of turning to the last roller that the film leaves."),
        to_say("From nearer by, the film speed swings more in each turn."),
        to_say("Machine locked out: tape measure from the middle of the turntable."),
        usual="1.5 m",
        low="1.1 m",
        high="2.2 m",
    ),
    GuideField(
        "carriage.prestretch",
        to_say("Pre-stretch"),
        to_say("By how much the film carriage stretches the film: 250 % makes 1 m into 3.5 m."),
        to_say("More of it saves film, until the film or its grip on the rollers gives out."),
        to_say(
            "From the plate on the carriage. Or draw two lines 100 mm apart across the film on the"
            " roll and measure them on the load: 350 mm means 250 %."
        ),
        usual="250 %",
        low="150 %",
        high="300 %",
    ),
    GuideField(
        "program.force_to_load",
        to_say("Force to load"),
        to_say("Film tension as it meets the load."),
        to_say("It is what holds the load, and what crushes corners when it is too much."),
        to_say(
            "With a pull gauge on the film between carriage and load, machine stopped and locked"
            " out. A number on the panel alone is often not in newtons."
        ),
        usual="45 N",
        low="20 N",
        high="90 N",
    ),
)

_PROGRAM = (
    GuideField(
        "program.start_height",
        to_say("Lower film edge"),
        to_say("Where the film begins, over the pallet's deck; below the deck with a minus."),
        to_say("Film that reaches the pallet ties the load to it."),
        to_say("Tape measure on a wrapped load, from the deck down to the film's edge."),
        usual="-50 mm",
        low="-150 mm",
        high="0 mm",
    ),
    GuideField(
        "program.bottom_wraps",
        to_say("Bottom wraps"),
        to_say("Turns at the bottom before the carriage rises."),
        to_say("They hold the lowest tiers and the pallet."),
        to_say("Count them; or read the setting on the panel."),
        usual="2",
        low="1",
        high="4",
    ),
    GuideField(
        "program.overlap",
        to_say("Overlap"),
        to_say("Share of the film's width that lies on the turn before, on the way up."),
        to_say("It decides how many layers lie over the height."),
        to_say(
            "On a wrapped load: film width less the distance from one edge to the next one above,"
            " over the film width."
        ),
        usual="50 %",
        low="20 %",
        high="70 %",
    ),
    GuideField(
        "program.top_overlap",
        to_say("Over the top"),
        to_say("How far the film's upper edge stands over the top of the load."),
        to_say("Film that folds in over the top keeps the top tier."),
        to_say("Tape measure, from the top of the product up to the film's edge."),
        usual="75 mm",
        low="0 mm",
        high="150 mm",
    ),
    GuideField(
        "program.top_wraps",
        to_say("Top wraps"),
        to_say("Turns at the top before the carriage comes down."),
        to_say("They hold the top tiers, which move most."),
        to_say("Count them; or read the setting on the panel."),
        usual="2",
        low="1",
        high="4",
    ),
)

_ASKED = (
    GuideField(
        "transport.profiles",
        to_say("The way that it goes"),
        to_say("What a vehicle does to the load: sets of accelerations that rules ask for."),
        to_say("Without it nobody can say whether the load holds on its way."),
        to_say("Ask whoever sends it. By road in Europe where nobody knows: it is the common one."),
        choices=(
            ("EN 12195-1 road", to_say("road in Europe (EN 12195-1)")),
            ("49 CFR breaking strength", to_say("road in the United States (49 CFR)")),
            ("", to_say("not asked")),
        ),
    ),
    GuideField(
        "transport.supported",
        to_say("What stands close against it"),
        to_say("Something as high as the load that it can lean on: a wall, or other pallets."),
        to_say("A load that stands close against something cannot travel that way."),
        to_say("Look at how the vehicle is loaded. Nothing, where that may change."),
        choices=(
            ("", to_say("nothing: the safe side")),
            ("forward", to_say("in front")),
            ("forward, sideways", to_say("in front and at both sides")),
            ("any", to_say("all around")),
        ),
    ),
    GuideField(
        "hold.targets.force",
        to_say("Containment force"),
        to_say("Force of all film layers that every height of the load must have."),
        to_say("A figure that your customer or your own rule may ask for."),
        to_say("From the specification. Leave it empty where there is none."),
        example="60 N",
    ),
)

GUIDE = (
    GuidePart("load", to_say("The load"), _LOAD),
    GuidePart("film", to_say("The film"), _FILM),
    GuidePart("machine", to_say("The machine"), _MACHINE),
    GuidePart("program", to_say("How it is wrapped"), _PROGRAM),
    GuidePart("asked", to_say("What is asked"), _ASKED),
)
"""Parts of the short form, in their order."""
