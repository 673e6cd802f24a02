"""Shares of a limit over all that an input may be that nobody measured: screens at either end."""

from __future__ import annotations

import importlib.resources
import math
import tomllib

import pytest

import woold
from woold.case.file import case_from_table
from woold.case.model import Case
from woold.prediction.predict import predict
from woold.transport.result import TransportResult
from woold.transport.screen import screen_transport


def screened(case: Case) -> TransportResult:
    return screen_transport(case, predict(case))


@pytest.fixture(scope="module")
def case() -> Case:
    text = importlib.resources.files("woold.demo").joinpath("files", "today.toml")
    return case_from_table(tomllib.loads(text.read_text(encoding="utf-8")))


def test_least_and_most_of_a_limit(case: Case) -> None:
    result = screened(case)
    assert result.unmeasured
    shares: list[list[float]] = [[] for _ in result.profiles[0].ways]
    margins: list[list[float]] = [[] for _ in result.profiles[0].ways]
    cases = [case]
    for each in result.unmeasured:
        cases += [case.with_values({each.field: end}) for end in (each.low, each.high)]
    for one in cases:
        for index, way in enumerate(screened(one).profiles[0].ways):
            shares[index].append(math.inf if way.used is None else way.used)
            margins[index].append(way.slip_margin)
    for way, used, margin in zip(result.profiles[0].ways, shares, margins, strict=True):
        assert way.used_least == pytest.approx(min(used), rel=1e-9)
        most = max(used)
        assert way.used_most == (None if math.isinf(most) else pytest.approx(most, rel=1e-9))
        assert way.slip_margin_most == pytest.approx(max(margin), rel=1e-9)


def test_what_cannot_be_said_says_between_what_it_lies(case: Case) -> None:
    """Of what is asked a way reaches one over the share of its limit that it uses."""
    ways = [way for profile in screened(case).profiles for way in profile.ways]
    parts = [each for each in woold.judge(case).parts if each.field == "transport.profiles"]
    assert len(parts) == len(ways)
    for part, way in zip(parts, ways, strict=True):
        if part.holds is not None:
            assert part.share_least is part.share_most is None
            continue
        for share, used in ((part.share_least, way.used_most), (part.share_most, way.used_least)):
            if used is None:  # nothing ever stops it
                assert share == 0.0
            else:
                assert share == (pytest.approx(1 / used, rel=1e-9) if used else None)
