"""The water of a zone, by the plan of a small space."""

from datetime import date, timedelta

import numpy as np
import pytest

from cropcal.planning.candidates.work_calendar import work_calendar
from cropcal.planning.planner import plan
from cropcal.planning.set_points import set_points
from cropcal.planning.site.bed_light import bed_lights
from cropcal.planning.water.tank import TankYear
from cropcal.planning.water.use import water_use
from cropcal.planning.water.zone_water import rhythm_of, zone_water
from cropcal.records.space import Chore
from cropcal.science import growth, water
from tests.support import small_space

FLOODED = 'photoperiod_h = 15\nwatered = "flood"\ntank_l = 12\npot_l = 0.4'
TRAY = """
[[bed]]
name = "mat"
zone = "shelf"
kind = "tray"
sites = 1
length_m = 0.3
width_m = 0.15

[[want]]
crops = ["pea-shoots"]
per_week = 30
unit = "g"
"""


@pytest.fixture(scope="module")
def planned(read_text, tables):
    """Return the space, with pots that are flooded and a mat of shoots, and its plan."""
    text = small_space.text(hours=FLOODED, weeks=10, per_week=2, more=TRAY)
    space = read_text(text.replace("length_m = 1.1", "length_m = 1.6", 1))
    return space, plan(space, tables)


def water_of(space, result, tables, **changes):
    """Return the water of the only zone with a changed zone, by the same batches; and its jobs."""
    zones = tuple(zone.model_copy(update=changes) for zone in space.zones)
    other = space.model_copy(update={"zones": zones})
    rows, jobs = zone_water(
        other, tables, bed_lights(other, tables), result.batches, result.sites, work_calendar(other.settings)
    )
    return rows[0], jobs


def test_all_growth_of_lettuce_gets_its_water(planned, tables):
    """The dry mass of a head at its cut is the sum of what it gained, in the nursery and on its site."""
    space, result = planned
    heads = [batch for batch in result.batches if batch.crop == small_space.LETTUCE and batch.harvests]
    pots = water_use(space, tables, result.lights).pots(heads[:1], result.sites)
    batch, crop = heads[0], tables.crops[heads[0].crop]
    on_site = [some for some in pots if some.bed == batch.bed]
    nursery = [some for some in pots if some.bed == batch.nursery]
    assert sum(some.count for some in on_site) == batch.sites
    assert nursery[0].count == batch.cells
    gained = (
        nursery[0].dry_g.sum() + on_site[0].dry_g.sum() + crop.seed_g_per_1000 / 1000 * growth.SEEDLING_SHARE
    )
    assert gained == pytest.approx(crop.target_g * crop.dry_matter, rel=0.35)  # cut on a work day, when ripe


def test_shoots_use_water_too(planned, tables):
    space, result = planned
    shoots = [batch for batch in result.batches if batch.crop == "pea-shoots"]
    pots = water_use(space, tables, result.lights).pots(shoots, result.sites)
    crop = tables.crops["pea-shoots"]
    tray_m2 = 0.3 * 0.15
    assert float(water.litres(pots[0].dry_g[0])[1]) == pytest.approx(water.MAT_L_M2_D * tray_m2)
    assert len(pots[0].dry_g) >= crop.anchor_days


def test_more_light_never_takes_less_water(planned, tables, read_text):
    """A day's litres of the same plants, of the same age, in dim and in bright light."""
    _, result = planned
    sums = []
    for umol in (120, 180, 240, 300):
        space = read_text(
            small_space.text(hours=FLOODED, weeks=10, per_week=2, more=TRAY, umol=umol)
            .replace("length_m = 1.1", "length_m = 1.6", 1)
        )  # fmt: skip
        row, _ = water_of(space, result, tables)
        sums.append(sum(week.l_per_d.middle for week in row.weeks))
    assert sums == sorted(sums)
    assert sums[-1] > 1.2 * sums[0]


def test_a_bigger_tank_lasts_longer_and_is_topped_up_less(planned, tables):
    space, result = planned
    by_size = [water_of(space, result, tables, tank_l=size) for size in (4.0, 8.0, 16.0, 200.0)]
    lasts = [row.tank.lasts_low_d for row, _ in by_size]
    jobs = [len(jobs) for _, jobs in by_size]
    assert lasts == sorted(lasts)
    assert jobs == sorted(jobs, reverse=True)
    assert not [job for job in by_size[-1][1] if "top up" in job.note]
    assert [row.tank.away_too_long for row, _ in by_size][-1] is False


def test_no_tank_no_jobs(planned, tables):
    space, result = planned
    row, jobs = water_of(space, result, tables, tank_l=None)
    assert row.tank is None
    assert jobs == ()
    assert row.weeks


