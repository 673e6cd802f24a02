"""`woold line release`: which machines get a carriage first, and what to test before."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from woold.case.asked import cells_of
from woold.cli.blocks import print_blocks
from woold.cli.files import Force
from woold.cli.line_kits import app
from woold.cli.option_groups import grouped_options
from woold.cli.output import AsTyped, JsonFlag, StarterPath, console, print_json
from woold.cli.progress import working
from woold.cli.starters import Starter, write_starter
from woold.cli.trial_output import StoreUrl, trial_store
from woold.errors import InputError
from woold.words import say

if TYPE_CHECKING:
    from woold.line.release_evidence import Evidence
    from woold.line.release_file import ReleaseFile

__all__ = ["TrialsSource", "app"]


@dataclass(frozen=True, slots=True)
class TrialsSource:
    """Where a release's trials come from: a table of sites, or the store."""

    trial: Annotated[
        list[str] | None,
        typer.Option("--trial", metavar="KEY", help="Trial of the store. May be repeated."),
    ] = None
    store_url: StoreUrl = None

    def words(self) -> list[str]:
        """As they are typed."""
        words = [word for key in self.trial or () for word in ("--trial", key)]
        return words if self.store_url is None else [*words, "--store", self.store_url]

    def read(self, asked: ReleaseFile, table_path: str | None, cells: Collection[str]) -> Evidence:
        """The trials, and what each may count for.

        Args:
            asked: the release.
            table_path: of the table of sites; None for the store.
            cells: of it that were asked about and are right.
        """
        from woold.line.release_evidence import (
            evidence_of_table,
            evidence_of_trials,
            stored_trials,
        )
        from woold.sites.read_sites import read_sites

        if table_path is not None:
            if self.trial or self.store_url is not None:
                raise InputError.one(
                    "--trial" if self.trial else "--store", say("a table of sites as well"),
                    say("a table, or trials of the store"), say("Leave one of the two out."),
                )  # fmt: skip
            return evidence_of_table(asked, read_sites(Path(table_path), cells))
        with trial_store(self.store_url) as store:
            return evidence_of_trials(
                asked, stored_trials(store, self.trial or ()), self.trial or ()
            )


_DEFAULT = TrialsSource()


@app.command()
@grouped_options
def release(
    release_path: Annotated[
        str, typer.Argument(metavar="RELEASE.toml", help="Machines, costs and stages.")
    ],
    table_path: Annotated[
        str | None,
        typer.Argument(
            metavar="[SITES.csv]",
            help="Table of sites: one row a trial so far. The store's trials if none.",
        ),
    ] = None,
    source: TrialsSource = _DEFAULT,
    as_typed: AsTyped = None,
    as_json: JsonFlag = False,
) -> None:
    """Which machines get a carriage first, in which stage, and which test is worth most."""
    from woold.line.release import release as released
    from woold.line.release_file import read_release

    cells, fields = cells_of(as_typed or ())
    read = read_release(Path(release_path), fields)
    with working(say("Looking for the best set of machines")):
        result = released(read, source.read(read.asked, table_path, cells))
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
