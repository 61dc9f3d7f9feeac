"""A plan as calendar events (RFC 5545): one all-day event for each day with something to do.

Each rings once, on the evening before: an alarm of a day without a time of day counts from its midnight, in
the time zone of the device that shows it (RFC 5545 3.6.6).
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, timedelta
from uuid import UUID, uuid5

from icalendar import Alarm, Calendar, Event, vText
from icalendar.parser import Contentline

from cropcal.records.plan import SeasonPlan
from cropcal.records.written_plan import CalendarEvent
from cropcal.show.sown_together import beds_of, job_lines
from cropcal.show.text import clean, span
from cropcal.show.wording import by_day, capital, checks_of, every, step_of, title

PRODUCT = "-//cropcal//cropcal//EN"
_SPACE_OF_UIDS = UUID("5e1d6a0c-7b0f-4a53-9d2e-3c6f0a8be417")
"""Picked once at random; a change would double every event at the next import."""

LONGEST_LINE = 75
"""Bytes from which on the library folds a line (RFC 5545 3.1)."""
EVENING_BEFORE = timedelta(hours=-5)
"""From the midnight on which a day begins back to the alarm: 19:00, when there is time to think of tomorrow
(our choice)."""


class _Text(vText):
    r"""A text value; the library would take a backslash and a capital N (C:\New) for a line end."""

    def to_ical(self) -> bytes:
        """Return the text as RFC 5545 3.3.11 escapes it."""
        marked = self.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")
        return marked.encode()


def calendar(
    result: SeasonPlan, names: Mapping[str, str], stamp: datetime, earlier: Iterable[CalendarEvent] = ()
) -> bytes:
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
    earlier
        The events of an earlier file. An unchanged event keeps its stamp and sequence; a changed one
        counts up by one; a future one without jobs is cancelled (RFC 5545 3.8.7.4, RFC 5546 3.2.5).
    """
    earlier_by_uid = {event.uid: event for event in earlier}
    first = result.again.on if result.again else result.start
    file = Calendar()
    file.add("prodid", PRODUCT)
    file.add("version", "2.0")
    file.add("calscale", "GREGORIAN")
    for name in ("name", "x-wr-calname"):
        file.add(name, _Text(clean(result.place)), encode=False)
    bed_of = beds_of(result.batches)
    days = {
        uid(result.place, when): (when, title(jobs, names), "\n".join(job_lines(jobs, names, bed_of)))
        for when, jobs in by_day(result.jobs).items()
    }
    for key, says in days.items():
        file.add_component(_event(result.place, key, says, stamp, earlier_by_uid.get(key)))
    checks = {check_uid(result.place, what): (what, on) for what, on in checks_of(result.jobs).items()}
    for key, (what, on) in checks.items():
        file.add_component(_check(result.place, key, what, on, stamp, earlier_by_uid.get(key)))
    for key, before in earlier_by_uid.items():
        if key not in days and key not in checks and (before.until or before.on) >= first:
            says = (before.on, before.summary, before.description)
            file.add_component(_event(result.place, key, says, stamp, before, cancelled=True))
    return b"".join(_folded(line) + b"\r\n" for line in file.content_lines() if line)


def _folded(line: Contentline) -> bytes:
    """Return a line, folded if it is long: the library goes through a short one sign by sign too."""
    written = line.encode()
    return written if len(written) < LONGEST_LINE else bytes(line.to_ical())  # type: ignore[no-untyped-call]


def uid(place: str, when: date) -> str:
    """Return the name of a place's event on one day, the same in every plan (RFC 7986 5.3: a UUID)."""
    return str(uuid5(_SPACE_OF_UIDS, f"{place}\n{when.isoformat()}"))


def check_uid(place: str, what: str) -> str:
    """Return the name of the events of a check that comes again and again."""
    return str(uuid5(_SPACE_OF_UIDS, f"{place}\ncheck\n{what}"))


def _check(
    place: str, key: str, what: str, on: Sequence[date], stamp: datetime, before: CalendarEvent | None
) -> Event:
    """Return a check as one event that comes again and again (RFC 5545 3.8.5.3), and never rings."""
    apart = step_of(on) or 1
    says = (on[0], clean(what), capital(f"{every(on)}, {span(on[0], on[-1])}."))
    event = _event(place, key, says, stamp, before, rings=False)
    event.add("rrule", {"freq": "daily", "interval": apart, "until": on[-1]})
    days = (on[0] + timedelta(days=day) for day in range(0, (on[-1] - on[0]).days, apart))
    left_out = [day for day in days if day not in on]
    if left_out:
        event.add("exdate", left_out, parameters={"VALUE": "DATE"})
    return event


def _event(
    place: str,
    key: str,
    says: tuple[date, str, str],
    stamp: datetime,
    before: CalendarEvent | None,
    *,
    cancelled: bool = False,
    rings: bool = True,
) -> Event:
    when, summary, description = says
    as_written = (
        None if before is None else (before.summary, before.description, before.cancelled, before.alarmed)
    )
    same = as_written == (summary, description, cancelled, rings and not cancelled)
    event = Event()
    event.add("uid", key)
    event.add("dtstamp", before.stamp if before is not None and same else stamp)
    event.add("sequence", before.sequence + (not same) if before is not None else 0)
    event.add("dtstart", when)
    event.add("dtend", when + timedelta(days=1))
    for name, text in (("summary", summary), ("description", description), ("location", clean(place))):
        event.add(name, _Text(text), encode=False)
    event.add("transp", "TRANSPARENT")
    if cancelled:
        event.add("status", "CANCELLED")
    elif rings:
        event.add_component(_alarm(summary))
    return event


def _alarm(summary: str) -> Alarm:
    """Return the alarm: ACTION, TRIGGER and, as it is shown, DESCRIPTION (RFC 5545 3.6.6)."""
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("trigger", EVENING_BEFORE)
    alarm.add("description", _Text(f"Tomorrow: {summary}"), encode=False)
    return alarm
