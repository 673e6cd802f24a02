"""The browser of the tests: the system's Chromium, which is kept off the network."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

CHROMIUM = Path("/usr/bin/chromium")


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    return {
        **browser_type_launch_args,
        "executable_path": str(CHROMIUM),
        "args": [
            "--no-sandbox",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--no-first-run",
        ],
    }
