"""Mean of each treatment of a trial, standardised to the annual mix, and how far it can be trusted.

"Treatment" is the statistician's word for what is compared: here the baseline and the candidate.

The model is z = cell + block + error, where z is a load's value divided by the middle of its load
type (so that blocks and errors act by per cent), a cell is one treatment of one load type, and a
block is what loads wrapped under the same circumstances share (shift, film roll). Least squares;
the errors of the means are robust (HC2), so neither treatments nor load types need equal spread.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from woold.errors import InputError, Problem
from woold.trial.ratio import RatioInterval, fieller_interval, log_ratio_interval
from woold.words import say, to_say

__all__ = ["BASELINE", "CANDIDATE", "TreatmentMeans", "joint_covariance", "treatment_means"]

BASELINE, CANDIDATE = 0, 1

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_ALIASED = 1e-8
_SATURATED = 1e-9
_MOST_FOR_EXACT_FREEDOM = 300


@dataclass(frozen=True, slots=True)
class TreatmentMeans:
    """The two treatments' means of one quantity and the influence of every load on them.

    Args:
        baseline: mean of the baseline per load, in the unit of the values.
        candidate: the same of the candidate.
        load: index of the load that each influence belongs to, shape (n,).
        influence: what each load's error adds to (candidate, baseline), shape (n, 2), in the
            unit of the values; its cross product is the HC2 covariance of the two means.
        residual: relative residual of each load, scaled to have the error's variance, shape (n,).
        weight: change of (candidate, baseline) with a load's relative error, shape (n, 2).
        cell: treatment of a load type that each load belongs to, shape (n,): 2 x type + treatment.
        freedom: residual degrees of freedom by cell, shape (cells,).
        annihilator: what turns values into residuals, shape (n, n); None for many loads.
        spreads: relative standard deviation within (baseline, candidate).
        blocks_used: whether block effects were taken out.
        borrowed: loads whose own residual says nothing, so that the treatment's spread stands in.
        types: load types (codes) that the means cover.
        covered: share of the annual mix that those types are.
        loads: number of loads behind (baseline, candidate).
    """

    baseline: float
    candidate: float
    load: Ints
    influence: Floats
    residual: Floats
    weight: Floats
    cell: Ints
    freedom: Floats
    annihilator: Floats | None
    spreads: tuple[float, float]
    blocks_used: bool
    borrowed: int
    types: tuple[int, ...]
    covered: float
    loads: tuple[int, int]

    @property
    def covariance(self) -> Floats:
        """HC2 covariance of (candidate, baseline)."""
        return np.asarray(self.influence.T @ self.influence)

    @property
    def ratio(self) -> float:
        """Candidate over baseline."""
        return self.candidate / self.baseline

    @property
    def log_ratio_influence(self) -> Floats:
        """What each load's error adds to ln(candidate/baseline), shape (n,)."""
        return np.asarray(self.influence @ np.array([1 / self.candidate, -1 / self.baseline]))

    @property
    def log_ratio_error(self) -> float:
        """Standard error of ln(candidate/baseline)."""
        return float(np.linalg.norm(self.log_ratio_influence))

    def degrees_of_freedom(self, null_ratio: float | None = None) -> float:
        """Satterthwaite degrees of freedom of candidate - R baseline, R the measured ratio.

        The variance estimate is the quadratic form z'Bz of the loads; with W the spreads,
        df = tr(BW)^2/tr(BWBW). With one load type and no blocks this is Welch's formula, with
        pairs it is one less than their number. Beyond some hundreds of loads each cell's part is
        taken as independent of the others, which no longer makes a difference.
        """
        ratio = self.ratio if null_ratio is None else null_ratio
        contrast = self.weight @ np.array([1.0, -ratio])
        spread = np.asarray(self.spreads)[self.cell % 2]
        if self.annihilator is not None:
            own = np.diag(self.annihilator)
            seen = own > _SATURATED
            each = np.where(seen, contrast**2 / np.where(seen, own, 1.0), 0.0)
            spreads = (self.annihilator * spread**2) @ self.annihilator
            total = float(each @ np.diag(spreads))
            below = float(each @ spreads**2 @ each)
        else:
            parts = np.bincount(self.cell, (contrast * spread) ** 2, minlength=self.freedom.size)
            used = self.freedom > _SATURATED
            below = float(np.sum(parts[used] ** 2 / self.freedom[used]))
            total = float(np.sum(parts))
        if below == 0.0:
            return max(float(np.sum(self.freedom)), 1.0)
        return max(total**2 / below, 1.0)

    def fieller(self, level: float = 0.95) -> RatioInterval:
        """Candidate over baseline with Fieller's interval."""
        return fieller_interval(
            self.candidate, self.baseline, self.covariance, self.degrees_of_freedom(), level
        )

    def log_interval(self, level: float = 0.95) -> RatioInterval:
        """Candidate over baseline with the log-ratio interval."""
        return log_ratio_interval(
            self.candidate, self.baseline, self.covariance, self.degrees_of_freedom(), level
        )


