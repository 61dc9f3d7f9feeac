"""A value tried in place of the file's."""

from cropcal.records.base import Record


class Change(Record):
    """One key that is tried: its name, what the file says and what is tried, as written (None: nothing).

    ``because`` names the tried key that pushed this one out, where the two exclude each other.
    """

    key: str
    before: str | None
    now: str | None
    because: str = ""
