"""Checks that need no work day: in the jobs, in week and in the calendar for the phone."""

from datetime import UTC, date, datetime, timedelta

import pytest

from cropcal.planning.candidates.work_calendar import work_calendar
from cropcal.planning.schedule.jobs import jobs
from cropcal.reading.calendar_ics import read_calendar
from cropcal.records.space import Chore, Settings
from cropcal.records.week import Week
from cropcal.show.data import ics
from cropcal.show.terminal.week import week
from tests.support import show_plans

START = date(2027, 3, 1)
STAMP = datetime(2027, 2, 20, 8, tzinfo=UTC)
AWAY = (date(2027, 3, 20), date(2027, 3, 23))
DAILY = Chore(name="water level, pump", every_days=1, any_day=True)
THIRD = Chore(name="pH", every_days=3, any_day=True)
CHORE = Chore(name="change the solution", every_days=14)


def checks(*chores, breaks=()):
    time = work_calendar(Settings(start=START, weeks=6, work_days=("wed",), breaks=breaks))
    return jobs((), (), chores, None, time)


def test_a_check_comes_on_its_own_days_and_a_chore_on_work_days():
    """Every third day, whatever weekday that is; none while nobody is there, and then on the same days."""
    found = checks(THIRD, CHORE, breaks=(AWAY,))
    third = [job.on for job in found if job.job == "check"]
    every_third = [START + timedelta(days=day) for day in range(3, 42, 3)]
    assert third == [day for day in every_third if not AWAY[0] <= day <= AWAY[1]]
    assert len(third) < len(every_third)
    assert all(job.on.weekday() == 2 for job in found if job.job == "chore")
    daily = [job.on for job in checks(DAILY)]
    assert daily == [START + timedelta(days=day) for day in range(1, 42)]


def events_of(text):
    from icalendar import Calendar

    return Calendar.from_ical(text).walk("VEVENT")


def planned(*found):
    plan = show_plans.small_plan()
    return plan.model_copy(update={"jobs": tuple(sorted((*plan.jobs, *found), key=lambda job: job.on))})


@pytest.mark.parametrize("chores", [(DAILY, THIRD)])
def test_in_the_calendar_a_check_is_one_event_that_comes_again(tmp_path, chores):
    """RFC 5545 3.8.5.3: RRULE and EXDATE give back the days of the jobs; it never rings."""
    found = checks(*chores, breaks=(AWAY,))
    written = ics.calendar(planned(*found), {}, STAMP)
    plain = ics.calendar(show_plans.small_plan(), {}, STAMP)
    events = events_of(written)
    recurring = {str(event["summary"]): event for event in events if "rrule" in event}
    assert set(recurring) == {"water level, pump", "pH"}
    assert len(events) == len(events_of(plain)) + 2
    for name, event in recurring.items():
        rule, days = event["rrule"], []
        day = event.decoded("dtstart")
        until = rule["until"][0]
        while day <= until:
            days.append(day)
            day += timedelta(days=rule["interval"][0])
        left_out = {one.dt for one in event["exdate"].dts}
        assert [day for day in days if day not in left_out] == [job.on for job in found if job.note == name]
        assert not event.walk("VALARM")


def test_a_check_that_is_dropped_is_cancelled_and_one_that_stays_is_the_same(tmp_path):
    """The file read back: same stamp and sequence, or cancelled with a higher one."""
    first = ics.calendar(planned(*checks(DAILY, THIRD)), {}, STAMP)
    (tmp_path / "calendar.ics").write_bytes(first)
    earlier = read_calendar(tmp_path / "calendar.ics")
    later = STAMP + timedelta(days=3)
    again = ics.calendar(planned(*checks(DAILY)), {}, later, earlier)
    events = {str(event["uid"]): event for event in events_of(again)}
    place = show_plans.small_plan().place
    daily, third = (events[ics.check_uid(place, chore.name)] for chore in (DAILY, THIRD))
    assert (daily["sequence"], daily.decoded("dtstamp"), "status" in daily) == (0, STAMP, False)
    assert (third["sequence"], str(third["status"])) == (1, "CANCELLED")
    assert ics.calendar(planned(*checks(DAILY, THIRD)), {}, later, earlier) == first


def test_week_has_checks_once_with_their_days():
    """Not among the jobs of each day."""
    found = checks(DAILY, THIRD, CHORE)
    shown = week(
        Week(place="Loft", on=date(2027, 3, 10), start=START, until=date(2027, 4, 11), jobs=found),
        {}, "cropcal log {}".format, "cropcal plan",
    )  # fmt: skip
    assert "Checks, on any day\n[ ] every day: water level, pump\n[ ] Wed, Sat: pH\n" in shown
    assert shown.count("water level") == 1
