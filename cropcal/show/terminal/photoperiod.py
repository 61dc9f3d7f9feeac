"""What ``cropcal photoperiod`` prints: the pick, crop by crop, what each length brings, the timer card."""

import json
import shlex
from collections.abc import Iterable, Mapping, Sequence

from cropcal.records.base import clock
from cropcal.records.hours import (
    CropHours,
    HoursAdvice,
    HoursChoice,
    LampLength,
    TimerLine,
    ZoneHours,
)
from cropcal.show import text
from cropcal.show.wording import assumptions

SHOWN_H = (8.0, 10.0, 12.0, 14.0, 16.0, 18.0, 20.0)
MOST_COLUMNS = 7
LEAST_SHOWN = 0.05
"""Least difference in missing weeks that shows."""
BEYOND_WORDS = {
    "unknown": "limit not known",
    "burn": "leaf tips may burn",
    "bolt": "it bolts",
    "hot": "it gets too hot",
    "glare": "far too bright",
    "air": "too hot to grow",
}
SUIT_WORDS = {
    "right": "right",
    "slow": "slow",
    "unknown": "limit not known",
    "burn": "leaf tips may burn",
    "bolt": "bolts",
    "hot": "too hot",
    "dark": "too dark",
    "glare": "far too bright",
    "air": "no growth in this air",
}


def photoperiod(advice: HoursAdvice, plan: str = "cropcal plan") -> str:
    """Return the whole screen: the hours zone by zone, then the timer card.

    ``plan`` is the command that plans this space.
    """
    zones = "\n".join(_zone_section(zone, advice.currency, plan) for zone in advice.zones)
    return (
        f"{zones}{timer_card(advice.timers)}{_lines_for_the_file(advice.zones)}"
        + text.section("Take care", text.bullets(advice.cautions))
        + text.section("Assumptions", assumptions(advice.assumptions))
    )


def timer_card(timers: Sequence[TimerLine]) -> str:
    """Return the timer card: each timer's settings, to be copied and hung beside it."""
    rows = [timer_row(line) for line in timers]
    return text.section("Timer card", text.table(("zone", "from", "on", "off", "output"), rows, "llrrr"))


def timer_row(line: TimerLine) -> tuple[str, str, str, str, str]:
    """Return one setting of a timer: zone, first day, on, off, output; times are "-" if the lamp is off."""
    on, off = (clock(line.on), clock(line.off)) if line.output else ("-", "-")
    return line.zone, text.day_year(line.start), on, off, text.percent(line.output)


def _lines_for_the_file(zones: Iterable[ZoneHours]) -> str:
    """Return the line to write into the file where its hours differ from the pick."""
    lines = [
        f"{zone.zone}: the file says {spell(zone.now.lit)}; to plan with these, {lit_for_the_file(zone)}"
        for zone in zones
        if zone.now is not None and zone.now.lit != zone.pick.lit
    ]
    return f"{text.bullets(lines)}\n" if lines else ""


def lit_for_the_file(zone: ZoneHours) -> str:
    """Return what to write into the file to plan with the picked hours."""
    lit = ", ".join(f'["{clock(on)}", "{clock(off)}"]' for on, off in zone.pick.lit)
    return "leave its hours out" if zone.by_month else f"lit = [{lit}]"


def spell(lit: Iterable[tuple[int, int]]) -> str:
    """Return stretches as text."""
    return " and ".join(f"{clock(on)}-{clock(off)}" for on, off in lit)


