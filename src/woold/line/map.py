"""The map of a line: every carriage, machine, film and load, judged and kept in Parquet files.

Each file is one carriage on one machine with one film, all loads. A run that was stopped goes on
with the files that are not there yet; files of another line are not mixed with them.
"""

from __future__ import annotations

import hashlib
import itertools
import json
import os
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor, as_completed
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

import woold
from woold.case.things import CarriageThing, MachineModel, Recipe, ShelfFilm
from woold.errors import InputError
from woold.line.catalogue import Catalogue
from woold.line.cells import Cells, judged_cells
from woold.line.choice import chosen_film
from woold.line.dancer_swing import not_smooth
from woold.line.limits import FINDINGS, LIMITS, STATUSES
from woold.line.line_file import LineFile
from woold.line.things import LineChoice, LineLoad, LineThings, case_of, recipe_for
from woold.prediction.load_columns import LoadColumns, load_columns
from woold.prediction.machine_findings import LEAST_FRICTION
from woold.words import say

if TYPE_CHECKING:
    import polars

__all__ = ["MapFiles", "MapRun", "cells_of", "line_loads", "recipe_groups", "run_map"]

Progress = Callable[[int, int], None]
_HEAD = "line-map.json"


@dataclass(frozen=True, eq=False)
class LineLoads:
    """The loads of a catalogue as columns.

    Args:
        columns: what a block of predictions asks of each.
        frictions: least friction between the tiers of each [-].
    """

    columns: LoadColumns
    frictions: NDArray[np.float64]


def line_loads(things: LineThings, loads: tuple[LineLoad, ...]) -> LineLoads:
    """The loads of a catalogue as columns.

    Args:
        things: of the line.
        loads: of its catalogue.
    """
    columns = load_columns([each.load for each in loads], [each.hold for each in loads])
    frictions = np.full(len(loads), LEAST_FRICTION)
    for at, load in enumerate(loads):
        if load.transport is not None:
            any_choice = LineChoice(
                things.carriages[0], things.models[0], things.films[0], things.recipes[0]
            )
            frictions[at] = case_of(things, any_choice, load).range_of("transport.friction")[0]
    return LineLoads(columns, frictions)


def cells_of(
    line: LineFile,
    choice: tuple[CarriageThing, MachineModel, ShelfFilm],
    loads: tuple[LineLoad, ...],
    columns: LineLoads,
    asks_dancer: bool = False,
) -> Iterator[tuple[Recipe, NDArray[np.intp], Cells]]:
    """The cells of a carriage on a machine with a film, by the recipe that loads are wrapped by.

    Args:
        line: the line.
        choice: carriage, machine and film.
        loads: what is wrapped.
        columns: the same as columns.
        asks_dancer: whether the dancer is smooth is asked, too.

    Yields:
        Recipe, numbers of the loads that it serves, and their cells.
    """
    carriage, model, film = choice
    for recipe, which in recipe_groups(line.things, model, film, loads):
        chosen = chosen_film(
            line.things,
            LineChoice(carriage, model, film, recipe),
            loads[which[0]],
            line.line.corner_tension,
        )
        some = columns.columns if which.size == len(loads) else columns.columns.some(which)
        ratings = (carriage.drive, model.drive)
        swings: NDArray[np.bool_] | bool = False
        if asks_dancer and chosen.sheet is not None and "spring" not in chosen.fails:
            swings = not_smooth(chosen.case, [loads[at] for at in which.tolist()], some)
        frictions = columns.frictions[which]
        yield recipe, which, judged_cells(chosen, some, frictions, ratings, swings)


def recipe_groups(
    things: LineThings, model: MachineModel, film: ShelfFilm, loads: Sequence[LineLoad]
) -> list[tuple[Recipe, NDArray[np.intp]]]:
    """The recipes by which loads are wrapped on a machine in a film, with numbers of the loads.

    Args:
        things: of the line.
        model, film: machine and film.
        loads: what is wrapped.
    """
    named = any(each.loads for each in things.recipes)
    known: dict[tuple[str, str], Recipe] = {}
    groups: dict[str, tuple[Recipe, list[int]]] = {}
    for at, load in enumerate(loads):
        key = (load.recipe, load.name if named else "")
        if key not in known:
            known[key] = recipe_for(things, model, film, load)
        recipe = known[key]
        groups.setdefault(recipe.name, (recipe, []))[1].append(at)
    return [(recipe, np.array(numbers, dtype=np.intp)) for recipe, numbers in groups.values()]


@dataclass(frozen=True, slots=True)
class MapFiles:
    """Where a map is kept.

    Args:
        folder: of its files.
        fingerprint: of the line, its loads and this version of the program.
    """

    folder: Path
    fingerprint: str

    def part(self, numbers: tuple[int, int, int]) -> Path:
        """The file of a carriage, a machine and a film, by their numbers."""
        return self.folder / "cells-{:03d}-{:03d}-{:03d}.parquet".format(*numbers)

    def pattern(self) -> str:
        """Of all of its files."""
        return str(self.folder / "cells-*.parquet")

    def begin(self, is_fresh: bool) -> None:
        """Makes the folder ready: a new one, or one that holds a part of this map.

        Args:
            is_fresh: take away what an earlier map left there.

        Raises:
            InputError: the folder holds another map, or something else.
        """
        head = self.folder / _HEAD
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            if head.is_file():
                kept = json.loads(head.read_text(encoding="utf-8")).get("fingerprint")
                if kept != self.fingerprint and not is_fresh:
                    raise InputError.one(
                        str(self.folder), say("a map of another line, or of this one before a"
                        " change"), say("an empty folder, or a map of just this line"),
                        say("Name another folder with --map, or begin anew with --fresh."),
                    )  # fmt: skip
                if is_fresh:
                    for each in self.folder.glob("cells-*.parquet"):
                        each.unlink()
            elif any(each.suffix != ".part" for each in self.folder.iterdir()):
                raise InputError.one(
                    str(self.folder), say("a folder that holds something else"),
                    say("an empty folder, or a map of just this line"),
                    say("Name another folder with --map."),
                )  # fmt: skip
            if not head.is_file() or is_fresh:
                beside = head.with_suffix(f".{os.getpid()}.part")
                beside.write_text(json.dumps({"fingerprint": self.fingerprint}), encoding="utf-8")
                beside.replace(head)
        except (OSError, ValueError) as error:
            reason = getattr(error, "strerror", None) or say("cannot be read")
            raise InputError.one(
                str(self.folder), reason, say("a folder that can be written"),
                say("Name another folder with --map."),
            ) from None  # fmt: skip


