"""Which row of the calendar each batch is in: no two in one place, each once, few rows, words that fit."""

from collections import Counter
from itertools import combinations

import pytest
from show_plans import random_plan, small_plan

from cropcal.show.lanes import MOST_ROWS, letter_of, places
from cropcal.show.pictures.calendar_layout import chart

SIZES = [(6, 16, 1, 1), (28, 20, 3, 2), (80, 25, 6, 3), (200, 26, 28, 4)]
"""Sites, weeks, crops, beds."""
A_HAIR = 1e-9


@pytest.fixture(scope="module", params=SIZES, ids=lambda case: f"{case[0]} sites")
def drawn(request):
    """Return a plan of that size, the names of its crops, and its places."""
    sites, weeks, crops, beds = request.param
    plan, names = random_plan(sites, weeks, crops, beds=beds)
    return plan, names, places(plan)


def test_no_two_batches_are_in_one_place(drawn):
    """Stretches of a bed that share a height share no day."""
    for bed in drawn[2]:
        for one, other in combinations(bed.stretches, 2):
            apart_in_time = one.after <= other.first or other.after <= one.first
            above = one.top + one.height <= other.top + A_HAIR
            below = other.top + other.height <= one.top + A_HAIR
            assert apart_in_time or above or below, (bed.name, one, other)


def test_every_batch_is_drawn_once(drawn):
    """Each batch is in its nursery once, and in its bed with all of its sites."""
    plan, _, found = drawn
    held = Counter((use.bed, use.batch) for use in plan.sites)
    shown: Counter[tuple[str, str]] = Counter()
    for bed in found:
        ids = [stretch.batch.id for stretch in bed.stretches]
        if bed.by_sowing:
            assert len({*ids}) == len(ids)
        if bed.kind == "nursery":
            moved = [batch.id for batch in plan.batches if batch.nursery == bed.name and batch.transplant_on]
            assert sorted(ids) == sorted(moved)
        else:
            for stretch in bed.stretches:
                shown[bed.name, stretch.batch.id] += stretch.count
    assert shown == held


def test_few_sites_have_rows_and_many_sowings_have(drawn):
    """Rows are sites where these are few, and else sowings, never more of them than sites."""
    plan, _, found = drawn
    sites = {(use.bed, use.site) for use in plan.sites}
    for bed in found:
        if bed.kind == "bed":
            assert bed.by_sowing == (len(sites) > MOST_ROWS)
            of_bed = max(site for name, site in sites if name == bed.name)
            assert bed.rows <= of_bed if bed.by_sowing else bed.rows == of_bed


def test_there_are_as_few_rows_as_sowings_at_once(drawn):
    """A row for each sowing would do on the fullest day, and there is none beside."""
    for bed in drawn[2]:
        if bed.by_sowing:
            days = {tag.first for tag in bed.tags}
            most = max((sum(tag.first <= day < tag.after for tag in bed.tags) for day in days), default=0)
            assert bed.rows == max(most, 1)


def test_words_lie_within_a_bar_of_their_crop(drawn):
    """A label has a bar under it, or bars that touch, from its left end to its right end."""
    plan, names, _ = drawn
    layout = chart(plan, names)
    assert layout.labels
    for label in layout.labels:
        under = [
            (bar.left, bar.right)
            for bar in layout.bars
            if bar.crop == label.crop and bar.top - 0.1 <= label.y <= bar.bottom + 0.1
        ]
        reached = left = label.x - label.wide / 2
        for start, end in sorted(under):
            if start <= reached + A_HAIR:
                reached = max(reached, end)
        assert any(start <= left for start, _ in under)
        assert reached >= label.x + label.wide / 2


def test_batches_of_one_sowing_share_a_row():
    """Three batches of a crop, sown and planted on the same days, are one row with all of their sites."""
    plan = small_plan()
    lettuce = next(batch for batch in plan.batches if batch.id == "L1")
    uses = [use for use in plan.sites if use.batch == "L1"]
    batches = [lettuce.model_copy(update={"id": f"L1{letter}", "sites": 20}) for letter in "cde"]
    sites = [
        uses[0].model_copy(update={"batch": batch.id, "site": 20 * n + site})
        for n, batch in enumerate(batches)
        for site in range(1, 21)
    ]
    many = plan.model_copy(update={"batches": tuple(batches), "sites": tuple(sites)})
    (bed,) = [place for place in places(many) if place.name == lettuce.bed]
    assert bed.by_sowing
    assert bed.rows == 1
    assert [stretch.batch.id for stretch in bed.stretches] == ["L1c", "L1d", "L1e"]
    (tag,) = bed.tags
    assert tag.count == 60
    assert tag.height == pytest.approx(1)


def test_letters_go_on_after_z():
    """A to Z, then AA, AB: a letter for each of thirty crops."""
    assert [letter_of(number) for number in (0, 25, 26, 27, 52)] == ["A", "Z", "AA", "AB", "BA"]
