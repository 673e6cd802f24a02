"""A dancer that is not smooth is a finding of the map where the study of the case says so."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from small_line import write_small_line
from woold.dancer.cycle import simulate_cycle
from woold.line import dancer_swing
from woold.line.catalogue import read_catalogue
from woold.line.cell import line_cell, named_cell
from woold.line.line_file import read_line
from woold.line.map import run_map
from woold.line.things import LineChoice, case_of, recipe_for
from woold.physics.dancer_setup import DancerSetup
from woold.physics.dancer_tuning import TuningAim
from woold.prediction.load_columns import load_columns


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
            names = (carriage.name, model.name, film.name, load.name)
            cell = line_cell(line, named_cell(line, catalogue, names), catalogue)
            assert finds == ("dancer_not_smooth" in {each.code for each in cell.findings})
            found.add((finds, steady.is_smooth))
        told[name] = found
    assert told["calm"] == {(False, True)}
    assert (True, False) in told["wild"]


def test_few_outlines_are_judged_each_by_itself_and_many_by_halving(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A stand-in for the motion: oblong loads of one length swing, whatever moves more."""
    path, _ = write_small_line(tmp_path, 5)
    line = read_line(path)
    things, (load, *_) = line.things, read_catalogue(line).loads
    carriage = next(each for each in things.carriages if each.name == "one for all")
    model, film = things.models[0], things.films[0]
    choice = LineChoice(carriage, model, film, recipe_for(things, model, film, load))
    case = case_of(things, choice, load)
    asked: list[float] = []

    def swings(setup: DancerSetup, _aim: TuningAim) -> bool:
        asked.append(round(float(np.ptp(setup.outline.vertices[:, 0])), 9))
        return asked[-1] == 1.0

    monkeypatch.setattr(dancer_swing, "_swings", swings)

    def found(lengths: list[float]) -> list[bool]:
        asked.clear()
        own = [
            replace(load, load=load.load.model_copy(update={"length": each, "width": 0.8}))
            for each in lengths
        ]
        columns = load_columns([each.load for each in own], [each.hold for each in own])
        return dancer_swing.not_smooth(case, own, columns).tolist()

    # Three outlines: the longer one moves the dancer more, and is smooth by itself.
    assert found([1.2, 1.0, 0.9, 1.0]) == [False, True, False, True]
    assert sorted(asked) == [0.9, 1.0, 1.2]
    # Of forty the longest and some others are tried; the one that swings is found, and those that
    # move the dancer more count with it.
    many = [1.0 + 0.01 * each for each in range(40)]
    told = found(many)
    assert all(told)
    assert len(asked) < 20
