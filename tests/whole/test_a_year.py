"""A space lived in for longer than its plan is: planned again now and then, it never runs dry."""

import json
from datetime import date, timedelta
from itertools import pairwise
from statistics import median

import pytest
from small_space import LETTUCE, START, SpaceFolder

WEEKS = 12


@pytest.fixture
def room(tmp_path, monkeypatch):
    """Return a folder with a plan of twelve weeks for a head a week, and something besides."""
    folder = SpaceFolder(tmp_path, monkeypatch)
    folder.write(weeks=WEEKS)
    return folder


def plan(room):
    """Plan from today on and return plan.json."""
    room.run("plan", "--on", room.on, "--time-limit", 30)
    return json.loads((room.folder / "plan" / "plan.json").read_text(encoding="utf-8"))


def live_until(room, form, day):
    """Note what the plan has due up to a day: two sowings of three, each cut."""
    due = [job for job in form["jobs"] if room.on.isoformat() <= job["date"] < day.isoformat()]
    for job in due:
        room.on = date.fromisoformat(job["date"])
        if job["job"] == "sow" and int(job["batch"][:4]) % 3:
            room.run("log", "sown", job["batch"])
        elif job["job"] == "cut":
            amount = f"{max(job['amount'], 1):.0f}"
            room.run("log", "harvested", job["batch"], amount, "g" if job["crop"] == "basil" else "heads")
    room.on = day


def days_of(form, kind):
    """Return the days of one kind of job in order."""
    return [date.fromisoformat(day) for day in sorted({j["date"] for j in form["jobs"] if j["job"] == kind})]


def hold(room, days):
    """Plan at the start and on each of some days after it, and hold what a year in one piece must be."""
    forms, sown = [plan(room)], {}
    for day in days:
        now = START + timedelta(days=day)
        live_until(room, forms[-1], now)
        standing = {
            one["batch"]: one
            for one in forms[-1]["batches"]
            if one["sow_on"] < now.isoformat() <= one["clear_on"]
        }
        sown |= {name: one["sow_on"] for name, one in standing.items()}
        forms.append(plan(room))
        kept = {one["batch"]: one for one in forms[-1]["batches"]}
        assert standing.keys() <= kept.keys(), "a batch that stands lost its id"
        known = {one["batch"] for one in forms[-2]["batches"]}
        back = {name for name, one in kept.items() if one["sow_on"] < now.isoformat()} - known
        assert not back, "a batch that no plan had any more came back"
        for name, one in standing.items():
            assert kept[name]["sow_on"] == one["sow_on"]
        reached = date.fromisoformat(forms[-1]["start"]) + timedelta(weeks=forms[-1]["weeks"])
        assert now + timedelta(weeks=WEEKS) <= reached < now + timedelta(weeks=WEEKS, days=7)
        assert (reached - START).days % 7 == 0, "the borders of weeks moved"
    for form in forms:
        check(form)
    every = sorted(
        {day for form in forms[:-1] for day in days_of(form, "sow") if day < room.on}
        | {*days_of(forms[-1], "sow")}
    )
    assert len(every) > 10
    gaps = [(after - before).days for before, after in pairwise(every)]
    assert max(gaps) <= 2 * max(median(gaps), 7), every
    # a search may leave out one sowing more at the end: it serves weeks that the next plan takes up
    assert (reached - every[-1]).days <= 3 * max(median(gaps), 7), "the last weeks have no sowings"
    return forms


def check(form):
    """Hold that nothing is there twice in a plan and that every week from the first harvest on counts."""
    names = [one["batch"] for one in form["batches"]]
    assert len(names) == len({*names})
    held = sorted((use["bed"], use["site"], use["from"], use["until"]) for use in form["sites"])
    for (bed, site, _, until), (bed_2, site_2, since, _) in pairwise(held):
        assert (bed, site) != (bed_2, site_2) or until <= since
    counted = [row["counted"] for row in form["supply"] if row["want"] == LETTUCE]
    assert all(counted[counted.index(True) :])
    assert len({row["week"] for row in form["supply"]}) == form["weeks"]
    sow = [job["batch"] for job in form["jobs"] if job["job"] == "sow"]
    assert len(sow) == len({*sow})


@pytest.mark.deep
def test_a_plan_of_twelve_weeks_is_carried_on_past_its_end(room):
    """Planned again twice, the last time after its first end, sowings never stop."""
    forms = hold(room, (53, 102))
    assert not any(row["short"] for row in forms[-1]["supply"] if row["week"] > "2026-12-24")
    assert {one["crop"] for one in forms[-1]["batches"]} == {LETTUCE}


@pytest.mark.deep
@pytest.mark.searched
def test_a_year_of_plans_of_twelve_weeks(room):
    """Planned again five times over a year, on any weekday."""
    forms = hold(room, (60, 121, 199, 280, 364))
    assert len({len(form["supply"]) for form in forms[2:]}) <= 2, "plans grow with the years"


@pytest.mark.deep
def test_ids_of_the_second_year_are_not_those_of_the_first(room):
    """Two years on, a batch of a day has another id than the one that was noted on it the year before."""
    plan(room)
    noted = {}
    for weeks in range(10, 112, 10):
        form = json.loads((room.folder / "plan" / "plan.json").read_text(encoding="utf-8"))
        for one in form["batches"]:
            on = date.fromisoformat(one["sow_on"])
            if room.on <= on < START + timedelta(weeks=weeks):
                assert one["batch"] not in noted, "an id that was noted is given again"
                noted[one["batch"]] = on
        live_until(room, form, START + timedelta(weeks=weeks))
        plan(room)
    assert len(noted) > 80


AND_BASIL = """
[[growing]]
crop = "lettuce-butterhead"
bed = "channel"
sites = 2
age_d = 30

[[want]]
crops = ["basil"]
per_week = 30
"""


@pytest.mark.deep
def test_what_has_ended_does_not_come_back(room):
    """Basil cut again and again with every cut noted, and plants that stood at the start, over 15 months."""
    room.write(weeks=WEEKS, sites=12, more=AND_BASIL)
    forms = hold(room, range(63, 460, 66))
    assert min(one["sow_on"] for one in forms[-1]["batches"]) > "2027-04"
