"""Jobs, wants and crops in words."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from itertools import pairwise

from cropcal.records.fit import Fit
from cropcal.records.hours import CLOCK, SetPoint
from cropcal.records.plan import BedLight, Job, SeasonPlan, Supply
from cropcal.records.space import OWN_UNIT, Assumption
from cropcal.records.tariff import PowerRange
from cropcal.records.week import Look, Week
from cropcal.show import text
from cropcal.show.text import (
    amount,
    bullets,
    clean,
    hours,
    plain,
    quantity,
    span,
)
from cropcal.units import signs

NEARLY = 0.05
"""Share of what is wanted that may be missing without an alarm (our choice)."""
MOST_KEYS = 2
"""Keys with the same value for the same reason that are named in a list of assumptions (our choice)."""
TITLE_PARTS = 6
_COUNTED = ("", "seeds", "cells", "plugs", "plants", "heads", "sites", "trays")


def crop_name(slug: str, names: Mapping[str, str]) -> str:
    """Return the crop's name, or its slug if it has none."""
    return clean(names.get(slug) or slug)


def number_of(number: int, what: str, several: str = "") -> str:
    """Return "1 site", "3 sites"; ``several`` is the word for more than one, if not with an s."""
    return f"{number} {what if number == 1 else several or what + 's'}"


def jobs_of(week: Week) -> list[Job]:
    """Return the jobs of a week, without those of other weeks."""
    monday, sunday = week_of(week.on)
    return [job for job in week.jobs if monday <= job.on <= sunday]


def want_name(label: str, names: Mapping[str, str]) -> str:
    """Return a want's label with names for slugs: "Butterhead lettuce or Batavia"."""
    return " or ".join(crop_name(slug, names) for slug in label.split(" or "))


def title(jobs: Sequence[Job], names: Mapping[str, str]) -> str:
    """Return one day's jobs in a line that makes sense alone: "Sow 6 Butterhead lettuce, cut 40 g Basil".

    Equal jobs of several batches are added up; after six parts the rest is only counted.
    """
    verbs: dict[str, dict[tuple[str, str], float | None]] = {}
    for job in jobs:
        things = verbs.setdefault(_verb(job), {})
        key = (_thing(job, names), job.unit)
        before = things.get(key, 0.0)
        things[key] = None if job.amount is None or before is None else before + job.amount
    left = TITLE_PARTS
    parts = []
    for verb, things in verbs.items():
        shown = [_counted_thing(thing, unit, value) for (thing, unit), value in list(things.items())[:left]]
        left -= len(shown)
        if shown:
            parts.append(f"{verb} {_joined_with_and(shown)}".strip())
    more = sum(map(len, verbs.values())) - TITLE_PARTS
    return capital(", ".join(parts)) + (f" and {more} more" if more > 0 else "")


def line(job: Job, names: Mapping[str, str], shares: str = "") -> str:
    """Return one job in full: "Sow Butterhead lettuce 0105a: 9 cells, seed drawer, 2 seeds each".

    ``shares``: which part of the amount is for which bed, where several batches are sown together.
    """
    head = capital(f"{_verb(job)} {_thing(job, names)} {clean(job.batch)}".strip())
    facts = [*facts_of(job, shares), *([clean(job.note)] if job.note and job.crop else [])]
    return f"{head}: {', '.join(facts)}" if facts else head


def head(job: Job, names: Mapping[str, str]) -> str:
    """Return a job's verb, amount and crop: "Sow 9 Butterhead lettuce"."""
    return title((job,), names)


def facts_of(job: Job, shares: str = "") -> list[str]:
    """Return the job's amount with its unit, its bed, its sites and its likely days, whichever it has."""
    of = f" ({shares})" if shares else ""
    facts = [] if job.amount is None else [f"{amount(job.amount, job.unit)}{of}"]
    facts += [clean(job.bed)] if job.bed else []
    facts += [sites(job.sites)] if job.sites and not job.any_site else []
    return facts + ([f"likely {span(*job.likely)}"] if job.likely and job.likely[0] < job.likely[1] else [])


def sites(text: str) -> str:
    """Return "site 4", "sites 1-4, 6"; a text with words of its own is returned unchanged."""
    if any(char.isalpha() for char in text):
        return clean(text)
    return f"site{'' if text.strip().isdecimal() else 's'} {clean(text)}"


