"""Loops that run as they are written until they pay for a compiler, and compiled from then on.

Loading the compiler costs a command half a second, in which a few calls of plain loops are done.
"""

from __future__ import annotations

import sys
import types
from collections.abc import Callable
from typing import Any

__all__ = ["LateCompiled", "late_compiled"]

_PLAIN_CALLS = 12
"""Calls after which a compiler is worth its loading [-]."""


class LateCompiled:
    """A function of plain loops over arrays, compiled once the compiler is there or pays.

    Args:
        function: what is called; others of its kind that it calls are compiled with it.
        is_entry: it is called from outside, so that its calls count; not from another's loops.
        options: those of `numba.njit`.
    """

    def __init__(
        self, function: Callable[..., Any], is_entry: bool, options: dict[str, Any]
    ) -> None:
        self.function, self.is_entry, self.options = function, is_entry, options
        self.__doc__, self.__name__ = function.__doc__, function.__name__
        self._made: Callable[..., Any] | None = None
        self._calls = 0

    def __call__(self, *given: Any) -> Any:
        if self._made is None:
            self._calls += 1
            is_worth_it = self.is_entry and self._calls > _PLAIN_CALLS
            if "numba" not in sys.modules and not is_worth_it:
                return self.function(*given)
        return self.made()(*given)

    def made(self) -> Callable[..., Any]:
        """The function, compiled when it is first called."""
        if self._made is None:
            from woold.physics.compiled import compiled

            known = dict(self.function.__globals__)
            for name in self.function.__code__.co_names:
                if isinstance(known.get(name), LateCompiled):
                    known[name] = known[name].made()
            copy = types.FunctionType(
                self.function.__code__, known, self.function.__name__, self.function.__defaults__
            )
            copy.__module__ = self.function.__module__
            copy.__qualname__ = self.function.__qualname__
            self._made = compiled(**self.options)(copy)
        return self._made


def late_compiled(
    *, is_entry: bool = False, **options: Any
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Decorator of a function of plain loops over arrays, compiled once that pays.

    Args:
        is_entry, options: as for :class:`LateCompiled`.
    """

    def decorate(function: Callable[..., Any]) -> Callable[..., Any]:
        return LateCompiled(function, is_entry, options)

    return decorate
