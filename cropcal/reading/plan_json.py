"""Read back a plan that was written earlier, or say what is wrong with its plan.json."""

import json
import re
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any, Final, NoReturn, TypeVar

from pydantic import ValidationError

from cropcal.problems import Problem, Where
from cropcal.reading.files.file_set import CannotWriteError, finish_interrupted
from cropcal.reading.text.key_types import kind_of
from cropcal.reading.text.source import shorten
from cropcal.reading.text.suggestions import phrase
from cropcal.records.base import Record
from cropcal.records.chances import Choice, Habit
from cropcal.records.plan import (
    Batch,
    Harvest,
    Job,
    SiteUse,
    Supply,
)
from cropcal.records.values import MOST_SITES
from cropcal.records.water import ZoneWater
from cropcal.records.written_plan import FORMAT, WrittenPlan

Names = Mapping[str, str | tuple[str, int]]
"""Field of a record -> its key in plan.json where that differs; with a place if the key holds a list."""

_BATCH: Final[Names] = {
    "id": "batch",
    "ready_from_low_80": ("ready_from_range_80", 0),
    "ready_from_high_80": ("ready_from_range_80", 1),
    "moved_80": "transplant_range_80",
}
_HARVEST: Final[Names] = {
    "on": "date",
    "amount_low_80": ("amount_range_80", 0),
    "amount_high_80": ("amount_range_80", 1),
    "on_80": "date_range_80",
}
_JOB: Final[Names] = {"on": "date", "likely": "date_range_80"}
_SITE: Final[Names] = {"held_from": "from", "held_until": "until"}
_SUPPLY: Final[Names] = {"label": "want", "want": "want_number"}

_FIRST_FORMAT: Final = 1
_FIRST_DAY, _LAST_DAY = date(1990, 1, 1), date(2210, 1, 1)
_MOST_WHOLE = 1_000_000
_MOST_WEEKS = 1000
_RUNS = re.compile(r"\d{1,6}(-\d{1,6})?(, \d{1,6}(-\d{1,6})?)*", re.ASCII)
_OBJECT, _LIST, _MISSING = "keys and values in { }", "a list in [ ]", "no such key"
_NEWER = "a newer version wrote it: use that version, or a newer one"

_Row = TypeVar("_Row", bound=Record)


class _BadError(Exception):
    """A value that is not what it should be: its key path, what it is, what it should be."""

    def __init__(self, key: str, found: str, expected: str) -> None:
        super().__init__(key, found, expected)
        self.key, self.found, self.expected = key, found, expected


def read_plan(path: Path) -> tuple[WrittenPlan | None, list[Problem]]:
    """Return the plan in a plan.json, whether or not it is of today's files.

    Keys that it does not know are left out, and those that earlier versions did not write may be missing.

    Parameters
    ----------
    path
        The plan.json. If the files beside it were not put in place in full, they are first.

    Returns
    -------
    plan, problems
        The plan and no problem; None and no problem if there is no such file; None and the first
        problem of one that cannot be read in full. Never raises for anything that can stand in a file.
    """
    try:
        finish_interrupted(path.parent)
        if path.exists() and not path.is_file():
            return None, [Problem(Where(str(path)), "", "no file, but a folder or device", "a plan.json")]
        data = path.read_bytes()
    except CannotWriteError as error:
        return None, [error.problem]
    except (FileNotFoundError, NotADirectoryError):
        return None, []
    except OSError as error:
        return None, [Problem(Where(str(path)), "", (error.strerror or "an error").lower(), "a plan.json")]
    plan, problem = _read(path, data)
    return plan, [problem] if problem else []


@lru_cache(maxsize=2)
def _read(path: Path, data: bytes) -> tuple[WrittenPlan | None, Problem | None]:
    """Return the plan or the problem of a file with this content; a command may read one twice."""
    form, problem = _parsed(path, data)
    if problem:
        return None, problem
    try:
        return _plan(form), None
    except _BadError as bad:
        newer = isinstance(form, dict) and type(form.get("format")) is int and form["format"] > FORMAT
        return None, Problem(Where(str(path)), bad.key, bad.found, bad.expected, _NEWER if newer else "")


