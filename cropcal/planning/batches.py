"""From chosen columns to batches on the calendar, with the sites they hold."""

from collections import Counter
from datetime import date, timedelta
from math import ceil, exp, lgamma, log, log1p

import numpy as np

from cropcal.planning.growing import Grown, plants_per_site
from cropcal.planning.offers import Place
from cropcal.planning.programme import IntArray
from cropcal.planning.sites import assign
from cropcal.planning.ways import NO_DAY, Ways
from cropcal.planning.worktime import Worktime
from cropcal.records.crop import Crop
from cropcal.records.plan import Batch, Harvest, SiteUse

Key = tuple[int, int, int, int, int]
LETTERS = "abcdefghijklmnopqrstuvwxyz"


def batches(
    found: Ways, chosen: IntArray, places: tuple[Place, ...], time: Worktime, clean_days: int
) -> tuple[tuple[Batch, ...], tuple[SiteUse, ...]]:
    """Return the batches in order of sowing, and who holds which site when.

    Columns that share crop, bed, sowing and planting day are one batch, cut on several days.
    """
    used = np.flatnonzero(chosen)
    groups: dict[Key, list[int]] = {}
    for column in used:
        offer = found.offers[found.offer[column]]
        key = (
            int(found.sown[column]),
            offer.want,
            int(found.offer[column]),
            int(found.planted[column]),
            int(found.age[column]),
        )
        groups.setdefault(key, []).append(int(column))
    ordered = sorted(groups.items())
    names = _names([time.date_of(key[0]) for key, _ in ordered])
    made = []
    name_of: dict[int, str] = {}
    for name, (_, members) in zip(names, ordered, strict=True):
        made.append(_batch(name, found, chosen, members, places, time))
        name_of |= dict.fromkeys(members, name)
    return tuple(made), _sites(found, chosen, used, name_of, places, time, clean_days)


def _names(sown: list[date]) -> list[str]:
    """Return short ids: month and day of sowing, and a letter: 0106a, 0106b."""
    seen: Counter[str] = Counter()
    names = []
    for day in sown:
        stem = f"{day:%m%d}"
        number = seen[stem]
        seen[stem] += 1
        more, letter = divmod(number, len(LETTERS))
        names.append(stem + (LETTERS[more - 1] if more else "") + LETTERS[letter])
    repeated = {name for name, count in Counter(names).items() if count > 1}
    return [f"{day:%y}{name}" if name in repeated else name for name, day in zip(names, sown, strict=True)]


def _batch(
    name: str, found: Ways, chosen: IntArray, members: list[int], places: tuple[Place, ...], time: Worktime
) -> Batch:
    first = members[0]
    offer = found.offers[found.offer[first]]
    grown, crop = offer.grown, offer.grown.crop
    age, sown, planted = int(found.age[first]), int(found.sown[first]), int(found.planted[first])
    sites = int(chosen[members].sum())
    ready = [sown + ceil(day) for day in grown.ready_d[:, age]]
    first_cut, last_cut = int(found.cuts[members, 0].min()), int(found.cuts[members].max())
    return Batch(
        id=name,
        want=offer.want,
        crop=crop.slug,
        bed=places[offer.place].bed.name,
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
        seeds=seeds(crop, grown, sites),
        unit=crop.unit,
        harvests=_harvests(found, chosen, members, crop, time),
    )


def _harvests(
    found: Ways, chosen: IntArray, members: list[int], crop: Crop, time: Worktime
) -> tuple[Harvest, ...]:
    """Return the cuts of a batch by day; columns cut on the same day, for the same time, are one."""
    together: dict[tuple[int, int], list[float]] = {}
    for column in members:
        for cut, day in enumerate(found.cuts[column]):
            if day == NO_DAY:
                continue
            count = int(chosen[column])
            low, high = float(found.lows[column, cut]) * count, float(found.highs[column, cut]) * count
            if crop.unit == "heads":
                low, high = _heads_80(count, stand_chance(crop, found.offers[found.offer[column]].grown))
            amount = float(found.amounts[column, cut]) * count
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


def stand_chance(crop: Crop, grown: Grown) -> float:
    """Return the chance that at least one seed of a cell comes up."""
    return 1.0 - (1.0 - grown.stand) ** crop.seeds_per_plant


def _heads_80(count: int, chance: float) -> tuple[float, float]:
    """Return the 10th and 90th percentile of a binomial: heads that stand of so many sites."""
    total, low = 0.0, None
    ways = lgamma(count + 1)
    for heads in range(count + 1):
        ln_share = ways - lgamma(heads + 1) - lgamma(count - heads + 1)
        total += exp(ln_share + heads * log(chance) + (count - heads) * log1p(-chance)) if chance < 1 else 0.0
        if low is None and total >= 0.10:
            low = heads
        if total >= 0.90:
            return float(low or 0), float(heads)
    return float(count if low is None else low), float(count)


def seeds(crop: Crop, grown: Grown, sites: int) -> int:
    """Return how many seeds so many sites take, spare seeds included."""
    plants = plants_per_site(crop, grown.spot) * sites
    if crop.kind == "tray":
        return ceil(plants * crop.seeds_per_plant / grown.stand)
    return ceil(plants if crop.kind == "shoots" else plants * crop.seeds_per_plant)


def _sites(
    found: Ways,
    chosen: IntArray,
    used: IntArray,
    name_of: dict[int, str],
    places: tuple[Place, ...],
    time: Worktime,
    clean_days: int,
) -> tuple[SiteUse, ...]:
    """Give each column its sites, bed by bed; a batch keeps them until it is cleared."""
    rows = []
    for number, place in enumerate(places):
        here = np.array(
            [column for column in used if found.offers[found.offer[column]].place == number], dtype=np.int64
        )
        here = here[np.lexsort((found.freed[here], found.sown[here], found.planted[here]))]
        taken = assign(len(place.sites), found.planted[here], found.freed[here], chosen[here])
        for column, numbers in zip(here, taken, strict=True):
            offer = found.offers[found.offer[column]]
            until = time.date_of(int(found.freed[column])) - timedelta(days=clean_days)
            rows += [
                SiteUse(
                    bed=place.bed.name,
                    site=place.sites[int(site)],
                    batch=name_of[int(column)],
                    crop=offer.grown.crop.slug,
                    held_from=time.date_of(int(found.planted[column])),
                    held_until=until,
                    cuts=tuple(time.date_of(day) for day in found.cuts[column] if day != NO_DAY),
                )
                for site in numbers
            ]
    return tuple(sorted(rows, key=lambda row: (row.bed, row.site, row.held_from)))
