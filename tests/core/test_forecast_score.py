"""The score of the forecast by hand, and its quantiles against scipy.

Pinball loss: Koenker & Bassett, Econometrica 46 (1978); coverage and proper scores:
Gneiting & Raftery, J. Am. Stat. Assoc. 102 (2007).
"""

import numpy as np
import pytest
from scipy import stats
from scipy.special import gammaln

from maintenance.core.forecast.habit import log_gamma
from maintenance.core.forecast.spread import gamma_quantile
from tests.bench.forecast.score import covered, mean_pinball, pinball


@pytest.mark.parametrize(
    ("truth", "quantile", "level", "loss"),
    [
        (10, 10, 0.1, 0.0),
        (12, 10, 0.1, 0.2),  # the truth 2 above: 0.1 for each
        (8, 10, 0.1, 1.8),  # 2 below: 0.9 for each
        (12, 10, 0.5, 1.0),
        (8, 10, 0.5, 1.0),
        (12, 10, 0.9, 1.8),
        (8, 10, 0.9, 0.2),
    ],
)
def test_pinball_loss_by_hand(truth, quantile, level, loss):
    assert pinball(truth, quantile, level) == pytest.approx(loss)


def test_mean_pinball_of_three_quantiles_by_hand():
    # Truth 10; stated 8, 11, 20: 0.1 x 2, 0.5 x 1, 0.1 x 10, over three.
    assert mean_pinball(10, (8, 11, 20)) == pytest.approx((0.2 + 0.5 + 1.0) / 3)


def test_pinball_loss_is_least_at_the_quantile_itself():
    rng = np.random.default_rng(1)
    truths = rng.gamma(2.0, 30.0, 4000)
    for level in (0.1, 0.5, 0.9):
        right = np.quantile(truths, level)
        losses = [
            np.mean([pinball(t, right + off, level) for t in truths])
            for off in (-8, 0, 8)
        ]
        assert losses[1] == min(losses)


def test_coverage_counts_both_ends():
    assert covered(5, 5, 9)
    assert covered(9, 5, 9)
    assert not covered(4.9, 5, 9)


@pytest.mark.parametrize("shape", [1.0, 2.0, 5.0, 40.0])
@pytest.mark.parametrize("level", [0.1, 0.5, 0.9])
def test_gamma_quantile_agrees_with_scipy(shape, level):
    """Within 2.5 % of the mean, as the docstring says."""
    mean = np.array([100.0])

    found = gamma_quantile(mean, mean**2 / shape, np.array(stats.norm.ppf(level)))

    exact = stats.gamma.ppf(level, shape, scale=100 / shape)
    assert found[0] == pytest.approx(exact, abs=2.5)


def test_log_gamma_agrees_with_scipy():
    x = np.array([0.5, 1.0, 2.5, 10.0, 300.0])

    assert log_gamma(x) == pytest.approx(gammaln(x), rel=1e-5, abs=1e-5)
