"""Units as people write them: Kg, lbs., N/mm2, Nm, 1/min and the like, by one name each."""

from __future__ import annotations

import re

from woold.units.factors import FACTORS

__all__ = [
    "AMBIGUOUS",
    "SMALLER",
    "customary",
    "is_bare_reciprocal",
    "length_mark",
    "usual_spelling",
]

# Behind each name, other ways to write it; upper and lower case do not count among them.
_OTHERS = {
    "m": "meter metre meters metres mtr",
    "mm": "millimeter millimetre millimeters millimetres",
    "cm": "centimeter centimetre centimeters centimetres",
    "km": "kilometer kilometre",
    "um": "micrometer micrometre micrometers micrometres micron microns mic mics my",
    "in": "inch inches zoll",
    "ft": "foot feet",
    "yd": "yard yards",
    "mil": "mils thou",
    "gauge": "gauges ga gge",
    "kg": "kgs kilo kilos kilogram kilograms kilogramme kilogrammes",
    "g": "gram grams gramme grammes gm gms",
    "mg": "milligram milligrams",
    "t": "tonne tonnes te metric-ton metric-tons to",
    "lb": "lbs lbm pound pounds",
    "oz": "ounce ounces",
    "N": "newton newtons",
    "kN": "kilonewton kilonewtons",
    "lbf": "lb-f lbsf lbs-f pound-force pounds-force poundforce",
    "kgf": "kg-f kp kilopond",
    "Pa": "pascal pascals",
    "kPa": "kilopascal kilopascals",
    "MPa": "megapascal megapascals n/mm2 n/mm^2 n/mm² n/sqmm mn/m2 mn/m²",
    "GPa": "gigapascal kn/mm2 kn/mm² kn/mm^2",
    "bar": "bars",
    "psi": "lbf/in2 lbf/in² lbf/in^2 lb/in2 lb/in² lb/in^2",
    "ksi": "",
    "kg/m^3": "kg/m3 kg/cbm kg/m³",
    "g/cm^3": "g/cm3 g/cc g/ccm g/ml g/cm³ kg/dm3 kg/l kg/dm³",
    "lb/ft^3": "lb/ft3 lbs/ft3 lb/cuft lb/ft³ pcf",
    "lb/in^3": "lb/in3 lb/cuin lb/in³",
    "g/m": "",
    "N*m": "nm n-m n·m n.m newtonmeter newtonmetre newton-metre newton-metres newton-meter",
    "N*mm": "nmm n-mm n·mm n.mm",
    "N*m/rad": "nm/rad n-m/rad",
    "N*m/deg": "nm/deg nm/° n-m/deg n·m/deg",
    "N*m*s": "nms n-m-s nms/rad nm*s nm*s/rad n·m·s/rad",
    "lbf*ft": "lb-ft ft-lb ft-lbs lb*ft ft*lb ft*lbf lbf-ft ft-lbf ftlb lbft",
    "lbf*in": "lb-in in-lb in-lbs lb*in in*lb in*lbf lbf-in in-lbf inlb lbin",
    "N/mm": "",
    "N/m": "",
    "N/cm": "",
    "lbf/in": "lb/in lbs/in pli",
    "lbf/ft": "",
    "kg*m^2": "kgm2 kgm^2 kgm² kg-m2 kg·m2 kg*m2 kg*m²",
    "g*m^2": "gm2 gm²",
    "lb*ft^2": "lb-ft2 lbft2 lb*ft2",
    "mm^2": "mm2 sqmm mm²",
    "cm^2": "cm2 sqcm cm²",
    "m^2": "m2 sqm m²",
    "in^2": "in2 sqin in²",
    "ft^2": "ft2 sqft ft²",
    "m/s^2": "m/s2 m/s/s m/s²",
    "mm/s^2": "mm/s2 mm/s²",
    "ft/s^2": "ft/s2 ft/s²",
    "in/s^2": "in/s2 in/s²",
    "m/s": "mps m/sec",
    "mm/s": "mm/sec",
    "m/min": "mpm m/minute",
    "ft/min": "fpm ft/minute feet/min",
    "ft/s": "fps ft/sec",
    "in/s": "ips in/sec",
    "km/h": "kmh kph",
    "m/s/rad": "m/s-rad m/(s*rad)",
    "rpm": "r/min rev/min revs/min u/min tr/min turn/min turns/min r.p.m",
    "turn/s": "r/s rev/s revs/s turns/s rps",
    "rad/s": "radian/s rad/sec",
    "deg/s": "°/s deg/sec degree/s degrees/s",
    "deg": "° degree degrees",
    "rad": "radian radians",
    "Hz": "hertz cps",
    "kHz": "kilohertz",
    "s": "sec secs second seconds",
    "ms": "msec millisecond milliseconds",
    "min": "mins minute minutes",
    "h": "hr hrs hour hours",
    "day": "d days",
    "week": "weeks wk wks",
    "year": "years yr yrs a",
    "W": "watt watts",
    "kW": "kilowatt kilowatts",
    "percent": "% pct per-cent prozent",
    "degC": "°c celsius centigrade degree-c deg-c degrees-c",
    "degF": "°f fahrenheit degree-f deg-f degrees-f",
    "K": "kelvin kelvins",
}

