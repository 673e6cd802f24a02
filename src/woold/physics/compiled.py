"""The compiler of loops; what it makes is kept in the user's cache folder."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numba
import platformdirs

__all__ = ["compiled"]


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
