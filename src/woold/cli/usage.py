"""What is wrong with the words of a command line, as a problem like any other."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from typer._click.exceptions import BadOptionUsage as WithoutValue
from typer._click.exceptions import (
    BadParameter,
    ClickException,
    MissingParameter,
    NoSuchOption,
    UsageError,
)

from woold.errors import InputError, Problem
from woold.words import say

__all__ = ["ClickException", "unknown_command", "usage_problem"]


def usage_problem(error: ClickException) -> Problem:
    """What cannot be used, what may stand there, and where to read more.

    Args:
        error: what Typer raised.
    """
    context = getattr(error, "ctx", None)
    command = "woold" if context is None else context.command_path
    todo = say("See {command}.", command=f"{command} --help")
    if isinstance(error, NoSuchOption):
        near = error.possibilities or []
        hint = say('Did you mean "{name}"?', name=near[0]) if near else todo
        return Problem(error.option_name, say("no such option"), _options(context), hint)
    if isinstance(error, WithoutValue):
        return Problem(error.option_name, say("no value, or one too many"), say("one value"), todo)
    if isinstance(error, MissingParameter):
        return Problem(_field(error), say("nothing"), say("a value"), todo)
    if isinstance(error, BadParameter):
        return _bad_value(error, todo)
    if isinstance(error, UsageError) and context is not None:
        return _words_of_command(error, context, command, todo)
    return Problem(command, error.format_message(), say("what the help shows"), todo)


def _field(error: BadParameter) -> str:
    if error.param is None:
        return str(error.param_hint or "")
    if error.param.param_type_name == "option":
        return max(error.param.opts, key=len)
    return str(error.param.metavar or error.param.name)


def _options(context: Any) -> str:
    if context is None:
        return ""
    options = (each for each in context.command.get_params(context) if each.opts)
    return ", ".join(max(each.opts, key=len) for each in options if each.opts[0].startswith("-"))


_ALLOWED: dict[str, Callable[[Mapping[str, Any]], str]] = {
    "greater_than_equal": lambda limits: say("{limit} or more", limit=limits["ge"]),
    "greater_than": lambda limits: say("more than {limit}", limit=limits["gt"]),
    "less_than_equal": lambda limits: say("at most {limit}", limit=limits["le"]),
    "less_than": lambda limits: say("less than {limit}", limit=limits["lt"]),
    "int_parsing": lambda _: say("a whole number"),
    "int_from_float": lambda _: say("a whole number"),
    "float_parsing": lambda _: say("a number"),
    "finite_number": lambda _: say("a number"),
}


def _bad_value(error: BadParameter, todo: str) -> Problem:
    """A value that an option or argument cannot take; pydantic says what is wrong with it."""
    cause: Any = error.__cause__
    if cause is None or not hasattr(cause, "errors"):
        return Problem(_field(error), error.message, say("what the help shows"), todo)
    found = cause.errors()[0]
    given = repr(found["input"])
    choices = re.findall(r"'([^']*)'", found["msg"].partition("is not one of")[2])
    if choices:
        return Problem(
            _field(error), given, say("one of {choices}", choices=", ".join(choices)), todo
        )
    allowed = _ALLOWED.get(found["type"])
    text = allowed(found.get("ctx", {})) if allowed else say("what the help shows")
    return Problem(_field(error), given, text, todo)


def _words_of_command(error: UsageError, context: Any, command: str, todo: str) -> Problem:
    """A command that is missing, or words too many behind it."""
    names: list[str] = []
    if hasattr(context.command, "list_commands"):
        names = context.command.list_commands(context)
    if names:
        allowed = say("one of {choices}", choices=", ".join(names))
        return Problem(command, say("no command"), allowed, todo)
    too_many = re.search(r"\((?!s\) )(.*)\)$", error.message)
    if too_many is None:
        return Problem(command, error.format_message(), say("what the help shows"), todo)
    usage = " ".join(context.command.collect_usage_pieces(context))
    return Problem(command, repr(too_many[1]), f"{command} {usage}", todo)


def unknown_command(context: Any, name: str, names: Sequence[str]) -> InputError:
    """A command that does not exist.

    Args:
        context: Typer's, of the group that was asked for it.
        name: what was typed.
        names: commands of that group.
    """
    command = context.command_path
    near = difflib.get_close_matches(name, names, n=1)
    todo = say("See {command}.", command=f"{command} --help")
    if near:
        todo = say('Did you mean "{name}"?', name=f"{command} {near[0]}")
    allowed = say("one of {choices}", choices=", ".join(sorted(names)))
    return InputError.one(command, say('no command "{name}"', name=name), allowed, todo)
