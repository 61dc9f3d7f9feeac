"""Which row of the calendar each batch is in, for the picture and for the page; draws nothing.

A small space has a row for each site. In a large one no such row could be read, so each sowing has one, as in
nurseries, where it does not matter which cell is whose: batches of one crop that were sown and planted on the
same days lie in it together.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import groupby
from math import ceil
from typing import Literal

from cropcal.records.plan import Batch, SeasonPlan, SiteUse
from cropcal.show.wording import number_of, period_of

MOST_ROWS = 40
"""Rows beyond which beds too have one for each sowing, and not for each site."""
MOST_TOGETHER = 3
"""Batches that share a row at most."""
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
NEXT_DAY = timedelta(days=1)


@dataclass(frozen=True)
class Stretch:
    """Sites or cells of one batch from the day ``first`` up to, not including, ``after``.

    ``top`` and ``height`` are counted in rows of its place. ``empty``: no plant stands here, to leave room.
    """

    batch: Batch
    first: date
    after: date
    count: int
    top: float
    height: float
    cuts: tuple[date, ...] = ()
    empty: bool = False


@dataclass(frozen=True)
class BarText:
    """What is written once over stretches that lie together: ``crop``, and of how many sites or cells.

    From ``first`` it is sown there, from ``up`` it grows, until the day ``free`` no cut is marked in it.
    """

    crop: str
    count: int
    first: date
    up: date
    free: date
    after: date
    top: float
    height: float


@dataclass(frozen=True)
class BedRows:
    """A nursery or a bed with its rows; ``cells``: how many cells or sites it has, None if it is gone."""

    name: str
    kind: Literal["bed", "nursery"]
    cells: int | None
    rows: int
    by_sowing: bool
    stretches: tuple[Stretch, ...]
    tags: tuple[BarText, ...]

    @property
    def numbered(self) -> bool:
        """Return whether its rows are sites, which have numbers."""
        return self.kind == "bed" and not self.by_sowing and self.rows > 1

    @property
    def note(self) -> str:
        """Return how large it is, of a nursery also how full it gets."""
        if self.kind == "nursery":
            of = "" if self.cells is None else f"{self._most()} of "
            return f"seedlings, at most {of}{number_of(self.cells or self._most(), 'cell')}"
        return number_of(self.cells or self.rows, "site") if self.stretches else "nothing planned"

    def _most(self) -> int:
        """Return how many cells are taken on the fullest day: it begins with one of the stretches."""
        return max(
            sum(other.count for other in self.stretches if other.first <= stretch.first < other.after)
            for stretch in self.stretches
        )


def texts(tag: BarText, name: str, letter: str, *, by_sowing: bool) -> tuple[str, ...]:
    """Return what may be written on a bar, the longest first; the row of a sowing has how many, too."""
    return (f"{tag.count} {name}", name, f"{tag.count} {letter}", letter) if by_sowing else (name, letter)


def places(plan: SeasonPlan) -> tuple[BedRows, ...]:
    """Return the nurseries, then the beds, with everything that stands there in the weeks of the plan."""
    first, last = period_of(plan)
    cells = {light.bed: len(light.site_ppfd_umol_m2_s) for light in plan.lights}
    by_id = {batch.id: batch for batch in plan.batches}
    seedlings = [
        batch
        for batch in plan.batches
        if batch.nursery and batch.transplant_on and batch.sow_on <= last and batch.transplant_on > first
    ]
    nurseries = sorted({batch.nursery for batch in seedlings if batch.nursery})
    in_nursery = {
        name: [_seedlings(batch) for batch in seedlings if batch.nursery == name] for name in nurseries
    }
    uses = [use for use in plan.sites if use.held_from <= last and use.held_until >= first]
    beds = dict.fromkeys([*cells, *(use.bed for use in uses)])
    in_bed = {name: [use for use in uses if use.bed == name] for name in beds if name not in in_nursery}
    order = {crop: n for n, crop in enumerate(crop_order(plan))}
    nursery_rows = {name: _shared(stretches, order) for name, stretches in in_nursery.items()}
    sites = {
        name: max([cells.get(name, 1), *(use.site for use in own)]) if own else 1
        for name, own in in_bed.items()
    }
    by_sowing = sum(map(_end, nursery_rows.values())) + sum(sites.values()) > MOST_ROWS
    found = [
        _place(name, "nursery", cells.get(name), stretches, by_sowing=True)
        for name, stretches in nursery_rows.items()
    ]
    for name, own in in_bed.items():
        if by_sowing:
            placed = _shared([_standing(by_id[batch], group) for batch, group in _by_batch(own)], order)
        else:
            placed = list(_site_by_site(own, by_id))
        rows = 1 if by_sowing else sites[name]
        found.append(_place(name, "bed", cells.get(name), placed, rows, by_sowing=by_sowing))
    return tuple(found)


def crop_order(plan: SeasonPlan) -> tuple[str, ...]:
    """Return the crops of a plan by the wants they are for: the order of keys, letters and colours."""
    return tuple(
        dict.fromkeys(crop for _, crop in sorted({(batch.want, batch.crop) for batch in plan.batches}))
    )


def letter_of(number: int) -> str:
    """Return A, B ... Z, AA, AB ...: the letter that marks a crop, beside its colour."""
    before = number // len(LETTERS)
    return (letter_of(before - 1) if before else "") + LETTERS[number % len(LETTERS)]


def _place(
    name: str,
    kind: Literal["bed", "nursery"],
    cells: int | None,
    stretches: Sequence[Stretch],
    least_rows: int = 1,
    *,
    by_sowing: bool,
) -> BedRows:
    return BedRows(
        name=name,
        kind=kind,
        cells=cells,
        rows=max(_end(stretches), least_rows),
        by_sowing=by_sowing,
        stretches=tuple(stretches),
        tags=tuple(_tags(stretches, kind, by_sowing=by_sowing)),
    )


def _end(stretches: Iterable[Stretch]) -> int:
    """Return how many rows some stretches take up."""
    return max((ceil(stretch.top + stretch.height - 1e-9) for stretch in stretches), default=0)


def _seedlings(batch: Batch) -> Stretch:
    """Return a batch's cells in the nursery, in no row yet."""
    moved = batch.transplant_on or batch.sow_on
    return Stretch(batch, batch.sow_on, max(moved, batch.sow_on), batch.cells, 0.0, 1.0)


