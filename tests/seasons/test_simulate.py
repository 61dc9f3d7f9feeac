"""What holds in every drawn season, whatever is sown: random small worlds, looked at day by day."""

from dataclasses import dataclass, replace
from unittest.mock import patch

import numpy as np
import pytest
from depth import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.seasons import simulate as module
from cropcal.seasons.kitchen import Pantry
from cropcal.seasons.plants import ON_SITE, YOUNG
from cropcal.seasons.simulate import simulate
from cropcal.seasons.world import NEVER, Delivery, Kind, Rates, Sowing, World

WEEKS, SEASONS = 11, 5
DAYS = 7 * WEEKS


@dataclass
class Lived:
    """What came of a run, the run itself, and and after each day of work (day, status, place, over)."""

    seasons: module.Seasons
    run: module._Run
    days: list


def lived(world, sowings, delivered=(), seed=1):
    """Return a run that was watched."""
    days, runs, sow = [], [], module._Run._sow

    def watched(self, day, rows):
        sow(self, day, rows)
        runs[:] = [self]
        its = self.plants
        days.append((day, *(its.table(of).copy() for of in (its.status, its.place, its.over))))

    with patch.object(module._Run, "_sow", watched):
        return Lived(simulate(world, sowings, (), delivered, seed), runs[0], days)


@st.composite
def crops(draw, want, group, places):
    """Return one crop in each of some places, from the nursery or sown in place."""
    heads, nursery = draw(st.booleans()), draw(st.booleans())
    pace = np.exp(0.15 * np.random.default_rng(group).standard_normal(SEASONS))
    harvest = draw(st.sampled_from([(0, 3), (1, 4), (2,)]))
    young_d = draw(st.integers(6, 14)) if nursery else 0
    shared = Kind(
        want=want, place=0, nursery=0 if nursery else -1, group=group, heads=heads,
        full_amount=1.0 if heads else draw(st.floats(8, 40)), sites_each=draw(st.integers(1, 2)),
        plants=1 if heads else draw(st.integers(1, 5)), stand=draw(st.floats(0.5, 1)), thick=False,
        window_d=draw(st.integers(0, 9)), keeps_d=draw(st.integers(0, 12)),
        cuts=1 if heads else draw(st.integers(1, 3)), leaves_share=0.3, lag_d=3, young_d=young_d,
        old_d=young_d + 20 if nursery else 10**6, serves=np.full(DAYS, NEVER),
        starts_d=draw(st.floats(1, 6)) * pace, start_g=np.full(SEASONS, 0.01), full_g=draw(st.floats(1, 6)),
        in_nursery=rates(0.9, 0.3, pace) if nursery else None, on_site=None, site_d=18.0,
    )  # fmt: skip
    speeds = [draw(st.floats(0.25, 0.45)) for _ in places]
    return harvest, [
        replace(shared, place=place, on_site=rates(0.5, speed, pace))
        for place, speed in zip(places, speeds, strict=True)
    ]


def rates(slope, speed, pace):
    return Rates(np.full((1, SEASONS), slope), speed * pace[None, :])


