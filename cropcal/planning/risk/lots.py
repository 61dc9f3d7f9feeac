"""The lots that are simulated: sites of each batch, and the days on which they may be cut."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from cropcal.optimize.programme import IntArray
from cropcal.planning.candidates.columns import NO_DAY, CandidateColumns
from cropcal.planning.candidates.eligible import Capacity, SiteGroup
from cropcal.planning.candidates.service_weeks import NEVER, ServiceWeeks
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK
from cropcal.planning.growth.crop_growth import LAST_DAY, GrowthTable, plants_per_site
from cropcal.planning.schedule.batches import Hold
from cropcal.records.crop import Crop
from cropcal.records.plan import Batch

SOONER_D = 14
"""Days before its planned day from which a batch may be cut sooner if ready (assumed)."""


@dataclass(frozen=True)
class Cut:
    """Sites of a batch cut alike: days after sowing of all cuts until this one, and its amount.

    ``looks``: (week, day after sowing) on which they may be cut instead; empty: on their day only. They stay
    good for ``stays`` weeks on their site once ready, and for ``keeps`` weeks when cut.
    """

    week: int
    days: tuple[int, ...]
    sites: int
    amount: float
    looks: tuple[tuple[int, int], ...] = ()
    stays: int = 0
    keeps: int = 0

    @property
    def visits(self) -> tuple[tuple[int, int], ...]:
        """Return (week, day after sowing) of each day on which it may be cut."""
        return self.looks or ((self.week, self.days[-1]),)


@dataclass(frozen=True, eq=False)
class Lot:
    """Sites of one batch in one place. ``age`` is its row of ``grown``, ``seeds`` those of each plant.

    ``cells`` were sown for its sites; ``stands``: they are known to stand already.
    """

    name: str
    want: int
    zone: str
    grown: GrowthTable
    age: int
    cells: int
    seeds: int
    cuts: tuple[Cut, ...]
    stands: bool = False

    @property
    def stand_chance(self) -> float:
        """Return the chance that at least one seed of a cell comes up."""
        return 1.0 if self.stands else 1.0 - (1.0 - self.grown.stand) ** self.seeds


def harvest_visits(
    serving: ServiceWeeks, want: int, grown: GrowthTable, sown: int, planted: int, day: int
) -> tuple[tuple[int, int], ...]:
    """Return (week, day after sowing) of the days on which a single cut may be made instead.

    The last day in each week of its want, from ``SOONER_D`` days before its day to the end of its window.
    """
    crop, time, known = grown.crop, serving.time, grown.stages is not None
    weeks = serving.by_day(want, crop.slug)
    first = max(day - SOONER_D, planted + 1) if known else day
    until = day + crop.window_d
    if crop.unit != "heads":  # leaves are not planned to stand beyond the window of the middle
        until = max(day, int(np.ceil(sown + grown.ready_d[1].min())) + crop.window_d)
    day_of_week = {week_served(serving, want, crop, day): day}
    for visit in time.harvest_days[(time.harvest_days >= first) & (time.harvest_days <= until)].tolist():
        week = int(weeks[visit])
        if week != NEVER and visit - sown <= LAST_DAY:
            day_of_week[week] = max(visit, day_of_week.get(week, visit))
    return tuple((week, visit - sown) for week, visit in sorted(day_of_week.items()))


def sown_lots(
    candidates: CandidateColumns,
    chosen: IntArray,
    holds: Sequence[Hold],
    batches: Mapping[str, Batch],
    land: Capacity,
    serving: ServiceWeeks,
) -> list[Lot]:
    """Return the lots of batches that are yet to be sown; ``holds`` are those of the chosen columns."""
    rows: dict[tuple[str, int], list[int]] = {}
    for column, hold in zip(np.flatnonzero(chosen).tolist(), holds, strict=True):
        rows.setdefault((hold.batch, hold.place), []).append(column)
    lots = []
    for (name, place), columns in rows.items():
        option = candidates.options[candidates.option[columns[0]]]
        crop, batch = option.grown.crop, batches[name]
        sites = int(chosen[columns].sum())
        cuts = []
        for column in columns:
            days = [int(day) for day in candidates.cuts[column] if day != NO_DAY]
            after = tuple(day - int(candidates.sown[column]) for day in days)
            count = int(chosen[column])
            once = len(days) == 1
            sown, planted = int(candidates.sown[column]), int(candidates.planted[column])
            cuts += [
                Cut(
                    week=week_served(serving, option.want, crop, day),
                    days=after[: number + 1],
                    sites=count,
                    amount=count * float(amount),
                    looks=harvest_visits(serving, option.want, option.grown, sown, planted, day)
                    if once
                    else (),
                    stays=crop.window_d // DAYS_PER_WEEK,
                    keeps=serving.weeks_kept(option.want, crop.slug, day),
                )
                for number, (day, amount) in enumerate(zip(days, candidates.amounts[column], strict=False))
            ]
        lots.append(
            Lot(
                name=lot_name(batch, land.places[place], option.want),
                want=option.want,
                zone=land.places[place].bed.zone,
                grown=option.grown,
                age=int(candidates.age[columns[0]]),
                cells=(batch.cells or batch.sites) * sites // batch.sites,
                seeds=seeds_per_plant(batch, crop, option.grown),
                cuts=tuple(cuts),
                stands=option.grown.plug_age_d is not None,
            )
        )
    return lots


def week_served(serving: ServiceWeeks, want: int, crop: Crop, day: int) -> int:
    """Return the week of its want that a cut serves, ``NEVER``: none."""
    weeks = serving.by_day(want, crop.slug)
    return int(weeks[day]) if 0 <= day < len(weeks) else NEVER


def lot_name(batch: Batch, place: SiteGroup, want: int) -> str:
    """Return the name of a lot's random stream: the same when it is planned again."""
    room = f" {batch.sites_each}" if batch.sites_each > 1 else ""
    return f"{batch.crop} {place.label} {batch.sow_on} {batch.planted_on} {want}{room}"


def seeds_per_plant(batch: Batch, crop: Crop, grown: GrowthTable) -> int:
    """Return the seeds sown for each plant."""
    if crop.kind in ("tray", "shoots"):
        return crop.seeds_per_plant
    plants = plants_per_site(crop, grown.spot) * max(batch.cells, batch.sites, 1)
    return max(int(batch.seeds / plants + 0.5), crop.seeds_per_plant)
