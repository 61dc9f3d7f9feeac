"""Read back the calendar file that was written with an earlier plan (RFC 5545), as far as it is ours."""

import re
from datetime import UTC, datetime
from pathlib import Path

from pydantic import ValidationError

from cropcal.reading.files.plain_file import bytes_of
from cropcal.records.written_plan import CalendarEvent

_ESCAPED = re.compile(r"\\(.)")


def read_calendar(path: Path) -> tuple[CalendarEvent, ...]:
    """Return the events of a calendar.ics; none if there is no such file or it is not one of ours."""
    try:
        text = bytes_of(path).decode("utf-8")
        return tuple(_told(lines) for lines in _events(text))
    except (OSError, ValueError, LookupError, ValidationError):
        return ()


def _events(text: str) -> list[dict[str, str]]:
    """Return the properties of each event: unfolded (RFC 5545 3.1), parameters left out.

    What is inside an event (its alarm has a description of its own) goes by its name only: VALARM.
    """
    found: list[dict[str, str]] = []
    within: list[str] = []
    for line in re.sub(r"\r?\n[ \t]", "", text).splitlines():
        name, _, value = line.partition(":")
        if name == "BEGIN":
            within.append(value)
            if value == "VEVENT":
                found.append({})
            elif "VEVENT" in within:
                found[-1][value] = ""
        elif name == "END":
            within.pop()
        elif within[-1:] == ["VEVENT"]:
            found[-1][name.partition(";")[0]] = value
    return found


def _told(event: dict[str, str]) -> CalendarEvent:
    return CalendarEvent(
        uid=event["UID"],
        on=datetime.strptime(event["DTSTART"], "%Y%m%d").replace(tzinfo=UTC).date(),
        sequence=int(event["SEQUENCE"]),
        stamp=datetime.strptime(event["DTSTAMP"], "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC),
        summary=_plain(event["SUMMARY"]),
        description=_plain(event["DESCRIPTION"]),
        cancelled=event.get("STATUS") == "CANCELLED",
        alarmed="VALARM" in event,
    )


def _plain(text: str) -> str:
    """Undo the escapes of a text value (RFC 5545 3.3.11)."""
    return _ESCAPED.sub(lambda found: "\n" if found[1] in "nN" else found[1], text)
