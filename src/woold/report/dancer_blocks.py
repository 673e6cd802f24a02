"""The dancer on the operator's sheet: spring and hole, and what a good one looks like."""

from __future__ import annotations

import math
from collections.abc import Iterator

from woold.case.model import Case
from woold.dancer.cycle import simulate_cycle
from woold.dancer.cycle_rows import set_up_rows
from woold.dancer.results import CycleStudy
from woold.prediction.predict import load_outline
from woold.prediction.result import Prediction
from woold.rows.blocks import Facts, Paragraph
from woold.rows.wording import Wording

__all__ = ["cycle_of", "dancer_facts", "dancer_looks"]


def cycle_of(case: Case, say: Wording) -> CycleStudy | None:
    """The dancer over the case's cycle; None where the case describes none with a spring."""
    if case.dancer is None or not case.dancer.springs:
        return None
    return simulate_cycle(case, units=say.units)[0]


def dancer_facts(study: CycleStudy, say: Wording) -> Facts:
    """Spring and hole, and what the simulation says of them."""
    return Facts(
        say("Dancer: spring and hole; the rest is simulated"), tuple(set_up_rows(study, say))
    )


def dancer_looks(case: Case, p: Prediction, say: Wording) -> Paragraph:
    """What to look for in a dancer at work."""
    return Paragraph(
        say(
            "What a good dancer looks like (common practice): {looks}",
            looks=" ".join(_looks(case, p, say)),
        )
    )


def _looks(case: Case, p: Prediction, say: Wording) -> Iterator[str]:
    outline = load_outline(case)
    if outline.corner_radius:
        yield say("The load is round: the arm hardly moves once the film runs.")
    else:
        yield say(
            "The arm swings with the load's {corners} corners, the same way in every turn of"
            " {turn}: film speed goes between {low} and {high}.",
            corners=len(outline.vertices),
            low=say.amount(p.film_speed_min_m_per_s, "speed"),
            high=say.amount(p.film_speed_max_m_per_s, "speed"),
            turn=say.amount(2.0 * math.pi / case.machine.speed, "time"),
        )
    yield say(
        "It swings about the middle of its travel. If it hangs to one side, look at spring,"
        " hole and force."
    )
    yield say("It never touches a stop, and the film never goes slack at a flat side.")
    yield say(
        "After the last corner it comes to rest within a swing or two, and does not bounce on."
    )
