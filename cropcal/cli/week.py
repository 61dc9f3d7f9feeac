"""``cropcal week``: the jobs of one week."""

from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path

from cropcal.cli.begun import Beginning
from cropcal.cli.respond import Answer, respond
from cropcal.cli.search import effort
from cropcal.records.crop import CropTables
from cropcal.records.space import Space
from cropcal.records.week import Week, last_sowing
from cropcal.records.written_plan import Past
from cropcal.season.beside import noted
from cropcal.season.care import cautions_here
from cropcal.season.load import day, fingerprint
from cropcal.season.log_words import command
from cropcal.season.plan import Asked, planned
from cropcal.show import care_words
from cropcal.show.data import week_json
from cropcal.show.terminal import week as week_screen
from cropcal.show.text import as_typed
from cropcal.show.wording import jobs_of, period_of

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
        from cropcal.planning.schedule.jobs import (
            noted_jobs,
            overdue,
            remaining_jobs,
            used_up_batches,
        )
        from cropcal.planning.schedule.scouting import scouting_list
        from cropcal.planning.site.bed_light import bed_lights
        from cropcal.planning.water.zone_water import pumps_stopped

        written = journal.plan()
        if written and not sets and written.space_sha256 == fingerprint(path, space_only=True):
            jobs, batches, habits = written.jobs, written.batches, written.habits
            supply, until, water = written.supply, written.until, written.water
            sites = written.sites
            notes = () if written.inputs_sha256 == fingerprint(path) else (NOTED_SINCE,)
        else:
            notes = () if sets else (CHANGED if written else ANEW,)
            with effort(120.0) as trying:
                new_plan = planned(space, tables, Asked(path, tuple(sets), journal, today), trying)
            result = new_plan.result
            jobs, batches, habits = result.jobs, result.batches, result.habits
            supply, until = new_plan.result.supply, period_of(new_plan.result)[1]
            water, sites = result.water, result.sites
        until = until or space.first_day + timedelta(weeks=space.asked_weeks, days=-1)
        last = last_sowing(jobs, supply, until)
        events = [event for event in journal.journal.events if event.on <= today]
        nurseries = frozenset(bed.name for bed in space.beds if bed.kind == "nursery")
        gone = used_up_batches(batches, events, nurseries, tables.crops)
        done = noted_jobs(jobs, events)
        jobs = remaining_jobs(jobs, done, gone)
        late = overdue(jobs, events, today)
        unsown = {job.batch for job in late if job.job in ("sow", "plant")}
        sown = [batch for batch in batches if batch.id not in unsown]
        lights = bed_lights(space, tables)
        past = Past(on=today, batches=tuple(batches), sites=sites, events=tuple(events))
        this_week = Week(
            place=space.place.name,
            on=today,
            start=space.first_day,
            until=until,
            jobs=jobs,
            done=done,
            overdue=late,
            habits=habits,
            last_sowing=last.on if last and last.tell_from <= today else None,
            bed_of={batch.id: batch.bed for batch in batches},
            looks=scouting_list(sown, events, space, tables, lights, today),
            water=water,
            stopped_pumps=pumps_stopped(space, tables, lights, past),
        )
        names = {slug: crop.name for slug, crop in tables.crops.items()}

        def log(words: str) -> str:
            return command(path, words)

        again = command(path, "").replace("cropcal log", "cropcal plan").rstrip()
        everything = "" if whole else as_typed("week", path, f"--on {today}", "--all")
        care = care_words.of_jobs(cautions_here(space, tables, events, today), jobs_of(this_week))
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