def _parsed(path: Path, data: bytes) -> tuple[Any, Problem | None]:
    """Return the data of a JSON text, or the problem with the line where it stops being JSON."""
    expected = "a plan.json as cropcal plan writes it"
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        return None, Problem(Where(str(path), line), "", "a byte that is not UTF-8", expected)
    try:
        return json.loads(text, parse_constant=_no_number), None
    except json.JSONDecodeError as error:
        shown = shorten(text.splitlines()[error.lineno - 1]) if text[error.pos :].strip() else ""
        found = shown or ("the end of the file, too soon" if text.strip() else "nothing")
        return None, Problem(Where(str(path), error.lineno), "", found, expected)
    except (ValueError, RecursionError):  # a number of thousands of digits, NaN; brackets without end
        return None, Problem(Where(str(path)), "", "numbers or brackets that no plan holds", expected)


def _no_number(name: str) -> NoReturn:
    raise ValueError(name)


def _plan(form: Any) -> WrittenPlan:
    if not isinstance(form, dict):
        raise _BadError("", _as_json(form), _OBJECT)
    version = form.get("format", _FIRST_FORMAT)
    if type(version) is not int or version < 1:
        raise _BadError("format", _as_json(version), "a whole number from 1")
    names = set(kind_of(Job.model_fields["job"].annotation).choices)
    job_rows = [
        (at, row)
        for at, row in _rows(form, "jobs")
        if not (version > FORMAT and row.get("job") not in names)  # a job that only a newer version knows
    ]
    jobs = tuple(_record(Job, row, at, _JOB) for at, row in job_rows)
    rows = _rows(form, "habits") if "habits" in form else ()
    habits = tuple(_record(Habit, row, at, {}) for at, row in rows)
    rows = _rows(form, "choices") if "choices" in form else ()
    choices = tuple(_record(Choice, row, at, {}) for at, row in rows)
    water = _rows(form, "water") if "water" in form else ()
    return WrittenPlan(
        format=version,
        inputs_sha256=_text(form, "inputs_sha256"),
        space_sha256=_text(form, "space_sha256"),
        batches=_batches(form),
        jobs=jobs,
        sites=_sites(form, _cuts(jobs, [at for at, _ in job_rows])),
        supply=tuple(_record(Supply, row, at, _SUPPLY) for at, row in _rows(form, "supply")),
        habits=habits,
        steady=bool(habits) or _was_steady(form.get("rhythm")),
        choices=choices,
        water=tuple(_record(ZoneWater, row, at, {}) for at, row in water),
        start=_day(form, "start"),
        until=_until(form),
        first_day=_day(form, "first_day") or _day(form, "start"),
    )


def _batches(form: dict[str, Any]) -> tuple[Batch, ...]:
    batches: dict[str, Batch] = {}
    for at, row in _rows(form, "batches"):
        cuts = [_record(Harvest, cut, cut_at, _HARVEST) for cut_at, cut in _rows(row, "harvests", f"{at}.")]
        batch = _record(Batch, {**row, "harvests": []}, at, _BATCH)
        if batch.id in batches:
            raise _BadError(f"{at}.batch", _as_json(batch.id), "an id that no other batch has")
        batches[batch.id] = batch.model_copy(update={"harvests": tuple(cuts)})
    return tuple(batches.values())


def _sites(form: dict[str, Any], cuts: Mapping[tuple[str, int], list[date]]) -> tuple[SiteUse, ...]:
    uses = [_record(SiteUse, {**row, "cuts": []}, at, _SITE) for at, row in _rows(form, "sites")]
    return tuple(
        use.model_copy(update={"cuts": tuple(sorted(cuts.get((use.batch, use.site), [])))}) for use in uses
    )


def _cuts(jobs: Sequence[Job], places: Sequence[str]) -> dict[tuple[str, int], list[date]]:
    """Return the days on which each site of each batch is cut."""
    cuts: dict[tuple[str, int], list[date]] = {}
    for job, at in zip(jobs, places, strict=True):
        if job.job == "cut":
            for site in _numbers(job.sites, f"{at}.sites"):
                cuts.setdefault((job.batch, site), []).append(job.on)
    return cuts


