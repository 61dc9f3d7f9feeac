"""Planning again: standing crops are continued, late ones move, losses are made up for."""

from collections import defaultdict
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from depth import few_of
from replanned_space import BASIL, NURSERY, START, days, noted, text
from untold import batches_untold, jobs_untold

from cropcal.planning.candidates.work_calendar import WorkCalendar
from cropcal.planning.growth.pace import Pace
from cropcal.planning.planner import plan
from cropcal.planning.replan.consumed import stored_after_week, with_keeping_weeks
from cropcal.planning.replan.standing import standing_batches
from cropcal.records.journal import Entry
from cropcal.records.plan import Batch, SiteUse, Supply
from cropcal.records.space import Want
from cropcal.records.written_plan import Past

CLEAN = timedelta(days=1)


def past_of(made, on, *events):
    lines = tuple(sorted(events, key=lambda event: event.on))
    return Past(on=on, batches=made.batches, sites=made.sites, supply=made.supply, events=lines)


def without_chance(supply):
    """Return demand and supply of each week; the chance grows with the share already standing."""
    return [row.model_copy(update={"chance": None, "in_8_of_10": None}) for row in supply]


def twice_used(made, on=START):
    """Return the sites that two batches hold on one day from a day on, clean days included."""
    held = defaultdict(list)
    for use in made.sites:
        if use.held_until + CLEAN > on:
            held[use.bed, use.site].append((use.held_from, use.held_until))
    return [
        (place, one, other)
        for place, spans in held.items()
        for one, other in zip(sorted(spans), sorted(spans)[1:], strict=False)
        if one[1] + CLEAN > other[0]
    ]


@pytest.fixture(scope="module")
def stairs(read_text, tables):
    """Return a space of one bed and one crop, and its first plan."""
    space = read_text(text())
    return space, plan(space, tables)


@pytest.fixture(scope="module")
def raised(read_text, tables):
    """Return the same with a nursery."""
    space = read_text(text(more=NURSERY))
    return space, plan(space, tables)


@pytest.fixture(scope="module")
def roomy(read_text, tables):
    """Return the same with eight sites, where there is room for two lettuces more."""
    space = read_text(text(sites=8, more=NURSERY))
    return space, plan(space, tables)


@pytest.fixture(scope="module")
def kitchen(read_text, tables):
    """Return a kitchen's rack, and its first plan."""
    file = Path(__file__).resolve().parents[2] / "spaces" / "plans" / "fridge-top.toml"
    space = read_text(file.read_text(encoding="utf-8"))
    assert space.settings.start == START
    return space, plan(space, tables)


@pytest.mark.parametrize("which", ["stairs", "raised"])
@pytest.mark.parametrize("after", few_of([37, 80, 1, 4, 9, 58, 104], 2))
def test_nothing_changes_when_all_went_as_planned(which, after, request, tables):
    """Planned again on any later day, every batch, site and job is what it was."""
    space, first = request.getfixturevalue(which)
    again = plan(space, tables, past=past_of(first, START + days(after)))
    assert again.again.revisions == ()
    assert batches_untold(again.batches) == batches_untold(first.batches)
    assert again.sites == first.sites
    assert jobs_untold(again.jobs) == jobs_untold(first.jobs)
    assert without_chance(again.supply) == without_chance(first.supply)


def rounded(job):
    """Return a job with its amount in whole g or heads."""
    return job.model_copy(
        update={"amount": None if job.amount is None else round(job.amount), "likely": None}
    )


@pytest.mark.deep
@pytest.mark.parametrize("after", few_of([66, 1, 45, 94, 120], 1))
def test_nothing_changes_in_a_kitchen_either(after, kitchen, tables):
    """Five wants, three beds and a nursery, a break: planned again with all as planned, all stays.

    What is kept over the day itself as well: jobs tell to keep as much as before. A sowing or two may be
    added at the end, where less was sown than fits; none that was planned is changed.
    """
    space, first = kitchen
    again = plan(space, tables, past=past_of(first, START + days(after)))
    added = {row.batch for row in again.again.revisions}
    assert {row.what for row in again.again.revisions} <= {"new"}
    assert len(added) <= 2
    stayed = [batch for batch in batches_untold(again.batches) if batch.id not in added]
    assert tuple(stayed) == batches_untold(first.batches)
    if not added:
        assert again.sites == first.sites
        assert list(map(rounded, again.jobs)) == list(map(rounded, first.jobs))


