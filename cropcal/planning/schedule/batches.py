"""From chosen columns to batches on the calendar, with the sites they hold."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from math import ceil

import numpy as np

from cropcal.optimize.programme import IntArray
from cropcal.optimize.site_assignment import assign
from cropcal.planning.candidates.columns import NO_DAY, CandidateColumns
from cropcal.planning.candidates.eligible import SiteGroup
from cropcal.planning.candidates.work_calendar import WorkCalendar
from cropcal.planning.growth.crop_growth import GrowthTable, plants_per_site
from cropcal.records.crop import Crop, own_cut_g
from cropcal.records.plan import Batch, Harvest, SiteUse

Key = tuple[int, int, int, int]
"""Day of sowing, want, first option of the crop in its bed, day of planting."""
LETTERS = "abcdefghijklmnopqrstuvwxyz"


@dataclass(frozen=True, eq=False)
class Hold:
    """Sites of one place held alike: days counted from the plan's start, ``sown`` for the order.

    ``count`` plants stand there, and each holds ``each`` sites. ``since`` is the day from which they are
    really held. ``wished`` are the sites (numbers from 1) to keep, each plant's own before those beside it;
    empty: any.
    """

    place: int
    sown: int
    planted: int
    freed: int
    count: int
    batch: str
    crop: str
    since: date
    cuts: tuple[date, ...]
    wished: tuple[int, ...] = ()
    each: int = 1


@dataclass(frozen=True, eq=False)
class Earlier:
    """What new batches take over: ids by (option, sown, planted), ids already taken, sites of columns.

    ``same_day``: ids by (want, crop, sown), for batches sown as planned but planted on another day.
    """

    ids: Mapping[tuple[int, int, int], str]
    taken: frozenset[str]
    sites: Mapping[int, tuple[int, ...]]
    same_day: Mapping[tuple[int, str, int], tuple[str, ...]] = field(default_factory=dict)

    def known(self, keys: Sequence[tuple[int, str, tuple[int, ...], int, int]]) -> list[str]:
        """Return the id of each sowing (want, crop, options, sown, planted), "" where it gets a new one."""
        ids: list[str] = []
        for _, _, options, sown, planted in keys:
            before = (self.ids.get((option, sown, planted), "") for option in options)
            ids.append(next((name for name in before if name and name not in ids), ""))
        used = set(ids)
        for at, (want, crop, _, sown, _) in enumerate(keys):
            left = (name for name in self.same_day.get((want, crop, sown), ()) if name not in used)
            ids[at] = ids[at] or next(left, "")
            used.add(ids[at])
        return ids


NOTHING_EARLIER = Earlier({}, frozenset(), {})


def batches(
    candidates: CandidateColumns,
    chosen: IntArray,
    places: tuple[SiteGroup, ...],
    time: WorkCalendar,
    earlier: Earlier = NOTHING_EARLIER,
) -> tuple[tuple[Batch, ...], tuple[Hold, ...]]:
    """Return the batches in order of sowing, and the sites that each column holds.

    Columns with the same crop, bed, sowing and planting day are one batch, cut on several days, however
    light their sites are.
    """
    used = np.flatnonzero(chosen)
    first_alike = _first_alike(candidates, places)
    groups: dict[Key, list[int]] = {}
    for column in used:
        number = first_alike[int(candidates.option[column])]
        want = candidates.options[number].want
        key = int(candidates.sown[column]), want, number, int(candidates.planted[column])
        groups.setdefault(key, []).append(int(column))
    ordered = sorted(groups.items())
    known = earlier.known(
        [
            (
                want,
                candidates.options[number].grown.crop.slug,
                tuple(sorted({int(candidates.option[column]) for column in members})),
                sown,
                planted,
            )
            for (sown, want, number, planted), members in ordered
        ]
    )
    names = _names([time.date_of(key[0]) for key, _ in ordered], known, earlier.taken)
    new_batches = []
    name_of: dict[int, str] = {}
    for name, (_, members) in zip(names, ordered, strict=True):
        new_batches.append(_batch(name, candidates, chosen, members, places, time))
        name_of |= dict.fromkeys(members, name)
    holds = tuple(
        Hold(
            place=candidates.options[candidates.option[column]].place,
            sown=int(candidates.sown[column]),
            planted=int(candidates.planted[column]),
            freed=int(candidates.freed[column]),
            count=int(chosen[column]),
            batch=name_of[int(column)],
            crop=candidates.options[candidates.option[column]].grown.crop.slug,
            since=time.date_of(int(candidates.planted[column])),
            cuts=tuple(time.date_of(day) for day in candidates.cuts[column] if day != NO_DAY),
            wished=earlier.sites.get(int(column), ()),
            each=candidates.options[candidates.option[column]].sites_each,
        )
        for column in used
    )
    return tuple(new_batches), holds


def _first_alike(candidates: CandidateColumns, places: tuple[SiteGroup, ...]) -> list[int]:
    """Return for each option the first of those of its crop, want, bed, nursery and room of a plant."""
    first: dict[tuple[int, str, str, str | None, int], int] = {}
    return [
        first.setdefault(
            (
                option.want,
                option.grown.crop.slug,
                places[option.place].bed.name,
                option.grown.nursery,
                option.sites_each,
            ),
            number,
        )
        for number, option in enumerate(candidates.options)
    ]


def _names(sown: list[date], known: list[str], taken: frozenset[str]) -> list[str]:
    """Return short ids: month and day of sowing, and a letter: 0106a, 0106b; known ids stay."""
    seen: Counter[str] = Counter()
    names = []
    for day, before in zip(sown, known, strict=True):
        stem, name = f"{day:%m%d}", before
        while not name:
            number = seen[stem]
            seen[stem] += 1
            more, letter = divmod(number, len(LETTERS))
            name = stem + (LETTERS[more - 1] if more else "") + LETTERS[letter]
            name = "" if name in taken else name
        names.append(name)
    repeated = {name for name, count in Counter(names).items() if count > 1}
    return [f"{day:%y}{name}" if name in repeated else name for name, day in zip(names, sown, strict=True)]


def _batch(
    name: str,
    candidates: CandidateColumns,
    chosen: IntArray,
    members: list[int],
    places: tuple[SiteGroup, ...],
    time: WorkCalendar,
) -> Batch:
    first = members[0]
    option = candidates.options[candidates.option[first]]
    grown, crop = option.grown, option.grown.crop
    sown, planted = int(candidates.sown[first]), int(candidates.planted[first])
    sites = int(chosen[members].sum())
    ready = [sown + ceil(day) for day in _ready_d(candidates, chosen, members)]
    first_cut, last_cut = int(candidates.cuts[members, 0].min()), int(candidates.cuts[members].max())
    return Batch(
        id=name,
        want=option.want,
        crop=crop.slug,
        bed=places[option.place].bed.name,
        nursery=grown.nursery,
        sow_on=time.date_of(sown),
        emerge_on=time.date_of(sown + ceil(grown.emergence_d[1])),
        transplant_on=time.date_of(planted) if grown.nursery else None,
        ready_from=time.date_of(min(ready[1], first_cut)),
        ready_from_low_80=time.date_of(ready[0]),
        ready_from_high_80=time.date_of(ready[2]),
        ready_until=time.date_of(max(ready[1] + crop.window_d, last_cut)),
        clear_on=time.date_of(last_cut),
        sites=sites,
        cells=sites if grown.nursery else 0,
        seeds=0 if grown.plug_age_d is not None else _seeds_of(candidates, chosen, members),
        unit=crop.unit,
        harvests=_harvests(candidates, chosen, members, crop, time),
        plug_age_d=grown.plug_age_d,
        cut_at_g=own_cut_g(crop),
        sites_each=option.sites_each,
    )


def _ready_d(candidates: CandidateColumns, chosen: IntArray, members: list[int]) -> tuple[float, ...]:
    """Return the days from sowing to readiness: low, middle, high; the middle is the mean of the sites."""
    rows = np.array(
        [
            candidates.options[candidates.option[column]].grown.ready_d[:, candidates.age[column]]
            for column in members
        ]
    )
    middle = round(float(np.average(rows[:, 1], weights=chosen[members])), 6)  # a whole day stays whole
    return float(rows[:, 0].min()), middle, float(rows[:, 2].max())


def _seeds_of(candidates: CandidateColumns, chosen: IntArray, members: list[int]) -> int:
    """Return the seeds of a batch: in weaker light a site may take other numbers of plants."""
    sites: Counter[int] = Counter()
    for column in members:
        sites[int(candidates.option[column])] += int(chosen[column])
    grown_of = {number: candidates.options[number].grown for number in sites}
    return sum(seeds(grown_of[number].crop, grown_of[number], count) for number, count in sites.items())


def _harvests(
    candidates: CandidateColumns, chosen: IntArray, members: list[int], crop: Crop, time: WorkCalendar
) -> tuple[Harvest, ...]:
    """Return the cuts of a batch by day; equal cuts of columns on the same day are one."""
    together: dict[tuple[int, int], list[float]] = {}
    for column in members:
        for cut, day in enumerate(candidates.cuts[column]):
            if day == NO_DAY:
                continue
            count = int(chosen[column])
            low, high = (
                float(candidates.lows[column, cut]) * count,
                float(candidates.highs[column, cut]) * count,
            )
            amount = float(candidates.amounts[column, cut]) * count
            total = together.setdefault((int(day), cut + 1), [0, 0.0, 0.0, 0.0])
            for at, value in enumerate((count, amount, low, high)):
                total[at] += value
    return tuple(
        Harvest(
            on=time.date_of(day),
            cut=cut,
            sites=int(total[0]),
            amount=total[1],
            amount_low_80=total[2],
            amount_high_80=total[3],
        )
        for (day, cut), total in sorted(together.items())
    )


def stand_chance(crop: Crop, grown: GrowthTable) -> float:
    """Return the chance that at least one seed of a cell comes up."""
    return 1.0 - (1.0 - grown.stand) ** crop.seeds_per_plant


def seeds(crop: Crop, grown: GrowthTable, sites: int) -> int:
    """Return the seeds for ``sites`` sites, spare seeds included."""
    plants = plants_per_site(crop, grown.spot) * sites
    if crop.kind == "tray":
        return ceil(plants * crop.seeds_per_plant / grown.stand)
    return ceil(plants if crop.kind == "shoots" else plants * crop.seeds_per_plant)


def site_uses(
    holds: Sequence[Hold], places: tuple[SiteGroup, ...], time: WorkCalendar, clean_days: int
) -> tuple[SiteUse, ...]:
    """Return the uses of each site, bed by bed; a batch keeps its sites until it is cleared.

    Where plants hold several sites they are spread evenly: on every second, third or fourth of them.
    """
    rows = []
    for number, place in enumerate(places):
        here = [hold for hold in holds if hold.place == number]
        here.sort(key=lambda hold: (hold.planted, hold.sown, hold.freed))
        index = {site: at for at, site in enumerate(place.sites)}
        wished = {
            entry: np.array([index[site] for site in hold.wished], dtype=np.int64)
            for entry, hold in enumerate(here)
            if hold.wished and all(site in index for site in hold.wished)
        }
        planted, freed, count = (
            np.array(values, dtype=np.int64)
            for values in (
                [hold.planted for hold in here],
                [hold.freed for hold in here],
                [hold.count * hold.each for hold in here],
            )
        )
        for hold, numbers in zip(here, assign(len(place.sites), planted, freed, count, wished), strict=True):
            until = time.date_of(hold.freed) - timedelta(days=clean_days)
            sites = [place.sites[int(number)] for number in numbers]
            for own in range(0, len(sites), hold.each):
                held = tuple(sites[own : own + hold.each])
                rows += plant_uses(place.bed.name, held, hold.batch, hold.crop, hold.since, until, hold.cuts)
    return in_order(rows)


def plant_uses(
    bed: str,
    sites: tuple[int, ...],
    batch: str,
    crop: str,
    held_from: date,
    held_until: date,
    cuts: tuple[date, ...],
) -> list[SiteUse]:
    """Return the uses of the sites that one plant holds: the first is its own, the others stay empty."""
    return [
        SiteUse(
            bed=bed,
            site=site,
            batch=batch,
            crop=crop,
            held_from=held_from,
            held_until=held_until,
            cuts=() if number else cuts,
            empty_for=sites[0] if number else 0,
        )
        for number, site in enumerate(sites)
    ]


def in_order(rows: Iterable[SiteUse]) -> tuple[SiteUse, ...]:
    """Return the uses of sites by bed, site and day."""
    return tuple(sorted(rows, key=lambda row: (row.bed, row.site, row.held_from)))
