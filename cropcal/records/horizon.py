"""When a season began, and how far its plans reach."""

from datetime import date

from cropcal.records.base import Record


class Begun(Record):
    """The day on which a space was begun after its start in the file, until which it lay idle."""

    start: date
    on: date


class Horizon(Record):
    """First day and number of weeks by the file, where ``settings`` are those of other weeks."""

    first: date
    weeks: int
