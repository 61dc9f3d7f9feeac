"""What stands on the day of planning again, in drawn seasons: how large it is, and what was cut before."""

import numpy as np
import pytest
from replanned_space import BASIL, NURSERY, START, days, text

from cropcal.planning.candidates.prepare import prepare
from cropcal.planning.luck.drawn import SeasonModel
from cropcal.planning.luck.streams import RandomStreams
from cropcal.planning.replan.resume import resume
from cropcal.records.journal import Entry
from cropcal.records.written_plan import Past
from cropcal.seasons.luck import LUCKLESS
from cropcal.seasons.plants import Plants
from cropcal.seasons.world import Delivery

LUCK, SEED = 9, 5
HEADS = {"more": NURSERY}


def about(event, batch, day, crop="lettuce-butterhead", bed="step", **more):
    """Return a note of a batch on a day of the plan."""
    return Entry(event=event, batch=batch, crop=crop, bed=bed, on=START + days(day), **more)


def raised(*, moved=None):
    """Return the notes of two lettuces sown in the nursery on the second day of the plan."""
    notes = [about("sown", "x0105a", 1, bed="saucer", amount=2, unit="cells")]
    return (
        notes if moved is None else [*notes, about("transplanted", "x0105a", moved, amount=2, unit="sites")]
    )


def basil(*cuts):
    """Return the notes of three sites of basil sown in place, and of some cuts of them."""
    sown = about("sown", "x0105b", 1, crop="basil", amount=3, unit="sites")
    return [sown, *(about("harvested", "x0105b", day, crop="basil", amount=40, unit="g") for day in cuts)]


@pytest.fixture
def standing(read_text, tables):
    """Return what stands on a day: its one way to go on, a stage of drawn seasons, and what was resumed."""

    def stands(changes, notes, day, seasons=LUCK, seed=SEED):
        made = prepare(read_text(text(**changes)), tables)
        past = Past(on=START + days(day), events=tuple(notes))
        resumed = resume(past, made.space, tables, made.assessment, made.candidates, made.task, made.serving,
                         made.wanted)  # fmt: skip
        parts = tuple((group, group.ways[0], list(group.plots)) for group in resumed.groups)
        batches = {group.batch.planned.id: group.batch.planned for group in resumed.groups}
        model = SeasonModel(made.assessment, resumed.candidates, made.serving, made.wanted, 1, resumed)
        return parts, model.stage(parts, batches, seasons, seed), resumed

    return stands


CASES = {
    "in the nursery": (HEADS, raised(), 12),
    "on its site": (HEADS, raised(moved=20), 33),
    "moved late": (HEADS, raised(moved=27), 33),
    "sown in place": (BASIL, basil(), 40),
    "cut once": (BASIL, basil(62), 72),
    "just cut": (BASIL, basil(62), 63),
    "not ready": (HEADS, [*raised(moved=20), about("not ready", "x0105a", 52)], 53),
}
each_case = pytest.mark.parametrize(("changes", "notes", "day"), CASES.values(), ids=list(CASES))


@each_case
def test_it_is_as_large_today_as_the_growth_law_says(changes, notes, day, standing):
    """In each season, by the stages as they were: days in the nursery, on the site, and since each cut."""
    ((group, way, _),), stage, _ = standing(changes, notes, day)
    (part,) = stage.standing
    stages, crop = way.grown.stages, way.grown.crop
    luck = RandomStreams(LUCK, SEED)
    arrays = stages.one_for_each(
        0, *luck.shifts(crop.slug, "stairs", stages.pace, stages.spots[-1].sd_ln_light)
    )
    cuts = [(note.on - START).days for note in notes if note.event == "harvested"]
    moved = [(note.on - START).days for note in notes if note.event == "transplanted"]
    if moved:
        assert stages.ends_d[0].tolist() == [moved[0] - 1, np.inf]
    looked = way.grown.late_d
    fresh = stages.fresh_g_at(0, tuple(at - 1 - looked for at in (*cuts, day)), arrays)
    assert part.mass_g == pytest.approx(fresh * crop.dry_matter, rel=1e-9)
    assert np.ptp(part.mass_g) > 0.05 * part.mass_g.mean(), "luck decides how large"
    assert (part.done, part.waits, part.sown) == (len(cuts), not moved and bool(group.batch.waits), 1)
    begins = max(day, cuts[0] + crop.cut_lag_d) if cuts else day
    assert (part.from_d >= begins).all()
    assert (part.from_d[arrays[0] + 1 <= begins] == begins).all()


