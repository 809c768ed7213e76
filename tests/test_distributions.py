"""Quantiles against numbers with 50 digits (mpmath) and SciPy's."""

from __future__ import annotations

import math

import mpmath
import numpy as np
import pytest
from scipy import special

from sim.distributions import (
    beta_quantile,
    gamma_quantile,
    normal_level,
    normal_quantile,
    student_quantile,
)

LEVELS = (0.5, 0.9, 0.95, 0.99, 0.9999, 0.999999)


@pytest.mark.parametrize("freedom", [1.0, 1.5, 2.0, 9.0, 199.0, 39_999.0, 4e6])
@pytest.mark.parametrize("level", LEVELS)
def test_students_quantile_leaves_its_level(freedom: float, level: float) -> None:
    """P(|T| > t) is the incomplete beta function I_y(n / 2, 1 / 2), y = n / (n + t^2)."""
    mpmath.mp.dps = 50
    t = mpmath.mpf(student_quantile(freedom, level))
    y = freedom / (freedom + t * t)
    outside = mpmath.betainc(mpmath.mpf(freedom) / 2, 0.5, 0, y, regularized=True)
    assert float(outside) == pytest.approx(
        1.0 - level, rel=2e-9 if level > 0.9999 or freedom > 1e6 else 1e-11
    )


def test_beta_quantiles_are_scipys() -> None:
    rng = np.random.default_rng(1)
    for _ in range(500):
        n, share = 10.0 ** rng.uniform(0.0, 6.0), rng.uniform(0.0, 1.0) ** rng.integers(1, 6)
        a, b = max(share * n, 0.05), n - share * n + 1.0
        for tail in (0.025, 0.975, 0.0001, 0.9999):
            ours, scipys = beta_quantile(a, b, tail), float(special.betaincinv(a, b, tail))
            assert ours == pytest.approx(scipys, rel=1e-10, abs=1e-300)


def test_beta_quantiles_with_a_closed_form() -> None:
    """Below x lies x^a where b is 1."""
    for a in (0.5, 1.0, 30.0, 20_000.0):
        for tail in (0.025, 0.5, 0.975):
            assert beta_quantile(a, 1.0, tail) == pytest.approx(tail ** (1.0 / a), rel=1e-13)


def test_gamma_quantiles_are_scipys() -> None:
    rng = np.random.default_rng(2)
    for _ in range(500):
        shape, share = 10.0 ** rng.uniform(-2.0, 4.0), float(rng.uniform(0.001, 0.999))
        scipys = float(special.gammaincinv(shape, share))
        assert gamma_quantile(shape, share) == pytest.approx(scipys, rel=1e-11, abs=1e-300)
    assert gamma_quantile(1.0, 0.5) == pytest.approx(math.log(2.0), rel=1e-14)


@pytest.mark.parametrize("level", LEVELS)
def test_normal_quantile_and_level_are_inverse(level: float) -> None:
    z = normal_quantile(level)
    assert z == pytest.approx(float(special.ndtri(0.5 + level / 2)), rel=1e-13)
    assert normal_level(z) == pytest.approx(level, rel=1e-15)