def _site_by_site(uses: Iterable[SiteUse], by_id: dict[str, Batch]) -> Iterator[Stretch]:
    """Put neighbouring sites that one batch holds over the same days into one stretch."""

    def alike(use: SiteUse) -> tuple[date, str, date, tuple[date, ...], bool]:
        return use.held_from, use.batch, use.held_until, use.cuts, not use.planted

    ordered = sorted(uses, key=lambda use: (*alike(use), use.site))
    for (first, name, until, cuts, empty), group in groupby(ordered, key=alike):
        for _, run in groupby(enumerate(group), key=lambda item: item[1].site - item[0]):
            sites = [use.site for _, use in run]
            top, count = float(sites[0] - 1), len(sites)
            yield Stretch(by_id[name], first, until + NEXT_DAY, count, top, float(count), cuts, empty)


def _by_batch(uses: Iterable[SiteUse]) -> list[tuple[str, list[SiteUse]]]:
    return [
        (name, list(group))
        for name, group in groupby(sorted(uses, key=lambda use: use.batch), key=lambda use: use.batch)
    ]


def _standing(batch: Batch, uses: Sequence[SiteUse]) -> Stretch:
    """Return all of a batch's sites in a bed as one stretch, in no row yet."""
    return Stretch(
        batch=batch,
        first=min(use.held_from for use in uses),
        after=max(use.held_until for use in uses) + NEXT_DAY,
        count=sum(use.planted for use in uses),
        top=0.0,
        height=1.0,
        cuts=tuple(sorted({cut for use in uses for cut in use.cuts})),
    )


def _shared(stretches: Iterable[Stretch], order: Mapping[str, int]) -> list[Stretch]:
    """Return stretches in rows of one sowing each, in as few rows as there are sowings at once.

    Of the rows that are free, a sowing takes the one that its crop was in last; rows are in the order of the
    crops that are first in them.
    """

    def sowing(stretch: Stretch) -> tuple[date, int, date]:
        return stretch.first, order[stretch.batch.crop], stretch.batch.sow_on

    ordered = sorted(stretches, key=lambda one: (*sowing(one), one.after, one.batch.id))
    rows: list[list[Sequence[Stretch]]] = []
    for _, group in groupby(ordered, key=sowing):
        for together in _evenly(list(group)):
            first, crop = together[0].first, together[0].batch.crop
            free = [row for row in rows if max(one.after for one in row[-1]) <= first]
            row = next((row for row in free if row[-1][0].batch.crop == crop), free[0] if free else None)
            if row is None:
                rows.append([together])
            else:
                row.append(together)
    rows.sort(key=lambda row: order[row[0][0].batch.crop])
    return [
        replace(stretch, top=number + part / len(together), height=1 / len(together))
        for number, row in enumerate(rows)
        for together in row
        for part, stretch in enumerate(together)
    ]


def _evenly(stretches: Sequence[Stretch]) -> Iterator[Sequence[Stretch]]:
    """Cut a sowing of very many batches into parts that can share a row, as alike in size as can be."""
    size = ceil(len(stretches) / ceil(len(stretches) / MOST_TOGETHER))
    for start in range(0, len(stretches), size):
        yield stretches[start : start + size]


def days_of(stretch: Stretch, kind: str) -> tuple[date, date, date, date]:
    """Return the days on which a stretch is sown or planted, up, ready and gone."""
    batch = stretch.batch
    if kind == "nursery":
        return stretch.first, batch.emerge_on, stretch.after, stretch.after
    up = batch.emerge_on if batch.transplant_on is None else stretch.first
    return stretch.first, up, batch.ready_from, stretch.after


def _tags(
    stretches: Sequence[Stretch], kind: Literal["bed", "nursery"], *, by_sowing: bool
) -> Iterator[BarText]:
    """Return a tag for each stretch with plants; for those that share a row, one for all of them."""
    planted = [stretch for stretch in stretches if not stretch.empty]
    together = (
        [
            list(group)
            for _, group in groupby(planted, key=lambda one: (int(one.top + 1e-9), one.first, one.batch.crop))
        ]
        if by_sowing
        else [[stretch] for stretch in planted]
    )
    for group in together:
        first, after = group[0].first, max(stretch.after for stretch in group)
        up = max(first, min(days_of(stretch, kind)[1] for stretch in group))
        free = min((cut for stretch in group for cut in stretch.cuts), default=after)
        yield BarText(
            crop=group[0].batch.crop,
            count=sum(stretch.count for stretch in group),
            first=first,
            up=min(up, after),
            free=min(max(free, up), after),
            after=after,
            top=group[0].top,
            height=sum(stretch.height for stretch in group),
        )
