"""The energy of a recorded swing, shared out: corners, ringing, oscillation, hunting, drift, rest.

All parts are fitted together, so that none takes what is another's; of each, what noise alone would
have put there is taken off again. What is left is the rest, so that the parts add up to all of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.physics.block_fit import fitted_apart
from woold.physics.bounce import Bounce
from woold.physics.ring_fit import Run, harmonics, ring_pole
from woold.physics.ring_kicks import Kicks, kick_columns, share_between
from woold.physics.ring_search import find_ringing, orders_beside
from woold.physics.slow_motion import SlowMotion, drift_columns, slow_motion, wave_columns
from woold.physics.steady_wave import STEADY_DEGREE, steady_frequencies
from woold.physics.turn_period import moving_mean

__all__ = ["PARTS", "SwingEnergy", "swing_energy"]

Floats = NDArray[np.float64]

PARTS = ("corners", "ringing", "oscillation", "hunting", "drift", "rest")
_TURNS_A_PIECE, _MOST_PIECES = 16, 4
_FASTEST = 20.0  # Hz, above which no dancer's arm bounces on its film
_LEAST_RINGING = 3e-4  # of all the energy
_WIDE = 0.6  # of its frequency, either way, in which a ringing is looked at
_FEWEST_CORNERS = 4
_BACK = 0.3  # of the largest drift in a run, the other way
_BESIDE = (2.5, 7.5)  # orders
_ONE_ORDER = 0.93  # of the energy near a ringing; of one that decays by a third between corners 0.9
_SLOWEST_LINE, _FEW_TURNS = 1.1, 2.5  # times a turn; the fewer turns, the less sharp is order one


@dataclass(frozen=True)
class SwingEnergy:
    """The energy of a swing by what it belongs to.

    Args:
        energies: mean squares of `PARTS`, unit of the trace squared, in that order.
        bounce: the ringing, or None.
        oscillation: frequency of the strongest steady oscillation, or None [Hz].
        hunting: frequency of the slow wave, or None [Hz].
        slow_is_certain: drift and hunting can be told apart.
        high_share: energy that repeats, faster than the corners and in no decay, over all energy;
            of a simulated four-cornered load it is 6 % at most.
        keeps_step: a single order holds the ringing, as a steady oscillation in step would.
        beside_share: energy at orders 3, 5, 6, 7 of a turn with four corners, over all energy, and
            what near them does not repeat: of a simulated four-cornered load it is 2 % at most.
        is_blended: a ringing that hardly dies out may be counted to the steady oscillation.
    """

    energies: tuple[float, ...]
    bounce: Bounce | None
    oscillation: float | None
    hunting: float | None
    slow_is_certain: bool
    high_share: float
    keeps_step: bool
    beside_share: float
    is_blended: bool = False

    @property
    def shares(self) -> dict[str, float]:
        """Of all the energy [-]."""
        whole = max(sum(self.energies), 1e-300)
        return {name: each / whole for name, each in zip(PARTS, self.energies, strict=True)}

    @property
    def swing_shares(self) -> dict[str, float]:
        """Of all the energy but the drift's [-]."""
        swing = max(sum(self.energies) - self.energies[PARTS.index("drift")], 1e-300)
        return {
            name: each / swing
            for name, each in zip(PARTS, self.energies, strict=True)
            if name != "drift"
        }