def _zone_section(zone: ZoneHours, currency: str | None, plan: str) -> str:
    names = {crop.crop: crop.name for crop in zone.crops}
    facts = [("pick", _setting(zone.pick, names, currency))]
    if zone.by_month:
        picked, *reasons = zone.by_month
        facts = [("pick", f"month by month: {picked}"), *(("why", reason) for reason in reasons)]
        facts.append(("fixed", f"for one setting all year: {_setting(zone.pick, names, currency)}"))
    if zone.now is not None:
        same = zone.now.lit == zone.pick.lit and zone.now.output == zone.pick.output
        facts.append(("now", "the same" if same else _setting(zone.now, names, currency)))
    if not zone.by_month:
        facts.append(("why", zone.why))
    facts += [("worse", sentence) for sentence in zone.pays]
    facts += [("cure", sentence) for sentence in zone.cures]
    if zone.season_saves:
        saved = (
            f"resetting the timer when prices change saves {text.percent(zone.season_saves)}: see the card"
        )
        facts.append(("season", saved))
    facts += [("note", sentence) for sentence in zone.warnings]
    lines = "\n".join(text.wrap(sentence, first=f"  {key:<7}", later=" " * 9) for key, sentence in facts)
    return (
        f"{text.wrap(zone.zone)}\n{lines}\n"
        + text.section("Hours of light a day, crop by crop", _crops(zone))
        + text.section(
            "What each day length costs, and its drawbacks",
            _lengths(zone, names, currency) if zone.crops else "",
        )
        + text.section("What each day length brings", _yields_and_costs(zone, currency))
        + text.section("Hours and sowings together", _in_seasons(zone, names, currency, plan))
    )


def _in_seasons(zone: ZoneHours, names: Mapping[str, str], currency: str | None, plan: str) -> str:
    """Return the lengths that were tried in drawn seasons, what a grower would take, and its neighbours."""
    if zone.window:
        return text.wrap(
            "not compared where there is a window: its lamp hours change with the sun, not with sowings"
        )
    if not zone.lengths:
        return ""
    unit = "kWh" if zone.lengths[0].cost_per_month is None else (currency or "cost")
    rows = [
        (
            f"{'> ' if length.picked else ''}{'* ' if length.chosen else ''}"
            + text.plain(length.setting.photoperiod_h, 2),
            spell(length.setting.lit),
            f"{length.short_want_weeks:.1f}",
            _power(_amount(length), length),
            *_slowed(length, names),
            f"{length.cells}",
        )
        for length in zone.lengths
    ]
    headers = ("hours", "lamp on", "missed", f"{unit}/month", "days to harvest", "times", "sown")
    note = text.wrap(
        ">: the pick. *: what a grower would take, the cheapest that misses at most one week in 50 more than"
        f" the best. missed: weeks, of {zone.lengths[0].wanted_want_weeks} wanted, in the same simulated"
        " seasons, each length with sowings that suit it; beds are empty at the"
        f" start. {unit}: all power of the space. days: of the crop slowed most; times: how many times its"
        " fewest days that is. sown: cells or sites."
    )
    return f"{text.table(headers, rows, 'rwrrlrr')}\n{note}\n{_beside(zone, unit, plan)}"


def _set_option(zone: str, length: LampLength) -> str:
    """Return the value of --set that plans with a length, quoted for a shell."""
    lit = ",".join(f'["{clock(on)}","{clock(off)}"]' for on, off in length.setting.lit)
    name = zone if zone.replace(" ", "").isalnum() else json.dumps(zone, ensure_ascii=False)
    return shlex.quote(f"zone.{name}.lit=[{lit}]")


def _amount(length: LampLength) -> float:
    return length.kwh_per_month if length.cost_per_month is None else length.cost_per_month


def _power(amount: float, length: LampLength) -> str:
    return text.kwh(amount) if length.cost_per_month is None else text.money(amount)


def _slowed(length: LampLength, names: Mapping[str, str]) -> tuple[str, str]:
    """Return the crop that a length slows most with its days, and how many times its fewest days that is."""
    days = length.setting.harvest_days.get(length.slowest)
    if days is None:  # only seedlings grow there
        return "-", "-"
    name = names.get(length.slowest, length.slowest)
    return f"{text.plain(days, 0)} {name}", f"{length.times_fewest_days:.2f}"


def _beside(zone: ZoneHours, unit: str, plan: str) -> str:
    """Return what the next cheaper and the next better length cost and bring, and how to take the best."""
    chosen = next(length for length in zone.lengths if length.chosen)
    cheaper = [length for length in zone.lengths if _amount(length) < _amount(chosen)]
    better = [
        length for length in zone.lengths if chosen.short_want_weeks - length.short_want_weeks >= LEAST_SHOWN
    ]
    lines = []
    if cheaper:
        lines.append(f"next cheaper: {_against(max(cheaper, key=_amount), chosen, unit)}")
    if better:
        lines.append(f"next better: {_against(min(better, key=_amount), chosen, unit)}")
    if chosen.picked:
        return text.bullets(lines)
    setting = chosen.setting
    lit = ", ".join(f'["{clock(on)}", "{clock(off)}"]' for on, off in setting.lit)
    taken = (
        f"the simulated seasons favour {_h(setting.photoperiod_h)}; the pick does not count them. To"
        " plan with these hours,"
        f" write lit = [{lit}] under [[zone]] {zone.zone}"
    )
    if _has_dimmed_settings(zone):
        output = text.plain(setting.output, 2)
        lines.append(f"{taken}, and under its [[fixture]] output = {output} and the watts that it then draws")
        return text.bullets(lines)
    lines.append(f"{taken}; to try it first, type")
    return f"{text.bullets(lines)}\n  {plan} --set {_set_option(zone.zone, chosen)}"


