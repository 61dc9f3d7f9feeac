"""How each option grows in drawn seasons, against the growth tables by which plans are made."""

from datetime import timedelta
from functools import cache
from math import ceil
from pathlib import Path

import numpy as np
import pytest
import window_sills
from depth import few_of

from cropcal.planning.candidates.prepare import prepare
from cropcal.planning.growth.seasonal_growth import grow_sowings
from cropcal.planning.luck.streams import RandomStreams
from cropcal.planning.luck.world import season_world
from cropcal.science import growth
from cropcal.seasons.luck import LUCKLESS
from cropcal.seasons.plants import Plants
from cropcal.seasons.world import Sowing

ROOT = Path(__file__).resolve().parents[3]
FILES = [
    ROOT / "tests" / "spaces" / "plans" / "fridge-top.toml",
    ROOT / "examples" / "millbrook" / "space.toml",
    ROOT / "tests" / "spaces" / "plans" / "eight-sites-nursery.toml",
    ROOT / "tests" / "spaces" / "plans" / "five-sites-in-place.toml",
    ROOT / "tests" / "spaces" / "plans" / "forty-sites.toml",
]
LUCK = 12
"""Drawn seasons."""
SOWN = 5
"""Day of sowing."""

PLUGS = """
[[zone]]
name = "ledge"
length_m = 1.2
width_m = 0.4
photoperiod_h = 14
air_c = 20
[[bed]]
name = "gutter"
zone = "ledge"
sites = 8
[[fixture]]
zone = "ledge"
watts = 90
ppf_umol_s = 210
[plan]
start = 2027-01-04
weeks = 16
work_days = ["mon", "thu"]
[[want]]
crops = ["lettuce-butterhead"]
per_week = 1
plugs = true
plug_age_d = 20
[[want]]
crops = ["basil"]
per_week = 30
unit = "g"
"""


@pytest.fixture(scope="module")
def ready(read_text, tables):
    """Return a function from the text of a space file to what planning begins with, made once."""
    return cache(lambda text: prepare(read_text(text), tables))


def world_of(made, luck):
    return season_world(
        made.candidates.options, made.assessment.land, made.serving, made.wanted,
        made.space.settings.clean_days, luck,
    )  # fmt: skip


def stood(world, number, age, sown=SOWN):
    """Return plants of one cell of an option, without their own luck, moved at an age or sown in place."""
    kind = world.kinds[number]
    plants = Plants(world, [Sowing("a cell", sown, (number,), (1,))], LUCKLESS)
    season = np.arange(world.seasons)
    place = np.full_like(season, kind.place)
    if kind.nursery >= 0:
        plants.raise_young(season, sown)
        plants.take_site(season, place, sown + age)
    else:
        plants.take_site(season, place, sown)
    return plants


def brings(plants, day):
    """Return what the cell brings on a day in each season."""
    return plants.amount(np.arange(plants.world.seasons), day)


TEXTS = {f"{file.parent.name} {file.stem}": file.read_text(encoding="utf-8") for file in FILES}
TEXTS["plugs"] = PLUGS
each_space = pytest.mark.parametrize("text", TEXTS.values(), ids=list(TEXTS))


@each_space
def test_without_luck_it_is_full_on_the_day_of_the_table_and_weighs_as_much(text, ready):
    """Each option, moved at each age of its table: heads, bunches, trays, shoots and plugs."""
    made = ready(text)
    world = world_of(made, RandomStreams(2, LUCKLESS))
    for number, option in enumerate(made.candidates.options):
        grown = option.grown
        for row, age in enumerate(grown.ages_d.tolist()):
            plants = stood(world, number, age)
            full = plants.table(plants.full)[0] - SOWN
            assert full == pytest.approx(grown.ready_d[1][row], abs=1), grown.crop.slug
            day = ceil(full[0])
            expected = grown.amount[row, day]
            assert brings(plants, SOWN + day) == pytest.approx(expected, rel=0.002, abs=0.051), (
                grown.crop.slug
            )
            assert (
                plants.table(plants.over)[0] == np.floor(plants.table(plants.full)[0]) + grown.crop.window_d
            ).all()


@each_space
def test_with_luck_it_is_full_when_the_growth_law_says_so_in_each_season(text, ready):
    """By the law's own days of mass, of the same stages shifted by the luck of each season.

    But where nothing is up on the day of moving: a grower waits for it.
    """
    made, luck = ready(text), RandomStreams(LUCK, 5)
    world, spread = world_of(made, luck), []
    for number, option in enumerate(made.candidates.options):
        grown, stages, crop = option.grown, option.grown.stages, option.grown.crop
        if stages is None:
            continue
        zone = made.assessment.land.places[option.place].bed.zone
        shifts = luck.shifts(crop.slug, zone, stages.pace, stages.spots[-1].sd_ln_light)
        for row, age in enumerate(grown.ages_d.tolist()):
            plants = stood(world, number, age)
            arrays = stages.one_for_each(row, *shifts)
            full = growth.day_of_mass(np.full(LUCK, crop.target_g * crop.dry_matter), *arrays)
            up = (arrays[0] <= age) | (option.nursery < 0)
            bought_at = grown.plug_age_d or 0
            assert plants.table(plants.full)[0][up] - SOWN == pytest.approx(full[up] - bought_at, abs=1e-6)
            spread.append(np.ptp(full))
    assert spread
    assert min(spread) > 2, "luck decides when"


def test_the_kinds_of_crops_are_all_among_those_looked_at(ready):
    """The shipped spaces and the one that buys plants have every kind of crop, from a nursery and not."""
    options = [option for text in TEXTS.values() for option in ready(text).candidates.options]
    assert {option.grown.crop.kind for option in options} == {"head", "bunch", "tray", "shoots"}
    assert {option.nursery >= 0 for option in options} == {True, False}
    assert any(option.grown.plug_age_d for option in options)


NURSERY = """
[[bed]]
name = "saucer"
zone = "sill"
kind = "nursery"
sites = 6

[[fixture]]
"""


@pytest.mark.parametrize("more", ["", NURSERY], ids=["in place", "nursery"])
@pytest.mark.parametrize("sown", few_of([0, 40, 80, 20, 60, 100], 3))
def test_by_a_window_it_is_full_with_the_sowings_of_its_day(more, sown, ready, tables):
    """The light turns with the half months, here on visits only: that makes two days at most."""
    text = window_sills.text().replace("[[fixture]]\n", more or "[[fixture]]\n", 1)
    made = ready(text)
    world = world_of(made, RandomStreams(1, LUCKLESS))
    assert len(np.unique(world.stretch)) > 5
    number, option = next(iter(enumerate(made.candidates.options)))
    grown, start = option.grown, made.space.settings.start
    visits = np.flatnonzero(world.work | world.harvest)
    sown = int(visits[visits >= sown][0])
    age = int(visits[visits >= sown + grown.ages_d[0]][0]) - sown if more else 0
    spots = grown.stages.spots
    table, good = grow_sowings(
        grown.crop, tables, spots[-1], spots[0] if more else None, grown.stages.pace,
        [start + timedelta(days=sown)], np.array([age]), for_itself=True,
    )  # fmt: skip
    assert good.all()
    plants, before = stood(world, number, age, sown), sown + age
    for day in visits[visits > sown + age].tolist():
        if plants.table(plants.full)[0, 0] <= day:
            break
        if world.stretch[day] != world.stretch[before]:
            plants.turn(day, before)
        before = day
    assert plants.table(plants.full)[0, 0] - sown == pytest.approx(table.ready_d[1][0], abs=2)
