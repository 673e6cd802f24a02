"""Schemas of every settings file, for editors."""

from __future__ import annotations

from woold.words import say

__all__ = ["schema_texts"]


def schema_texts() -> dict[str, str]:
    """Text of each schema by its file's name, which a file names in its first line."""
    from woold.case.model import Case
    from woold.case.schema import schema_text
    from woold.case.shelf import Shelf
    from woold.line.line_file import Line
    from woold.line.release_file import ReleaseFile
    from woold.trial.setup import Trial
    from woold.watch.settings import WatchSettings

    texts = {
        "case": schema_text(Case, say("A case")),
        "line": schema_text(Line, say("A line")),
        "release": schema_text(ReleaseFile, say("A release")),
        "shelf": schema_text(Shelf, say("A shelf")),
        "trial": schema_text(Trial, say("A trial")),
        "watch": schema_text(WatchSettings, say("What to watch against")),
    }
    return {f"{name}.schema.json": text for name, text in texts.items()}
