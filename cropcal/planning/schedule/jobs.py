"""The jobs of a plan: what to do on which day for its batches and chores."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date, timedelta
from typing import Literal

from cropcal.letters import NTH
from cropcal.planning.candidates.work_calendar import WorkCalendar
from cropcal.planning.growth.crop_constants import expected_stand
from cropcal.planning.history.batch_history import batch_histories
from cropcal.planning.schedule.set_aside import Cut, Eating
from cropcal.records.crop import Crop, CropTables
from cropcal.records.hazard import FOOD_GRADE
from cropcal.records.journal import PLANT_EVENTS, Entry
from cropcal.records.plan import Batch, Job, SiteUse
from cropcal.records.space import Chore

ORDER = {"cut": 0, "clear": 1, "thin": 2, "transplant": 3, "plant": 4, "sow": 5, "chore": 6, "check": 7}
"""Cutting comes first in a day: it frees the sites that are planted next."""

TRUE_LEAVES_D = 7
"""Days from emergence until the first true leaves show, when seedlings are thinned (common practice)."""

CLEAN = "wash hands, knife and bowl first"


def jobs(
    batches: tuple[Batch, ...],
    sites: tuple[SiteUse, ...],
    chores: tuple[Chore, ...],
    tables: CropTables,
    time: WorkCalendar,
    air_c: Mapping[str, float] | None = None,
    eating: Mapping[Cut, Eating] | None = None,
) -> tuple[Job, ...]:
    """Return all jobs of some batches since the season's first day, and of chores in the calendar's weeks.

    They are in the order in which they are done.

    Parameters
    ----------
    batches, sites
        The batches of the plan, and the sites they hold.
    chores
        Jobs that recur whatever grows.
    tables
        The crops.
    time
        The work calendar.
    air_c
        Mean air of each bed, by its name [C]; where it is not known the crop's legal minimum of germination
        counts.
    eating
        By when to eat each cut, and what to keep of it; None: nobody knows.
    """
    held: dict[str, list[SiteUse]] = defaultdict(list)
    for use in sites:
        held[use.batch].append(use)
    all_jobs: list[Job] = []
    for batch in batches:
        crop = tables.crops[batch.crop]
        if batch.plug_age_d is None:
            start_c = (air_c or {}).get(batch.nursery or batch.bed)
            stand = crop.germination_min if start_c is None else expected_stand(crop, tables, start_c)
            all_jobs.append(_sow(batch, crop, held[batch.id]))
            all_jobs += _thin(batch, crop, held[batch.id], stand, time)
        else:
            all_jobs.append(_plant(batch, held[batch.id]))
        if batch.transplant_on is not None:
            all_jobs += _transplants(batch, held[batch.id])
        all_jobs += _cuts(batch, crop, held[batch.id], eating or {})
    season = time.since_the_first_day
    all_jobs += [job for job in chores_due(chores, season) if job.on >= time.start]
    all_jobs = [job for job in all_jobs if job.on >= season.start]
    return tuple(sorted(all_jobs, key=lambda job: (job.on, ORDER[job.job], job.crop, job.bed, job.batch)))


NOTED_AS = {"sow": "sown", "plant": "sown", "transplant": "transplanted", "cut": "harvested"}
OVERDUE_D = 14
"""Days after which a job that nobody noted is no longer asked about (assumed)."""


def used_up_batches(
    batches: Iterable[Batch], events: Iterable[Entry], nurseries: frozenset[str], crops: Mapping[str, Crop]
) -> frozenset[str]:
    """Return the ids of batches that were wholly lost or cut, by the journal."""
    histories = batch_histories(events, {batch.id: batch for batch in batches}, nurseries, crops)
    return frozenset(history.batch for history in histories if history.noted and history.left == 0)


def noted_jobs(jobs: Iterable[Job], events: Iterable[Entry]) -> tuple[Job, ...]:
    """Return the jobs that were noted: the batch has that event near its day or since, or a later stage."""
    stages = list(dict.fromkeys(NOTED_AS.values()))
    entries_of: dict[str, list[Entry]] = defaultdict(list)
    for event in events:
        if event.event in stages:
            entries_of[event.batch].append(event)

    def is_noted(job: Job) -> bool:
        if job.job not in NOTED_AS:
            return False
        stage, near = stages.index(NOTED_AS[job.job]), job.on - timedelta(days=EARLY_D)
        return any(
            stages.index(event.event) > stage
            or (event.event == NOTED_AS[job.job] and (job.job != "cut" or event.on >= near))
            for event in entries_of[job.batch]
        )

    return tuple(job for job in jobs if is_noted(job))


def remaining_jobs(jobs: Iterable[Job], done: Collection[Job], gone: Collection[str]) -> tuple[Job, ...]:
    """Return the jobs without those of used-up batches; a batch that was cut is still cleared."""
    cut = {job.batch for job in done if job.job == "cut"}
    return tuple(
        job
        for job in jobs
        if job.batch not in gone or job in done or (job.job == "clear" and job.batch in cut)
    )


def overdue(jobs: Sequence[Job], events: Iterable[Entry], on: date) -> tuple[Job, ...]:
    """Return the jobs of the two weeks before this one that were not noted.

    Without any note of plants nothing is overdue: the grower may not keep notes.
    """
    noted = [event for event in events if event.event in PLANT_EVENTS and event.on <= on]
    if not noted:
        return ()
    monday = on - timedelta(days=on.weekday())
    first = max(min(event.on for event in noted), on - timedelta(days=OVERDUE_D))
    done = noted_jobs(jobs, noted)
    return tuple(job for job in jobs if job.job in NOTED_AS and first <= job.on < monday and job not in done)


EARLY_D = 6
"""A cut noted at most these days before its planned day is that cut (assumed)."""


def _sow(batch: Batch, crop: Crop, held: list[SiteUse]) -> Job:
    if batch.nursery is not None:
        amount, unit, bed, where = batch.cells, "cells", batch.nursery, ""
    else:
        amount, bed, where = batch.sites, batch.bed, _numbers(held)
        unit = "trays" if crop.kind in ("tray", "shoots") else "sites"
    return Job(
        on=batch.sow_on,
        job="sow",
        batch=batch.id,
        crop=batch.crop,
        bed=bed,
        sites=where,
        amount=float(amount),
        unit=unit,
        note=_seed_note(batch, crop) if batch.nursery else _spaced(batch, held, _seed_note(batch, crop)),
    )


def _plant(batch: Batch, held: list[SiteUse]) -> Job:
    return Job(
        on=batch.sow_on,
        job="plant",
        batch=batch.id,
        crop=batch.crop,
        bed=batch.bed,
        sites=_numbers(held),
        amount=float(batch.sites),
        unit="sites",
        note=_spaced(batch, held, f"bought young plants, about {batch.plug_age_d} days old"),
    )


def _seed_note(batch: Batch, crop: Crop) -> str:
    if not batch.seeds:
        return "outside the plan"
    grams = batch.seeds * crop.seed_g_per_1000 / 1000
    weight = f"{grams:.1f} g" if grams < 10 else f"{grams:.0f} g"
    seed = FOOD_GRADE if crop.is_seedling else "seed"
    if crop.kind == "shoots":
        return f"about {weight} of {seed}; rinse it well"
    if crop.kind == "tray":
        return f"about {weight} of {seed}, sown all over"
    each = batch.seeds // max(batch.cells, batch.sites, 1)
    if each > crop.plants_per_site:
        return f"{each} seeds each; {_best(crop)}"
    return f"{each} seed{'s' if each > 1 else ''} each"


def _best(crop: Crop) -> str:
    count = crop.plants_per_site
    return "keep the best one of each" if count == 1 else f"keep the best {count} of each"


def _thin(batch: Batch, crop: Crop, held: list[SiteUse], stand: float, time: WorkCalendar) -> list[Job]:
    """Return the thinning of a batch, if more seedlings are expected in a place than plants are to stand.

    It is done on the first work day on which true leaves should show, at the latest when the batch is
    planted out, for that is the last time the seedlings are handled; not at all if it is cut before.
    """
    if (
        crop.kind in ("tray", "shoots")
        or batch.seeds // max(batch.cells, batch.sites, 1) * stand <= crop.plants_per_site
    ):
        return []
    due = time.day_of(batch.emerge_on) + TRUE_LEAVES_D
    days = time.work_days[time.work_days >= due]
    last = batch.transplant_on or batch.clear_on
    if batch.transplant_on is None and (not len(days) or time.date_of(days[0]) >= last):
        return []
    return [
        Job(
            on=min(time.date_of(days[0]), last) if len(days) else last,
            job="thin",
            batch=batch.id,
            crop=batch.crop,
            bed=batch.nursery or batch.bed,
            sites="" if batch.nursery else _numbers(held),
            amount=float(batch.cells if batch.nursery else batch.sites),
            unit="cells" if batch.nursery else "sites",
            note=f"{_best(crop)}, snip off the others, do not pull",
        )
    ]


def _transplants(batch: Batch, held: list[SiteUse]) -> list[Job]:
    """Return the transplanting jobs: one on the planned day, and one for each later day a site gets free."""
    later = sorted({use.held_from for use in held if use.held_from > batch.planted_on})
    waiting = [(day, [use for use in held if use.held_from == day]) for day in later]
    now = [use for use in held if use.held_from <= batch.planted_on]
    count = batch.sites - sum(_planted(uses) for _, uses in waiting)
    return [
        _on_sites(batch, "transplant", on, uses, number, _spaced(batch, uses, f"from {batch.nursery}"))
        for on, uses, number in [
            (batch.planted_on, now, count),
            *((day, uses, _planted(uses)) for day, uses in waiting),
        ]
        if number > 0
    ]


def _cuts(batch: Batch, crop: Crop, held: list[SiteUse], eating: Mapping[Cut, Eating]) -> list[Job]:
    """Return one job a day of cutting, and one for clearing where roots stay behind."""
    cut_jobs = []
    for harvest in batch.harvests:
        uses = [use for use in held if use.cuts[harvest.cut - 1 : harvest.cut] == (harvest.on,)]
        eat = eating.get((batch.id, harvest.on, harvest.cut), Eating(None, ""))
        how = _cut_note(harvest.cut, crop, [use.held_until == harvest.on for use in uses])
        if batch.cut_at_g is not None:
            how = f"at {batch.cut_at_g:g} g a plant; {how}" if how else f"at {batch.cut_at_g:g} g a plant"
        cut_jobs.append(
            Job(
                on=harvest.on,
                job="cut",
                batch=batch.id,
                crop=batch.crop,
                bed=batch.bed,
                sites=_numbers(uses),
                amount=harvest.amount,
                unit=batch.unit,
                note=f"{eat.note}; {how}" if eat.note else how,
                eat_by=eat.by,
            )
        )
    if crop.unit != "heads":
        cut_jobs += [
            _on_sites(batch, "clear", end, uses, _planted(uses), "pull out the roots, wash the site")
            for end, uses in _ends(held)
        ]
    return cut_jobs


def _on_sites(
    batch: Batch, job: Literal["transplant", "clear"], on: date, uses: list[SiteUse], number: int, note: str
) -> Job:
    """Return a job that is counted in sites of the batch's bed."""
    return Job(
        on=on,
        job=job,
        batch=batch.id,
        crop=batch.crop,
        bed=batch.bed,
        sites=_numbers(uses),
        amount=float(number),
        unit="sites",
        note=note,
    )


