"""What an earlier calendar file told the phone about one day."""

from datetime import date, datetime

from cropcal.records.base import Record


class CalendarEvent(Record):
    """One event of calendar.ics as written: RFC 5545 3.6.1.

    ``sequence`` counts how often it was told anew, ``stamp`` when it was last. ``alarmed``: it rings.
    """

    uid: str
    on: date
    sequence: int
    stamp: datetime
    summary: str
    description: str
    cancelled: bool
    alarmed: bool = False