def swing_energy(
    runs: Sequence[Run], period: float, lowest: float, corners: int = 4
) -> SwingEnergy:
    """Shares out a swing's energy.

    x = drift + hunting + Σ harmonics of the turn + steady lines + decays after each kick + rest

    Args:
        runs: of steady turns.
        period: of the turn, or of its repeat [s].
        lowest: frequency above which a ringing is looked for [Hz].
        corners: of the load.

    Returns:
        The energies, and what was found.
    """
    pieces = [_calm(piece) for piece in _pieces(runs, period)]
    slow = [slow_motion(piece.position, piece.interval, period) for piece in pieces]
    plain = [_plain(piece, each, period) for piece, each in zip(pieces, slow, strict=True)]
    by_length = sorted(plain, key=lambda each: -len(each.without.position))
    bounce, places = find_ringing(
        [each.without for each in by_length], by_length[0].mean_turn, period, lowest
    )
    mean = float(np.mean(np.concatenate([piece.position for piece in pieces])))
    weights = np.array([len(piece.position) for piece in pieces], dtype=float)
    found = [
        _shared(piece, each, lines, bounce, places, period, mean)
        for piece, each, lines in zip(pieces, slow, plain, strict=True)
    ]
    energies = np.average([each[0] for each in found], axis=0, weights=weights)
    high, unlike, blended = np.average([each[1:] for each in found], axis=0, weights=weights)
    between, beside = _between(by_length[0].mean_turn, bounce, period, corners)
    if bounce is None:
        high = 0.0  # what repeats is all in the average turn
    strongest = max(plain, key=lambda each: len(each.lines))
    waves = [each for each in slow if each.hunting_frequency is not None]
    ringing = float(energies[PARTS.index("ringing")])
    if bounce is not None:
        # Of next to nothing no frequency can be told.
        steady = float(energies[PARTS.index("oscillation")])
        worth = ringing > _LEAST_RINGING * float(energies.sum()) + 0.3 * steady
        bounce = replace(bounce, rms=float(np.sqrt(ringing))) if worth else None
    return SwingEnergy(
        energies=tuple(float(each) for each in energies),
        bounce=bounce,
        oscillation=strongest.lines[0] if strongest.lines else None,
        hunting=waves[0].hunting_frequency if waves else None,
        slow_is_certain=all(each.is_certain for each in slow) and _goes_one_way(slow),
        high_share=float(high + between * energies[0]) / max(float(energies.sum()), 1e-300),
        keeps_step=bounce is not None and _keeps_step(by_length[0].mean_turn, bounce, period),
        beside_share=float(unlike + beside * energies[0]) / max(float(energies.sum()), 1e-300),
        is_blended=bool(blended > 0),
    )


def _goes_one_way(slow: Sequence[SlowMotion]) -> bool:
    """Whether what drifts goes the same way in all runs."""
    rises = np.array([each.rise for each in slow])
    most = float(np.abs(rises).max())
    return not bool((rises > _BACK * most).any() and (rises < -_BACK * most).any())


def _between(
    mean_turn: Floats, bounce: Bounce | None, period: float, corners: int
) -> tuple[float, float]:
    """Shares of an average turn: faster than the corners come and below a ringing; beside them."""
    lines = np.abs(np.fft.rfft(mean_turn))[1:] ** 2
    orders = np.arange(1, len(lines) + 1)
    end = np.inf if bounce is None else orders_beside(bounce.frequency, period, 0.0)
    most = max(corners, _FEWEST_CORNERS)
    between = (orders > most) & (orders <= end)
    # Two halves alike give even orders, and all corners alike their multiples.
    beside = (orders > 2) & (orders < 2 * most) & (orders <= end)
    beside &= (orders % most > 0) & (orders % corners > 0)
    whole = max(float(lines.sum()), 1e-300)
    return float(lines[between].sum()) / whole, float(lines[beside].sum()) / whole


def _keeps_step(mean_turn: Floats, bounce: Bounce, period: float) -> bool:
    """Whether one order alone holds what is near the ringing: decays take several."""
    lines = np.abs(np.fft.rfft(mean_turn)) ** 2
    order = bounce.frequency * period
    orders = np.arange(len(lines))
    near = lines[(np.abs(orders - order) < max(0.3 * order, 3.5)) & (orders > 0.6 * order)]
    return bool(len(near) and near.max() > _ONE_ORDER * near.sum())


def _pieces(runs: Sequence[Run], period: float) -> list[Run]:
    """Runs cut to pieces of some turns, from all over a long recording."""
    pieces = []
    for run in runs:
        size = _TURNS_A_PIECE * period / run.interval
        parts = max(round(len(run.position) / size), 1)
        for place in np.array_split(np.arange(len(run.position)), parts):
            cut = slice(int(place[0]), int(place[-1]) + 1)
            pieces.append(Run(run.position[cut], run.theta[cut], run.interval))
    # Short runs say little of what is slow.
    longest = max(len(piece.position) for piece in pieces)
    pieces = [piece for piece in pieces if len(piece.position) > 0.4 * longest]
    kept = np.linspace(0, len(pieces) - 1, min(len(pieces), _MOST_PIECES)).round().astype(int)
    return [pieces[place] for place in np.unique(kept)]


