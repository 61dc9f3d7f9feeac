"""What timers, thermostats, alarms and other controllers of a space are set to."""

from datetime import date
from typing import Final

from cropcal.records.base import Record

LAMP_ON: Final = "lamp on"
LAMP_OFF: Final = "lamp off"
LAMP_OUTPUT: Final = "lamp output"
OF_LAMP: Final = (LAMP_ON, LAMP_OFF, LAMP_OUTPUT)
"""What the timer of a lamp is set to; a stretch of light has one row of each."""
CLOCK: Final = "h:min"
"""The unit of a time of day, like "06:30"."""


class SetPoint(Record):
    """One value that something in a zone is set to.

    ``zone`` is "" for what serves all zones. ``value`` is a number of ``unit``, or a text such as "06:30"
    (of unit "h:min") or "always on" (of none). ``start``: the day from which it holds, None: all the time.
    ``note`` says where it comes from.
    """

    zone: str
    what: str
    value: float | str
    unit: str
    start: date | None = None
    note: str = ""
