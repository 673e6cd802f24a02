"""Text that is printed to be pasted into a case file."""

from __future__ import annotations

__all__ = ["quotable_text"]


def quotable_text(text: str) -> str:
    """A text without what would end or bend a quoted string of a case file.

    Args:
        text: any text, such as a title or a file name.
    """
    return "".join(each for each in text if each.isprintable() and each not in '"\\')
