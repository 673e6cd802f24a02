"""Free dimensions of a carriage: geometry by hand, the search against a whole grid, bad input."""

from __future__ import annotations

import itertools
import math
from pathlib import Path

import numpy as np
import pytest

from small_line import write_small_line
from woold.case.shelf import read_shelf
from woold.errors import InputError, WooldError
from woold.line.catalogue import read_catalogue
from woold.line.choice import chosen_film
from woold.line.envelope_search import searched
from woold.line.found_carriage import found_text
from woold.line.free_carriage import FreeCarriage
from woold.line.free_checks import free_carriages
from woold.line.line_file import LineFile, read_line
from woold.line.many_carriages import film_on_carriages
from woold.line.one_carriage import CarriageServes, LineCarriages, line_carriages
from woold.line.things import LineChoice, case_of
from woold.line.wrapped_film import LoadsWithMachine, loads_with_machine, wrapped_by

HEAD = """

[[envelopes]]
carriage = "@one for all"
low = ["120 mm", "-60 mm"]
high = ["600 mm", "260 mm"]
threading_room = "15 mm"
"""
GRID = (
    HEAD
    + """
[[envelopes.rollers]]
name = "slow"
teeth = [62, 68]
diameters = ["80 mm", "90 mm"]

[[envelopes.rollers]]
name = "fast"
y = ["-14.6 mm", "-14.5 mm"]
teeth = [20, 22]
"""
)
WIDE = (
    HEAD
    + """most_parts = 4

[[envelopes.rollers]]
name = "slow"
x = ["290 mm", "350 mm"]
y = ["110 mm", "170 mm"]
diameters = ["80 mm", "90 mm"]
teeth = [60, 66, 72]
covers = [{ name = "hard", friction = 0.45 }, { name = "soft", friction = 0.95 }]

[[envelopes.rollers]]
name = "fast"
x = ["290 mm", "350 mm"]
y = ["0 mm", "50 mm"]
teeth = [20, 24]
opens = ["40 mm", "0 mm"]

[[envelopes.rollers]]
name = "outlet"
may_go = true
"""
)


def line_with(folder: Path, text: str) -> LineFile:
    path, _ = write_small_line(folder)
    path.write_text(path.read_text(encoding="utf-8") + text, encoding="utf-8")
    return read_line(path)


def parts_of(line: LineFile) -> tuple[FreeCarriage, LoadsWithMachine, np.ndarray]:
    """The free carriage, the loads, and the film by which shares are counted: today's."""
    loads = loads_with_machine(line, read_catalogue(line))
    (free,) = free_carriages(line.things, line.line.envelopes)
    fitted = [line.things.fitted(each.name) for each in line.things.models]
    today = wrapped_by(line, fitted, loads)
    return free, loads, np.nan_to_num(today.mass, nan=1.0) * loads.per_year


def test_search_finds_the_best_of_a_whole_grid_within_its_bounds(tmp_path: Path) -> None:
    line = line_with(tmp_path, GRID)
    free, loads, film = parts_of(line)
    best = searched(line, free, loads, film, seed=3)
    worths = []
    # Every choice there is: places stand on a raster of 0.1 mm.
    for slow, wheel, y, teeth in itertools.product((0, 1), (0, 1), (0, 1), (0, 1)):
        vector = (float(slow), float(wheel), -0.0146 + 1e-4 * y, float(teeth))
        placed = free.placed(vector)
        assert placed.can_be
        wrapped = wrapped_by(line, [free.carriage(placed, "one")] * 2, loads)
        share = float(film[wrapped.serves].sum() / film.sum())
        taken = float((wrapped.mass * loads.per_year)[wrapped.serves].sum())
        worths.append((-round(share, 4), taken / max(film[wrapped.serves].sum(), 1e-9), taken))
        assert share <= best.bound.film_share + 1e-9
    worths.sort()
    serves = best.wrapped.serves
    taken = float((best.wrapped.mass * loads.per_year)[serves].sum())
    assert round(float(film[serves].sum() / film.sum()), 4) == -worths[0][0]
    assert taken == pytest.approx(worths[0][2], rel=1e-9)
    assert len({each[2] for each in worths}) > 8
    assert best.bound.bounded_share == pytest.approx(1.0)
    assert 0.9 * taken < best.bound.film_kg <= taken * (1.0 + 1e-9)