def week_of(on: date) -> tuple[date, date]:
    """Return Monday and Sunday of the week that holds a day."""
    monday = on - timedelta(days=on.weekday())
    return monday, monday + timedelta(days=6)


def by_day(jobs: Iterable[Job]) -> dict[date, list[Job]]:
    """Return the jobs of each day that has some, days in order, jobs in the plan's order; no checks."""
    days: dict[date, list[Job]] = {}
    for job in sorted(jobs, key=lambda job: job.on):
        if job.job != "check":
            days.setdefault(job.on, []).append(job)
    return days


def checks_of(jobs: Iterable[Job]) -> dict[str, list[date]]:
    """Return the days of each check that needs no work day, by what is looked at."""
    days: dict[str, list[date]] = {}
    for job in sorted(jobs, key=lambda job: job.on):
        if job.job == "check":
            days.setdefault(job.note, []).append(job.on)
    return days


def check_lines(jobs: Iterable[Job]) -> list[str]:
    """Return each check with how often it comes: "water level every 3 days"."""
    return [f"{clean(what)} {every(days)}" for what, days in checks_of(jobs).items()]


def every(days: Sequence[date]) -> str:
    """Return how often days come that are evenly apart, but for some left out."""
    apart = step_of(days)
    return "once" if apart == 0 else "every day" if apart == 1 else f"every {apart} days"


def step_of(days: Sequence[date]) -> int:
    """Return the least number of days between any two, 0 where there is but one."""
    return min(((later - earlier).days for earlier, later in pairwise(days)), default=0)


def _verb(job: Job) -> str:
    return "" if job.job in ("chore", "check") else job.job


def _thing(job: Job, names: Mapping[str, str]) -> str:
    return clean(job.note or "a chore") if job.job in ("chore", "check") else crop_name(job.crop, names)


def _counted_thing(thing: str, unit: str, value: float | None) -> str:
    if value is None:
        return thing
    return f"{quantity(value, unit) if unit in _COUNTED else amount(value, unit)} {thing}"


def _joined_with_and(items: Sequence[str]) -> str:
    return " and ".join([*([", ".join(items[:-1])] if len(items) > 1 else []), *items[-1:]])


def capital(text: str) -> str:
    """Return a text with a capital at its beginning."""
    return text[:1].upper() + text[1:]


def lamp_hours(light: BedLight) -> str:
    """Return the lamp's hours a day, as a range where they change by month."""
    if not light.halves:
        return hours(light.photoperiod_h)
    lamp_h = [half.lamp_h for half in light.halves]
    least, most = hours(min(lamp_h)), hours(max(lamp_h))
    return most if least == most else f"{least.removesuffix(' h')}-{most}"


def period_of(result: SeasonPlan) -> tuple[date, date]:
    """Return the first and the last day of a plan."""
    return result.start, result.start + timedelta(days=7 * result.weeks - 1)


def power_a_month(result: SeasonPlan) -> str:
    """Return what the power of a month is measured in: money where there is a tariff, else energy."""
    priced = any(line.cost is not None for line in result.bill)
    return f"{clean(result.currency or 'cost') if priced else 'kWh'} a month"


def kwh_range(of: PowerRange | None) -> str:
    """Return the range of energy: "61-71"."""
    return "" if of is None else value_range(of.kwh_low_80, of.kwh_high_80)


def cost_range(of: PowerRange | None) -> str:
    """Return the range of a cost, "" if there is none: "30-32"."""
    if of is None or of.cost_low_80 is None or of.cost_high_80 is None:
        return ""
    return value_range(of.cost_low_80, of.cost_high_80)


def value_range(low: float, high: float) -> str:
    """Return a range with tenths below ten, none above."""
    decimals = 0 if high >= 10 else 1
    return "-".join(dict.fromkeys(plain(value, decimals) for value in (low, high)))


def last_sowing(on: date, today: date) -> str:
    """Return the words on a plan whose last sowing is near or past, before the command that plans again."""
    return f"The plan's last sowing {'is' if today <= on else 'was'} on {text.day(on)}. Plan again:"


def assumptions(items: Iterable[Assumption]) -> str:
    """Return one bullet per assumption, each only once; a crop's own unit is not listed.

    Where many keys have one value for one reason, the first are named and the others counted.
    """
    keys: dict[tuple[str, str], dict[str, None]] = {}
    for item in items:
        if item.why != OWN_UNIT:
            keys.setdefault((item.value, item.why), {})[item.key] = None
    lines = []
    for (value, why), same in keys.items():
        reason = f" ({why})" if why else ""
        named = list(same)[: MOST_KEYS if len(same) > MOST_KEYS + 1 else len(same)]
        if len(same) > MOST_KEYS + 1:
            lines.append(f"{', '.join(named)} and {len(same) - MOST_KEYS} more like it: {value}{reason}")
        else:
            lines += [f"{key}: {value}{reason}" for key in named]
    return bullets(lines)


