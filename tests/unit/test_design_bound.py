"""The bound against programs that know nothing of it, and the tables against the screen."""

from __future__ import annotations

import itertools
from dataclasses import replace
from functools import partial

import numpy as np
import pytest
from scipy.optimize import differential_evolution

from design_cases import Judge, any_kind, one_rise, random_case
from woold.case.model import Case
from woold.design.choices import Choices, allowed_choices
from woold.design.polished import polished
from woold.design.profiled import best_profiled
from woold.design.refined import best_between
from woold.design.search import Search
from woold.design.targets import targets_of
from woold.design.tier_stops import best_at_stops
from woold.design.varying import best_varying
from woold.design.verified import best_verified, verify
from woold.physics import restraint
from woold.physics.tier_wraps import tiers_stand
from woold.physics.transport import FilmOverInterfaces, transport_screen
from woold.prediction.film_on_load import film_on_load
from woold.prediction.film_over_height import layer_force_later
from woold.prediction.predict import predict
from woold.transport.screen import load_bearings, load_stack, profiles_of
from woold.transport.unmeasured import asked_states, moved_inputs


def task(case: Case) -> tuple[Search, Choices]:
    assert case.design is not None
    search = Search(case, (case.film,), targets_of(case, predict(case)), case.design)
    return search, allowed_choices(case, (case.film,), case.design)


@pytest.mark.parametrize("seed", [2, 8, 14, 32])
@pytest.mark.parametrize("blocked", [True, False])
@pytest.mark.parametrize("is_measured", [True, False])
def test_tables_say_what_the_transport_screen_says(
    seed: int, blocked: bool, is_measured: bool
) -> None:
    _, case = random_case(seed)
    case = case if is_measured else case.with_origins({})
    case = case.with_values({"transport.foot_blocked": blocked, "transport.vehicle_friction": 0.62})
    asked = case.transport
    assert asked is not None
    tiers = targets_of(case, predict(case)).tiers
    assert tiers is not None
    sheet, one = film_on_load(case), layer_force_later(case)
    tables = tiers.tables(case, sheet, 0.0, 1.0)
    shear = float(restraint.shear_modulus(case.film.reload_modulus)) * sheet.thickness
    # What nobody measured counts at each end of its range.
    stacks = [load_stack(case, each) for _, each in asked_states(asked, moved_inputs(case))]
    rng, said = np.random.default_rng(seed), []
    for _ in range(60):
        layers = rng.integers(
            1, rng.integers(3, 30 if is_measured else 62), case.load.tiers
        ).astype(float)
        film = FilmOverInterfaces(
            layers * one / sheet.width,
            layers * shear,
            asked.slip_zone,
            asked.restraint_calibration,
            np.full(layers.size, asked.pressing_force),
        )
        holds = not tiers.beyond_film
        for stack, profile in itertools.product(stacks, profiles_of(asked)):
            screen = transport_screen(stack, film, profile, load_bearings(asked), asked.ramp_time)
            top, height = screen.slip.sum(axis=1), case.load.height
            holds &= bool(
                (screen.slip <= asked.slip_limit).all()
                and (top <= asked.lean_limit * height).all()
                and (screen.residual_slip.sum(axis=1) <= asked.kept_limit * height).all()
                and (screen.tipping <= 1.0).all()
                and (screen.unit_tipping <= 1.0).all()
                and (screen.unit_sliding <= 1.0).all()
            )
        stands = not tiers.beyond_film and bool(tiers_stand(tables, layers, False))
        assert stands == holds
        # What is relaxed for the bound never refuses what the screen lets pass.
        assert not holds or tiers_stand(tables, layers, True)
        # Nor for more film: bounds reckon with more than any program lays.
        more = layers + rng.integers(0, 20, layers.size)
        assert not holds or tiers_stand(tables, more, True)
        said.append(holds)
    assert tiers.beyond_film or len(set(said)) == 2


