"""``cropcal week``: the jobs of one week."""

from collections.abc import Sequence
from pathlib import Path

from cropcal.cli.begun import Beginning
from cropcal.cli.respond import Answer, respond
from cropcal.cli.search import effort
from cropcal.records.crop import CropTables
from cropcal.records.space import Space
from cropcal.season.beside import noted
from cropcal.season.care import cautions_here
from cropcal.season.load import day, fingerprint
from cropcal.season.log_words import command
from cropcal.season.plan import Asked, planned
from cropcal.season.this_week import week_of_plan
from cropcal.show import care_words
from cropcal.show.data import week_json
from cropcal.show.terminal import week as week_screen
from cropcal.show.text import as_typed
from cropcal.show.wording import jobs_of

ANEW = "This space has no written plan yet, so one was made for this answer only: cropcal plan writes one."
CHANGED = (
    "The space changed since its plan was written, so one was made for this answer only: cropcal plan"
    " writes one."
)
NOTED_SINCE = (
    "The journal or a log file has changed since this plan was made. To bring it up to date: cropcal plan"
)


def week(path: Path, on: str | None, *, as_json: bool, sets: Sequence[str] = (), whole: bool = False) -> None:
    """Print the jobs of one week, from the written plan if space.toml and crops.csv are unchanged."""
    today = day(on, "--on")
    journal = noted(path, max(today, day(None, "")))
    begin = Beginning(path, journal, today, None, ask=False).of

    def answer(space: Space, tables: CropTables) -> Answer:
        written, events = journal.plan(), journal.journal.events
        if written and not sets and written.space_sha256 == fingerprint(path, space_only=True):
            this_week = week_of_plan(space, tables, written, events, today)
            notes = () if written.inputs_sha256 == fingerprint(path) else (NOTED_SINCE,)
        else:
            notes = () if sets else (CHANGED if written else ANEW,)
            with effort(120.0) as trying:
                new_plan = planned(space, tables, Asked(path, tuple(sets), journal, today), trying)
            this_week = week_of_plan(space, tables, new_plan.result, events, today)
        names = {slug: crop.name for slug, crop in tables.crops.items()}

        def log(words: str) -> str:
            return command(path, words)

        again = command(path, "").replace("cropcal log", "cropcal plan").rstrip()
        everything = "" if whole else as_typed("week", path, f"--on {today}", "--all")
        past = [event for event in events if event.on <= today]
        care = care_words.of_jobs(cautions_here(space, tables, past, today), jobs_of(this_week))
        return Answer(
            week_json.week(this_week, names, log, again)
            | ({"care": care_words.form(care, names)} if care else {}),
            lambda: week_screen.week(
                this_week,
                names,
                log,
                again,
                everything=everything,
                care=[care_words.short(caution, names) for caution in care],
            ).removesuffix("\n"),
            notes=notes,
        )

    respond(path, sets, answer, as_json=as_json, slow=True, journal=journal, on=today, begin=begin)
