"""Writes docs/schema/*.schema.json: the keys of every settings file, for editors."""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
FOLDER = ROOT / "docs/schema"


def main() -> None:
    """Write them."""
    from woold.demo.file_schemas import schema_texts

    FOLDER.mkdir(exist_ok=True)
    for name, text in schema_texts().items():
        (FOLDER / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT / "src"))
    main()
