"""Predictions of a case with its values changed, one row each."""

from __future__ import annotations

import itertools
from collections.abc import Collection, Mapping, Sequence
from dataclasses import fields
from typing import TYPE_CHECKING, Any

from woold.case.model import Case
from woold.errors import InputError, PhysicsError, Question
from woold.prediction.predict import predict
from woold.units import KINDS
from woold.words import say

if TYPE_CHECKING:
    import polars as pl

__all__ = ["sweep"]

MOST_PREDICTIONS = 100_000
"""More is a typing error, or a question for a design [-]."""


def sweep(
    case: Case, changes: Mapping[str, Sequence[Any]], as_typed: Collection[str] = ()
) -> pl.DataFrame:
    """Predictions of every combination of changed values, one row each.

    The first columns are the changed fields, as text by their names and as numbers in SI by name
    and unit. The others are the single values of a prediction, by their names in its document.
    Where values cannot happen together, or are not usual and nobody said that they are right,
    `refused` says why and the prediction is empty.

    Args:
        case: what is changed.
        changes: by dotted field name, the values to try, as they would stand in a case file:
            {"film.thickness": ["47 gauge", "63 gauge"]}.
        as_typed: fields whose values are right although they are not usual.

    Returns:
        A polars frame; `.to_pandas()` makes a pandas one.

    Raises:
        InputError: a field or value that cannot be used, or too many combinations.
    """
    import polars as pl

    names = list(changes)
    _require_few(changes)
    rows = []
    for values in itertools.product(*changes.values()):
        given = dict(zip(names, values, strict=True))
        row: dict[str, Any] = {name: _text(value) for name, value in given.items()}
        try:
            changed = case.change(given, as_typed)
        except InputError as error:
            if not all(isinstance(each, Question) for each in error.problems):
                raise
            rows.append(row | {"refused": str(error)})
            continue
        si = {each.field: each for each in changed.inputs()}
        for name in (name for name in names if name in si):
            unit = KINDS[si[name].kind].unit if si[name].kind in KINDS else ""
            row[f"{name} [{unit or '-'}]"] = si[name].value
        rows.append(row | _predicted(changed))
    return pl.DataFrame(rows, schema_overrides={"refused": pl.String}, infer_schema_length=None)


def _require_few(changes: Mapping[str, Sequence[Any]]) -> None:
    count = 1
    for name, values in changes.items():
        if isinstance(values, str) or not isinstance(values, Sequence):
            raise InputError.one(
                name,
                repr(values),
                say("a list of values"),
                say("Write the values in a list, in the order that they are computed."),
            )
        count *= len(values)
    if count > MOST_PREDICTIONS:
        raise InputError.one(
            "changes",
            say("combinations: {count}", count=count),
            say("at most {most}", most=MOST_PREDICTIONS),
            say("Try fewer values."),
        )


def _text(value: Any) -> str:
    return str(value["value"] if isinstance(value, Mapping) else value)


def _predicted(case: Case) -> dict[str, Any]:
    """Single values of the case's prediction, or why there is none."""
    try:
        prediction = predict(case)
    except PhysicsError as error:
        return {"refused": str(error)}
    # Lists of many hundred rows are not asked for, and would take longer than the prediction.
    shown = {e.name: getattr(prediction, e.name) for e in fields(prediction) if e.compare}
    single = {
        name: float(value) if isinstance(value, int) and not isinstance(value, bool) else value
        for name, value in shown.items()
        if name != "title" and (value is None or isinstance(value, str | float | int | bool))
    }
    return {"refused": None, **single}
