"""A commented trial file to start from, its comments in the reader's language."""

from __future__ import annotations

from woold.case.commented import commented_text
from woold.words import to_say

__all__ = ["starter_text"]


def starter_text() -> str:
    """A commented trial file to start from."""
    return commented_text(_LINES)


_LINES: tuple[tuple[str, str], ...] = (
    ("", to_say("A trial: the same loads wrapped in two ways, the baseline and the candidate.")),
    ("", to_say('Quantities are text with a unit. A line "# name = value" shows a default.')),
    ("", ""),
    ('key = "line-1-carriage"', to_say("short name in the store: a-z, 0-9 and hyphens")),
    ('title = "Candidate carriage on line 1"', ""),
    ('question = "Does the candidate carriage save film, with containment not lower?"', ""),
    ('units = "metric"', to_say("units that the worksheet starts with: metric or trade")),
    ("", ""),
    ("[aim]", ""),
    ('saving = "5 %"', to_say("smallest saving at equal hold that would change what you do")),
    ('margin = "10 %"', to_say("largest loss of hold in a zone that counts as not lower")),
    ('power = "90 %"', to_say("chance of showing both, if they are so")),
    (
        'film_spread = "4 %"',
        to_say("load to load; placeholder (2 to 8 %): weigh a few loads first"),
    ),
    (
        'containment_spread = "12 %"',
        to_say("load to load; placeholder (6 to 25 %): read a few loads first"),
    ),
    ('zone_correlation = "30 %"', to_say("of a load's zones; placeholder (0 to 80 %)")),
    (
        'pulls_missing = "10 %"',
        to_say("loads without a reading in a zone; placeholder (0 to 30 %)"),
    ),
    ("", ""),
    ("[looks]", ""),
    ("number = 1", to_say("3: two looks on the way and one at the end")),
    ('# at = ["50 %", "100 %"]', to_say("shares of the loads, instead of evenly spread looks")),
    ('# spending = "late"', to_say('or "even": early looks need less, the last one more')),
    ("", ""),
    ("[order]", ""),
    ('design = "interleaved"', to_say('or "fitted once": before is compared with after')),
    ("loads_per_block = 2", to_say("of each treatment, wrapped close together")),
    ('shifts = ["early", "late"]', ""),
    ('changeover = "each load"', to_say('or "once a block", where changing over takes long')),
    ('rolls = "shared"', to_say('or "one for each treatment", on a machine of its own')),
    ("seed = 1", to_say("the same seed gives the same random order")),
    ("", ""),
    ("# [fitted_once]", to_say('for design = "fitted once"')),
    ('# roll_spread = "1.5 %"', to_say("roll to roll, what is left; placeholder (0.5 to 4 %)")),
    ('# wander = "0.5 %"', to_say("slow changes; placeholder (0 to 2 %)")),
    ("# control = false", to_say("true: an unchanged machine is weighed beside it")),
    ("", ""),
    ("[zones]", ""),
    ('names = ["bottom", "middle", "top"]', ""),
    (
        'limits = ["0.5 m", "1.0 m"]',
        to_say("heights over the deck; left out, thirds of the case's load"),
    ),
    ("", ""),
    ("[[load_types]]", ""),
    ('name = "jars"', ""),
    ("loads_per_year = 40000", to_say("sets the weight of this type in the result")),
    ('# baseline = "today.toml"', to_say('case files, for "predicted beside measured"')),
    ('# candidate = "next.toml"', ""),
)
