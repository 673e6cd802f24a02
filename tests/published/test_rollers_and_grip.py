"""Contact angles, grip and air film against outside values.

[P]  Open and crossed belts, any textbook of machine elements: equal pulleys open 180 degrees;
     crossed, r = 1 and 1, C = 5: 180 + 2 asin(2/5) = 227.156; open, r = 1 and 1.5, C = 5: 168.522
     and 191.478.
[M]  Capstan equation, exp(mu beta): 150 N held by 10 N needs mu beta = ln 15 = 2.708.
[M]  Knox and Sweeney, Ind. Eng. Chem. Process Des. Dev. 10 (1971) 201: three worked air films.
[C]  Common practice, no source: an S-lacing gives 180 degrees of contact; pre-stretch of 260 % is
     held from no tension to 30-40 % tension when nothing slips, while a small angle droops.
"""

import math

import numpy as np
import pytest
from shapely import Point, unary_union

from woold.physics.film import film_area
from woold.physics.film_curve import HawardCurve
from woold.physics.film_path import film_path
from woold.physics.grip import (
    GOVERNS,
    RollerGrip,
    air_film_thickness,
    delivered_stretch,
    drawing_force,
    grip_limit,
    least_tension_that_holds,
)
from woold.physics.rollers import Roller, contact_angle, tangent_span

FILM = HawardCurve(9e6, 2.4e6, 80.0, 150e6)
AREA = film_area(0.508, 16e-6)


def closed_belt(first: Roller, second: Roller) -> tuple[float, float]:
    there, back = tangent_span(first, second), tangent_span(second, first)
    return (
        math.degrees(contact_angle(first, back, there)),
        math.degrees(contact_angle(second, there, back)),
    )


@pytest.mark.parametrize(
    ("radii", "sides", "expected"),
    [
        ((1.0, 1.0), ("left", "left"), (180.0, 180.0)),
        ((1.0, 1.0), ("right", "right"), (180.0, 180.0)),
        ((1.0, 1.0), ("left", "right"), (227.156, 227.156)),
        ((1.0, 1.5), ("left", "left"), (168.522, 191.478)),
    ],
)
def test_belts(
    radii: tuple[float, float], sides: tuple[str, str], expected: tuple[float, float]
) -> None:
    first = Roller("first", "idler", 0.0, 0.0, 2 * radii[0], sides[0])
    second = Roller("second", "idler", 3.0, 4.0, 2 * radii[1], sides[1])  # 5 apart, on a slant
    # The textbook values have three decimals.
    assert closed_belt(first, second) == pytest.approx(expected, abs=5e-4)


@pytest.mark.parametrize("seed", range(5))
def test_closed_film_round_many_rollers_is_their_convex_hull(seed: int) -> None:
    """Film that turns left round every roller is the perimeter that shapely finds."""
    rng = np.random.default_rng(seed)
    places = np.sort(rng.uniform(0, math.tau, 6))
    rollers = [
        Roller(f"r{i}", "idler", 3 * math.cos(a), 3 * math.sin(a), rng.uniform(0.2, 0.4))
        for i, a in enumerate(places)
        if i == 0 or a - places[i - 1] > 0.2
    ]
    spans = [tangent_span(a, b) for a, b in zip(rollers, [*rollers[1:], rollers[0]], strict=True)]
    length = sum(span.length for span in spans)
    for i, roller in enumerate(rollers):
        length += roller.radius * contact_angle(roller, spans[i - 1], spans[i])
    discs = unary_union([Point(r.x, r.y).buffer(r.radius, quad_segs=2000) for r in rollers])
    # shapely's discs are polygons of 8,000 sides: relative error of an arc 1e-7.
    assert length == pytest.approx(discs.convex_hull.length, rel=2e-7)


def test_s_lacing_gives_180_degrees() -> None:
    """Equal rollers of 60 mm that almost touch, centres 120.1 mm apart: 180 degrees and a little.

    By hand: film crosses between them at asin(.12/.1201) = 87.662 degrees to the line of centres,
    so at 177.662. It comes from the roll, √1.0036 = 1.0018 m away, at
    -atan(.06) - asin(.12/1.0018) = -3.434 - 6.879 = -10.313 and leaves level, atan(.06) less
    asin(.06/1.0018): 187.975 round the slow roller, 177.662 round the fast one.
    """
    path = film_path(
        [
            Roller("roll", "roll", -1.0, 0.06, 0.12, "right"),
            Roller("slow", "slow", 0.0, 0.0, 0.12, "left"),
            Roller("fast", "fast", 0.0, 0.1201, 0.12, "right"),
            Roller("out", "load", 1.0, 0.1801, 0.0),
        ]
    )
    angles = [math.degrees(path.contact(role).contact_angle) for role in ("slow", "fast")]
    # Three decimals of each term.
    assert angles == pytest.approx([187.975, 177.662], abs=2e-3)


def test_capstan() -> None:
    needed = math.log(15.0)
    assert needed == pytest.approx(2.708, abs=5e-4)
    grip = RollerGrip(0.6, needed / 0.6)
    assert grip_limit(10.0, grip) == pytest.approx(150.0)
    assert least_tension_that_holds(150.0, grip) == pytest.approx(10.0)


@pytest.mark.parametrize(
    ("speed", "tension", "microns"), [(1.0, 20.0, 15.8), (1.0, 300.0, 2.6), (3.0, 300.0, 5.4)]
)
def test_air_film(speed: float, tension: float, microns: float) -> None:
    # Values quoted to one decimal of a micrometre.
    film = air_film_thickness(0.05, tension, speed, speed)
    assert film * 1e6 == pytest.approx(microns, abs=0.06)


def test_full_contact_holds_the_prestretch_and_a_small_angle_droops() -> None:
    """Tension in percent of the force that 260 % asks for; tacky film on rubber, mu = 1.

    The belt equation holds nothing against exactly no tension, so "from no tension" is read as
    from the pull of an idle dancer on: 5 %.
    """
    full = float(drawing_force(FILM, AREA, 3.6))
    tension = np.linspace(0.05, 0.40, 36) * full
    slow = RollerGrip(1.0, math.pi, nip_force=30.0)

    def delivered(degrees: float) -> np.ndarray:
        fast = RollerGrip(1.0, math.radians(degrees))
        return delivered_stretch(FILM, AREA, 3.6, slow, fast, 25.0, tension).stretch

    assert np.all(delivered(180.0) == 3.6)
    small = delivered(70.0)
    assert small[0] < 1.1  # not drawn at all
    assert np.any((small > 2.0) & (small < 3.4))  # droops
    assert small[-1] == 3.6  # and comes back with tension
    lost = delivered_stretch(
        FILM, AREA, 3.6, slow, RollerGrip(1.0, math.radians(70.0)), 25.0, tension
    )
    assert GOVERNS[lost.governs[0]] == "fast roller"
