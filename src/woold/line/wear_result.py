"""Parts and wear of one carriage beside today's. Field names are the JSON document's keys."""

from __future__ import annotations

from dataclasses import dataclass

from woold.prediction.result import CAUTIONS, Finding
from woold.rows.told import Told

__all__ = ["DriveDuty", "LineWear", "MachineWear", "PartKinds"]


@dataclass(frozen=True, slots=True)
class PartKinds:
    """Different parts of one kind: how many there are today, and with one carriage.

    Args:
        kind: "rollers", "springs", "couplings" or "dancer arms".
        before: different ones on the carriages of today; None where one of them lists none.
        in_common: of these, on every carriage of today; None likewise.
        after: different ones on the one carriage; None where it lists none.
        kept: of those after, that are on a carriage today already; None where it cannot be said.
    """

    kind: str
    before: int | None
    in_common: int | None
    after: int | None
    kept: int | None


@dataclass(frozen=True, slots=True)
class DriveDuty:
    """What a year asks of a carriage's drive, on the loads that both carriages serve.

    Args:
        film_m: through the fast roller in a year.
        fast_turns: of the fast roller in a year; None where its diameter is not listed.
        torque_n_m: at the fast roller at the force to load, mean over its turns; None likewise.
        torque_peak_n_m: largest in a turn of the load; None likewise.
        power_peak_w: at the fastest corner.
        film_speed_peak_m_per_s: behind the fast roller at the fastest corner.
        work_j: torque times angle over the year, at the fast roller; None likewise.
        couples_by: belt, chain, gears or two motors; "" where nobody says.
        torque_rating_n_m: the lower one of carriage and machine; None where none is stated.
        power_rating_w: the same.
        safety_low, safety_high: rating over what is asked at the peak, after the service factor
            that selection rules give for belt or chain; below 1 it is too weak by them. None
            where a rating, a factor or the rollers are not known.
    """

    carriage: str
    film_m: float
    fast_turns: float | None
    torque_n_m: float | None
    torque_peak_n_m: float | None
    power_peak_w: float
    film_speed_peak_m_per_s: float
    work_j: float | None
    couples_by: str
    torque_rating_n_m: float | None
    power_rating_w: float | None
    safety_low: float | None
    safety_high: float | None


@dataclass(frozen=True, slots=True)
class MachineWear:
    """One model of machine before and after.

    Args:
        loads_per_year: with a number and a film or a machine.
        compared_share: of these, served by both carriages: what is compared [-].
        not_served_share: served today, and not by the one carriage [-].
        work_ratio, film_ratio, turns_ratio, torque_ratio: after over before; None where one of
            the two is not known.
        rolls_before, rolls_after: rolls used up in a year.
        rethread_before_s, rethread_after_s: standstill for that in a year, with ranges.
        rethread_is_typed: the machine's time to lace a roll was typed, and is no placeholder.
    """

    machine: str
    loads_per_year: float
    compared_share: float
    not_served_share: float
    before: DriveDuty
    after: DriveDuty
    film_ratio: float
    turns_ratio: float | None
    torque_ratio: float | None
    work_ratio: float | None
    rolls_before: float
    rolls_after: float
    rethread_before_s: float
    rethread_before_low_s: float
    rethread_before_high_s: float
    rethread_after_s: float
    rethread_after_low_s: float
    rethread_after_high_s: float
    rethread_is_typed: bool


@dataclass(frozen=True, slots=True, repr=False)
class LineWear(Told):
    """One carriage on every machine, beside the carriages of today."""

    told_as = "line-wear"
    told_by = "woold.line.wear_rows:wear_blocks"

    title: str
    carriage: str
    parts: tuple[PartKinds, ...]
    machines: tuple[MachineWear, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS
