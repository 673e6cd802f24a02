"""Options that travel together: a command takes a dataclass, its fields are the options."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable
from dataclasses import MISSING, Field, fields, is_dataclass
from typing import Any, TypeVar, get_type_hints

__all__ = ["grouped_options"]

Result = TypeVar("Result")


def grouped_options(command: Callable[..., Result]) -> Callable[..., Result]:
    """The command with one option for each field of its parameters that are dataclasses.

    Args:
        command: its other parameters stay as they are, and come first.
    """
    hints = get_type_hints(command, include_extras=True)
    groups: dict[str, type] = {}
    plain: list[inspect.Parameter] = []
    options: list[inspect.Parameter] = []
    for name, parameter in inspect.signature(command).parameters.items():
        kind = hints[name]
        if not (isinstance(kind, type) and is_dataclass(kind)):
            plain.append(parameter.replace(annotation=kind))
            continue
        groups[name] = kind
        inner = get_type_hints(kind, include_extras=True)
        for each in fields(kind):
            options.append(
                inspect.Parameter(
                    each.name,
                    inspect.Parameter.KEYWORD_ONLY,
                    default=_default(each),
                    annotation=inner[each.name],
                )
            )

    @functools.wraps(command)
    def run(*args: Any, **values: Any) -> Result:
        made = {
            name: kind(**{each.name: values.pop(each.name) for each in fields(kind)})
            for name, kind in groups.items()
        }
        return command(*args, **values, **made)

    parameters = [each.replace(kind=inspect.Parameter.KEYWORD_ONLY) for each in plain] + options
    run.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    run.__annotations__ = {each.name: each.annotation for each in parameters}
    return run


def _default(field: Field[Any]) -> Any:
    return inspect.Parameter.empty if field.default is MISSING else field.default
