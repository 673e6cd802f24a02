"""A dancer that is not smooth is a finding of the map where the study of the case says so."""

from __future__ import annotations

from pathlib import Path

import polars as pl

from small_line import write_small_line
from woold.dancer.cycle import simulate_cycle
from woold.line.catalogue import read_catalogue
from woold.line.line_file import read_line
from woold.line.map import run_map
from woold.line.things import LineChoice, case_of, recipe_for


def test_loads_with_which_the_dancer_swings_are_those_of_the_study(tmp_path: Path) -> None:
    path, _ = write_small_line(tmp_path, 5)
    text = path.read_text(encoding="utf-8")
    # A gain twenty times the usual one: with the drive's lag of 0.1 s it swings by itself.
    wild = text.replace(
        "[carriages.dancer.drive]\n", '[carriages.dancer.drive]\ngain = "25 m/s/rad"\n'
    )
    assert wild != text
    told = {}
    for name, now in (("calm", text), ("wild", wild)):
        path.write_text(now, encoding="utf-8")
        line = read_line(path)
        catalogue = read_catalogue(line)
        run = run_map(line, catalogue, tmp_path / name)
        rows = pl.read_parquet(run.files.pattern()).filter(pl.col("carriage") == "one for all")
        things = line.things
        carriage = next(each for each in things.carriages if each.name == "one for all")
        loads = {each.name: each for each in catalogue.loads}
        found = set()
        for row in rows.iter_rows(named=True):
            model, film = things.model_of(row["machine_model"]), things.films[0]
            if row["film"] != film.name:
                continue
            load = loads[row["load"]]
            choice = LineChoice(carriage, model, film, recipe_for(things, model, film, load))
            steady = simulate_cycle(case_of(things, choice, load))[0].steady
            finds = "dancer_not_smooth" in row["findings"].split(",")
            # No load is missed; what moves the dancer more than one that swings counts, too.
            assert finds or steady.is_smooth
            found.add((finds, steady.is_smooth))
        told[name] = found
    assert told["calm"] == {(False, True)}
    assert (True, False) in told["wild"]