def test_noting_everything_on_its_day_changes_nothing_either(raised, tables):
    """A grower who notes each sowing and transplanting as planned sees no job taken as done."""
    space, first = raised
    on = START + days(30)
    events = [noted("sown", batch, batch.sow_on) for batch in first.batches if batch.sow_on < on]
    events += [
        noted("transplanted", batch, batch.transplant_on)
        for batch in first.batches
        if batch.transplant_on and batch.transplant_on < on
    ]
    again = plan(space, tables, past=past_of(first, on, *events))
    assert again.again.taken_done == ()
    assert again.again.revisions == ()
    assert batches_untold(again.batches) == batches_untold(first.batches)


def test_a_batch_sown_late_is_cut_later_on_its_own_sites(stairs, tables):
    """Sown two weeks late in the same light, it takes as long to grow and is cut about as much later."""
    space, first = stairs
    late = first.batches[0]
    sown = late.sow_on + days(14)
    again = plan(space, tables, past=past_of(first, sown + days(1), noted("sown", late, sown)))
    now = next(batch for batch in again.batches if batch.id == late.id)
    grew = late.ready_from_low_80 - late.sow_on
    assert now.sow_on == sown
    assert now.ready_from_low_80 - now.sow_on == grew
    assert now.harvests[0].on >= late.harvests[0].on + days(7)
    assert {use.site for use in again.sites if use.batch == late.id} == {
        use.site for use in first.sites if use.batch == late.id
    }
    assert {(row.batch, row.what) for row in again.again.revisions} >= {(late.id, "sown"), (late.id, "cut")}
    assert twice_used(again) == []


def test_a_slip_of_three_days_moves_no_job_of_the_next_week(read_text, tables):
    """Sown three days late where there is room, all jobs of the seven days after planning stay.

    But for thinning: the seedlings that came up later are thinned on the next work day.
    """
    space = read_text(text(sites=8))
    first = plan(space, tables)
    late = first.batches[0]
    for on in (late.sow_on + days(4), late.harvests[0].on - days(3)):
        again = plan(space, tables, past=past_of(first, on, noted("sown", late, late.sow_on + days(3))))
        thinned = [
            job.on
            for made in (first, again)
            for job in made.jobs
            if (job.batch, job.job) == (late.id, "thin")
        ]
        assert thinned[0] <= thinned[-1] <= thinned[0] + days(4)
        soon = [
            [
                job
                for job in jobs_untold(made.jobs)
                if on <= job.on < on + days(7) and (job.batch, job.job) != (late.id, "thin")
            ]
            for made in (first, again)
        ]
        assert soon[0]
        assert soon[0] == soon[1]


def test_seedlings_seen_late_move_no_cut_weeks_ahead(stairs, tables):
    """Up two days later than the book says, heads are lighter by a tenth: no reason to call a week short."""
    space, first = stairs
    batch = min(first.batches, key=lambda one: one.harvests[0].on - one.ready_from)
    up = batch.emerge_on + days(2)
    lines = [noted("sown", batch, batch.sow_on), noted("emerged", batch, up)]
    again = plan(space, tables, past=past_of(first, up + days(1), *lines))
    assert again.again.revisions == ()
    now, then = ([job for job in jobs_untold(made.jobs) if job.job == "cut"] for made in (again, first))
    assert now == then


def sites_sown(made, since):
    """Return the sites sown from a day on."""
    return sum(batch.sites for batch in made.batches if batch.sow_on >= since)


