"""What was measured of a treatment, of which its cases predict the like."""

from __future__ import annotations

from woold.case.model import Case
from woold.errors import InputError
from woold.prediction.predict import predict
from woold.trial.averages import PULL, Average, treatment_averages
from woold.trial.setup import TREATMENTS, TrialSetup
from woold.trial.table import LoadTable
from woold.words import say

__all__ = ["nothing_measured", "predictable_averages"]


def predictable_averages(
    table: LoadTable, setup: TrialSetup, treatment: str
) -> tuple[dict[int, Case], list[Average]]:
    """Cases of a treatment by the code of their load type, and averages that they predict.

    Args:
        table: the loads.
        setup: the trial.
        treatment: baseline or candidate.
    """
    cases = {
        place: case
        for place, each in enumerate(setup.trial.load_types)
        if (case := setup.case(each.name, treatment)) is not None
    }
    averages = treatment_averages(table, TREATMENTS.index(treatment), list(cases))
    # A round load has no flat face to pull at, so nothing predicts its pull readings.
    flat = {
        place for place, case in cases.items() if predict(case).pull_plate_reading_n is not None
    }
    return cases, [each for each in averages if each.what != PULL or each.load_type in flat]


def nothing_measured(of: str) -> InputError:
    """The error where no case predicts anything that was measured.

    Args:
        of: treatment or trial.
    """
    return InputError.one(
        of,
        say("no case, or nothing measured on its load types"),
        say("a case file for each load type, and film mass, marks, widths or pulls"),
        say("Name the case in the trial file; import a sheet."),
    )
