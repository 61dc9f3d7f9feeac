"""Water in words: litres, tanks, floods, and what may have dried while a pump was off."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from cropcal.records.water import (
    LATEST_CHANGE_D,
    MOST_DAYS,
    MOST_HOURS,
    FloodRhythm,
    Litres,
    PumpStop,
    StoppedPump,
    ZoneWater,
)
from cropcal.show import text
from cropcal.show.wording import crop_name
from cropcal.units import rough_range

SOURCE = (
    "Litres follow from growth: one for 28 to 75 g of fresh lettuce (Carotti et al. 2023, Pennisi et al."
    " 2019). An open tank loses more. All of it is rough: look, lift a pot, and go by that."
)
MOST_NAMED = 4


@dataclass(frozen=True)
class ZoneWords:
    """One zone on the page: its litres, what else is to be said; when, litres and pots of each week."""

    title: str
    lines: tuple[str, ...]
    weeks: tuple[tuple[str, str, int], ...]


def on_page(zones: Sequence[ZoneWater]) -> tuple[ZoneWords, ...]:
    """Return each zone in which anything grows."""
    return tuple(_on_page(zone) for zone in zones if zone.weeks)


def _on_page(zone: ZoneWater) -> ZoneWords:
    title, *lines = zone_lines(zone)
    weeks = tuple(
        (
            text.span(row.week, row.week + timedelta(days=6)),
            rough_range(row.l_per_d.low, row.l_per_d.high),
            row.plants,
        )
        for row in zone.weeks
    )
    return ZoneWords(title, tuple(f"{line[:1].upper()}{line[1:]}." for line in lines), weeks)


def litres(of: Litres) -> str:
    """Return "0.4-1 litres a day"."""
    return f"{rough_range(of.low, of.high)} litres a day"


def zone_lines(water: ZoneWater) -> list[str]:
    """Return what is said of a zone: litres, tank, rhythm, and how long its pump may stop."""
    most = water.thirstiest
    if most is None:
        return []
    when = text.span(most.week, most.week + timedelta(days=6))
    lines = [f"{text.clean(water.zone)}: {litres(most.l_per_d)} in its thirstiest week, {when}"]
    if water.tank is not None:
        lines += tank_lines(water)
    if water.rhythm is not None:
        lines.append(rhythm(water.rhythm))
    if water.stops:
        lines.append(stops(water.stops, air=water.watered == "deep water"))
    return lines


def tank_lines(water: ZoneWater) -> list[str]:
    """Return how the tank of a zone fares, and whether it may run dry while nobody is there."""
    tank = water.tank
    if tank is None:
        return []
    lines = [
        f"its tank of {tank.tank_l:g} litres lasts {tank_days(water)} then; change its solution when as much"
        f" has been topped up, so every {tank.change_every_d} days then, and after {LATEST_CHANGE_D} at the"
        " latest (common practice)"
    ]
    if tank.away is not None and tank.away_too_long:
        days = (tank.away[1] - tank.away[0]).days + 1
        lines.append(
            f"nobody is there for {days} day{'s' if days > 1 else ''}, {text.span(*tank.away)}, and the tank"
            " may run dry in that time: have somebody top it up, or take a larger one"
        )
    return lines


def tank_days(water: ZoneWater) -> str:
    """Return how long a tank lasts: "16-43 days", "over 60 days"."""
    tank = water.tank
    if tank is None:
        return ""
    if tank.lasts_low_d >= MOST_DAYS:
        return f"over {MOST_DAYS} days"
    high = f"over {MOST_DAYS}" if tank.lasts_high_d >= MOST_DAYS else f"{tank.lasts_high_d:.0f}"
    low = f"{tank.lasts_low_d:.0f}"
    if low == high:
        return f"{low} day{'' if low == '1' else 's'}"
    return f"{low} to {high} days" if high.startswith("over") else f"{low}-{high} days"


def rhythm(of: FloodRhythm) -> str:
    """Return how often and how long it is flooded, and where that comes from."""
    every = f"{of.minutes} min every {minutes(of.every_minutes)}"
    if of.known == "file":
        return f"its pump runs {every}, as space.toml has it"
    dark = ", once in the dark" if of.in_dark else ", none in the dark"
    size = f"pots of {of.pot_l:g} litres" + (", an assumed size" if of.pot_assumed else "")
    return f"flood it for {every} while the lamp is on{dark} (common practice for {size})"


def minutes(value: int) -> str:
    """Return minutes as people say them: "90 min", "3 h", "3.5 h"."""
    return text.hours(value / 60) if value >= 120 else f"{value} min"


def stops(of: Sequence[PumpStop], *, air: bool) -> str:
    """Return for how long a pump may stop, by the age of plants."""
    if air:
        row = of[0]
        return f"if its air pump stops: roots suffer after {_hours(row.low_h)}-{_hours(row.high_h)} h (rough)"
    parts = [
        f"{'seedlings' if row.stage == 'seedlings' else f'{row.stage} plants'} after {_hours(row.low_h)} h"
        + (f" (most by {_hours(row.high_h)} h)" if row.high_h < MOST_HOURS else "")
        for row in of
    ]
    return f"if its pump stops, the first may wilt (rough): {', '.join(parts)}"


def _hours(value: float) -> str:
    return f"{max(round(value), 1)}"


def week_lines(zones: Sequence[ZoneWater], day: date) -> list[str]:
    """Return the water of one week: a sentence on the zones in which something grows."""
    parts = []
    for zone in zones:
        row = zone.week_of(day)
        if row is not None:
            tank = f", its tank lasts {tank_days(zone)} in the thirstiest week" if zone.tank else ""
            parts.append(f"{text.clean(zone.zone)} {litres(row.l_per_d)}{tank}")
    return [f"Water: {'; '.join(parts)}."] if parts else []


def stopped_pump(stop: StoppedPump, names: Mapping[str, str]) -> str:
    """Return what a stop of pump or power may have done to what stands."""
    what = f"The {stop.what}" + (f" of {text.clean(stop.zone)}" if stop.zone else "")
    head = f"{what} was off for {text.hours(stop.hours)} on {text.day(stop.on)}"
    if not stop.dried:
        return f"{head}: nothing that stands should have dried, or you have noted how it is."
    frail = [row.age_d for row in stop.dried if row.frail]
    done = [
        *([f"seedlings of {max(frail)} days and younger may have dried"] if frail else []),
        *(["older plants may have wilted, and most of them recover"] if len(frail) < len(stop.dried) else []),
    ]
    named = [
        f"{row.batch} {crop_name(row.crop, names)} in {text.clean(row.bed)}"
        for row in stop.dried[:MOST_NAMED]
    ]
    more = len(stop.dried) - len(named)
    more_words = f" and {more} more" if more > 0 else ""
    return f"{head}: {', '.join(done)} (rough). Look at {', '.join(named)}{more_words}; note what is lost."
