"""What a dancer's trace holds: the swing that comes with the corners, and all the rest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError
from woold.physics.bounce import Bounce
from woold.physics.orders import CORNER_ORDERS, order_spectrum, split_orders
from woold.physics.ring_fit import Run
from woold.physics.stop_contacts import StopContacts, resting_places, stop_contacts
from woold.physics.swing_energy import SwingEnergy, swing_energy
from woold.physics.trace import EvenSamples, Trace, even_samples, working_stretches
from woold.physics.turn_period import TurnPeriod, find_turn_period, follow_turn
from woold.words import say

__all__ = ["TraceAnalysis", "analyse_trace"]

Floats = NDArray[np.float64]

FEWEST_TURNS = 3
_MOST_RAMP_TURNS = 4
_SLOWEST_BOUNCE_ORDER = 9.0  # above the corner orders
_SLOWEST_BOUNCE = 0.8  # Hz
_NEAR_THE_END, _SLOWER = 1.3, 0.53  # of the slowest bounce; the latter is little above the corners
_LESS_LEFT = 0.7  # of what the first one did not explain
_STEADY = 0.1  # how far a turn may lie from the usual time and still be compared with others


@dataclass(frozen=True, eq=False)
class TraceAnalysis:
    """A trace, taken apart.

    Args:
        samples: the trace at even steps of time.
        turn: the turn's period and how sure it is.
        turns: position over the turn, one row a turn, drift removed, shape (turns, per turn).
        whole: the same with the drift left in.
        corner_share: energy at corner orders over all energy of the swing [-].
        repeating_share: energy that repeats every turn over all energy [-].
        energy: of the swing and of what else moves, by what it belongs to.
        swing_rms: unit of the trace.
        swing_peak_to_peak: of the average turn, unit of the trace.
        orders: orders in steps of one over the number of turns [-].
        amplitudes: of them, unit of the trace.
        drift: standard deviation of the turns' means, unit of the trace.
        contacts: with the stops, or None if they are not known.
        rests: lowest and highest place at which the arm lies still, or None each.
        spans: begins and ends of the runs of steady turns looked at [s].
        working_time: time in which the dancer worked [s].
        longer: a longer turn that the trace allows [s] and the energy if that is it, or None.
        read_to: standard error that the readings' own leave in any order of each turn, where those
            are known, or None, unit of the trace, shape (turns,).
    """

    samples: EvenSamples
    turn: TurnPeriod
    turns: Floats
    whole: Floats
    corner_share: float
    repeating_share: float
    energy: SwingEnergy
    swing_rms: float
    swing_peak_to_peak: float
    orders: Floats
    amplitudes: Floats
    drift: float
    contacts: StopContacts | None
    rests: tuple[float | None, float | None]
    spans: tuple[tuple[float, float], ...]
    working_time: float
    longer: tuple[float, SwingEnergy] | None = None
    read_to: Floats | None = None

    @property
    def level(self) -> float:
        """Mean position over the turns used, unit of the trace."""
        return float(self.whole.mean())

    @property
    def rate(self) -> float:
        """Samples a second [Hz]."""
        return 1 / self.samples.interval

    @property
    def bounce(self) -> Bounce | None:
        """The ringing, or None."""
        return self.energy.bounce


def analyse_trace(
    trace: Trace,
    turn_period: float | None = None,
    stops: tuple[float, float] | None = None,
    orders: Sequence[int] = CORNER_ORDERS,
    corners: int = 4,
    stop_margin: float = 0.01,
    expected_period: float | None = None,
) -> TraceAnalysis:
    """Take a trace apart.

    The turntable's angle comes from the trace's own column, else from its pulses, else from the
    phase of the swing at the given or found period.

    Args:
        trace: what was recorded.
        turn_period: of the turn if known [s].
        stops: positions of lower and upper stop if known, unit of the trace.
        orders: corner orders.
        corners: of the load, used where the trace does not tell half a turn from a whole one.
        stop_margin: nearness to a stop that counts as a hit, as share of the travel [-].
        expected_period: of the turn, used where the trace does not tell it [s].

    Returns:
        The analysis.

    Raises:
        InputError: fewer than three whole turns, or nothing that repeats.
    """
    samples = even_samples(trace)
    stretches = working_stretches(samples)
    turn, angles = _turn_angles(trace, samples, stretches, turn_period, corners, expected_period)
    steady = _steady(samples, stretches, angles, turn.period)
    count = sum(len(block) for _, block in steady)
    if count < FEWEST_TURNS:
        turn, steady = _shorter_turns(samples, stretches, angles, turn)
        count = sum(len(block) for _, block in steady)
    blocks = [block for _, block in steady]
    if count < FEWEST_TURNS:
        raise InputError.one(
            "trace",
            say("whole steady turns of {period:.3g} s: {count}", count=count, period=turn.period),
            say("{fewest_turns} steady turns or more", fewest_turns=FEWEST_TURNS),
            say("Record a whole cycle; if the turn is shorter, give the turning speed."),
        )
    aligned = _aligned(blocks) if _phase_is_free(trace) else blocks
    means = np.concatenate([block.mean(axis=1) for block in aligned])
    turns = np.concatenate([_without_drift(block) for block in aligned])
    split = split_orders(turns, orders)
    spectrum_orders, amplitudes = order_spectrum(turns)
    # What repeats sooner than a turn may be known to be a turn is taken by its repeat.
    repeats = 1.0 if turn.is_certain else turn.period / turn.repeat
    runs = [replace(run, theta=repeats * run.theta) for run, _ in steady]
    lowest = max(_SLOWEST_BOUNCE_ORDER / turn.period, _SLOWEST_BOUNCE)
    energy = _shared_out(runs, turn.period / repeats, lowest, corners)
    contacts = None
    if stops is not None:
        contacts = stop_contacts(samples, stretches, stops, stop_margin)
    return TraceAnalysis(
        samples=samples,
        turn=turn,
        turns=turns,
        whole=np.concatenate(blocks),
        corner_share=split.corner_share,
        repeating_share=split.repeating_share,
        energy=energy,
        swing_rms=split.rms,
        swing_peak_to_peak=float(np.ptp(split.mean_turn)),
        orders=spectrum_orders,
        amplitudes=amplitudes,
        drift=float(means.std()),
        contacts=contacts,
        rests=resting_places(samples, stretches),
        spans=tuple((run.begin, run.begin + run.duration) for run, _ in steady),
        working_time=sum(s.stop - s.start for s in stretches) * samples.interval,
        longer=_longer(turn, [run for run, _ in steady], corners),
        read_to=_read_to(samples, steady),
    )


def _shared_out(runs: Sequence[Run], period: float, lowest: float, corners: int) -> SwingEnergy:
    """The energy shared out; what rings where the search ends is looked for below it as well."""
    energy = swing_energy(runs, period, lowest, corners)
    if energy.bounce is None or energy.bounce.frequency > _NEAR_THE_END * lowest:
        return energy
    slower = swing_energy(runs, period, lowest * _SLOWER, corners)
    left = 1.0 - energy.bounce.explained
    if slower.bounce is None or 1.0 - slower.bounce.explained > _LESS_LEFT * left:
        return energy
    return slower


def _read_to(samples: EvenSamples, steady: Sequence[tuple[Run, Floats]]) -> Floats | None:
    """Standard error that reading leaves in an order's real or imaginary part, turn by turn."""
    if samples.reading_error is None:
        return None
    squares = []
    for run, block in steady:
        first = round((run.begin - samples.start) / samples.interval)
        read = samples.reading_error[first : first + len(run.position)] ** 2
        turned = (run.theta - run.theta[0]) / (2 * np.pi)
        row = np.clip(turned.astype(int), 0, len(block) - 1)
        count = np.maximum(np.bincount(row, minlength=len(block)), 1)
        squares.append(2 * np.bincount(row, read, minlength=len(block)) / count**2)
    return np.asarray(np.sqrt(np.concatenate(squares)))


