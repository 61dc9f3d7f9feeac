"""Read the past settings of a space: ``settings.json`` in the folder of a plan, written together with it."""

import json
from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import Any, TypeVar

from pydantic import ValidationError

from cropcal.problems import Problem, Where
from cropcal.records.base import Record
from cropcal.records.replan import Begun
from cropcal.records.space import (
    Fixture,
    Held,
    MonthHours,
    Reading,
    Zone,
)

FILE_NAME = "settings.json"
R = TypeVar("R", bound=Record)


def read_past_settings(path: Path) -> tuple[tuple[Held, ...], Begun | None, list[Problem]]:
    """Return the past settings, oldest first, and the day on which a space that lay idle was begun.

    Without a file, an empty tuple and None. Unknown keys are ignored.
    """
    try:
        form = json.loads(path.read_text(encoding="utf-8"))
        begun = form.get("begun")
        held = tuple(_past_setting(row) for row in form["held"])
        days = None if begun is None else [date.fromisoformat(begun[key]) for key in ("start", "on")]
        return held, Begun(start=days[0], on=days[1]) if days else None, []
    except FileNotFoundError:
        return (), None, []
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError, ValidationError):
        expected = "what held when, as cropcal plan writes it"
        hint = "put back a copy, or delete it: the past is then read by today's space.toml"
        return (), None, [Problem(Where(str(path)), "", "something else", expected, hint)]


def _past_setting(row: dict[str, Any]) -> Held:
    since = row["from"]
    return Held(
        since=None if since is None else date.fromisoformat(since),
        zones=_records(Zone, row["zones"]),
        fixtures=_records(Fixture, row["fixtures"]),
        readings=_records(Reading, row["readings"]),
        month_hours=tuple(
            MonthHours(
                zone=zone["zone"],
                lit=tuple(tuple((int(on), int(off)) for on, off in month) for month in zone["lit_min"]),
            )
            for zone in row["month_hours"]
        ),
        canopy_m=row["canopy_m"],
    )


def _records(kind: type[R], rows: Iterable[dict[str, Any]]) -> tuple[R, ...]:
    names = {item.alias or name for name, item in kind.model_fields.items()}
    return tuple(
        kind.model_validate({key: value for key, value in row.items() if key in names}) for row in rows
    )
