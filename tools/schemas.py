"""Writes docs/schema/*.schema.json: the keys of every settings file, for editors."""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
FOLDER = ROOT / "docs/schema"


def schema_texts() -> dict[str, str]:
    """Text of each schema by its file's name."""
    from woold.carriages.match import Shelf
    from woold.case.model import Case
    from woold.case.schema import schema_text
    from woold.sites.untried import Combinations
    from woold.trial.setup import Trial
    from woold.watch.settings import WatchSettings

    files = {
        "case": (Case, "A case"),
        "line": (Combinations, "The line's combinations of carriage, machine and film"),
        "shelf": (Shelf, "A shelf of films"),
        "trial": (Trial, "A trial"),
        "watch": (WatchSettings, "What to watch against"),
    }
    return {f"{name}.schema.json": schema_text(*each) for name, each in files.items()}


def main() -> None:
    """Write them."""
    FOLDER.mkdir(exist_ok=True)
    for name, text in schema_texts().items():
        (FOLDER / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT / "src"))
    main()
