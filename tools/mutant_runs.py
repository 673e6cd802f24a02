"""A pytest plugin of `tools/mutants.py`: the lines that each test runs; no shrinking."""

from __future__ import annotations

import os
from collections.abc import Generator
from pathlib import Path

import coverage
import pytest
from hypothesis import Phase, settings

_FILE = os.environ.get("MUTANT_LINES")
_COVERAGE = None
if _FILE:
    _COVERAGE = coverage.Coverage(
        data_file=_FILE, source=[str(Path.cwd() / "src/woold")], config_file=False, messages=False
    )
    _COVERAGE.start()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Generator[None, object, object]:
    """Lines run from a test's set-up to its end are the test's."""
    if _COVERAGE is None:
        return (yield)
    _COVERAGE.switch_context(item.nodeid)
    try:
        return (yield)
    finally:
        _COVERAGE.switch_context("")


def pytest_configure(config: pytest.Config) -> None:
    """Marks of plugins that are left out."""
    config.addinivalue_line("markers", "xdist_group(name): run by one worker")


def pytest_sessionstart() -> None:
    """One example that fails is enough."""
    found = settings(phases=(Phase.explicit, Phase.generate))
    settings.register_profile("mutants", found)
    settings.load_profile("mutants")


def pytest_sessionfinish() -> None:
    """Keeps what was seen."""
    if _COVERAGE is not None:
        _COVERAGE.stop()
        _COVERAGE.save()
