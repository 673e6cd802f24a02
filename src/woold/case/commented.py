"""Files to start from whose comments are in the reader's language."""

from __future__ import annotations

from collections.abc import Iterable

from woold.words import say

__all__ = ["commented_text"]

_COMMENTS_FROM = 36


def commented_text(lines: Iterable[tuple[str, str]]) -> str:
    """Lines of TOML, each with what there is to say of it behind it.

    Args:
        lines: TOML and its comment, to be said; either may be "".
    """
    return "".join(f"{_line(code, comment)}\n" for code, comment in lines)


def _line(code: str, comment: str) -> str:
    if not comment:
        return code
    said = f"# {say(comment)}"
    return f"{code:<{_COMMENTS_FROM}} {said}" if code else said