def test_what_is_lost_is_sown_again_if_that_still_helps(read_text, tables):
    """Basil cut week after week: a lost batch gives its sites back, and as much more is sown from now on.

    It may be a new batch, with a new id, or more of one still to come. Planned again on the same day or the
    next, with no more news, the plan is the same.
    """
    space = read_text(text(**BASIL))
    first = plan(space, tables)
    lost = first.batches[0]
    on = lost.sow_on + days(3)
    line = noted("lost", lost, on - days(1), why="mice")
    again = plan(space, tables, past=past_of(first, on, line))
    assert sites_sown(again, on) == sites_sown(first, on) + lost.sites
    assert again.outcome.short_want_weeks <= first.outcome.short_want_weeks + 0.5
    (told,) = (row for row in again.again.revisions if row.what == "lost")
    assert (told.why, told.sites) == ("mice", lost.sites)
    assert "to replace what was lost" in {row.why for row in again.again.revisions}
    assert next(batch for batch in again.batches if batch.id == lost.id).harvests == ()
    assert all(use.held_until == on - days(1) for use in again.sites if use.batch == lost.id)
    assert twice_used(again) == []
    for later in (on, on + days(1)):
        at_rest = plan(space, tables, past=past_of(again, later, line))
        assert at_rest.again.revisions == ()
        assert batches_untold(at_rest.batches) == batches_untold(again.batches)
        assert at_rest.sites == again.sites


def test_a_sowing_besides_the_plan_is_gone_on_with(stairs, tables):
    """Two more lettuces, sown by somebody on a free day: they get sites and a day of cutting, and count."""
    space, first = stairs
    on, extra = START + days(8), "x0108a"
    about = {"batch": extra, "crop": "lettuce-butterhead"}
    line = Entry(event="sown", bed="step", amount=2, unit="sites", on=START + days(4), **about)
    again = plan(space, tables, past=past_of(first, on, line))
    now = next(batch for batch in again.batches if batch.id == extra)
    assert (now.sow_on, now.sites, now.amount) == (line.on, 2, 2.0)
    assert now.harvests[0].on > line.on + days(30)
    week = now.harvests[0].on - days(now.harvests[0].on.weekday())
    row = next(row for row in again.supply if row.week == week)
    assert row.ready + row.for_later >= now.harvests[0].amount
    held = [use for use in again.sites if use.batch == extra]
    assert len(held) == 2
    assert twice_used(again, on) == []
    assert plan(space, tables, past=past_of(again, on + days(1), line)).again.revisions == ()
    cut = now.harvests[0].on
    lines = [line, noted("harvested", now, cut, amount=2.0, unit="heads")]
    later = plan(space, tables, past=past_of(again, cut + days(1), *lines))
    assert sum(h.amount for b in later.batches if b.id == extra for h in b.harvests) == 2.0
    assert twice_used(later, cut + days(1)) == []


@pytest.mark.parametrize("since", few_of([40, 8], 1))
def test_seedlings_sown_besides_the_plan_get_their_sites_too(since, roomy, tables):
    """Two cells of the wanted lettuce: they are moved and cut, each on a free site, and the list says so."""
    space, first = roomy
    on = START + days(since)
    about = {"batch": "x9", "crop": "lettuce-butterhead", "bed": "saucer"}
    line = Entry(event="sown", amount=2, unit="cells", on=on - days(4), **about)
    again = plan(space, tables, past=past_of(first, on, line))
    now = next(batch for batch in again.batches if batch.id == "x9")
    assert (now.bed, now.nursery, now.sites, now.amount, now.want) == ("step", "saucer", 2, 2.0, 0)
    moves = [job for job in again.jobs if job.batch == "x9" and job.job == "transplant"]
    assert sum(job.amount for job in moves) == 2
    for job in moves:
        uses = [use for use in again.sites if use.batch == "x9" and use.held_from == job.on]
        assert job.sites in {", ".join(str(use.site) for use in uses), "-".join(str(u.site) for u in uses)}
    assert twice_used(again, on) == []
    told = [row for row in again.again.revisions if row.batch == "x9"]
    assert [(row.what, row.now, row.why) for row in told] == [
        ("cut", now.harvests[0].on, "sown outside the plan")
    ]
    assert plan(space, tables, past=past_of(again, on + days(1), line)).again.revisions == ()