def _against(other: LampLength, chosen: LampLength, unit: str) -> str:
    """Return what one length costs and brings beside another."""
    cost = _amount(other) - _amount(chosen)
    missing = other.short_want_weeks - chosen.short_want_weeks
    weeks = (
        "as many weeks missed"
        if abs(missing) < LEAST_SHOWN
        else f"{text.plain(abs(missing), 1)} {'more' if missing > 0 else 'fewer'} weeks missed"
    )
    return (
        f"{_h(other.setting.photoperiod_h)}, {_power(abs(cost), other)} {unit} a month"
        f" {'more' if cost > 0 else 'less'}, {weeks}"
    )


def _setting(choice: HoursChoice, names: Mapping[str, str], currency: str | None) -> str:
    return f"{setting(choice, currency)}; {complaints(choice, names)}"


def setting(choice: HoursChoice, currency: str | None) -> str:
    """Return hours of the lamp and, with a tariff, what they cost a month."""
    cost = "" if choice.cost_per_month is None else f", {text.money(choice.cost_per_month, currency)} a month"
    dimmed = "" if choice.output == 1 else f", output {text.percent(choice.output)}"
    return f"{_h(choice.photoperiod_h)}, lamp on {spell(choice.lit)}{dimmed}{cost}"


def complaints(choice: HoursChoice, names: Mapping[str, str]) -> str:
    """Return each complaint about these hours with its crops: "slow: Basil, Mint; bolts: Baby spinach"."""
    groups: dict[str, list[str]] = {}
    for slug, suit in choice.suits.items():
        groups.setdefault(suit, []).append(names.get(slug, slug))
    if not choice.suits:
        return "nothing wanted grows here"
    parts = [
        f"{complaint}: {', '.join(groups[suit])}" for suit, complaint in SUIT_WORDS.items() if suit in groups
    ]
    if list(groups) == ["right"]:
        parts = ["right for all"]
    elif choice.quiet_h_per_week == 0 and "right" in groups:
        parts = parts[1:]
    if choice.quiet_h_per_week > 0:
        parts.append(f"{text.plain(choice.quiet_h_per_week, 2)} h a week in quiet hours")
    return "; ".join(parts)


def _h(hours: float) -> str:
    return f"{text.plain(hours, 2)} h"


def _crops(zone: ZoneHours) -> str:
    rows = [(crop.name, *_good_lengths(crop), _limit(crop), text.percent(crop.chance)) for crop in zone.crops]
    note = text.wrap(
        "grows well: hours a day at which it does, under this lamp. day limit: the longest day it"
        " tolerates; ? is"
        f" unknown. light: how likely the light of the pick ({_h(zone.pick.photoperiod_h)}) is neither too"
        " little nor too much, from how it is known."
    )
    limits = text.bullets(f"{crop.name}: {crop.longest_why} ({crop.longest_source})" for crop in zone.crops)
    headers = ("crop", "grows well", "then", "day limit", "light")
    return (
        f"{text.table(headers, rows, 'lrlrr')}\n{note}\n\nWhat is known of day length\n{limits}"
        if rows
        else ""
    )


def _good_lengths(crop: CropHours) -> tuple[str, str]:
    right = [place for place, span in enumerate(crop.spans) if span.suit == "right"]
    if not right:
        return "-", next(
            f"{verdict} at best"
            for suit, verdict in SUIT_WORDS.items()
            if suit in {span.suit for span in crop.spans}
        )
    first, last = crop.spans[right[0]], crop.spans[right[-1]]
    after = crop.spans[right[-1] + 1].suit if right[-1] + 1 < len(crop.spans) else ""
    return f"{text.plain(first.from_h, 2)}-{_h(last.to_h)}", BEYOND_WORDS.get(after, "")


