"""Results that take long are computed once, where what is tested is how they are told.

What is remembered goes by the values that went in, and by the language: another question is always
computed. When a record was written down, and so when a load was wrapped, is left out of them: two
stores of the same records differ in it alone.
"""

from __future__ import annotations

import contextlib
import dataclasses
import datetime
import functools
import importlib
import io
import pickle
import sys
import types
from collections.abc import Callable, Iterator
from typing import Any

from woold.learning.wrapped import Wrapped
from woold.words import language

DEAR = (
    "woold.dancer.trace_study.study_recording",
    "woold.design.study.design_program",
    "woold.learning.kept.learn_again",
    "woold.line.cells.judged_cells",
    "woold.line.dancer_swing.not_smooth",
    "woold.line.recipes.line_recipes",
    "woold.line.release.release",
    "woold.line.spring_kits.spring_kits",
    "woold.line.wear.line_wear",
    "woold.trial.calibrate.calibrate",
    "woold.uncertainty.sensitivity.input_effects",
)

_results: dict[tuple[str, str, bytes], Any] = {}


class _Question(pickle.Pickler):
    """Writes what went in, without progress reports and times of writing."""

    def reducer_override(self, thing: Any) -> Any:
        if isinstance(thing, datetime.datetime):
            return str, ()
        if isinstance(thing, types.FunctionType):
            return str, (thing.__qualname__,)
        if isinstance(thing, Wrapped):
            names = (each.name for each in dataclasses.fields(thing) if each.name != "when")
            return tuple, ([getattr(thing, name) for name in names],)
        return NotImplemented


def _asked(values: tuple[Any, ...], named: dict[str, Any]) -> bytes:
    out = io.BytesIO()
    _Question(out).dump((values, sorted(named.items())))
    return out.getvalue()


def _remembering(name: str, function: Callable[..., Any]) -> Callable[..., Any]:
    @functools.wraps(function)
    def remembered(*values: Any, **named: Any) -> Any:
        key = name, language(), _asked(values, named)
        if key not in _results:
            _results[key] = function(*values, **named)
        return _results[key]

    return remembered


@contextlib.contextmanager
def dear_results_once() -> Iterator[None]:
    """Within it, dear functions answer a question that they answered before from memory."""
    changed: list[tuple[Any, str, Any]] = []
    for name in DEAR:
        module, _, attribute = name.rpartition(".")
        function = getattr(importlib.import_module(module), attribute)
        instead = _remembering(name, function)
        for each in list(sys.modules.values()):
            if each.__name__.startswith("woold") and vars(each).get(attribute) is function:
                setattr(each, attribute, instead)
                changed.append((each, attribute, function))
    try:
        yield
    finally:
        for each, attribute, function in changed:
            setattr(each, attribute, function)
