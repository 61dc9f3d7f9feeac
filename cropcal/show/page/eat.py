"""First and second part of the page: what is ready when, and the jobs."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby

from cropcal.records.plan import (
    Batch,
    SeasonPlan,
    SeedOrder,
    Supply,
)
from cropcal.show import text
from cropcal.show.page.svg import (
    Markup,
    element,
    joined,
    line,
    percent,
    rect,
    words,
)
from cropcal.show.sown_together import beds_of, job_lines, sown_together
from cropcal.show.wording import (
    NEARLY,
    by_day,
    crop_name,
    number_of,
    title,
    want_name,
    week_of,
)

BAR_TOP, BAR_FOOT, CHANCE_TOP, CHANCE_FOOT = 10.0, 62.0, 84.0, 104.0
MONTHS_AT, HEIGHT_WITH_CHANCE, HEIGHT = 76.0, 108.0, 80.0
MOST_WEEKS_AT_ONCE = 60
"""Weeks beyond which the picture scrolls in its own box."""
OPEN_WEEKS, MOST_OPEN_JOBS = 2, 24
"""Weeks of jobs shown open, and how many jobs these may have; later ones are folded."""
OPEN_DISHES = 12
"""Crops up to which the table of crops is open."""
OPEN_STRIPS = 6
"""Wants whose weeks are shown as pictures; of more, all are folded."""
OPEN_WARNINGS = 5
"""Warnings that are shown; others are folded."""
TALLEST = 1.6
"""A bar ends at this many times what is wanted; more is only written."""


@dataclass(frozen=True)
class Dish:
    """One crop: when its first is ready, when its last is cut and eaten, and how much there is in all."""

    crop: str
    first: str
    likely: str
    last: str
    eat_by: str
    amount: str


@dataclass(frozen=True)
class Strip:
    """One want over all weeks: how many are met, and the picture."""

    name: str
    asked: str
    met: str
    chance: str
    picture: Markup
    long: bool


@dataclass(frozen=True)
class Cell:
    """One want in one week, in words: ``state`` is met, nearly, short, away, more or blank."""

    state: str
    sign: str
    amount: str
    chance: str


@dataclass(frozen=True)
class WeekRow:
    """One week of all wants."""

    when: str
    day: str
    cells: tuple[Cell, ...]


def dishes(result: SeasonPlan, names: Mapping[str, str]) -> tuple[Dish, ...]:
    """Return each crop once, the first to be ready first."""
    by_crop: dict[str, list[Batch]] = {}
    for batch in sorted(result.batches, key=lambda batch: (batch.ready_from, batch.id)):
        by_crop.setdefault(batch.crop, []).append(batch)
    last_eaten = {job.crop: job.eat_by for job in result.jobs if job.eat_by}
    rows = []
    for slug, batches in by_crop.items():
        last = max((harvest.on for batch in batches for harvest in batch.harvests), default=None)
        rows.append(
            Dish(
                crop=crop_name(slug, names),
                first=text.day(batches[0].ready_from),
                likely=text.span(batches[0].ready_from_low_80, batches[0].ready_from_high_80),
                last=text.day(last) if last else "-",
                eat_by=text.day(last_eaten[slug]) if slug in last_eaten else "-",
                amount=text.amount(sum(batch.amount for batch in batches), batches[0].unit),
            )
        )
    return tuple(rows)


def strips(result: SeasonPlan, names: Mapping[str, str]) -> tuple[Strip, ...]:
    """Return the picture of every want over the weeks."""
    return tuple(_strip(rows, result, names) for rows in _by_want(result))


def weeks(result: SeasonPlan) -> tuple[WeekRow, ...]:
    """Return a table row for each week, with one cell for each want."""
    wants = _by_want(result)
    fits = _as_fits(result)
    return tuple(
        WeekRow(
            when=text.span(rows[0].week, rows[0].week + timedelta(days=6)),
            day=rows[0].week.isoformat(),
            cells=tuple(_cell(row, fits) for row in rows),
        )
        for rows in zip(*wants, strict=True)
    )


def _by_want(result: SeasonPlan) -> list[list[Supply]]:
    ordered = sorted(result.supply, key=lambda row: (row.want, row.week))
    return [list(rows) for _, rows in groupby(ordered, key=lambda row: row.want)]


def _as_fits(result: SeasonPlan) -> set[int]:
    return {want.want for want in result.outcome.steady if want.wanted_per_week is None}


def _state(row: Supply, fits: set[int]) -> str:
    if not row.counted or row.wanted <= 0:
        return "more" if row.ready > 0 else "away"
    if row.want in fits:
        return "met" if row.ready > 0 else "blank"
    if row.short > NEARLY * row.wanted:
        return "short"
    return "nearly" if row.short > 0 else "met"


SIGNS = {"met": "✓", "nearly": "~", "short": "!", "away": "·", "more": "+", "blank": "–"}


def _cell(row: Supply, fits: set[int]) -> Cell:
    state = _state(row, fits)
    if state == "away":
        amount = "not yet" if "ready" in row.why else "none wanted"
        amount = row.why or amount
    elif row.want in fits:
        amount = text.amount(row.ready, row.unit)
    else:
        amount = f"{text.quantity(row.ready, row.unit)} of {text.amount(row.wanted, row.unit)}"
    if state in ("short", "nearly"):
        amount += f", {text.amount(row.short, row.unit)} short"
    return Cell(
        state,
        SIGNS[state],
        amount,
        text.odds(row.chance) if row.chance is not None and state != "away" else "",
    )


def _strip(rows: Sequence[Supply], result: SeasonPlan, names: Mapping[str, str]) -> Strip:
    fits = _as_fits(result)
    states = [_state(row, fits) for row in rows]
    asked = [row for row, state in zip(rows, states, strict=True) if state in ("met", "nearly", "short")]
    short = states.count("short")
    first = rows[0]
    most = max((row.wanted for row in rows), default=0.0)
    when = "on its day" if any(row.on for row in rows) else "a week"
    wanted = "as much as fits" if first.want in fits else f"{text.amount(most, first.unit)} {when}"
    met = (
        f"{len(asked) - short} of {len(asked)} weeks met by the forecast" if asked else "no week is promised"
    )
    known = [row.chance for row in asked if row.chance is not None and row.short <= 0]
    name = want_name(first.label, names)
    spoken = f"{name}, {wanted}: {met}. Every week is in the table below."
    return Strip(
        name=name,
        asked=wanted,
        met=f"some in {sum(row.ready > 0 for row in asked)} of {len(asked)} weeks"
        if first.want in fits and asked
        else met,
        chance=f"riskiest week: {text.odds(min(known))}" if known else "",
        picture=_picture(rows, states, spoken, with_chance=bool(known)),
        long=len(rows) > MOST_WEEKS_AT_ONCE,
    )


def _picture(rows: Sequence[Supply], states: Sequence[str], spoken: str, *, with_chance: bool) -> Markup:
    """Return bars of weekly supply against a line for demand, with the chance of enough below."""
    count = len(rows)
    top = max((row.wanted for row in rows), default=0.0) * TALLEST or max(row.ready for row in rows) or 1.0
    tall = BAR_FOOT - BAR_TOP
    parts = [_months(rows, HEIGHT_WITH_CHANCE if with_chance else HEIGHT)]
    for place, (row, state) in enumerate(zip(rows, states, strict=True)):
        x, wide, middle = (percent((place + part) / count) for part in (0.14, 0.0, 0.5))
        wide = percent(0.72 / count)
        height = min(row.ready / top, 1.0) * tall
        if state == "away":
            parts.append(line(x, BAR_FOOT, percent((place + 0.86) / count), BAR_FOOT, "faint"))
            continue
        parts.append(
            rect(x, BAR_FOOT - height, wide, height, f"ready {'met' if state == 'nearly' else state}")
        )
        if row.wanted > 0:
            at = BAR_FOOT - row.wanted / top * tall
            parts.append(line(percent(place / count), at, percent((place + 1) / count), at, "asked"))
        if state == "short":
            parts.append(words(middle, BAR_FOOT - height - 4, "!", "sign", text_anchor="middle"))
        if row.chance is not None:
            part = row.chance * (CHANCE_FOOT - CHANCE_TOP)
            parts.append(rect(x, CHANCE_TOP, wide, CHANCE_FOOT - CHANCE_TOP, "hollow"))
            parts.append(rect(x, CHANCE_FOOT - part, wide, part, "chance"))
    parts.append(line("0%", BAR_FOOT, "100%", BAR_FOOT, "axis"))
    height = HEIGHT_WITH_CHANCE if with_chance else HEIGHT
    return element("svg", *parts, class_="strip", width="100%", height=height, role="img", aria_label=spoken)


def _months(rows: Sequence[Supply], foot: float) -> Markup:
    """Return a tick and a name at the first week of each month, names only where there is room."""
    count = len(rows)
    parts = []
    before = -10
    for place, row in enumerate(rows):
        if place and row.week.month == rows[place - 1].week.month:
            continue
        x = percent(place / count)
        parts.append(line(x, BAR_TOP, x, foot, "faint"))
        if place - before >= max(count / 12, 3):
            name = text.MONTH_NAMES[row.week.month - 1]
            parts.append(words(x, MONTHS_AT, name, "small", dx="3"))
            before = place
    return joined(*parts)


@dataclass(frozen=True)
class Day:
    """The jobs of one day."""

    when: str
    iso: str
    jobs: tuple[str, ...]


@dataclass(frozen=True)
class JobWeek:
    """The jobs of one Monday-to-Sunday week."""

    when: str
    first: str
    last: str
    summary: str
    days: tuple[Day, ...]


def job_weeks(result: SeasonPlan, names: Mapping[str, str]) -> tuple[JobWeek, ...]:
    """Return all weeks that have jobs, from the start of the plan or the day of re-planning."""
    begin: date = result.again.on if result.again else result.start
    bed_of = beds_of(result.batches)
    days = {on: jobs for on, jobs in by_day(result.jobs).items() if on >= week_of(begin)[0]}
    weeks_of_jobs: list[JobWeek] = []
    for (monday, sunday), group in groupby(days.items(), key=lambda item: week_of(item[0])):
        todo = list(group)
        jobs_in_all = sum(len(sown_together(jobs)) for _, jobs in todo)
        weeks_of_jobs.append(
            JobWeek(
                when=text.span(monday, sunday),
                first=monday.isoformat(),
                last=sunday.isoformat(),
                summary=f"{number_of(jobs_in_all, 'job')} on {number_of(len(todo), 'day')}",
                days=tuple(
                    Day(text.day(on), on.isoformat(), tuple(job_lines(jobs, names, bed_of)))
                    for on, jobs in todo
                ),
            )
        )
    return tuple(weeks_of_jobs)


def open_weeks(weeks_of_jobs: Sequence[JobWeek]) -> int:
    """Return how many weeks of jobs are shown open: two, or one where two have too many jobs for a screen."""
    jobs = sum(len(day.jobs) for week in weeks_of_jobs[:OPEN_WEEKS] for day in week.days)
    return OPEN_WEEKS if jobs <= MOST_OPEN_JOBS else 1


def day_title(result: SeasonPlan, names: Mapping[str, str]) -> str:
    """Return the next day's work in one line."""
    begin = result.again.on if result.again else result.start
    for on, jobs in by_day(result.jobs).items():
        if on >= begin:
            return f"{text.day(on)}: {title(jobs, names)}"
    return ""


@dataclass(frozen=True)
class Order:
    """Seed or young plants to buy."""

    by: str
    crop: str
    amount: str
    use: str


def orders(seed_orders: Sequence[SeedOrder], names: Mapping[str, str]) -> tuple[Order, ...]:
    """Return the seed and plants to buy, the most urgent first."""
    rows = []
    for order in sorted(seed_orders, key=lambda order: (order.order_by, order.crop)):
        name, when = crop_name(order.crop, names), text.span(order.sow_from, order.sow_until)
        if order.seeds:
            amount = f"{text.amount(order.seeds, 'seeds')}, about {text.amount(order.weight_g, 'g')}"
            there = f"; {order.on_hand} more are on hand" if order.on_hand else ""
            grade = f", {order.note}" if order.note else ""
            rows.append(Order(text.day(order.order_by), name, amount + grade + there, f"sowing {when}"))
        elif order.on_hand:
            rows.append(Order("no need", name, f"none: {order.on_hand} on hand", f"sowing {when}"))
        else:
            plants = text.amount(order.plugs, "young plants")
            rows.append(Order(text.day(order.order_by), name, plants, f"planting {when}"))
    return tuple(rows)
