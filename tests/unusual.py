"""Cases that are not usual, read as by somebody who says of every question that it is right."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from woold.case.file import case_from_table
from woold.case.model import Case
from woold.errors import InputError, Question


def unusual_case(table: Mapping[str, Any]) -> Case:
    """The case of a table, every question confirmed."""
    return case_from_table(table, confirmed(table))


def confirmed(table: Mapping[str, Any]) -> list[str]:
    """Names of the fields that are asked about."""
    right: list[str] = []
    while True:
        try:
            case_from_table(table, right)
        except InputError as error:
            if not all(isinstance(each, Question) for each in error.problems):
                raise
            right += [each.field for each in error.problems]
        else:
            return right
