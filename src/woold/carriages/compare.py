"""Two carriages on one load: film, turns and time, the saving by cause, and how sure it is.

The base's load, film, machine and program are asked of both; only the carriage differs. Force to
load and overlap stay the same, so the film of each turn holds as much and lies over as many others:
the containment is the same, and a wider film needs fewer turns for it.
"""

from __future__ import annotations

import numpy as np

from woold.carriages.comparison import (
    CAUSES,
    CarriageComparison,
    ComparedCarriage,
    InchOfWidth,
    SavingCause,
    SavingSpent,
)
from woold.carriages.saving import (
    CarriageOnLoad,
    Progress,
    drawn_range,
    drawn_savings,
    saving_by_cause,
    shared_unknowns,
)
from woold.case.field_words import section_label
from woold.case.model import Case
from woold.errors import InputError, WooldError
from woold.physics import outlines
from woold.physics.neck_down import film_width_after_gap
from woold.physics.numeric import bracketed_root
from woold.prediction.film_on_load import carriage_setting, film_on_load, lacing_of, width_loss_told
from woold.prediction.predict import load_outline, predict, rests_on
from woold.prediction.result import Finding, Prediction, RestsOn
from woold.uncertainty.draws import Correlations
from woold.uncertainty.spread import explained_share
from woold.verdict.verdict import verdict_of
from woold.words import say

__all__ = ["at_same_overlap", "compare_carriages", "with_shared_width_loss"]

_INCH = 0.0254


def at_same_overlap(case: Case, base: Prediction) -> Case:
    """The case with the rise and fall at which its film overlaps as the base's does."""
    width = predict(case).film_width_on_load_m
    down = base.overlap_up if base.overlap_down is None else base.overlap_down
    return case.with_values(
        {
            "program.overlap": None,
            "program.rise_per_turn": width * (1.0 - base.overlap_up),
            "program.fall_per_turn": width * (1.0 - down),
        }
    )


def compare_carriages(
    base: Case,
    candidate: Case,
    draws: int = 10_000,
    seed: int = 1,
    correlations: Correlations | None = None,
    progress: Progress | None = None,
) -> CarriageComparison:
    """Film, turns and time of two carriages on the base's load, and where the saving comes from.

    Args:
        base: the case as it is.
        candidate: a case of which the carriage is taken, and nothing else.
        draws: random draws of the inputs that are known within a range only.
        seed: of the draws.
        correlations: of pairs of those inputs; fields of the two carriages begin with "base." and
            "candidate.". An input of the film, and a placeholder that stands in both carriages
            with one value and one range, is one unknown and counts alike for both.
        progress: called with the number of draws done.

    Raises:
        WooldError: a case that cannot be predicted, or correlations that cannot be.
    """
    if not 100 <= draws <= 10_000_000:
        raise InputError.one(
            "--draws",
            f"{draws}",
            say("100 to 10,000,000"),
            say("Give a number of draws in that range."),
        )
    base, swapped = with_shared_width_loss(base, base.with_section_of("carriage", candidate))
    before = predict(base)
    other = at_same_overlap(swapped, before)
    after = predict(other)
    carriages = (CarriageOnLoad(base, before, before), CarriageOnLoad(other, after, before))
    unknowns, names = shared_unknowns(base, other)
    judged = verdict_of(base, before), verdict_of(other, after)
    shares = drawn_savings(carriages, unknowns, names, draws, seed, correlations, progress)
    saved = saving_by_cause(
        *(np.asarray([value]) for value in (before.stretch_on_load, after.stretch_on_load)),
        *(np.asarray([each.film_length_m]) for each in (before, after)),
    )
    return CarriageComparison(
        base=_compared(before, base.title),
        candidate=_compared(after, candidate.title),
        base_verdict=judged[0],
        candidate_verdict=judged[1],
        is_saving=not judged[1].fails,
        saving=float(saved["both"][0]),
        saving_interval=drawn_range(shares["both"]),
        candidate_uses_less_share=float(np.mean(shares["both"] > 0.0)),
        causes=tuple(
            SavingCause(
                cause,
                float(saved[f"{cause} alone"][0]),
                float(saved[cause][0]),
                drawn_range(shares[cause]),
            )
            for cause in CAUSES
        ),
        spending=_spending(other, before, after),
        inch=_inch(carriages[1], after),
        law_share=explained_share(shares["law"], shares["both"]) if "law" in shares else None,
        currency=base.currency,
        draws=draws,
        seed=seed,
        varied=tuple(each.name for each in unknowns),
        slips_share_base=float(np.mean(shares["base slips"])),
        slips_share_candidate=float(np.mean(shares["candidate slips"])),
        rests_on=_merged(rests_on(base), rests_on(other)),
        findings=_findings(base, candidate, before, after),
    )


