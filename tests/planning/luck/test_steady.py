"""The steady rule: no choice next to it is cheaper, and its plan does what its words say."""

import csv
import json
from collections import Counter
from datetime import date, timedelta
from functools import partial

import pytest
from depth import few_of
from small_space import START, SpaceFolder, text

from cropcal.planning.candidates.prepare import prepare
from cropcal.planning.luck import steady
from cropcal.planning.luck.drawn import SEARCH_SEED, SeasonModel
from cropcal.planning.luck.steady import HEAD_START_WEEKS, SowingHabit, Tuning, tuned
from cropcal.records import chances as records
from cropcal.show.terminal.chances import habit_sentence

NAMES = {"basil": "Basil", "lettuce-butterhead": "Butterhead lettuce"}
BASIL = '[[want]]\ncrops = ["basil"]\nper_week = 40\nunit = "g"\n'
FEAST = '[[want]]\ncrops = ["lettuce-butterhead"]\non = [2026-11-20, 2026-12-18]\namount = 3\n'
WANTS = {
    "one want": {"per_week": 2},
    "two wants": {"sites": 16, "more": BASIL},
    "a feast": {"sites": 14, "more": FEAST},
}


def tuning_of(made):
    """Return what the rule of a space is tuned by."""
    model = SeasonModel(made.assessment, made.candidates, made.serving, made.wanted, 1)
    return Tuning(
        stage=model.stage((), {}, steady.SEASONS, SEARCH_SEED),
        wants=made.space.wants,
        counted=made.wanted.counted,
        per_week=made.per_week,
        options=made.candidates.options,
        time=made.time,
        work_days=made.time.work_days,
        first=0,
    )


@pytest.mark.parametrize("changes", WANTS.values(), ids=list(WANTS))
def test_no_choice_next_to_it_is_cheaper(changes, read_text, tables):
    """One want a little more, a little less or with another head start, the others as they are."""
    tuning = tuning_of(prepare(read_text(text(**changes)), tables))
    best = {habit.want: habit for habit in tuned(tuning)}
    assert set(best) == set(range(len(tuning.wants)))
    for want, habit in best.items():
        near = steady._near(habit, steady._choices(tuning, want), head_start=True)
        assert near
        prices = tuning.prices([best, *(best | {want: choice} for choice in near)]).sum(axis=1)
        assert prices[0] <= prices[1:].min() + 1e-9


def test_sowing_far_more_or_far_less_is_dearer(read_text, tables):
    """The price counts what is missing and what is too much: it has its least between."""
    tuning = tuning_of(prepare(read_text(text(**WANTS["one want"])), tables))
    (habit,) = tuned(tuning)
    often = [{0: SowingHabit(0, habit.option, habit.cuts, number, 1)} for number in (1, 8)]
    little, much = tuning.prices(often)[:, 0]
    (price,) = tuning.prices([{0: habit}])[0]
    assert price < 0.7 * min(little, much)


def test_the_sowings_of_a_habit_are_on_the_first_work_day_of_its_weeks(read_text, tables):
    """Every third week from the first day on, and more in each of the first two, whatever their rhythm."""
    work = prepare(read_text(text()), tables).time.work_days
    habit = SowingHabit(want=0, option=0, cuts=1, number=4, every_weeks=3, more=2)
    assert habit.sowings(work, 0)[:4] == [(0, 6), (7, 2), (21, 4), (42, 4)]
    assert habit.sowings(work, 14)[:3] == [(14, 6), (21, 2), (35, 4)]
    assert SowingHabit(0, 0, 1, 5, 1, on=(18, 46)).sowings(work, 0) == [(18, 5), (46, 5)]


says = partial(records.Habit, want=0, label="basil", crop="basil", number=3, every_weeks=1, more=0,
               more_weeks=0, cuts=1, in_place=False)  # fmt: skip