def treatment_means(
    values: ArrayLike,
    treatment: ArrayLike,
    load_type: ArrayLike | None = None,
    block: ArrayLike | None = None,
    mix: ArrayLike | None = None,
    field: str = "trial",
) -> TreatmentMeans:
    """Means of the two treatments over the annual mix of load types.

    mean of treatment a = sum over types s of w_s M_s (cell_as + mean block effect of type s)

    Args:
        values: one positive value a load, NaN where it was not measured, shape (n,).
        treatment: 0 baseline, 1 candidate, shape (n,).
        load_type: codes 0 to S - 1, shape (n,); one type when not given.
        block: block codes, shape (n,); no blocks when not given.
        mix: loads of each type in a year, shape (S,); the loads of the trial when not given.
        field: what to call the values in messages.

    Returns:
        Means over the types that both treatments have, with ``covered`` saying what share that is.
        Where the treatments cannot be told from the blocks, blocks are left out and
        ``blocks_used`` is False: the caller must say so.

    Raises:
        InputError: a treatment with fewer than two loads, a value that is not positive, or no load
            type with both treatments.

    Source: HC2: J. G. MacKinnon, H. White, J. Econometrics 29 (1985) 305; degrees of freedom:
        F. E. Satterthwaite, Biometrics Bulletin 2 (1946) 110.
    """
    every = np.asarray(values, dtype=float)
    treatments = np.asarray(treatment, dtype=np.int64)
    types = np.zeros(every.size, np.int64) if load_type is None else np.asarray(load_type, np.int64)
    blocks = np.zeros(every.size, np.int64) if block is None else np.asarray(block, np.int64)
    annual = np.bincount(types).astype(float) if mix is None else np.asarray(mix, dtype=float)
    _refuse_unusable(every, treatments, field)

    measured = np.isfinite(every)
    counts = np.zeros((annual.size, 2))
    np.add.at(counts, (types[measured], treatments[measured]), 1)
    both = (counts > 0).all(axis=1) & (annual > 0)
    if not both.any():
        raise InputError.one(
            field,
            say("no load type that was wrapped with both treatments"),
            say("at least one load type with loads with both treatments"),
            say("Wrap the same load types with both treatments."),
        )
    load = np.flatnonzero(measured & both[types])
    kept_treatments = np.bincount(treatments[load], minlength=2)
    if kept_treatments.min() < 2:
        raise _too_few(field, kept_treatments)
    covered = float(annual[both].sum() / annual.sum())
    kept = np.flatnonzero(both)
    renumber = np.full(annual.size, -1)
    renumber[kept] = np.arange(kept.size)
    loads = _Loads(
        values=every[load],
        load=load,
        types=renumber[types[load]],
        treatments=treatments[load],
        blocks=np.unique(blocks[load], return_inverse=True)[1],
    )
    kept_mix = _Mix(
        shares=annual[kept] / annual[kept].sum(),
        types=tuple(int(code) for code in kept),
        covered=covered,
    )
    return _fit(loads, kept_mix, field)