@st.composite
def worlds(draw, wants=2, most_crops=3):
    """Return a world, its sowings and what was cut before: a few sites, breaks, a place that is closed."""
    places = draw(st.integers(1, 2))
    made, kinds = draw(st.integers(1, most_crops)), []
    visits = sorted(
        {day for week in range(WEEKS) for day in (7 * week, 7 * week + draw(st.sampled_from([3, 4])))}
    )
    off = draw(st.integers(4, WEEKS - 1))
    visits = [day for day in visits if day // 7 != off]
    harvest = [day for day in visits if draw(st.integers(0, 4))]
    serves = np.arange(DAYS) // 7
    for group in range(made):
        goes = draw(st.permutations(range(places)))[: draw(st.integers(1, places))]
        _, its = draw(crops(draw(st.integers(0, wants - 1)), group, goes))
        kinds += [replace(kind, serves=serves) for kind in its]
    sites = np.array([[draw(st.integers(1, 5))] * DAYS for _ in range(places)])
    closed = draw(st.integers(20, DAYS - 10))
    sites[draw(st.integers(0, places - 1)), closed : closed + draw(st.integers(0, 9))] = 0
    amount = draw(st.sampled_from([1.0, 2.0, 30.0]))
    world = World(
        days=DAYS, work=np.isin(np.arange(DAYS), visits), harvest=np.isin(np.arange(DAYS), harvest),
        stretch=np.zeros(DAYS, int), wanted=np.full((wants, WEEKS), amount),
        sites=sites, cells=np.full((1, DAYS), draw(st.integers(1, 6))), clean_days=draw(st.integers(0, 3)),
        kinds=tuple(kinds), seasons=SEASONS, least_share=0.8, plant_sd=0.2, batch_sd=0.15, lost=0.1,
    )  # fmt: skip
    days = draw(st.lists(st.integers(0, DAYS - 1), min_size=1, max_size=9, unique=True))
    sowings = [sown(world, day, draw(st.integers(0, made - 1)), draw(st.integers(1, 4))) for day in days]
    before = [
        Delivery(
            draw(st.sampled_from(kinds)).want, day, day + draw(st.integers(0, 9)), draw(st.floats(0.5, 20))
        )
        for day in draw(st.lists(st.integers(0, 20), max_size=2, unique=True))
    ]
    return world, sowings, before


def sown(world, day, group, cells):
    goes = tuple(number for number, kind in enumerate(world.kinds) if kind.group == group)
    return Sowing(f"{group} on {day}", day, goes, (world.kinds[goes[0]].cuts,) * cells)


def kinds_of_rows(world, sowings, result):
    return [world.kinds[sowings[batch].kinds[0]] for batch in result.seasons.batch.tolist()]


@settings(max_examples=examples(120))
@given(worlds())
def test_sites_and_cells_are_never_more_than_there_are(drawn):
    """Counted anew from where each row is after each day of work, and with the days of cleaning."""
    world, sowings, before = drawn
    result = lived(world, sowings, before)
    kinds = kinds_of_rows(world, sowings, result)
    each = np.array([kind.sites_each for kind in kinds])[:, None]
    for day, status, place, over in result.days:
        assert not ((status == ON_SITE) & (over < day)).any(), "what went over is taken out"
        assert ((status == YOUNG).sum(axis=0) <= world.cells[0, day]).all()
        for number, free in enumerate(world.sites[:, day]):
            held = each * ((status == ON_SITE) & (place == number))
            planted = result.seasons.planted
            last = result.seasons.cut_day.max(axis=0)
            cleaned = (status != ON_SITE) & (place == number) & (planted >= 0) & (last >= 0)
            cleaned &= (planted <= day) & (last <= day) & (day < last + world.clean_days)
            assert (held.sum(axis=0) <= free).all(), "a closed place is empty, an open one not too full"
            assert not free or ((held + each * cleaned).sum(axis=0) <= free).all()


@settings(max_examples=examples(120))
@given(worlds())
def test_nothing_is_planted_too_young_nor_on_days_when_nobody_works_nor_where_it_is_closed(drawn):
    world, sowings, before = drawn
    result = lived(world, sowings, before)
    run, planted = result.run.plants, result.seasons.planted
    for row, kind in enumerate(kinds_of_rows(world, sowings, result)):
        for season in np.flatnonzero(planted[row] >= 0).tolist():
            day = int(planted[row, season])
            assert world.work[day]
            sown = run.table(run.sown)[row, season]
            assert day - sown >= kind.young_d
            assert sown >= sowings[result.seasons.batch[row]].day
            assert world.sites[run.table(run.place)[row, season], day] > 0


@settings(max_examples=examples(120))
@given(worlds())
def test_what_is_cut_is_large_enough_and_somebody_is_there(drawn):
    """Heads by the mass they have on the day, grams by what they bring of a full site."""
    world, sowings, before = drawn
    result = lived(world, sowings, before)
    cut_day, amount, run = result.seasons.cut_day, result.seasons.cut_amount, result.run.plants
    assert world.harvest[cut_day[cut_day >= 0]].all()
    assert (amount[cut_day < 0] == 0).all()
    for row, kind in enumerate(kinds_of_rows(world, sowings, result)):
        for number, season in np.argwhere(cut_day[:, row] >= 0).tolist():
            day = int(cut_day[number, row, season])
            assert day >= result.seasons.planted[row, season] >= 0
            at = np.array([row * SEASONS + season])
            if kind.heads:
                mass = run.mass_g(at, day) * run.factor[at]
                assert mass[0] >= world.least_share * kind.full_g * (1 - 1e-6)
                assert amount[number, row, season] == run.alive[at][0]
                continue
            left = 1 - kind.leaves_share if number + 1 < kind.cuts else 1.0
            least = world.least_share * kind.full_amount * run.alive[at][0] * left
            assert amount[number, row, season] >= least * (1 - 1e-5)


@settings(max_examples=examples(120))
@given(worlds())
def test_all_that_is_cut_is_eaten_or_wasted(drawn):
    """No more is eaten than is wanted; nothing comes from nowhere."""
    world, sowings, before = drawn
    result = lived(world, sowings, before)
    eaten, wasted = result.seasons.eaten, result.seasons.wasted
    assert (eaten <= world.wanted[:, :, None] + 1e-9).all()
    wants = np.array([kind.want for kind in kinds_of_rows(world, sowings, result)])
    for want in range(len(world.wanted)):
        cut = result.seasons.cut_amount[:, wants == want].sum(axis=(0, 1), dtype=float)
        came = sum(cut_before.amount for cut_before in before if cut_before.want == want)
        total = cut + result.run.kitchen.spoilt[want] + came
        assert eaten[want].sum(axis=0) + wasted[want] == pytest.approx(total, rel=1e-5, abs=1e-5)


@settings(max_examples=examples(120))
@given(worlds())
def test_what_is_eaten_is_good_on_its_day(drawn):
    """Lived again from the cuts alone, by a list of what is kept: the same is eaten in each week."""
    world, sowings, before = drawn
    result = lived(world, sowings, before)
    kinds = kinds_of_rows(world, sowings, result)
    for season in range(SEASONS):
        for want, weeks in enumerate(world.wanted):
            cuts = [
                (int(day), kinds[row].keeps_d, float(result.seasons.cut_amount[number, row, season]))
                for (number, row), day in np.ndenumerate(result.seasons.cut_day[:, :, season])
                if day >= 0 and kinds[row].want == want
            ]
            given_before = [
                (cut.day, cut.last_good - cut.day, cut.amount) for cut in before if cut.want == want
            ]
            eaten = eaten_of([*given_before, *sorted(cuts)], weeks)
            assert result.seasons.eaten[want, :, season] == pytest.approx(eaten, rel=1e-5, abs=1e-4)


def eaten_of(cuts, weeks):
    """Return what is eaten in each week of cuts (day, days it keeps, amount), what spoils first first."""
    eaten, kept = [0.0] * len(weeks), []

    def eat(week, rows):
        for row in rows:
            bite = min(row[1], max(weeks[week] - eaten[week], 0.0))
            eaten[week] += bite
            row[1] -= bite

    for day in range(7 * len(weeks)):
        if day % 7 == 0:
            kept = sorted(row for row in kept if row[0] >= day)
            eat(day // 7, kept)
        today = [[day + keeps, amount] for on, keeps, amount in cuts if on == day]
        eat(day // 7, today)
        kept += today
    return eaten


@settings(max_examples=examples(200))
@given(
    st.lists(st.tuples(st.integers(0, 3), st.integers(0, 6), st.floats(0, 9), st.floats(0, 9)), max_size=25)
)
def test_the_pantry_is_a_list_of_what_is_kept(steps):
    """Each step: days go by, something is put in that keeps some days, something is eaten."""
    pantry, kept, thrown, day = Pantry(1), [], 0.0, 0
    for later, keeps, put, most in steps:
        day += later
        pantry.put(day + keeps, np.array([put]))
        kept.append([day + keeps, put])
        thrown += sum(amount for last, amount in kept if last < day)
        kept = sorted(row for row in kept if row[0] >= day)
        eaten = 0.0
        for row in kept:
            bite = min(row[1], most - eaten)
            row[1], eaten = row[1] - bite, eaten + bite
        assert pantry.eat(day, np.array([most])) == pytest.approx([eaten])
        assert pantry.left == pytest.approx([sum(amount for _, amount in kept)])
        assert pantry.wasted == pytest.approx([thrown])


def same(first, second):
    """Say whether two results are alike in every array."""
    names = ("eaten", "wasted", "batch", "planted", "cut_day", "cut_amount", "jobs")
    return all(np.array_equal(getattr(first, name), getattr(second, name)) for name in names)


@settings(max_examples=examples(80))
@given(worlds(), st.randoms(use_true_random=False))
def test_the_same_input_gives_the_same_and_its_order_changes_nothing(drawn, random):
    """Sowings of one day come in the order in which they are given; here each has a day of its own."""
    world, sowings, before = drawn
    first = simulate(world, sowings, (), before)
    assert same(first, simulate(world, sowings, (), before))
    order = random.sample(range(len(sowings)), len(sowings))
    other = simulate(world, [sowings[at] for at in order], (), before)
    assert same(first, replace(other, batch=np.array(order)[other.batch]))


@settings(max_examples=examples(80))
@given(worlds(), st.data())
def test_choices_in_blocks_are_what_each_would_be_alone(drawn, data):
    """Some of the cells of each sowing in each block, against a run for each block."""
    world, sowings, before = drawn
    blocks = data.draw(st.integers(1, 3))
    cells = [[data.draw(st.integers(0, sowing.cells)) for _ in range(blocks)] for sowing in sowings]
    together = [
        replace(sowing, sown_in=np.arange(sowing.cells)[:, None] < np.array(numbers))
        for sowing, numbers in zip(sowings, cells, strict=True)
    ]
    result = simulate(world.repeated(blocks), together, (), before)
    for block in range(blocks):
        alone = [
            replace(sowing, cuts=sowing.cuts[: numbers[block]])
            for sowing, numbers in zip(sowings, cells, strict=True)
            if numbers[block]
        ]
        expected = simulate(world, alone, (), before)
        its = slice(block * SEASONS, (block + 1) * SEASONS)
        assert np.allclose(result.eaten[:, :, its], expected.eaten)
        assert np.allclose(result.wasted[:, its], expected.wasted)


def test_nothing_is_cut_for_a_seedling_of_another_season():
    """A bed is about to close; leaves make room where a seedling waits for it, and only there."""
    pace = np.ones(SEASONS)
    leaves = Kind(
        want=0, place=0, nursery=-1, group=0, heads=False, full_amount=10.0, sites_each=1, plants=1,
        stand=1.0, thick=False, window_d=30, keeps_d=0, cuts=1, leaves_share=0.3, lag_d=3, young_d=0,
        old_d=10**6, serves=np.arange(DAYS) // 7, starts_d=3 * pace, start_g=0.01 * pace, full_g=1.0,
        in_nursery=None, on_site=rates(0.5, 0.4, pace), site_d=18.0,
    )  # fmt: skip
    visits = np.isin(np.arange(DAYS), [0, 28, 31])
    sites = np.array([[2] * 29 + [0] * 9 + [2] * (DAYS - 38)])
    world = World(
        days=DAYS, work=visits, harvest=visits, stretch=np.zeros(DAYS, int), wanted=np.full((1, WEEKS), 1.0),
        sites=sites, cells=np.zeros((1, DAYS), int), clean_days=1, kinds=(leaves,), seasons=SEASONS,
        least_share=0.8, plant_sd=0.0, batch_sd=0.0, lost=0.0,
    )  # fmt: skip
    stand, waits = sown(world, 0, 0, 2), sown(world, 28, 0, 1)
    in_second_block = replace(waits, sown_in=np.array([[False, True]]))
    result = simulate(world.repeated(2), [stand, in_second_block])
    cut = (result.cut_day[0] >= 0).sum(axis=0)
    assert cut[:SEASONS].tolist() == [0] * SEASONS
    assert cut[SEASONS:].tolist() == [1] * SEASONS
