"""Which hours? For each zone every timer setting, how it suits and what it costs; the pick, and why."""

from dataclasses import replace

import numpy as np

from cropcal.planning.growth.cautions import CAUTIONS
from cropcal.planning.growth.pace import Paces
from cropcal.planning.growth.suitability import NEAR_TARGET
from cropcal.planning.photoperiod import explanation as reasons
from cropcal.planning.photoperiod.explanation import NO_CURE, Case
from cropcal.planning.photoperiod.fill_hours import (
    hours_by_month,
    with_hours,
    without_lamp,
    zone_case,
    zone_timer,
)
from cropcal.planning.photoperiod.monthly_switch import monthly_timer
from cropcal.planning.photoperiod.requirements import LightRequirement, mean_ppfd
from cropcal.planning.photoperiod.settings import (
    Grid,
    air_of,
    best_settings,
    fitting,
    is_right,
    judge,
    mean_output,
)
from cropcal.planning.photoperiod.supplemental import YearHours, year_hours
from cropcal.planning.photoperiod.tradeoff import (
    SettingOutcome,
    ZoneModel,
    ZoneSettings,
    days_to_harvest,
    setting_outcome,
)
from cropcal.planning.power.bill import ZoneDay, zone_day
from cropcal.planning.power.lamp_hours import (
    Stretches,
    lit_stretches,
    quiet_minutes,
    quiet_overlap_h,
)
from cropcal.planning.power.quarter_hour_prices import (
    DAYS_PER_MONTH,
    ByQuarter,
    hours_and_money,
    priced_days,
    quarter_prices,
)
from cropcal.planning.power.quiet_loads import loud_loads
from cropcal.planning.site.air import measured_notes
from cropcal.planning.site.bed_light import bed_lights
from cropcal.records.crop import CropTables
from cropcal.records.daylight import month_spans
from cropcal.records.hours import (
    SUITS,
    CropHours,
    HoursAdvice,
    HoursChoice,
    HoursSpan,
    Suit,
    TimerLine,
    ZoneHours,
)
from cropcal.records.plan import BedLight
from cropcal.records.space import Assumption, Space, Zone
from cropcal.science.distinct import distinct
from cropcal.science.power import week_table
from cropcal.science.suiting import BURN, chance_between
from cropcal.science.timing import QUARTERS_PER_DAY, blocks, longest_run
from cropcal.units import MOL_PER_UMOL_H

Place = tuple[int, int]
"""Indices of output and timer in a grid."""

HOPELESS: frozenset[Suit] = frozenset({"dark", "glare", "air"})
"""How hours suit a crop that is then kept out of the plan, so that nothing is promised of it."""


def advice(space: Space, tables: CropTables, paces: Paces | None = None) -> HoursAdvice:
    """Return for each zone the picked hours, their reasons, and the outcome and cost of all other hours.

    ``paces`` are those learned so far: days to harvest go by them, the pick does not.
    """
    lights = bed_lights(space, tables)
    prices = quarter_prices(space)
    space_with_hours = with_hours(space, tables)
    days = zone_day(space_with_hours, space_with_hours.first_day, priced_days(space_with_hours))
    unlit = without_lamp(space)
    model = ZoneModel(
        space_with_hours,
        tables,
        {light.bed: light for light in bed_lights(space_with_hours, tables)},
        days,
        {name: _loads_day(space_with_hours, name, day) for name, day in days.items() if name not in unlit},
        paces or {},
    )
    zones, timers = list[ZoneHours](), list[TimerLine]()
    for zone in space.zones:
        if zone.name in unlit:
            continue
        year = year_hours(space, tables, lights, zone, prices) if zone.has_daylight else None
        case = year.case if year else zone_case(space, tables, lights, zone, prices, space_with_hours)
        row = _zone(space, case, model)
        if year:
            lines, saves = zone_timer(space, zone, year.by_month), 0.0
            row = _beside_the_sun(row, year)
        else:
            lines, saves = monthly_timer(case, space.settings.start, row.pick.output)
        zones.append(row.model_copy(update={"season_saves": saves}))
        timers += lines
    return HoursAdvice(
        place=space.place.name,
        currency=space.tariff.currency if space.tariff else None,
        zones=tuple(_elsewhere(zone, zones) for zone in zones),
        timers=tuple(timers),
        cautions=CAUTIONS[:2],
        assumptions=_assumptions(space, lights),
    )


