"""`woold shelf`: films, carriages, machines, loads and recipes, kept once and by name."""

from __future__ import annotations

import getpass
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from woold.case.shelf import KINDS_OF_THINGS, Shelf, read_shelf
from woold.cli.blocks import print_blocks
from woold.cli.files import Force, must_be_new, write_file
from woold.cli.output import AsTyped, CasePath, JsonFlag, StarterPath, console, new_app, print_json
from woold.cli.starters import Starter, write_starter
from woold.cli.store import StoreUrl
from woold.errors import InputError
from woold.words import say

__all__ = ["app", "no_shelf"]

app = new_app("Films, carriages, machines, loads and recipes, kept once and by name.")

ShelfPath = Annotated[str, typer.Argument(metavar="SHELF.toml", help="The shelf's file.")]
FromFile = Annotated[
    str | None,
    typer.Option("--file", metavar="SHELF.toml", help="The shelf's file; the store's if none."),
]


@app.command()
def new(
    path: StarterPath = None,
    as_json: JsonFlag = False,
    force: Force = False,
) -> None:
    """Write a commented shelf file to start from."""
    from woold.shelf.starter import starter_text

    starter = Starter("shelf", Shelf, say("A shelf"), starter_text())
    write_starter(path, starter, "woold shelf check", as_json, force)


@app.command()
def check(path: ShelfPath, as_typed: AsTyped = None, as_json: JsonFlag = False) -> None:
    """Check a shelf's file, and list what stands there."""
    _show(read_shelf(path, as_typed or ()), path, as_json)


@app.command()
def show(
    name: Annotated[
        str | None, typer.Argument(metavar="[NAME]", help="One thing; everything if none.")
    ] = None,
    file: FromFile = None,
    store: StoreUrl = None,
    as_typed: AsTyped = None,
    as_json: JsonFlag = False,
) -> None:
    """List a shelf, or show one thing with what changed from version to version."""
    shelf, place = _shelf(file, store, as_typed or ()), file or say("the store")
    if name is None:
        _show(shelf, place, as_json)
        return
    from woold.shelf.rows import thing_blocks

    wanted = name.removeprefix("@")
    found = [
        versions
        for kind in KINDS_OF_THINGS
        if (versions := [each for each in shelf.things(kind) if each.name == wanted])
    ]
    if not found:
        names = ", ".join(dict.fromkeys(f'"{each.name}"' for each in shelf.things()))
        raise InputError.one("NAME", repr(name), names, say("Look at: woold shelf show"))
    if as_json:
        from woold.cli.documents import ShelfDocument, ShelfThing

        things = tuple(ShelfThing.of(each) for versions in found for each in versions)
        print_json(ShelfDocument(place, things))
        return
    out = console()
    for versions in found:
        print_blocks(out, thing_blocks(versions))


@app.command()
def keep(
    path: ShelfPath, store: StoreUrl = None, as_typed: AsTyped = None, as_json: JsonFlag = False
) -> None:
    """Put a file's things into the store; what is kept there is never changed."""
    from woold.shelf.kept import KeptShelf
    from woold.store import Store

    opened = Store(store)
    kept = KeptShelf(opened.engine)
    shelf = read_shelf(path, as_typed or (), kept.shelf())
    added = kept.add(shelf, getpass.getuser())
    opened.close()
    if as_json:
        from woold.cli.documents import ShelfDocument, ShelfThing

        print_json(ShelfDocument(path, tuple(ShelfThing.of(each) for each in added)))
    elif len(added) == 1:
        print(say("1 thing is new in the store."))
    else:
        print(say("{count} things are new in the store.", count=len(added)))


@app.command()
def write(
    path: Annotated[str, typer.Argument(metavar="FILE", help="File to write.")],
    store: StoreUrl = None,
    as_json: JsonFlag = False,
    force: Force = False,
) -> None:
    """Write the store's things, with all versions, to a shelf file."""
    from woold.case.text import toml_from_table
    from woold.shelf.kept import shelf_table

    must_be_new([path], force)
    shelf = _shelf(None, store)
    table = shelf_table(tuple(shelf.things()))
    write_file(Path(path), toml_from_table(table, Shelf).encode(), force)
    if as_json:
        from woold.cli.documents import ShelfDocument, ShelfThing

        print_json(ShelfDocument(path, tuple(ShelfThing.of(each) for each in shelf.things())))
        return
    print(say("Wrote {file}. Next: {command}", file=path, command=f"woold shelf check {path}"))


@app.command()
def since(
    case_path: CasePath,
    file: FromFile = None,
    store: StoreUrl = None,
    as_typed: AsTyped = None,
    as_json: JsonFlag = False,
) -> None:
    """See what changed on the shelf since a case was made of it; status 1 where something did."""
    from woold.case.file import read_case
    from woold.shelf.rows import since_blocks
    from woold.shelf.since import changed_since

    of_shelf = [each for each in as_typed or () if each.partition("[")[0] in KINDS_OF_THINGS]
    case = read_case(case_path, [each for each in as_typed or () if each not in of_shelf])
    found = changed_since(case, _shelf(file, store, of_shelf)) if case.made_of else ()
    if as_json:
        from woold.cli.documents import ShelfSinceDocument

        print_json(ShelfSinceDocument(case.title, found))
    else:
        print_blocks(console(), since_blocks(found))
    if any(each.state != "as it was" for each in found):
        raise typer.Exit(1)


def _shelf(file: str | None, store: str | None, as_typed: Sequence[str] = ()) -> Shelf:
    """The shelf of a file, or else of the store.

    Args:
        file: its name.
        store: where it is kept.
        as_typed: fields of the file that were asked about and are right.
    """
    if file is not None:
        return read_shelf(file, as_typed)
    from woold.shelf.kept import KeptShelf
    from woold.store import Store

    opened = Store(store)
    shelf = KeptShelf(opened.engine).shelf()
    opened.close()
    if shelf is None:
        raise no_shelf()
    return shelf


def no_shelf() -> InputError:
    """That nothing is kept on the store's shelf yet."""
    return InputError.one(
        "--store", say("a store without a shelf"), say("a store in which things are kept"),
        say("Put a file's things there: woold shelf keep SHELF.toml"),
    )  # fmt: skip


def _show(shelf: Shelf, place: str, as_json: bool) -> None:
    if as_json:
        from woold.cli.documents import ShelfDocument, ShelfThing

        print_json(ShelfDocument(place, tuple(ShelfThing.of(each) for each in shelf.things())))
        return
    from woold.shelf.rows import shelf_blocks

    print_blocks(console(), shelf_blocks(shelf, place))
