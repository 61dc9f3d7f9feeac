"""A plan as calendar events (RFC 5545): one all-day event for each day with something to do."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from uuid import UUID, uuid5

from icalendar import Calendar, Event

from cropcal.records.plan import Job, Plan
from cropcal.show.text import clean
from cropcal.show.wording import by_day, line, title

PRODUCT = "-//cropcal//cropcal//EN"
_SPACE_OF_UIDS = UUID("5e1d6a0c-7b0f-4a53-9d2e-3c6f0a8be417")
"""Picked once at random; a change would double every event at the next import."""


def calendar(result: Plan, names: Mapping[str, str], stamp: datetime) -> bytes:
    """Return the calendar file.

    Parameters
    ----------
    result
        The plan.
    names
        Slug of a crop -> its name.
    stamp
        DTSTAMP of every event: aware, in UTC, and decided by the caller, so that the same plan gives the
        same bytes.
    """
    file = Calendar()
    file.add("prodid", PRODUCT)
    file.add("version", "2.0")
    file.add("calscale", "GREGORIAN")
    file.add("name", clean(result.place))
    file.add("x-wr-calname", clean(result.place))
    for when, jobs in by_day(result.jobs).items():
        file.add_component(_event(result.place, when, jobs, names, stamp))
    return bytes(file.to_ical())


def uid(place: str, when: date) -> str:
    """Return the name of a place's event on one day, the same in every plan (RFC 7986 5.3: a UUID)."""
    return str(uuid5(_SPACE_OF_UIDS, f"{place}\n{when.isoformat()}"))


def _event(place: str, when: date, jobs: Sequence[Job], names: Mapping[str, str], stamp: datetime) -> Event:
    event = Event()
    event.add("uid", uid(place, when))
    event.add("dtstamp", stamp)
    event.add("sequence", 0)
    event.add("dtstart", when)
    event.add("dtend", when + timedelta(days=1))
    event.add("summary", title(jobs, names))
    event.add("description", "\n".join(line(job, names) for job in jobs))
    event.add("location", clean(place))
    event.add("transp", "TRANSPARENT")
    return event
