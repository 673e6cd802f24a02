"""The compiler of loops; what it makes is kept in the user's cache folder."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numba
import platformdirs

__all__ = ["compiled", "load_compiler"]

_LINEAR_ALGEBRA = "scipy.linalg.cython_blas"


def compiled(**options: Any) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Decorator of a function of plain loops over arrays, compiled when it is first called.

    Args:
        options: those of `numba.njit`.
    """

    def decorate(function: Callable[..., Any]) -> Callable[..., Any]:
        # The folder counts when a function is decorated; others' functions keep theirs.
        config: Any = numba.config
        before = config.CACHE_DIR
        if not before:
            config.CACHE_DIR = str(Path(platformdirs.user_cache_dir("woold")) / "loops")
        try:
            made: Callable[..., Any] = numba.njit(cache=True, **options)(function)
            return made
        finally:
            config.CACHE_DIR = before

    return decorate


def load_compiler() -> None:
    """Load what compiled loops need, but no linear algebra, which none of them uses.

    The compiler looks whether SciPy's is there, and that takes longer than all else that it loads.
    For a process of this program's own: loops of others that use np.cov would not find it.
    """
    if "scipy.linalg" in sys.modules or "numba.np.arraymath" in sys.modules:
        return
    from numba.core.registry import cpu_target

    hidden: dict[str, Any] = {_LINEAR_ALGEBRA: None}
    sys.modules.update(hidden)
    try:
        cpu_target.target_context.refresh()
    finally:
        del sys.modules[_LINEAR_ALGEBRA]