@dataclass(frozen=True, slots=True)
class MapRun:
    """What a run did.

    Args:
        files: where the map is.
        cells: combinations in it.
        judged: of them in this run.
        seconds: that it took.
    """

    files: MapFiles
    cells: int
    judged: int
    seconds: float


def run_map(
    line: LineFile,
    catalogue: Catalogue,
    folder: Path,
    is_fresh: bool = False,
    progress: Progress | None = None,
) -> MapRun:
    """Judge every combination of a line that was not judged yet, and keep it.

    Args:
        line: the line.
        catalogue: its loads.
        folder: of the map's files.
        is_fresh: begin anew.
        progress: called with the combinations judged, and all.

    Raises:
        InputError: a folder that cannot be used, or a load without a recipe.
    """
    begun = time.perf_counter()
    things, loads = line.things, catalogue.loads
    files = MapFiles(folder, _fingerprint(line, loads))
    files.begin(is_fresh)
    sizes = len(things.candidates), len(things.models), len(things.films)
    every = [
        (carriage, machine, film)
        for carriage, machine, film in itertools.product(*(range(size) for size in sizes))
    ]
    open_ones = [each for each in every if not files.part(each).exists()]
    done = (len(every) - len(open_ones)) * len(loads)
    total, judged = len(every) * len(loads), len(open_ones) * len(loads)
    if open_ones:
        columns = line_loads(things, loads)
        names = _names(loads)
        with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
            waiting = [
                pool.submit(_write_part, line, each, (loads, columns, names), files.part(each))
                for each in open_ones
            ]
            try:
                for finished in as_completed(waiting):
                    finished.result()
                    done += len(loads)
                    if progress is not None:
                        progress(done, total)
            except BaseException:
                pool.shutdown(cancel_futures=True)
                raise
    return MapRun(files, total, judged, time.perf_counter() - begun)


def _fingerprint(line: LineFile, loads: tuple[LineLoad, ...]) -> str:
    """A hash of all that the map rests on."""
    told = repr((woold.__version__, line.things, line.line.corner_tension, loads))
    return hashlib.sha256(told.encode()).hexdigest()


def _names(loads: tuple[LineLoad, ...]) -> polars.DataFrame:
    import polars

    return polars.DataFrame(
        {
            "load": [each.name for each in loads],
            "machine": [each.machine for each in loads],
            "film_today": [each.film for each in loads],
            "loads_per_year": [each.loads_per_year for each in loads],
        },
        schema_overrides={"loads_per_year": polars.Float64},
    )


def _write_part(
    line: LineFile,
    numbers: tuple[int, int, int],
    loads: tuple[tuple[LineLoad, ...], LineLoads, polars.DataFrame],
    path: Path,
) -> None:
    """Judge a carriage on a machine with a film on all loads, and write it down."""
    import polars

    things = line.things
    choice = (
        things.candidates[numbers[0]],
        things.models[numbers[1]],
        things.films[numbers[2]],
    )
    kinds, columns, names = loads
    frames = []
    for recipe, which, cells in cells_of(line, choice, kinds, columns, asks_dancer=True):
        frame = cells_frame(cells).with_columns(
            polars.lit(choice[0].name).alias("carriage"),
            polars.lit(choice[1].name).alias("machine_model"),
            polars.lit(choice[2].name).alias("film"),
            polars.lit(recipe.name).alias("recipe"),
            polars.Series("row", which, dtype=polars.Int32),
        )
        frames.append(polars.concat([names[which], frame], how="horizontal"))
    whole = polars.concat(frames).sort("row").drop("row")
    # Two runs of one map may be at the same part: each writes its own, and the last one stays.
    beside = path.with_suffix(f".{os.getpid()}.part")
    whole.write_parquet(beside)
    beside.replace(path)


def cells_frame(cells: Cells) -> polars.DataFrame:
    """Cells as a table, with codes for what decides.

    Args:
        cells: of some loads.
    """
    import polars

    masks, which = np.unique(cells.findings, return_inverse=True)
    told = [
        ",".join(code for at, code in enumerate(FINDINGS) if int(mask) >> at & 1) for mask in masks
    ]
    return polars.DataFrame(
        {
            "status": _picked(list(STATUSES), cells.status),
            "limit": _picked([*LIMITS, ""], cells.limit),
            "share": cells.share,
            "findings": _picked(told, which),
            **{
                name: getattr(cells, name)
                for name in (
                    *("film_mass_kg", "film_length_m", "cycle_time_s", "layers_min"),
                    *("hold_share", "containment_later_low_n"),
                    *("torque_n_m", "power_w", "film_speed_m_per_s"),
                )
            },
        }
    )


def _picked(words: list[str], numbers: NDArray[np.integer]) -> polars.Series:
    """Words by their numbers; -1 is the last."""
    import polars

    at = np.where(numbers < 0, len(words) - 1, numbers).astype(np.uint32)
    return polars.Series(words, dtype=polars.String).gather(at)