def _refuse_unusable(values: Floats, treatments: Ints, field: str) -> None:
    if (values <= 0).any():
        worst = float(np.nanmin(values))
        raise InputError.one(
            field, f"{worst:g}", say("more than 0"), say("Correct or leave out the value.")
        )
    counts = np.bincount(treatments[np.isfinite(values)], minlength=2)
    if counts.min() < 2:
        raise _too_few(field, counts)


def _too_few(field: str, counts: NDArray[np.int_]) -> InputError:
    return InputError.many(
        Problem(
            say("{field}, {treatment}", field=field, treatment=say(name)),
            say("1 load with this measured")
            if count == 1
            else say("{count} loads with this measured", count=count),
            say("at least 2 of a treatment, since one load shows no spread"),
            say("Wrap more loads; `woold trial plan` says how many."),
        )
        for name, count in zip((to_say("baseline"), to_say("candidate")), counts, strict=True)
        if count < 2
    )


@dataclass(frozen=True, slots=True)
class _Loads:
    """Measured loads of the types that both treatments have: values, index and codes."""

    values: Floats
    load: Ints
    types: Ints
    treatments: Ints
    blocks: Ints


@dataclass(frozen=True, slots=True)
class _Mix:
    """Share of each kept load type, its code, and how much of a year they make up."""

    shares: Floats
    types: tuple[int, ...]
    covered: float


def _fit(loads: _Loads, mix: _Mix, field: str) -> TreatmentMeans:
    values, treatments, blocks, shares = loads.values, loads.treatments, loads.blocks, mix.shares
    types = loads.types
    cell = 2 * types + treatments
    cells = 2 * shares.size
    per_cell = np.bincount(cell, minlength=cells).astype(float)
    raw_means = np.bincount(cell, values, minlength=cells) / per_cell
    middle = raw_means.reshape(-1, 2).mean(axis=1)
    relative = values / middle[types]
    # Contrast of each treatment: its cells, and the average of the type's own blocks.
    scale = shares * middle
    solved = _solve(relative, cell, blocks, scale, per_cell)
    blocks_used = bool(blocks.max() > 0) and solved is not None
    if solved is None:  # treatments and blocks are aliased
        solved = _solve(relative, cell, np.zeros_like(blocks), scale, per_cell)
        assert solved is not None  # one block is never aliased with the treatments
    means, weight, error, leverage, annihilator = solved

    slack = 1 - leverage
    freedom = np.bincount(cell, np.clip(slack, 0, None), minlength=cells).astype(float)
    if freedom.sum() < 0.5:
        raise InputError.one(
            field,
            say(
                "loads: {size}; pairs of load type and treatment: {cells}; blocks: {blocks}",
                size=values.size,
                cells=cells,
                blocks=blocks.max() + 1,
            ),
            say("more loads than load types, treatments and blocks together"),
            say("Wrap more loads of the same type within a block."),
        )
    spread = tuple(
        math.sqrt(
            float(np.sum(error[treatments == side] ** 2))
            / max(_freedom(slack, treatments, side), 1e-12)
        )
        if _freedom(slack, treatments, side) > _SATURATED
        else math.nan
        for side in (BASELINE, CANDIDATE)
    )
    spread = tuple(own if math.isfinite(own) else np.nanmax([*spread, 0.0]) for own in spread)
    saturated = slack < _SATURATED
    scaled = error / np.sqrt(np.where(saturated, 1.0, slack))
    scaled[saturated] = np.asarray(spread)[treatments[saturated]]
    return TreatmentMeans(
        baseline=float(means[1]),
        candidate=float(means[0]),
        load=loads.load,
        influence=weight * scaled[:, None],
        residual=scaled,
        weight=weight,
        cell=cell,
        freedom=freedom,
        annihilator=annihilator,
        spreads=(float(spread[0]), float(spread[1])),
        blocks_used=blocks_used,
        borrowed=int(saturated.sum()),
        types=mix.types,
        covered=mix.covered,
        loads=(int((treatments == BASELINE).sum()), int((treatments == CANDIDATE).sum())),
    )