def _beside_the_sun(zone: ZoneHours, year: YearHours) -> ZoneHours:
    """Return the advice for a zone with its timer month by month, where that pays."""
    if not year.changes:
        return zone
    text = f"with the sun, it pays to set the timer month by month: {hours_by_month(year.by_month)}"
    if year.saves > 0:
        text += f"; that saves {year.saves:.0%} of the lamp's cost"
    shown = {"why": f"{text}. For one setting all year: {zone.why}", "pays": (), "cures": ()}
    return zone.model_copy(update=shown | {"by_month": _month_reasons(year)})


def _month_reasons(year: YearHours) -> tuple[str, ...]:
    """Return the hours of each month, why these, and what is not well in some months, in words."""
    reasons = "what tops up the sun for all wanted crops without too long a day, at the least cost"
    months = [hours_by_month(year.by_month), f"{reasons}; never more hours in a month with more sun"]
    if year.saves > 0:
        months[1] += f"; set by the month the lamp costs {year.saves:.0%} less"
    if year.lacking:
        months.append(f"light for good growth is still lacking {month_spans(year.lacking)}")
    if year.too_long:
        months.append(f"the day is longer than known to be good {month_spans(year.too_long)}")
    return tuple(months)


def _elsewhere(zone: ZoneHours, zones: list[ZoneHours]) -> ZoneHours:
    """Return a zone with a cure for each crop that does better in another zone in which it may grow."""
    moves = [
        f"{crop.name} does well in {other.zone} at {other.pick.photoperiod_h:g} h: grow it there"
        for crop in zone.crops
        for other in zones
        if zone.pick.suits[crop.crop] != "right" and other.pick.suits.get(crop.crop) == "right"
    ]
    if not moves:
        return zone
    return zone.model_copy(update={"cures": (*moves, *(cure for cure in zone.cures if cure != NO_CURE))})


def _zone(space: Space, case: Case, model: ZoneModel) -> ZoneHours:
    """Return the advice for one zone: pick, alternatives, crops, reasons, cures."""
    on, hours = case.on, distinct(case.on.lit_h)
    places = best_settings(case.judged, np.searchsorted(hours, on.lit_h))
    choices = _choices(space, case, places, model)
    picked = int(np.flatnonzero(hours == on.lit_h[case.place[1]])[0])
    return ZoneHours(
        zone=case.zone.name,
        pick=choices[picked],
        now=_now(space, case, model),
        choices=choices,
        crops=tuple(_crop(need, spans, case, choices) for need, spans in case.spans()),
        suits_all=is_right(case.judged, case.place),
        why=reasons.why(case, priced=space.tariff is not None),
        pays=reasons.compromise_costs(case, choices, choices[picked]),
        cures=reasons.cures(case),
        warnings=(*reasons.warnings(case), *loud_loads(space, case.zone)),
        quiet=_quiet(case.zone),
        price_by_quarter=_prices(case.prices) if space.tariff else (),
        window=case.zone.has_daylight,
        fitting=_choices(space, case, _fitting(case), model),
        fewest_days=_fewest_days(case, model),
    )


def _fewest_days(case: Case, model: ZoneModel) -> dict[str, float]:
    """Return the fewest days to harvest of each crop at its learned pace; empty beside the sun."""
    if case.zone.has_daylight:
        return {}
    days = tuple(days_to_harvest(need, case.zone, case.on, model) for need in case.needs)
    fewest = zip(case.needs, replace(case.judged, days=days).fewest_days, strict=True)
    return {need.slug: float(least) for need, least in fewest if np.isfinite(least)}


def _fitting(case: Case) -> list[Place]:
    """Return the settings that could be had in place of the pick, by length; none where that is given."""
    zone = case.zone
    if zone.lit is not None or zone.photoperiod_h is not None or zone.has_daylight or not case.needs:
        return []
    return fitting(case.judged, case.needs, case.place)


