"""Make a plan beside the one that holds, in a process of its own, and say in plain words what it changes.

The process is started as ``python -m cropcal.serve.planned_again FOLDER BESIDE DAY BEGUN``. It prints a line
of progress now and then, and ends with 0 once the folder BESIDE has every file of the new plan, and what to
say about it; with 2 once that is why there is none. A line on its standard input ends the search early; the
end of that input ends it at once, for then the server that started it is gone.
"""

import json
import os
import sys
import threading
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path

from cropcal.reading.files.file_set import write_set
from cropcal.records.base import Record
from cropcal.records.chances import Choice
from cropcal.records.plan import SeasonPlan
from cropcal.records.replan import Begun
from cropcal.records.space import Space
from cropcal.season.begun import never_begun
from cropcal.season.beside import noted
from cropcal.season.errors import SpaceError
from cropcal.season.files import names
from cropcal.season.load import PLAN_FOLDER, folder_of
from cropcal.season.opened import opened
from cropcal.season.plan import Asked, planned
from cropcal.show import text
from cropcal.show.terminal.choices import weeks
from cropcal.show.terminal.plan import NO_PLAN_BEFORE, NOTHING_CHANGED, headline, revision
from cropcal.show.wording import by_day, crop_name, power_a_month, title

SAID = "what-changes.json"
"""File beside those of the new plan: a ``Preview``."""
TIME_LIMIT_S = 120.0
NEXT_DAYS = 3


class Preview(Record):
    """A new plan in plain words, before it replaces the one that holds.

    Attributes
    ----------
    headline
        How many weekly targets will be met.
    changes
        A sentence for each change against the plan that holds.
    taken_done
        Jobs that nobody noted, counted as done.
    figures
        Name, before and now of what can be compared; before is "" where there was no plan.
    next_jobs
        Day and jobs of the next days with work.
    warnings
        What to watch out for.
    inputs_sha256
        Hash of the files it was made from.
    is_empty
        Nothing that is wanted can be ready in time.
    """

    headline: str
    changes: tuple[str, ...]
    taken_done: tuple[str, ...]
    figures: tuple[tuple[str, str, str], ...]
    next_jobs: tuple[tuple[str, str], ...]
    warnings: tuple[str, ...]
    inputs_sha256: str
    is_empty: bool


def plan_beside(
    path: Path,
    beside: Path,
    today: date,
    progress: Callable[[int], None],
    stop: Callable[[], bool] | None = None,
    *,
    begun: bool = False,
) -> None:
    """Plan again and write all files of the plan into a folder, with ``SAID``; the space is left as it is.

    Parameters
    ----------
    path
        The space.
    beside
        The folder to write into.
    today
        The first day to be planned.
    progress
        Called now and then with the number of changes that were tried.
    stop
        Whether to end the search early, with the best plan so far.
    begun
        For a space whose start is past, with nothing noted and no plan: whether it was sown since.

    Raises
    ------
    SpaceError
        If a file has mistakes.
    """
    from cropcal.planning.planner import SolveOptions

    journal = noted(path, today)

    def begin(space: Space) -> Begun | None:
        idle = never_begun(path, journal, space, today) and not begun
        return Begun(start=space.settings.start, on=today) if idle else None

    present = opened(path, on=today)
    space = present.ready(begin)
    effort = SolveOptions(TIME_LIMIT_S, stop, lambda _score, trials: progress(trials))
    new_plan = planned(space, present.tables, Asked(path, (), journal, today), effort)
    before = journal.plan()
    chosen = next((choice for choice in before.choices if choice.chosen), None) if before else None
    files = new_plan.files(folder_of(path) / PLAN_FOLDER, new_plan.form())
    preview = _preview(
        new_plan.result, names(present.tables), chosen, new_plan.settings_changed, new_plan.inputs_sha256
    )
    write_set(beside, files | {SAID: preview.model_dump_json()})


def _preview(
    result: SeasonPlan,
    crop_names: dict[str, str],
    before: Choice | None,
    settings_changed: Sequence[str],
    inputs_sha256: str,
) -> Preview:
    again = result.again
    changes = [NO_PLAN_BEFORE] if again is None or not again.compared else []
    if again is not None and again.compared:
        changes = [revision(row, crop_names) for row in again.revisions] or [NOTHING_CHANGED]
    taken = again.taken_done if again else ()
    since = again.on if again else result.start
    days = [(on, jobs) for on, jobs in by_day(result.jobs).items() if on >= since]
    return Preview(
        headline=headline(result),
        changes=(*changes, *settings_changed),
        taken_done=tuple(
            f"{text.day(row.on)}: {row.job} {crop_name(row.crop, crop_names)} {row.batch}" for row in taken
        ),
        figures=_figures(result, before),
        next_jobs=tuple((text.day(on), title(jobs, crop_names)) for on, jobs in days[:NEXT_DAYS]),
        warnings=result.warnings,
        inputs_sha256=inputs_sha256,
        is_empty=result.outcome.status == "empty",
    )


def _figures(result: SeasonPlan, before: Choice | None) -> tuple[tuple[str, str, str], ...]:
    now = next((choice for choice in result.choices if choice.chosen), None)
    if now is None:
        return ()

    def pair(what: str, figure: Callable[[Choice], str]) -> tuple[str, str, str]:
        return what, figure(before) if before else "", figure(now)

    return (
        pair("weekly targets missed, about", lambda choice: weeks(choice.short_want_weeks)),
        pair("cells sown from here on", lambda choice: str(choice.cells)),
        pair(
            power_a_month(result),
            lambda choice: "-" if choice.power is None else text.plain(choice.power, 0),
        ),
    )


def main(arguments: Sequence[str]) -> int:
    """Run the process: plan, print progress, and return its exit code."""
    path, beside, day, begun = arguments

    def progress(trials: int) -> None:
        sys.stdout.write(f"{trials}\n")
        sys.stdout.flush()

    enough = threading.Event()
    threading.Thread(target=_listen, args=(enough,), daemon=True).start()
    today = date.fromisoformat(day)
    try:
        plan_beside(Path(path), Path(beside), today, progress, enough.is_set, begun=begun == "begun")
    except SpaceError as error:
        said = json.dumps([str(problem) for problem in error.problems])
        Path(beside, SAID).write_text(said, encoding="utf-8")
        return 2
    return 0


def _listen(enough: threading.Event) -> None:
    """Wait for the word to end the search, or for the end of whoever would say it."""
    while sys.stdin.readline():
        enough.set()
    os._exit(1)


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
