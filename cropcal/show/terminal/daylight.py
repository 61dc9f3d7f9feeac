"""What `cropcal daylight` prints: the year of the sun, outdoors and at the leaves, and the lamp's part."""

from cropcal.records.daylight import (
    MONTHS,
    CropNeed,
    DaylightYear,
    ZoneSun,
)
from cropcal.show import text
from cropcal.show.wording import assumptions

NEVER = ">24 h"


def daylight(daylight_year: DaylightYear) -> str:
    """Return the year by month: day length and light outdoors, then each zone."""
    rows = [
        (
            month,
            text.hours(hours),
            text.dli(outdoor),
            *(text.dli(zone.sun_mol_m2_d[number]) for zone in daylight_year.zones),
        )
        for number, (month, hours, outdoor) in enumerate(
            zip(MONTHS, daylight_year.day_length_h, daylight_year.outdoor_mol_m2_d, strict=True)
        )
    ]
    windows = [zone for zone in daylight_year.zones if zone.has_window]
    shown = [(row[:3] + tuple(row[3 + daylight_year.zones.index(zone)] for zone in windows)) for row in rows]
    headers = ("month", "day", "outdoors", *(text.clip(zone.zone, 14) for zone in windows))
    months = text.table(headers, shown, "l" + "r" * (2 + len(windows)))
    return (
        f"{text.wrap(place_and_source(daylight_year))}\n\n{months}\n"
        + "".join(_zone(zone) for zone in daylight_year.zones)
        + text.section("Watch out", text.bullets(daylight_year.warnings))
        + text.section("Assumptions", assumptions(daylight_year.assumptions))
    )


def place_and_source(daylight_year: DaylightYear) -> str:
    """Return where this is and what the light outdoors is taken from."""
    where = f"{_degrees(daylight_year.latitude, 'N', 'S')} {_degrees(daylight_year.longitude, 'E', 'W')}"
    return (
        f"{text.clean(daylight_year.place)}, {where}: light of the sun, mol/m² a day,"
        f" from {daylight_year.source}"
    )


def _degrees(value: float, positive: str, negative: str) -> str:
    return f"{text.plain(abs(value), 2)} {positive if value >= 0 else negative}"


def _zone(zone: ZoneSun) -> str:
    """Return a zone's months: light of sun and lamp, the day plants see, and lamp hours that would do."""
    rows = [
        (
            month,
            text.dli(zone.sun_mol_m2_d[number]),
            text.dli(zone.lamp_mol_m2_d[number]),
            text.dli(zone.sun_mol_m2_d[number] + zone.lamp_mol_m2_d[number]),
            text.hours(zone.day_seen_h[number]),
            text.hours(zone.lamp_h[number]),
            _asked(zone.enough_h[number]),
            _asked(zone.needed_h[number]),
        )
        for number, month in enumerate(MONTHS)
    ]
    headers = ("month", "sun", "lamp", "both", "day seen", "lamp set", "enough", "best")
    if not zone.has_lamp:
        rows = [row[:2] + row[4:5] for row in rows]  # type: ignore[misc]
        headers = ("month", "sun", "day seen")  # type: ignore[assignment]
    table = text.table(headers, rows, "l" + "r" * (len(headers) - 1))
    parts = [table, *([text.wrap(zone.why)] if zone.why else []), text.bullets(map(_crop, zone.crops))]
    note = (
        "sun, lamp, both: mol/m² a day. day seen: all but the longest dark stretch. enough, best: lamp"
        " hours with"
        " which each crop wanted here grows well, or best."
        if zone.has_lamp
        else "sun: mol/m² a day. day seen: all but the longest dark stretch."
    )
    window = "" if zone.has_window else ", no window"
    return text.section(
        f"{text.clean(zone.zone)}{window}", "\n\n".join(filter(None, [*parts, text.wrap(note)]))
    )


def _asked(hours: float | None) -> str:
    return NEVER if hours is None else text.hours(hours)


def _crop(crop: CropNeed) -> str:
    day = "" if crop.longest_day_h is None else f"; a day of {text.plain(crop.longest_day_h)} h at most"
    return (
        f"{text.clean(crop.name)}: well from {text.plain(crop.enough_mol_m2_d, 1)} mol a day, best at "
        f"{text.plain(crop.best_mol_m2_d, 1)}, not above {text.plain(crop.ceiling_mol_m2_d, 1)}{day}"
    )
