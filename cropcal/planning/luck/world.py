"""The world of a plan's season for ``cropcal.seasons``: calendar, sites, cells, wants and sowings."""

from collections import Counter
from collections.abc import Mapping, Sequence

import numpy as np

from cropcal.planning.candidates.columns import NO_DAY, CandidateColumns, Option
from cropcal.planning.candidates.demand import Demand
from cropcal.planning.candidates.eligible import Capacity
from cropcal.planning.candidates.service_weeks import ServiceWeeks, closed_stretches
from cropcal.planning.candidates.work_calendar import WorkCalendar
from cropcal.planning.luck.kinds import kinds
from cropcal.planning.luck.streams import RandomStreams
from cropcal.planning.schedule.batches import Hold
from cropcal.records.daylight import half_of
from cropcal.records.plan import Batch
from cropcal.science.chance import LOSS_SHARE, MINIMUM_SHARE
from cropcal.science.growth import PLANT_CV
from cropcal.science.learning import HARVEST_SD
from cropcal.seasons.luck import LUCKLESS
from cropcal.seasons.world import BoolArray, IntArray, Sowing, World


def season_world(
    options: tuple[Option, ...],
    land: Capacity,
    serving: ServiceWeeks,
    wanted: Demand,
    clean_days: int,
    luck: RandomStreams,
    today: int = 0,
) -> World:
    """Return the world of a plan's season from day ``today`` on.

    Weeks before the first that counts eat what is there already. One more want, of which nothing is wanted,
    is that of plants that nobody wants.
    """
    time = serving.time
    halves, stretch = _stretches(time, any(place.spot.seasons for place in land.places))
    return World(
        days=time.days,
        work=_on(time.work_days[time.work_days >= today], time.days),
        harvest=_on(time.harvest_days[time.harvest_days >= today], time.days),
        stretch=stretch,
        wanted=np.pad(wanted.eaten, ((0, 1), (0, 0))),
        sites=_open([(len(place.sites), place.closed(time)) for place in land.places], time.days),
        cells=_open(
            [(bed.site_count, closed_stretches(bed.out_of_use, time)) for bed in land.nurseries], time.days
        ),
        clean_days=clean_days,
        kinds=kinds(options, land, serving, halves, luck),
        seasons=luck.seasons,
        least_share=MINIMUM_SHARE,
        plant_sd=float(np.sqrt(np.log1p(PLANT_CV**2))),
        batch_sd=HARVEST_SD,
        lost=0.0 if luck.seed == LUCKLESS else LOSS_SHARE,
        most_minutes=time.most_minutes_a_day,
    )


def _on(days: IntArray, length: int) -> BoolArray:
    is_on = np.zeros(length, dtype=bool)
    is_on[days] = True
    return is_on


def _open(parts: Sequence[tuple[int, tuple[tuple[int, int], ...]]], days: int) -> IntArray:
    """Return the sites (cells) of each place by day, 0 where they are out of use, (places, days)."""
    free = np.array([[size] * days for size, _ in parts], dtype=np.int64).reshape(len(parts), days)
    for row, (_, stretches) in zip(free, parts, strict=True):
        for first, last in stretches:
            row[max(first, 0) : max(last + 1, 0)] = 0
    return free


def _stretches(time: WorkCalendar, sunny: bool) -> tuple[IntArray, IntArray]:
    """Return the half months of the plan in turn, and the number of that of each day, (days,)."""
    if not sunny:
        return np.zeros(1, dtype=np.int64), np.zeros(time.days, dtype=np.int64)
    half = np.array([half_of(time.date_of(day)) for day in range(time.days)], dtype=np.int64)
    number = np.cumsum(np.diff(half, prepend=half[:1]) != 0)
    return half[np.flatnonzero(np.diff(number, prepend=-1))], number


def luck_name(batch: Batch) -> str:
    """Return the name of a batch's luck: the same when it is planned again, and for all of a sowing."""
    return f"{batch.crop} {batch.sow_on} {batch.want} {batch.sites_each}"


def alternatives(world: World) -> tuple[tuple[int, ...], ...]:
    """Return, for each kind, the kinds to which its seedlings may go, one a place: the quickest first.

    Where that is does not depend on the place for which they were planned: a seedling goes into the free site
    on which it is ready soonest.
    """
    by_group: dict[int, dict[int, int]] = {}
    for number, kind in sorted(enumerate(world.kinds), key=lambda item: (item[1].site_d, item[1].place)):
        by_group.setdefault(kind.group, {}).setdefault(kind.place, number)
    return tuple(tuple(by_group[kind.group].values()) for kind in world.kinds)


def planned_sowings(
    candidates: CandidateColumns,
    chosen: IntArray,
    holds: Sequence[Hold],
    batches: Mapping[str, Batch],
    world: World,
) -> tuple[tuple[Sowing, ...], tuple[str, ...]]:
    """Return the sowings of the chosen columns, and the batch of each; ``holds`` are those of the columns.

    They are in the order of the batches and their places, which decides who shares which luck. Spare cells of
    a batch go with its first place; they are cut as often as the others.
    """
    goes = alternatives(world)
    rows: dict[tuple[str, int], list[int]] = {}
    for column, hold in zip(np.flatnonzero(chosen).tolist(), holds, strict=True):
        rows.setdefault((hold.batch, int(candidates.option[column])), []).append(column)
    sowings, names, named = [], [], Counter[str]()
    spares = {name: max(batch.cells - batch.sites, 0) for name, batch in batches.items()}
    number = {name: at for at, name in enumerate(batches)}
    for name, option in sorted(rows, key=lambda row: (number[row[0]], candidates.options[row[1]].place)):
        batch, columns = batches[name], rows[name, option]
        luck = luck_name(batch)
        cuts = [
            int((candidates.cuts[column] != NO_DAY).sum())
            for column in columns
            for _ in range(chosen[column])
        ]
        cuts += [max(cuts)] * spares.pop(name, 0)
        sowings.append(
            Sowing(
                name=luck,
                day=int(candidates.sown[columns[0]]),
                kinds=goes[option],
                cuts=tuple(sorted(cuts, reverse=True)),
                first_cell=named[luck],
            )
        )
        named[luck] += len(cuts)
        names.append(name)
    return tuple(sowings), tuple(names)
