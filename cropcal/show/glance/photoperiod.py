"""What ``cropcal photoperiod`` says first: each zone's hours, cost and why, and the days to harvest."""

from collections.abc import Mapping

from cropcal.records.hours import HoursAdvice, ZoneHours
from cropcal.show import text
from cropcal.show.glance.fitting import CARE, ScreenPart, sentence, warning_block
from cropcal.show.terminal.photoperiod import complaints, lit_for_the_file, setting

MOST_ZONES = 2
"""With more zones than this each gets its hours and their drawbacks alone."""


def hours_glance(advice: HoursAdvice) -> list[ScreenPart]:
    """Return the hours of each zone, the days to harvest with them, and the gravest warning."""
    if len(advice.zones) > MOST_ZONES:
        lines = tuple("\n".join([_hours(zone, advice.currency), _suits(zone)]) for zone in advice.zones)
        zones = [ScreenPart(lines)]
    else:
        zones = [
            ScreenPart(tuple(_facts(zone, advice.currency)), _hours(zone, advice.currency))
            for zone in advice.zones
        ]
    days = tuple(filter(None, (_days(zone) for zone in advice.zones)))
    warnings = [f"{zone.zone}: {warning}" for zone in advice.zones for warning in zone.warnings]
    return [
        *zones,
        ScreenPart(days),
        warning_block(warnings, 2, CARE if advice.cautions else ""),
    ]


def _hours(zone: ZoneHours, currency: str | None) -> str:
    """Return a zone's lamp hours and their cost."""
    if zone.by_month:
        return sentence(f"{zone.zone}: month by month: {zone.by_month[0]}", 2)
    return sentence(f"{zone.zone}: {setting(zone.pick, currency)}", 2)


def _facts(zone: ZoneHours, currency: str | None) -> list[str]:
    """Return how the hours suit the crops, the present ones, how to plan with these, why, the first cure."""
    now, hours = zone.now, f"{text.plain(zone.pick.photoperiod_h, 2)} h"
    changed = now is not None and (now.lit, now.output) != (zone.pick.lit, zone.pick.output)
    why = zone.by_month[1] if len(zone.by_month) > 1 else zone.why
    facts = [_suits(zone)]
    if now is not None and changed:
        facts.append(sentence(f"now: {setting(now, currency)}", 1, "  "))
        facts.append(sentence(f"to plan with {hours}, in space.toml: {lit_for_the_file(zone)}", 2, "  "))
    facts.append(sentence(f"why: {why}", 2, "  "))
    facts += [sentence(f"cure: {cure}", 2, "  ") for cure in zone.cures[:1]]
    facts += [sentence(f"in simulated seasons: {_seasons(zone)}", 2, "  ")] if _seasons(zone) else []
    return facts


def _seasons(zone: ZoneHours) -> str:
    """Return the length of day that drawn seasons speak for, "" where it is the pick or none was tried."""
    chosen = next((length for length in zone.lengths if length.chosen and not length.picked), None)
    picked = next((length for length in zone.lengths if length.picked), None)
    if chosen is None or picked is None:
        return ""
    return (
        f"{setting(chosen.setting, None)} misses {chosen.short_want_weeks:.1f} of {chosen.wanted_want_weeks}"
        f" weekly targets; the hours above, {picked.short_want_weeks:.1f}"
    )


def _suits(zone: ZoneHours) -> str:
    return sentence(complaints(zone.pick, _names(zone)), 2, "  ")


def _days(zone: ZoneHours) -> str:
    """Return the days from sowing to the first cut of each crop with the picked hours."""
    names = _names(zone)
    days = [f"{names.get(slug, slug)} {text.plain(days, 0)}" for slug, days in zone.pick.harvest_days.items()]
    return sentence(f"Days to harvest in {zone.zone}: {', '.join(days)}") if days else ""


def _names(zone: ZoneHours) -> Mapping[str, str]:
    return {crop.crop: crop.name for crop in zone.crops}