def test_what_finds_no_room_is_told(read_text, tables):
    """Every site is spoken for by what was sown as planned: two more are to be taken out."""
    space = read_text(text(more=NURSERY, per_week=2, sites=5))
    first = plan(space, tables)
    on = START + days(40)
    about = {"batch": "x9", "crop": "lettuce-butterhead", "bed": "saucer"}
    line = Entry(event="sown", amount=2, unit="cells", on=on - days(4), **about)
    again = plan(space, tables, past=past_of(first, on, line))
    told = [(row.what, row.sites, row.why) for row in again.again.revisions if row.batch == "x9"]
    assert told == [("given up", 2, "no room")]
    assert [use for use in again.sites if use.batch == "x9"] == []


@pytest.mark.parametrize("bed", ["saucer", "step"])
def test_what_nobody_wants_is_cut_but_feeds_no_want(bed, roomy, tables):
    """Basil beside the lettuce that is wanted: it is kept until it is ready and its yield counts."""
    space, first = roomy
    on = START + days(8)
    line = Entry(event="sown", amount=2, on=on - days(4), batch="x9", crop="basil", bed=bed)
    again = plan(space, tables, past=past_of(first, on, line.model_copy(update={"unit": "sites"})))
    now = next(batch for batch in again.batches if batch.id == "x9")
    assert now.want == -1
    assert 20 < now.amount < 400
    assert [(row.ready, row.wanted) for row in again.supply] == [
        (row.ready, row.wanted) for row in first.supply
    ]
    assert twice_used(again, on) == []


def test_what_was_harvested_is_what_the_past_weeks_got(read_text, tables):
    """Two heads short of five harvested are missing from that week, and the plan does not rewrite it."""
    space = read_text(text(sites=30, per_week=5))
    first = plan(space, tables)
    batch = next(one for one in first.batches if one.harvests[0].sites == 5)
    cut = batch.harvests[0].on
    lines = [noted("harvested", batch, cut, amount=3.0, unit="heads"), noted("lost", batch, cut, amount=2.0)]
    again = plan(space, tables, past=past_of(first, cut + days(1), *lines))
    week = cut - days(cut.weekday())
    row = next(row for row in again.supply if row.week == week)
    assert (row.ready, row.short) == (3.0, 2.0)
    assert [job for job in again.jobs if job.on < cut and job.batch != batch.id] == [
        job for job in first.jobs if job.on < cut and job.batch != batch.id
    ]


def test_what_was_cut_and_not_eaten_feeds_the_week_after(read_text, tables):
    """Three heads more than a week eats, one is left to cut in the next: what was kept makes up for them.

    Lettuce keeps for two weeks, so those heads are no help in the third; nor are heads that were eaten.
    """
    space = read_text(text(sites=30, per_week=5, weeks=18))
    first = plan(space, tables)
    batch = [one for one in first.batches if one.sites == 6][-1]
    cut = batch.harvests[0].on
    monday = cut - days(cut.weekday())
    in_week_after = [
        one.id
        for one in first.batches
        for harvest in one.harvests
        if monday + days(7) <= harvest.on < monday + days(14)
    ]
    assert in_week_after == [batch.id]
    extra = {"batch": "x0101a", "crop": batch.crop, "bed": "step"}
    sown = Entry(event="sown", on=START, amount=3, unit="sites", **extra)
    more = Entry(event="harvested", on=cut, amount=3.0, unit="heads", cut="whole", **extra)
    lines = [noted("harvested", batch, cut, amount=5.0, unit="heads", cut="whole")]
    on = monday + days(7)
    rows = {}
    for name, events in (("eaten", lines), ("kept", [*lines, sown, more])):
        made = plan(space, tables, past=past_of(first, on, *events))
        rows[name] = [row for row in made.supply if row.week >= monday][:3]
    got = {name: [(row.ready, row.short, row.from_before) for row in rows[name][:2]] for name in rows}
    assert got["eaten"] == [(5, 0, 0), (1, 4, 0)]
    assert got["kept"][0] == (5, 0, 0)
    assert (rows["kept"][0].for_later, rows["kept"][1].from_before) == (3, 3)
    missing = {name: sum(row.short for row in rows[name][1:]) for name in rows}
    assert missing["kept"] == missing["eaten"] - 3
    assert rows["kept"][2].from_before <= 1  # the head of the week between, if it is kept


