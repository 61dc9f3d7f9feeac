"""Planning again and the week that follows, by the commands."""

import csv
import json
from datetime import date

import pytest
from replanned_space import BASIL, NURSERY, START, days, noted, text
from typer.testing import CliRunner

from cropcal.cli.main import app
from cropcal.planning.planner import plan
from cropcal.planning.schedule.jobs import (
    noted_jobs,
    overdue,
    remaining_jobs,
    used_up_batches,
)
from cropcal.reading.plan_json import read_plan
from cropcal.records.plan import Job


def run(*words):
    done = CliRunner().invoke(app, [str(word) for word in words])
    assert done.exit_code in (0, 1), done.output
    return done.output


def batches(folder):
    plan, problems = read_plan(folder / "plan" / "plan.json")
    assert problems == []
    assert plan.sites
    return plan.batches


@pytest.mark.deep
def test_the_whole_command_goes_by_the_journal(tmp_path, monkeypatch):
    """plan, log, plan: the loss and its cure are reported; a day later nothing more has changed.

    It is noted in the first week, while what is sown in its place still serves weeks that fall short.
    """
    (tmp_path / "space.toml").write_text(text(**BASIL), encoding="utf-8")
    run("plan", tmp_path, "--on", "2027-01-04")
    made = batches(tmp_path)
    monkeypatch.setattr("cropcal.season.clock.today", lambda: date(2027, 1, 7))
    lost = made[0]
    run("log", tmp_path, "lost", lost.id, f"{lost.sites} sites", "--on", "2027-01-06", "--why", "mice")
    told = run("plan", tmp_path, "--on", "2027-01-07", "--all")
    assert "What changed since the last plan" in told
    assert f"{lost.id} Basil: " in told
    assert "lost (mice)" in told
    form = json.loads((tmp_path / "plan" / "plan.json").read_text(encoding="utf-8"))
    changes = {row["what"] for row in form["again"]["changes"]}
    assert "lost" in changes
    assert changes - {"lost"}  # and what is done about it
    assert "nothing: everything stays as planned." in run("plan", tmp_path, "--on", "2027-01-08")
    with (tmp_path / "plan" / "sowings.csv").open(encoding="utf-8") as file:
        rows = {row["batch"]: row for row in csv.DictReader(file)}
    assert float(rows[lost.id]["amount"]) == 0


def test_a_journal_with_mistakes_is_refused(tmp_path):
    """Half of what happened would make a wrong plan."""
    (tmp_path / "space.toml").write_text(text(), encoding="utf-8")
    (tmp_path / "journal.csv").write_text("day,happened\n2027-01-08,sown\n", encoding="utf-8")
    done = CliRunner().invoke(app, ["plan", str(tmp_path), "--on", "2027-01-20"])
    assert done.exit_code == 2
    assert "journal.csv:1: " in done.stderr


def test_outside_its_weeks_a_plan_is_made_as_the_first(tmp_path):
    """Planned twice before it begins, it is the same to the byte but for the seconds it took."""
    (tmp_path / "space.toml").write_text(text(), encoding="utf-8")
    forms = []
    for _ in range(2):
        run("plan", tmp_path, "--on", "2026-12-30")
        form = json.loads((tmp_path / "plan" / "plan.json").read_text(encoding="utf-8"))
        form["outcome"].pop("seconds")
        forms.append(form)
    assert forms[0] == forms[1]
    assert "again" not in forms[0]


def test_what_was_sown_before_the_plan_begins_is_gone_on_with(tmp_path, monkeypatch):
    """Planned on the Friday before, two seedlings stand: they get sites and a day of cutting.

    A harvest of last season is no part of the new plan, but nothing new gets its id.
    """
    (tmp_path / "space.toml").write_text(text(more=NURSERY), encoding="utf-8")
    monkeypatch.setattr("cropcal.season.clock.today", lambda: date(2027, 1, 1))
    run("log", tmp_path, "sown", "lettuce-butterhead", "2", "--bed", "saucer", "--on", "2026-12-21")
    with (tmp_path / "journal.csv").open("a", encoding="utf-8", newline="") as file:
        for day, event, amount, unit in (("01-04", "sown", 2, "cells"), ("03-01", "harvested", 2, "heads")):
            row = {"on": f"2026-{day}", "event": event, "batch": "0104a", "crop": "lettuce-butterhead"}
            row |= {"bed": "saucer", "amount": amount, "unit": unit}
            names = (
                "on,event,batch,crop,bed,zone,sites,amount,unit,weight_g,cut,early,what,from,until,why,note"
            )
            cells = [str(row.get(name, "")) for name in f"{names},sure,written_at,corrects,id".split(",")]
            file.write(",".join(cells) + "\r\n")
    told = run("plan", tmp_path, "--on", "2027-01-01")
    made = {batch.id: batch for batch in batches(tmp_path)}
    assert [(name, batch.sites, batch.amount) for name, batch in made.items() if name[0] == "x"] == [
        ("x1221a", 2, 2.0)
    ]
    assert ": new, sow" not in told
    assert "0104a" not in made
    assert made["0104b"].sow_on == START
    again = run("plan", tmp_path, "--on", "2027-01-02")
    assert "nothing: everything stays as planned." in again


