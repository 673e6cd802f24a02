"""A pytest plugin: the slowest fifty tests and the time of each file, set-up and all."""

from __future__ import annotations

from collections import defaultdict

import pytest

SLOWEST = 50


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Prints both tables; times of workers that run side by side are added up."""
    seconds: dict[str, float] = defaultdict(float)
    for reports in terminalreporter.stats.values():
        for report in reports:
            if isinstance(report, pytest.TestReport):
                seconds[report.nodeid] += report.duration
    if not seconds:
        return
    files: dict[str, list[float]] = defaultdict(list)
    for name, took in seconds.items():
        files[name.split("::")[0]].append(took)
    terminalreporter.section(f"slowest {SLOWEST} of {len(seconds)} tests")
    for name, took in sorted(seconds.items(), key=lambda each: -each[1])[:SLOWEST]:
        terminalreporter.write_line(f"{took:8.2f} s  {name}")
    terminalreporter.section(f"{sum(seconds.values()):.0f} s in {len(files)} files")
    for name, each in sorted(files.items(), key=lambda pair: -sum(pair[1])):
        terminalreporter.write_line(f"{sum(each):8.2f} s  {len(each):5} tests  {name}")
