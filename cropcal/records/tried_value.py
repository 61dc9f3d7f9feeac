"""A value tried in place of the file's."""

from cropcal.records.base import Record


class Change(Record):
    """One changed key: its name, the value in the file and the tried value, as written (None: no value).

    ``because`` names the tried key that removed this one, where the two exclude each other.
    """

    key: str
    before: str | None
    now: str | None
    because: str = ""