def test_the_week_begins_with_what_is_overdue(tmp_path, monkeypatch):
    """One sowing noted, the next not: it is asked about a week later, until it is noted or lost."""
    (tmp_path / "space.toml").write_text(text(), encoding="utf-8")
    run("plan", tmp_path, "--on", "2027-01-04")
    first, second = batches(tmp_path)[:2]
    assert "Overdue" not in run("week", tmp_path, "--on", "2027-01-20")
    monkeypatch.setattr("cropcal.season.clock.today", lambda: date(2027, 1, 19))
    run("log", tmp_path, "sown", first.id, "--on", first.sow_on)
    told = run("week", tmp_path, "--on", "2027-01-20")
    assert f"was due Mon {second.sow_on.day} Jan" in told
    assert told.index("Overdue") < told.index("[ ]")
    assert told.count("was due") == 1
    run("log", tmp_path, "lost", second.id, "1 site", "--on", "2027-01-19")
    told = run("week", tmp_path, "--on", "2027-01-20")
    assert told.count("was due") == (1 if second.sites > 1 else 0)
    run("log", tmp_path, "sown", second.id, "--on", second.sow_on)
    assert "Overdue" not in run("week", tmp_path, "--on", "2027-01-20")


def test_a_part_that_was_lost_is_no_job_done(read_text, tables):
    """Of some seedlings one was lost: the others are still to be moved; if all were, nothing is."""
    space = read_text(text(sites=30, per_week=5, more=NURSERY))
    batch = max(plan(space, tables).batches, key=lambda one: one.sites)
    assert batch.sites == batch.cells > 1
    moving = Job(
        on=batch.transplant_on, job="transplant", batch=batch.id, crop=batch.crop, bed=batch.bed,
        sites=f"1-{batch.sites}", amount=float(batch.sites), unit="sites", note="",
    )  # fmt: skip
    later = batch.transplant_on + days(8)
    sown = noted("sown", batch, batch.sow_on)
    for amount, due in ((1.0, 1), (None, 0)):
        lines = [sown, noted("lost", batch, batch.transplant_on - days(2), amount=amount)]
        gone = used_up_batches([batch], lines, frozenset({"saucer"}), tables.crops)
        left = [job for job in [moving] if job.batch not in gone]
        assert len(overdue(left, lines, later)) == due


def test_what_was_cut_is_still_to_be_cleared(read_text, tables):
    """Of leaves cut for the last time the roots are to come out; of what was lost nothing is left."""
    space = read_text(text(**BASIL))
    made = plan(space, tables)
    batch = made.batches[0]
    mine = [job for job in made.jobs if job.batch == batch.id]
    sown, end = noted("sown", batch, batch.sow_on), batch.harvests[-1].on
    for event, more, left in (
        ("harvested", {"amount": 60.0, "unit": "g", "cut": "whole"}, ["sow", "cut", "clear"]),
        ("lost", {}, ["sow"]),
    ):
        events = [sown, noted(event, batch, end, **more)]
        gone = used_up_batches([batch], events, frozenset(), tables.crops)
        assert gone == {batch.id}
        kept_jobs = remaining_jobs(mine, noted_jobs(mine, events), gone)
        assert list(dict.fromkeys(job.job for job in kept_jobs)) == left


def test_the_week_ticks_what_was_noted(tmp_path, monkeypatch):
    """Noted on its day, a job stays in the list with a cross; ids stay those of the plan that was written."""
    (tmp_path / "space.toml").write_text(text(), encoding="utf-8")
    run("plan", tmp_path, "--on", "2027-01-04")
    first = batches(tmp_path)[0]
    before = run("week", tmp_path, "--on", first.sow_on)
    assert f"[ ] {first.id}" in before
    monkeypatch.setattr("cropcal.season.clock.today", lambda: first.sow_on)
    run("log", tmp_path, "sown", first.id)
    after = run("week", tmp_path, "--on", first.sow_on)
    assert f"[x] {first.id}" in after
    assert f"log sown {first.id}" not in " ".join(after.split())


def test_after_its_end_the_week_says_so(tmp_path):
    """The last job lies in April; in June there is nothing to tick, but what to do next."""
    (tmp_path / "space.toml").write_text(text(), encoding="utf-8")
    run("plan", tmp_path, "--on", "2027-01-04")
    told = run("week", tmp_path, "--on", "2027-06-15")
    assert "This plan ended on" in told
    assert "cropcal plan" in " ".join(told.split())
