"""The arm at its stops: short hits, and long spells at the upper one while the film hangs slack."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.errors import InputError
from woold.physics.trace import EvenSamples
from woold.words import say

__all__ = ["SHORTEST_SLACK", "StopContacts", "resting_places", "stop_contacts"]

Floats = NDArray[np.float64]

SHORTEST_SLACK = 0.25
"""Time at the upper stop from which the film hangs slack [s]. Common practice, no source."""

_LONGEST_HIT = 0.15  # s, up to which the arm comes off again by itself
_READ_OFF = 0.05  # of the travel, by which a stop's reading may be off
_OFTEN = 3  # spells, from which a resting place is one
_APART = 0.06  # s, below which two touches are one
_STEADY_NOISE = 4.0  # standard deviations of the noise that a flat place may span


@dataclass(frozen=True)
class StopContacts:
    """How often and how long the arm was at its stops.

    Args:
        lower_hits: times that it reached the lower stop.
        upper_hits: times that it reached the upper stop and came off again.
        slack_spells: times that it lay at the upper stop, the film slack.
        slack_time: in those [s].
        unsure_spells: of the upper hits, those that may have been slack.
    """

    lower_hits: int
    upper_hits: int
    slack_spells: int
    slack_time: float
    unsure_spells: int


def stop_contacts(
    samples: EvenSamples,
    stretches: Sequence[slice],
    stops: tuple[float, float],
    stop_margin: float = 0.01,
) -> StopContacts:
    """Contacts with the stops in the stretches.

    A contact begins within the margin of a stop. It ends when the arm is off by twice the margin
    and more than the sensor's noise, so that noise at a stop is one contact. At the upper stop a
    contact that lasts and is as flat as the noise is slack film; a short one is a hit.

    Args:
        samples: the trace.
        stretches: where the dancer works.
        stops: positions of lower and upper stop, unit of the trace.
        stop_margin: nearness to a stop that counts, as share of the travel [-].

    Returns:
        The contacts.

    Raises:
        InputError: stops in the wrong order.
    """
    lower, upper = stops
    if not lower < upper:
        raise InputError.one(
            "stops",
            say("{lower:g} and {upper:g}", lower=lower, upper=upper),
            say("the lower one first"),
            say("Give the lower stop first."),
        )
    margin = stop_margin * (upper - lower)
    # Stops are read off a dial: an arm that lies still close by lies at its stop.
    lowest, highest = resting_places(samples, stretches)
    reach = _READ_OFF * (upper - lower)
    lower = lowest if lowest is not None and abs(lowest - lower) < reach else lower
    upper = highest if highest is not None and abs(highest - upper) < reach else upper
    lower_hits = upper_hits = spells = unsure = 0
    slack = 0.0
    for stretch in stretches:
        values = samples.position[stretch]
        noise = _noise(values)
        lower_hits += sum(1 for _ in _contacts(values - lower, margin, noise, samples.interval))
        for contact in _contacts(upper - values, margin, noise, samples.interval):
            near = upper - values[contact]
            time = samples.interval * int(np.sum(near <= margin + 2 * noise))
            flat = float(np.std(near)) <= noise + 0.25 * margin
            if time >= SHORTEST_SLACK and flat:
                spells += 1
                slack += time
            else:
                upper_hits += 1
                unsure += int(time > max(_LONGEST_HIT, 2 * samples.interval))
    return StopContacts(lower_hits, upper_hits, spells, slack, unsure)


def resting_places(
    samples: EvenSamples, stretches: Sequence[slice]
) -> tuple[float | None, float | None]:
    """Lowest and highest place at which the arm lies still again and again, as at a stop.

    Args:
        samples: the trace.
        stretches: where the dancer works.

    Returns:
        Lowest and highest place, None where it turns round without lying, unit of the trace.
    """
    values = np.concatenate([samples.position[stretch] for stretch in stretches] or [np.empty(0)])
    if not len(values):
        return None, None
    noise = _noise(values)
    low, high = (float(each) for each in np.percentile(values, [0.5, 99.5]))
    margin = 0.01 * (high - low)
    if 2 * noise > margin:
        return None, None
    places = []
    for away, place in ((values - low, low), (high - values, high)):
        spells = [
            contact
            for contact in _contacts(away, margin, noise, samples.interval)
            if samples.interval * (contact.stop - contact.start) >= SHORTEST_SLACK
            # A swing that turns round bends by a good part of the margin; what lies does not.
            and float(np.std(away[contact])) <= noise + 0.1 * margin
        ]
        places.append(place if len(spells) >= _OFTEN else None)
    return places[0], places[1]


def _noise(values: Floats) -> float:
    """Standard deviation of the sensor's noise, from what no neighbour goes along with."""
    if len(values) < 3:
        return 0.0
    bends = np.abs(values[2:] - 2 * values[1:-1] + values[:-2])
    return float(1.4826 * np.median(bends) / np.sqrt(6))


def _contacts(away: Floats, margin: float, noise: float, interval: float) -> Iterator[slice]:
    """Spells in which the arm is at a stop, by its distance from it."""
    near = away <= margin
    off = away > max(2 * margin, margin + _STEADY_NOISE * noise)
    touched = np.flatnonzero(near)
    if not len(touched):
        return
    # Between two touches the arm must have been off, and for longer than a rebound's tremble.
    gone = np.concatenate([[0], np.cumsum(off)])
    apart = (gone[touched[1:]] - gone[touched[:-1]]) * interval > _APART
    edges = np.flatnonzero(apart)
    firsts = np.concatenate([touched[:1], touched[1:][edges]])
    lasts = np.concatenate([touched[:-1][edges], touched[-1:]])
    for first, last in zip(firsts, lasts, strict=True):
        yield slice(int(first), int(last) + 1)
