"""Read back the calendar file that was written with an earlier plan (RFC 5545), as far as it is ours."""

import re
from datetime import UTC, date, datetime
from pathlib import Path

from pydantic import ValidationError

from cropcal.reading.files.plain_file import read_bytes
from cropcal.records.written_plan import CalendarEvent

_UNTIL = re.compile(r"UNTIL=(\d{8})")
_ESCAPED = re.compile(r"\\(.)")


def read_calendar(path: Path) -> tuple[CalendarEvent, ...]:
    """Return the events of a calendar.ics; none if there is no such file or it is not one of ours."""
    try:
        text = read_bytes(path).decode("utf-8")
        return tuple(_event_of(lines) for lines in _events(text))
    except (OSError, ValueError, LookupError, ValidationError):
        return ()


def _events(text: str) -> list[dict[str, str]]:
    """Return the properties of each event: unfolded (RFC 5545 3.1), parameters left out.

    Of what is nested in an event only the name is kept (VALARM): its own description would clash.
    """
    events: list[dict[str, str]] = []
    within: list[str] = []
    for line in re.sub(r"\r?\n[ \t]", "", text).splitlines():
        name, _, value = line.partition(":")
        if name == "BEGIN":
            within.append(value)
            if value == "VEVENT":
                events.append({})
            elif "VEVENT" in within:
                events[-1][value] = ""
        elif name == "END":
            within.pop()
        elif within[-1:] == ["VEVENT"]:
            events[-1][name.partition(";")[0]] = value
    return events


def _event_of(event: dict[str, str]) -> CalendarEvent:
    return CalendarEvent(
        uid=event["UID"],
        on=_day(event["DTSTART"]),
        sequence=int(event["SEQUENCE"]),
        stamp=datetime.strptime(event["DTSTAMP"], "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC),
        summary=_plain(event["SUMMARY"]),
        description=_plain(event["DESCRIPTION"]),
        cancelled=event.get("STATUS") == "CANCELLED",
        alarmed="VALARM" in event,
        until=_day(until[1]) if (until := _UNTIL.search(event.get("RRULE", ""))) else None,
    )


def _day(text: str) -> date:
    return datetime.strptime(text, "%Y%m%d").replace(tzinfo=UTC).date()


def _plain(text: str) -> str:
    """Undo the escapes of a text value (RFC 5545 3.3.11)."""
    return _ESCAPED.sub(lambda match: "\n" if match[1] in "nN" else match[1], text)
