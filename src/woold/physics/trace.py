"""A recorded trace of the dancer: checks, even samples, and the stretches in which it worked."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from woold.errors import InputError, Problem
from woold.words import say

__all__ = ["EvenSamples", "Trace", "even_samples", "pulse_times", "working_stretches"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

_FASTEST_RATE = 250.0  # Hz; a dancer's bounce lies far below
_LONGEST_GAP = 0.15  # s, over which a swing can still be drawn straight
_RADIANS = 180 / np.pi
_FEWEST_SAMPLES = 50


@dataclass(frozen=True, eq=False)
class Trace:
    """What was recorded.

    Args:
        time: growing, steps may be uneven [s], shape (n,).
        position: of the dancer, a growing one stores film; angle [rad] or any other unit, (n,).
        turn_times: instants at which a turn begins, or None [s], shape (m,).
        turntable_angle: unwrapped or not, or None [rad], shape (n,).
        reading_error: standard error of each position, its unit, or None, shape (n,).
        gaps: begins and ends of times in which nothing was seen, or None [s], shape (m, 2).
    """

    time: Floats
    position: Floats
    turn_times: Floats | None = None
    turntable_angle: Floats | None = None
    reading_error: Floats | None = None
    gaps: Floats | None = None

    def __post_init__(self) -> None:
        problems = _problems(self)
        if problems:
            raise InputError.many(problems)


@dataclass(frozen=True, eq=False)
class EvenSamples:
    """The trace at even steps of time.

    Args:
        start: time of the first sample [s].
        interval: between samples [s].
        position: unit of the trace, shape (n,).
        sound: false where nothing was recorded for too long, shape (n,).
        reading_error: standard error of each position, or None, shape (n,).
    """

    start: float
    interval: float
    position: Floats
    sound: Flags
    reading_error: Floats | None = None

    @property
    def time(self) -> Floats:
        """Times of the samples [s]."""
        return np.asarray(self.start + self.interval * np.arange(len(self.position)))


def _problems(trace: Trace) -> list[Problem]:
    time, position = trace.time, trace.position
    if time.ndim != 1 or time.shape != position.shape:
        return [
            Problem(
                "trace",
                say(
                    "times {times}, positions {positions}",
                    times=time.shape,
                    positions=position.shape,
                ),
                say("one position a time"),
                say("Look for a row that lacks a value."),
            )
        ]
    if len(time) < _FEWEST_SAMPLES:
        return [
            Problem(
                "trace",
                say("samples: {count}", count=len(time)),
                say("{fewest} samples or more", fewest=_FEWEST_SAMPLES),
                say("Record for longer."),
            )
        ]
    if not (np.isfinite(time).all() and np.isfinite(position).all()):
        return [
            Problem(
                "trace",
                say("values that are not finite"),
                say("finite numbers"),
                say("Take the rows without a value out."),
            )
        ]
    steps = np.diff(time)
    back = np.flatnonzero(steps <= 0)
    if len(back):
        at = int(back[0])
        return [
            Problem(
                "trace.time",
                say(
                    "{before:.6g} s then {after:.6g} s at sample {sample} (such places: {places})",
                    before=time[at],
                    after=time[at + 1],
                    sample=at + 2,
                    places=len(back),
                ),
                say("times that grow from sample to sample"),
                say("Sort the rows, or cut the file where the recorder's clock was set."),
            )
        ]
    problems = list(_reading_problems(trace))
    jump = _unit_change(steps)
    if jump is not None:
        problems.append(
            Problem(
                "trace.time",
                say(
                    "steps of {before:.3g} up to sample {sample}, of {after:.3g} after it",
                    before=np.median(steps[:jump]),
                    sample=jump + 1,
                    after=np.median(steps[jump:]),
                ),
                say("one unit of time throughout"),
                say("It looks as if seconds and milliseconds were mixed."),
            )
        )
    spread = float(np.ptp(position))
    if spread <= 1e-9 * max(1.0, float(np.abs(position).max())):
        problems.append(
            Problem(
                "trace.position",
                say("{position:g} in every sample", position=position[0]),
                say("a position that changes"),
                say("The sensor did not move or was not recorded; look at its column and cable."),
            )
        )
    else:
        problems += _mixed_angles(position)
    return problems


def _reading_problems(trace: Trace) -> Iterator[Problem]:
    """What is wrong with the standard errors and the gaps, if they are given."""
    error, gaps = trace.reading_error, trace.gaps
    if error is not None and not (
        error.shape == trace.position.shape and bool((np.isfinite(error) & (error >= 0)).all())
    ):
        yield Problem(
            "trace.reading_error",
            say(
                "errors {errors}, positions {positions}",
                errors=error.shape,
                positions=trace.position.shape,
            ),
            say("one finite standard error of zero or more for each position"),
            say("Give an error for each position, or none at all."),
        )
    if gaps is not None and not (
        gaps.ndim == 2 and gaps.shape[1] == 2 and bool((gaps[:, 0] <= gaps[:, 1]).all())
    ):
        yield Problem(
            "trace.gaps",
            say("gaps {shape}", shape=gaps.shape),
            say("a begin and an end for each, the begin first"),
            say("Give each gap's begin and end."),
        )


def _unit_change(steps: Floats) -> int | None:
    """Sample at which the typical step of time changes by about a thousand, if it does."""
    blocks = np.array_split(steps, min(64, len(steps) // 8))
    typical = np.log10([float(np.median(block)) for block in blocks])
    change = np.diff(typical)
    place = int(np.abs(change).argmax())
    # Steady before and after, a thousandfold apart: units, not a pause or a change of rate.
    before, after = typical[: place + 1], typical[place + 1 :]
    if abs(float(np.median(after) - np.median(before))) < 2.5:
        return None
    return int(sum(len(block) for block in blocks[: place + 1]))


def _mixed_angles(position: Floats) -> list[Problem]:
    """Degrees up to some sample and radians after it, or the other way round.

    Swing and level must both change by the factor: an idle dancer's noise is no change of unit.
    """
    blocks = np.array_split(position, min(12, len(position) // 16))
    if len(blocks) < 6:
        return []
    swings = np.array([float(np.subtract(*np.percentile(block, [95, 5]))) for block in blocks])
    moving = swings > 1e-3 * swings.max()
    if not moving.all():
        return []
    levels = np.log(swings)
    place = int(np.abs(np.diff(levels)).argmax())
    before, after = levels[: place + 1], levels[place + 1 :]
    ratio = float(np.exp(abs(np.median(after) - np.median(before))))
    # The block in which the unit changes belongs to neither side.
    sides = [side for side in (before[:-1], after[1:]) if len(side)]
    steady = max(float(np.ptp(side)) for side in sides) < np.log(4.0)
    at = sum(len(block) for block in blocks[: place + 1])
    heights = sorted(abs(float(np.median(part))) for part in (position[:at], position[at:]))
    if not (steady and 40 < ratio < 80 and 40 * heights[0] < heights[1] < 80 * heights[0]):
        return []
    return [
        Problem(
            "trace.position",
            say(
                "a swing {ratio:.0f} times as large on one side of sample {at} as on the other",
                ratio=ratio,
                at=at,
            ),
            say("one unit throughout"),
            say(
                "It looks as if degrees and radians (a factor of {radians:.1f}) were mixed.",
                radians=_RADIANS,
            ),
        )
    ]


def pulse_times(time: ArrayLike, level: ArrayLike) -> Floats:
    """Instants at which a pulse begins.

    Args:
        time: growing [s], shape (n,).
        level: low between pulses, high in them, any unit, shape (n,).

    Returns:
        Middle of the steps at which the level rises through half its range [s].
    """
    times, levels = np.asarray(time, dtype=np.float64), np.asarray(level, dtype=np.float64)
    high = levels > (levels.min() + levels.max()) / 2
    rising = np.flatnonzero(~high[:-1] & high[1:])
    return np.asarray((times[rising] + times[rising + 1]) / 2)


def even_samples(trace: Trace) -> EvenSamples:
    """The trace at even steps of its median step, or coarser where it is faster than needed.

    Returns:
        Samples interpolated by cubics, at gaps linearly; those in a gap, the trace's own or one
        of more than 0.15 s and five steps, are marked.
    """
    steps = np.diff(trace.time)
    interval = float(np.median(steps))
    count = int((trace.time[-1] - trace.time[0]) / interval) + 1
    grid = trace.time[0] + interval * np.arange(count)
    position = _between(trace.time, trace.position, grid, interval)
    sound = np.ones(count, dtype=bool)
    long = np.flatnonzero(steps > max(5 * interval, _LONGEST_GAP))
    unseen = np.column_stack([trace.time[long], trace.time[long + 1]])
    if trace.gaps is not None:
        unseen = np.concatenate([unseen, trace.gaps.reshape(-1, 2)])
    for begin, end in unseen:
        first, last = np.searchsorted(grid, [begin, end])
        sound[first + 1 : last] = False
    block = max(int(1 / interval / _FASTEST_RATE), 1)
    whole = count // block * block
    error: Floats | None = None
    if trace.reading_error is not None:
        squares = np.interp(grid, trace.time, trace.reading_error**2)[:whole]
        error = np.sqrt(squares.reshape(-1, block).mean(axis=1) / block)
    return EvenSamples(
        start=float(grid[0]) + interval * (block - 1) / 2,
        interval=interval * block,
        position=position[:whole].reshape(-1, block).mean(axis=1),
        sound=np.asarray(sound[:whole].reshape(-1, block).all(axis=1)),
        reading_error=error,
    )


def _between(time: Floats, position: Floats, grid: Floats, interval: float) -> Floats:
    """Position between samples, by the cubic through the two before and the two after.

    A straight line would take a tenth off the energy of what swings seven times slower than it is
    sampled. Where samples are missing or too close together it is taken nevertheless.

    Source: Lagrange's interpolation, M. Abramowitz, I. A. Stegun (ed.), Handbook of Mathematical
    Functions (1964), 25.2.1.
    """
    straight = np.interp(grid, time, position)
    if len(time) < 4:
        return np.asarray(straight)
    first = np.clip(np.searchsorted(time, grid, side="right") - 2, 0, len(time) - 4)
    at = [time[first + place] for place in range(4)]
    steps = np.array([later - before for before, later in itertools.pairwise(at)])
    even = (steps.max(axis=0) < 2.5 * interval) & (steps.min(axis=0) > 0.3 * interval)
    cubic = np.zeros(len(grid))
    for place in range(4):
        weight = np.ones(len(grid))
        for other in range(4):
            if other != place:
                weight *= (grid - at[other]) / (at[place] - at[other])
        cubic += weight * position[first + place]
    return np.where(even, cubic, straight)


def working_stretches(samples: EvenSamples, shortest: float = 5.0) -> list[slice]:
    """Stretches in which the dancer moves: it wraps; between loads it stands still.

    A second counts as moving when its range is a tenth or more of that of a lively second.

    Args:
        samples: the trace.
        shortest: stretch that counts [s].

    Returns:
        Slices of the samples.
    """
    size = max(round(1.0 / samples.interval), 2)
    blocks = len(samples.position) // size
    if blocks < 3:
        return [slice(0, len(samples.position))]
    ranges = np.ptp(samples.position[: blocks * size].reshape(blocks, size), axis=1)
    sound = samples.sound[: blocks * size].reshape(blocks, size).mean(axis=1) > 0.5
    lively = ranges >= 0.1 * np.percentile(ranges[sound] if sound.any() else ranges, 90)
    # A slow moment between two corners is no standstill.
    moving = np.convolve(lively, np.ones(3), "same") > 0
    moving &= sound
    edges = np.flatnonzero(np.diff(np.concatenate([[False], moving, [False]]).astype(int)))
    stretches = []
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        end = len(samples.position) if last == blocks else int(last) * size
        if (end - first * size) * samples.interval >= shortest:
            stretches.append(slice(int(first) * size, end))
    return stretches
