"""Limits of a TOML text that are looked at before it is parsed: a parser copies each long key."""

from __future__ import annotations

import re

from woold.errors import InputError
from woold.words import say

__all__ = ["DEEPEST_KEY", "refuse_deep_keys"]

DEEPEST_KEY = 16
"""Parts of a dotted key; a case needs three."""

_PART = r"""[^\s.=\[\]{}"'#]+|"[^"\n]*"|'[^'\n]*'"""
_DEEP_KEY = re.compile(rf"(?:{_PART})(?:[ \t]*\.[ \t]*(?:{_PART})){{{DEEPEST_KEY}}}")


def refuse_deep_keys(text: str, field: str = "toml") -> None:
    """Nothing, where no key of a TOML text has too many parts.

    Args:
        text: the text.
        field: what to call it where it is refused.

    Raises:
        InputError: a key with more parts than any file needs.
    """
    for number, line in enumerate(text.split("\n"), start=1):
        # Only a line with that many dots is looked at closely.
        if line.count(".") >= DEEPEST_KEY and _DEEP_KEY.match(line.lstrip(" \t[")):
            raise InputError.one(
                field,
                say("a key of more than {count} parts in line {number}", count=DEEPEST_KEY,
                    number=number),
                say("the TOML text of a case file"),
                say("Is it the right file?"),
            )  # fmt: skip
