"""What all records share: frozen, strict, unknown keys refused."""

from datetime import date, time
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, WithJsonSchema

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
MINUTES_PER_DAY = 1440
Days = tuple[date, date]
"""First and last day."""


class Record(BaseModel):
    """Base of all records: cannot be changed, takes no unknown key, converts nothing silently."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False, defer_build=True)


def _minute_of_day(value: Any) -> int:
    """Read "HH:MM" (24:00 allowed) or an hour-minute time as minutes after midnight."""
    if isinstance(value, time):
        return value.hour * 60 + value.minute
    if isinstance(value, str):
        hours, colon, minutes = value.strip().partition(":")
        if colon and hours.isdecimal() and minutes.isdecimal() and len(minutes) == 2 and len(hours) <= 2:
            total = int(hours) * 60 + int(minutes)
            if int(minutes) < 60 and total <= MINUTES_PER_DAY:
                return total
    message = 'a time of day like "06:30"'
    raise ValueError(message)


MinuteOfDay = Annotated[
    int,
    BeforeValidator(_minute_of_day),
    WithJsonSchema({"type": "string", "pattern": r"^\s*([01]?\d|2[0-3]):[0-5]\d(:00)?\s*$|^\s*24:00\s*$"}),
]
"""Minutes after local midnight, 0 to 1440, written "HH:MM" in files."""


def _a_stretch(pair: tuple[int, int]) -> tuple[int, int]:
    if pair[0] % MINUTES_PER_DAY == pair[1] % MINUTES_PER_DAY and pair != (0, MINUTES_PER_DAY):
        message = 'a start and a different end, like ["17:00", "09:00"]; the whole day is ["00:00", "24:00"]'
        raise ValueError(message)
    return pair


def _as_tuple(value: Any) -> Any:
    """Let a TOML array fill a tuple in strict mode."""
    return tuple(value) if isinstance(value, list) else value


DayStretch = Annotated[
    tuple[MinuteOfDay, MinuteOfDay], AfterValidator(_a_stretch), BeforeValidator(_as_tuple)
]
"""From and until within a day, in minutes; from later than until crosses midnight."""


def stretch_hours(stretch: tuple[int, int]) -> float:
    """Return the length of a day stretch in hours."""
    start, end = stretch
    return ((end - start) % MINUTES_PER_DAY or MINUTES_PER_DAY) / 60


def clock(minute: int) -> str:
    """Return minutes after midnight as "HH:MM"."""
    return f"{minute // 60:02d}:{minute % 60:02d}"
