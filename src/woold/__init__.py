"""woold: a workbench for people who wrap pallet loads in stretch film.

    >>> import woold
    >>> case = woold.read_case("today.toml")
    >>> woold.predict(case.change({"film.thickness": "47 gauge"}))

docs/library.md shows every name in use. A name is loaded when it is first used.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from woold.carriages.compare import compare_carriages
    from woold.carriages.match import match_films
    from woold.carriages.study import carriage_report
    from woold.case.file import read_case
    from woold.case.model import Case
    from woold.case.shelf import read_shelf
    from woold.dancer.springs import spring_table
    from woold.dancer.trace_file import read_trace
    from woold.errors import WooldError
    from woold.library.dancer import judge_trace, simulate_dancer, tune_dancer
    from woold.library.studies import (
        analyse_trial,
        design_program,
        judge,
        pool_sites,
        screen_transport,
        verdict_of,
        watch_loads,
    )
    from woold.library.sweep import sweep
    from woold.library.tested import calibrate_transport, fit_film, simulate_transport
    from woold.prediction.predict import predict
    from woold.uncertainty.sensitivity import input_effects

__version__ = "0.1.0"

__all__ = [
    "Case",
    "WooldError",
    "analyse_trial",
    "calibrate_transport",
    "carriage_report",
    "compare_carriages",
    "design_program",
    "fit_film",
    "input_effects",
    "judge",
    "judge_trace",
    "match_films",
    "pool_sites",
    "predict",
    "read_case",
    "read_shelf",
    "read_trace",
    "screen_transport",
    "simulate_dancer",
    "simulate_transport",
    "spring_table",
    "sweep",
    "tune_dancer",
    "verdict_of",
    "watch_loads",
]

_HOMES = {
    "woold.carriages.compare": ("compare_carriages",),
    "woold.carriages.match": ("match_films",),
    "woold.case.shelf": ("read_shelf",),
    "woold.carriages.study": ("carriage_report",),
    "woold.case.file": ("read_case",),
    "woold.case.model": ("Case",),
    "woold.dancer.springs": ("spring_table",),
    "woold.dancer.trace_file": ("read_trace",),
    "woold.errors": ("WooldError",),
    "woold.library.dancer": ("judge_trace", "simulate_dancer", "tune_dancer"),
    "woold.library.studies": (
        "analyse_trial",
        "design_program",
        "judge",
        "pool_sites",
        "screen_transport",
        "verdict_of",
        "watch_loads",
    ),
    "woold.library.sweep": ("sweep",),
    "woold.library.tested": ("calibrate_transport", "fit_film", "simulate_transport"),
    "woold.prediction.predict": ("predict",),
    "woold.uncertainty.sensitivity": ("input_effects",),
}
"""Where each public name is at home."""


def __getattr__(name: str) -> Any:
    for home, names in _HOMES.items():
        if name in names:
            found = globals()[name] = getattr(importlib.import_module(home), name)
            return found
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
