"""report.html: one page with everything about a plan, without a network. The only module that uses jinja2."""

import base64
import hashlib
import json
import re
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from importlib import resources
from typing import Any

import jinja2

from cropcal.records.crop import CropTables
from cropcal.records.hours import HoursAdvice, SetPoint, TimerLine
from cropcal.records.outlook import LEAST_GAIN
from cropcal.records.plan import SeasonPlan, SeedOrder
from cropcal.records.scene import LightRange, LitZone
from cropcal.records.week import last_sowing
from cropcal.show import care_words, cure_words, text, water_words
from cropcal.show.glossary import TERMS
from cropcal.show.lanes import places
from cropcal.show.page import (
    bill as page_bill,
)
from cropcal.show.page import (
    calendar as page_calendar,
)
from cropcal.show.page import (
    choices as page_choices,
)
from cropcal.show.page import (
    eat as page_eat,
)
from cropcal.show.page import (
    light as page_light,
)
from cropcal.show.page import (
    photoperiod as page_hours,
)
from cropcal.show.page import (
    sources as page_sources,
)
from cropcal.show.page import (
    stories as page_story,
)
from cropcal.show.page.briefs import briefs
from cropcal.show.page.svg import Markup, element, joined
from cropcal.show.terminal.chances import habit_sentence, sow_more_lines, work_sentence
from cropcal.show.terminal.choices import as_forecast, how_to_choose, quality
from cropcal.show.terminal.plan import (
    NO_PLAN_BEFORE,
    NOT_DONE,
    NOTHING_CHANGED,
    first_work_weekday,
    headline,
    revision,
)
from cropcal.show.wording import (
    check_lines,
    crop_name,
    period_of,
    want_name,
    week_of,
)

FOLDER = "templates"
UNSAFE_IN_SCRIPT = str.maketrans(
    {"<": "\\u003c", ">": "\\u003e", "&": "\\u0026", "\u2028": "\\u2028", "\u2029": "\\u2029"}
)


@dataclass(frozen=True)
class PageFacts:
    """The page's content, all computed before; ``timers`` are those of the plan, not of the picks."""

    plan: SeasonPlan
    hours: HoursAdvice
    timers: tuple[TimerLine, ...]
    zones: tuple[LitZone, ...]
    ranges: tuple[LightRange, ...]
    tables: CropTables
    breaks: tuple[tuple[date, date], ...] = ()
    orders: tuple[SeedOrder, ...] = ()
    dangers: tuple[str, ...] = ()
    points: tuple[SetPoint, ...] = ()


def report_html(facts: PageFacts) -> str:
    """Return the page; the same facts give the same page to the byte."""
    days = 7 * facts.plan.weeks
    style, script = f"{_read('page.css')}:root {{ --days: {days}; }}\n", _read("page.js")
    hours = page_hours.zone_parts(facts.hours)
    page = _environment().get_template("page.html")
    return page.render(
        policy=_policy(style, script),
        style=Markup(style),
        script=Markup(script),
        hours=hours,
        hours_data=json_in_html(page_hours.data(hours)),
        **_parts(facts),
    )


