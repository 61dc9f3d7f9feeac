"""80 % ranges against a lognormal's own quantiles and against a Monte Carlo."""

import numpy as np
import pytest
from scipy import stats

from cropcal.science import growth as g
from cropcal.science.spread import range_80, range_not_before

SD = {"sd_ln_speed": np.hypot(g.GROWER_SD, g.CROP_SD), "sd_ln_light": 0.35, "sd_ln_emergence": g.EMERGENCE_SD}


def rates(speed, light):
    """C and k of an invented butterhead at 14 mol: two stages, shifts scalar or one a draw."""
    dli = 14 * np.exp(np.asarray(light, float))[..., None] * np.ones(2)
    return g.rates(0.98 * np.exp(g.HOME_LN_SPEED_MEAN + np.asarray(speed, float))[..., None], dli, 16, 1.0)


def sowing(emergence):
    return np.atleast_1d(3.0 * np.exp(emergence)), [0.0007], [[21.0, np.inf]], [[97.0, 38.0]]


def ready_d(speed, light, emergence):
    """Day on which 6.75 g dry (150 g fresh) are reached."""
    return g.day_of_mass([6.75], *sowing(emergence), *map(np.atleast_2d, rates(speed, light)))


def mass_g(speed, light, emergence):
    """Dry mass on days 28 and 40, shape (n, 2)."""
    return g.mass_by_day([28.0, 40.0], *sowing(emergence), *map(np.atleast_2d, rates(speed, light)))


def drawn(outcome, count=40_000):
    """Return the 10 and 90 % quantiles and the median of the outcome under random shifts."""
    random = np.random.default_rng(20260112)
    shifts = [sd * random.standard_normal(count) for sd in SD.values()]
    return np.quantile(outcome(*shifts), [0.1, 0.5, 0.9], axis=0)


def test_a_lognormal_is_exact():
    """With ln outcome = 2 speed + 3 light the sd is 0.5 by Pythagoras, 80 % within ± 1.2816 of it."""
    low, middle, high = range_80(
        lambda speed, light, _: 7 * np.exp(2 * speed + 3 * light), 0.15, 0.4 / 3, 0.2
    )
    assert [low, middle, high] == pytest.approx([7 * np.exp(-0.6408), 7, 7 * np.exp(0.6408)], rel=1e-4)


def test_one_source_is_exact():
    """With one unsure source the bounds are the outcomes at its own 10 and 90 % points, however curved."""
    low, _, high = range_80(ready_d, 0.3, 0, 0)
    assert [low[0], high[0]] == pytest.approx([ready_d(z, 0, 0)[0] for z in (0.38447, -0.38447)], rel=1e-5)


def test_days_against_monte_carlo():
    """The range of the ready day agrees with 40,000 random growers.

    Tolerance 2 %: what is left out is how one source changes the effect of another.
    """
    np.testing.assert_allclose(np.array(range_80(ready_d, **SD))[:, 0], drawn(ready_d), rtol=0.02)


def test_masses_against_monte_carlo():
    """The range of the mass on a day agrees with 40,000 random growers.

    Tolerance 12 %, on a range from a quarter to four times the middle: light and speed together close
    the canopy sooner than each alone.
    """
    np.testing.assert_allclose(np.array(range_80(mass_g, **SD))[:, 0, :], drawn(mass_g), rtol=0.12)


def test_one_spread_a_sowing():
    """Standard deviations of shape (n,) serve n sowings, each as if alone; surer light, narrower range."""
    sds = np.array([0.05, 0.20, 0.50])
    low, middle, high = range_80(ready_d, 0.28, sds, 0.25)
    assert low.shape == high.shape == (3,)
    assert np.all(np.diff(high / low) > 0)
    for i, sd in enumerate(sds):
        alone = [float(bound[0]) for bound in range_80(ready_d, 0.28, sd, 0.25)]
        assert [low[i], middle[0], high[i]] == pytest.approx(alone, rel=1e-12)


def test_nothing_unsure_nothing_wide():
    """Without spread the three are one."""
    assert np.ptp(np.array(range_80(mass_g, 0, 0, 0)), axis=0).max() == 0


def test_around_emergence_and_never():
    """Zero before emergence and infinite days stay; what may not be up yet or never ready says so."""

    def outcome(speed, light, emergence):
        late = np.any(np.asarray(emergence) > 0)
        return np.array([0.0, np.inf, 0.0 if late else 5.0, np.inf if late else 5.0])

    low, middle, high = range_80(outcome, 0.1, 0.1, 0.1)
    assert low.tolist() == [0, np.inf, 0, 5]
    assert middle.tolist() == [0, np.inf, 5, 5]
    assert high.tolist() == [0, np.inf, 5, np.inf]


def test_light_above_the_ceiling_only_widens_downwards():
    """Where more light promises no more growth, brighter lamps bring no earlier day, dimmer ones a later."""

    def capped(speed, light, emergence):
        return ready_d(0.0, np.minimum(light, 0.0), 0.0)

    low, middle, high = range_80(capped, 0, 0.35, 0)
    assert low == middle < high


@pytest.mark.parametrize("passed", [20.0, 50.0, 60.0, 75.0])
def test_a_day_that_did_not_come_yet_is_what_is_left_of_its_distribution(passed):
    """Against SciPy's log-normal day of 50 to 72, cut off at the day of the look."""
    middle = 60.0
    whole = stats.lognorm(np.log(72 / 50) / 2 / stats.norm.ppf(0.9), scale=middle)
    behind = whole.cdf(passed)
    exact = [whole.ppf(behind + share * (1 - behind)) for share in (0.1, 0.5, 0.9)]
    found = range_not_before([50.0], [middle], [72.0], passed)
    assert [float(day[0]) for day in found] == pytest.approx(exact, rel=1e-6)
    assert found[0] > passed


def test_a_day_far_behind_what_was_thought_comes_soon_after_the_look():
    """Finite, in order, and after the look, also where next to nothing of the distribution is left."""
    low, middle, high = range_not_before([50.0, 60.0], [51.0, 60.0], [52.0, 60.0], 150.0)
    assert np.all((low >= 150) & (middle >= low) & (high >= middle) & (high < 200))
