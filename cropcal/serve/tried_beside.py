"""Compare a space as it is with one that is tried, in a process of its own, by a quick plan of each.

The process is started as ``python -m cropcal.serve.tried_beside SPACE TRIED DAY``. The folder TRIED has the
other space.toml, with the space's own crops if it has any, and gets ``SAID``; the exit code is 0, or 2 where
``SAID`` has problems. The end of its standard input ends it at once, for then its server is gone.
"""

import json
import os
import sys
import threading
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path

from cropcal.records.base import Record
from cropcal.records.plan import SeasonPlan
from cropcal.season.beside import noted
from cropcal.season.errors import SpaceError
from cropcal.season.files import names
from cropcal.season.opened import opened
from cropcal.season.plan import Asked, planned
from cropcal.show import text
from cropcal.show.glance.light import best_fits
from cropcal.show.terminal.choices import weeks
from cropcal.show.terminal.light import VERDICTS
from cropcal.show.wording import crop_name, power_a_month

SAID = "compared.json"
"""File in the folder of what is tried: ``Compared``, or a list of problems."""
NOTHING = "-"


class Compared(Record):
    """What is tried beside what is: (what, as it is, as it is tried), the rows that differ first."""

    differ: tuple[tuple[str, str, str], ...]
    alike: tuple[tuple[str, str, str], ...]


def compare(path: Path, tried: Path, today: date) -> Compared:
    """Return what a changed space brings, by one pass of planning for each of the two.

    Raises
    ------
    SpaceError
        If a file has mistakes.
    """
    before, now = _figures(path, today, None), _figures(path, today, tried)
    rows = [
        (what, before.get(what, NOTHING), now.get(what, NOTHING)) for what in dict.fromkeys((*now, *before))
    ]
    return Compared(
        differ=tuple(row for row in rows if row[1] != row[2]),
        alike=tuple(row for row in rows if row[1] == row[2]),
    )


def _figures(path: Path, today: date, instead: Path | None) -> dict[str, str]:
    from cropcal.planning.planner import SolveOptions

    present = opened(path, on=today, instead=instead)
    new_plan = planned(
        present.ready(), present.tables, Asked(path, (), noted(path, today), today), SolveOptions()
    )
    result, crop_names = new_plan.result, names(present.tables)
    return {**_harvests(result), **_power(result), **_verdicts(result, crop_names)}


def _verdicts(result: SeasonPlan, crop_names: Mapping[str, str]) -> dict[str, str]:
    """Return how each wanted crop grows in its best bed."""
    return {
        f"{crop_name(fit.crop, crop_names)} in its best bed": VERDICTS[fit.verdict]
        for fit in best_fits(result.fits)
    }


def _harvests(result: SeasonPlan) -> dict[str, str]:
    """Return the harvest of a mean week by unit, and the weeks that are expected to be missed."""
    amounts: dict[str, float] = {}
    for batch in result.batches:
        for harvest in batch.harvests:
            amounts[batch.unit] = amounts.get(batch.unit, 0.0) + harvest.amount
    rows = {
        f"{unit} cut a week, about": text.quantity(amount / result.weeks, unit)
        for unit, amount in amounts.items()
    }
    if result.expected is not None and result.expected.weeks:
        missed = weeks(result.expected.short_want_weeks)
        rows["weekly targets missed, about"] = f"{missed} of {result.expected.weeks}"
    return rows


def _power(result: SeasonPlan) -> dict[str, str]:
    if result.bill_range is None:
        return {}
    month = result.bill_range.a_month
    return {power_a_month(result): text.plain(month.kwh if month.cost is None else month.cost, 0)}


def main(arguments: Sequence[str]) -> int:
    """Run the process: compare, write what came of it, and return the exit code."""
    from cropcal.planning import choices

    path, tried, day = arguments
    threading.Thread(target=_end_with_server, daemon=True).start()
    choices.EFFORT = choices.SearchEffort(8, 1, 16, 0, 0, rule=False)
    try:
        said = compare(Path(path), Path(tried), date.fromisoformat(day)).model_dump_json()
    except SpaceError as error:
        Path(tried, SAID).write_text(
            json.dumps([str(problem) for problem in error.problems]), encoding="utf-8"
        )
        return 2
    Path(tried, SAID).write_text(said, encoding="utf-8")
    return 0


def _end_with_server() -> None:
    while sys.stdin.readline():
        pass
    os._exit(1)


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
