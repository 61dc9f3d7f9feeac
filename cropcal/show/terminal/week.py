"""What ``week`` prints: a checklist as narrow as a phone."""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from datetime import date

from cropcal.records.plan import Job
from cropcal.records.week import Look, Week
from cropcal.show import text
from cropcal.show.wording import (
    by_day,
    crop_name,
    facts_of,
    head,
    logged,
    look,
    title,
    week_of,
)

PHONE_WIDTH = 40
HEADINGS = {
    "cut": "Cut",
    "clear": "Clear",
    "thin": "Thin",
    "transplant": "Transplant",
    "plant": "Plant",
    "sow": "Sow",
    "chore": "Chores",
}
LOOKS_SHOWN = 9
TO_DO, DONE = "[ ] ", "[x] "

Command = Callable[[str], str]
"""From words of ``cropcal log`` to the whole command for this space."""


def week(
    found: Week, names: Mapping[str, str], command: Command, plan_again: str, width: int = PHONE_WIDTH
) -> str:
    """Return a checklist of the Monday-to-Sunday week that holds ``found.on``; it ends in a newline.

    By day, then by kind of job, in the order of work; what nobody noted comes first, what to look at last.
    Every line begins with the batch id that ``cropcal log`` takes.

    Parameters
    ----------
    found
        The week.
    names
        Slug of a crop -> its name.
    command
        Makes a ``cropcal log`` command of its words.
    plan_again
        The command that makes the plan anew.
    width
        Columns of the screen.
    """
    monday, sunday = week_of(found.on)
    year = f" {sunday.year}" if monday.year == sunday.year else ""
    parts = [text.wrap(found.place, width), f"Week {text.span(monday, sunday)}{year}"]
    if found.cycle_weeks > 1 and found.start <= found.on <= found.until:
        parts.append(f"Week {found.cycle_week} of {found.cycle_weeks} of the rhythm")
    days = by_day(found.jobs)
    due = {on: jobs for on, jobs in days.items() if monday <= on <= sunday}
    if found.overdue:
        parts.append("\nOverdue, or not noted yet")
        for job in found.overdue:
            parts += [_tick(job, names, width, head(job, names)), f"    was due {text.day(job.on)}"]
    for on, jobs in due.items():
        parts.append(f"\n{text.day(on)}")
        for kind in HEADINGS:
            parts += _group([job for job in jobs if job.job == kind], names, width, found.done)
    if not due:
        parts += _idle(found, plan_again, monday, sunday, width)
    if found.looks:
        parts += ["\nWhat to look at", *_looks(found.looks, names, width)]
    later = next((on for on in days if on > sunday), None)
    if later and (due or sunday >= found.start):
        parts += ["", text.wrap(f"Next after this: {text.day(later)}", width)]
        parts.append(text.wrap(f"{title(days[later], names)}", width, "  ", "  "))
    elif later:
        parts += ["", text.wrap(f"First jobs: {text.day(later)}", width)]
        parts.append(text.wrap(f"{title(days[later], names)}", width, "  ", "  "))
    left = [job for jobs in due.values() for job in jobs if job not in found.done]
    hint = log_words([*found.overdue, *left])
    if hint:
        parts.append("\n" + text.wrap(f"Done? Note it: {command(hint)}", width))
    return "\n".join(parts) + "\n"


def log_words(jobs: Iterable[Job]) -> str:
    """Return what to type after ``cropcal log`` for the first job that the journal takes; "" if none does."""
    return next((words for job in jobs if (words := logged(job))), "")


def _group(
    jobs: Sequence[Job], names: Mapping[str, str], width: int, done: Collection[Job] = ()
) -> list[str]:
    """Return the jobs of one kind under their heading, with what holds for all of them beside it."""
    if not jobs:
        return []
    alike = _alike(jobs)
    first = HEADINGS[jobs[0].job] + (f": {'; '.join(alike)}" if alike else "")
    return [
        text.wrap(first, width, later="  "),
        *(
            _tick(job, names, width, crop_name(job.crop, names), alike, DONE if job in done else TO_DO)
            for job in jobs
        ),
    ]


def _alike(jobs: Sequence[Job]) -> list[str]:
    """Return the parts of the notes that all of several jobs share."""
    if len(jobs) < 2 or jobs[0].job == "chore":
        return []
    return [part for part in _parts(jobs[0]) if all(part in _parts(job) for job in jobs)]


def _parts(job: Job) -> list[str]:
    return [part for part in job.note.split("; ") if part]


def _tick(
    job: Job,
    names: Mapping[str, str],
    width: int,
    what: str,
    alike: Sequence[str] = (),
    box: str = TO_DO,
) -> str:
    if job.job == "chore":
        return text.wrap(head(job, names), width, box, "    ")
    note = "; ".join(part for part in _parts(job) if part not in alike)
    facts = ", ".join([*facts_of(job), *([note] if note else [])])
    lines = [text.wrap(f"{job.batch} {what}", width, box, "    ")]
    if box == DONE:
        return lines[0]
    return "\n".join([*lines, *([text.wrap(facts, width, "    ", "    ")] if facts else [])])


def _idle(found: Week, plan_again: str, monday: date, sunday: date, width: int) -> list[str]:
    """Return why there is nothing to do, and what to type where the plan does not reach."""
    if monday > found.until:
        return [
            "\n" + text.wrap(f"This plan ended on {text.day_year(found.until)}.", width),
            text.wrap(f"Set start in space.toml to a day to come, then type: {plan_again}", width),
        ]
    if not found.jobs:
        return ["\n" + text.wrap(f"The plan has no jobs. To see why, type: {plan_again}", width)]
    if sunday < found.start:
        return [
            "\n" + text.wrap(f"This plan begins on {text.day_year(found.start)}: nothing to do yet.", width)
        ]
    return ["\nNothing to do this week."]


def _looks(looks: Sequence[Look], names: Mapping[str, str], width: int) -> list[str]:
    shown = [text.wrap(look(one, names), width, "- ", "  ") for one in looks[:LOOKS_SHOWN]]
    more = len(looks) - LOOKS_SHOWN
    return [*shown, *([f"and {more} more: --json has them all"] if more > 0 else [])]