@pytest.mark.parametrize("seed", [0, 1, 2, 4, 5])
def test_a_short_search_finds_nothing_below_the_bound(seed: int) -> None:
    _, case = random_case(seed)
    search, steps = task(case)
    grid, _ = best_verified(search, steps, "film")
    best, choices = best_between(search, steps, "film", grid)
    bound = search.bound(choices, "film")
    assert best is not None
    assert bound is not None
    judge, rng = Judge(search), np.random.default_rng(seed)
    width = film_on_load(best.case).width
    near = np.clip(rng.normal(0.35, 0.25, (60, 11)), 0.0, 1.0)
    found = [judge.score(any_kind(search, choices, x, width)) for x in near]
    one = differential_evolution(
        lambda x: judge.score(one_rise(search, steps, x)),
        [(0.0, 1.0)] * 5, popsize=4, maxiter=8, seed=seed, tol=0.0, polish=False,
    )  # fmt: skip
    assert min(found) >= bound.bound
    assert one.fun >= 0.99 * best.candidate.film_mass
    assert bound.bound <= best.candidate.film_mass


def test_a_range_of_forces_is_bounded_below_each_of_them_on_a_soft_load() -> None:
    # Film is thickest at the least force and holds most at the largest: a sheet that is both would
    # press a soft load in more than any film does. What is chosen is predicted without bounds.
    _, case = random_case(0)
    case = case.with_values({"load.hoop_stiffness": 3e3})
    search, choices = task(case)
    wide = replace(choices, forces=(20.0, *choices.forces, 100.0))
    bound = search.bound(wide, "film")
    assert bound is not None
    groups, _ = search.groups(wide, "film")
    assert len(groups) > 5
    assert bound.bound <= min(each.bound for each in groups) * (1.0 + 1e-9)


@pytest.mark.parametrize("seed", [0, 2, 3])
def test_nothing_near_the_best_varying_rise_lies_below_the_bound(seed: int) -> None:
    _, case = random_case(seed)
    search, choices = task(case)
    found = best_profiled(search, choices, partial(verify, search))
    assert found is not None
    judge, rng, made = Judge(search), np.random.default_rng(seed), found.made.candidate.settings
    masses = []
    for _ in range(60):
        size = rng.choice([0.003, 0.03, 0.1])
        bands = tuple(
            replace(
                stop,
                height_m=stop.height_m + 0.2 * size * rng.standard_normal(),
                wraps=max(stop.wraps * (1.0 + size * rng.standard_normal()), 0.01),
            )
            for stop in made.bands
        )
        near = replace(
            made,
            force_to_load_n=made.force_to_load_n * (1.0 + size * rng.standard_normal()),
            top_wraps=max(made.top_wraps * (1.0 + size * rng.standard_normal()), 1.0),
            bands=bands,
        )
        masses.append(judge.score(near))
    assert min(masses) >= found.bound


def test_a_constant_need_on_a_tall_load_is_laid_at_an_overlap_one_below_one() -> None:
    # Stankiewicz, Agriculture 9 (2019) 248: least film at overlaps (k - 1)/k.
    _, case = random_case(3)
    case = case.with_values({"program.ends_at": "top", "program.fall_per_turn": None})
    for layers in (2, 3, 4):
        # Targets are met at the worse end of the loss of force.
        force = (layers - 0.02) * layer_force_later(case, 400.0, is_safe=True)
        target = replace_target(case, force)
        search, choices = task(target)
        held = replace(choices, forces=(case.program.force_to_load,))
        grid, _ = best_verified(search, held, "film")
        best, _ = best_between(search, held, "film", grid)
        assert best is not None
        width = best.prediction.film_width_on_load_m
        overlap = 1.0 - best.candidate.settings.rise_per_turn_m / width
        assert overlap == pytest.approx((layers - 1) / layers, abs=2e-3)


def replace_target(case: Case, force: float) -> Case:
    (target,) = case.hold.targets
    return case.with_values({"hold.targets": (target.model_copy(update={"force": force}),)})


