"""Names of timezones: whether one exists, which one was meant, and which this computer has."""

import os
import re
from datetime import datetime
from functools import cache
from importlib import resources
from pathlib import Path
from zoneinfo import ZoneInfo, available_timezones

from cropcal.reading.text.suggestions import nearest

_TOWN = re.compile(r"([+-]\d{4,6})([+-]\d{5,7})")


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
    cities = sorted(zone for zone in names if zone.casefold().rpartition("/")[2] == place)
    meant = cities[0] if cities else nearest(name, names)
    return f'did you mean "{meant}"?' if meant else ""


def position(name: str) -> tuple[float, float] | None:
    """Return latitude and longitude of a timezone's main town [degrees], None where its table has none.

    They stand in the ``zone.tab`` of the tz database, one town for each zone of each country.
    """
    return _positions().get(name)


@cache
def _positions() -> dict[str, tuple[float, float]]:
    try:
        table = (resources.files("tzdata") / "zoneinfo" / "zone.tab").read_text(encoding="utf-8")
    except (OSError, ModuleNotFoundError):
        return {}
    rows = (line.split("\t") for line in table.splitlines() if line and not line.startswith("#"))
    towns = {row[2]: _TOWN.fullmatch(row[1]) for row in rows if len(row) > 2}
    return {name: (_degrees(town[1]), _degrees(town[2])) for name, town in towns.items() if town}


def _degrees(text: str) -> float:
    """Return +DDMM, +DDDMM, +DDMMSS or +DDDMMSS as degrees (ISO 6709)."""
    digits = text[1:]
    whole = 3 if len(digits) in (5, 7) else 2
    minutes, seconds = int(digits[whole : whole + 2]), int(digits[whole + 2 :] or 0)
    return (int(digits[:whole]) + minutes / 60 + seconds / 3600) * (-1 if text[0] == "-" else 1)


def comes_twice(at: datetime, timezone: str | None) -> bool:
    """Return whether clocks of a place show a local moment twice: in the hour they are set back by."""
    if timezone is None:
        return False
    first = at.replace(tzinfo=ZoneInfo(timezone), fold=0)
    before, after = first.utcoffset(), first.replace(fold=1).utcoffset()
    return before is not None and after is not None and before > after


def computers_timezone() -> str | None:
    """Return the name of this computer's timezone, None if it cannot be found out."""
    zone = os.environ.get("TZ", "").lstrip(":")
    if not zone:
        try:
            zone = str(Path("/etc/localtime").resolve()).partition("zoneinfo/")[2]
            zone = zone or Path("/etc/timezone").read_text(encoding="utf-8").strip()
        except (OSError, ValueError):
            return None
    return zone if zone and is_timezone(zone) else None