def _calm(run: Run) -> Run:
    """The run no faster than is needed for the fastest bounce."""
    block = max(int(1 / run.interval / (3 * _FASTEST)), 1)
    whole = len(run.position) // block * block
    rows = run.position[:whole].reshape(-1, block)
    return Run(
        rows.mean(axis=1),
        run.theta[:whole].reshape(-1, block).mean(axis=1),
        run.interval * block,
        run.begin,
        float(np.mean((rows - rows.mean(axis=1, keepdims=True)) ** 2)),
    )


@dataclass(frozen=True, eq=False)
class _Plain:
    """A run's steady lines, and the run without lines and slow motion."""

    lines: tuple[float, ...]
    without: Run
    mean_turn: Floats


def _time(run: Run) -> Floats:
    return np.asarray(run.interval * np.arange(len(run.position)), dtype=np.float64)


def _slow_columns(run: Run, slow: SlowMotion) -> tuple[Floats, Floats]:
    time = _time(run)
    wave = np.empty((len(time), 0))
    if slow.hunting_frequency is not None:
        wave = wave_columns(time, slow.hunting_frequency, 1)
    return drift_columns(time, slow.degree), wave


def _plain(run: Run, slow: SlowMotion, period: float) -> _Plain:
    columns = np.hstack(_slow_columns(run, slow))
    together = np.hstack([columns, harmonics(run.theta, 8)])
    fit = np.linalg.lstsq(together, run.position, rcond=None)[0]
    level = run.position - columns @ fit[: columns.shape[1]]
    turn = _mean_turn(run, level, period)
    repeating = np.interp(
        run.theta % (2 * np.pi), np.linspace(0, 2 * np.pi, len(turn) + 1), np.append(turn, turn[0])
    )
    lines = steady_frequencies(
        level - repeating,
        repeating,
        run.interval,
        max(_SLOWEST_LINE, 1 + _FEW_TURNS * period / run.duration) / period,
    )
    without = level
    for line in lines:
        waves = wave_columns(_time(run), line, STEADY_DEGREE)
        rest = without - repeating
        without = without - waves @ np.linalg.lstsq(waves, rest, rcond=None)[0]
    clean = Run(without, run.theta, run.interval)
    return _Plain(lines, clean, _mean_turn(run, without, period))


def _mean_turn(run: Run, values: Floats, period: float) -> Floats:
    """Average over the whole turns of a run, at even steps of the angle from 0."""
    bins = int(np.clip(2 ** np.ceil(np.log2(period / run.interval)), 32, 1024))
    first = np.ceil(run.theta[0] / (2 * np.pi) - 1e-6)
    turns = max(int(np.floor(run.theta[-1] / (2 * np.pi) + 1e-6) - first), 1)
    steps = 2 * np.pi * (first + np.arange(turns * bins) / bins)
    sampled = np.interp(steps, run.theta, values).reshape(turns, bins)
    return np.asarray(sampled.mean(axis=0))


