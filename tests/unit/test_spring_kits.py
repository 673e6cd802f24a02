"""The fewest springs and holes that serve a line: against every kit that there is, and by hand."""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from woold.case.load import Load
from woold.case.outline import load_outline
from woold.errors import InputError
from woold.line.catalogue import Catalogue, read_catalogue
from woold.line.kit_cover import best_cover, fewest_springs
from woold.line.line_file import LineFile, read_line
from woold.line.spring_kits import spring_kits
from woold.line.spring_needs import Trials, film_swing, needs_of
from woold.rows.blocks import block_texts

Serves = np.ndarray[Any, Any]


def served(serves: Serves, springs: tuple[int, ...], holes: tuple[int, ...]) -> Serves:
    return serves[:, list(springs)][:, :, list(holes)].any(axis=(1, 2))


def subsets(count: int, most: int) -> list[tuple[int, ...]]:
    return [each for size in range(most + 1) for each in itertools.combinations(range(count), size)]


def every_kit(serves: Serves, cost: Serves, weights: Serves, most: int) -> tuple[float, int, float]:
    """Most that is served, fewest holes at that, least cost at both: every kit looked at."""
    found = []
    for springs in subsets(serves.shape[1], most):
        for holes in subsets(serves.shape[2], serves.shape[2]):
            is_served = served(serves, springs, holes)
            masked = np.where(serves, cost, np.inf)[:, list(springs)][:, :, list(holes)]
            least = masked.min(axis=(1, 2), initial=np.inf)
            spent = float((weights * np.where(is_served, least, 0.0)).sum())
            found.append((-float(weights[is_served].sum()), len(holes), spent))
    best = min(found, key=lambda each: (round(each[0], 9), each[1], each[2]))
    return -best[0], best[1], best[2]


@pytest.mark.parametrize("seed", range(12))
def test_a_kit_is_the_best_of_every_kit_there_is(seed: int) -> None:
    rng = np.random.default_rng(seed)
    needs, springs, holes = 7, 5, 4
    serves = rng.random((needs, springs, holes)) < 0.15
    cost = rng.random(serves.shape)
    weights = rng.integers(1, 20, needs).astype(float)
    can = serves.any(axis=(1, 2))
    least = min(
        len(each)
        for each in subsets(springs, springs)
        if served(serves, each, tuple(range(holes)))[can].all()
    )
    assert fewest_springs(serves) == least
    for most in range(1, least + 2):
        cover = best_cover(serves, cost, weights, most)
        weight, hole_count, spent = every_kit(serves, cost, weights, most)
        assert cover.is_exact
        assert cover.weight_served == pytest.approx(weight / weights.sum())
        assert len(cover.holes) == hole_count
        assert len(cover.springs) <= most
        assert cover.cost == pytest.approx(spent / weight)
        for need in np.flatnonzero(cover.spring_of >= 0):
            assert serves[need, cover.spring_of[need], cover.hole_of[need]]


def test_two_springs_by_hand() -> None:
    """Need 0 only by spring 0 in hole 0; need 1 by spring 1 in either; need 2 by none."""
    serves = np.zeros((3, 3, 2), bool)
    serves[0, 0, 0] = serves[1, 1, 0] = serves[1, 1, 1] = serves[1, 2, 1] = True
    cost = np.ones(serves.shape)
    cost[1, 1, 1] = 0.5
    assert fewest_springs(serves) == 2
    kit = best_cover(serves, cost, np.array([3.0, 1.0, 4.0]), 2)
    assert kit.springs == (0, 1)
    assert kit.holes == (0,)
    assert kit.spring_of.tolist() == [0, 1, -1]
    assert kit.weight_served == 0.5
    # The second hole would serve need 1 better: 3 x 1 and 1 x 0.5 over 4.
    freer = best_cover(serves, cost, np.array([3.0, 1.0, 4.0]), 2, all_holes=True)
    assert freer.cost == pytest.approx(0.875)
    one = best_cover(serves, cost, np.array([3.0, 1.0, 4.0]), 1)
    assert one.springs == (0,)
    assert one.weight_served == 0.375


def test_nothing_serves() -> None:
    assert fewest_springs(np.zeros((2, 3, 4), bool)) is None


