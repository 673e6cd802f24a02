"""A commented shelf file to start from, its comments in the reader's language."""

from __future__ import annotations

from woold.case.commented import commented_text
from woold.words import to_say

__all__ = ["starter_text"]


def starter_text() -> str:
    """A commented shelf file to start from."""
    return commented_text(_LINES)


_LINES: tuple[tuple[str, str], ...] = (
    ("", to_say("A shelf: films, carriages, machines, loads and recipes, each once and by name.")),
    ("", to_say('A case names them: shelf = "plant.toml", film = "@thin film", load = "@jars".')),
    ("", to_say("A thing that changes is written once more, with the next version number.")),
    ("", to_say("Nothing below exists: replace it by what you have.")),
    ("", ""),
    ("[[films]]", to_say("the fields of a case's [film]")),
    ('name = "thin film"', ""),
    ("version = 1", ""),
    ('roll_width = "20 in"', ""),
    ('thickness = "47 gauge"', ""),
    ('rated_prestretch = "300 %"', ""),
    ('price = "2.5 USD/kg"', ""),
    ("", ""),
    ("[[films.lots]]", to_say("rolls that came together: label and acceptance")),
    ('number = "240117"', ""),
    ("received = 2026-03-02", ""),
    ('roll_mass = "16 kg"', ""),
    ("accepted = true", ""),
    ("", ""),
    ("[[carriages]]", to_say("a case's [carriage], and its [dancer] if it has one")),
    ('name = "short gap"', ""),
    ("", ""),
    ("[carriages.carriage]", ""),
    ('prestretch = "260 %"', ""),
    ('gap = "25 mm"', ""),
    ('unwind_tension = "25 N"', ""),
    ("", ""),
    ("[[machine_models]]", to_say("a case's [machine]")),
    ('name = "Table 12 rpm"', ""),
    ("", ""),
    ("[machine_models.machine]", ""),
    ('kind = "turntable"', ""),
    ('speed = "12 rpm"', ""),
    ('exit_distance = "1.5 m"', ""),
    ("", ""),
    ("[[machines]]", to_say("a machine that stands somewhere, and what is fitted to it")),
    ('name = "line 1"', ""),
    ('site = "Invented plant"', ""),
    ('model = "@Table 12 rpm"', ""),
    ('carriage = "@short gap"', to_say('or "@short gap#1" for that version')),
    ("since = 2026-03-02", ""),
    ("", ""),
    ("[[loads]]", to_say("a case's [load], [hold] and [transport]")),
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
    ('force = "60 N"', ""),
    ("", ""),
    ("[[recipes]]", to_say("a case's [program]")),
    ('name = "jars in thin film"', ""),
    ('film = "@thin film"', ""),
    ('loads = ["@jars"]', ""),
    ("", ""),
    ("[recipes.program]", ""),
    ('force_to_load = "45 N"', ""),
    ('rise_per_turn = "200 mm"', ""),
)