def _longer(
    turn: TurnPeriod, runs: Sequence[Run], corners: int
) -> tuple[float, SwingEnergy] | None:
    """What a longer turn makes of the swing: a shorter one takes a slow ringing for its corners."""
    if turn.is_certain:
        return None
    if turn.repeat < turn.period:
        period = turn.period
    else:
        period = min((each for each in turn.readings if each > 1.5 * turn.period), default=0.0)
    if not period:
        return None
    turned = [replace(run, theta=turn.period / period * run.theta) for run in runs]
    lowest = max(_SLOWEST_BOUNCE_ORDER / period, _SLOWEST_BOUNCE)
    return period, swing_energy(turned, period, lowest, corners)


def _shorter_turns(
    samples: EvenSamples, stretches: Sequence[slice], angles: Sequence[Floats], turn: TurnPeriod
) -> tuple[TurnPeriod, list[tuple[Run, Floats]]]:
    """A shorter turn that the trace allows too: where it tells none, few are no reason to give up.

    Returns:
        The longest of which there are enough, or the turn itself, and its steady runs.
    """
    # A given turn has no other readings; one that the trace told may be two or four.
    told = {*turn.readings, turn.repeat, *turn.halves} if turn.readings else ()
    for shorter in sorted(told, reverse=True):
        if shorter < turn.period:
            turned = [turn.period / shorter * angle for angle in angles]
            steady = _steady(samples, stretches, turned, shorter)
            if sum(len(block) for _, block in steady) >= FEWEST_TURNS:
                readings = dict.fromkeys((shorter, turn.period, *turn.readings))
                repeat = min(shorter, turn.repeat)
                found = TurnPeriod(shorter, repeat, turn.correlation, False, tuple(readings))
                return found, steady
    return turn, _steady(samples, stretches, angles, turn.period)