def _numbers(runs: str, at: str) -> list[int]:
    """Return the site numbers of runs like 1-4, 7."""
    numbers: list[int] = []
    if runs and not _RUNS.fullmatch(runs):
        raise _BadError(at, _as_json(runs), "site numbers like 1-4, 7")
    for run in filter(None, runs.split(", ")):
        first, _, last = run.partition("-")
        if not 1 <= int(first) <= int(last or first) <= MOST_SITES:
            raise _BadError(at, _as_json(runs), f"site numbers from 1 to {MOST_SITES}, the smaller one first")
        numbers += range(int(first), int(last or first) + 1)
    return numbers


def _was_steady(rhythm: Any) -> bool:
    """Return whether a plan of an older version repeated its sowings."""
    return isinstance(rhythm, dict) and rhythm.get("steady") is True


def _until(form: Mapping[str, Any]) -> date | None:
    """Return the last day of a plan, None if it says no start or no weeks."""
    start = _day(form, "start")
    if start is None or "weeks" not in form:
        return None
    weeks = form["weeks"]
    if type(weeks) is not int or not 1 <= weeks <= _MOST_WEEKS:
        raise _BadError("weeks", _as_json(weeks), f"a whole number from 1 to {_MOST_WEEKS}")
    return start + timedelta(weeks=weeks, days=-1)


def _day(form: Mapping[str, Any], key: str) -> date | None:
    """Return a day, None if there is no such key."""
    if key not in form:
        return None
    try:
        day = date.fromisoformat(form[key])
    except (TypeError, ValueError):
        day = date.min
    if not _FIRST_DAY <= day <= _LAST_DAY:
        raise _BadError(key, _as_json(form[key]), "a day like 2027-03-01")
    return day


def _text(form: dict[str, Any], key: str) -> str:
    value = form.get(key, "")
    if not isinstance(value, str):
        raise _BadError(key, _as_json(value), "a text")
    return value


def _rows(form: dict[str, Any], key: str, above: str = "") -> list[tuple[str, dict[str, Any]]]:
    """Return the rows of a list, each with its place; places count from 1."""
    path = above + key
    if key not in form:
        raise _BadError(path, _MISSING, _LIST)
    if not isinstance(form[key], list):
        raise _BadError(path, _as_json(form[key]), _LIST)
    rows = [(f"{path}[{number}]", row) for number, row in enumerate(form[key], 1)]
    for at, row in rows:
        if not isinstance(row, dict):
            raise _BadError(at, _as_json(row), _OBJECT)
    return rows


def _record(kind: type[_Row], row: Mapping[str, Any], at: str, names: Names) -> _Row:
    """Return a row as a record; unknown keys are left out."""
    values: dict[str, Any] = {}
    for field in kind.model_fields:
        key = names.get(field, field)
        if isinstance(key, str):
            if key in row:
                values[field] = row[key]
        elif key[0] in row:
            pair = row[key[0]]
            if not isinstance(pair, list) or len(pair) != 2:
                raise _BadError(f"{at}.{key[0]}", _as_json(pair), "two values in [ ]")
            values[field] = pair[key[1]]
    try:
        record = kind.model_validate_json(json.dumps(values))
    except ValidationError as error:
        field = str(error.errors()[0]["loc"][0])
        raise _bad(kind, field, values, at, names) from error
    for field, value in record:
        is_far = isinstance(value, date) and not _FIRST_DAY <= value <= _LAST_DAY
        if is_far or (isinstance(value, int) and abs(value) > _MOST_WHOLE):
            raise _bad(kind, field, values, at, names)
    return record


def _bad(kind: type[Record], field: str, values: Mapping[str, Any], at: str, names: Names) -> _BadError:
    key = names.get(field, field)
    path = f"{at}.{key}" if isinstance(key, str) else f"{at}.{key[0]}[{key[1] + 1}]"
    expected = phrase(kind_of(kind.model_fields[field].annotation), field)
    return _BadError(path, _as_json(values[field]) if field in values else _MISSING, expected)


def _as_json(value: Any) -> str:
    """Return a value as JSON has it, short."""
    if isinstance(value, dict | list):
        return _OBJECT if isinstance(value, dict) else _LIST
    return shorten(json.dumps(value, ensure_ascii=False))
