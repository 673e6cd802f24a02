"""The server killed 200 times in mid-write, on SQLite and on PostgreSQL.

Asked for: nothing that was acknowledged is lost, and nothing is there by halves or twice.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest

from postgresql_server import postgresql_server
from server_kills import Kills, killed_again_and_again

KILLS = int(os.environ.get("WOOLD_KILLS", "200"))


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_two_hundred_kills(benchmark: Any, kind: str, tmp_path: Path) -> None:
    def run() -> Kills:
        if kind == "sqlite":
            return killed_again_and_again(str(tmp_path / "store.sqlite"), KILLS, tmp_path)
        with postgresql_server() as url:
            if url is None:
                pytest.skip("PostgreSQL is not installed")
            return killed_again_and_again(url, KILLS, tmp_path)

    found = benchmark.pedantic(run, rounds=1)
    print(
        f"\n{kind}: {found.kills} kills, {found.acknowledged} acknowledged, {len(found.lost)} lost"
    )
    assert (found.lost, found.halves, found.doubled, found.wrong) == ([], [], [], [])
