"""Names of timezones: whether one exists, which one was meant, and which this computer keeps."""

import os
from datetime import datetime
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo, available_timezones

from cropcal.reading.words import nearest


@cache
def is_timezone(name: str) -> bool:
    """Return whether a name is that of a timezone (letter case matters)."""
    try:
        ZoneInfo(name)
    except (LookupError, ValueError, OSError):  # unknown; a path out of the tables; a folder of them
        return False
    return True


def timezone_hint(name: str) -> str:
    """Return the nearest name of a timezone as a question, or "" if none is near."""
    names = available_timezones()
    place = name.strip().replace(" ", "_").casefold()
    cities = sorted(one for one in names if one.casefold().rpartition("/")[2] == place)
    meant = cities[0] if cities else nearest(name, names)
    return f'did you mean "{meant}"?' if meant else ""


def comes_twice(at: datetime, timezone: str | None) -> bool:
    """Return whether clocks of a place show a local moment twice: in the hour they are set back by."""
    if timezone is None:
        return False
    first = at.replace(tzinfo=ZoneInfo(timezone), fold=0)
    before, after = first.utcoffset(), first.replace(fold=1).utcoffset()
    return before is not None and after is not None and before > after


def computers_timezone() -> str | None:
    """Return the name of the timezone this computer keeps, None if it can't be told."""
    told = os.environ.get("TZ", "").lstrip(":")
    if not told:
        try:
            told = str(Path("/etc/localtime").resolve()).partition("zoneinfo/")[2]
            told = told or Path("/etc/timezone").read_text(encoding="utf-8").strip()
        except (OSError, ValueError):
            return None
    return told if told and is_timezone(told) else None
