"""What ``week`` prints: a checklist as narrow as a phone."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date

from cropcal.records.plan import Job
from cropcal.records.week import Look, Week
from cropcal.show import text
from cropcal.show.sown_together import as_one, sown_together
from cropcal.show.terminal.chances import rule_line
from cropcal.show.water_words import stopped_pump, week_lines
from cropcal.show.wording import (
    by_day,
    checks_of,
    crop_name,
    facts_of,
    head,
    last_sowing,
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
LOOKS_SHOWN, FEW_LOOKS = 9, 3
DAYS_A_WEEK = 7
TO_DO, DONE = "[ ] ", "[x] "

Command = Callable[[str], str]
"""From words of ``cropcal log`` to the whole command for this space."""


def week(
    the_week: Week,
    names: Mapping[str, str],
    command: Command,
    plan_again: str,
    width: int = PHONE_WIDTH,
    everything: str = "",
    care: Sequence[str] = (),
) -> str:
    """Return the checklist of the Monday-to-Sunday week that holds ``the_week.on``; it ends in a newline.

    By day, then by kind of job, in the order of work; overdue jobs come first, the scouting list last. Every
    line begins with the batch id that ``cropcal log`` takes.

    Parameters
    ----------
    the_week
        The week.
    names
        Slug of a crop -> its name.
    command
        Makes a ``cropcal log`` command from the words after it.
    plan_again
        The command that plans again.
    width
        Columns of the screen.
    everything
        The command that prints all; with it, what comes after the jobs is kept short.
    care
        The cautions that its jobs call for, a line each.
    """
    monday, sunday = week_of(the_week.on)
    year = f" {sunday.year}" if monday.year == sunday.year else ""
    parts = [text.wrap(the_week.place, width), f"Week {text.span(monday, sunday)}{year}"]
    if the_week.last_sowing and monday <= the_week.until:
        parts.append(text.wrap(f"{last_sowing(the_week.last_sowing, the_week.on)} {plan_again}", width))
    if the_week.habits:
        parts.append(text.wrap(rule_line(the_week.habits, names), width))
    days = by_day(the_week.jobs)
    due = {on: jobs for on, jobs in days.items() if monday <= on <= sunday}
    for stop in the_week.stopped_pumps:
        parts.append("\n" + text.wrap(stopped_pump(stop, names), width, "! ", "  "))
    if the_week.overdue:
        parts.append("\nOverdue, or not noted yet")
        for job in the_week.overdue:
            parts += [_checkbox(job, "", names, width, head(job, names)), f"    was due {text.day(job.on)}"]
    for on, jobs in due.items():
        parts.append(f"\n{text.day(on)}")
        for kind in HEADINGS:
            parts += _group([job for job in jobs if job.job == kind], names, width, the_week)
    if not due:
        parts += _idle(the_week, plan_again, monday, sunday, width)
    parts += _checks([job for job in the_week.jobs if monday <= job.on <= sunday], width)
    parts += ["\n" + text.wrap(line, width) for line in week_lines(the_week.water, the_week.on)]
    if the_week.looks:
        parts += ["\nWhat to look at", *_scouting_lines(the_week.looks, names, width, everything)]
    if care:
        parts += ["\nTake care", text.bullets(care, width)]
    later = next((on for on in days if on > sunday), None)
    if later and (due or sunday >= the_week.start):
        parts += ["", text.wrap(f"Next after this: {text.day(later)}", width)]
        parts.append(text.wrap(f"{title(days[later], names)}", width, "  ", "  "))
    elif later:
        parts += ["", text.wrap(f"First jobs: {text.day(later)}", width)]
        parts.append(text.wrap(f"{title(days[later], names)}", width, "  ", "  "))
    left = [job for jobs in due.values() for job in jobs if job not in the_week.done]
    hint = log_words([*the_week.overdue, *left])
    if hint:
        parts.append("\n" + text.wrap(f"Done? Note it: {command(hint)}", width))
    if any(logged(job) for job in left if job.on == the_week.on):
        parts.append(text.wrap(f"All of today as planned: {command('done')}", width))
    return "\n".join(parts) + "\n"


def log_words(jobs: Iterable[Job]) -> str:
    """Return what to type after ``cropcal log`` for the first job that the journal takes; "" if none does."""
    return next((words for job in jobs if (words := logged(job))), "")


def _group(jobs: Sequence[Job], names: Mapping[str, str], width: int, the_week: Week) -> list[str]:
    """Return the jobs of one kind under their heading, with the notes that they share beside it.

    What is sown of one crop in one nursery is one job to the hands, for however many batches.
    """
    if not jobs:
        return []
    alike = _shared_notes(jobs)
    first = HEADINGS[jobs[0].job] + (f": {'; '.join(alike)}" if alike else "")
    return [
        text.wrap(first, width, later="  "),
        *(
            _checkbox(
                *as_one(same, the_week.bed_of),
                names,
                width,
                crop_name(same[0].crop, names),
                alike,
                DONE if same[0] in the_week.done else TO_DO,
            )
            for same in sown_together(jobs, the_week.done)
        ),
    ]


def _shared_notes(jobs: Sequence[Job]) -> list[str]:
    """Return the parts of the notes that all of several jobs share."""
    if len(jobs) < 2 or jobs[0].job == "chore":
        return []
    return [part for part in _note_parts(jobs[0]) if all(part in _note_parts(job) for job in jobs)]


def _note_parts(job: Job) -> list[str]:
    return [part for part in job.note.split("; ") if part]


def _checkbox(
    job: Job,
    shares: str,
    names: Mapping[str, str],
    width: int,
    what: str,
    alike: Sequence[str] = (),
    box: str = TO_DO,
) -> str:
    if job.job == "chore":
        return text.wrap(head(job, names), width, box, "    ")
    note = "; ".join(part for part in _note_parts(job) if part not in alike)
    facts = ", ".join([*facts_of(job, shares), *([note] if note else [])])
    lines = [text.wrap(f"{job.batch} {what}", width, box, "    ")]
    if box == DONE:
        return lines[0]
    return "\n".join([*lines, *([text.wrap(facts, width, "    ", "    ")] if facts else [])])


def _checks(jobs: Sequence[Job], width: int) -> list[str]:
    """Return what to look at on any days of this week, with those days."""
    lines = [
        text.wrap(f"{_weekdays(days)}: {text.clean(what)}", width, TO_DO, "    ")
        for what, days in checks_of(jobs).items()
    ]
    return ["\nChecks, on any day", *lines] if lines else []


def _weekdays(days: Sequence[date]) -> str:
    return "every day" if len(days) == DAYS_A_WEEK else ", ".join(f"{day:%a}" for day in days)


def _idle(the_week: Week, plan_again: str, monday: date, sunday: date, width: int) -> list[str]:
    """Return why there is nothing to do, and what to type if the week lies outside the plan."""
    if monday > the_week.until:
        return [
            "\n" + text.wrap(f"This plan ended on {text.day_year(the_week.until)}.", width),
            text.wrap(f"To continue from here, type: {plan_again}", width),
        ]
    if not the_week.jobs:
        return ["\n" + text.wrap(f"The plan has no jobs. To see why, type: {plan_again}", width)]
    if sunday < the_week.start:
        return [
            "\n"
            + text.wrap(f"This plan begins on {text.day_year(the_week.start)}: nothing to do yet.", width)
        ]
    return ["\nNothing to do this week."]


def _scouting_lines(
    looks: Sequence[Look], names: Mapping[str, str], width: int, everything: str
) -> list[str]:
    """Return what to look at; in a short list what may go wrong comes before what should be up or ready."""
    most = LOOKS_SHOWN
    if everything and len(looks) > FEW_LOOKS:
        most = FEW_LOOKS
        looks = sorted(looks, key=lambda item: item.what in ("up", "ready"))
    shown = [text.wrap(look(item, names), width, "- ", "  ") for item in looks[:most]]
    more = len(looks) - most
    if more <= 0:
        return shown
    return [
        *shown,
        f"and {more} more:\n  {everything}" if everything else f"and {more} more: --json has them all",
    ]
