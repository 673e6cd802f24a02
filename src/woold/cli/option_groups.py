"""Options that several commands share, as one parameter: a dataclass of annotated options."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable
from dataclasses import MISSING, fields, is_dataclass
from typing import Any, get_type_hints

__all__ = ["with_option_groups"]


def with_option_groups(command: Callable[..., None]) -> Callable[..., None]:
    """The command with every parameter that is a dataclass spelled out as that class's options.

    Args:
        command: its annotations say which parameters are groups; a group's fields are options.
    """
    hints = get_type_hints(command, include_extras=True)
    groups: dict[str, type[Any]] = {}
    shown: list[inspect.Parameter] = []
    for each in inspect.signature(command).parameters.values():
        kind = hints[each.name]
        if not is_dataclass(kind):
            shown.append(each.replace(annotation=kind, kind=inspect.Parameter.KEYWORD_ONLY))
            continue
        assert isinstance(kind, type)
        groups[each.name] = kind
        of_group = get_type_hints(kind, include_extras=True)
        shown += [
            inspect.Parameter(
                option.name,
                inspect.Parameter.KEYWORD_ONLY,
                default=inspect.Parameter.empty if option.default is MISSING else option.default,
                annotation=of_group[option.name],
            )
            for option in fields(kind)
        ]

    @functools.wraps(command)
    def spelled_out(**given: Any) -> None:
        for name, kind in groups.items():
            given[name] = kind(**{each.name: given.pop(each.name) for each in fields(kind)})
        command(**given)

    # What Typer reads: this command's own signature, not that of what it wraps.
    del spelled_out.__wrapped__
    setattr(spelled_out, "__signature__", inspect.Signature(shown))  # noqa: B010
    spelled_out.__annotations__ = {each.name: each.annotation for each in shown}
    return spelled_out