def _spending(candidate: Case, before: Prediction, after: Prediction) -> SavingSpent:
    saved = before.film_mass_kg - after.film_mass_kg
    loads = before.film_mass_per_year_kg / before.film_mass_kg
    price = candidate.film.price
    per_turn = after.film_mass_kg / after.film_length_m * _perimeter(candidate)
    overlap = _overlap_for_mass(candidate, before, after)
    richer = None if overlap is None else predict(_with_overlap(candidate, overlap))
    return SavingSpent(
        film_saved_kg=saved,
        film_saved_per_year_kg=saved * loads,
        cost_saved_per_year=None if price is None else price.amount * saved * loads,
        extra_turns=saved / per_turn,
        overlap_at_equal_film=overlap,
        layers_mean_at_equal_film=None if richer is None else richer.layers_mean,
        containment_at_equal_film_n=None if richer is None else richer.containment_min_n,
    )


def _inch(candidate: CarriageOnLoad, after: Prediction) -> InchOfWidth:
    width, case = after.film_width_on_load_m, candidate.case
    radius = float(carriage_setting(case, candidate.lacing).slow_radius)
    arc, roll, stretch = after.slip_arc_m, case.film.roll_width, after.prestretch_delivered
    told = width_loss_told(case, candidate.lacing, film_on_load(case))
    factor = after.width_loss if told is None else told
    gaps = np.array([after.gap_m, after.gap_m + arc])
    without, with_arc = np.asarray(film_width_after_gap(roll, gaps, stretch, factor)).tolist()
    return InchOfWidth(
        gap_m=_INCH / (2.0 * factor) if factor > 0.0 else None,
        saving=1.0 - candidate.length(width + _INCH) / candidate.length(width),
        arc_angle_rad=arc / radius if radius > 0.0 else 0.0,
        arc_neck_down_m=without - with_arc,
    )


def with_shared_width_loss(base: Case, candidate: Case) -> tuple[Case, Case]:
    """Both cases, with the width loss that the measured width of one of them tells of the film.

    Where one carriage's width on the load was measured and the other's was not, the film's loss of
    width over the gap follows from it and counts for the other, at its own gap.
    """
    cases = [base, candidate]
    known = [case.width_is_measured for case in cases]
    if base.film.width_loss is None and sum(known) == 1:
        teller = cases[known.index(True)]
        lacing = lacing_of(teller)
        sheet = film_on_load(teller)
        told = width_loss_told(teller, lacing, sheet)
        if told is not None:
            values = {"film.width_loss": told, "film.width_loss_prestretch": sheet.delivered}
            place = known.index(False)
            cases[place] = cases[place].with_values(values)
    return cases[0], cases[1]


def _perimeter(case: Case) -> float:
    return outlines.perimeter(load_outline(case))


def _with_overlap(case: Case, overlap: float) -> Case:
    return case.with_values(
        {
            "program.overlap": overlap,
            "program.rise_per_turn": None,
            "program.fall_per_turn": None,
        }
    )


def _overlap_for_mass(case: Case, before: Prediction, after: Prediction) -> float | None:
    """Overlap, the same up and down, at which the candidate uses as much film as the base."""

    def excess(overlap: float) -> float:
        return predict(_with_overlap(case, overlap)).film_mass_kg - before.film_mass_kg

    low, high = min(after.overlap_up, 0.0) - 0.5, 0.98
    try:
        if not excess(low) < 0.0 < excess(high):
            return None
        return float(bracketed_root(lambda overlap: excess(float(overlap)), low, high, 40))
    except WooldError:
        return None


def _compared(p: Prediction, title: str) -> ComparedCarriage:
    names = (name for name in ComparedCarriage.__dataclass_fields__ if name != "title")
    return ComparedCarriage(title=title, **{name: getattr(p, name) for name in names})


def _merged(*lists: tuple[RestsOn, ...]) -> tuple[RestsOn, ...]:
    merged = {(each.field, each.value): each for rows in lists for each in rows}
    return tuple(merged.values())


def _findings(
    base: Case, candidate: Case, before: Prediction, after: Prediction
) -> tuple[Finding, ...]:
    found = [
        Finding(
            "section_not_compared",
            name,
            say(
                "The two cases differ in “{section}”. The base's is asked of both; only the"
                " carriage is the candidate's.",
                section=section_label(name),
            ),
        )
        for name in ("load", "film", "machine", "program", "hold", "plant")
        if getattr(base, name) != getattr(candidate, name)
    ]
    if after.containment_min_n < before.containment_min_n * (1.0 - 1e-6):
        found.append(
            Finding(
                "containment_differs",
                "program",
                say(
                    "At the same overlap the least containment force is a little lower with"
                    " the candidate: its turns meet at other places of the load. Add a turn"
                    " there."
                ),
            )
        )
    seen = set()
    for role, prediction in (("base", before), ("candidate", after)):
        for each in prediction.findings:
            if (each.code, each.message) not in seen:
                seen.add((each.code, each.message))
                found.append(Finding(each.code, f"{role}.{each.field}", each.message))
    return tuple(found)