@pytest.mark.parametrize(
    ("habit", "words"),
    [
        (says(), "Basil: sow 3 each Monday"),
        (says(every_weeks=3), "Basil: sow 3 every 3 weeks, on Monday"),
        (
            says(more=2, more_weeks=HEAD_START_WEEKS),
            "Basil: sow 3 each Monday, 5 in each of the first two weeks",
        ),
        (
            says(every_weeks=2, more=2, more_weeks=HEAD_START_WEEKS),
            "Basil: sow 3 every 2 weeks, on Monday, 2 more in each of the first two weeks",
        ),
        (says(cuts=4), "Basil: sow 3 each Monday, cut 4 times"),
        (
            says(on=(date(2026, 10, 2), date(2026, 11, 6))),
            "Basil: sow 3 on Fri 2 Oct, Fri 6 Nov",
        ),
    ],
    ids=["weekly", "every third week", "head start", "head start and every other week", "cut again", "feast"],
)
def test_a_habit_in_words(habit, words):
    assert habit_sentence(habit, NAMES, "Monday") == words


@pytest.fixture
def room(tmp_path, monkeypatch):
    """Return the folder of a space, with a settable day."""
    return SpaceFolder(tmp_path, monkeypatch)


def sown(folder):
    """Return the cells (sites, where it is sown in place) of each crop and day of sowings.csv."""
    cells = Counter()
    with (folder / "plan" / "sowings.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            number = int(row["cells"] or 0) or int(row["sites"])
            cells[row["crop"], date.fromisoformat(row["sow_on"])] += number
    return cells


def habits(folder):
    form = json.loads((folder / "plan" / "plan.json").read_text(encoding="utf-8"))
    return [records.Habit.model_validate_json(json.dumps(habit)) for habit in form["habits"]]


def as_said(habit, first, last):
    """Return the cells of each Monday of a habit, by its words."""
    weeks = range((last - first).days // 7 + 1)
    cells = {
        first + timedelta(weeks=week): habit.number * (week % habit.every_weeks == 0)
        + habit.more * (week < habit.more_weeks)
        for week in weeks
    }
    return {day: number for day, number in cells.items() if number}


def most_in_nursery(folder):
    """Return the most cells that are taken on one day, from sowings.csv."""
    taken = Counter()
    with (folder / "plan" / "sowings.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            if row["transplant_on"]:
                first, moved = (date.fromisoformat(row[name]) for name in ("sow_on", "transplant_on"))
                for day in range((moved - first).days):
                    taken[first + timedelta(days=day)] += int(row["cells"])
    return max(taken.values(), default=0)


@pytest.mark.parametrize(
    "changes", few_of([{"per_week": 1}, {"per_week": 2, "sites": 14}], 1), ids=["one", "two"]
)
def test_the_plan_sows_what_its_words_say_and_stays_steady(changes, room):
    """Each Monday, until nothing sown would be ready in time; planned again five weeks later as well."""
    room.write(**changes)
    said = room.run("plan", "--steady", "--time-limit", 10, "--all")
    (habit,) = habits(room.folder)
    assert habit_sentence(habit, NAMES, "Monday") in said
    first = sown(room.folder)
    last = max(day for _, day in first)
    assert last >= START + timedelta(weeks=9)
    assert {day: cells for (_, day), cells in first.items()} == as_said(habit, START, last)
    assert most_in_nursery(room.folder) <= 8
    room.later(35)
    room.run("plan", "--time-limit", 10)
    (again,) = habits(room.folder)
    assert again.more == 0, "a head start is for the first plan"
    second, split = sown(room.folder), room.on
    past = {key: cells for key, cells in first.items() if key[1] < split}
    assert {key: cells for key, cells in second.items() if key[1] < split} == past
    later = {day: cells for (_, day), cells in second.items() if day >= split}
    assert later == as_said(again, split, max(later))
    assert most_in_nursery(room.folder) <= 8
    assert again.crop == habit.crop