def test_each_week_that_is_over_ate_what_it_wanted():
    """Four cut for two weeks of two, but the plan kept one of them longer: that one alone is left."""
    demand, nothing = np.array([[2.0, 2.0, 2.0, 2.0]]), np.zeros((1, 4))
    cut = {(0, 0, 2): 4.0}
    assert with_keeping_weeks(cut, demand, nothing, 1) == {(0, 0, 0): 2.0, (0, 0, 2): 2.0}
    assert with_keeping_weeks(cut, demand, nothing, 2) == {(0, 0, 0): 2.0, (0, 0, 1): 2.0}
    keep_one = np.array([[2.0, 1.0, 0.0, 0.0]])
    assert with_keeping_weeks(cut, demand, keep_one, 2) == {(0, 0, 0): 2.0, (0, 0, 1): 1.0, (0, 0, 2): 1.0}
    two = {(0, 0, 1): 1.0, (0, 1, 2): 3.0}
    assert with_keeping_weeks(two, demand, nothing, 2) == {(0, 0, 0): 1.0, (0, 1, 0): 2.0, (0, 1, 2): 1.0}


def test_what_is_kept_across_the_start_of_a_plan():
    """Five kept into the first week, two of it into the second, three of that on: what each has left."""
    time = WorkCalendar(date(2027, 1, 11), 3, (), ("mon",), ("mon",))
    want = Want(crops=("basil",), per_week=5.0)
    row = {"want": 0, "label": want.label, "wanted": 5.0, "ready": 5.0, "short": 0.0, "over": 0.0}
    row |= {"unit": "g", "counted": True, "why": ""}
    kept = [(4, 0.0, 5.0), (11, 5.0, 2.0), (18, 2.0, 3.0)]
    supply = [
        Supply(**row, week=date(2027, 1, day), from_before=came, for_later=goes) for day, came, goes in kept
    ]
    assert stored_after_week(supply, [want], time).tolist() == [[2.0, 3.0, 3.0]]
    assert stored_after_week(supply[1:], [Want(crops=("mint",), per_week=5.0)], time).tolist() == [[0.0] * 3]


TWO = {"amount": 2.0, "unit": "plants"}


@pytest.mark.parametrize(
    ("lines", "left"),
    [
        ([("lost", 20, {})], 0),
        ([("lost", 20, TWO)], 4),
        ([("lost", 20, {"sites": (1, 2, 3)})], 3),
        ([("lost", 5, TWO), ("transplanted", 14, {"amount": 4.0, "unit": "sites"})], 4),
        ([("harvested", 20, {"amount": 1.0, "unit": "heads"}), ("lost", 20, TWO)], 3),
    ],
)  # fmt: skip
def test_what_is_left_is_one_number(lines, left, tables):
    """What `log` says is left of six heads is what planning again continues with."""
    sown, day = START, days(60)
    batch = Batch(
        id="b", want=0, crop="lettuce-butterhead", bed="step", nursery="saucer", sow_on=sown,
        emerge_on=sown + days(4), transplant_on=sown + days(14), ready_from=sown + day,
        ready_from_low_80=sown + day, ready_from_high_80=sown + day, ready_until=sown + day,
        clear_on=sown + day, sites=6, cells=6, seeds=6, unit="heads", harvests=(),
    )  # fmt: skip
    uses = [
        SiteUse(bed="step", site=site, batch="b", crop=batch.crop, held_from=sown + days(14),
                held_until=sown + day, cuts=(sown + day,))
        for site in range(1, 7)
    ]  # fmt: skip
    events = [
        noted("sown", batch, sown),
        *(noted(name, batch, sown + days(d), **more) for name, d, more in lines),
    ]
    past = Past(on=sown + days(30), batches=(batch,), sites=tuple(uses), events=tuple(events))
    ((one,), _) = standing_batches(past, tables.crops, frozenset({"saucer"}))
    assert len(one.standing) == one.history.left == left