def _shared(
    run: Run,
    slow: SlowMotion,
    plain: _Plain,
    bounce: Bounce | None,
    places: Floats,
    period: float,
    mean: float,
) -> tuple[Floats, float, float, bool]:
    """Energies of `PARTS` in a run, what repeats above the corners, what differs near them, and
    whether a ringing was counted to the oscillation."""
    time, values = _time(run), run.position - mean
    drift, wave = _slow_columns(run, slow)
    orders = orders_beside(None if bounce is None else bounce.frequency, period, run.interval)
    steady = [wave_columns(time, line, STEADY_DEGREE) for line in plain.lines]
    blocks = {
        "drift": drift,
        "hunting": wave,
        "corners": harmonics(run.theta, orders),
        "oscillation": np.hstack([np.empty((len(time), 0)), *steady]),
    }
    kicks = Kicks(-1.0 + 1.0j, places)
    if bounce is not None and len(places):
        kicks = Kicks(ring_pole(bounce.frequency, bounce.damping), places)
        blocks["ringing"] = kick_columns(run.theta, run.interval, kicks)
    together = fitted_apart(blocks, values)
    rest = together.rest
    energy = dict.fromkeys(PARTS, 0.0) | together.energies
    bands = {}
    if bounce is not None and "ringing" in together.sizes:
        bands["ringing"] = _band(bounce.frequency, _WIDE, run, (orders + 0.5) / period)
        ringing = blocks["ringing"] @ together.sizes["ringing"]
        inside = _band_energy(ringing, run.interval, bands["ringing"])
        energy["ringing"] *= inside / max(float(np.mean(ringing**2)), 1e-300)
    if plain.lines:
        bands["oscillation"] = _band(plain.lines[0], 0.0, run, 0.0)
    left = together.noise
    for name, more in _left_in_bands(rest, run.interval, bands, energy).items():
        energy[name] += more
        left -= more
    if "ringing" in bands:
        # What lies outside of its band is mixed with the corners' own orders.
        energy["ringing"] /= share_between(bands["ringing"], kicks.pole)
        slow_part = share_between((0.0, (orders + 0.5) / period), kicks.pole)
        energy["corners"] = max(energy["corners"] - slow_part * energy["ringing"], 0.0)
    turn = max(round(period / run.interval), 2)
    slow_rest = moving_mean(rest, turn)[turn // 2 : -turn // 2]
    wander = float(np.mean(slow_rest**2)) - together.noise / turn if len(slow_rest) else 0.0
    energy["hunting"] += max(wander, 0.0)
    others = _without_bands(rest, run.interval, bands)
    repeats = _repeating(run, others, period)
    energy["corners"] += repeats
    energy["rest"] = max(left - max(wander, 0.0) - repeats, 0.0) + run.unseen
    near = {"beside": (_BESIDE[0] / period, _BESIDE[1] / period)}
    unlike = _left_in_bands(others, run.interval, near, {"beside": 1.0})["beside"]
    is_blended = "ringing" in blocks and "ringing" not in together.sizes
    return np.array([energy[name] for name in PARTS]), repeats, unlike, is_blended


def _band(frequency: float, width: float, run: Run, lowest: float) -> tuple[float, float]:
    """Frequencies between which a ringing or an oscillation has most of its energy [Hz]."""
    reach = max(width * frequency, 3 / run.duration)
    return max(frequency - reach, lowest), frequency + reach


def _band_energy(values: Floats, interval: float, band: tuple[float, float]) -> float:
    power = 2 * np.abs(np.fft.rfft(values)) ** 2 / len(values) ** 2
    frequency = np.arange(len(power)) / (len(values) * interval)
    return float(power[(frequency >= band[0]) & (frequency <= band[1])].sum())


def _without_bands(rest: Floats, interval: float, bands: dict[str, tuple[float, float]]) -> Floats:
    """What is left over beside the ringing and the oscillation."""
    lines = np.fft.rfft(rest)
    frequency = np.arange(len(lines)) / (len(rest) * interval)
    for low, high in bands.values():
        lines[(frequency >= low) & (frequency <= high)] = 0.0
    return np.asarray(np.fft.irfft(lines, len(rest)))


def _left_in_bands(
    rest: Floats,
    interval: float,
    bands: dict[str, tuple[float, float]],
    energy: dict[str, float],
) -> dict[str, float]:
    """What the fit left over near a ringing or an oscillation, noise taken off, shared out."""
    power = 2 * np.abs(np.fft.rfft(rest)) ** 2 / len(rest) ** 2
    frequency = np.arange(len(power)) / (len(rest) * interval)
    near = {name: (frequency >= low) & (frequency <= high) for name, (low, high) in bands.items()}
    beside = ~np.any([np.zeros(len(power), dtype=bool), *near.values()], axis=0)
    # Of powers that scatter as noise's do, the median is ln 2 of the mean.
    floor = float(np.median(power[beside][1:])) / np.log(2) if beside.sum() > 8 else 0.0
    left = {}
    for name, inside in near.items():
        rivals = sum(energy[other] for other, band in near.items() if (band & inside).any())
        part = energy[name] / max(rivals, 1e-300)
        left[name] = part * max(float(power[inside].sum()) - floor * int(inside.sum()), 0.0)
    return left


def _repeating(run: Run, rest: Floats, period: float) -> float:
    """Energy of a rest that comes again every turn, without what noise puts there."""
    bins = int(np.clip(2 ** np.floor(np.log2(period / run.interval)), 16, 512))
    place = (run.theta % (2 * np.pi) / (2 * np.pi) * bins).astype(int) % bins
    count = np.maximum(np.bincount(place, minlength=bins), 1)
    mean = np.bincount(place, rest, minlength=bins) / count
    within = rest - mean[place]
    noise = float(np.sum(within**2)) / max(len(rest) - bins, 1)
    return max(float(np.mean(mean[place] ** 2)) - noise * bins / len(rest), 0.0)
