"""What a choice of sowings is worth: each price raises the score by as much as it says, counted anew."""

from functools import cache

import numpy as np
import pytest
import season_makers
import small_space
from depth import examples
from hypothesis import given
from hypothesis import strategies as st

from cropcal.planning.choices import CHOICES
from cropcal.planning.luck.placing import placed
from cropcal.planning.luck.score import MOST_OF_ONE, SAMENESS, USUAL_PRICES, prices_of
from cropcal.planning.luck.sowings import cells_of
from cropcal.planning.luck.told import MINUTES
from cropcal.records.space import Prices

NAMES = tuple(Prices.model_fields)
FREE = Prices(**dict.fromkeys(NAMES, 0.0))
LUCK = 12
MIXED = small_space.text(weeks=14, more=season_makers.SHOOTS + season_makers.BASIL).replace("1.1", "1.6", 1)
CLOSE = small_space.text(weeks=16, sites=22, per_week=50).replace(small_space.LETTUCE, "kale")
"""Sites so near to each other that a plant of kale holds several."""


@pytest.fixture(scope="module")
def mixed(tables):
    return season_makers.maker(MIXED, tables)


def some_sowings(slots, count, seed):
    """Return sowings of a few slots each, drawn at random."""
    random, every = np.random.default_rng(seed), season_makers.all_slots(slots)
    drawn = [random.choice(len(every), 5, replace=False) for _ in range(count)]
    return [{every[at]: int(random.integers(1, 5)) for at in its} for its in drawn]


def seasons_of(scorer, sown):
    """Return the seasons of sowings, and the kind of each row."""
    its = scorer.slots.season_sowings([sown])
    seasons = scorer.stages[0].run(its)
    return seasons, [scorer.stages[0].world.kinds[its[batch].kinds[0]] for batch in seasons.batch.tolist()]


def amount(name, made, scorer, sown):
    """Return that of which a price is, in each season, counted row by row."""
    seasons, kinds = seasons_of(scorer, sown)
    if name == "surplus":
        per_week = made.builder.per_week
        return sum(seasons.wasted[want] / per_week[want] for want in range(len(per_week)))
    if name == "cell":
        return cells_of(sown)
    if name == "sowing":
        options = scorer.slots.candidates.options
        return len({(options[slot.option].grown.crop.slug, slot.day) for slot in sown})
    if name == "seed":
        return sum(cells * seeds_of_one(made, slot) for slot, cells in sown.items())
    result = np.zeros(LUCK)
    for season in range(LUCK):
        if name == "minute":
            result[season] = MINUTES[0] * cells_of(sown)
        for row, kind in enumerate(kinds):
            planted = seasons.planted[row, season]
            cuts = [day for day in seasons.cut_day[:, row, season].tolist() if day >= 0]
            if name == "minute":
                result[season] += MINUTES[1] * (planted >= 0 and kind.nursery >= 0) + MINUTES[2] * len(cuts)
            elif cuts:
                result[season] += kind.sites_each * (cuts[-1] - planted) / 7
    return result


@cache
def seeds_of_one(made, slot):
    """Return the seeds of one cell, as the batch of a plan has them that sows that cell alone."""
    on_sites = placed({slot: 1}, made.slots, made._world, made.task)
    (batch,) = made.builder.realise(on_sites.n, on_sites.cells).batches
    return batch.seeds


@pytest.mark.parametrize("name", NAMES)
def test_each_price_raises_the_score_by_what_it_is_of(name, mixed):
    """By the price times the amount, in every season; all others free."""
    dear = FREE.model_copy(update={name: 0.7})
    priced, free = (season_makers.scorer(mixed, (LUCK,), prices=its) for its in (dear, FREE))
    for sown in some_sowings(mixed.slots, examples(40, 3), 1):
        by = (priced.scores([sown]) - free.scores([sown]))[0]
        whole = np.broadcast_to(0.7 * amount(name, mixed, free, sown), by.shape)
        assert by == pytest.approx(whole, abs=1e-6)


def test_a_plant_that_holds_several_sites_holds_all_of_them_in_the_light(tables):
    made = season_makers.maker(CLOSE, tables)
    slots = season_makers.all_slots(made.slots)
    wide = next(slot for slot in slots if made.slots.candidates.options[slot.option].sites_each > 1)
    dear = FREE.model_copy(update={"site_week": 1.0})
    priced, free = (season_makers.scorer(made, (LUCK,), prices=its) for its in (dear, FREE))
    by = (priced.scores([{wide: 3}]) - free.scores([{wide: 3}]))[0]
    assert by == pytest.approx(amount("site_week", made, free, {wide: 3}), abs=1e-6)
    assert by.max() > 0


