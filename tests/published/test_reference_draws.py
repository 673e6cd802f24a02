"""Our own two-dimensional draws against two other solutions, and limits that theory knows.

[D]  reference/neckdown-2d.csv: finite elements and a spectral method, apart from this project.
[P]  Ito et al., Nihon Reoroji Gakkaishi 31 (2003) 157: in a short gap each edge of a Newtonian
     sheet loses at most G/sqrt(2), the slope of the width-averaged model.
[D]  Newtonian sheet in a short gap, loss of each edge over the gap: .202 at draw ratio 2, .364 at
     3.6, .497 at 6, .665 at 12.
"""

import csv
from pathlib import Path

import numpy as np
import pytest

from reference import newtonian, solid
from reference.solid import stresses

FOLDER = Path(__file__).parents[2] / "reference"


def rows(name: str) -> list[dict[str, float]]:
    with (FOLDER / name).open(encoding="utf-8") as stream:
        return [{k: float(v) for k, v in row.items()} for row in csv.DictReader(stream)]


def test_kept_draws_against_the_other_solutions() -> None:
    for ours, theirs in zip(rows("draws.csv"), rows("neckdown-2d.csv"), strict=True):
        assert (ours["gap_over_w"], ours["lambda"]) == (theirs["gap_over_w"], theirs["lambda"])
        for name in ("newtonian", "neo_hookean", "haward_deformation"):
            # Both converge to 1e-4; a Newtonian sheet's corner is the rougher one.
            assert ours[f"w_{name}"] == pytest.approx(theirs[name], abs=2.1e-4)


@pytest.mark.parametrize(("gap_share", "stretch"), [(0.05, 3.0), (0.1, 3.6), (0.3, 2.5)])
def test_draws_made_now_are_those_kept(gap_share: float, stretch: float) -> None:
    kept = next(
        r for r in rows("neckdown-2d.csv") if (r["gap_over_w"], r["lambda"]) == (gap_share, stretch)
    )
    found = solid.width_ratio(gap_share, stretch, 3.75, 80.0, 6)
    assert found == pytest.approx(kept["haward_deformation"], abs=2e-4)
    # A coarse mesh, see convergence.csv.
    sheet = newtonian.width_ratio(gap_share, stretch, 6)
    assert sheet == pytest.approx(kept["newtonian"], abs=8e-4)


@pytest.mark.parametrize(
    ("draw", "lost"), [(2.0, 0.202), (3.6, 0.364), (6.0, 0.497), (12.0, 0.665)]
)
def test_newtonian_sheet_in_a_short_gap(draw: float, lost: float) -> None:
    found = (1 - newtonian.width_ratio(0.02, draw, 8)) / 0.04
    # Three digits, and a coarse mesh of a gap of a fiftieth of the width.
    assert found == pytest.approx(lost, rel=3e-3)
    assert found < 1 / np.sqrt(2)


@pytest.mark.parametrize("stretch", [1.5, 2.5, 3.6])
def test_material_in_plain_states(stretch: float) -> None:
    """Uniaxial: the film's own curve. Planar: 2/√3 of the yield stress. By hand, per Gp."""
    flow, limit = 3.75, 80.0
    side = stretch**-0.5
    uniaxial = stresses((np.array(stretch), 0.0, 0.0, np.array(side)), flow, limit)
    reach = stretch**2 + 2 / stretch - 3
    hand = (flow + (stretch**2 - 1 / stretch) / (1 - reach / limit)) / stretch
    # The yield stress sets in over a strain of 1e-4.
    assert uniaxial[0] == pytest.approx(hand, rel=1e-6)
    assert uniaxial[3] == pytest.approx(0.0, abs=1e-6)
    planar = stresses((np.array(stretch), 0.0, 0.0, np.array(1.0)), flow, limit)
    reach = stretch**2 + stretch**-2 - 2
    hand = (2 * flow / np.sqrt(3) + (stretch**2 - stretch**-2) / (1 - reach / limit)) / stretch
    assert planar[0] == pytest.approx(hand, rel=1e-6)
