"""What a film of the dancer says. Field names are the JSON document's keys, as in docs/json.md."""

from __future__ import annotations

from dataclasses import dataclass

from woold.dancer.results import DANCER_CAUTIONS, TraceStudy
from woold.prediction.result import Finding
from woold.rows.told import Told
from woold.words import to_say

__all__ = ["FILM_CAUTIONS", "FilmStudy", "TagSeen"]

FILM_CAUTIONS = (
    to_say("Lock out the machine while you stick tags on or take them off."),
    to_say(
        "Film from outside the guard with the phone fixed to a stand, and stand clear: nobody holds"
        " a phone over a machine that runs."
    ),
    to_say("Leave no person in the picture, or ask them first; a film is a record of people too."),
    *DANCER_CAUTIONS,
)
"""Shown wherever films are asked for or shown."""


@dataclass(frozen=True, slots=True)
class TagSeen:
    """One tag over the film; `corner_error_px` is the standard error of a corner each way."""

    tag: str
    seen_share: float
    side_px: float | None
    corner_error_px: float | None


@dataclass(frozen=True, repr=False)
class FilmStudy(Told):
    """A film as a recording, how sure it is, and what the recording says."""

    told_as = "film"
    told_by = "woold.filmed.film_rows:film_blocks"

    file: str
    codec: str
    width_px: int
    height_px: int
    rotation_deg: int
    frames: int
    duration_s: float
    frame_rate_hz: float
    step_shortest_s: float
    step_longest_s: float
    method: str
    tags: tuple[TagSeen, ...]
    features_kept_share: float | None
    lost_share: float
    gap_longest_s: float
    angle_error_rad: float | None
    position_error: float | None
    readout_s: float | None
    readout_error_s: float | None
    exposure_s: float | None
    exposure_error_s: float | None
    slant_rad: float | None
    frequency_highest_hz: float
    turn_pulses: int
    turn_pulses_seen: int
    verdict: str
    sentence: str
    findings: tuple[Finding, ...]
    trace: TraceStudy | None
    cautions: tuple[str, ...] = FILM_CAUTIONS
