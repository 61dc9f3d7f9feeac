"""Work days, harvest days, weeks and breaks, counted from the start of a plan."""

from datetime import date

from cropcal.planning.candidates.work_calendar import work_calendar
from cropcal.records.space import Settings


def settings(**changes):
    given = {"start": date(2027, 1, 6), "weeks": 3, "work_days": ("wed", "sat")} | changes
    return Settings(**given)


def test_days_fall_on_the_named_weekdays():
    """6 January 2027 is a Wednesday, so days 0, 3, 7, 10, 14 and 17 are Wednesdays and Saturdays."""
    assert work_calendar(settings()).work_days.tolist() == [0, 3, 7, 10, 14, 17]


def test_nobody_works_in_a_break():
    """A break takes its first and its last day with it."""
    time = work_calendar(settings(breaks=((date(2027, 1, 9), date(2027, 1, 16)),)))
    assert time.work_days.tolist() == [0, 14, 17]
    assert time.weeks_without_harvest.tolist() == [False, True, False]


def test_harvest_days_may_differ():
    """Somebody may cut on a day on which nobody sows."""
    time = work_calendar(settings(harvest_days=("mon",)))
    assert time.harvest_days.tolist() == [5, 12, 19]
    assert time.work_days.tolist() == [0, 3, 7, 10, 14, 17]


def test_a_break_may_begin_before_the_plan():
    """Days before the start do not exist."""
    time = work_calendar(settings(breaks=((date(2026, 12, 24), date(2027, 1, 6)),)))
    assert time.work_days.tolist() == [3, 7, 10, 14, 17]


def test_days_and_dates_are_each_others_inverse():
    """Day 0 is the start, also across the end of a year."""
    time = work_calendar(settings(start=date(2026, 12, 28)))
    assert time.date_of(4) == date(2027, 1, 1)
    assert time.day_of(date(2027, 1, 1)) == 4