def test_many_carriages_at_once_are_judged_as_each_alone(tmp_path: Path) -> None:
    line = line_with(tmp_path, WIDE)
    things, tension = line.things, line.line.corner_tension
    (free,) = free_carriages(things, line.line.envelopes)
    random = np.random.default_rng(5)
    low, high = np.array(free.ends).T
    placed = [free.placed(each) for each in low + random.random((60, len(low))) * (high - low)]
    placed = [each for each in placed if each.path is not None]
    load = read_catalogue(line).loads[0]
    seen = set()
    for film, recipe in itertools.product(things.films, things.recipes):
        choice = LineChoice(free.base, things.models[0], film, recipe)
        many = film_on_carriages(case_of(things, choice, load), placed, tension)
        for at, each in enumerate(placed):
            one = choice._replace(carriage=free.carriage(each, "one"))
            chosen = chosen_film(things, one, load, tension)
            fails = [code for code in chosen.fails if code not in ("roll_width", "spring")]
            assert bool(many.fails[at]) == bool(fails), fails
            seen |= set(fails) or {"none"}
            if chosen.sheet is not None and chosen.drive is not None:
                assert many.width[at] == pytest.approx(chosen.sheet.width, rel=1e-9)
                assert many.mass_per_metre[at] == pytest.approx(
                    chosen.sheet.mass_per_metre, rel=1e-9
                )
                assert many.torque[at] == pytest.approx(chosen.drive.torque, rel=1e-9)
                assert many.power[at] == pytest.approx(chosen.drive.power, rel=1e-9)
                assert many.film_speed[at] == pytest.approx(chosen.drive.film_speed, rel=1e-9)
    assert seen >= {"none", "film_rating"}


def test_opening_parts_and_room_by_hand(tmp_path: Path) -> None:
    line = line_with(tmp_path, WIDE)
    (free,) = free_carriages(line.things, line.line.envelopes)
    # slow (x, y, diameter, teeth, cover), fast (x, y, teeth), outlet kept.
    vector = [0.32, 0.14, 0, 0, 1, 0.32, 0.02, 0, 1]
    placed = free.placed(vector)
    # Slow (320, 140) of 80 mm to the opened fast (360, 20) of 90 mm; the inlet is farther off.
    assert placed.opening == pytest.approx(math.hypot(0.04, 0.12) - 0.04 - 0.045)
    assert math.hypot(0.14, 0.03) - 0.025 - 0.04 > placed.opening
    assert (placed.parts, placed.lacking, placed.can_be) == (4, 0.0, True)
    assert placed.geared(2.0) == pytest.approx(60 / 20 * 90 / 80)
    assert (placed.of("slow").cover, placed.of("slow").friction) == ("soft", 0.95)
    # Without the outlet there is one part less.
    assert free.placed([*vector[:-1], 0]).parts == 3
    tight = free.envelope.model_copy(update={"threading_room": 0.08, "most_parts": 3})
    asked = FreeCarriage(free.base, tight)
    # 80 mm asked, 41.5 mm there, and one roller too many, which counts half a metre.
    lacking = asked.placed(vector).lacking
    assert lacking == pytest.approx(0.08 - placed.opening + 0.5)
    # A roller 20 mm out of a room of its own.
    small = free.envelope.model_copy(update={"low": (0.12, 0.0)})
    assert FreeCarriage(free.base, small).placed(vector).lacking == pytest.approx(0.025)


