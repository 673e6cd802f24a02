"""What a trace's headings say: which column holds what, and in which unit."""

from __future__ import annotations

import re
from collections.abc import Sequence

__all__ = ["POSITION_KINDS", "TIME_UNITS", "found_places", "heading_unit"]

TIME_UNITS = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "µs": 1e-6, "min": 60.0, "h": 3600.0}
POSITION_KINDS = {
    "deg": "angle",
    "rad": "angle",
    "mm": "small_length",
    "m": "small_length",
    "in": "small_length",
    **dict.fromkeys(("%", "percent"), "fraction"),
}
_SPELLINGS = {
    "deg": ("°", "º", "degree", "degrees"),
    "rad": ("radian", "radians"),
    "s": ("sec", "secs", "second", "seconds"),
    "ms": ("msec", "millisecond", "milliseconds"),
    "us": ("μs", "microsecond", "microseconds"),
    "min": ("minute", "minutes"),
    "h": ("hour", "hours", "hr"),
    "mm": ("millimetre", "millimetres", "millimeter", "millimeters"),
    "m": ("metre", "metres", "meter", "meters"),
    "in": ("inch", "inches", '"'),
    "%": ("pct", "per cent"),
}
_UNITS = {name: name for name in (*TIME_UNITS, *POSITION_KINDS)} | {
    other: unit for unit, others in _SPELLINGS.items() for other in others
}

# By words of a heading, those that say it best first.
_WORDS = {
    "reading": (("standard", "error"),),
    "table": (("turntable",), ("table",)),
    "pulse": (("pulse",), ("index",)),
    "time": (("time",), ("timestamp",), ("elapsed",), ("t",), ("seconds",)),
    "position": (
        ("dancer", "angle"),
        ("dancer", "position"),
        ("dancer", "travel"),
        ("dancer",),
        ("arm", "angle"),
        ("arm", "position"),
        ("arm",),
        ("angle",),
        ("position",),
        ("travel",),
    ),
}
_OTHERS = frozenset(
    {
        "speed",
        "velocity",
        "rate",
        "force",
        "torque",
        "tension",
        "current",
        "set",
        "setpoint",
        "target",
        "command",
        "asked",
        "error",
        "status",
        "state",
        "number",
        "count",
        "temperature",
    }
)
"""Words of headings that hold something else than a place or a time."""


def found_places(headings: Sequence[str]) -> dict[str, int]:
    """Columns by what their headings say; what two say equally well is left out.

    Args:
        headings: of all columns.

    Returns:
        Column of the time, the position, its standard error, the pulse and the table, as far as
        they are said.
    """
    words = [frozenset(_words(heading)) for heading in headings]
    places: dict[str, int] = {}
    for name, ways in _WORDS.items():
        for way in ways:
            found = [
                place
                for place, said in enumerate(words)
                if said.issuperset(way)
                and not said & (_OTHERS - set(way))
                and place not in places.values()
            ]
            if found:
                if len(found) == 1:
                    places[name] = found[0]
                break
    return places


def _words(heading: str) -> list[str]:
    bare = re.sub(r"[\[(].*", "", heading)
    # "dancerAngle" is two words as well.
    parted = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", bare)
    return re.findall(r"[a-zµ]+", parted.lower())


def heading_unit(heading: str) -> str:
    """The unit that a heading says, as this program writes it; as it stands where it is unknown.

    In brackets, or as the last word: "time [s]", "Dancer angle (°)", "angle_deg", "time, ms".

    Args:
        heading: of a column.

    Returns:
        The unit, "" for none.
    """
    in_brackets = re.search(r"[\[(]([^\])]*)[\])]", heading)
    if in_brackets:
        return _known(in_brackets[1]) or in_brackets[1].strip()
    last = re.fullmatch(r".*?[\s_,/.:-]+([^\s_,/:-]+)\s*|.*?([°º%])\s*", heading.strip())
    return _known(last[1] or last[2]) if last else ""


def _known(text: str) -> str:
    plain = text.strip().strip(".").strip()
    return _UNITS.get(plain) or _UNITS.get(plain.lower(), "")
