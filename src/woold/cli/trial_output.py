"""What the trial commands share: options, the store, and how results are worded."""

from __future__ import annotations

import getpass
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import typer

from woold.cli.blocks import print_blocks
from woold.cli.output import JsonFlag, console, table_units
from woold.rows.blocks import Block
from woold.rows.wording import Wording

if TYPE_CHECKING:
    from woold.store import Store

__all__ = [
    "AS_USUAL",
    "By",
    "RecordOptions",
    "StoreUrl",
    "TrialKey",
    "told",
    "trial_store",
]

StoreUrl = Annotated[
    str | None,
    typer.Option(
        "--store",
        metavar="URL",
        envvar="WOOLD_STORE",
        help="Database URL or SQLite file; the store in your data folder if not given.",
    ),
]
TrialKey = Annotated[str, typer.Argument(metavar="TRIAL", help="Key of a trial that is kept.")]
By = Annotated[
    str | None, typer.Option("--by", metavar="NAME", help="Who writes; your login if not given.")
]


@dataclass(frozen=True, slots=True)
class RecordOptions:
    """What every command is asked for that writes into the store."""

    as_json: JsonFlag = False
    store_url: StoreUrl = None
    by: By = None

    @property
    def person(self) -> str:
        """Who writes."""
        return self.by or getpass.getuser()


AS_USUAL = RecordOptions()


@contextmanager
def trial_store(url: str | None) -> Iterator[Store]:
    """The store, closed afterwards."""
    from woold.store import Store

    store = Store(url)
    try:
        yield store
    finally:
        store.close()


def told(blocks: Callable[[Wording], list[Block]]) -> None:
    """Print a result's blocks, in the units that the screen has room for.

    Args:
        blocks: of the result, in given words and units.
    """
    out = console()
    print_blocks(out, blocks(Wording(table_units(out, "both"))))