def test_found_carriage_can_be_put_on_a_shelf_and_serves_what_was_said(tmp_path: Path) -> None:
    line = line_with(tmp_path, GRID)
    result = line_carriages(line, read_catalogue(line), draws=100)
    (found,) = result.envelopes
    shelf = tmp_path / "found.toml"
    shelf.write_text(found_text(line.things, result.envelopes), encoding="utf-8")
    assert [each.name for each in read_shelf(shelf).carriages] == [found.found]
    (tmp_path / "again").mkdir()
    path, _ = write_small_line(tmp_path / "again")
    text = path.read_text(encoding="utf-8") + "\n" + shelf.read_text(encoding="utf-8")
    path.write_text(text, encoding="utf-8")
    again = read_line(path)
    twin = _named(line_carriages(again, read_catalogue(again), draws=100), found.found)
    mine = _named(result, found.found)
    assert twin.film_share == pytest.approx(mine.film_share) == pytest.approx(found.film_share)
    assert twin.film_per_year_kg == pytest.approx(mine.film_per_year_kg, rel=1e-6)
    assert mine.film_per_year_kg == pytest.approx(found.film_per_year_kg)
    assert found.listed_film_share == _named(result, "one for all").film_share
    assert found.film_share >= found.listed_film_share
    assert found.opening_m is not None
    assert found.opening_m >= found.threading_room_m
    assert found.parts == 4
    assert found.tries <= 16
    # The gap between two circles on opposite sides, from their places.
    slow, fast = (next(e for e in found.rollers if e.role == role) for role in ("slow", "fast"))
    apart = math.hypot(slow.x_m - fast.x_m, slow.y_m - fast.y_m)
    k = 0.5 * (slow.diameter_m + fast.diameter_m)
    assert found.gap_m == pytest.approx(math.sqrt(apart**2 - k**2))
    assert slow.opening_after_m == pytest.approx(apart - k)
    assert slow.teeth
    assert fast.teeth
    assert found.prestretch_geared == pytest.approx(
        slow.teeth / fast.teeth * fast.diameter_m / slow.diameter_m - 1.0
    )


def _named(result: LineCarriages, name: str) -> CarriageServes:
    return next(each for each in result.carriages if each.carriage == name)


def test_room_in_which_nothing_can_be_built_is_said(tmp_path: Path) -> None:
    line = line_with(tmp_path, GRID.replace('"15 mm"', '"300 mm"'))
    result = line_carriages(line, read_catalogue(line), draws=100)
    (found,) = result.envelopes
    assert (found.found, found.film_share) == ("", 0.0)
    # The inlet stands 71 mm or less off the slow roller: the rest of 300 mm lacks.
    assert found.lacking_m is not None
    assert found.lacking_m > 0.2
    assert "can be built" in str(list(result.blocks()))
    assert len(result.carriages) == 2
    with pytest.raises(InputError, match="widen its room"):
        found_text(line.things, result.envelopes)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('"@one for all"', '"@other"', r"envelopes\[0\]\.carriage"),
        ('"@one for all"', '"@long gap"', "List its rollers"),
        ('name = "fast"', 'name = "way out"', r"rollers\[1\]\.name"),
        ('name = "fast"', 'name = "slow"', "each once"),
        ("teeth = [20, 22]", "may_go = true", "slow and fast roller stay"),
        ("teeth = [20, 22]", "", "teeth for both"),
        ("teeth = [20, 22]", "teeth = [100, 110]", "do not stretch the film"),
        ('y = ["-14.6 mm"', 'y = ["20 mm"', "lower end of y first"),
        ('high = ["600 mm", "260 mm"]', 'high = ["100 mm", "260 mm"]', "right of low"),
    ],
)
def test_what_cannot_be_free_is_named(tmp_path: Path, old: str, new: str, told: str) -> None:
    with pytest.raises(WooldError, match=told):
        line_with(tmp_path, GRID.replace(old, new))