def test_the_solver_writes_nothing(capfd: pytest.CaptureFixture[str]) -> None:
    rng = np.random.default_rng(4)
    serves = rng.random((30, 8, 6)) < 0.06
    best_cover(serves, rng.random(serves.shape), rng.random(30), 3)
    assert capfd.readouterr().out == ""


def small_line(folder: Path) -> tuple[LineFile, Catalogue]:
    """One carriage of three springs and two holes; two machines, two films, three forces."""
    springs = "".join(
        f'[[carriages.dancer.springs]]\nrate = "{rate} N/mm"\nfree_length = "180 mm"\n'
        for rate in (0.6, 1.2, 2.4)
    )
    models = "".join(
        f'[[machine_models]]\nname = "T{speed}"\n[machine_models.machine]\n'
        f'speed = "{speed} rpm"\nexit_distance = "1.5 m"\n'
        for speed in (10, 14)
    )
    recipes = "".join(
        f'[[recipes]]\nname = "{name}"\n{film}[recipes.program]\nforce_to_load = "{force} N"\n'
        'rise_per_turn = "200 mm"\n'
        for name, film, force in (
            ("plain", "", 40),
            ("strong", 'film = "@thick"\n', 75),
            ("hard", 'film = "@thick"\n', 200),
        )
    )
    films = "".join(
        f'[[films]]\nname = "{name}"\nroll_width = "20 in"\nthickness = "{gauge} gauge"\n'
        'rated_prestretch = "300 %"\n'
        for name, gauge in (("thin", 51), ("thick", 80))
    )
    text = f"""title = "Small"
[catalogue]
file = "loads.csv"
{films}
[[carriages]]
name = "one"
[carriages.carriage]
prestretch = "250 %"
[carriages.dancer]
holes = ["100 mm", "140 mm"]
{springs}
{models}
{recipes}
"""
    (folder / "line.toml").write_text(text, encoding="utf-8")
    loads = "load,length [m],width [m],height [m],mass [kg],loads_per_year,machine,film,recipe\n"
    for number, (length, width) in enumerate(((1.2, 1.0), (1.2, 0.8), (1.0, 1.0))):
        for machine, yearly in (("T10", 1000), ("T14", 3000)):
            name = "small" if number == 2 else f"load {number}"
            recipe = "hard" if number == 2 else ""
            loads += f"{name},{length},{width},1.5,600,{yearly},{machine},thick,{recipe}\n"
    (folder / "loads.csv").write_text(loads, encoding="utf-8")
    line = read_line(folder / "line.toml")
    return line, read_catalogue(line)


def test_the_kit_of_a_small_line_is_that_of_every_trial_and_every_kit(tmp_path: Path) -> None:
    line, catalogue = small_line(tmp_path)
    (kit,) = spring_kits(line, catalogue).kits
    needs = needs_of(line.things, catalogue.loads, by_machine=False)
    trials = Trials(line.things, line.things.candidates[0], needs)
    fits = np.zeros((len(needs), 3, 2), bool)
    ripple = np.zeros(fits.shape)
    for need in range(len(needs)):
        for (spring, hole), rest in trials.at_rest(need).items():
            found, fault = trials.in_motion(need, spring, hole, range(10))
            fits[need, spring, hole] = rest.fits and not fault
            ripple[need, spring, hole] = found
    weights = np.maximum(np.array([each.loads_per_year for each in needs]), 1e-6 * 8000)
    served_needs = fits.any(axis=(1, 2))
    assert served_needs.any()
    assert not served_needs.all()  # 200 N is beyond any of them
    least = min(
        len(each) for each in subsets(3, 3) if served(fits, each, (0, 1))[served_needs].all()
    )
    assert (len(kit.springs), kit.is_exact) == (least, True)
    for size in kit.sizes:
        weight, holes, spent = every_kit(fits, ripple, weights, size.springs)
        assert size.share_served == pytest.approx(weight / weights.sum())
        assert len(size.holes_m) == holes
        assert size.tension_ripple == pytest.approx(spent / weight)
    chosen = {(each.film, each.force_n): each for each in kit.needs}
    assert chosen["thick", 200.0].spring is None
    assert "too weak" in chosen["thick", 200.0].reason
    assert chosen["thin", 40.0].machines == ("T10", "T14")
    # Two of three loads run at 75 N, one at 200 N: 1000 and 3000 a year on the two machines.
    assert chosen["thick", 75.0].loads_per_year == 8000.0
    assert chosen["thick", 200.0].loads_per_year == 4000.0
    assert kit.share_served == pytest.approx(8000 / 12000, rel=1e-5)


