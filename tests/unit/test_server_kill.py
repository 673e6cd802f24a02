"""A killed server has kept what it said it kept, on both databases; 200 kills: make bench."""

from __future__ import annotations

from pathlib import Path

import pytest

from postgresql_server import postgresql_server
from server_kills import killed_again_and_again

KILLS = 4


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_nothing_acknowledged_is_lost(kind: str, tmp_path: Path) -> None:
    if kind == "sqlite":
        found = killed_again_and_again(str(tmp_path / "store.sqlite"), KILLS, tmp_path)
    else:
        with postgresql_server() as url:
            if url is None:
                pytest.skip("PostgreSQL is not installed")
            found = killed_again_and_again(url, KILLS, tmp_path)
    assert found.kills == KILLS
    # A load at least before each of the three servers was killed.
    assert found.acknowledged >= 3
    assert (found.lost, found.halves, found.doubled, found.wrong) == ([], [], [], [])