def _planted(uses: list[SiteUse]) -> int:
    """Return how many of the sites have a plant."""
    return sum(use.planted for use in uses)


def _ends(held: list[SiteUse]) -> list[tuple[date, list[SiteUse]]]:
    """Return (day, sites cleared on it) by day."""
    ends = sorted({use.held_until for use in held})
    return [(end, [use for use in held if use.held_until == end]) for end in ends]


def _cut_note(cut: int, crop: Crop, last: list[bool]) -> str:
    """Return how to cut: whole, or so that it grows again."""
    if crop.cuts_max == 1:
        return CLEAN
    if all(last):
        return f"last cut, take all; {CLEAN}"
    leave = "leave enough to grow again" if crop.kind == "shoots" else "leave the growing tips"
    return f"cut {cut}, {leave}{' where it stays' if any(last) else ''}; {CLEAN}"


def chores_due(chores: tuple[Chore, ...], time: WorkCalendar) -> list[Job]:
    """Return each chore on the first work day on or after it falls due, counted from the last time done.

    One for any day falls due on its own days, work days or not, and is left out while nobody is there.
    """
    chore_jobs = []
    for chore in chores:
        if chore.any_day:
            days = range(chore.every_days, time.days, chore.every_days)
            chore_jobs += [_chore(chore, time.date_of(day)) for day in days if not time.in_break[day]]
            continue
        due = chore.every_days
        while True:
            later = time.work_days[time.work_days >= due]
            if not len(later):
                break
            day = int(later[0])
            chore_jobs.append(_chore(chore, time.date_of(day)))
            due = day + chore.every_days
    return chore_jobs


def _chore(chore: Chore, on: date) -> Job:
    return Job(
        on=on,
        job="check" if chore.any_day else "chore",
        batch="",
        crop="",
        bed="",
        sites="",
        amount=None,
        unit="",
        note=chore.name,
    )


def _numbers(uses: list[SiteUse]) -> str:
    """Return the numbers of planted sites as runs: 1-4, 7."""
    return _runs({use.site for use in uses if use.planted})


def _spaced(batch: Batch, uses: list[SiteUse], note: str) -> str:
    """Return a note with a phrase on the sites that stay empty, if any do: every second site of 1-8."""
    empty = {use.site for use in uses if not use.planted}
    if not empty:
        return note
    if len(uses) - len(empty) > 1:
        sites = _runs({use.site for use in uses})
        spacing = f"every {NTH[batch.sites_each]} site of {sites}, the others stay empty"
    else:
        spacing = f"{_runs(empty)} beside it stay{'s' if len(empty) == 1 else ''} empty"
    return f"{spacing}; {note}" if note else spacing


def _runs(sites: set[int]) -> str:
    numbers = sorted(sites)
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(str(run[0]) if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs)
