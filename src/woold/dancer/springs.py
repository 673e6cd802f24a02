"""The springs of a case's dancer in its holes, at rest, ranked for the case's film and force."""

from __future__ import annotations

from woold.case.model import Case
from woold.dancer.case_dancer import choices_of, dancer_of, springs_of
from woold.dancer.results import SpringRow, SpringTable
from woold.physics.dancer_springs import SpringChoice
from woold.prediction.predict import rests_on

__all__ = ["spring_rows", "spring_table"]

_AT_REST = ("dancer.arm_length", "dancer.lower_stop", "dancer.upper_stop")
"""Names of the case's fields that the table rests on, where they are placeholders."""


def spring_table(case: Case) -> SpringTable:
    """Every spring in every hole, ranked for the case's film and force."""
    return SpringTable(
        title=case.title,
        force_to_load_n=case.program.force_to_load,
        film_thickness_m=case.film.thickness,
        choices=spring_rows(case),
        rests_on=rests_on(case, _AT_REST),
    )


def spring_rows(case: Case) -> tuple[SpringRow, ...]:
    """Rows of the table, the best for the case's film and force first."""
    dancer = dancer_of(case)
    springs = springs_of(dancer)
    numbers = {id(spring): number for number, spring in enumerate(springs, start=1)}
    choices = choices_of(case, dancer, springs)
    return tuple(_row(choice, numbers[id(choice.spring)]) for choice in choices)


def _row(choice: SpringChoice, number: int) -> SpringRow:
    return SpringRow(
        rank=choice.rank,
        spring=number,
        rate_n_per_m=choice.spring.rate,
        free_length_m=choice.spring.free_length,
        preload_n=choice.spring.preload,
        hole_m=choice.hole_radius,
        tension_lower_n=choice.tension_lower,
        tension_middle_n=choice.tension_middle,
        tension_upper_n=choice.tension_upper,
        balance_angle_rad=choice.balance_angle,
        travel_share=choice.travel_share,
        arm_stiffness_n_m_per_rad=choice.arm_stiffness,
        tension_per_film_n_per_m=choice.tension_per_film,
        serves_thinnest_m=choice.serves[0],
        serves_thickest_m=choice.serves[1],
        fits=choice.fits,
        reason=choice.reason,
    )
