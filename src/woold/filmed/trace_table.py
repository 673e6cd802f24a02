"""The trace of a film as a text table, as recorders write them."""

from __future__ import annotations

import io
import math

import numpy as np

from woold.filmed.film_study import FilmResult

__all__ = ["trace_table"]


def trace_table(result: FilmResult) -> bytes:
    """Rows of time, dancer, its standard error and, where turns are known, the turntable's angle.

    Headings and numbers are those that recorded traces are read with; a frame in which the arm was
    hidden has no row.

    Args:
        result: a film judged.
    """
    trace = result.recording.trace
    is_angle = result.recording.kind == "angle"
    scale, unit = (math.degrees(1.0), "deg") if is_angle else (1e3, "mm")
    columns = [trace.time, scale * trace.position]
    headings = ["time [s]", f"dancer [{unit}]"]
    if trace.reading_error is not None:
        columns.append(scale * trace.reading_error)
        headings.append(f"standard error [{unit}]")
    if trace.turn_times is not None:
        turns = 360.0 * np.arange(len(trace.turn_times))
        columns.append(np.interp(trace.time, trace.turn_times, turns))
        headings.append("turntable [deg]")
    text = io.StringIO()
    text.write(",".join(headings) + "\n")
    for row in zip(*columns, strict=True):
        text.write(",".join(f"{value:.6f}" for value in row) + "\n")
    return text.getvalue().encode()
