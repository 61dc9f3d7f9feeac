"""A whole season through the real commands: plan, log, week, plan again, with what a grower lives through."""

import csv
import json
from collections import defaultdict
from datetime import date, timedelta

import numpy as np
import pytest
from typer.testing import CliRunner

from cropcal.cli.main import app

START = date(2027, 1, 4)
SPACE = """
[place]
name = "Heron Yard"
timezone = "Europe/Dublin"

[[zone]]
name = "loft"
length_m = 1.3
width_m = 0.65
photoperiod_h = 16
lamp_on_air_c = 22
lamp_off_air_c = 19
air_moving = true

[[bed]]
name = "plank"
zone = "loft"
rows = 3
columns = 4
length_m = 0.7
width_m = 0.5

[[bed]]
name = "tin"
zone = "loft"
kind = "tray"
sites = 2
length_m = 0.5
width_m = 0.25

[[bed]]
name = "cradle"
zone = "loft"
kind = "nursery"
sites = 20
length_m = 0.4
width_m = 0.2

[[fixture]]
zone = "loft"
watts = 150
watts_from = "meter"

[[reading]]
bed = "plank"
umol_m2_s = [[230, 235], [225, 240]]

[[reading]]
bed = "tin"
umol_m2_s = [[180]]

[[reading]]
bed = "cradle"
umol_m2_s = [[190]]

[plan]
start = 2027-01-04
weeks = 16
work_days = ["mon", "thu"]

[[want]]
crops = ["lettuce-butterhead"]
per_week = 2
unit = "heads"

[[want]]
crops = ["microgreens-brassica"]
per_week = 60
unit = "g"
"""
CLEAN = timedelta(days=1)
DONE_AS = {"sow": "sown", "transplant": "transplanted", "cut": "harvested"}


def day(text):
    return date.fromisoformat(text)


class Written:
    """What one planning left in its folder, read from the files alone."""

    def __init__(self, folder):
        self.form = json.loads((folder / "plan.json").read_text(encoding="utf-8"))
        self.sheets = {}
        for name in ("jobs", "sites", "sowings", "supply"):
            with (folder / f"{name}.csv").open(encoding="utf-8") as file:
                self.sheets[name] = list(csv.DictReader(file))
        from icalendar import Calendar

        self.bytes = (folder / "calendar.ics").read_bytes()
        calendar = Calendar.from_ical(self.bytes)
        self.events = {str(event["uid"]): event for event in calendar.walk("VEVENT")}

    @property
    def batches(self):
        return {row["batch"]: row for row in self.sheets["sowings"]}

    @property
    def changes(self):
        return self.form.get("again", {}).get("changes", [])

    def sites_of(self, batch):
        return {(row["bed"], row["site"]) for row in self.sheets["sites"] if row["batch"] == batch}

    def twice_used(self, since):
        """Return the batches that share a site; who sowed a tray on the day it was cut did so."""
        held = defaultdict(list)
        for row in self.sheets["sites"]:
            if day(row["until"]) + CLEAN > since:
                held[row["bed"], row["site"]].append((day(row["from"]), day(row["until"]), row["batch"]))
        return [
            (place, one, other)
            for place, spans in held.items()
            for one, other in zip(sorted(spans), sorted(spans)[1:], strict=False)
            if one[1] + (CLEAN if other[0] > since else timedelta()) > other[0]
        ]


def said(event):
    """Return what one event of the calendar tells."""
    return str(event["summary"]), str(event["description"]), str(event.get("status", ""))