def _parts(facts: PageFacts) -> dict[str, Any]:
    """Return the variables of the template."""
    plan, tables = facts.plan, facts.tables
    names = {slug: crop.name for slug, crop in tables.crops.items()}
    first, last = period_of(plan)
    sowing = last_sowing(plan.jobs, plan.supply, last)
    stories = page_story.stories(plan, facts.ranges, names)
    job_weeks, beds = page_eat.job_weeks(plan, names), places(plan)
    assumed = page_sources.assumption_rows(plan.assumptions, facts.hours.assumptions)
    wanted = [tables.crops[slug] for slug in dict.fromkeys(fit.crop for fit in plan.fits) if slug in names]
    return {
        "plan": plan,
        "isolated": isolate_names(plan, facts.zones),
        "period": f"{text.day_year(first)} to {text.day_year(last)}",
        "headline": headline(plan),
        "last_sowing": sowing,
        "last_sowing_day": text.day(sowing.on) if sowing else "",
        "dangers": facts.dangers,
        "as_forecast": as_forecast(plan.outcome) if plan.batches else "",
        "sow_more": sow_more_lines(plan.sow_more, names),
        "choices": page_choices.rows(plan, names),
        "how_to_choose": how_to_choose(plan),
        "quality": " ".join(quality(plan)),
        "dishes": page_eat.dishes(plan, names),
        "strips": page_eat.strips(plan, names),
        "luck": work_sentence(plan.expected) if plan.expected else "",
        "misses": plan.expected is not None and plan.expected.short_want_weeks >= LEAST_GAIN,
        "habits": [habit_sentence(habit, names, first_work_weekday(plan)) for habit in plan.habits],
        "weeks": page_eat.weeks(plan),
        "steady": _steady(plan, names),
        "next_day": page_eat.day_title(plan, names),
        "job_weeks": job_weeks,
        "open_weeks": page_eat.open_weeks(job_weeks),
        "open_dishes": page_eat.OPEN_DISHES,
        "open_strips": page_eat.OPEN_STRIPS,
        "open_warnings": page_eat.OPEN_WARNINGS,
        "checks": check_lines(plan.jobs),
        "orders": page_eat.orders(facts.orders, names),
        "changes": _changes(plan, names),
        "taken": (
            [
                f"{text.day(row.on)} {row.job} {crop_name(row.crop, names)} {row.batch}"
                for row in plan.again.taken_done
            ]
            if plan.again
            else []
        ),
        "not_done": NOT_DONE,
        "maps": page_light.zone_maps(facts.zones, plan.lights),
        "beds": page_light.bed_rows(plan.lights),
        "sun": page_light.sun_table(plan.lights),
        "too_weak": [cure_words.too_weak(weak, names) for weak in plan.cures.too_weak],
        "fits": page_light.fit_rows(plan.fits, facts.ranges, names),
        "water": water_words.on_page(plan.water),
        "water_source": water_words.SOURCE,
        "timers": page_hours.timers(facts.timers),
        "set_points": page_hours.set_points(facts.points),
        "stories": stories,
        "calendar": page_calendar.calendar(plan, names, beds, stories, facts.breaks),
        "breaks": facts.breaks,
        "months": page_bill.month_rows(plan),
        "noted_bills": page_bill.noted_rows(plan),
        "uses": page_bill.use_rows(plan),
        "units": page_bill.unit_rows(plan, names),
        "currency": plan.currency,
        "assumptions": assumed,
        "briefs": briefs(plan, names, beds, len(assumed)),
        "crop_sources": page_sources.crop_sources(wanted),
        "citations": page_sources.citations(wanted, tables),
        "care": care_words.page_parts(plan.care, names),
        "care_here": care_words.sentences(plan.care, names),
        "glossary": TERMS,
    }


def _changes(plan: SeasonPlan, names: Mapping[str, str]) -> list[str]:
    """Return the differences from the previous plan, in words; [] if this is the first."""
    again = plan.again
    if again is None:
        return []
    if not again.compared:
        return [NO_PLAN_BEFORE]
    changed = [revision(row, names) for row in again.revisions]
    return changed or ([NOTHING_CHANGED] if again.taken_done else [])


def _steady(plan: SeasonPlan, names: Mapping[str, str]) -> list[tuple[str, ...]]:
    return [
        (
            want_name(want.label, names),
            "as fits" if want.wanted_per_week is None else text.amount(want.wanted_per_week, want.unit),
            text.amount(want.in_mix_per_week, want.unit),
            text.amount(want.alone_per_week, want.unit),
            *("-" if on is None else text.span(*week_of(on)) for on in (want.promised_week, want.first_week)),
        )
        for want in plan.outcome.steady
    ]


def isolate_names(plan: SeasonPlan, zones: Sequence[LitZone]) -> Callable[[str], Markup]:
    """Return a function that wraps right-to-left names in ``<bdi>``, so text around them keeps its order."""
    typed = {
        plan.place,
        *(zone.name for zone in zones),
        *(light.bed for light in plan.lights),
        *(line.what for line in plan.bill),
        *(job.note for job in plan.jobs if not job.crop),
    }
    turned = [name for name in map(text.clean, typed) if any(map(_is_rtl, name))]
    if not turned:
        return joined
    pattern = re.compile("(" + "|".join(map(re.escape, sorted(turned, key=len, reverse=True))) + ")")

    def isolated(sentence: str) -> Markup:
        parts = pattern.split(text.clean(sentence))
        return joined(*(element("bdi", part) if n % 2 else part for n, part in enumerate(parts)))

    return isolated


def _is_rtl(char: str) -> bool:
    return unicodedata.bidirectional(char) in ("R", "AL")


def json_in_html(value: Any) -> Markup:
    """Return JSON that is safe inside a script element, whatever the user typed."""
    written = json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return Markup(written.translate(UNSAFE_IN_SCRIPT))


def _policy(style: str, script: str) -> str:
    """Return a Content-Security-Policy under which nothing but this page's own style and script runs."""
    return (
        f"default-src 'none'; style-src '{_hash(style)}'; script-src '{_hash(script)}'; "
        "base-uri 'none'; form-action 'none'"
    )


def _hash(content: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(content.encode()).digest()).decode()


@cache
def _environment() -> jinja2.Environment:
    environment = jinja2.Environment(
        loader=jinja2.FunctionLoader(_read),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["one_line"] = text.clean
    return environment


def _read(name: str) -> str:
    """Return the text of a template, style or script by its file name."""
    return (resources.files("cropcal") / "show" / "page" / FOLDER / name).read_text(encoding="utf-8")