def _quiet(zone: Zone) -> tuple[tuple[int, int], ...]:
    """Return the minutes of the day that are quiet on any weekday, as stretches."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], quiet_minutes(zone) > 0, [False]])))
    return tuple((int(first), int(last)) for first, last in edges.reshape(-1, 2))


def _prices(by_quarter: ByQuarter) -> tuple[float, ...]:
    return tuple(float(value) for value in by_quarter.money / np.maximum(by_quarter.hours_h, 1e-9))


def _choices(space: Space, case: Case, places: list[Place], model: ZoneModel) -> tuple[HoursChoice, ...]:
    """Return some settings of a grid with their outcomes."""
    if not places:
        return ()
    rows = _rows(space, case, places, model)
    outcomes = ((need.slug, setting_outcome(need, case.zone, rows, model)) for need in case.needs)
    brought = {slug: outcome for slug, outcome in outcomes if outcome is not None}
    return tuple(_choice(space, case, place, number, brought) for number, place in enumerate(places))


def _rows(space: Space, case: Case, places: list[Place], model: ZoneModel) -> ZoneSettings:
    on, name = case.on, case.zone.name
    output, timer = (np.array(each) for each in zip(*places, strict=True))
    kilowatts = _kilowatts(space, name) * on.brightness[output] / priced_days(space)
    return ZoneSettings(
        brightness=on.brightness[output],
        lit_h=on.lit_h[timer],
        air_c=on.mean_air_c[output, timer],
        kwh=kilowatts * on.on_h[timer] + model.loads[name].kwh,
        cost=kilowatts * on.money[timer] + (model.loads[name].cost or 0.0),
    )


def _loads_day(space: Space, name: str, day: ZoneDay) -> ZoneDay:
    """Return what a zone of a space whose hours are settled takes a day without its lamps, standby apart."""
    zone, kilowatts = space.zone(name), _kilowatts(space, name) / priced_days(space)
    lit = lit_stretches(zone, space.tariff)
    _, on_h, money = hours_and_money(space, (lit,), follows_clock=zone.timer_follows_clock)
    cost = (day.cost or 0.0) - kilowatts * float(money.sum())
    return ZoneDay(day.kwh - kilowatts * float(on_h.sum()), cost)


def _kilowatts(space: Space, zone: str) -> float:
    """Return what the lamps of a zone draw on top of their standby, at the output in use."""
    return (
        sum((lamp.watts - lamp.standby_watts) * lamp.count for lamp in space.fixtures if lamp.zone == zone)
        / 1000
    )


def _standby(space: Space, case: Case) -> tuple[float, float]:
    """Return kWh and money a month that the lamps of a zone draw whether on or off."""
    lamps = (lamp for lamp in space.fixtures if lamp.zone == case.zone.name)
    kilowatts = sum(lamp.standby_watts * lamp.count for lamp in lamps) / 1000
    a_month = kilowatts / priced_days(space) * DAYS_PER_MONTH
    return a_month * float(case.prices.hours_h.sum()), a_month * float(case.prices.money.sum())


def _choice(
    space: Space, case: Case, place: Place, row: int, brought: dict[str, SettingOutcome]
) -> HoursChoice:
    """Return one setting as a record."""
    on, (output, timer) = case.on, place
    share = float(on.brightness[output])
    per_month = _kilowatts(space, case.zone.name) * share / priced_days(space) * DAYS_PER_MONTH
    priced = space.tariff is not None
    standby_kwh, standby_cost = _standby(space, case)

    suits = {
        need.slug: SUITS[int(crop_codes[place])]
        for need, crop_codes in zip(case.needs, case.judged.codes, strict=True)
    }

    def values_of(name: str) -> dict[str, float]:
        always = case.zone.has_daylight  # what is too dark in winter may grow in summer
        grows = {slug: outcome for slug, outcome in brought.items() if always or suits[slug] not in HOPELESS}
        values = {slug: float(getattr(outcome, name)[row]) for slug, outcome in grows.items()}
        return {slug: value for slug, value in values.items() if np.isfinite(value)}

    return HoursChoice(
        photoperiod_h=float(on.lit_h[timer]),
        lit=on.timers.stretches_min(timer),
        output=round(mean_output(space, case.zone.name) * share, 6),
        day_seen_h=float(on.seen_h[timer]),
        dli_mol_m2_d=mean_ppfd(case.needs) * share * float(on.lit_h[timer]) * MOL_PER_UMOL_H,
        kwh_per_month=per_month * float(on.on_h[timer]) + standby_kwh,
        cost_per_month=per_month * float(on.money[timer]) + standby_cost if priced else None,
        quiet_h_per_week=float(on.quiet_min[timer]) / 60,
        suits=suits,
        harvest_days=values_of("ready_d"),
        per_week=values_of("per_week"),
        kwh_per_unit=values_of("kwh_per_unit"),
        cost_per_unit=values_of("cost_per_unit") if priced else {},
        problems=reasons.problems(case, place),
    )


def _now(space: Space, case: Case, model: ZoneModel) -> HoursChoice | None:
    """Return the outcome of the hours in the file; None if it gives none."""
    zone = case.zone
    if zone.lit is None and zone.photoperiod_h is None:
        return None
    lit = lit_stretches(zone, space.tariff)
    today = replace(case, judged=judge(case.needs, _today(space, zone, lit)), place=(0, 0))
    choice = _choices(space, today, [(0, 0)], model)[0]
    return choice.model_copy(update={"lit": lit})


def _today(space: Space, zone: Zone, lit: Stretches) -> Grid:
    """Return the file's own hours, whose times may lie between quarter hours, as a grid of one."""
    is_on = week_table(lit)[: 24 * 60]
    air, shares = air_of(zone, space.fixtures), is_on.reshape(QUARTERS_PER_DAY, -1).mean(axis=1)
    _, on_h, money = hours_and_money(space, (lit,), follows_clock=zone.timer_follows_clock)
    return Grid(
        timers=blocks([round(float(shares.sum())) or 1]).take(np.zeros(1, np.int64)),
        brightness=np.ones(1),
        lit_h=np.array([is_on.sum() / 60]),
        seen_h=np.array([24 - longest_run(~is_on) / 60]),
        quiet_min=np.array([quiet_overlap_h(zone, lit) * 60]),
        on_h=on_h.sum(axis=1),
        money=money.sum(axis=1),
        mean_air_c=np.array([[air.off_c.mean() + (shares * (air.on_c - air.off_c)).mean()]]),
        top_air_c=np.array([[air.on_c[shares > 0].max()]]),
    )


