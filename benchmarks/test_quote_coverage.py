"""How often a quote's range holds the saving of a customer held back. Run with `make bench`."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))
from quote_simulations import HeldCustomers, customers_held_back

SETS = int(os.environ.get("WOOLD_SETS", "400"))


@pytest.mark.parametrize("sites", [0, 1, 3, 6, 12])
@pytest.mark.parametrize(("off", "factor"), [(0.0, 1.0), (-0.06, 1.0), (0.0, 0.4)])
def test_customers_held_back(benchmark: Any, sites: int, off: float, factor: float) -> None:
    """Promised: 85 % or more of the 90 % ranges hold, with physics right; from the third site on
    also where all savings are 6 points less than physics has them, or two fifths of it.
    """

    def run() -> HeldCustomers:
        return customers_held_back(SETS, sites, off, factor)

    found = benchmark.pedantic(run, rounds=1)
    print(f"\n{sites} sites, off {off}, factor {factor}: {found}")
    if sites >= 3 or (off == 0.0 and factor == 1.0):
        assert found.within >= 0.85 - 2.0 * np.sqrt(0.09 / SETS)