class Grower:
    """Somebody who does what the week says, mostly: late, with losses, slips of the pen and slow plants."""

    def __init__(self, folder, monkeypatch, seed):
        self.folder, self.patch = folder, monkeypatch
        self.rng = np.random.default_rng(seed)
        self.slow, self.noted, self.since = {}, defaultdict(dict), set()
        self.losses, self.slips = [40, 75], [50]

    def run(self, *words, codes=(0, 1)):
        done = CliRunner().invoke(app, [str(word) for word in words])
        assert done.exit_code in codes, f"{words}\n{done.output}"
        return done.stdout

    def log(self, on, *words):
        self.patch.setattr("cropcal.season.clock.today", lambda: on)
        return self.run("log", self.folder, *words, "--on", on, codes=(0,))

    def plan(self, on):
        told = self.run("plan", self.folder, "--on", on, "--all")
        return told, Written(self.folder / "plan")

    def week(self, on):
        told = self.run("week", self.folder, "--on", on, codes=(0,))
        jobs = json.loads(self.run("week", self.folder, "--on", on, "--json", codes=(0,)))["jobs"]
        return told, [job for job in jobs if job["job"] in DONE_AS]

    def note(self, on, batch, event, *amounts):
        self.noted[batch][event] = on
        self.since.add(batch)
        return self.log(on, *event.split(), batch, *amounts)

    def live(self, jobs, on):
        """Do jobs, note them, and return those that are left for another day."""
        left = []
        for job in jobs:
            seen = self.noted[job["batch"]]
            if DONE_AS[job["job"]] not in seen and "lost" not in seen:
                left += [] if self.does(job, on) else [job]
        return left

    def mishaps(self, on):
        """Count seedlings, lose what stands on its way, and correct a slip of the pen."""
        growing = [
            batch
            for batch, seen in self.noted.items()
            if "sown" in seen and not {"lost", "harvested"} & set(seen)
        ]
        for batch in growing:
            if "emerged" not in self.noted[batch] and (on - self.noted[batch]["sown"]).days >= 3:
                self.note(on, batch, "emerged", self.rng.integers(1, 3))
        if self.losses and (on - START).days >= self.losses[0] and growing:
            self.losses.pop(0)
            self.note(on, growing[0], "lost", "--why", "slugs")
        if self.slips and (on - START).days >= self.slips[0]:
            self.slips.pop(0)
            last = [row for row in self.journal if row["event"] == "harvested" and row["unit"] == "g"][-1]
            self.since.add(last["batch"])
            self.log(day(last["on"]), "--correct", last["id"], "55 g")

    @property
    def journal(self):
        with (self.folder / "journal.csv").open(encoding="utf-8") as file:
            return list(csv.DictReader(file))

    def does(self, job, on):
        """Return whether a job was done; plants that are not ready wait."""
        batch, heads = job["batch"], job["unit"] == "heads"
        if job["job"] != "cut":
            if self.rng.random() < 0.15:
                return False
            self.note(on, batch, DONE_AS[job["job"]])
            return True
        late = self.slow.setdefault(batch, int(self.rng.integers(-2, 6)))
        if heads and on < day(job["date"]) + timedelta(days=late):
            self.since.add(batch)
            self.log(on, "not", "ready", batch)
            return False
        weight = (150 + 40 * self.rng.random() if heads else self.rng.uniform(0.7, 1.2)) * job["amount"]
        amounts = [f"{job['amount']:.0f} heads"] if heads else []
        self.note(on, batch, "harvested", *amounts, f"{weight:.0f} g")
        return True


def check(before, after, on, noted):
    """Return what is wrong with a plan made again on a day, held against the one before, by their files.

    ``noted``: the batches of which something was noted since.
    """
    wrong = []
    began = {batch for batch, row in before.batches.items() if day(row["sow_on"]) < on}
    for batch in began - noted:
        if after.batches.get(batch, {}).get("sow_on") != before.batches[batch]["sow_on"]:
            wrong.append(f"{batch}, sown by then, is not what it was")
    standing = {
        (row["batch"], row["bed"], row["site"])
        for row in before.sheets["sites"]
        if row["batch"] in began - noted and day(row["from"]) < on
    }
    wrong += [f"{place} no longer its own" for place in standing if place[1:] not in after.sites_of(place[0])]
    wrong += [f"{batch} is gone" for batch in began | noted if batch not in after.batches]
    past = [[row for row in made.sheets["jobs"] if day(row["date"]) < on] for made in (before, after)]
    what = ("date", "job", "batch", "crop", "bed", "sites", "amount", "unit")  # what is likely may narrow
    told = [{tuple(row[name] for name in what) for row in rows if row["batch"] not in noted} for rows in past]
    wrong += [f"the past is told anew: {row}" for row in told[0] ^ told[1]]
    wrong += [f"used twice: {place}" for place in after.twice_used(on)]
    wrong += [f"no reason: {row}" for row in after.changes if not row["why"]]
    for uid, old in before.events.items():
        new = after.events.get(uid)
        when = old.decoded("dtstart")
        if new is None:
            if when >= on:
                wrong.append(f"event of {when} is missing")
            continue
        if new.decoded("dtstart") != when:
            wrong.append(f"event {uid} moved")
        more = new["sequence"] - old["sequence"]
        if more != (said(new) != said(old)):
            wrong.append(f"event of {when}: sequence {old['sequence']} -> {new['sequence']}")
        idle = not any(row["date"] == when.isoformat() for row in after.sheets["jobs"])
        if when >= on and idle != (new.get("status") == "CANCELLED"):
            wrong.append(f"event of {when}: no job {idle}, status {new.get('status')}")
    return wrong