def _crop(
    need: LightRequirement, spans: tuple[HoursSpan, ...], case: Case, choices: tuple[HoursChoice, ...]
) -> CropHours:
    """Return the row of one crop: its sites, longest day, chance of enough light, cheapest hours."""
    on, (output, timer) = case.on, case.place
    lights = need.ppfd_umol_m2_s * on.brightness[output] * on.lit_h[timer] * MOL_PER_UMOL_H
    spreads = np.array([group.sd_ln for group in need.groups])
    chance = chance_between(need.limits.least_dli, need.limits.ceiling_dli, lights, spreads)
    suitable = [
        choice
        for choice in choices
        if SUITS.index(choice.suits[need.slug]) < BURN and need.slug in choice.kwh_per_unit
    ]
    cheapest = min(
        suitable,
        key=lambda choice: (choice.cost_per_unit or choice.kwh_per_unit)[need.slug],
        default=None,
    )
    return CropHours(
        crop=need.slug,
        name=need.name,
        unit=need.crop.unit if need.crop else None,
        sites=int(need.sites.sum()),
        longest_h=None if np.isnan(need.limits.longest_h) else need.limits.longest_h,
        longest_why=need.longest_why,
        longest_source=need.longest_source,
        chance=float(chance @ need.sites / need.sites.sum()),
        spans=spans,
        cheapest_h=cheapest.photoperiod_h if cheapest else None,
    )


def _assumptions(space: Space, lights: tuple[BedLight, ...]) -> tuple[Assumption, ...]:
    """Return the assumptions of the choice."""
    items = [item for light in lights for item in light.assumed]
    items += measured_notes(space)
    items += [
        Assumption(
            key="a day",
            value="as long as all but the longest dark stretch",
            why="light at night ends the night for long-day plants (Runkle 2007; Lopez & Currey 2014)",
        ),
        Assumption(
            key="grows well",
            value=f"from {NEAR_TARGET:.0%} of the crop's target light, on half of its sites or more",
            why="assumed",
        ),
    ]
    dims = {
        zone.name: [lamp.dims_to is not None for lamp in space.fixtures if lamp.zone == zone.name]
        for zone in space.zones
    }
    if any(lamps and all(lamps) for lamps in dims.values()):
        items.append(Assumption(key="dimming", value="watts and heat go with the light", why="assumed"))
    items += [
        Assumption(
            key=f"dimming in {zone}",
            value="not tried",
            why="the lamps of a zone are turned together, and not each of them has dims_to",
        )
        for zone, lamps in dims.items()
        if any(lamps) and not all(lamps)
    ]
    if space.tariff and any(rate.blocks for rate in space.tariff.rate):
        items.append(
            Assumption(
                key="blocks",
                value="each kWh at the price of the first on top of the home's other use",
                why="which block a lamp reaches depends on all that is on; the bill counts it exactly",
            )
        )
    return tuple(items)
