"""Recordings of a dancer with a known truth, made without anything that judges them.

Every component is made by itself and added: a swing at whole orders of the turning, second-order
systems kicked at the corners (integrated by scipy), a steady oscillation, a slow hunting, a drift,
noise. A component's share is its own variance over the sum of all, over the steady turning.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lsim

Floats = NDArray[np.float64]

CLASSES = (
    "smooth",
    "ringing",
    "oscillation",
    "hunting",
    "drift",
    "stop hits",
    "slack",
    "alias",
    "half turns",
    "mixed",
)
COMPONENTS = ("corners", "ringing", "oscillation", "hunting", "drift", "rest")
_FINE = 0.002  # s, step at which the truth is made
_STOPS = (-0.6, 0.6)


@dataclass(frozen=True)
class Ranges:
    """What is drawn from: low and high, uniform or by its logarithm where it spans a lot."""

    turn: tuple[float, float] = (2.5, 7.0)  # s
    turns: tuple[float, float] = (6.0, 16.0)
    rate: tuple[float, float] = (30.0, 200.0)  # Hz
    noise: tuple[float, float] = (0.003, 0.03)  # of the swing's rms
    order: tuple[float, float] = (10.0, 28.0)  # of the bounce, times a turn
    damping: tuple[float, float] = (0.02, 0.1)
    unlike: tuple[float, float] = (0.0, 0.35)  # kick to kick
    wander: tuple[float, float] = (0.0, 0.012)  # of the turning speed
    share: tuple[float, float] = (0.12, 0.45)  # of what disturbs
    hunting_turns: tuple[float, float] = (1.6, 4.5)
    ramp: tuple[float, float] = (0.5, 3.0)  # s


HELD_BACK = Ranges(
    turn=(1.8, 9.0),
    turns=(5.0, 24.0),
    rate=(25.0, 400.0),
    noise=(0.001, 0.05),
    order=(9.0, 36.0),
    damping=(0.015, 0.14),
    unlike=(0.0, 0.6),
    wander=(0.0, 0.02),
    share=(0.11, 0.6),
    hunting_turns=(1.4, 5.5),
    ramp=(0.2, 5.0),
)
"""Wider than what was looked at while the judging was written."""


@dataclass(frozen=True, eq=False)
class MadeRecording:
    """A recording and its truth."""

    kind: str
    time: Floats
    position: Floats
    pulse: Floats | None
    stops: tuple[float, float] | None
    given_turn: float | None
    turn: float
    rate: float
    shares: dict[str, float]
    mode: tuple[float, float] | None = None  # frequency [Hz], damping
    oscillation: float | None = None  # Hz
    hits: tuple[int, int] = (0, 0)
    parts: dict[str, Floats] = field(default_factory=dict)
    noise: float = 0.0
    theta: Floats = field(default_factory=lambda: np.empty(0))  # rad, at the samples

    def shares_within(self, spans: Sequence[tuple[float, float]]) -> dict[str, float]:
        """The components' shares over some of the time only."""
        inside = np.zeros(len(self.parts["corners"]), dtype=bool)
        time = _FINE * np.arange(len(inside))
        for begin, end in spans:
            inside |= (time >= begin) & (time <= end)
        energies = {
            name: float(np.var(self.parts[name][inside])) if name in self.parts else 0.0
            for name in COMPONENTS
        }
        energies["rest"] = self.noise**2
        whole = sum(energies.values())
        return {name: energy / whole for name, energy in energies.items()}


def made_recording(kind: str, seed: int, ranges: Ranges = Ranges()) -> MadeRecording:
    """One of the ten classes, from a seed."""
    return _Maker(kind, seed, ranges).made()


