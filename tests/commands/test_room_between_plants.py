"""A box whose sites stand too close for a crop: the plan leaves sites empty between its plants.

Kale is planted at 20 plants/m2 (crops.csv, from memory); the box has 50 sites/m2.
"""

import csv
import json
from collections import Counter
from datetime import date, timedelta

import pytest

from cropcal.planning.candidates import eligible
from cropcal.reading.plan_json import read_plan
from tests.support.in_process import cropcal

SPACE = """
[place]
name = "Landing"

[[zone]]
name = "shelf"
length_m = 2.2
width_m = 0.5
photoperiod_h = 16
air_c = 21
air_moving = true

[[bed]]
name = "box"
zone = "shelf"
rows = 2
columns = 8
length_m = {length_m}
width_m = 0.4

[[reading]]
bed = "box"
umol_m2_s = [[250]]

[[want]]
crops = ["kale"]
per_week = {per_week}
unit = "g"

[plan]
start = 2026-12-07
weeks = {weeks}
work_days = ["mon"]
harvest_days = ["mon", "thu"]
"""


def planned(folder, *, on="2026-12-07", per_week=50, weeks=16, length_m=0.8, limit_s=3):
    """Plan and return the plan.json that was written, and what was printed."""
    folder.mkdir(exist_ok=True)
    text = SPACE.format(per_week=per_week, weeks=weeks, length_m=length_m)
    (folder / "space.toml").write_text(text, encoding="utf-8")
    done = cropcal("plan", folder, "--on", on, "--time-limit", str(limit_s))
    assert done.returncode in (0, 1), done.both
    plan, problems = read_plan(folder / "plan" / "plan.json")
    assert problems == []
    return plan, done.stdout


def held_by_day(plan):
    """Return how many sites are held on each day; fails where two batches share a site."""
    held = Counter()
    for use in plan.sites:
        for day in range((use.held_until - use.held_from).days):
            held[use.site, use.held_from + timedelta(days=day)] += 1
    assert max(held.values()) == 1
    return Counter(day for _, day in held)


@pytest.fixture(scope="module")
def roomy(tmp_path_factory):
    folder = tmp_path_factory.mktemp("roomy")
    return folder, *planned(folder)


@pytest.mark.drawn
def test_where_there_is_room_sites_stay_empty_and_plants_are_ready_sooner(roomy, tmp_path, monkeypatch):
    """On every third site kale stands at 17 plants/m2, which is not more than 20; on every second at 25."""
    _, plan, _ = roomy
    first = plan.batches[0]
    assert first.sites_each == 3
    assert first.held_sites == 3 * first.sites
    held_by_day(plan)
    empty = [use for use in plan.sites if use.batch == first.id and not use.planted]
    assert len(empty) == 2 * first.sites
    assert {use.empty_for for use in empty} == {
        use.site for use in plan.sites if use.batch == first.id and use.planted
    }
    monkeypatch.setattr(eligible, "spacings", lambda *_: (1,))
    close, _ = planned(tmp_path / "close", weeks=24)
    assert first.ready_from - first.sow_on < close.batches[0].ready_from - close.batches[0].sow_on


@pytest.mark.drawn
def test_the_empty_sites_are_said_and_drawn(roomy):
    """Jobs, sheets, the calendar picture and the page have them."""
    folder, plan, _ = roomy
    sow = next(job for job in plan.jobs if job.job == "sow")
    assert "stay empty" in sow.note
    assert len(sow.sites.split(", ")) == sow.amount
    week = cropcal("week", folder, "--on", "2026-12-07")
    assert "stay empty" in " ".join(week.stdout.split())
    with (folder / "plan" / "sowings.csv").open(encoding="utf-8") as file:
        row = next(csv.DictReader(file))
    assert int(row["held_sites"]) == 3 * int(row["sites"])
    with (folder / "plan" / "sites.csv").open(encoding="utf-8") as file:
        assert {row["empty_for"] for row in csv.DictReader(file)} > {"0"}
    assert (folder / "plan" / "calendar.png").read_bytes().startswith(b"\x89PNG")
    assert 'class="room"' in (folder / "plan" / "report.html").read_text(encoding="utf-8")


def test_plants_that_stand_keep_their_room(tmp_path, monkeypatch):
    """Planned again from the journal they hold the same sites; --sites in a note counts plants."""
    folder = tmp_path / "again"
    before, _ = planned(folder)
    first = before.batches[0]
    monkeypatch.setattr("cropcal.season.clock.today", lambda: date(2026, 12, 20))
    noted = cropcal("log", folder, "sown", first.id, f"{first.sites} sites", "--on", "2026-12-07")
    assert noted.returncode == 0, noted.both
    after, _ = planned(folder, on="2026-12-21")
    stands = {batch.id: batch for batch in after.batches}[first.id]
    assert (stands.sites, stands.held_sites) == (first.sites, first.held_sites)
    assert sites_of(after, first.id) == sites_of(before, first.id)
    assert abs(stands.ready_from - first.ready_from) <= timedelta(days=3)
    held_by_day(after)


def sites_of(plan, batch):
    return [(use.site, use.empty_for) for use in plan.sites if use.batch == batch]


def test_a_full_box_uses_its_sites(tmp_path):
    """Where far more is wanted than fits, hardly a site is left unheld."""
    plan, _ = planned(tmp_path / "full", per_week=500)
    assert max(held_by_day(plan).values()) >= 15


def test_a_bed_with_room_enough_is_planned_as_before(tmp_path, monkeypatch):
    """At 20 sites/m2 nothing is left empty, and the plan is byte for byte that without the choice."""
    roomy, _ = planned(tmp_path / "wide", length_m=2.0, weeks=12, limit_s=60)
    assert {batch.sites_each for batch in roomy.batches} == {1}
    with_choice = without_seconds(tmp_path / "wide")
    assert (with_choice["outcome"]["status"], with_choice["searched"]["stopped"]) == ("searched", False)
    monkeypatch.setattr(eligible, "spacings", lambda *_: (1,))
    planned(tmp_path / "wide2", length_m=2.0, weeks=12, limit_s=60)
    assert without_seconds(tmp_path / "wide2") == with_choice


def without_seconds(folder):
    form = json.loads((folder / "plan" / "plan.json").read_text(encoding="utf-8"))
    form["outcome"] = {name: value for name, value in form.get("outcome", {}).items() if name != "seconds"}
    return form


def test_an_older_plan_without_the_keys_is_read(roomy, tmp_path):
    """Each plant then holds one site."""
    folder, _, _ = roomy
    form = json.loads((folder / "plan" / "plan.json").read_text(encoding="utf-8"))
    for row in form["batches"]:
        del row["sites_each"], row["held_sites"]
    for row in form["sites"]:
        del row["empty_for"]
    (tmp_path / "plan.json").write_text(json.dumps(form), encoding="utf-8")
    plan, problems = read_plan(tmp_path / "plan.json")
    assert problems == []
    assert {batch.held_sites - batch.sites for batch in plan.batches} == {0}