def _limit(crop: CropHours) -> str:
    return "?" if crop.longest_h is None else _h(crop.longest_h)


def _shown(zone: ZoneHours) -> list[HoursChoice]:
    """Return the day lengths shown: some round ones, the pick, and the current hours."""
    wanted = {*SHOWN_H, zone.pick.photoperiod_h, *([zone.now.photoperiod_h] if zone.now else [])}
    return [choice for choice in zone.choices if choice.photoperiod_h in wanted]


def _lengths(zone: ZoneHours, names: Mapping[str, str], currency: str | None) -> str:
    priced = zone.pick.cost_per_month is not None
    rows = [
        (
            ("> " if choice.photoperiod_h == zone.pick.photoperiod_h else "")
            + text.plain(choice.photoperiod_h, 2),
            spell(choice.lit),
            *([text.percent(choice.output)] if _has_dimmed_settings(zone) else []),
            text.dli(choice.dli_mol_m2_d),
            text.kwh(choice.kwh_per_month),
            *([text.money(choice.cost_per_month)] if priced else []),
            complaints(choice, names),
        )
        for choice in _shown(zone)
    ]
    output = ["output"] if _has_dimmed_settings(zone) else []
    money = [currency or "cost"] if priced else []
    headers = ("hours", "lamp on", *output, "mol", "kWh", *money, "drawbacks")
    mol = "mol of the lamp, without the sun's" if zone.window else "mol: light of a day"
    pick = "the pick for one setting all year" if zone.by_month else "the pick"
    note = text.wrap(
        f">: {pick}. lamp on: the best start for that length. {mol}, mean of all sites. kWh"
        " and cost: of the lamps, a month."
    )
    return f"{text.table(headers, rows, 'rw' + 'r' * len([*output, *money]) + 'rrw')}\n{note}"


def _has_dimmed_settings(zone: ZoneHours) -> bool:
    return len({choice.output for choice in zone.choices}) > 1


def _yields_and_costs(zone: ZoneHours, currency: str | None) -> str:
    columns = _shown(zone)[:MOST_COLUMNS]
    rows = []
    for crop in zone.crops:
        if crop.unit is None or not any(crop.crop in choice.harvest_days for choice in columns):
            continue
        size, unit = (100.0, "100 g") if crop.unit == "g" else (1.0, "head")
        rows.append(
            (crop.name, "days", *(_cell(choice.harvest_days.get(crop.crop), "day") for choice in columns))
        )
        rows.append(
            (
                "",
                f"{crop.unit}/week",
                *(_cell(choice.per_week.get(crop.crop), crop.unit) for choice in columns),
            )
        )
        costs = [choice.cost_per_unit or choice.kwh_per_unit for choice in columns]
        each = [None if crop.crop not in cost else cost[crop.crop] * size for cost in costs]
        marked = _mark_cheapest(each, [choice.suits[crop.crop] for choice in columns])
        rows.append(("", f"{currency or ('cost' if columns[0].cost_per_unit else 'kWh')}/{unit}", *marked))
    hours = [f"{text.plain(choice.photoperiod_h, 2)} h" for choice in columns]
    note = text.wrap(
        "days: from sowing to the first cut. /week: what all its sites could bring if nothing else grew"
        " there, one cut each. Cost: power alone, its share of the zone's lamps and loads. *: the cheapest"
        " of those that the crop tolerates."
    )
    return f"{text.table(('crop', '', *hours), rows, 'll' + 'r' * len(hours))}\n{note}" if rows else ""


def _cell(value: float | None, unit: str) -> str:
    if value is None:
        return "-"
    return text.plain(value, 0) if unit == "day" else text.quantity(value, unit)


def _mark_cheapest(values: Sequence[float | None], suits: Sequence[str]) -> list[str]:
    """Return costs as text, a star at the cheapest that does not harm the crop."""
    harmless = [
        value
        for value, suit in zip(values, suits, strict=True)
        if value is not None and suit in ("right", "slow", "unknown")
    ]
    return [
        "-" if value is None else f"{'*' if harmless and value == min(harmless) else ''}{text.money(value)}"
        for value in values
    ]
