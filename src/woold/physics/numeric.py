"""What every part of the physics shares: the number type, refusal of values, a bracketed root."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from woold.errors import InputError
from woold.words import say

__all__ = ["FloatOrArray", "bracketed_root", "refuse_unless"]

FloatOrArray = float | npt.NDArray[np.float64]


def refuse_unless(valid: object, field: str, given: FloatOrArray, allowed: str) -> None:
    """Raise InputError unless ``valid`` holds for every element; NaN never holds.

    Args:
        valid: one truth value, or one for each element.
        field: that the values stand in.
        given: the values.
        allowed: what may stand there, marked with `woold.words.to_say`.
    """
    if valid is True or valid is np.True_ or np.all(np.asarray(valid)):
        return
    values, holds = np.broadcast_arrays(np.asarray(given, dtype=float), np.asarray(valid))
    raise InputError.one(field, f"{values[~holds].flat[0]:g}", say(allowed), say("Mend the value."))


def bracketed_root(
    function: Callable[[npt.NDArray[np.float64]], FloatOrArray],
    low: FloatOrArray,
    high: FloatOrArray,
    most_steps: int = 100,
) -> FloatOrArray:
    """Root of a function between two ends where its signs differ, for whole arrays at once.

    Inverse quadratic steps where they are safe, halving where they are not; each element stops
    when its bracket is as narrow as floating point allows. An infinite value at an end is fine.

    Args:
        function: continuous function, element by element.
        low, high: ends of the bracket, shapes that broadcast with each other and the function.
        most_steps: halving alone needs about 55.

    Returns:
        The root, in the broadcast shape. Where the signs do not differ, the end that is nearer to
        a root by value.

    Source:
        Chandrupatla, Advances in Engineering Software 28 (1997) 145-149.
    """
    low, high = np.asarray(low, dtype=float), np.asarray(high, dtype=float)
    with np.errstate(all="ignore"):
        if np.ndim(low) == np.ndim(high) == np.ndim(function(high)) == 0:
            return _scalar_root(function, float(low), float(high), most_steps)
        # b and a hold the bracket, c the point that was last dropped.
        b, a, fb, fa = np.broadcast_arrays(low, high, function(low), function(high))
        best = np.where(np.abs(fa) < np.abs(fb), a, b)
        done = np.sign(fa) * np.sign(fb) >= 0
        step: npt.NDArray[np.float64] = np.full(a.shape, 0.5)
        for _ in range(most_steps):
            if done.all():
                break
            x = a + step * (b - a)
            fx = np.broadcast_to(function(x), a.shape)
            same_side = np.sign(fx) == np.sign(fa)
            c, fc = np.where(same_side, a, b), np.where(same_side, fa, fb)
            b, fb = np.where(same_side, b, a), np.where(same_side, fb, fa)
            a, fa = x, fx
            best = np.where(done, best, np.where(np.abs(fa) < np.abs(fb), a, b))
            smallest = (2 * np.finfo(float).eps * np.abs(best) + 1e-300) / np.abs(b - a)
            done = done | (smallest > 0.5) | (fa == 0)
            xi, phi = (a - b) / (c - b), (fa - fb) / (fc - fb)
            safe = (phi**2 < xi) & ((1 - phi) ** 2 < 1 - xi)
            inverse = fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (
                fc - fb
            )
            step = np.where(safe, inverse, 0.5)
            step = np.clip(step, smallest, 1 - smallest)
            step = np.where(np.isfinite(step), step, 0.5)
    return best[()]


def _scalar_root(
    function: Callable[..., FloatOrArray], b: float, a: float, most_steps: int
) -> float:
    """The same steps for one number, in plain floats: five times quicker than arrays of one."""
    fb, fa = float(function(np.float64(b))), float(function(np.float64(a)))
    best = a if abs(fa) < abs(fb) else b
    if fa == 0.0 or fb == 0.0 or (fa > 0.0) == (fb > 0.0):
        return best
    step = 0.5
    for _ in range(most_steps):
        x = a + step * (b - a)
        fx = float(function(np.float64(x)))
        if (fx > 0.0) == (fa > 0.0):
            c, fc = a, fa
        else:
            c, fc, b, fb = b, fb, a, fa
        a, fa = x, fx
        best = a if abs(fa) < abs(fb) else b
        if fa == 0.0 or a == b:
            break
        smallest = (2 * np.finfo(float).eps * abs(best) + 1e-300) / abs(b - a)
        if smallest > 0.5:
            break
        step = 0.5
        if np.isfinite(fb) and np.isfinite(fc) and fa != fb != fc != fa:
            xi, phi = (a - b) / (c - b), (fa - fb) / (fc - fb)
            if phi**2 < xi and (1 - phi) ** 2 < 1 - xi:
                step = fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (
                    fc - fb
                )
        step = min(max(step, smallest), 1 - smallest)
    return best
