"""What to watch when a design is tried: thin overlaps, more force."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from woold.case.model import Case
from woold.design.verified import Verified
from woold.errors import Problem
from woold.prediction.result import Finding
from woold.units import show
from woold.words import say, to_say

__all__ = ["design_findings", "no_price_finding", "unpriced_finding"]

RISE, FALL = to_say("rise"), to_say("fall")

_THIN_OVERLAP = 0.1
"""Overlap under which a little more neck-down leaves a bare strip (common practice, no source)."""


def design_findings(case: Case, chosen: Verified) -> Iterator[Finding]:
    """Findings about the chosen program, besides those of its prediction."""
    p, made = chosen.prediction, chosen.candidate.settings
    overlaps = [(RISE, p.overlap_up), (FALL, p.overlap_down)]
    thin = [
        (name, overlap)
        for name, overlap in overlaps
        if overlap is not None and overlap < _THIN_OVERLAP
    ]
    if thin and p.layers_min < 2.0:
        name, overlap = min(thin, key=lambda each: each[1])
        yield Finding(
            "thin_overlap",
            "carriage.gap",
            say(
                "The {name} leaves {overlap} overlap where one layer is all there is: a little"
                " more neck-down leaves a bare strip. Measure the film's width on the load,"
                " and ask how often it holds over all ranges.",
                name=say(name),
                overlap=show(overlap, "fraction"),
            ),
        )
    if made.force_to_load_n > case.program.force_to_load:
        yield Finding(
            "more_force",
            "program.force_to_load",
            _more_force_text(case, made.force_to_load_n),
        )
    if case.program.ropes:
        yield Finding(
            "ropes_at_the_bottom",
            "program.ropes",
            say(
                "Ropes were kept within the bottom wraps, as the recipe has them, and so in what no"
                " program gets below: one that reaches further may need less film."
            ),
        )


def no_price_finding(lacking: Sequence[Problem]) -> Finding:
    """Why the least film was looked for and not the least cost."""
    return Finding(
        "least_film_without_prices",
        lacking[0].field,
        say(
            "Without prices the least film was looked for; it can cost more an hour of machine"
            " time than it saves. Give {fields}.",
            fields=", ".join(each.field for each in lacking),
        ),
    )


def unpriced_finding(names: Sequence[str]) -> Finding:
    """Films of the shelf that were left out, since least cost cannot weigh them."""
    return Finding(
        "films_without_price",
        "film.price",
        say(
            "Left out for want of a price: {names}. Give their price, or look for the least film.",
            names=", ".join(names),
        ),
    )


def _more_force_text(case: Case, force: float) -> str:
    named = {
        "today": show(case.program.force_to_load, "force"),
        "new": show(force, "force"),
    }
    if case.dancer is not None and case.dancer.springs:
        return say(
            "The force to load rises from {today} to {new}: try it in small steps, and watch for"
            " breaks and crushed corners.",
            **named,
        )
    return say(
        "The force to load rises from {today} to {new}: try it in small steps, and watch for"
        " breaks and crushed corners, and that the dancer holds it.",
        **named,
    )
