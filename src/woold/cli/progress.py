"""That something is going on, on standard error and on a terminal alone."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from woold.words import say

__all__ = ["counting", "working"]


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


@contextmanager
def counting(words: str) -> Iterator[Callable[[int, int], None]]:
    """A bar that grows while many of something are done, on a terminal alone.

    Args:
        words: what is counted.

    Yields:
        What is told how many are done, and of how many.
    """
    if not sys.stderr.isatty():
        yield lambda _done, _total: None
        return
    from rich.console import Console
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TextColumn,
        TimeRemainingColumn,
    )

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
    with Progress(
        *columns, TimeRemainingColumn(), console=Console(stderr=True), transient=True
    ) as bar:
        task = bar.add_task(words, total=None)
        yield lambda done, total: bar.update(task, completed=done, total=total)
