"""`woold line release`: which machines get a carriage first, and what to test before."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from woold.case.asked import cells_of
from woold.cli.blocks import print_blocks
from woold.cli.files import Force
from woold.cli.line_kits import app
from woold.cli.output import AsTyped, JsonFlag, StarterPath, console, print_json
from woold.cli.progress import working
from woold.cli.starters import Starter, write_starter
from woold.words import say

__all__ = ["app"]


@app.command()
def release(
    release_path: Annotated[
        str, typer.Argument(metavar="RELEASE.toml", help="Machines, costs and stages.")
    ],
    table_path: Annotated[
        str, typer.Argument(metavar="SITES.csv", help="Table of sites: one row a trial so far.")
    ],
    as_typed: AsTyped = None,
    as_json: JsonFlag = False,
) -> None:
    """Which machines get a carriage first, in which stage, and which test is worth most."""
    from woold.line.release import release as released
    from woold.line.release_file import read_release
    from woold.sites.read_sites import read_sites

    cells, fields = cells_of(as_typed or ())
    asked = read_release(Path(release_path), fields)
    table = read_sites(Path(table_path), cells)
    with working(say("Looking for the best set of machines")):
        result = released(asked, table)
    if as_json:
        print_json(result)
        return
    print_blocks(console(), result.blocks())


@app.command("new-release")
def new_release(path: StarterPath = None, as_json: JsonFlag = False, force: Force = False) -> None:
    """Write a commented release file to start from."""
    from woold.line.release_file import ReleaseFile
    from woold.line.release_starter import release_starter_text

    starter = Starter("release", ReleaseFile, say("A release"), release_starter_text())
    write_starter(path, starter, "woold line release", as_json, force)
