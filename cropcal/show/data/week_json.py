"""The ``--json`` form of ``week``."""

from collections.abc import Callable, Mapping

from cropcal.records.plan import Job
from cropcal.records.week import Look, Week
from cropcal.show.data.json_forms import Json, job_form
from cropcal.show.water_words import stopped_pump
from cropcal.show.wording import logged, look, week_of


def week(
    the_week: Week, names: Mapping[str, str], command: Callable[[str], str], plan_again: str = ""
) -> Json:
    """Return ``jobs[]`` of the Monday-to-Sunday week that holds ``the_week.on``.

    The note is there too: for a chore it is the name. ``log`` is the command that notes the job, empty where
    the journal does not take it; ``done`` whether it was noted. ``overdue[]``, ``look_at[]``, ``water[]`` and
    ``stopped_pumps[]`` are there if there is anything in them, and ``next`` is the day of the first job after
    the week. ``habits`` are there if the plan follows the steady rule, ``runs_dry`` if its last sowing is
    near or past: the day, and the command that plans again.
    """
    monday, sunday = week_of(the_week.on)
    due = sorted((job for job in the_week.jobs if monday <= job.on <= sunday), key=lambda job: job.on)
    later = min((job.on for job in the_week.jobs if job.on > sunday), default=None)
    late = {"overdue": [_job(job, command) for job in the_week.overdue]} if the_week.overdue else {}
    look_at = {"look_at": [_look(item, names) for item in the_week.looks]} if the_week.looks else {}
    habits = (
        {"habits": [habit.model_dump(mode="json") for habit in the_week.habits]} if the_week.habits else {}
    )
    water = [
        {"zone": zone.zone, "l_per_d": row.l_per_d.model_dump()}
        for zone in the_week.water
        if (row := zone.week_of(the_week.on)) is not None
    ]
    stops = [
        {**stop.model_dump(mode="json"), "says": stopped_pump(stop, names)} for stop in the_week.stopped_pumps
    ]
    dry = the_week.last_sowing
    runs_dry = {"runs_dry": {"last_sowing": dry.isoformat(), "plan_again": plan_again}} if dry else {}
    return {
        **runs_dry,
        **habits,
        **({"water": water} if water else {}),
        **({"stopped_pumps": stops} if stops else {}),
        "jobs": [{**_job(job, command), "done": job in the_week.done} for job in due],
        **late,
        **look_at,
        "next": None if later is None else later.isoformat(),
    }


def _job(job: Job, command: Callable[[str], str]) -> Json:
    words = logged(job)
    return {**job_form(job), "log": command(words) if words else ""}


def _look(item: Look, names: Mapping[str, str]) -> Json:
    ends = (item.low_80, item.high_80)
    return {
        "what": item.what,
        "crop": item.crop,
        "bed": item.bed,
        "batches": list(item.batches),
        "date": None if item.on is None else item.on.isoformat(),
        "range_80": [end.isoformat() for end in ends if end is not None],
        "says": look(item, names),
    }
