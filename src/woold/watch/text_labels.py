"""Text columns as codes: a million rolls and shifts compared as whole numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from woold.words import say

if TYPE_CHECKING:
    import polars as pl

__all__ = ["Labels", "labels_of"]


@dataclass(frozen=True, slots=True)
class Labels:
    """Text of each load, as an index into names.

    Args:
        codes: shape (loads,), 0 to names - 1.
        names: the texts; an empty one where nothing was recorded.
    """

    codes: NDArray[np.int64]
    names: tuple[str, ...]

    def at(self, index: int) -> str:
        """Text of a load, "nothing" where none was recorded."""
        return self.names[self.codes[index]] or say("nothing")

    def take(self, rows: NDArray[np.int64]) -> Labels:
        """The labels of some loads."""
        return Labels(self.codes[rows], self.names)


def labels_of(texts: pl.Series | Sequence[str | None]) -> Labels:
    """Labels of a column of text."""
    import polars as pl

    column = pl.Series("text", texts, dtype=pl.String).fill_null("")
    names = column.unique().sort()
    codes = column.replace_strict(names, pl.int_range(len(names), eager=True))
    return Labels(codes.to_numpy().astype(np.int64), tuple(names))
