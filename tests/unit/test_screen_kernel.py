"""The compiled transport screen against the plain one, way by way, on random loads and profiles."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from random_loads import RandomLoad, random_load
from woold.physics import screen_kernel as kernel
from woold.physics.outlines import Outline, polygon_outline, rectangle_outline, round_outline
from woold.physics.stack_ways import turned_bearings
from woold.physics.transport import transport_screen
from woold.physics.transport_profiles import PROFILES, Profile, chosen_profile

BEARINGS = np.array([0.0, np.pi])
OUTLINES = {
    "rectangle": rectangle_outline(1.2, 0.8, (0.1, 0.05)),
    "round": round_outline(1.1),
    "askew": polygon_outline([(0.0, 0.0), (1.2, 0.1), (1.0, 0.9), (0.2, 1.1)]),
}


def odd(rng: np.random.Generator, outline: Outline) -> RandomLoad:
    """A random load of another outline, with straps, packages that give, pallets, and no film."""
    load = random_load(rng)
    pallet = rectangle_outline(1.2, 1.0).vertices if rng.random() < 0.5 else None
    stack = replace(
        load.stack,
        vertices=outline.vertices,
        corner_radius=outline.corner_radius,
        pallet_vertices=pallet,
        give=float(rng.choice([0.0, 3e-4, 2e-3])),
        kinetic_share=float(rng.choice([0.5, 0.75, 1.0])),
        pallet_mass=float(rng.choice([0.0, 25.0])),
    )
    count = stack.friction.size
    film = replace(
        load.film,
        vertical_force=np.full(count, float(rng.choice([0.0, 800.0]))),
        hoop=load.film.hoop * float(rng.choice([0.0, 1.0, 2.0])),
    )
    return RandomLoad(stack, film, load.level)


def kernel_found(load: RandomLoad, profile: Profile, ramp: float) -> tuple[np.ndarray, np.ndarray]:
    """Rows of the compiled screen that stand for themselves, in the order of the plain one."""
    stack, film = load.stack, load.film
    ramp = ramp if profile.ramp_time is None else profile.ramp_time
    rows = [
        [bearing, action.horizontal, action.tipping, action.vertical, ramp]
        for action in profile.actions
        for bearing in turned_bearings(action, BEARINGS)
    ]
    pallet = stack.pallet_vertices
    ways, places = kernel.screen_ways(
        kernel.ScreenedLoad(
            stack.vertices, float(stack.corner_radius),
            stack.vertices if pallet is None else pallet,
            float(stack.corner_radius) if pallet is None else 0.0,
            stack.interface_heights, stack.load_height, stack.load_mass, stack.deck_height,
            stack.pallet_mass, stack.foot_blocked,
        ),
        kernel.ScreenedFilm(
            film.hoop, film.shear_stiffness, film.slip_zone, film.calibration,
            float(film.vertical_force[0]), 90.0, 2400.0,
        ),
        kernel.ScreenedLimits(0.03, 0.15, 0.075),
        np.array(rows),
        np.array([[
            stack.vehicle_friction, stack.kinetic_share, stack.give, stack.slip_margin,
            *stack.friction,
        ]]),
    )  # fmt: skip
    alone = ways[0, :, kernel.SEEN] == 0.0
    return ways[0, alone], places[0, alone]


@pytest.mark.parametrize("outline", OUTLINES)
def test_compiled_and_plain_screen_say_the_same(outline: str) -> None:
    # 1e-7: roots are found to 1e-9 by either. Profiles take turns; a ramp of 20 s is a tilt.
    rng = np.random.default_rng(11)
    checked = slipping = 0
    for index in range(60):
        load = odd(rng, OUTLINES[outline])
        key = PROFILES[index % len(PROFILES)].key
        profile = chosen_profile(key, load.level if key == "EUMOS 40509" else None)
        ramp = float(rng.choice([0.0, 0.05, 20.0]))
        plain = transport_screen(load.stack, load.film, profile, BEARINGS, ramp)
        ways, places = kernel_found(load, profile, ramp)
        assert len(ways) == len(plain.ways)
        pairs = (
            (places[:, :, kernel.TRAVEL], plain.slip),
            (places[:, :, kernel.TRAVEL_SLOW], plain.static_slip),
            (places[:, :, kernel.STAYS], plain.residual_slip),
            (places[:, :, kernel.MOST], plain.restraint_limit),
            (places[:, :, kernel.TIPS], plain.tipping),
            (places[:, :, kernel.NEEDED], np.array([way.needed for way in plain.ways])),
            (ways[:, kernel.UNIT_TIPS], plain.unit_tipping),
            (ways[:, kernel.UNIT_SLIDES], plain.unit_sliding),
            (ways[:, kernel.SLIP_MARGIN], np.array([way.slip_margin for way in plain.ways])),
            (ways[:, kernel.TIPPING_MARGIN], np.array([way.tipping_margin for way in plain.ways])),
            (ways[:, kernel.SLIP], plain.slip.max(axis=1) / 0.03),
            (ways[:, kernel.LEAN], plain.slip.sum(axis=1) / 0.15),
            (ways[:, kernel.KEPT], plain.residual_slip.sum(axis=1) / 0.075),
        )
        for found, expected in pairs:
            np.testing.assert_allclose(found, expected, rtol=1e-7, atol=1e-12)
        checked += len(ways)
        slipping += int((places[:, :, kernel.SLIPS] > 0.0).sum())
    assert checked > 100
    assert slipping > 300


def test_layers_that_are_told_let_a_tier_slip_as_far_as_it_may() -> None:
    # The screen turned round, by the plain one, for a start that comes at once.
    rng = np.random.default_rng(5)
    tried = 0
    for _ in range(80):
        load = odd(rng, OUTLINES["rectangle"])
        # Packages that do not give, and a start that comes at once: no more than film takes up.
        load = replace(load, stack=replace(load.stack, give=0.0))
        profile = replace(chosen_profile("EUMOS 40509", load.level), ramp_time=0.0)
        _, places = kernel_found(load, profile, 0.0)
        for row, layers in enumerate(places[:, :, kernel.LAYERS]):
            moving = layers > 0.0
            if not moving.any() or not np.isfinite(layers).all():
                continue
            film = replace(load.film, hoop=90.0 * layers, shear_stiffness=2400.0 * layers)
            slip = transport_screen(load.stack, film, profile, BEARINGS, 0.0).slip[row]
            # 30 mm of a tier, 75 mm of the top: the limits of `kernel_found`.
            np.testing.assert_allclose(slip[moving], min(0.03, 0.075 / moving.sum()), rtol=1e-7)
            tried += 1
    assert tried > 40