def _freedom(slack: Floats, treatments: Ints, side: int) -> float:
    return float(np.sum(np.clip(slack[treatments == side], 0, None)))


def _solve(
    relative: Floats,
    cell: Ints,
    blocks: Ints,
    scale: Floats,
    per_cell: Floats,
) -> tuple[Floats, Floats, Floats, Floats, Floats | None] | None:
    """Means of (candidate, baseline), loads' weights on them, residuals, leverages, annihilator.

    Blocks are eliminated first (there can be many), which leaves normal equations of the size
    of the cells. None when a mean cannot be told from the blocks.
    """
    cells, count = per_cell.size, int(blocks.max()) + 1
    per_block = np.bincount(blocks, minlength=count).astype(float)
    table = np.bincount(cell * count + blocks, minlength=cells * count).reshape(cells, count)
    ratio = table / per_block
    normal = np.diag(per_cell) - ratio @ table.T
    inverse = np.linalg.pinv(normal, rcond=_ALIASED, hermitian=True)
    cell_sums = np.bincount(cell, relative, minlength=cells)
    block_means = np.bincount(blocks, relative, minlength=count) / per_block
    cell_effect = inverse @ (cell_sums - table @ block_means)
    block_effect = block_means - ratio.T @ cell_effect

    by_type = table.reshape(-1, 2, count).sum(axis=1)
    over_blocks = scale[:, None] * by_type / by_type.sum(axis=1, keepdims=True)
    means, weights = np.empty(2), np.empty((relative.size, 2))
    for column, side in enumerate((CANDIDATE, BASELINE)):
        over_cells = np.zeros(cells)
        over_cells[side::2] = scale
        blocks_part = over_blocks.sum(axis=0)
        asked = over_cells - ratio @ blocks_part
        direction = inverse @ asked
        if np.abs(normal @ direction - asked).max() > _ALIASED * np.abs(over_cells).max() * 10:
            return None
        means[column] = over_cells @ cell_effect + blocks_part @ block_effect
        block_weight = (blocks_part - table.T @ direction) / per_block
        weights[:, column] = direction[cell] + block_weight[blocks]

    error = relative - cell_effect[cell] - block_effect[blocks]
    crossed = inverse @ ratio
    corner = np.sum(ratio * crossed, axis=0)
    leverage = np.diag(inverse)[cell] - 2 * crossed[cell, blocks] + corner[blocks]
    leverage += 1 / per_block[blocks]
    annihilator = None
    if relative.size <= _MOST_FOR_EXACT_FREEDOM:
        across = crossed[cell][:, blocks]
        hat = inverse[np.ix_(cell, cell)] - across - across.T
        hat += (ratio.T @ crossed)[np.ix_(blocks, blocks)]
        hat += (blocks[:, None] == blocks) / per_block[blocks]
        annihilator = np.eye(relative.size) - hat
    return means, weights, error, np.clip(leverage, 0.0, 1.0), annihilator


def joint_covariance(means: list[TreatmentMeans]) -> Floats:
    """HC2 covariance of the log ratios of several quantities measured on the same loads.

    Args:
        means: the quantities; loads are matched by their index.

    Returns:
        Covariance of ln(candidate/baseline), shape (len(means), len(means)).
    """
    loads = 1 + max(int(each.load.max()) for each in means)
    influence = np.zeros((len(means), loads))
    for row, each in zip(influence, means, strict=True):
        row[each.load] = each.log_ratio_influence
    return np.asarray(influence @ influence.T)
