"""That something is going on, on standard error and on a terminal alone."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from woold.words import say

__all__ = ["working"]


@contextmanager
def working(words: str = "") -> Iterator[Callable[[str], None]]:
    """A line that moves while something is calculated, and is gone afterwards.

    Args:
        words: what is done; that something is calculated if not given.

    Yields:
        What says what is done next.
    """
    if not sys.stderr.isatty():
        yield lambda _: None
        return
    from rich.console import Console
    from rich.text import Text

    shown = Console(stderr=True, highlight=False)
    with shown.status(Text(f"{words or say('Calculating')} …"), spinner="line") as status:
        yield lambda what: status.update(Text(f"{what} …"))
