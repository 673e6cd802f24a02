"""Film paths: plain ones, and those that are refused with the two rollers named."""

import math
from dataclasses import replace

import pytest

from woold.errors import PhysicsError
from woold.physics.film_path import film_path
from woold.physics.rollers import Roller, geared_stretch

ROLL = Roller("roll", "roll", 0.0, 0.0, 0.20, "right")
SLOW = Roller("slow", "slow", 0.30, 0.15, 0.10, "right")
FAST = Roller("fast", "fast", 0.45, 0.15, 0.12, "left")
IDLER = Roller("idler", "idler", 0.65, 0.35, 0.05, "left")
LOAD = Roller("load", "load", 0.50, 1.20, 0.0)
CARRIAGE = (ROLL, SLOW, FAST, IDLER, LOAD)


def refusal(*rollers: Roller) -> str:
    with pytest.raises(PhysicsError) as raised:
        film_path(rollers)
    return str(raised.value)


def test_spans_are_tangent_and_join_the_arcs() -> None:
    path = film_path(CARRIAGE)
    by_name = {roller.name: roller for roller in CARRIAGE}
    for span in path.spans:
        along = (math.cos(span.direction), math.sin(span.direction))
        for name, point in ((span.start_name, span.start), (span.end_name, span.end)):
            roller = by_name[name]
            spoke = (point[0] - roller.x, point[1] - roller.y)
            assert math.hypot(*spoke) == pytest.approx(roller.radius)
            assert spoke[0] * along[0] + spoke[1] * along[1] == pytest.approx(0, abs=1e-12)
    for contact, before, after in zip(path.contacts, path.spans, path.spans[1:], strict=False):
        roller = contact.roller
        start = math.atan2(before.end[1] - roller.y, before.end[0] - roller.x)
        end = start + roller.turn * contact.contact_angle
        rolled = (
            roller.x + roller.radius * math.cos(end),
            roller.y + roller.radius * math.sin(end),
        )
        assert rolled == pytest.approx(after.start, abs=1e-12)


def test_gap_is_the_free_film_between_slow_and_fast() -> None:
    path = film_path(CARRIAGE)
    # Crossed tangents of r .05 and .06, .15 apart.
    assert path.gap == pytest.approx(math.sqrt(0.15**2 - 0.11**2))
    arcs = sum(contact.arc_length for contact in path.contacts)
    assert path.film_length == pytest.approx(sum(span.length for span in path.spans) + arcs)


def test_idler_in_the_gap_counts_its_two_free_spans() -> None:
    between = Roller("between", "idler", 0.40, 0.05, 0.04, "left")
    path = film_path((ROLL, SLOW, between, replace(FAST, x=0.55), IDLER, LOAD))
    assert path.gap == pytest.approx(path.spans[1].length + path.spans[2].length)


def test_turning_the_whole_carriage_changes_nothing() -> None:
    plain = film_path(CARRIAGE)
    turned = film_path([replace(r, x=3.0 - r.y, y=r.x - 2.0) for r in CARRIAGE])
    mirrored = film_path(
        [replace(r, x=-r.x, side="right" if r.side == "left" else "left") for r in CARRIAGE]
    )
    for other in (turned, mirrored):
        assert other.gap == pytest.approx(plain.gap)
        assert other.film_length == pytest.approx(plain.film_length)
        for ours, theirs in zip(plain.contacts, other.contacts, strict=True):
            assert theirs.contact_angle == pytest.approx(ours.contact_angle)


def test_sprockets_and_diameters_give_the_stretch() -> None:
    # Slow shaft 36 teeth, fast shaft 12: three turns to one; rollers 100 and 120 mm.
    assert geared_stretch(36, 12, 0.100, 0.120) == pytest.approx(3.6)


def test_overlap_names_both_rollers() -> None:
    text = refusal(ROLL, SLOW, replace(FAST, x=0.40), IDLER, LOAD)
    assert "carriage.rollers.slow, carriage.rollers.fast" in text
    assert "overlap by 10.0 mm" in text


def test_span_that_cuts_another_roller_names_all() -> None:
    text = refusal(ROLL, SLOW, FAST, replace(IDLER, x=0.15, y=0.14), LOAD)
    assert "film from roll to slow that cuts" in text
    assert "carriage.rollers.idler" in text


def test_film_that_crosses_itself_is_refused() -> None:
    text = refusal(ROLL, SLOW, FAST, replace(IDLER, x=0.60, y=-0.10), LOAD)
    assert "carriage.rollers.fast:" in text
    assert "crosses the film" in text


def test_wrong_order_names_both_rollers() -> None:
    text = refusal(ROLL, FAST, SLOW, LOAD)
    assert "carriage.rollers.slow, carriage.rollers.fast" in text
    assert "the slow roller before the fast one" in text


def test_several_problems_come_at_once() -> None:
    text = refusal(replace(SLOW, name="same"), replace(IDLER, name="same", diameter=-0.1))
    assert "2 rollers named 'same'" in text
    assert "one of role 'fast'" in text
    assert "'roll'" in text
    assert "'load'" in text
    assert "a diameter above 0" in text
    assert len(text.splitlines()) == 5


def test_no_rollers_at_all() -> None:
    assert "no roller" in refusal()


def nip_at(degrees: float, apart: float = 0.0) -> Roller:
    reach = SLOW.radius + 0.02 + apart
    angle = math.radians(degrees)
    return Roller(
        "nip",
        "nip",
        SLOW.x + reach * math.cos(angle),
        SLOW.y + reach * math.sin(angle),
        0.04,
        presses_on="slow",
    )


def test_nip_on_the_film_is_taken_and_changes_no_path() -> None:
    arrives = film_path(CARRIAGE).contact("slow").arrives
    place = math.degrees(math.atan2(arrives[1] - SLOW.y, arrives[0] - SLOW.x))
    with_nip = film_path([*CARRIAGE, nip_at(place - 30)])
    assert with_nip.film_length == film_path(CARRIAGE).film_length


@pytest.mark.parametrize(
    ("nip", "said"),
    [
        (nip_at(-90, apart=0.01), "10.0 mm apart"),
        (nip_at(-90), "presses where no film is"),
        (replace(nip_at(90), presses_on="rool"), "the name of the roller that it is pressed on"),
        (replace(nip_at(90), presses_on="nip"), "a roller that the film runs round"),
    ],
)
def test_nip_is_refused(nip: Roller, said: str) -> None:
    assert said in refusal(*CARRIAGE, nip)