def test_jobs_lie_on_work_days_and_in_the_plan(planned):
    _, result = planned
    jobs = [job for job in result.jobs if "tank of" in job.note or "solution of" in job.note]
    assert jobs
    assert {job.on for job in jobs} <= set(result.work_days)
    assert all(job.job == "chore" for job in jobs)


def test_a_change_of_the_files_own_takes_its_place(planned, tables):
    space, result = planned
    chore = Chore(name="New nutrient solution", every_days=10)
    _, jobs = water_of(space.model_copy(update={"chores": (chore,)}), result, tables)
    assert jobs
    assert not [job for job in jobs if "change" in job.note]


def test_never_below_what_the_pump_needs(planned, tables):
    """Topped up and changed as the jobs say, the tank holds out even if all use is high.

    But where a single stretch between two visits takes more than it holds, which is reported.
    """
    space, _ = planned
    time = work_calendar(space.settings)
    use = np.linspace(0.2, 2.5, time.days)
    year = TankYear(space.zones[0], 20.0, use / 2, use / 1.5, use, time)
    full_on = {(job.on - time.start).days for job in year.jobs(())}
    left = 20.0
    for day in range(time.days):
        if day in full_on:
            left = 20.0
        left -= use[day]
        assert left > water.PUMP_NEEDS * 20.0 or year.summary().away_too_long


def test_a_long_break_is_reported(read_text, tables):
    space = read_text(small_space.text(hours=FLOODED, weeks=12, per_week=2))
    away = (date(2026, 11, 1), date(2026, 11, 21))
    settings = space.settings.model_copy(update={"breaks": (away,)})
    result = plan(space, tables)
    rows, _ = zone_water(space, tables, result.lights, result.batches, result.sites, work_calendar(settings))
    tank = rows[0].tank
    assert tank.away_too_long
    assert tank.away[0] <= away[0] <= away[1] <= tank.away[1]


def test_the_files_pump_gives_the_rhythm(read_text):
    pump = '[[load]]\nname = "Little pump"\nwatts = 8\non_minutes = 12\nevery_minutes = 90\n'
    space = read_text(small_space.text(more=pump))
    rhythm = rhythm_of(space, space.zones[0])
    assert (rhythm.minutes, rhythm.every_minutes, rhythm.known) == (12, 90, "file")
    deep = space.zones[0].model_copy(update={"watered": "deep water"})
    assert rhythm_of(space, deep) is None


@pytest.mark.parametrize(("key", "assumed"), [("pot_l = 0.4", False), ("", True)])
def test_the_usual_rhythm_and_whether_its_pots_are_assumed(read_text, key, assumed):
    space = read_text(small_space.text(hours=f'photoperiod_h = 15\nwatered = "flood"\n{key}'))
    rhythm = rhythm_of(space, space.zones[0])
    assert rhythm.pot_assumed is assumed
    assert rhythm.known == "common practice"
    assert rhythm.in_dark == 1
    assert rhythm.every_minutes % 30 == 0


def test_nothing_is_said_of_floods_where_nobody_said_how_it_is_watered(read_text):
    space = read_text(small_space.text())
    assert rhythm_of(space, space.zones[0]) is None


def test_pumps_of_full_grown_plants_may_stop_shorter(read_text, tables):
    space = read_text(small_space.text(hours=FLOODED, weeks=10, per_week=2))
    hours = {stop.stage: stop for stop in plan(space, tables).water[0].stops}
    assert set(hours) == {"seedlings", "half-grown", "full-grown"}
    assert hours["full-grown"].low_h < hours["half-grown"].low_h
    for stop in hours.values():
        assert 0 < stop.low_h <= stop.high_h


def test_weeks_are_those_of_the_plan(planned):
    _, result = planned
    weeks = [row.week for row in result.water[0].weeks]
    assert weeks == sorted(set(weeks))
    assert result.start <= weeks[0]
    assert weeks[-1] < result.start + timedelta(weeks=result.weeks)


def test_set_points_of_floods(planned, tables):
    """Pots of 0.4 litres are flooded for ten minutes every three and a half hours of light."""
    space, result = planned
    rows = {row.what: row for row in set_points(space, tables, result, ()) if "flood" in row.what}
    values = {what: (row.value, row.unit) for what, row in rows.items()}
    assert values == {
        "flood runs": (10.0, "min"),
        "flood every": (210.0, "min"),
        "floods in the dark": (1.0, "1/d"),
    }
    assert "common practice for pots of 0.4 litres" in rows["flood runs"].note
    assert {row.zone for row in rows.values()} == {"shelf"}


def test_a_pump_of_the_file_is_no_second_set_point(read_text, tables, planned):
    pump = '[[load]]\nname = "pump"\nwatts = 8\non_minutes = 12\nevery_minutes = 90\n'
    space = read_text(small_space.text(hours=FLOODED, more=pump))
    named = [row.what for row in set_points(space, tables, planned[1], ())]
    assert "pump runs" in named
    assert not [what for what in named if "flood" in what]
