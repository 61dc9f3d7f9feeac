"""Sowings that are one job to the hands: one crop, one nursery, one day, for however many batches."""

from collections.abc import Collection, Mapping, Sequence

from cropcal.records.plan import Batch, Job
from cropcal.show import text
from cropcal.show.wording import line


def sown_together(jobs: Sequence[Job], done: Collection[Job] = ()) -> list[list[Job]]:
    """Return the jobs of one day, those together that sow one crop into one nursery in one way.

    ``done``: the jobs that are noted as done; they stay apart from the others.
    """
    together: dict[tuple[object, ...], list[Job]] = {}
    for job in jobs:
        same = (job.crop, job.bed, job.note, job in done) if job.unit == "cells" and job.job == "sow" else ()
        together.setdefault(same or (job.job, job.batch, job.sites, job.note), []).append(job)
    return list(together.values())


def as_one(jobs: Sequence[Job], bed_of: Mapping[str, str]) -> tuple[Job, str]:
    """Return several sowings as one job of all their batches, and for which beds how many cells are.

    ``bed_of``: id of a batch -> the bed that it is for.
    """
    if len(jobs) == 1:
        return jobs[0], ""
    cells: dict[str, float] = {}
    for job in jobs:
        bed = bed_of.get(job.batch, "")
        cells[bed] = cells.get(bed, 0.0) + (job.amount or 0.0)
    whole = {"batch": " ".join(job.batch for job in jobs), "amount": sum(cells.values())}
    parts = [f"{count:g} for {text.clean(bed)}" for bed, count in cells.items() if bed]
    return jobs[0].model_copy(update=whole), ", ".join(parts) if len(parts) > 1 else ""


def job_lines(jobs: Sequence[Job], names: Mapping[str, str], bed_of: Mapping[str, str]) -> list[str]:
    """Return a line in full for each job of one day, one for what is sown together."""
    return [
        line(whole, names, shares)
        for whole, shares in (as_one(together, bed_of) for together in sown_together(jobs))
    ]


def beds_of(batches: Sequence[Batch]) -> dict[str, str]:
    """Return the bed that each batch is for, by its id."""
    return {batch.id: batch.bed for batch in batches}
