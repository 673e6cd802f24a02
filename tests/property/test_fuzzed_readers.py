"""Two thousand mutated inputs over every reader; `make fuzz` takes a hundred thousand."""

from __future__ import annotations

import pytest

from fuzz_readers import READERS, fuzzed

COUNT = 2000 // len(READERS) + 1


@pytest.mark.parametrize("reader", READERS)
def test_no_traceback_no_wait_and_every_refusal_says_what_to_mend(reader: str) -> None:
    outcome = fuzzed(COUNT, 20, (reader,))
    assert [each for each in outcome.faults if "bytes of memory" not in each] == []
    assert outcome.tried[reader] == COUNT
