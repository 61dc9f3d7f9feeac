"""The part of the page on water: each zone in words, and its litres week by week."""

from dataclasses import dataclass
from datetime import timedelta

from cropcal.records.plan import SeasonPlan
from cropcal.records.water import ZoneWater
from cropcal.show import text
from cropcal.show.water_words import zone_lines
from cropcal.units import rough_range


@dataclass(frozen=True)
class WeekRow:
    """One week of a zone."""

    when: str
    litres: str
    pots: int


@dataclass(frozen=True)
class ZoneRow:
    """One zone: a line on its litres, what else is to be said, and its weeks."""

    title: str
    lines: tuple[str, ...]
    weeks: tuple[WeekRow, ...]


def zone_rows(plan: SeasonPlan) -> tuple[ZoneRow, ...]:
    """Return each zone in which anything grows."""
    return tuple(_zone(zone) for zone in plan.water if zone.weeks)


def _zone(zone: ZoneWater) -> ZoneRow:
    title, *lines = zone_lines(zone)
    weeks = tuple(
        WeekRow(
            when=text.span(row.week, row.week + timedelta(days=6)),
            litres=rough_range(row.l_per_d.low, row.l_per_d.high),
            pots=row.plants,
        )
        for row in zone.weeks
    )
    return ZoneRow(title, tuple(f"{line[:1].upper()}{line[1:]}." for line in lines), weeks)
