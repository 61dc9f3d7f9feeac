"""Verdicts by chance: light is known to some tens of percent, so nothing may hang on its last percent."""

from datetime import date
from statistics import NormalDist

import numpy as np
import pytest
from depth import FULL, few_of
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.planning.growth.suitability import FAR_TOO_LITTLE, suitabilities
from cropcal.planning.planner import SolveOptions, plan
from cropcal.planning.site.bed_light import bed_lights
from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.space.read import read_space_text
from cropcal.science.spread import chance_above

TABLES = read_crop_tables(None)[0]
ALCOVE = """
[place]
name = "Alcove"
timezone = "Europe/Lisbon"

[[zone]]
name = "alcove"
length_m = 0.8
width_m = 0.5
photoperiod_h = 16
air_c = 21

[[bed]]
name = "pots"
zone = "alcove"
sites = 8

[[bed]]
name = "plugs"
zone = "alcove"
kind = "nursery"
sites = 8

[[fixture]]
zone = "alcove"
lamp = "white LED"
watts = 60
ppf_umol_s = {ppf}

[plan]
start = 2027-01-04
weeks = 16
work_days = ["sun"]

[[want]]
crops = ["{crop}"]
per_week = {amount}
"""


def alcove(crop, amount, share):
    """Return the space at a share of a crop's least light, which is proportional to the photon flux."""

    def at(ppf):
        space, problems = read_space_text(
            ALCOVE.format(crop=crop, amount=amount, ppf=ppf), TABLES, today=date(2026, 12, 1)
        )
        assert problems == []
        return space

    by_flux = bed_lights(at(50), TABLES)[0].dli_mol_m2_d() / 50
    return at(round(TABLES.crops[crop].dli_min_mol_m2_d * share / by_flux, 6))


def fit_of(space, crop):
    lights = bed_lights(space, TABLES)
    (fit,) = suitabilities(space, lights, (TABLES.crops[crop],))
    return fit


SHARES = [round(0.8 + 0.02 * step, 2) for step in range(21)]


@pytest.mark.parametrize("crop", ["lettuce-butterhead", "basil", "chives"])
def test_the_chance_rises_with_the_light(crop):
    """From 80 to 120 % of the least light: the chance rises, and no verdict is a wall."""
    fits = [fit_of(alcove(crop, 1, share), crop) for share in SHARES]
    enough = [fit.chance_enough for fit in fits]
    assert np.diff(enough).min() > 0
    assert enough[SHARES.index(1.0)] == 0.5
    assert {fit.verdict for fit in fits} <= {"slow", "ok"}
    assert all("least tested: probably slow" in fit.why for fit in fits[:10])


CLOSE_SHARES = SHARES if FULL else SHARES[8:13]


@pytest.mark.parametrize(("crop", "amount"), few_of([("lettuce-butterhead", 1), ("basil", 30)], 1))
def test_no_step_in_light_costs_a_week(crop, amount):
    """Two percent more or less light change the short weeks of a plan of one pass by at most 0.75."""
    plans = [
        plan(alcove(crop, amount, share), TABLES, SolveOptions(time_limit_s=60)) for share in CLOSE_SHARES
    ]
    short = np.array([made.expected.short_want_weeks for made in plans])
    assert all(made.batches for made in plans)
    assert np.abs(np.diff(short)).max() <= 0.75


def test_far_too_little_light_is_still_no():
    """Below half of the least light tested a crop is left out, and the reason says so."""
    fit = fit_of(alcove("lettuce-butterhead", 1, FAR_TOO_LITTLE - 0.02), "lettuce-butterhead")
    assert fit.verdict == "no"
    assert "far below 6.5, the least tested" in fit.why


@settings(max_examples=50)
@given(
    limit=st.floats(0.1, 40), middle=st.floats(0.1, 40), sd_ln=st.floats(0.01, 0.6), more=st.floats(1.001, 2)
)
def test_the_chance_is_that_of_a_log_normal_number(limit, middle, sd_ln, more):
    """It is the normal probability of ln, and rises with the middle."""
    chance = chance_above(limit, middle, sd_ln)
    assert chance == pytest.approx(1 - NormalDist(np.log(middle), sd_ln).cdf(np.log(limit)), abs=1e-9)
    assert chance_above(limit, middle * more, sd_ln) >= chance


def test_light_known_exactly_is_above_or_not():
    """Without a spread the chance is 0 or 1; no light is never above a limit."""
    assert [chance_above(5, 6, 0), chance_above(5, 4, 0), chance_above(5, 0, 0.2)] == [1, 0, 0]