def _steady(
    samples: EvenSamples, stretches: Sequence[slice], angles: Sequence[Floats], period: float
) -> list[tuple[Run, Floats]]:
    """All runs of steady turns, and their samples with one row for each turn."""
    per_turn = 1 << int(np.clip(np.ceil(np.log2(period / samples.interval)), 6, 12))
    return [
        each
        for stretch, angle in zip(stretches, angles, strict=True)
        for each in _steady_runs(samples, stretch, angle, period, per_turn)
    ]


def _phase_is_free(trace: Trace) -> bool:
    return trace.turntable_angle is None and trace.turn_times is None


def _turn_angles(
    trace: Trace,
    samples: EvenSamples,
    stretches: Sequence[slice],
    turn_period: float | None,
    corners: int,
    expected_period: float | None,
) -> tuple[TurnPeriod, list[Floats]]:
    known: Floats | None = None
    if not stretches:
        raise InputError.one(
            "trace",
            say("no five seconds in which the dancer moves and nothing is missing"),
            say("a recording without long gaps"),
            say("Record a whole cycle."),
        )
    if trace.turntable_angle is not None:
        known = np.abs(np.unwrap(trace.turntable_angle))
        known = np.maximum.accumulate(np.interp(samples.time, trace.time, known))
    elif trace.turn_times is not None:
        if len(trace.turn_times) <= FEWEST_TURNS:
            raise InputError.one(
                "trace.turn_pulse",
                say("pulses: {count}", count=len(trace.turn_times)),
                say("{fewest_turns} pulses or more, one each turn", fewest_turns=FEWEST_TURNS + 1),
                say("Record more turns, or say the turning speed."),
            )
        known = _angle_by_pulses(samples.time, trace.turn_times)
    if known is not None:
        angles = [known[stretch] for stretch in stretches]
        speeds = np.concatenate([np.diff(angle) for angle in angles]) / samples.interval
        turning = speeds[speeds > 0.2 * max(float(speeds.max(initial=0.0)), 1e-12)]
        if not len(turning):
            raise InputError.one(
                "trace.turntable_angle",
                say("an angle that does not grow"),
                say("an angle that turns"),
                say("Record while the load turns, or leave the column out."),
            )
        period = float(2 * np.pi / np.median(turning))
        return TurnPeriod(period, period, 1.0, True), angles
    if turn_period is not None:
        turn = TurnPeriod(turn_period, turn_period, 1.0, True)
    else:
        turn = find_turn_period(samples, stretches, corners=corners, expected=expected_period)
    return turn, [follow_turn(samples, stretch, turn.period) for stretch in stretches]


def _angle_by_pulses(time: Floats, pulses: Floats) -> Floats:
    """Angle turned, by the pulses at its whole turns; half a turn beyond the outermost."""
    # Halt at a pulse, and the sample after the last one would stand still.
    before, after = pulses[1] - pulses[0], pulses[-1] - pulses[-2]
    ends = (pulses[:1] - before / 2, pulses, pulses[-1:] + after / 2)
    turns = np.concatenate([[-0.5], np.arange(len(pulses)), [len(pulses) - 0.5]])
    return np.asarray(2 * np.pi * np.interp(time, np.concatenate(ends), turns))