AMBIGUOUS = {
    "ton": ("t", "2000 lb"),
    "tons": ("t", "2000 lb"),
    "tn": ("t", "2000 lb"),
    "gr": ("g", "grain"),
    "cwt": ("100 lb", "112 lb"),
    "hundredweight": ("100 lb", "112 lb"),
}
"""Units that mean different things in different places, and what to write instead."""

SMALLER = {
    "ft": ("in",),
    "lb": ("oz",),
    "week": ("day",),
    "day": ("h",),
    "h": ("min",),
    "min": ("s",),
    "m": ("cm", "mm"),
    "cm": ("mm",),
    "kg": ("g",),
}
"""Units of which a number may stand behind one of a larger unit: 5 ft 3 in, 1 h 30 min."""

_RECIPROCAL = re.compile(r"(?:1\s*)?/\s*(s|sec|min|h)\b|(s|sec|min|h)\s*\^?\s*-1\b", re.IGNORECASE)
_CUSTOMARY = (
    *("lb", "lbs", "oz", "lbf", "ozf", "in", "inch", "inches", "ft", "foot", "feet", "yd"),
    *("mil", "mils", "gauge", "ga", "psi", "ksi", "degF", "fpm", "pli"),
)


def _squeezed(text: str) -> str:
    """A unit without the differences that do not count: case, blanks, a dot at its end."""
    return re.sub(r"\s*([/*·^()-])\s*", r"\1", text.strip().rstrip(".")).casefold()


def _by_spelling() -> dict[str, str]:
    found: dict[str, str] = {}
    for name, others in _OTHERS.items():
        for each in (name, *others.split()):
            found.setdefault(_squeezed(each), name)
    return found


_SPELLED = _by_spelling()
_MEGA_OR_MILLI = ("mn", "mw", "mg", "mhz", "ms")
"""Where a capital M would make it a million times a million of it: these keep their case."""


def usual_spelling(unit: str, kind_name: str) -> str:
    """A unit by the name that the table of units has it by; as it is where it is not known.

    Args:
        unit: what was typed behind the number.
        kind_name: key of `woold.units.KINDS`: C is a temperature only where one is asked for.
    """
    if unit in FACTORS:
        return unit
    if kind_name == "temperature" and unit in ("C", "c", "F", "f", "k"):
        return {"c": "degC", "f": "degF", "k": "K"}[unit.casefold()]
    if kind_name == "thickness" and unit in ("µ", "μ", "u"):
        return "um"
    squeezed = _squeezed(unit)
    bare = _RECIPROCAL.fullmatch(unit.strip())
    if bare is not None:
        return {"s": "1/s", "sec": "1/s", "min": "1/min", "h": "1/h"}[
            (bare[1] or bare[2]).casefold()
        ]
    if squeezed in _MEGA_OR_MILLI and unit[:1] == "M":
        return unit
    return _SPELLED.get(squeezed) or _SPELLED.get(squeezed.replace(" ", "-")) or _joined(unit)


def _joined(unit: str) -> str:
    """Units side by side are multiplied: "N m" is N*m, "m s-1" is m*s^-1."""
    text = re.sub(r"\b([A-Za-z]+)(-[12])\b", r"\1^\2", unit.strip())
    text = re.sub(r"(?<=[A-Za-z])([234])\b", r"^\1", text)
    return re.sub(r"(?<=[A-Za-z0-9])\s+(?=[A-Za-z])", "*", text)


def is_bare_reciprocal(unit: str) -> bool:
    """Whether a unit of turning speed names no angle, so that it counts turns: 1/min, Hz."""
    return re.search(r"rad|deg|°|turn|rpm|rev", unit) is None


def customary(unit: str) -> bool:
    """Whether a unit is one of those that nobody writes behind a decimal comma: lb, in, psi."""
    return any(word in _CUSTOMARY for word in re.split(r"[^A-Za-z]+", unit))


def length_mark(unit: str) -> str:
    """Feet or inches, where a mark stands for them; "" where none does."""
    return {"'": "ft", '"': "in", "''": "in"}.get(unit.strip(), "")
