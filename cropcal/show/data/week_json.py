"""The ``--json`` form of ``week``."""

from collections.abc import Callable, Mapping

from cropcal.records.plan import Job
from cropcal.records.week import Look, Week
from cropcal.show.data.json_forms import Json, job_form
from cropcal.show.wording import logged, look, week_of


def week(found: Week, names: Mapping[str, str], command: Callable[[str], str]) -> Json:
    """Return ``jobs[]`` of the Monday-to-Sunday week that holds ``found.on``.

    The note is there too: it is what a chore is called. ``log`` is how to note the job, empty where the
    journal does not take it, ``done`` whether it was noted. ``overdue[]`` and ``look_at[]`` are there if
    there is anything in them, and ``next`` is the day of the first job after the week. ``cycle`` is there if
    the plan is steady.
    """
    monday, sunday = week_of(found.on)
    due = sorted((job for job in found.jobs if monday <= job.on <= sunday), key=lambda job: job.on)
    later = min((job.on for job in found.jobs if job.on > sunday), default=None)
    late = {"overdue": [_job(job, command) for job in found.overdue]} if found.overdue else {}
    seen = {"look_at": [_look(one, names) for one in found.looks]} if found.looks else {}
    cycle = {"cycle": {"week": found.cycle_week, "of": found.cycle_weeks}} if found.cycle_weeks else {}
    return {
        **cycle,
        "jobs": [{**_job(job, command), "done": job in found.done} for job in due],
        **late,
        **seen,
        "next": None if later is None else later.isoformat(),
    }


def _job(job: Job, command: Callable[[str], str]) -> Json:
    words = logged(job)
    return {**job_form(job), "log": command(words) if words else ""}


def _look(one: Look, names: Mapping[str, str]) -> Json:
    ends = (one.low_80, one.high_80)
    return {
        "what": one.what,
        "crop": one.crop,
        "bed": one.bed,
        "batches": list(one.batches),
        "date": None if one.on is None else one.on.isoformat(),
        "range_80": [end.isoformat() for end in ends if end is not None],
        "says": look(one, names),
    }
