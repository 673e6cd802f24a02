"""Cycle records in text tables of any usual kind, by the names that their columns are known by."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from woold.prediction.result import Finding
from woold.tables.text_table import (
    MISSING,
    decoded_table,
    dialect_of,
    joined,
    split_heading,
)
from woold.words import say

if TYPE_CHECKING:
    import polars as pl

__all__ = ["read_text"]

Meaning = Callable[[str], tuple[str, str, str] | None]


def read_text(path: Path, meaning_of: Meaning, findings: list[Finding]) -> pl.DataFrame:
    """A text table with everything as text: what cannot be read must be named.

    Args:
        path: the file.
        meaning_of: what a column is, by its name; None where it is not known.
        findings: how the file was read is added.

    Raises:
        InputError: no text.
    """
    import polars as pl

    allowed = say("a CSV file in UTF-8, or a Parquet file")
    text, decided = decoded_table(path.read_bytes(), str(path), allowed)
    dialect, said = dialect_of(text)
    frame = pl.read_csv(
        text.encode("utf-8"),
        infer_schema=False,
        null_values=list(MISSING),
        truncate_ragged_lines=False,
        separator=dialect.separator,
    )
    frame = frame.rename({name: _named_as_known(name, meaning_of) for name in frame.columns})
    if dialect.decimal_comma:
        # The comma is no sign in any date or label that is read as a number.
        numbers = [
            name
            for name in frame.columns
            if (meaning := meaning_of(name)) is not None and meaning[0] in ("measure", "count")
        ]
        frame = frame.with_columns(
            pl.col(name).str.replace_all(".", "", literal=True).str.replace(",", ".", literal=True)
            for name in numbers
        )
    if decided or said:
        sentence = joined((*decided, *said))
        findings.append(Finding("read_as", path.name, sentence))
    return frame


def _named_as_known(heading: str, meaning_of: Meaning) -> str:
    """A heading "Film mass [g]" by the name of its column, film_mass_g; others as they are."""
    name, unit = split_heading(heading)
    made = f"{name} {unit}".strip().casefold().replace("%", "percent")
    made = "_".join(made.split())
    return made if meaning_of(made) is not None else heading.strip()
