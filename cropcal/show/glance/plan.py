"""What ``plan`` prints first: the answer in at most 24 lines of 80 columns; ``--all`` prints the rest."""

from collections.abc import Mapping, Sequence
from datetime import date

from cropcal.records.chances import Choice
from cropcal.records.plan import Job, SeasonPlan
from cropcal.show import care_words, text
from cropcal.show.glance.fitting import sentence
from cropcal.show.terminal.chances import sow_more_lines
from cropcal.show.terminal.choices import STOPPED, power, weeks, weighed
from cropcal.show.terminal.plan import (
    NO_PLAN_BEFORE,
    NOT_DONE,
    NOTHING_CHANGED,
    heading,
    headline,
    nothing_grows,
    revision,
)
from cropcal.show.text import LINES
from cropcal.show.wording import by_day, crop_name, power_a_month, title

WORK_DAYS, JOB_LINES, HARVESTS, CHANGES, WARNING_LINES, FIRST_LINES = 2, 6, 4, 2, 3, 2
REASON_LINES = 16
LEAST_HARVEST_LINES, LEAST_JOB_LINES = 2, 3
"""Lines of a block that are kept where there is too much for a screen, its title among them."""
MORE_JOBS = "      and more: cropcal week"


def glance(
    result: SeasonPlan,
    names: Mapping[str, str],
    everything: str,
    next_command: str = "",
    today: date | None = None,
    care_command: str = "cropcal care",
) -> str:
    """Return the plan at a glance: how sure, what to do, what to eat, what it costs, the gravest warning.

    Parameters
    ----------
    result
        The plan.
    names
        Slug of a crop -> its name.
    everything
        The command that prints all of the plan.
    next_command
        What the user should type next.
    today
        The day of planning; jobs before it are not shown. None: from the start of the plan.
    care_command
        The command that prints all cautions.
    """
    head = [heading(result), *text.wrap(headline(result)).split("\n")]
    if result.searched is not None and result.searched.stopped:
        head.append(STOPPED.strip())
    if result.outcome.status == "empty":
        return "\n".join(head) + "\n" + _nothing_grows(result.warnings) + _last(everything, next_command)
    since = max(result.again.on if result.again else result.start, today or result.start)
    harvests, jobs = _harvests(result, names, since), _jobs(result, names, since)
    care = [line for line in (care_words.titles(result.care, care_command),) if line]
    changes, warning = [*_changes(result, names), *_taken_as_done(result, names)], _warning(result)
    choice, last = [*_choice(result), *_surer(result, names)], _last(everything, next_command)
    while True:
        blocks = (
            [*head, *changes, *choice],
            [*_first_ready(result, names), *harvests],
            jobs,
            [*_cost(result), *warning, *care],
        )
        lines = [line for block in blocks if block for line in ("", *block)][1:]
        if len(lines) + last.count("\n") > LINES and len(harvests) > LEAST_HARVEST_LINES:
            harvests.pop()
        elif len(lines) + last.count("\n") > LINES and len(jobs) > LEAST_JOB_LINES:
            jobs = [*jobs[:-3], _ended(jobs[-3]), MORE_JOBS]
        elif len(lines) + last.count("\n") > LINES and choice:
            choice = []
        elif len(lines) + last.count("\n") > LINES and care:
            care = []
        else:
            return "\n".join(lines) + "\n" + last


def _nothing_grows(warnings: Sequence[str]) -> str:
    """Return the gravest reasons why nothing can be grown, as many as there is room for."""
    shown = list(warnings)
    while len(shown) > 1 and nothing_grows(shown).count("\n") > REASON_LINES:
        shown.pop()
    more = len(warnings) - len(shown)
    return nothing_grows([*shown, *([f"and {more} more reason{'s' if more > 1 else ''}"] if more else [])])


def _last(everything: str, next_command: str) -> str:
    lines = [f"All of it: {everything}"] + ([f"Next, type: {next_command}"] if next_command else [])
    return "\n" + "\n".join(lines) + "\n"


def _changes(result: SeasonPlan, names: Mapping[str, str]) -> list[str]:
    """Return what changed since the last plan: the first changes, and how many more there are."""
    if result.again is None:
        return []
    if not result.again.compared:
        return text.wrap(NO_PLAN_BEFORE).split("\n")
    rows = result.again.revisions
    if not rows:
        return [f"Changed since the last plan: {NOTHING_CHANGED[:1].lower()}{NOTHING_CHANGED[1:]}"]
    lines = ["Changed since the last plan"]
    lines += [text.clip(f"  {revision(row, names)}", text.WIDTH) for row in rows[:CHANGES]]
    more = len(rows) - CHANGES
    return [*lines, f"  and {more} more"] if more > 0 else lines


