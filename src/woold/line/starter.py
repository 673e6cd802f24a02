"""A commented line file to start from, its comments in the reader's language."""

from __future__ import annotations

from woold.case.commented import commented_text
from woold.words import to_say

__all__ = ["starter_text"]


def starter_text() -> str:
    """A commented line file to start from."""
    return commented_text(_LINES)


_LINES: tuple[tuple[str, str], ...] = (
    ("", to_say("A line: its models of machine, carriages to choose from, films, recipes, loads.")),
    ("", to_say("Which of them go together nobody types: woold line map says it.")),
    ("", to_say("Nothing below exists: replace it by what you have.")),
    ("", ""),
    ('title = "Invented line"', ""),
    ('# shelf = "plant.toml"', to_say("things of a shelf belong to the line too")),
    ('# candidates = ["@short gap"]', to_say("carriages to choose from; all of them if left out")),
    ("", ""),
    ("[catalogue]", to_say("the loads: a table of its own, or [[loads]] below")),
    ('# file = "loads.csv"', to_say("CSV or Parquet, columns as in docs/line.md")),
    (
        'refuse_above = "5 %"',
        to_say("share of rows that cannot be used, above which it is refused"),
    ),
    ("", ""),
    ("[corner_tension]", to_say("film tension in a turn, over the force to load (placeholders)")),
    ('# lowest = "80 %"', ""),
    ('# highest = "120 %"', ""),
    ("", ""),
    ("[[films]]", to_say("the fields of a case's [film]")),
    ('name = "thin film"', ""),
    ('roll_width = "20 in"', ""),
    ('thickness = "47 gauge"', ""),
    ('rated_prestretch = "300 %"', to_say("the most that the maker allows")),
    ('price = "2.5 USD/kg"', ""),
    ("", ""),
    ("[[carriages]]", to_say("a case's [carriage], its [dancer], and what its drive may give")),
    ('name = "short gap"', ""),
    ("", ""),
    ("[carriages.carriage]", ""),
    ('prestretch = "260 %"', ""),
    ('gap = "25 mm"', ""),
    ('unwind_tension = "25 N"', ""),
    ('widest_roll = "20 in"', ""),
    ("", ""),
    ("[carriages.drive]", to_say("the most that it may give; what is left out is not asked")),
    ('torque = "12 N*m"', to_say("at the fast roller")),
    ('power = "180 W"', ""),
    ('film_speed = "2.5 m/s"', to_say("behind the fast roller")),
    ('couples_by = "belt"', ""),
    ("", ""),
    ("", to_say("Rollers listed below [[carriages.carriage.rollers]] may be moved and changed:")),
    (
        "",
        to_say(
            "[[envelopes]] say what is free, and woold line carriage searches it (docs/line.md)."
        ),
    ),
    ("", ""),
    (
        "[[machine_models]]",
        to_say("a case's [machine], and a [drive] where it limits the carriage"),
    ),
    ('name = "T12"', ""),
    ("", ""),
    ("[machine_models.machine]", ""),
    ('kind = "turntable"', ""),
    ('speed = "12 rpm"', ""),
    ('exit_distance = "1.5 m"', ""),
    ("", ""),
    ("[[machines]]", to_say("machines that stand somewhere, and the carriage on each today")),
    ('name = "line 1"', ""),
    ('model = "@T12"', ""),
    ('carriage = "@short gap"', ""),
    ("", ""),
    ("[[recipes]]", to_say("a case's [program]; one that names nothing serves all the rest")),
    ('name = "plain"', ""),
    ("", ""),
    ("[recipes.program]", ""),
    ('force_to_load = "45 N"', ""),
    ('overlap = "60 %"', to_say("share of the film's width laid over the turn before")),
    ("", ""),
    ("[[loads]]", to_say("a case's [load] and [hold], and how many there are")),
    ('name = "jars"', ""),
    ("loads_per_year = 60000", ""),
    ('machines = ["@line 1"]', ""),
    ("", ""),
    ("[loads.load]", ""),
    ('length = "1.2 m"', ""),
    ('width = "1.0 m"', ""),
    ('height = "1.5 m"', ""),
    ('mass = "600 kg"', ""),
    ("tiers = 6", ""),
    ("", ""),
    ("[[loads.hold.targets]]", ""),
    ('force = "40 N"', ""),
)