@pytest.mark.parametrize("name", ["on its site", "moved late", "sown in place", "not ready"])
def test_without_luck_it_is_full_on_the_day_of_its_table(name, standing):
    """The table of the way it goes on, which is by what was noted: for what is not ready, later."""
    changes, notes, day = CASES[name]
    ((_, way, _),), stage, _ = standing(changes, notes, day, 1, LUCKLESS)
    plants = Plants(stage.world, stage.standing, LUCKLESS)
    assert plants.table(plants.full)[0] == pytest.approx(1 + way.grown.ready_d[1][0], abs=1)
    assert stage.standing[0].not_before >= day
    if name == "not ready":
        ((_, unseen, _),), _, _ = standing(changes, notes[:-1], day, 1, LUCKLESS)
        assert 1 + unseen.grown.ready_d[1][0] < 52 < plants.table(plants.full)[0, 0]


def test_what_was_cut_again_is_full_as_long_after_its_cut_as_its_table_says(standing):
    """The days from a cut of a full plant to the next: here cut on the day on which it was full."""
    ((_, way, _),), _, _ = standing(BASIL, basil(), 40, 1, LUCKLESS)
    full = 1 + float(way.grown.ready_d[1][0])
    cut = round(full)
    ((_, way, _),), stage, _ = standing(BASIL, basil(cut), cut + 2, 1, LUCKLESS)
    plants = Plants(stage.world, stage.standing, LUCKLESS)
    gap = float(way.grown.cut_gaps_d[0, 0])
    assert plants.table(plants.full)[0] == pytest.approx(cut + gap, abs=1)


def test_what_was_cut_before_is_eaten_by_its_days(standing, tables):
    """Three heads cut on one day for one a week: each in its week as long as they keep, then thrown away."""
    keeps = tables.crops["lettuce-butterhead"].keeping_d
    cut, today = 56, 57
    notes = [*raised(moved=20), about("harvested", "x0105a", cut, amount=2, unit="heads")]
    more = [
        about("sown", "x0105c", 1, bed="saucer", amount=2, unit="cells"),
        about("transplanted", "x0105c", 20, amount=2, unit="sites"),
        about("harvested", "x0105c", cut, amount=2, unit="heads"),
    ]
    _, stage, _ = standing(HEADS, [*notes, *more], today)
    assert stage.before == (Delivery(0, cut, cut + keeps, 2.0),) * 2
    result = stage.run([])
    week = cut // 7
    good = [1.0 if 7 * (week + later) <= cut + keeps else 0.0 for later in range(4)]
    assert sum(good) < 4, "some of it must be thrown away"
    assert result.eaten[0, week : week + 4].T.tolist() == [good] * LUCK
    assert result.wasted[0].tolist() == [4 - sum(good)] * LUCK
    assert not stage.standing


def test_the_luck_of_a_batch_is_the_same_on_the_next_day(standing):
    """Looked at a day later, the same seasons are drawn: a plant that is ahead today is ahead tomorrow."""
    _, first, _ = standing(HEADS, raised(moved=20), 33)
    _, later, _ = standing(HEADS, raised(moved=20), 34)
    assert first.standing[0].name == later.standing[0].name
    assert (later.standing[0].mass_g > first.standing[0].mass_g).all()
    plants = [Plants(stage.world, stage.standing, SEED) for stage in (first, later)]
    assert plants[0].factor == pytest.approx(plants[1].factor)
    assert plants[0].full == pytest.approx(plants[1].full, abs=1e-6)
