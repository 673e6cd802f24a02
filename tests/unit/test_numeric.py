"""The bracketed root: one number and whole arrays take the same steps."""

from __future__ import annotations

import numpy as np
import pytest

from woold.physics.numeric import bracketed_root


def test_scalar_and_array_agree() -> None:
    rng = np.random.default_rng(3)
    targets = rng.uniform(0.1, 50.0, 200)

    def cube_less(target: object) -> object:
        return lambda x: x**3 + x - target

    many = bracketed_root(cube_less(targets), np.zeros(200), np.full(200, 10.0))
    for target, root in zip(targets, np.asarray(many), strict=True):
        alone = bracketed_root(cube_less(target), 0.0, 10.0)
        assert alone == pytest.approx(root, rel=1e-14)
        assert alone**3 + alone == pytest.approx(target, rel=1e-13)


@pytest.mark.parametrize(("low", "high", "root"), [(2.0, 5.0, 2.0), (1.0, 3.0, 3.0)])
def test_root_at_an_end(low: float, high: float, root: float) -> None:
    assert bracketed_root(lambda x: x - root, low, high) == root


def test_without_a_change_of_sign_the_nearer_end() -> None:
    assert bracketed_root(lambda x: x + 1.0, 0.0, 4.0) == 0.0


def test_infinite_value_at_an_end() -> None:
    assert bracketed_root(lambda x: np.log(x) + 1.0, 0.0, 4.0) == pytest.approx(np.exp(-1.0))