def test_free_of_all_prices_it_is_the_missing_share_of_the_weeks_that_count(mixed):
    """Counted from what was eaten, for wants with a number; several choices at once are as each alone."""
    choices = some_sowings(mixed.slots, examples(40), 2)
    scorer = season_makers.scorer(mixed, (LUCK,), prices=FREE)
    together = scorer.scores(choices)
    for sown, score in zip(choices, together, strict=True):
        seasons, _ = seasons_of(scorer, sown)
        missing = np.zeros(LUCK)
        for want, week in np.argwhere(scorer.counted > 0):
            share = 1 - seasons.eaten[want, week] / scorer.counted[want, week]
            missing += np.where(share > 0.01, share, 0.0)
        assert score == pytest.approx(missing, abs=1e-6)
        assert scorer.scores([sown])[0] == pytest.approx(score, abs=1e-6)


@pytest.mark.parametrize("choice", CHOICES)
@given(own=st.fixed_dictionaries({name: st.none() | st.floats(0, 10) for name in NAMES}))
def test_a_persons_price_overrides_that_of_the_choice(choice, own):
    """One by one, also with 0; those that nobody set are the choice's."""
    prices = prices_of(choice, Prices(**own)).model_dump()
    usual = USUAL_PRICES[choice].model_dump()
    assert prices == {name: usual[name] if own[name] is None else own[name] for name in NAMES}
    assert None not in usual.values()


def test_who_sows_more_safely_pays_less_for_cells_and_surplus():
    sparing, usual, safe = (USUAL_PRICES[choice] for choice in CHOICES)
    assert sparing.cell > usual.cell > safe.cell > 0
    assert sparing.surplus > usual.surplus > safe.surplus > 0


TWO = (
    '\n[[want]]\ncrops = ["pea-shoots", "microgreens-brassica"]\nper_week = 90\nunit = "g"\nvariety = true\n'
)


@pytest.mark.parametrize("variety", [True, False], ids=["variety", "no variety"])
def test_one_crop_in_place_of_two_costs_more_where_variety_is_asked(variety, tables):
    """By as much as it brings beyond its three quarters of what is wanted in two weeks running."""
    more = season_makers.TRAYS + (TWO if variety else TWO.replace("variety = true\n", ""))
    made = season_makers.maker(small_space.text(weeks=12, more=more).replace("1.1", "1.6", 1), tables)
    options = made.slots.candidates.options
    want = next(number for number, its in enumerate(made.builder.space.wants) if len(its.crops) > 1)
    of = {options[at].grown.crop.slug: at for at in made.slots.days if options[at].want == want}
    days = [day for day in made.slots.days[of["pea-shoots"]] if day % 7 == 0]
    peas = {made.slots.slot(of["pea-shoots"], day, 1): 1 for day in days}
    both = {
        made.slots.slot(of[("pea-shoots", "microgreens-brassica")[at % 2]], day, 1): 1
        for at, day in enumerate(days)
    }
    scorer = season_makers.scorer(made, (LUCK,), prices=FREE)
    plain = season_makers.scorer(made, (LUCK,), prices=FREE)
    plain.__dict__["wants"] = tuple(its.model_copy(update={"variety": False}) for its in plain.wants)
    extra = [(scorer.scores([sown]) - plain.scores([sown])).mean() for sown in (peas, both)]
    if not variety:
        assert extra == [0, 0]
        return
    expected = np.zeros(LUCK)
    seasons, _ = seasons_of(scorer, peas)
    counted, brought = scorer.counted[want], np.zeros((scorer.counted.shape[1], LUCK))
    for day, much in zip(seasons.cut_day[0], seasons.cut_amount[0], strict=True):
        for season in np.flatnonzero(day >= 0):
            brought[day[season] // 7, season] += much[season]
    for week in range(1, len(counted)):
        if counted[week] > 0 and counted[week - 1] > 0:
            most = MOST_OF_ONE * (counted[week] + counted[week - 1])
            expected += SAMENESS * np.maximum(brought[week] + brought[week - 1] - most, 0) / 90
    assert extra[0] == pytest.approx(expected.mean(), abs=1e-5)
    assert extra[0] > 3 * extra[1]