def test_the_springs_of_a_kit_balance_the_force(tmp_path: Path) -> None:
    """Torque as the loss of the spring's energy over a small turn, against film on two lines."""
    line, catalogue = small_line(tmp_path)
    (kit,) = spring_kits(line, catalogue).kits
    checked = 0
    for need in kit.needs:
        if need.spring is None or need.hole_m is None or need.rate_n_per_m is None:
            continue
        angle = np.radians(-30 + 60 * (need.travel_share or 0.0))
        step = 1e-6
        energies = []
        for each in (angle - step, angle + step):
            hook = need.hole_m * np.array([np.cos(each), np.sin(each)])
            drawn = np.linalg.norm(hook - np.array([0.1, 0.35])) - 0.18
            energies.append(0.5 * need.rate_n_per_m * drawn**2)
        torque = (energies[0] - energies[1]) / (2 * step)
        assert torque / (2 * 0.25 * np.cos(angle)) == pytest.approx(need.force_n, rel=1e-4)
        checked += 1
    assert checked


def test_a_machine_may_have_its_own_spring(tmp_path: Path) -> None:
    line, catalogue = small_line(tmp_path)
    needs = needs_of(line.things, catalogue.loads, by_machine=True)
    assert {each.machine_names for each in needs} == {("T10",), ("T14",)}
    assert len(needs) == 2 * len(needs_of(line.things, catalogue.loads, by_machine=False))


def test_film_that_a_square_load_makes_a_dancer_give_and_take() -> None:
    """A far exit point: the film's distance from the axis is the support function of the square.

    h(θ) = cos θ + sin θ over a quarter turn for half sides of 1 m, mean 4/π; its integral less the
    mean has its ends where h is the mean: h - 4/π = 0 at sin(θ + 45°) = 4/(π √2).
    """
    at = np.arcsin(4 / (np.pi * np.sqrt(2)))
    low, high = at - np.pi / 4, np.pi - at - np.pi / 4
    expected = (
        (np.sin(high) - np.cos(high)) - (np.sin(low) - np.cos(low)) - 4 / np.pi * (high - low)
    )
    square = load_outline(Load(length=2.0, width=2.0, height=1.0, mass=100.0))
    assert film_swing(square, 1e4) == pytest.approx(expected, rel=2e-3)


def test_carriages_without_springs_are_refused(tmp_path: Path) -> None:
    line, catalogue = small_line(tmp_path)
    with pytest.raises(InputError, match="one"):
        spring_kits(line, catalogue, "two")
    text = (tmp_path / "line.toml").read_text(encoding="utf-8")
    start, end = text.index("[carriages.dancer]"), text.index("[[machine_models]]")
    (tmp_path / "line.toml").write_text(text[:start] + text[end:], encoding="utf-8")
    bare = read_line(tmp_path / "line.toml")
    with pytest.raises(InputError, match="springs"):
        spring_kits(bare, read_catalogue(bare))


def test_a_roll_that_is_too_wide_for_the_carriage(tmp_path: Path) -> None:
    line, catalogue = small_line(tmp_path)
    text = (tmp_path / "line.toml").read_text(encoding="utf-8")
    text = text.replace('prestretch = "250 %"', 'prestretch = "250 %"\nwidest_roll = "18 in"')
    (tmp_path / "line.toml").write_text(text, encoding="utf-8")
    line = read_line(tmp_path / "line.toml")
    (kit,) = spring_kits(line, catalogue).kits
    assert kit.springs == ()
    assert all("wide" in each.reason for each in kit.needs)
    words = " ".join(block_texts(tuple(spring_kits(line, catalogue).blocks())))
    assert "None of the springs serves" in words
