"""What a harvest teaches: against closed forms of textbooks and plain numerical integration."""

import numpy as np
import pytest
from depth import examples, few_of
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.science import learning
from cropcal.science.learning import (
    Belief,
    mean_and_sd,
    prior,
    updated,
    updated_at_most,
)


def grower(crops, mean, sd_shared, sd_crop):
    """Return the belief in a part that all share and one of each crop."""
    return prior([mean] + [0.0] * crops, [sd_shared] + [sd_crop] * crops)


def of(crop, slope=1.0, crops=3):
    """Return how far something of a crop reaches into the shared part and its own."""
    reaches = np.zeros(crops + 1)
    reaches[[0, crop + 1]] = slope
    return reaches


def on_a_grid(weigh, mean, cov, places=801, reach=8.0):
    """Return mean and covariance of two parts after their density is weighed, by summing over a grid."""
    sds = np.sqrt(np.diag(cov))
    axes = [m + sd * np.linspace(-reach, reach, places) for m, sd in zip(mean, sds, strict=True)]
    grid = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1)
    apart = grid - mean
    density = np.exp(-0.5 * np.einsum("...i,ij,...j", apart, np.linalg.inv(cov), apart)) * weigh(grid)
    density /= density.sum()
    middle = np.einsum("ij,ijk->k", density, grid)
    apart = grid - middle
    return middle, np.einsum("ij,ijk,ijl->kl", density, apart, apart)


@pytest.mark.parametrize("harvests", [1, 2, 5])
def test_posterior_of_a_textbook(harvests):
    """Normal data with a normal prior: n s0² ȳ / (n s0² + s²) (Gelman et al. 2013, eq. 2.12)."""
    s0, s, found = 0.25, 0.15, [0.3, -0.1, 0.2, 0.25, 0.05][:harvests]
    belief = prior([0.0], [s0])
    for value in found:
        belief = updated(belief, [1.0], value - belief.mean[0], s)
    mean, sd = mean_and_sd(belief, [1.0])
    assert mean == pytest.approx(sum(found) * s0**2 / (harvests * s0**2 + s**2))
    assert sd == pytest.approx((1 / s0**2 + harvests / s**2) ** -0.5)


def test_one_crop_teaches_about_the_next():
    """Two crops that share half their variance: what one shows counts half for the other (regression)."""
    belief = updated(grower(2, -0.25, 0.2, 0.2), of(0, 2.0, crops=2), 0.4, 0.2)
    known, other = mean_and_sd(belief, of(0, crops=2)), mean_and_sd(belief, of(1, crops=2))
    # variance of speed 0.08, seen through a slope of 2 with noise 0.04: 0.36; gain 0.16 / 0.36
    assert known[0] == pytest.approx(-0.25 + 0.4 * 0.16 / 0.36)
    assert other[0] == pytest.approx(-0.25 + 0.4 * 0.08 / 0.36)
    assert known[1] < other[1] < np.hypot(0.2, 0.2)


@pytest.mark.parametrize("room", few_of([-0.5, 0.3, -1.5, -0.1, 0.0, 2.0], 2))
def test_not_ready_yet_by_integration(room):
    """The belief after "at most" has mean and variance of the density times the chance of that."""
    belief = Belief(np.array([-0.25, 0.05]), np.array([[0.04, 0.01], [0.01, 0.05]]))
    slope, noise = 1.8, 0.2

    def chance(grid):
        z = (room - slope * (grid - belief.mean).sum(axis=-1)) / noise
        return np.vectorize(lambda x: 0.5 * learning.erfc(-x / np.sqrt(2)))(z)

    mean, cov = on_a_grid(chance, belief.mean, belief.cov, places=401)
    got = updated_at_most(belief, [slope, slope], room, noise)
    assert got.mean == pytest.approx(mean, abs=2e-4)
    assert got.cov == pytest.approx(cov, abs=2e-4)


def test_not_ready_long_before_it_could_be_teaches_nothing():
    """A head that is not ready in its first week says nothing about its speed."""
    belief = grower(1, -0.25, 0.2, 0.2)
    got = updated_at_most(belief, [2.0, 2.0], 6.0, 0.2)
    assert got.mean == pytest.approx(belief.mean, abs=1e-9)
    assert got.cov == pytest.approx(belief.cov, abs=1e-9)


@given(
    st.lists(st.tuples(st.integers(0, 2), st.floats(0.5, 4), st.floats(-3, 3)), max_size=8),
    st.floats(0.05, 0.5),
)
def test_whatever_is_seen_makes_surer(events, noise):
    """No event, however odd, widens a spread or breaks the covariance; a later one never unlearns."""
    belief = grower(3, -0.25, 0.2, 0.2)
    for number, (crop, slope, value) in enumerate(events):
        before = [mean_and_sd(belief, of(place))[1] for place in range(3)]
        step = updated if number % 2 else updated_at_most
        belief = step(belief, of(crop, slope), value, noise)
        after = [mean_and_sd(belief, of(place))[1] for place in range(3)]
        assert all(new <= old + 1e-12 for new, old in zip(after, before, strict=True))
        assert np.linalg.eigvalsh(belief.cov).min() > -1e-12
        assert np.isfinite(belief.mean).all()


@given(st.permutations([(0, 1.5, 0.2), (1, 2.0, -0.3), (0, 1.2, 0.4), (2, 2.5, 0.1)]))
@settings(max_examples=examples(24))
def test_order_does_not_matter(events):
    """With slopes that do not change, the same harvests in any order teach the same."""

    def learn(order):
        belief = grower(3, 0.0, 0.2, 0.2)
        for crop, slope, value in order:
            reaches = of(crop, slope)
            belief = updated(belief, reaches, value - mean_and_sd(belief, reaches)[0], 0.2)
        return belief

    got, wanted = learn(events), learn(sorted(events))
    assert got.mean == pytest.approx(wanted.mean)
    assert got.cov == pytest.approx(wanted.cov)


def test_years_make_unsure():
    """Four years without a log widen the shared part from 0.1 to √(0.1² + 4 x 0.05²) = 0.141."""
    sd = mean_and_sd(learning.aged(prior([0.0], [0.1]), 0, 4.0), [1.0])[1]
    assert sd == pytest.approx(0.02**0.5)


def test_far_tail_stays_finite():
    """Even what is next to impossible leaves a belief of finite numbers, moved to where it was seen."""
    got = updated_at_most(grower(1, 0.0, 0.2, 0.2), [1.0, 1.0], -30.0, 0.2)
    assert np.isfinite(got.mean).all()
    # all that moves is the belief's share, 0.08 of 0.12
    assert mean_and_sd(got, [1.0, 1.0])[0] == pytest.approx(-30.0 * 0.08 / 0.12, rel=1e-3)
