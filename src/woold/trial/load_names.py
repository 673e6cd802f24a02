"""Numbers of loads: 1, 1.0 and 01 are one load."""

from __future__ import annotations

import re
import unicodedata

__all__ = ["load_key"]

_WHOLE = re.compile(r"\+?0*(\d+)(?:[.,]0*)?")


def load_key(typed: str) -> str:
    """What names a load in the store, however its number was typed.

    Args:
        typed: such as "1", "01", " 1.0" or "spare A".
    """
    plain = " ".join(unicodedata.normalize("NFKC", typed).split()).casefold()
    whole = _WHOLE.fullmatch(plain)
    return whole[1] if whole else plain
