"""What ``plan`` prints. Every function returns text that ends in a newline."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from cropcal.records.hazard import FOOD_GRADE
from cropcal.records.plan import (
    Batch,
    Outcome,
    SeasonPlan,
    SeedOrder,
    Steady,
)
from cropcal.records.replan import Replan, Revision
from cropcal.records.water import ZoneWater
from cropcal.show import care_words, text, water_words
from cropcal.show.sown_together import beds_of, job_lines
from cropcal.show.terminal.bill import months
from cropcal.show.terminal.chances import (
    expected_section,
    expected_sentence,
    habits_section,
    sow_more_lines,
    surest_and_least_sure,
)
from cropcal.show.terminal.choices import (
    as_forecast,
    choices_section,
    quality,
)
from cropcal.show.terminal.light import WITH_SUN, with_sun
from cropcal.show.wording import (
    assumptions,
    by_day,
    check_lines,
    counted,
    crop_name,
    period_of,
    want_name,
    week_of,
)

SHORT_WEEKS_SHOWN = 8
EVEN_ODDS = 0.5
UNSURE = "Weeks more likely to be missed than met"
STEADY_TITLE = "What this space could give every week"
ORDERS_SHOWN = 8
OLD_SEED_YEARS = 2
"""Calendar years since packing from which seed is called old (common practice: it keeps a year or two)."""
FIRST_DAYS_SHOWN = 2
CHANGES_SHOWN = 10
TAKEN_SHOWN = 5


def plan(
    result: SeasonPlan,
    names: Mapping[str, str],
    folder: str = "",
    files: Sequence[str] = (),
    next_command: str = "",
    orders: Sequence[SeedOrder] = (),
    today: date | None = None,
) -> str:
    """Return the summary of a plan, what matters most first.

    Parameters
    ----------
    result
        The plan.
    names
        Slug of a crop -> its name.
    folder, files
        Where the files were written, and their names.
    next_command
        What the user should type next.
    orders
        The seed to buy.
    today
        The day of planning; seed that should have been ordered before it is pointed out.
    """
    written = text.wrap(", ".join(files), first="  ", later="  ") if files else ""
    empty = result.outcome.status == "empty"
    return (
        f"{heading(result)}\n{text.wrap(headline(result))}\n"
        + (nothing_grows(result.warnings) if empty else "")
        + text.section("How much to sow", choices_section(result))
        + _changes_since(result.again, names)
        + text.section("What you can eat, and when", _harvests(result, names))
        + text.section("First week in which 8 in 10 growers have it", _first_weeks(result, names))
        + text.section(
            "Weeks more likely to be missed than met", "" if empty else _unsure_weeks(result, names)
        )
        + text.section(
            "Sow more where a week is unsure",
            text.bullets(sow_more_lines(result.sow_more, names)),
        )
        + text.section("The steady rule", habits_section(result.habits, names, first_work_weekday(result)))
        + text.section("What luck can do", "" if empty else expected_section(result.expected, names))
        + text.section("How likely each week is to be met", surest_and_least_sure(counted(result), names))
        + text.section(STEADY_TITLE, "" if empty else steady_table(result.outcome.steady, names))
        + text.section("How good it is", "\n".join(map(text.wrap, quality(result))))
        + text.section("If everything grows as forecast", "" if empty else _outcome(result.outcome))
        + text.section("Next jobs" if result.again else "First jobs", _first_jobs(result, names))
        + text.section("Seed to buy", _seed([order for order in orders if not order.is_plants], names, today))
        + text.section("Young plants to buy", _plugs([order for order in orders if order.is_plants], names))
        + text.section(WITH_SUN, with_sun(result.lights))
        + text.section("Power", _power(result) if result.bill else "")
        + text.section("Water", water_section(result.water))
        + text.section("Watch out", "" if empty else text.bullets(result.warnings))
        + text.section(
            "Take care", text.bullets([*result.cautions, *care_words.sentences(result.care, names)])
        )
        + text.section("Assumptions", assumptions(result.assumptions))
        + text.section(f"Written to {text.clean(folder)}" if folder else "Written", written)
        + (f"\nNext, type: {next_command}\n" if next_command else "")
    )


def heading(result: SeasonPlan) -> str:
    """Return the place and the weeks of a plan."""
    line = f"{result.place}: {result.weeks} weeks from {text.day_year(result.start)}"
    if result.again:
        until = text.day_year(period_of(result)[1])
        line = f"{result.place}: planned again, {text.day_year(result.again.on)} to {until}"
    return text.wrap(line)


NO_PLAN_BEFORE = "No earlier plan is written here, so there is nothing to compare this one with."
NOTHING_CHANGED = "Nothing: everything stays as planned."
NOT_DONE = "If one is not done, do it, note it, and plan again: later jobs move with it."


def _changes_since(again: Replan | None, names: Mapping[str, str]) -> str:
    """Return the differences from the previous plan, and the jobs taken as done without a note."""
    if again is None:
        return ""
    changed = [revision(row, names) for row in again.revisions]
    shown = changed[:CHANGES_SHOWN]
    if len(changed) > len(shown):
        shown.append(f"and {len(changed) - len(shown)} more: see plan.json")
    taken = [
        f"{text.day(row.on)} {row.job} {crop_name(row.crop, names)} {row.batch}" for row in again.taken_done
    ]
    more = len(taken) - TAKEN_SHOWN
    taken = taken[-TAKEN_SHOWN:]
    if more > 0:
        taken.insert(0, f"{more} earlier job{'s' if more > 1 else ''}")
    if again.compared:
        title = f"What changed since the last plan, from {text.day(again.on)}"
        since = text.section(title, text.bullets(shown) if shown else NOTHING_CHANGED)
    else:
        since = text.section(f"Planned from the journal alone, from {text.day(again.on)}", NO_PLAN_BEFORE)
    return since + text.section(
        "Not noted, so counted as done", f"{text.bullets(taken)}\n{NOT_DONE}" if taken else ""
    )


def revision(row: Revision, names: Mapping[str, str]) -> str:
    """Return one change in a line."""
    what = f"{row.batch} {crop_name(row.crop, names)}"
    sites = f"{row.sites} site{'s' if row.sites != 1 else ''}"
    before, now = (text.day(on) if on else "" for on in (row.before, row.now))
    match row.what:
        case "new":
            change = f"{what}: new, sow {now} for {sites}"
        case "dropped":
            change = f"{what}: not sown on {before} after all"
        case "lost":
            change = f"{what}: {sites} lost"
        case "given up":
            change = f"{what}: take out {sites}"
        case "sown":
            change = f"{what}: sown {now}, planned {before}"
        case _ if before and now:
            change = f"{what}: {row.what} {now}, not {before}"
        case _ if now:
            change = f"{what}: {row.what} {now} too"
        case _:
            change = f"{what}: no {row.what} {before}"
    return change + (f" ({row.why})" if row.why else "")


def _seed(orders: Sequence[SeedOrder], names: Mapping[str, str], today: date | None) -> str:
    """Return the seed to buy, and what is on hand."""
    bought = _seed_orders([order for order in orders if order.seeds], names, today)
    return "\n".join(part for part in (bought, on_hand(orders, names)) if part)


def _seed_orders(orders: Sequence[SeedOrder], names: Mapping[str, str], today: date | None) -> str:
    """Return the seed orders: order-by day, number and weight."""
    rows = [
        (
            text.day(order.order_by),
            crop_name(order.crop, names),
            text.quantity(order.seeds, "seeds"),
            text.amount(order.weight_g, "g"),
            text.span(order.sow_from, order.sow_until),
        )
        for order in orders[:ORDERS_SHOWN]
    ]
    if not rows:
        return ""
    more = len(orders) - len(rows)
    left = f"\nand {more} more: see seeds.csv" if more else ""
    why = text.wrap(
        "Includes spare seed for what does not come up; one order every three months, as seed keeps."
    )
    seedlings = dict.fromkeys(crop_name(order.crop, names) for order in orders if order.food_grade)
    if seedlings:
        why += "\n" + text.wrap(f"{FOOD_GRADE.capitalize()} only: {', '.join(seedlings)}.")
    late = today is not None and any(order.order_by < today for order in orders[:ORDERS_SHOWN])
    why += "\nIf the day has passed, order now what you do not have yet." if late else ""
    return f"{text.table(('order by', 'crop', 'seeds', 'about', 'for sowing'), rows, 'llrrl')}{left}\n{why}"


def on_hand(orders: Sequence[SeedOrder], names: Mapping[str, str]) -> str:
    """Return the seed on hand that is already taken off, and a word on old seed; "" if there is none."""
    there: dict[str, int] = {}
    for order in orders:
        if order.on_hand:
            there[order.crop] = there.get(order.crop, 0) + order.on_hand
    if not there:
        return ""
    listed = ", ".join(f"{number} of {crop_name(crop, names)}" for crop, number in sorted(there.items()))
    old = sorted(
        {
            f"{crop_name(order.crop, names)} of {year}"
            for order in orders
            for year in order.packed
            if order.sow_from.year - year >= OLD_SEED_YEARS
        }
    )
    sentence = f"Seed you have, already taken off: {listed}."
    if old:
        sentence += (
            f" Old seed germinates less well ({', '.join(old)}): try ten of it on wet paper first, and"
            " sow more if"
            " few come up (common practice)."
        )
    return text.wrap(sentence)


def _plugs(orders: Sequence[SeedOrder], names: Mapping[str, str]) -> str:
    """Return the bought plants of each planting day."""
    rows = [
        (text.day(order.sow_from), crop_name(order.crop, names), text.quantity(order.plugs, "plants"))
        for order in sorted(orders, key=lambda order: order.sow_from)[:ORDERS_SHOWN]
    ]
    more = len(orders) - len(rows)
    left = f"\nand {more} more: see seeds.csv" if more else ""
    return f"{text.table(('planted', 'crop', 'plants'), rows, 'llr')}{left}" if rows else ""


def water_section(zones: Sequence[ZoneWater]) -> str:
    """Return the water of each zone, and where it comes from; "" where nothing grows."""
    blocks = [water_words.zone_lines(zone) for zone in zones]
    lines = [line for block in blocks if block for line in (text.wrap(block[0]), *_indented(block[1:]))]
    return "\n".join([*lines, text.wrap(water_words.SOURCE)]) if lines else ""


def _indented(lines: Sequence[str]) -> list[str]:
    return [text.wrap(line, first="  ", later="    ") for line in lines]


def _power(result: SeasonPlan) -> str:
    return months(result.bill, result.currency, period_of(result), result.bill_range)


def headline(result: SeasonPlan) -> str:
    """Return a sentence on how many weekly targets will be met."""
    if not result.batches:
        return NOTHING_GROWS
    weeks = counted(result)
    short = sum(row.short > 0 for row in weeks)
    if not weeks and any(want.wanted_per_week is not None for want in result.outcome.steady):
        return "Nothing is certain to be ready before this plan ends, so no week is promised."
    if not weeks:
        return "No amounts were asked for, so this is as much as fits, spread evenly."
    if result.expected is not None:
        return expected_sentence(result.expected)
    if not short:
        return f"All {len(weeks)} weekly targets are met."
    if short == len(weeks):
        return f"None of {short} weekly targets is met."
    falls = "falls" if short == 1 else "fall"
    return f"{len(weeks) - short} of {len(weeks)} weekly targets are met; {short} {falls} short."


NOTHING_GROWS = "Nothing to sow: no wanted crop can be grown here in this time."


def nothing_grows(reasons: Sequence[str]) -> str:
    """Return why nothing can be grown, and what would help."""
    another = "Another crop may suit: cropcal crops with this space shows which suit which bed."
    return text.section("Why, and what would help", text.bullets([*reasons, another]))


def _harvests(result: SeasonPlan, names: Mapping[str, str]) -> str:
    """Return a row for each crop, and for each weight at which a want has it cut."""
    by_crop: dict[tuple[str, float | None], list[Batch]] = {}
    for batch in sorted(result.batches, key=lambda batch: (batch.ready_from, batch.id)):
        by_crop.setdefault((batch.crop, batch.cut_at_g), []).append(batch)
    rows = []
    for (crop, cut_g), batches in by_crop.items():
        first = batches[0]
        last = max((harvest.on for batch in batches for harvest in batch.harvests), default=None)
        rows.append(
            (
                crop_name(crop, names) + (f", cut at {text.amount(cut_g, 'g')}" if cut_g else ""),
                text.day(first.ready_from),
                text.span(first.ready_from_low_80, first.ready_from_high_80),
                text.day(last) if last else "-",
                text.amount(sum(batch.amount for batch in batches), first.unit),
            )
        )
    headers = ("crop", "first ready", "likely between", "last cut", "in all")
    return text.table(headers, rows, "llllr") if rows else ""


def _first_weeks(result: SeasonPlan, names: Mapping[str, str]) -> str:
    """Return a line per want; weeks before the first promised one are not counted as missed."""
    lines = [line for want in result.outcome.steady if (line := first_week(want, result, names))]
    return text.bullets(lines) if lines else ""


def first_week(want: Steady, result: SeasonPlan, names: Mapping[str, str]) -> str:
    """Return the first week that is promised of a want, and the earliest; "" where there is none."""
    end, earliest, promised = (
        result.start + timedelta(weeks=result.weeks),
        want.first_week,
        want.promised_week,
    )
    if earliest is None:
        return ""
    name, week = want_name(want.label, names), text.span(earliest, earliest + timedelta(days=6))
    if promised is None:
        return f"{name}: {week} at the earliest" + (", after this plan ends" if earliest >= end else "")
    if promised <= earliest:
        return f"{name}: {week}"
    return f"{name}: {text.span(promised, promised + timedelta(days=6))}; {week} at the earliest"


def _unsure_weeks(result: SeasonPlan, names: Mapping[str, str]) -> str:
    """Return the weeks that are more likely short than not, with what most growers have then."""
    unsure = [row for row in counted(result) if row.chance is not None and row.chance < EVEN_ODDS]
    if not unsure:
        return ""
    rows = [
        (
            text.span(*week_of(row.week)),
            want_name(row.label, names),
            text.quantity(row.wanted, row.unit),
            text.quantity(row.in_8_of_10 or 0.0, row.unit),
            text.odds(row.chance or 0.0),
        )
        for row in unsure[:SHORT_WEEKS_SHOWN]
    ]
    more = len(unsure) - len(rows)
    left = f"\nand {more} more: see supply.csv" if more else ""
    return text.table(("week", "wanted crop", "wanted", "8 in 10 have", "all of it"), rows, "llrrl") + left


def steady_table(steady: Sequence[Steady], names: Mapping[str, str]) -> str:
    """Return what each want could get week after week, wanted, in the mix and alone."""
    rows = [
        (
            want_name(want.label, names),
            "as fits" if want.wanted_per_week is None else text.amount(want.wanted_per_week, want.unit),
            text.amount(want.in_mix_per_week, want.unit),
            text.amount(want.alone_per_week, want.unit),
        )
        for want in steady
    ]
    headers = ("each week", "wanted", "in this mix", "grown alone")
    return text.table(headers, rows, "lrrr") if rows else ""


def first_work_weekday(result: SeasonPlan) -> str:
    """Return the weekday on which a week's work begins, in full."""
    weekdays = sorted({on.weekday() for on in result.work_days}) or [0]
    return WEEKDAY_NAMES[weekdays[0]]


WEEKDAY_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def _outcome(outcome: Outcome) -> str:
    return text.wrap(as_forecast(outcome))


def _first_jobs(result: SeasonPlan, names: Mapping[str, str]) -> str:
    blocks, bed_of = [], beds_of(result.batches)
    first = result.again.on if result.again else result.start
    days = [(on, jobs) for on, jobs in by_day(result.jobs).items() if on >= first]
    for on, jobs in days[:FIRST_DAYS_SHOWN]:
        blocks.append(text.day(on))
        blocks += [text.wrap(row, first="  ", later="    ") for row in job_lines(jobs, names, bed_of)]
    checks = check_lines(result.jobs)
    blocks += [text.wrap(f"Checks: {'; '.join(checks)}")] if checks else []
    return "\n".join(blocks)