def _steady_runs(
    samples: EvenSamples, stretch: slice, theta: Floats, period: float, per_turn: int
) -> Iterator[tuple[Run, Floats]]:
    """Runs of steady turns, and their samples with one row for each turn."""
    for part, block in _steady_turns(samples, stretch, theta, period, per_turn):
        kept, rows = _without_ramps(part, block)
        inner = slice(kept.start - stretch.start, kept.stop - stretch.start)
        begin = samples.start + samples.interval * kept.start
        yield Run(samples.position[kept], theta[inner], samples.interval, begin), rows


def _steady_turns(
    samples: EvenSamples, stretch: slice, theta: Floats, period: float, per_turn: int
) -> Iterator[tuple[slice, Floats]]:
    """Runs of turns, recorded without a gap, that took about one period each.

    Yields:
        Where the run lies in the samples, and one row for each turn.
    """
    from scipy.interpolate import CubicSpline

    # Rising only: a held angle has no place of its own.
    place = np.flatnonzero(np.concatenate([[True], np.diff(theta) > 0]))
    if len(place) < 8:
        return
    angle = theta[place]
    first, last = int(np.ceil(angle[0] / (2 * np.pi) - 1e-6)), int(angle[-1] / (2 * np.pi) + 1e-6)
    # A stretch that begins or ends inside the trace has its ramps in its outer turns.
    first += int(stretch.start > 0)
    last -= int(stretch.stop < len(samples.position))
    if last <= first:
        return
    starts = 2 * np.pi * np.arange(first, last + 1)
    marks = np.interp(starts, angle, place)
    unsound = np.concatenate([[0], np.cumsum(~samples.sound[stretch])])
    ends = np.minimum(marks[1:].astype(int) + 1, len(theta))
    whole = unsound[ends] == unsound[marks[:-1].astype(int)]
    good = whole & (np.abs(np.diff(marks) * samples.interval / period - 1) <= _STEADY)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], good, [False]]).astype(int)))
    # Straight lines would take off what is fast, beside a film's few samples most of all.
    between = CubicSpline(np.arange(len(theta)), samples.position[stretch])
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        steps = starts[begin] + 2 * np.pi * np.arange((end - begin) * per_turn) / per_turn
        at = np.interp(steps, angle, place)
        run = np.asarray(between(at))
        inside = slice(int(np.ceil(marks[begin])), int(marks[end]) + 1)
        part = slice(stretch.start + inside.start, stretch.start + inside.stop)
        yield part, run.reshape(-1, per_turn)


def _without_ramps(part: slice, block: Floats) -> tuple[slice, Floats]:
    """A run without those of its outer turns that are unlike the others: the table speeds up."""
    if len(block) < FEWEST_TURNS + 2:
        return part, block
    level = block - block.mean(axis=1, keepdims=True)
    unlike = np.sqrt(np.mean((level - np.median(level, axis=0)) ** 2, axis=1))
    usual = 3 * float(np.median(unlike)) + 1e-3 * float(np.std(level))
    most = min(_MOST_RAMP_TURNS, (len(block) - FEWEST_TURNS) // 2)
    first = next((turn for turn in range(most) if unlike[turn] <= usual), most)
    last = next((turn for turn in range(most) if unlike[-1 - turn] <= usual), most)
    length = (part.stop - part.start) / len(block)
    kept = slice(part.start + round(first * length), part.stop - round(last * length))
    return kept, block[first : len(block) - last]


def _without_drift(block: Floats) -> Floats:
    """Turns without what changes from turn to turn more slowly than a turn."""
    count, per_turn = block.shape
    means = block.mean(axis=1)
    centres = (np.arange(count) + 0.5) * per_turn
    return np.asarray(
        block - np.interp(np.arange(count * per_turn), centres, means).reshape(block.shape)
    )


def _aligned(blocks: list[Floats]) -> list[Floats]:
    """Blocks shifted so that their turns begin at one angle."""
    template = np.fft.rfft(max(blocks, key=len).mean(axis=0))
    shifted = []
    for block in blocks:
        match = np.fft.irfft(template * np.conj(np.fft.rfft(block.mean(axis=0))), block.shape[1])
        shifted.append(np.roll(block.ravel(), int(match.argmax())).reshape(block.shape))
    return shifted
