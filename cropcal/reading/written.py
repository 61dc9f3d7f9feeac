"""Read back jobs and batches of a plan that was written earlier."""

import json
from datetime import date
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from cropcal.records.plan import Batch, Harvest, Job, SiteUse, Supply


def is_of(path: Path, sha256: str, key: str) -> bool:
    """Return whether a plan.json says under a key that it was made of the files of that hash."""
    try:
        return bool(json.loads(path.read_text(encoding="utf-8"))[key] == sha256)
    except (OSError, ValueError, KeyError, TypeError):
        return False


def read_jobs(path: Path, space_sha256: str) -> tuple[Job, ...] | None:
    """Return the jobs in a plan.json, or None if there is none, or it was made of another space.

    Parameters
    ----------
    path
        The plan.json.
    space_sha256
        Hash of the space as it is now; a plan made of another is no longer the plan. What was noted since
        leaves it the plan: it hangs on the wall, and its ids are those that are noted.
    """
    try:
        form = json.loads(path.read_text(encoding="utf-8"))
        if form["space_sha256"] != space_sha256:
            return None
        return tuple(_job(dict(row)) for row in form["jobs"])
    except (OSError, ValueError, KeyError, TypeError, AttributeError, ValidationError):
        return None


def _job(row: dict[str, Any]) -> Job:
    on = date.fromisoformat(row.pop("date"))
    return Job(on=on, **row)


def read_batches(path: Path) -> tuple[Batch, ...]:
    """Return the batches in a plan.json, whatever files it was made of; none if there is no such plan.

    What hangs on the wall and stands in the phone is the plan as written, so its ids count even after
    space.toml was changed.
    """
    try:
        form = json.loads(path.read_text(encoding="utf-8"))
        return tuple(_batch(dict(row)) for row in form["batches"])
    except (OSError, ValueError, KeyError, TypeError, AttributeError, ValidationError):
        return ()


def read_sites(path: Path) -> tuple[SiteUse, ...]:
    """Return who holds which site when by a plan.json, with the days on which each is cut."""
    try:
        form = json.loads(path.read_text(encoding="utf-8"))
        cuts: dict[tuple[str, int], list[date]] = {}
        for job in form["jobs"]:
            if job["job"] == "cut":
                for site in _numbers(job["sites"]):
                    cuts.setdefault((job["batch"], site), []).append(date.fromisoformat(job["date"]))
        return tuple(
            SiteUse(
                bed=row["bed"],
                site=row["site"],
                batch=row["batch"],
                crop=row["crop"],
                held_from=date.fromisoformat(row["from"]),
                held_until=date.fromisoformat(row["until"]),
                cuts=tuple(sorted(cuts.get((row["batch"], row["site"]), []))),
            )
            for row in form["sites"]
        )
    except (OSError, ValueError, KeyError, TypeError, AttributeError, ValidationError):
        return ()


def read_cycle_weeks(path: Path) -> int:
    """Return the weeks after which the plan of a plan.json repeats itself; 0 if it is free or missing."""
    try:
        rhythm = json.loads(path.read_text(encoding="utf-8"))["rhythm"]
        weeks = rhythm["cycle_weeks"]
        return weeks if rhythm["steady"] is True and type(weeks) is int and 1 <= weeks <= 52 else 0
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return 0


def read_supply(path: Path) -> tuple[Supply, ...]:
    """Return what each week has of each want by a plan.json; none if there is no such plan."""
    try:
        form = json.loads(path.read_text(encoding="utf-8"))
        return tuple(_supply(dict(row)) for row in form["supply"])
    except (OSError, ValueError, KeyError, TypeError, AttributeError, ValidationError):
        return ()


def _supply(row: dict[str, Any]) -> Supply:
    names = {"label": row.pop("want"), "want": row.pop("want_number")}
    return Supply(**{**row, **names, "week": _day(row["week"]), "on": _day(row["on"])})


def _numbers(runs: str) -> list[int]:
    """Return the site numbers of runs like 1-4, 7."""
    found: list[int] = []
    for run in filter(None, runs.split(", ")):
        first, _, last = run.partition("-")
        found += range(int(first), int(last or first) + 1)
    return found


def _batch(row: dict[str, Any]) -> Batch:
    row["id"] = row.pop("batch")
    row.pop("amount", None)
    low, high = row.pop("ready_from_range_80")
    harvests = tuple(_harvest(dict(one)) for one in row.pop("harvests"))
    days = {name: _day(value) for name, value in row.items() if name.endswith(("_on", "_from", "_until"))}
    ends = {"ready_from_low_80": _day(low), "ready_from_high_80": _day(high)}
    return Batch(**{**row, **days, **ends, "harvests": harvests})


def _harvest(row: dict[str, Any]) -> Harvest:
    low, high = row.pop("amount_range_80")
    return Harvest(
        on=date.fromisoformat(row["date"]),
        cut=row["cut"],
        sites=row["sites"],
        amount=float(row["amount"]),
        amount_low_80=float(low),
        amount_high_80=float(high),
    )


def _day(value: str | None) -> date | None:
    return None if value is None else date.fromisoformat(value)
