"""Writing fitted values back into a case file, with their origin; the rest of the file is kept."""

from __future__ import annotations

import datetime
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from woold.case.file import case_from_table
from woold.errors import InputError
from woold.prediction.film_on_load import film_on_load
from woold.trial.calibrate import Calibration
from woold.units import KINDS, from_si, significant
from woold.words import say

__all__ = ["calibrated_case_text"]


def calibrated_case_text(case_text: str, calibration: Calibration, today: datetime.date) -> str:
    """A case file's text with the identified parameters of a calibration written in.

    Comments and order are kept.

    Args:
        case_text: the case file as it is.
        calibration: the fit.
        today: date for the origin.

    Raises:
        InputError: no parameter was identified.
    """
    import tomlkit

    identified = [each for each in calibration.parameters if each.is_identified]
    if not identified:
        raise InputError.one(
            "calibration",
            say("no parameter that the readings tell"),
            say("at least one"),
            say("Weigh film, read marks, widths, or pulls at several ages."),
        )
    document: Any = tomlkit.parse(case_text)
    origin = f"fitted to trial {calibration.trial}, {calibration.treatment}, {today.isoformat()}"
    for each in identified:
        section, _, name = each.field.partition(".")
        table = document.setdefault(section, tomlkit.table())
        unit = KINDS[each.kind].metric
        entry = tomlkit.inline_table()
        entry["value"] = _text(each.after, each.kind, unit)
        entry["origin"] = origin
        # A case's range is read as a PERT distribution, so its ends are that one's.
        if each.least is not None and each.most is not None:
            entry["low"] = _text(each.least, each.kind, unit)
            entry["high"] = _text(each.most, each.kind, unit)
        table[name] = entry
        if each.field == "film.width_loss" and "width_loss_prestretch" not in table:
            delivered = film_on_load(case_from_table(tomllib.loads(case_text))).delivered
            table["width_loss_prestretch"] = _text(delivered, "elongation", "percent")
    _write_thickness(document, calibration, origin)
    text: str = tomlkit.dumps(document)
    case_from_table(_plain(document))  # never hand out a case that cannot be read
    return text


def _write_thickness(document: Any, calibration: Calibration, origin: str) -> None:
    """The film's thickness by its rolls, where they were weighed."""
    import tomlkit

    found = calibration.mass_error
    if found is None or found.thickness_from_rolls_m is None:
        return
    entry = tomlkit.inline_table()
    entry["value"] = _text(found.thickness_from_rolls_m, "thickness", "um")
    entry["origin"] = f"{origin}, by the rolls' mass and length"
    document.setdefault("film", tomlkit.table())["thickness"] = entry


def case_text_of(path: Path | str) -> str:
    """Text of a case file."""
    try:
        return Path(path).read_text(encoding="utf-8")
    except OSError as error:
        raise InputError.one(
            str(path),
            error.strerror or "cannot be read",
            say("a case file"),
            say("Check the name."),
        ) from None


def _plain(document: Any) -> Mapping[str, Any]:
    plain: Mapping[str, Any] = document.unwrap()
    return plain


def _text(value: float, kind: str, unit: str) -> str:
    """A quantity as a case file spells it, to five digits."""
    spelled = "%" if unit == "percent" else unit
    return f"{significant(from_si(value, kind, unit), 5).replace(',', '')} {spelled}".strip()
