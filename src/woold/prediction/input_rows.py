"""Every number of a case with its origin, in words."""

from __future__ import annotations

from woold.case.model import Case
from woold.rows.blocks import Table
from woold.rows.wording import Wording
from woold.units import KINDS

__all__ = ["input_table"]


def input_table(case: Case, caption: str, say: Wording, only: str = "") -> Table:
    """Every number of a case whose field begins with ``only``, with its origin."""
    rows = tuple(
        (
            each.field,
            say.amount(each.value, each.kind)
            if each.kind in KINDS
            else _money(each.value, each.kind, case.currency, say),
            say("placeholder: {origin}", origin=each.origin.words())
            if each.origin.is_placeholder
            else each.origin.words(),
        )
        for each in case.inputs()
        if each.field.startswith(only)
    )
    columns = (say("input"), say("value"), say("where it is from"))
    return Table(caption, columns, rows, words=(0, 2), is_small=True)


_PER = {"": (1.0, ""), "kg": (1.0, "/kg"), "s": (3600.0, "/h")}


def _money(amount: float, kind: str, currency: str, say: Wording) -> str:
    """A price, per what the trade states it."""
    factor, per = _PER[kind.partition("/")[2]]
    return f"{say.number(factor * amount)} {currency}{per}"
