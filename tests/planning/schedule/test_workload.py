"""Minutes of work a day: what a job takes, what is put off, what is said; a year of a school rack."""

from datetime import date, timedelta
from pathlib import Path

import pytest
import small_space
from typer.testing import CliRunner

from cropcal.cli.main import app
from cropcal.planning.planner import plan
from cropcal.planning.schedule.workload import (
    chore_minutes,
    in_time,
    minutes_by_day,
    minutes_of,
    too_long,
)
from cropcal.reading.plan_json import read_plan
from cropcal.reading.space.read import read_space
from cropcal.records.plan import Job
from cropcal.records.space import Chore

RACK = Path(__file__).resolve().parents[2] / "spaces" / "work" / "corridor-rack.toml"
DAY = date(2027, 3, 2)
DAYS = [DAY + timedelta(days=after) for after in (0, 3, 7, 10)]


def job(kind, on=DAY, sites="", amount=None, unit="", note=""):
    batch = "" if kind in ("chore", "check") else "0302a"
    return Job(
        on=on, job=kind, batch=batch, crop="basil" if batch else "", bed="row", sites=sites, amount=amount,
        unit=unit, note=note,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("one", "minutes"),
    [
        (job("sow", amount=12.0, unit="cells"), 6.0),
        (job("transplant", sites="1-4, 7", amount=5.0, unit="sites"), 5.0),
        (job("cut", sites="1-3", amount=80.0, unit="g"), 3.0),
        (job("cut", sites="2", amount=1.0, unit="heads"), 1.0),
        (job("thin", amount=8.0, unit="cells"), 2.0),
        (job("clear", sites="1-3", amount=3.0, unit="sites"), 0.0),
        (job("chore", note="rinse"), 25.0),
        (job("chore", note="pump"), 10.0),
        (job("chore", note="lamp off"), 0.0),
        (job("check", note="water"), 0.0),
    ],
)
def test_minutes_of_a_job(one, minutes):
    """By the sites or cells that it has; chores as the file says, or ten; a timer takes none."""
    chores = chore_minutes([Chore(name="rinse", every_days=7, minutes=25), Chore(name="pump", every_days=7)])
    assert minutes_of(one, chores) == minutes


def limited(read_text, minutes, more=""):
    text = small_space.text(weeks=8, more=more)
    return read_text(text.replace("[plan]", f"[plan]\nmost_minutes_a_day = {minutes}"))


def test_a_chore_waits_for_a_day_with_time_and_a_cut_does_not(read_text):
    """30 minutes of cutting fill a day of 30; the day after has room for ten. What is too long is named."""
    space = limited(read_text, 30, '[[chore]]\nname = "rinse"\nevery_days = 7\n')
    cut = job("cut", sites="1-28", amount=28.0, unit="heads")
    space = space.model_copy(update={"settings": space.settings.model_copy(update={"start": DAY})})
    jobs, said = in_time([cut, job("chore", note="rinse")], space, [], DAYS)
    assert [(one.job, one.on) for one in jobs] == [("cut", DAY), ("chore", DAYS[1])]
    assert said == ()
    longer = job("cut", sites="1-45", amount=45.0, unit="heads")
    jobs, (line,) = in_time([longer, job("thin", amount=8.0, unit="cells")], space, [], DAYS)
    assert minutes_by_day(jobs, {}) == {DAY: 45.0, DAYS[1]: 2.0}
    assert line.startswith(
        "more work than 30 minutes (minutes a plant assumed) on 1 day, for it cannot wait: "
    )
    assert "2 Mar 45 min (45 of them to cut)" in line
    assert too_long(jobs, {}, 45.0) == ()


def with_limit(space, minutes):
    settings = space.settings.model_copy(update={"most_minutes_a_day": minutes})
    return space.model_copy(update={"settings": settings})


def longest_days(made, space):
    """Return the minutes of each day of the plan, longest first, counted from its jobs."""
    minutes = minutes_by_day(made.jobs, chore_minutes(space.chores))
    return sorted((taken for day, taken in minutes.items() if day <= made.work_days[-1]), reverse=True)


@pytest.mark.deep
@pytest.mark.parametrize("most", [40.0])
def test_a_year_of_a_school_rack_has_no_day_beyond_the_cap(tables, most):
    """Without a cap ten days and more are longer, one over an hour; with it none, at a cost in short weeks.

    That cost is measured with the same drawn seasons, in which the grower keeps to the cap: less than five of
    107 want-weeks.
    """
    space, problems = read_space(RACK, tables, today=date(2026, 12, 20))
    assert problems == []
    free, capped = plan(space, tables), plan(with_limit(space, most), tables)
    assert longest_days(free, space)[0] > 60
    assert longest_days(free, space)[5] > most
    assert longest_days(capped, space)[0] <= most
    assert not any("more work than" in line for line in capped.warnings)
    assert any(item.key == "minutes of work" for item in capped.assumptions)
    assert -0.5 <= capped.expected.short_want_weeks - free.expected.short_want_weeks < 5


def test_a_small_plan_keeps_to_the_cap_or_says_where_it_cannot(read_text, tables):
    """Fourteen weeks of a few sites: shorter days, or a sentence that names those that are not."""
    space = read_text(small_space.text(weeks=14, sites=40, per_week=18))
    free, capped = plan(space, tables), plan(with_limit(space, 5.0), tables)
    assert longest_days(free, space)[0] > 8.0
    assert longest_days(capped, space)[0] < longest_days(free, space)[0]
    too_long_days = [taken for taken in longest_days(capped, space) if taken >= 6.0]
    assert bool(too_long_days) == any("more work than 5 minutes" in line for line in capped.warnings)


@pytest.mark.deep
def test_planned_again_the_cap_holds_for_what_stands_too(tmp_path, monkeypatch):
    """Through the command: planned, the first sowings noted, planned again six weeks later."""
    text = small_space.text(weeks=14, sites=40, per_week=18)
    (tmp_path / "space.toml").write_text(
        text.replace("[plan]", "[plan]\nmost_minutes_a_day = 7"), encoding="utf-8"
    )
    file, again = tmp_path / "plan" / "plan.json", date(2027, 2, 15)

    def run(day, *words):
        monkeypatch.setattr("cropcal.season.clock.today", lambda: day)
        done = CliRunner().invoke(app, [*words, str(tmp_path)])
        assert done.exit_code in (0, 1), done.output
        return done.output

    run(date(2026, 12, 30), "plan")
    for batch in read_plan(file)[0].batches:
        if batch.sow_on <= date(2027, 1, 20):
            noted = ["log", str(tmp_path), "sown", batch.id, "--on", batch.sow_on.isoformat()]
            monkeypatch.setattr("cropcal.season.clock.today", lambda on=batch.sow_on: on)
            assert CliRunner().invoke(app, noted).exit_code == 0
    shown = run(again, "plan", "--all")
    written = read_plan(file)[0]
    assert any(batch.sow_on < again for batch in written.batches)
    minutes = minutes_by_day((job for job in written.jobs if job.on >= again), {})
    assert 0 < max(minutes.values()) < 8 or "more work than 7 minutes" in " ".join(shown.split())