@pytest.mark.deep  # test_lived_season.py lives through a shorter one by default
def test_a_season_as_it_is_lived(tmp_path, monkeypatch):
    """Sixteen weeks of noisy truth, planned again every two: standing crops stay, the past does not change.

    Sowings come late, two batches are lost, heads are not ready on their day, one weight is corrected. After
    each planning, by the written files alone: batches keep ids and sites, no site is used twice, each change
    has its reason, events of the calendar keep their UID and count up only where they say something else,
    and planning again on the same day changes nothing.
    """
    (tmp_path / "space.toml").write_text(SPACE, encoding="utf-8")
    grower = Grower(tmp_path, monkeypatch, seed=5)
    _, before = grower.plan(START)
    ids, left, told, kinds, cancelled = set(before.batches), [], [], set(), 0
    for number in range(16):
        monday = START + timedelta(weeks=number)
        if number and number % 2 == 0:
            screen, after = grower.plan(monday)
            assert check(before, after, monday, grower.since) == []
            assert screen.count("What changed since the last plan") == 1
            assert all(batch in after.batches for batch in grower.noted)
            kinds |= {row["what"] for row in after.changes}
            cancelled += sum(event.get("status") == "CANCELLED" for event in after.events.values())
            if number in (4, 12):
                screen, same = grower.plan(monday)
                assert "Nothing: everything stays as planned." in screen
                assert (same.changes, same.bytes) == ([], after.bytes)
                assert same.sheets == after.sheets
            before, grower.since = after, set()
            ids |= set(after.batches)
        screen, jobs = grower.week(monday)
        told.append(screen)
        for on in (monday, monday + timedelta(days=3)):
            grower.mishaps(on)
            left = grower.live(left + [job for job in jobs if day(job["date"]) == on], on)
    noted = {row["event"] for row in grower.journal}
    assert noted == {"sown", "emerged", "transplanted", "harvested", "lost", "not ready"}
    assert any(row["corrects"] for row in grower.journal)
    assert kinds >= {"sown", "cut", "lost", "dropped"}
    assert cancelled
    assert any("Overdue" in screen for screen in told)
    form = json.loads(grower.run("learned", tmp_path, "--json", codes=(0,)))
    assert {row["slug"] for row in form["crops"]} == {"lettuce-butterhead", "microgreens-brassica"}
    assert all(row["harvests"] >= 4 for row in form["crops"])
    assert {row["batch"] for row in grower.journal if row["batch"]} <= ids


@pytest.mark.deep
def test_a_week_that_was_missed(tmp_path, monkeypatch):
    """All is done and noted until a Sunday, then nothing for a week: what is asked is clear.

    It is the first week in which something is to be sown, to be moved and to be cut.

    The week begins with what is overdue, and asks of no seed that was not sown whether it is up; the plan
    says what it took as done and what to do if it was not; noted late, each job is ticked, its batch moves.
    """
    (tmp_path / "space.toml").write_text(SPACE, encoding="utf-8")
    grower = Grower(tmp_path, monkeypatch, seed=1)
    _, first = grower.plan(START)
    jobs = [row for row in first.sheets["jobs"] if row["job"] in DONE_AS]
    week_of = {row["date"]: (day(row["date"]) - START).days // 7 for row in jobs}
    kinds = {week: {row["job"] for row in jobs if week_of[row["date"]] == week} for week in week_of.values()}
    week = next(week for week in sorted(kinds) if kinds[week] == {"sow", "transplant", "cut"})
    assert week > 1
    monday = START + timedelta(weeks=week + 1)
    for row in jobs:
        if week_of[row["date"]] < week:
            amount = [f"{float(row['amount']):.0f} {row['unit']}"] if row["job"] == "cut" else []
            grower.log(day(row["date"]), DONE_AS[row["job"]], row["batch"], *amount)
    missed = [row for row in jobs if week_of[row["date"]] == week]
    unsown = [row["batch"] for row in missed if row["job"] == "sow"]
    screen, _ = grower.week(monday)
    assert screen.count("was due") == len(missed)
    looks = screen[screen.index("Next after") - 400 :].split("What to look at")[-1]
    assert not any(f"{batch} " in looks.split("Next after")[0] for batch in unsown)
    told, same = grower.plan(monday)
    # the plan reaches four weeks further: at its end there may be a sowing more, all else is as it was
    assert {row["what"] for row in same.changes} <= {"new"}
    assert all(day(row["now"]) > monday + timedelta(weeks=10) for row in same.changes)
    assert "If one is not done, do it, note it, and plan again" in told
    assert len(same.form["again"]["taken_as_done"]) == len(missed)
    for row in missed:
        amount = [f"{float(row['amount']):.0f} {row['unit']}"] if row["job"] == "cut" else []
        grower.note(monday, row["batch"], DONE_AS[row["job"]], *amount)
    told, after = grower.plan(monday)
    assert check(same, after, monday, grower.since) == []
    assert "Not noted" not in told
    late = {row["batch"] for row in after.changes if row["what"] == "sown"}
    assert late == set(unsown)
    screen, jobs = grower.week(monday)
    assert "Overdue" not in screen
    assert {job["batch"] for job in jobs if job["done"]} >= set(unsown)
