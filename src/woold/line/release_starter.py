"""A commented release file to start from, its comments in the reader's language."""

from __future__ import annotations

from woold.case.commented import commented_text
from woold.words import to_say

__all__ = ["release_starter_text"]


def release_starter_text() -> str:
    """A commented release file to start from."""
    return commented_text(_LINES)


_LINES: tuple[tuple[str, str], ...] = (
    ("", to_say("A release: which machines get a carriage first, and what to test before.")),
    ("", to_say("woold line release RELEASE.toml SITES.csv weighs it against the trials so far;")),
    ("", to_say("without SITES.csv it takes the trials of the store.")),
    ("", to_say("Nothing below exists: replace it by what you have.")),
    ("", ""),
    ('title = "Invented plants"', ""),
    ('carriage = "short gap"', to_say("the one to be released, as the table of sites names it")),
    ("years = 2.0", to_say("over which a saving counts")),
    ('trial_cost = "1500 USD"', to_say("of one trial")),
    ("trial_days = 2.0", to_say("of a technician, for one trial")),
    ('technician_day = "400 USD"', to_say("leave it out where costs hold it already")),
    ('least_margin = "0 %"', to_say("of predicted hold, below which no machine is changed")),
    (
        '# register_file = "machines.csv"',
        to_say("a table instead of [[machine]] below"),
    ),
    ("", ""),
    ("[[stage]]", to_say("stages, the first one first; without any, all at once")),
    ('name = "pilot"', ""),
    ("start = 2026-09-01", ""),
    ('budget = "12000 USD"', to_say("leave it out where money is no limit")),
    ("technician_days = 10.0", ""),
    ("", ""),
    ("[[stage]]", ""),
    ('name = "rest of the year"', ""),
    ("start = 2026-11-01", ""),
    ('budget = "30000 USD"', ""),
    ("technician_days = 25.0", ""),
    ("", ""),
    (
        "# [[trial]]",
        to_say("of the store, where its cases do not name from the shelf what it tried"),
    ),
    ('# key = "line-1-carriage"', ""),
    ('# machine = "T12"', to_say("the machine, or its model")),
    ('# film = "63 gauge"', ""),
    ("", ""),
    ("[[machine]]", to_say("one for each machine that may get the carriage")),
    ('name = "hall 2, machine 3"', ""),
    ('site = "Invented plant"', ""),
    ('model = "T12"', to_say("machines of a model and a film are tried together")),
    ('film = "63 gauge"', ""),
    ('carriage_now = "long gap"', ""),
    ("loads_per_year = 60000", ""),
    ("hours_per_year = 4000.0", to_say("that it runs; not needed")),
    ('film_per_load = "300 g"', to_say("today")),
    ('film_price = "2.2 USD/kg"', ""),
    ('conversion_cost = "4000 USD"', to_say("carriage, parts and work, fitted")),
    ("technician_days = 1.5", ""),
    ('match = "passed"', to_say("passed, failed or none: woold carriage match")),
    ('hold_margin = "12 %"', to_say("predicted hold above the hold asked for: woold predict")),
)
