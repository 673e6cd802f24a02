"""What the trial commands share: options, the store, files to write, and how results are worded."""

from __future__ import annotations

import getpass
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from woold.cli.blocks import print_blocks
from woold.cli.output import JsonFlag, console, table_units
from woold.errors import InputError
from woold.rows.blocks import Block
from woold.rows.wording import Wording
from woold.words import say

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
    "write_new",
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


def write_new(path: str, content: bytes) -> None:
    """Write a file that does not exist yet.

    Raises:
        InputError: it exists, or cannot be written.
    """
    try:
        with Path(path).open("xb") as stream:
            stream.write(content)
    except FileExistsError:
        raise InputError.one(
            path, say("a file that exists"), say("a new file name"), say("Nothing was changed.")
        ) from None
    except OSError as error:
        raise InputError.one(
            path, error.strerror or say("cannot be written"), say("a file that can be written")
        ) from None


def told(blocks: Callable[[Wording], list[Block]]) -> None:
    """Print a result's blocks, in the units that the screen has room for.

    Args:
        blocks: of the result, in given words and units.
    """
    out = console()
    print_blocks(out, blocks(Wording(table_units(out, "both"))))
