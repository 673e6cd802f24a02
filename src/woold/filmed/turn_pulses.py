"""The instants at which the load's tag comes by: one for each turn."""

from __future__ import annotations

import itertools
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from woold.filmed.plane import aligned
from woold.filmed.tag_tracks import TagTracks
from woold.filmed.tags import FRAME, LOAD

__all__ = ["TurnPulses", "turn_pulses"]

Floats = NDArray[np.float64]

_SPELL_S = 0.3  # a tag that was away for longer comes by anew
_REACH_S = 0.3  # how far from a sighting the passage may be put
_SAME = 0.4  # of a usual turn: what follows sooner is the same passage
_WHOLE = 0.15  # of a turn, by which several turns may differ from whole ones
_MOST_FILLED = 0.25


class TurnPulses(NamedTuple):
    """Passages of the load's tag.

    Args:
        times: one for each turn [s].
        seen: how many were seen; the others were set between their neighbours.
    """

    times: Floats
    seen: int


def turn_pulses(tracks: TagTracks, fewest: int) -> TurnPulses | None:
    """Passages of the load's tag by one line across its way.

    Args:
        tracks: of the tags.
        fewest: passages that are of use.

    Returns:
        The passages; None where there are too few, or too many were missed.
    """
    load = tracks.tags[LOAD]
    if load.seen.sum() < fewest:
        return None
    time, place = tracks.time[load.seen], _steady_places(tracks)[load.seen]
    around = place - place.mean()
    spread = (around**2).mean()
    # The long axis of the way that it is seen on.
    along = around * np.exp(-0.5j * np.angle(spread)) if abs(spread) > 0 else around
    way = along.real
    breaks = np.flatnonzero(np.diff(time) > _SPELL_S) + 1
    spells = np.split(np.arange(len(time)), breaks)
    speeds = np.concatenate(
        [np.gradient(way[each], time[each]) for each in spells if len(each) > 2] or [np.zeros(1)]
    )
    usual = float(np.median(speeds[speeds != 0])) if np.any(speeds != 0) else 0.0
    if usual == 0.0:
        return None
    way = way * np.sign(usual)
    line = float(np.median([(way[each].min() + way[each].max()) / 2 for each in spells]))
    passed = np.array(sorted(_passages(time, way - line, spells, abs(usual))))
    return _each_turn(passed, fewest)


def _steady_places(tracks: TagTracks) -> NDArray[np.complex128]:
    """Middle of the load's tag, the camera's shake taken out where the frame's tag is seen."""
    frame, load = tracks.tags[FRAME], tracks.tags[LOAD]
    middle = load.corners.mean(axis=1)
    place = middle[:, 0] + 1j * middle[:, 1]
    if frame.seen.any():
        base = np.nanmedian(frame.corners, axis=0)
        fit = aligned(frame.corners, base)
        place = np.where(frame.seen, fit[:, 0] * place + fit[:, 1], place)
    return np.asarray(place)


def _passages(
    time: Floats, way: Floats, spells: list[NDArray[np.intp]], usual: float
) -> list[float]:
    passed = []
    for spell in spells:
        t, w = time[spell], way[spell]
        rising = np.flatnonzero((w[:-1] < 0) & (w[1:] >= 0))
        if len(rising):
            at = rising
            passed += list(t[at] - w[at] * (t[at + 1] - t[at]) / (w[at + 1] - w[at]))
            continue
        nearest = int(np.abs(w).argmin())
        late = -float(w[nearest]) / usual
        if abs(late) <= _REACH_S:
            passed.append(float(t[nearest]) + late)
    return passed


def _each_turn(passed: Floats, fewest: int) -> TurnPulses | None:
    """Passages without doubles, those that were missed set between their neighbours."""
    if len(passed) < fewest:
        return None
    steps = np.diff(passed)
    usual = float(np.median(steps[steps >= _SAME * np.percentile(steps, 75)]))
    kept = [float(passed[0])]
    for each in passed[1:].tolist():
        if each - kept[-1] > _SAME * usual:
            kept.append(each)
    if len(kept) < fewest:
        return None
    times = [kept[0]]
    for before, after in itertools.pairwise(kept):
        turns = (after - before) / usual
        whole = max(round(turns), 1)
        if abs(turns - whole) <= _WHOLE * whole:
            times += [before + (after - before) * part / whole for part in range(1, whole)]
        times.append(after)
    if len(times) - len(kept) > _MOST_FILLED * len(times):
        return None
    return TurnPulses(np.array(times), len(kept))