def _taken_as_done(result: SeasonPlan, names: Mapping[str, str]) -> list[str]:
    """Return the last job that was taken as done without a note, how many there are, and what to do."""
    taken = result.again.taken_done if result.again else ()
    if not taken:
        return []
    job = taken[-1]
    which = f"{text.day(job.on)} {job.job} {crop_name(job.crop, names)} {job.batch}"
    others = f" and {len(taken) - 1} before it" if len(taken) > 1 else ""
    return text.wrap(f"Not noted, so counted as done: {which}{others}. {NOT_DONE}", later="  ").split("\n")


def _choice(result: SeasonPlan) -> list[str]:
    """Return what the chosen amount of sowing brings, and what the two others would."""
    choices = weighed(result)
    chosen = next((choice for choice in choices if choice.chosen), None)
    if chosen is None:
        return []
    others = "; ".join(_beside(choice, chosen) for choice in choices if not choice.chosen)
    line = f"Sown: {chosen.cells} cells ({chosen.name}). Instead, {others}."
    return text.wrap(line, later="  ").split("\n")


def _beside(choice: Choice, chosen: Choice) -> str:
    """Return another choice beside the one of the plan: "safe: 192 cells, 0.5 fewer weeks missed"."""
    gap = choice.short_want_weeks - chosen.short_want_weeks
    misses = "as many weeks missed"
    if weeks(abs(gap)) != "0":
        misses = f"{weeks(abs(gap))} {'more' if gap > 0 else 'fewer'} weeks missed"
    return f"{choice.name}: {choice.cells} cells, {misses}"


def _surer(result: SeasonPlan, names: Mapping[str, str]) -> list[str]:
    """Return the week that a few cells more make surer, where there is one."""
    lines = sow_more_lines(result.sow_more, names)
    return text.wrap(f"{lines[0]}.", later="  ").split("\n") if lines else []


def _jobs(result: SeasonPlan, names: Mapping[str, str], since: date) -> list[str]:
    """Return the jobs of the next two work days, equal ones added up."""
    days = [(on, jobs) for on, jobs in by_day(result.jobs).items() if on >= since]
    lines: list[str] = []
    for on, jobs in days[:WORK_DAYS]:
        lines += text.wrap(f"{text.day(on)}: {title(jobs, names)}", first="  ", later="      ").split("\n")
    shown = (
        lines
        if len(lines) <= JOB_LINES
        else [*lines[: JOB_LINES - 2], _ended(lines[JOB_LINES - 2]), MORE_JOBS]
    )
    return ["To do", *shown] if lines else []


def _ended(line: str) -> str:
    """Return a line of jobs that is the last one shown, without the "and" that led on to the next."""
    return line.removesuffix(" and").rstrip(",")


def _first_ready(result: SeasonPlan, names: Mapping[str, str]) -> list[str]:
    """Return when each crop is first ready."""
    first: dict[str, date] = {}
    for batch in sorted(result.batches, key=lambda batch: (batch.ready_from, batch.id)):
        first.setdefault(batch.crop, batch.ready_from)
    if result.again or not first:
        return []
    ready = [f"{crop_name(crop, names)} {text.day(on)}" for crop, on in first.items()]
    for shown in range(len(ready), 0, -1):
        more = f" and {len(ready) - shown} more" if shown < len(ready) else ""
        lines = text.wrap(f"First ready: {', '.join(ready[:shown])}{more}", later="  ").split("\n")
        if len(lines) <= FIRST_LINES:
            break
    return lines


def _harvests(result: SeasonPlan, names: Mapping[str, str], since: date) -> list[str]:
    """Return the next harvests: day, likely days, amount."""
    cuts: dict[tuple[date, str, str], list[Job]] = {}
    for job in sorted(result.jobs, key=lambda job: job.on):
        if job.job == "cut" and job.on >= since:
            cuts.setdefault((job.on, job.crop, job.unit), []).append(job)
    lines = []
    for (on, crop, unit), jobs in list(cuts.items())[:HARVESTS]:
        known = [job.amount for job in jobs if job.amount is not None]
        amount = text.amount(sum(known), unit) if known else ""
        likely = [job.likely for job in jobs if job.likely and job.likely[0] < job.likely[1]]
        between = ""
        if likely:
            low, high = min(days[0] for days in likely), max(days[1] for days in likely)
            between = f", likely {text.span(low, high)}"
        lines.append(text.clip(f"  {text.day(on)}: {amount} {crop_name(crop, names)}{between}", text.WIDTH))
    return ["Next harvests", *lines] if lines else []


def _cost(result: SeasonPlan) -> list[str]:
    """Return the power of a month, with its range; what it is in words of the tariff."""
    chosen = next((choice for choice in result.choices if choice.chosen), None)
    if chosen is not None and result.bill:
        return [f"Power: {power(chosen, result.choices)} {power_a_month(result)}"]
    return []


def _warning(result: SeasonPlan) -> list[str]:
    """Return the gravest warning, and how many more there are."""
    if not result.warnings:
        return []
    lines = sentence(f"Watch out: {result.warnings[0]}", WARNING_LINES).split("\n")
    more = len(result.warnings) - 1
    return [*lines, f"  and {more} more warning{'s' if more > 1 else ''}"] if more else lines
