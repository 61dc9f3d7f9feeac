"""Batches and jobs without what drawn seasons tell: ranges narrow from day to day as more is known."""


def batches_untold(batches):
    """Return batches without the ranges of their days and yields."""
    return tuple(
        batch.model_copy(
            update={
                "moved_80": None,
                # a sowing in one bed is one batch: planned again, it may have other sites, of other light
                "ready_from_low_80": None,
                "ready_from_high_80": None,
                "harvests": tuple(
                    cut.model_copy(update={"amount_low_80": 0.0, "amount_high_80": 0.0, "on_80": None})
                    for cut in batch.harvests
                ),
            }
        )
        for batch in batches
    )


def jobs_untold(jobs):
    """Return jobs without the days between which they are likely, and the last on which to cut."""
    return tuple(
        job.model_copy(update={"likely": None, "note": job.note.partition("; cut all by")[0]}) for job in jobs
    )
