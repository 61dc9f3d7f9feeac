"""What ``cropcal daylight`` says first: the year in a line each, and in which months each crop grows well."""

from cropcal.records.daylight import MONTHS, CropNeed, DaylightYear, ZoneSun, month_spans
from cropcal.show import text
from cropcal.show.glance.fitting import ScreenPart, sentence, table_block, warning_block
from cropcal.show.terminal.daylight import place_and_source

LABEL_WIDTH = 18


def daylight_glance(daylight_year: DaylightYear) -> list[ScreenPart]:
    """Return the months in which each crop gets enough, then sun and lamp hours month by month."""
    enough = tuple(
        sentence(_grows_well(crop, zone), 2) for zone in daylight_year.zones for crop in zone.crops
    )
    rows = [
        _row("day, h", daylight_year.day_length_h),
        _row("outdoors", daylight_year.outdoor_mol_m2_d),
        *(row for zone in daylight_year.zones for row in _zone_rows(zone)),
    ]
    return [
        ScreenPart((), sentence(place_and_source(daylight_year))),
        ScreenPart(enough),
        table_block(("", *MONTHS), rows, "l" + "r" * len(MONTHS)),
        warning_block(daylight_year.warnings),
    ]


def _grows_well(crop: CropNeed, zone: ZoneSun) -> str:
    """Return the months in which sun and lamp, as they are set, give a crop enough to grow well."""
    light_mol_m2_d = [sun + lamp for sun, lamp in zip(zone.sun_mol_m2_d, zone.lamp_mol_m2_d, strict=True)]
    months = [month for month, light in enumerate(light_mol_m2_d) if light >= crop.enough_mol_m2_d]
    when = month_spans(months) if months else "in no month"
    return f"{crop.name} in {zone.zone}: enough light to grow well {when}"


def _zone_rows(zone: ZoneSun) -> list[tuple[str, ...]]:
    rows = [_row(f"{zone.zone}: sun", zone.sun_mol_m2_d)] if zone.has_window else []
    if zone.has_lamp:
        rows.append(_row(f"{zone.zone}: lamp h", zone.lamp_h))
        if zone.crops:
            rows.append(_row(f"{zone.zone}: enough h", zone.enough_h))
    return rows


def _row(label: str, values: tuple[float | None, ...] | tuple[float, ...]) -> tuple[str, ...]:
    shown = (">24" if value is None else text.plain(value, 0) for value in values)
    return (_short(label), *shown)


def _short(label: str) -> str:
    """Return a label that keeps what stands behind its colon."""
    name, colon, what = label.rpartition(":")
    return text.clip(name, LABEL_WIDTH - len(colon + what)) + colon + what if colon else label