class _Maker:
    def __init__(self, kind: str, seed: int, ranges: Ranges) -> None:
        self.kind, self.ranges = kind, ranges
        self.random = np.random.default_rng([seed, CLASSES.index(kind)])
        self.turn = self.between("turn")
        count = self.between("turns")
        if kind in ("hunting", "mixed"):
            # Two waves or more must be there to be seen.
            count = max(count, 2.4 * ranges.hunting_turns[1])
        self.time, self.speed = self.turning(count)
        self.theta = (
            2 * np.pi / self.turn * np.cumsum(self.speed) * _FINE + 6.3 * self.random.random()
        )
        self.steady = self.speed > 0.95
        self.rate = self.scaled("rate")

    def between(self, name: str) -> float:
        return float(self.random.uniform(*getattr(self.ranges, name)))

    def scaled(self, name: str) -> float:
        low, high = getattr(self.ranges, name)
        return float(np.exp(self.random.uniform(np.log(low), np.log(high))))

    def turning(self, count: float) -> tuple[Floats, Floats]:
        """Time, and turning speed over the steady one: ramps, now and then a pause, a wander."""
        random, ramp = self.random, self.between("ramp")
        duration = count * self.turn + 2 * ramp
        time = np.arange(0.0, duration, _FINE)
        speed = np.clip(np.minimum(time, duration - time) / ramp, 0.0, 1.0)
        if random.random() < 0.25:
            speed = np.ones(len(time))  # the recording begins and ends in full turning
        if random.random() < 0.2 and count > 11:
            begin, pause = 0.5 * duration, random.uniform(4.0, 8.0)
            speed *= 1 - np.clip(
                np.minimum(time - begin, begin + pause - time) / ramp + 1, 0.0, 1.0
            )
        wander = self.between("wander")
        phase, period = random.uniform(0, 6.28), random.uniform(20, 60)
        return time, speed * (1 + wander * np.sin(2 * np.pi * time / period + phase))

    def corners(self) -> Floats:
        """A swing at whole orders, larger with the speed."""
        random = self.random
        sizes = {2: 1.0, 4: random.uniform(0.3, 0.9), 8: random.uniform(0.02, 0.12)}
        if self.kind != "half turns":
            sizes[1] = random.uniform(0.05, 0.5)
            sizes |= {3: random.uniform(0, 0.1), 6: random.uniform(0, 0.08)}
        elif random.random() < 0.5:
            sizes[1] = random.uniform(0.0, 0.08)  # hardly off its centre
        elif random.random() < 0.4:
            del sizes[2]  # a square
        swing = sum(
            size * np.cos(order * self.theta + random.uniform(0, 6.28))
            for order, size in sizes.items()
        )
        return np.asarray(swing * np.clip(self.speed, 0, 1.1) ** 2)

    def kicked(self, frequency: float, damping: float) -> Floats:
        """r'' + 2ζω r' + ω² r = kicks at four corners of each turn, of 20 ms each."""
        random = self.random
        corners = np.sort(np.array([0.1, 0.35, 0.6, 0.85]) + random.uniform(-0.06, 0.06, 4))
        sizes = random.choice([-1, 1]) * random.uniform(0.5, 1.0, 4)
        unlike, force = self.between("unlike"), np.zeros(len(self.time))
        turned = self.theta / (2 * np.pi)
        for whole in range(int(turned[0]), int(turned[-1]) + 1):
            for corner, size in zip(corners, sizes, strict=True):
                place = int(np.searchsorted(turned, whole + corner))
                if 0 < place < len(turned):
                    kick = size * (1 + unlike * random.normal()) * self.speed[place] ** 2
                    force[place : place + 10] += kick
        omega = 2 * np.pi * frequency
        system = ([omega**2], [1.0, 2 * damping * omega, omega**2])
        return np.asarray(lsim(system, force, self.time)[1])

    def held(self, values: Floats) -> Floats:
        """Values while the table turns."""
        return values * np.clip(2 * self.speed, 0, 1)

    def oscillating(self, frequency: float) -> Floats:
        wander = np.cumsum(self.random.normal(size=len(self.time))) * np.sqrt(_FINE / 60) * 0.5
        phase = 2 * np.pi * frequency * self.time + wander + self.random.uniform(0, 6.28)
        return self.held(np.sin(phase))

    def hunting(self) -> Floats:
        period = self.turn * self.between("hunting_turns")
        wave = 2 * np.pi * self.time / period + self.random.uniform(0, 6.28)
        wave += 0.3 * np.sin(2 * np.pi * self.time / (3.3 * period) + self.random.uniform(0, 6.28))
        size = 1 + 0.2 * np.sin(
            2 * np.pi * self.time / (4.1 * period) + self.random.uniform(0, 6.28)
        )
        return self.held(size * np.sin(wave))

    def drifting(self) -> Floats:
        place = self.time / self.time[-1]
        bend = self.random.uniform(0.0, 1.0)
        shape = place * (1 - bend) + bend * (1 - np.exp(-3 * place)) / (1 - np.exp(-3))
        return np.asarray(self.random.choice([-1, 1]) * shape)

    def mode(self) -> tuple[float, float]:
        damping = self.scaled("damping")
        if self.kind == "alias":
            self.rate = float(self.random.uniform(5.0, 11.0))
            lowest = max(0.6 * self.rate, 9.0 / self.turn)
            return float(self.random.uniform(lowest, max(2.2 * self.rate, lowest + 1))), damping
        highest = min(self.between("order") / self.turn, 0.35 * self.rate)
        return max(highest, self.ranges.order[0] / self.turn), damping

    def made(self) -> MadeRecording:
        kind, random = self.kind, self.random
        parts = {"corners": self.corners()}
        mode = frequency = None
        disturbed = {
            "ringing": ("ringing",),
            "oscillation": ("oscillation",),
            "hunting": ("hunting",),
            "drift": ("drift",),
            "alias": (random.choice(["ringing", "oscillation"]),),
            "mixed": tuple(
                random.choice(["ringing", "oscillation", "hunting", "drift"], 2, replace=False)
            ),
        }.get(kind, ())
        if kind == "half turns" and random.random() < 0.4:
            disturbed = ("ringing",)
        if "ringing" in disturbed:
            mode = self.mode()
            parts["ringing"] = self.kicked(*mode)
        if "oscillation" in disturbed:
            frequency = self.mode()[0]
            parts["oscillation"] = self.oscillating(frequency)
        if "hunting" in disturbed:
            parts["hunting"] = self.hunting()
        if "drift" in disturbed:
            parts["drift"] = self.drifting()
        shares = {name: self.between("share") / len(disturbed) for name in disturbed}
        if kind == "mixed":
            shares = {name: max(share, 0.12) for name, share in shares.items()}
        for name in parts:
            share = shares.get(name, 1.0 - sum(shares.values()))
            parts[name] = parts[name] * np.sqrt(share / np.var(parts[name][self.steady]))
        return self.recorded(parts, mode, frequency)

    def recorded(
        self,
        parts: dict[str, Floats],
        mode: tuple[float, float] | None,
        frequency: float | None,
    ) -> MadeRecording:
        """As a sensor sees it: in radians, sampled unevenly, with noise, a few samples lost."""
        kind, random = self.kind, self.random
        size = random.uniform(0.04, 0.12)
        parts = {name: size * part for name, part in parts.items()}
        noise = size * self.scaled("noise")
        motion = np.asarray(sum(parts.values()))
        hits = (0, 0)
        if kind in ("stop hits", "slack"):
            motion, hits = _STOPPED[kind](self, motion)
        at = np.arange(0.0, self.time[-1], 1 / self.rate)
        at += random.uniform(0, 0.3) / self.rate * random.uniform(-0.5, 0.5, len(at))
        at = np.clip(at[random.random(len(at)) > random.choice([0.0, 0.02, 0.1])], 0, None)
        at = np.unique(at)
        position = np.interp(at, self.time, motion) + noise * random.normal(size=len(at))
        theta = np.interp(at, self.time, self.theta)
        told = random.random()
        energies = {
            name: float(np.var(parts[name][self.steady])) if name in parts else 0.0
            for name in COMPONENTS
        }
        energies["rest"] = noise**2
        whole = sum(energies.values())
        speed = float(np.mean(self.speed[self.steady]))
        return MadeRecording(
            kind=kind,
            time=at,
            position=position + (0.0 if hits != (0, 0) else random.uniform(-0.1, 0.1)),
            pulse=(
                (theta % (2 * np.pi) < 0.3).astype(float)
                if told < 0.35 and kind not in ("half turns", "alias")
                else None
            ),
            stops=_STOPS if hits != (0, 0) or told > 0.5 else None,
            given_turn=self.turn / speed if 0.35 < told < 0.6 and kind != "half turns" else None,
            turn=self.turn / speed,
            rate=self.rate,
            shares={name: energy / whole for name, energy in energies.items()},
            mode=mode,
            oscillation=frequency,
            hits=hits,
            parts=parts,
            noise=noise,
            theta=theta,
        )


