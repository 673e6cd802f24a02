"""Blocks of columns fitted together to a recorded swing, and the energy of each."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["FittedBlocks", "fitted_apart"]

Floats = NDArray[np.float64]

_NOBODYS = 0.03  # of the swing's energy, that may get lost between a ringing and an oscillation


@dataclass(frozen=True, eq=False)
class FittedBlocks:
    """Blocks of columns that were fitted together.

    Args:
        sizes: of each block's columns.
        energies: mean square of each block without what noise puts there.
        rest: what the blocks leave over.
        noise: mean square of a noise that leaves as much.
    """

    sizes: dict[str, Floats]
    energies: dict[str, float]
    rest: Floats
    noise: float


def fitted_apart(blocks: dict[str, Floats], values: Floats) -> FittedBlocks:
    """All blocks together; where a ringing and a steady line cannot be told apart, the line alone.

    A ringing that hardly dies out between its kicks is a steady line but for its kicks. Fitted
    together each takes the other's place, so that both look like noise, and their energy would be
    nobody's.

    Args:
        blocks: columns by what they belong to, "drift" and "oscillation" among them, shape (n, m).
        values: the swing, shape (n,).

    Returns:
        The fit; without the "ringing" where the line stands for it.
    """
    found = _fitted(blocks, values)
    if "ringing" not in blocks or not blocks["oscillation"].shape[1]:
        return found
    swing = float(np.mean(values**2)) - found.energies["drift"]
    told = sum(found.energies.values()) - found.energies["drift"]
    if swing - told - float(np.mean(found.rest**2)) <= _NOBODYS * swing:
        return found
    return _fitted({name: each for name, each in blocks.items() if name != "ringing"}, values)


def _fitted(blocks: dict[str, Floats], values: Floats) -> FittedBlocks:
    columns = np.hstack(list(blocks.values()))
    squares = columns.T @ columns
    squares[np.diag_indices_from(squares)] *= 1 + 1e-9
    inverse = np.linalg.pinv(squares, hermitian=True)
    fit = inverse @ (columns.T @ values)
    rest = values - columns @ fit
    count = len(values)
    noise = float(np.sum(rest**2)) / max(count - columns.shape[1], 1)
    sizes, energies, first = {}, {}, 0
    for name, block in blocks.items():
        own = slice(first, first + block.shape[1])
        first = own.stop
        sizes[name] = fit[own]
        by_noise = noise * float(np.sum(inverse[own, own] * squares[own, own]))
        square = float(np.sum((block @ fit[own]) ** 2))
        energies[name] = max((square - by_noise) / count, 0.0)
    return FittedBlocks(sizes, energies, rest, noise)