@pytest.mark.parametrize("after", [0, 1])
def test_a_look_that_found_it_not_ready_moves_the_cut(after, stairs, tables):
    """Noted as not ready on its day, it is not taken as cut: it is kept, and is ready a day later at best.

    Planned again on the very day of the look, or on the next.
    """
    space, first = stairs
    batch = first.batches[0]
    cut = batch.harvests[0].on
    again = plan(space, tables, past=past_of(first, cut + days(after), noted("not ready", batch, cut)))
    now = next(one for one in again.batches if one.id == batch.id)
    assert now.harvests
    assert all(harvest.on > cut for harvest in now.harvests)
    assert cut < now.ready_from_low_80 <= now.ready_from <= now.ready_from_high_80
    assert sum(harvest.sites for harvest in now.harvests) == batch.sites
    told = [row for row in again.again.revisions if row.batch == batch.id]
    assert [(row.what, row.before, row.why) for row in told] == [("cut", cut, "not ready when looked at")]


def test_a_late_batch_is_expected_later_than_the_next_day_of_cutting(stairs, tables):
    """Not ready on its day, with a forecast good to weeks: half of what is left of it lies over a week on."""
    space, first = stairs
    batch = first.batches[0]
    cut = batch.harvests[0].on
    wide = (batch.ready_from_high_80 - batch.ready_from_low_80).days
    assert wide > 20
    again = plan(space, tables, past=past_of(first, cut, noted("not ready", batch, cut - days(1))))
    now = next(one for one in again.batches if one.id == batch.id)
    assert cut + days(5) < now.harvests[0].on < cut + days(wide)
    assert cut - days(1) <= now.ready_from_low_80 < now.ready_from <= now.harvests[0].on


def test_what_is_ready_after_the_plan_ends_stands_on(read_text, tables):
    """A batch sown six weeks late is not taken out: it holds its sites to the end, with nothing to cut."""
    space = read_text(text())
    first = plan(space, tables)
    late, end = first.batches[-1], START + days(16 * 7)
    on = late.harvests[0].on - days(5)
    line = noted("sown", late, on - days(2))
    again = plan(space, tables, past=past_of(first, on, line))
    (now,) = (one for one in again.batches if one.id == late.id)
    held = [use for use in again.sites if use.batch == late.id]
    assert (now.harvests, now.clear_on) == ((), end)
    assert [(use.cuts, use.held_until) for use in held] == [((), end)] * late.sites
    (row,) = (row for row in again.again.revisions if (row.batch, row.what) == (late.id, "cut"))
    assert (row.now, row.why) == (None, "not ready before the plan ends")
    assert {job.job for job in again.jobs if job.batch == late.id and job.on >= on} <= {"thin"}
    assert twice_used(again, on) == []
    assert plan(space, tables, past=past_of(again, on + days(1), line)).again.revisions == ()


@pytest.mark.parametrize("moved", [True, False])
def test_what_is_not_ready_is_not_given_up_for_what_follows(moved, read_text, tables):
    """A head is late, in the other half of the bed one was lost: what was to follow the late one goes there.

    Whether it was moved already, to a site that nobody noted, or still waits in the nursery.
    """
    halves = text(sites=4, more=NURSERY).replace("[[220]]", "[[240, 180]]")
    space = read_text(halves.replace("sites = 4", "rows = 1\ncolumns = 4", 1))
    first = plan(space, tables)
    site = {use.batch: use.site for use in first.sites}
    _, late, *others = first.batches  # the other site of its half is taken all the while
    follower = next(batch for batch in others if site[batch.id] == site[late.id])
    gone = next(
        batch
        for batch in others
        if (site[batch.id] <= 2) != (site[late.id] <= 2)
        and batch.transplant_on < follower.transplant_on < batch.harvests[0].on
    )
    looks = [day for day in first.work_days if late.harvests[0].on <= day < follower.transplant_on]
    lines = [noted("not ready", late, day) for day in looks]
    lines += [noted("lost", gone, gone.transplant_on + days(1))]
    lines += [noted("transplanted", follower, follower.transplant_on)] if moved else []
    on = follower.transplant_on + days(1 if moved else 0)
    again = plan(space, tables, past=past_of(first, on, *lines))
    assert [row for row in again.again.revisions if row.what == "given up"] == []
    assert twice_used(again, on) == []
    now = {batch.id: batch for batch in again.batches}
    for batch in (late, follower):
        assert [harvest.on >= on for harvest in now[batch.id].harvests] == [True]
    now_on = {use.batch: use.site for use in again.sites}
    assert now_on[late.id] == site[late.id]
    if moved:
        assert (now_on[follower.id] <= 2) == (site[gone.id] <= 2)


