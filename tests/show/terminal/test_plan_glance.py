"""The plan at a glance says so where jobs are left out for want of room."""

import pytest

from cropcal.show.glance import plan
from cropcal.show.wording import by_day


@pytest.mark.parametrize("lines", range(12, 26, 2))
def test_no_job_is_left_out_in_silence(small_plan, names, monkeypatch, lines):
    """With fewer lines the jobs that are not shown are counted as more; cost and warning stay."""
    day = min(job.on for job in small_plan.jobs)
    (job, *_) = (job for job in small_plan.jobs if job.on == day)
    many = tuple(job.model_copy(update={"crop": f"crop-{number}"}) for number in range(6))
    full = small_plan.model_copy(update={"jobs": (*many, *small_plan.jobs)})
    monkeypatch.setattr(plan, "LINES", lines)
    shown = plan.glance(full, names, "cropcal plan x --all", "cropcal week x")
    first_days = [job for jobs in list(by_day(full.jobs).values())[:2] for job in jobs]
    left_out = [job for job in first_days if names.get(job.crop, job.crop) not in " ".join(shown.split())]
    assert not left_out or "more" in shown.split("To do")[1]
    assert "Watch out" in shown
    assert shown.rstrip().endswith("Next, type: cropcal week x")
    assert len(shown.rstrip().split("\n")) <= max(lines, 20)
