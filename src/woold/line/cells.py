"""The cells of a line's map: a choice of carriage, machine, film and recipe on many loads."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.case.machine_kinds import kind_facts
from woold.case.things import DriveRating
from woold.line.choice import ChosenFilm
from woold.line.limits import FINDINGS, LIMITS, STATUSES
from woold.physics.turned_load import turned_load_share
from woold.prediction.block import BlockPrediction, predict_block
from woold.prediction.load_columns import LoadColumns
from woold.prediction.predict import rise_per_turn

__all__ = ["Cells", "Judged", "judged_cells", "judged_limits", "lowest_rating"]

Floats = NDArray[np.float64]
_LIMIT_AT = {code: at for at, code in enumerate(LIMITS)}
_FINDING_BIT = {code: np.uint64(1 << at) for at, code in enumerate(FINDINGS)}
_STATUS_AT = {code: at for at, code in enumerate(STATUSES)}
_ROUNDING = 1e-7
_ALMOST = 1.0 + 1e-9


@dataclass(frozen=True, eq=False)
class Cells:
    """What a choice comes to on each load; NaN where it cannot be said. Shapes (loads,).

    Args:
        status: number of one of STATUSES.
        limit: number of the one of LIMITS that fails, or that comes nearest to it; -1 for none.
        share: of that limit, what there is over what is asked; 1 or more holds [-].
        findings: a bit for each of FINDINGS.
        film_mass_kg, film_length_m, cycle_time_s: of a load.
        layers_min: least layers on the product.
        hold_share: of the worst target, what holds over what is asked [-].
        containment_later_low_n: least containment at the age asked for, with the largest loss.
        torque_n_m, power_w, film_speed_m_per_s: asked of the drive at the fastest corner.
    """

    status: NDArray[np.int8]
    limit: NDArray[np.int8]
    share: Floats
    findings: NDArray[np.uint64]
    film_mass_kg: Floats
    film_length_m: Floats
    cycle_time_s: Floats
    layers_min: Floats
    hold_share: Floats
    containment_later_low_n: Floats
    torque_n_m: Floats
    power_w: Floats
    film_speed_m_per_s: Floats


def judged_cells(
    chosen: ChosenFilm,
    loads: LoadColumns,
    frictions: Floats,
    ratings: Sequence[DriveRating | None],
    swings: NDArray[np.bool_] | bool = False,
) -> Cells:
    """Whether a choice works on each load, what limits it and by how much.

    Args:
        chosen: the choice.
        loads: what is wrapped.
        frictions: least friction between the tiers of each, shape (loads,) [-].
        ratings: of the drive, by carriage and by machine; the lowest counts.
        swings: whether the dancer is not smooth with each, shape (loads,).
    """
    return judged_limits(chosen, loads, frictions, ratings, swings)[0]


def judged_limits(
    chosen: ChosenFilm,
    loads: LoadColumns,
    frictions: Floats,
    ratings: Sequence[DriveRating | None],
    swings: NDArray[np.bool_] | bool = False,
) -> tuple[Cells, Judged]:
    """The same, with what each limit says.

    Args:
        chosen, loads, frictions, ratings, swings: as for :func:`judged_cells`.
    """
    count, case = len(loads), chosen.case
    judge = Judged(count)
    for code, there in chosen.shares.items():
        judge.share(code, there)
    for code in chosen.fails:
        judge.fail(code)
    for code in chosen.findings:
        judge.find(code, True)
    judge.find("dancer_not_smooth", swings)
    room = case.machine.exit_distance / loads.radius
    judge.share("film_exit", room)
    judge.fail("film_exit", room <= 1.0)
    block = None
    if chosen.sheet is not None:
        block = predict_block(case, chosen.sheet, loads)
        _judge_block(judge, chosen, block, loads)
        _judge_drive(judge, chosen, block, ratings)
        _judge_turning(judge, chosen, loads, frictions)
    nowhere = np.full(count, np.nan)
    status, limit, share = judge.answer()
    drive = chosen.drive

    def of_block(name: str) -> Floats:
        return nowhere if block is None else getattr(block, name)

    fastest = of_block("film_speed_max_m_per_s")
    with np.errstate(all="ignore"):
        held = of_block("target_share") if block is not None and loads.asked.size else nowhere
        worst = held if held.ndim == 1 else np.fmin.reduce(held, axis=1)
    cells = Cells(
        status=status,
        limit=limit,
        share=share,
        findings=judge.findings,
        film_mass_kg=of_block("film_mass_kg"),
        film_length_m=of_block("film_length_m"),
        cycle_time_s=of_block("cycle_time_s"),
        layers_min=of_block("layers_min"),
        hold_share=worst,
        containment_later_low_n=of_block("containment_later_low_n"),
        torque_n_m=nowhere if drive is None else _for_all(drive.torque, count),
        power_w=nowhere if drive is None else drive.power * fastest,
        film_speed_m_per_s=nowhere if drive is None else drive.film_speed * fastest,
    )
    return cells, judge


class Judged:
    """Shares and faults of every limit, and findings, as they come."""

    def __init__(self, count: int) -> None:
        self.shares = np.full((count, len(LIMITS)), np.nan)
        self.fails = np.zeros((count, len(LIMITS)), dtype=bool)
        self.findings = np.zeros(count, dtype=np.uint64)

    def share(self, code: str, share: float | Floats) -> None:
        self.shares[:, _LIMIT_AT[code]] = share

    def fail(self, code: str, where: bool | NDArray[np.bool_] = True) -> None:
        self.fails[:, _LIMIT_AT[code]] |= where

    def find(self, code: str, where: bool | NDArray[np.bool_]) -> None:
        self.findings |= np.where(where, _FINDING_BIT[code], np.uint64(0))

    def answer(self) -> tuple[NDArray[np.int8], NDArray[np.int8], Floats]:
        """Status, and the limit that decides with its share."""
        fails: NDArray[np.bool_] = np.asarray(self.fails.any(axis=1))
        # A fault without a share decides before all that have one.
        rank = np.where(self.fails, np.where(np.isnan(self.shares), -1.0, self.shares), np.inf)
        known = np.where(np.isnan(self.shares), np.inf, self.shares)
        known[:, _LIMIT_AT["roll_width"]] = np.inf  # a roll goes in or does not: never nearly
        rank = np.where(fails[:, None], rank, known)
        limit = rank.argmin(axis=1)
        at = np.arange(len(limit))
        share = self.shares[at, limit]
        nothing = ~fails & np.isinf(rank[at, limit])
        status = np.where(fails, _STATUS_AT["does_not"], _STATUS_AT["works"])
        status = np.where(~fails & (self.findings > 0), _STATUS_AT["finding"], status)
        return (
            status.astype(np.int8),
            np.where(nothing, -1, limit).astype(np.int8),
            np.where(nothing, np.nan, share),
        )


def _judge_block(
    judge: Judged, chosen: ChosenFilm, block: BlockPrediction, loads: LoadColumns
) -> None:
    """Program, cover, hold and edges."""
    program, sheet = chosen.case.program, chosen.sheet
    assert sheet is not None
    judge.fail("program", ~block.can_be)
    judge.find("uncovered", block.layers_min < 1.0 - 1e-9)
    top = loads.height + program.top_overlap - sheet.width
    start = program.start_height
    judge.find("film_wider_than_load", top < start)
    judge.find("film_on_floor", -start > loads.deck_height)
    judge.find("lock_bridges_overhang", (loads.overhang > 0.0) & (start < 0.0))
    rises: NDArray[np.bool_] = np.asarray(top > start)
    has: dict[str, bool | NDArray[np.bool_]] = {
        "bottom wraps": program.bottom_wraps > 0.0,
        "rise": rises,
        "top wraps": program.top_wraps > 0.0,
        "fall": np.asarray(rises & (program.ends_at == "bottom"), dtype=bool),
        "closing wraps": program.closing_wraps > 0.0,
    }
    for pause in program.pauses:
        judge.find("pause_without_part", np.asarray(np.logical_not(has[pause.before]), dtype=bool))
    corner, limit = block.corner_force_max_n_per_m, loads.edge_limit
    with np.errstate(divide="ignore", invalid="ignore"):
        judge.share("edge_load", limit / corner)
        judge.fail("edge_load", corner > limit * _ALMOST)
    if loads.asked.shape[1]:
        share = np.fmin.reduce(block.target_share, axis=1)
        judge.share("hold", share)
        judge.fail("hold", share < 1.0 - _ROUNDING)
        judge.find("zone_above_load", np.asarray(loads.is_above.any(axis=1)))
    mast = chosen.case.machine.carriage_speed_limit
    if mast is not None:
        rise = rise_per_turn(chosen.case, sheet.width)
        fall = 0.0 if program.ends_at == "top" else program.fall_per_turn or rise
        travel = max(rise, fall) * chosen.case.machine.speed / (2.0 * math.pi)
        judge.share("mast_speed", np.where(rises, mast / travel, np.nan))
        judge.fail("mast_speed", rises & (travel > mast * _ALMOST))


def _judge_drive(
    judge: Judged,
    chosen: ChosenFilm,
    block: BlockPrediction,
    ratings: Sequence[DriveRating | None],
) -> None:
    """Torque, power and speed at the fastest corner against what the drive may give."""
    asked, fastest = chosen.drive, block.film_speed_max_m_per_s
    assert asked is not None
    for code, field, needed in (
        ("torque", "torque", np.full(len(fastest), asked.torque)),
        ("power", "power", asked.power * fastest),
        ("film_speed", "film_speed", asked.film_speed * fastest),
    ):
        rated = lowest_rating(ratings, field)
        if rated < np.inf:
            judge.share(code, rated / needed)
            judge.fail(code, needed > rated * _ALMOST)


def lowest_rating(ratings: Sequence[DriveRating | None], field: str) -> float:
    """The most that a drive may give: the lowest that is stated; infinite if nobody says.

    Args:
        ratings: of the drive, by carriage and by machine.
        field: torque, power or film_speed.
    """
    stated = (getattr(each, field) for each in ratings if each is not None)
    return min((each for each in stated if each is not None), default=np.inf)


def _judge_turning(
    judge: Judged, chosen: ChosenFilm, loads: LoadColumns, frictions: Floats
) -> None:
    """Loads that their table may shift."""
    machine = chosen.case.machine
    if not kind_facts(machine.kind).load_turns:
        return
    ramps = [each for each in (machine.ramp_up, machine.ramp_down) if each > 0.0]
    # Both accelerations grow evenly with the radius.
    at_one_metre = turned_load_share(machine.speed, 1.0, min(ramps, default=0.0))
    judge.find("load_may_shift_turning", at_one_metre * loads.radius > frictions)


def _for_all(value: float, count: int) -> Floats:
    """One value for all loads."""
    return np.full(count, value)