def test_leaves_cut_once_are_cut_again_from_there(read_text, tables):
    """Basil whose first cut was noted a week late is cut again as much later, on the same sites."""
    space = read_text(text(crop="basil", unit="g", per_week=60, weeks=22, sites=8))
    first = plan(space, tables)
    batch = next(one for one in first.batches if any(harvest.cut == 2 for harvest in one.harvests))
    cut, second = batch.harvests[0].on, next(h.on for h in batch.harvests if h.cut == 2)
    line = noted("harvested", batch, cut + days(7), amount=50.0, unit="g", cut=1)
    again = plan(space, tables, past=past_of(first, cut + days(8), line))
    now = next(one for one in again.batches if one.id == batch.id)
    assert (now.harvests[0].on, now.harvests[0].amount) == (cut + days(7), 50.0)
    assert now.harvests[1:]
    assert all(h.on >= second for h in now.harvests[1:])
    assert twice_used(again, cut + days(8)) == []


def test_what_is_to_be_sown_keeps_its_id_and_each_change_its_reason(raised, tables):
    """Slower than thought, so that days move: what is sown on the day it was planned for is no new batch."""
    space, first = raised
    slow = {(space.wants[0].crops[0], "step"): Pace(ln_speed=-0.15)}
    again = plan(space, tables, past=past_of(first, START + days(21)), paces=slow)
    assert any(row.what == "cut" and row.why == "slower than planned" for row in again.again.revisions)
    planned = {batch.sow_on: batch.id for batch in first.batches}
    same_day = [batch for batch in again.batches if batch.sow_on in planned]
    assert len(same_day) > 5
    assert [batch.id for batch in same_day] == [planned[batch.sow_on] for batch in same_day]
    assert all(row.why for row in again.again.revisions)
    gone = [row for row in again.again.revisions if row.what == "dropped" and "instead" in row.why]
    new = {row.why.removeprefix("in place of ") for row in again.again.revisions if row.what == "new"}
    assert {row.batch for row in gone} <= new


def test_a_job_not_noted_is_told_until_something_shows_that_it_was_done(raised, tables):
    """A sowing not noted is taken as done and listed; once its seedlings were moved nobody asks any more."""
    space, first = raised
    batch = first.batches[0]
    moved = noted("transplanted", batch, batch.transplant_on)
    told = {}
    for name, on, lines in (
        ("before", batch.sow_on + days(3), []),
        ("moved", batch.transplant_on + days(1), [moved]),
        ("long ago", batch.sow_on + days(22), []),
    ):
        again = plan(space, tables, past=past_of(first, on, *lines))
        told[name] = [job for job in again.again.taken_done if job.batch == batch.id and job.job == "sow"]
        assert batches_untold(again.batches) == batches_untold(first.batches)
    assert [len(told[name]) for name in ("before", "moved", "long ago")] == [1, 0, 0]


@pytest.mark.parametrize("seed", few_of(range(8), 2))
def test_whatever_was_noted_no_site_is_used_twice(seed, raised, tables):
    """Random sowing days, losses and harvests: sites stay apart, ids stay, and planning again is at rest."""
    space, first = raised
    rng = np.random.default_rng(seed)
    on = START + days(int(rng.integers(20, 100)))
    lines = []
    for batch in first.batches:
        if batch.sow_on >= on or rng.random() < 0.4:
            continue
        lines.append(noted("sown", batch, min(batch.sow_on + days(int(rng.integers(0, 12))), on - days(1))))
        if rng.random() < 0.4:
            lines.append(noted("lost", batch, on - days(1), amount=1.0, unit="sites"))
        if batch.harvests[0].on < on:
            lines.append(noted("harvested", batch, on - days(1), amount=1.0, unit="heads"))
    again = plan(space, tables, past=past_of(first, on, *lines))
    assert twice_used(again, on) == []
    begun = {batch.id for batch in first.batches if batch.sow_on < on}
    assert begun <= {batch.id for batch in again.batches}
    assert len({batch.id for batch in again.batches}) == len(again.batches)
    assert plan(space, tables, past=past_of(again, on, *lines)).again.revisions == ()