def test_a_force_between_the_steps_is_found() -> None:
    better = 0
    for seed in (7, 23, 25):
        _, case = random_case(seed)
        search, steps = task(case)
        grid, _ = best_verified(search, steps, "film")
        best, choices = best_between(search, steps, "film", grid)
        assert grid is not None
        assert best is not None
        assert verify(search, best.candidate) is not None
        assert best.candidate.settings.force_to_load_n in choices.forces
        better += best.candidate.film_mass < 0.98 * grid.candidate.film_mass
    assert better >= 2


def test_uneven_shares_of_the_travel_beat_even_ones() -> None:
    _, case = random_case(14)
    search, choices = task(case)
    tiers = search.targets.tiers
    assert tiers is not None
    best, _ = best_verified(search, choices, "film")
    assert best is not None
    even = tiers.even_layers(tiers.tables(best.case, film_on_load(best.case), 0.0, 1.0))
    found = best.prediction.containment_profile
    assert even is not None
    zones = search.targets.tier_zones(best.case, even)
    least = [
        min(point.layers_min for point in found if zone.low <= point.height_m <= zone.high)
        for zone in zones
    ]
    # At one interface at least it has less film than an even share of the travel asks for.
    assert any(a < zone.layers for a, zone in zip(least, zones, strict=True))


@pytest.mark.parametrize("seed", [12, 24, 28, 37])
def test_the_varying_rise_holds_and_lies_near_its_bound(seed: int) -> None:
    _, case = random_case(seed)
    search, steps = task(case)
    bound = search.bound(steps, "film")
    grid, _ = best_verified(search, steps, "film")
    best, choices = best_between(search, steps, "film", grid)
    assert bound is not None
    assert best is not None
    found = best_varying(search, choices, "film", best)
    assert found is not None
    assert verify(search, found.candidate) is not None
    # One rise is a rise that varies too, and never takes less film.
    assert found.candidate.film_mass <= best.candidate.film_mass
    assert bound.bound <= found.candidate.film_mass <= 1.10 * bound.bound


def test_whole_turns_where_one_stay_lies_over_most_tiers_come_near_the_bound() -> None:
    # Film 0.72 m wide on a load of 0.86 m in six tiers: 0.31 m are left for it to travel, and
    # nearly every turn counts over four interfaces or five.
    _, case = random_case(32)
    search, steps = task(case)
    bound = search.bound(steps, "film")
    found = best_at_stops(search, steps, "film")
    assert bound is not None
    assert found is not None
    assert verify(search, found.candidate) is not None
    settings, width = found.candidate.settings, found.prediction.film_width_on_load_m
    heights = [each.height_m for each in settings.bands]
    # By hand: interfaces at sixths of the height, their zones 0.1 m up and down, 0.05 m of the
    # lowest on the pallet. Film holds the lowest from -0.05 m down, and the highest from so far up.
    assert min(heights) == pytest.approx(-0.05)
    highest = 0.86 * 5.0 / 6.0 + 0.1 - width
    assert any(highest <= each <= highest + 0.001 for each in heights)
    better = polished(search, steps, "film", found)
    assert bound.bound <= better.candidate.film_mass <= 1.05 * bound.bound
    assert found.candidate.film_mass <= 1.1 * bound.bound


def test_stops_for_tiers_are_looked_for_under_a_transport_only() -> None:
    search, steps = task(random_case(0)[1])
    assert best_at_stops(search, steps, "film") is None


@pytest.mark.parametrize("seed", [4, 19, 28])
def test_stops_are_found_wherever_zones_begin(seed: int) -> None:
    # Zones begin between the heights at which film is counted, and so do the films of stops.
    _, case = random_case(seed)
    search, steps = task(case)
    plain, _ = best_verified(search, steps, "film")
    stops, _ = best_verified(search, replace(steps, bands_most=6), "film")
    assert plain is not None
    assert stops is not None
    assert stops.candidate.film_mass < plain.candidate.film_mass
