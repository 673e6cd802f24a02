"""The demo's story, run once for all tests that look at it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class DemoRun:
    """What the demo printed at 80 columns, how it ended, and its folder."""

    status: int
    output: str
    folder: Path