def counted(result: SeasonPlan) -> list[Supply]:
    """Return the weeks that count of wants with a number; "as much as fits" cannot fall short."""
    as_fits = {want.want for want in result.outcome.steady if want.wanted_per_week is None}
    return [row for row in result.supply if row.counted and row.wanted > 0 and row.want not in as_fits]


LOGGED_AS = {"sow": "sown", "plant": "sown", "transplant": "transplanted", "cut": "harvested"}
"""Jobs that the journal takes, and what they are called there."""


LOOK_SOURCES = {"leggy": "common practice"}


def logged(job: Job) -> str:
    """Return the words after ``cropcal log`` that note a job as done; "" if the journal does not take it."""
    if job.job not in LOGGED_AS or not job.batch:
        return ""
    amount = "" if job.job != "cut" or job.amount is None else f" {text.amount(job.amount, job.unit)}"
    return f"{LOGGED_AS[job.job]} {text.clean(job.batch)}{amount}"


def look(item: Look, names: Mapping[str, str]) -> str:
    """Return one item of the scouting list, with its numbers."""
    crop, ids = crop_name(item.crop, names), " ".join(item.batches)
    source = item.source or LOOK_SOURCES.get(item.what, "")
    marked = f" ({source})" if source else ""
    value, limit = text.plain(item.found or 0.0, 1), text.plain(item.limit or 0.0, 1)
    where = f"{crop} in {item.bed}"
    match item.what:
        case "up":
            return f"{ids} {crop}: up by {text.day(item.on) if item.on else '-'}? Count them"
        case "ready":
            between = (
                f", likely {text.span(item.low_80, item.high_80)}" if item.low_80 and item.high_80 else ""
            )
            return f"{ids} {crop}: ready about {text.day(item.on) if item.on else '-'}{between}"
        case "order":
            weight = text.amount(item.found or 0.0, "g")
            return f"Order seed by {text.day(item.on) if item.on else '-'}: {crop}, about {weight}"
        case "order plants":
            return f"Order plants by {text.day(item.on) if item.on else '-'}: {crop}, {value}"
        case "bolting":
            return f"{where}: stems shooting up, it bolts above {limit} h of light and has {value}{marked}"
        case "heat":
            return (
                f"{where}: bolting and bitter leaves, air of {value} °C, quality falls above {limit}{marked}"
            )
        case "tip burn":
            air = "still" if item.still_air else "moving"
            return f"{where}: brown leaf tips, {value} mol a day, {limit} is the most in {air} air{marked}"
        case "leggy":
            sturdy = f"sturdy ones have {limit} and more{marked}"
            return f"{item.bed}: seedlings with long thin stems, {value} mol a day, {sturdy}"
        case "humidity":
            return f"{item.bed}: {item.says}"


def set_point_value(point: SetPoint) -> str:
    """Return the value of a set point with its unit as people write it: "13 °C", "06:30"."""
    value = point.value if isinstance(point.value, str) else plain(point.value, 1)
    return value if point.unit == CLOCK else f"{value} {signs(point.unit)}".rstrip()


def reason(fit: Fit) -> str:
    """Return why a bed suits a crop so, how sure its light is, and how densely it stands there."""
    parts = [fit.why, *light_chances(fit)]
    if fit.plants_m2 is not None and fit.usual_plants_m2 is not None:
        plants, usual = text.plain(fit.plants_m2, 0), text.plain(fit.usual_plants_m2, 0)
        parts.append(f"{plants} to a square metre, {usual} usual")
    return "; ".join(parts)


SURE_OF_LIGHT = 0.95
"""Chance from which nothing is said of it."""


def light_chances(fit: Fit) -> list[str]:
    """Return how likely the light is enough, and not too much, where that is not almost sure."""
    chances = (("it is enough", fit.chance_enough), ("it is not too much", fit.chance_not_too_much))
    return [
        f"chance that {words}: {text.odds(chance)}"
        for words, chance in chances
        if chance is not None and chance < SURE_OF_LIGHT
    ]
