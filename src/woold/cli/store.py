"""`woold store`: whether the store is sound, copies of it, and the way back from one."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from woold.cli.blocks import print_blocks
from woold.cli.output import JsonFlag, console, new_app, print_json
from woold.cli.progress import working
from woold.rows.wording import Wording
from woold.words import say

__all__ = ["app"]

app = new_app("Whether the store of records is sound, copies of it, and the way back from one.")

StoreUrl = Annotated[
    str | None, typer.Option("--store", metavar="URL", help="Database URL or file of records.")
]


@app.command()
def check(store: StoreUrl = None, as_json: JsonFlag = False) -> None:
    """See whether everything in the store is sound; exit status 1 where it is not."""
    from woold.store import Store
    from woold.store.backup import check_store

    opened = Store(store)
    with working():
        held, wrong = check_store(opened.engine)
    opened.close()
    if as_json:
        from woold.cli.documents import StoreCheckDocument

        print_json(StoreCheckDocument(not wrong, tuple(wrong), held.rows, held.sha256))
    else:
        _show(say("In the store"), held.rows)
        for each in wrong:
            print(each)
        print(say("The store is sound.") if not wrong else say("The store is not sound."))
    if wrong:
        raise typer.Exit(1)


@app.command()
def backup(
    file: Annotated[str, typer.Argument(metavar="FILE", help="A new file, or a folder.")],
    store: StoreUrl = None,
    as_json: JsonFlag = False,
) -> None:
    """Copy the store while it is in use, and prove that the copy is whole."""
    import datetime

    from woold.store import Store
    from woold.store.backup import back_up, name_of_copy

    path = Path(file)
    if path.is_dir():
        path /= name_of_copy(datetime.datetime.now(datetime.UTC))
    opened = Store(store)
    with working(say("Copying")):
        held = back_up(opened.engine, path)
    opened.close()
    if as_json:
        from woold.cli.documents import StoreBackupDocument

        print_json(StoreBackupDocument(str(path), held.rows, held.sha256))
        return
    _show(say("In the copy"), held.rows)
    print(say("Copied to {file}, and proven.", file=path))


@app.command()
def restore(
    file: Annotated[str, typer.Argument(metavar="FILE", help="A copy, as backup wrote it.")],
    store: Annotated[
        str, typer.Option("--store", metavar="URL", help="A new file, or an empty database.")
    ],
    as_json: JsonFlag = False,
) -> None:
    """Make a new store from a copy, and prove that it is whole; nothing is overwritten."""
    from woold.store.backup import restore_store

    with working(say("Copying")):
        held = restore_store(file, store)
    if as_json:
        from woold.cli.documents import StoreRestoredDocument

        print_json(StoreRestoredDocument(held.rows, held.sha256))
        return
    _show(say("In the new store"), held.rows)
    print(say("Restored from {file}, and proven.", file=file))


def _show(title: str, rows: dict[str, int]) -> None:
    from woold.rows.store_rows import store_table

    print_blocks(console(), [store_table(title, rows, Wording())])