def _hitting(maker: _Maker, motion: Floats) -> tuple[Floats, tuple[int, int]]:
    """Short blows at the lower, the upper or either stop, once or twice a turn, with a rebound."""
    random = maker.random
    motion = motion * 0.35 / max(float(np.abs(motion).max()), 1e-9)
    turned = maker.theta / (2 * np.pi)
    which = random.choice([-1, 1, 0])
    places = random.uniform(0, 1, random.integers(1, 3))
    hits = [0, 0]
    for whole in range(int(turned[0]), int(turned[-1]) + 1):
        for place, corner in enumerate(places):
            at = int(np.searchsorted(turned, whole + corner))
            side = which or (1 if place == 0 else -1)
            if not 0 < at < len(turned) or maker.speed[at] < 0.9:
                continue
            width = random.uniform(0.12, 0.25)  # s, of the blow's foot
            since = (maker.time - maker.time[at]) / width
            bump = np.where(np.abs(since) < 1, 0.5 * (1 + np.cos(np.pi * since)), 0.0)
            # Just far enough that it lies at the stop for less than a tenth of a second.
            reach = _STOPS[1] - side * motion[at]
            motion = motion + side * bump * reach * random.uniform(1.01, 1.06)
            hits[int(side > 0)] += 1
    return np.clip(motion, *_STOPS), (hits[0], hits[1])


def _slack(maker: _Maker, motion: Floats) -> tuple[Floats, tuple[int, int]]:
    """Once a turn the arm goes to its upper stop and lies there for half a second or more."""
    random = maker.random
    motion = motion * 0.3 / max(float(np.abs(motion).max()), 1e-9)
    turned = maker.theta / (2 * np.pi)
    corner, spells = random.uniform(0, 1), 0
    for whole in range(int(turned[0]), int(turned[-1]) + 1):
        at = int(np.searchsorted(turned, whole + corner))
        if not 0 < at < len(turned) or maker.speed[at] < 0.9:
            continue
        lies = random.uniform(0.5, 1.2) * min(1.0, maker.turn / 4)
        foot = random.uniform(0.15, 0.3)
        off = np.abs(maker.time - maker.time[at]) - lies / 2
        rise = np.clip(1 - off / foot, 0, 1)
        weight = rise**2 * (3 - 2 * rise)
        motion = motion * (1 - weight) + weight * (_STOPS[1] + 0.01)
        spells += 1
    return np.clip(motion, *_STOPS), (0, spells)


_STOPPED: dict[str, Callable[[_Maker, Floats], tuple[Floats, tuple[int, int]]]] = {
    "stop hits": _hitting,
    "slack": _slack,
}
