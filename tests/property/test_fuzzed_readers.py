"""Two thousand mutated inputs over every reader; `make fuzz` takes a hundred thousand."""

from __future__ import annotations

import pytest

from fuzz_readers import DEAR, READERS, fuzzed

FEW = 10
COUNT = (2000 - FEW * len(DEAR)) // (len(READERS) - len(DEAR)) + 1


@pytest.mark.parametrize("reader", READERS)
def test_no_traceback_no_wait_and_every_refusal_says_what_to_mend(reader: str) -> None:
    count = FEW if reader in DEAR else COUNT
    outcome = fuzzed(count, 20, (reader,))
    assert [each for each in outcome.faults if "bytes of memory" not in each] == []
    assert outcome.tried[reader] == count
