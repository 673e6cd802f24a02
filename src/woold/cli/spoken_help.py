"""Help and refusals of the command line, in the reader's language.

Help texts stand in English beside the options that they explain, and are said when they are shown.
"""

from __future__ import annotations

import copy
import importlib
from typing import TYPE_CHECKING, Any

from typer.core import TyperCommand, TyperGroup

from woold.cli.usage import unknown_command
from woold.words import say, to_say

__all__ = ["SHOW_HELP", "TYPER_MODULES", "SpokenCommand", "SpokenGroup", "speak_typer", "texts_of"]

TYPER_MODULES = ("typer.core", "typer._click.parser")
"""Modules of Typer whose own words ("Options", "required") we say as well."""

SHOW_HELP = to_say("Show this message and exit.")
"""Typer's text of --help."""

_OF_COMMANDS = ("help", "epilog", "options_metavar", "subcommand_metavar")
_OF_PARAMETERS = ("help", "metavar")


def speak_typer() -> None:
    """Let Typer say its own words through our catalogue."""
    for name in TYPER_MODULES:
        importlib.import_module(name)._ = say  # type: ignore[attr-defined]


def texts_of(command: Any) -> list[str]:
    """Every text of a command that its help shows, its commands' left out."""
    parameters = [getattr(each, name, None) for each in command.params for name in _OF_PARAMETERS]
    return [text for text in (*_texts(command), *parameters) if text]


def _texts(command: Any) -> list[str]:
    return [text for name in _OF_COMMANDS if (text := getattr(command, name, None))]


def _said(thing: Any, names: tuple[str, ...]) -> Any:
    """A copy that says its texts in the language of now."""
    spoken = copy.copy(thing)
    for name in names:
        text = getattr(thing, name, None)
        if text:
            setattr(spoken, name, say(text))
    return spoken


if TYPE_CHECKING:
    _Command = TyperCommand
else:
    _Command = object


class _Spoken(_Command):
    """Says what stands in English in a command, each time when it is shown."""

    def _spoken(self, ctx: Any = None) -> Any:
        spoken = _said(self, _OF_COMMANDS)
        spoken.params = [_said(each, _OF_PARAMETERS) for each in spoken.params]
        if ctx is not None:
            # Typer keeps the option that it made, and looks for it there first.
            spoken._help_option = _said(spoken.get_help_option(ctx), _OF_PARAMETERS)
        return spoken

    def format_help(self, ctx: Any, formatter: Any) -> None:
        super(_Spoken, self._spoken(ctx)).format_help(ctx, formatter)

    def format_usage(self, ctx: Any, formatter: Any) -> None:
        pieces = " ".join(self._spoken().collect_usage_pieces(ctx))
        formatter.write_usage(ctx.command_path, pieces, prefix=f"{say('Usage:')} ")

    def get_short_help_str(self, limit: int = 45) -> str:
        text: str = super(_Spoken, self._spoken()).get_short_help_str(limit)
        return text


class SpokenCommand(_Spoken, TyperCommand):
    """A command whose help speaks the reader's language."""


class SpokenGroup(_Spoken, TyperGroup):
    """A group whose help speaks the reader's language."""

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """The command.

        Raises:
            InputError: there is none of that name.
        """
        if cmd_name not in self.commands and not cmd_name.startswith("-"):
            raise unknown_command(ctx, cmd_name, list(self.commands))
        return super().get_command(ctx, cmd_name)
