"""Water through the commands: check, plan, week, log, the page; and what an outage does to a plan."""

import json
from datetime import date, timedelta

import pytest

from tests.support import small_space

FLOODED = 'photoperiod_h = 15\nwatered = "flood"\ntank_l = 9'


@pytest.fixture
def shelf(tmp_path, monkeypatch):
    """Return the folder of a space with a tank, planned."""
    folder = small_space.SpaceFolder(tmp_path, monkeypatch)
    folder.write(hours=FLOODED, weeks=9, per_week=2)
    folder.plan_first()
    return folder


def plan_json(shelf):
    return json.loads((shelf.folder / "plan" / "plan.json").read_text(encoding="utf-8"))


def test_plan_all_shows_litres_tank_rhythm_and_stops(shelf):
    said = shelf.run("plan", "--all")
    water = said[said.index(" Water shelf: ") : said.index(" Watch out ")]
    for words in (
        "litres a day in its thirstiest week",
        "its tank of 9 litres lasts",
        "flood it for 10 min every 3 h while the lamp is on, once in the dark",
        "common practice for pots of 0.3 litres, an assumed size",
        "the first may wilt (rough): seedlings after",
        "Carotti et al. 2023",
    ):
        assert words in water
    assert "zone.shelf.pot_l: 0.3 (no volume of a pot given: a pot of 8 cm)" in said


def test_a_space_that_says_nothing_of_water_gets_litres_alone(tmp_path, monkeypatch):
    folder = small_space.SpaceFolder(tmp_path, monkeypatch)
    folder.write(weeks=8, per_week=1)
    said = folder.run("plan", "--all")
    water = said[said.index(" Water shelf: ") : said.index(" Watch out ")]
    assert "litres a day" in water
    assert not [word for word in ("tank of", "flood", "wilt", "solution") if word in water]
    (zone,) = plan_json(folder)["water"]
    assert (zone["tank"], zone["rhythm"], zone["stops"]) == (None, None, [])
    assert not [job for job in plan_json(folder)["jobs"] if job["job"] == "chore"]


def test_the_page_has_a_part_on_water(shelf):
    page = (shelf.folder / "plan" / "report.html").read_text(encoding="utf-8")
    part = page[page.index('<section id="water"') :].partition("</section>")[0]
    assert '<a href="#water">' in page
    assert "Its tank of 9 litres lasts" in part
    assert part.count("<tr>") > 5


def test_jobs_and_json_of_a_tank(shelf):
    form = plan_json(shelf)
    (zone,) = form["water"]
    assert zone["tank"]["tank_l"] == 9
    notes = [job["note"] for job in form["jobs"] if job["job"] == "chore"]
    assert any(note.startswith("top up the tank of shelf: about ") for note in notes)
    assert any(note == "change the solution of shelf: 9 litres" for note in notes)


def test_week_says_a_line_on_water(shelf):
    shelf.on = date(2026, 10, 21)
    assert "Water: shelf " in shelf.run("week")
    (row,) = shelf.json("week")["water"]
    assert row["zone"] == "shelf"
    assert 0 < row["l_per_d"]["low"] < row["l_per_d"]["middle"] < row["l_per_d"]["high"]


def test_an_outage_is_shown_until_somebody_looked(shelf):
    shelf.on = date(2026, 9, 16)
    assert "pump was off" not in shelf.run("week")
    shelf.run("log", "outage", "pump", "13", "h", "--on", "2026-09-15")
    said = shelf.run("week")
    assert "The pump was off for 13 h on Tue 15 Sep: seedlings of " in said
    assert "may have dried (rough). Look at " in said
    (stop,) = shelf.json("week")["stopped_pumps"]
    assert stop["says"].startswith("The pump was off for 13 h")
    for row in stop["dried"]:
        shelf.run("log", "lost", row["batch"], "1")
    assert "or you have noted how it is" in shelf.run("week")
    shelf.on += timedelta(days=30)
    assert "pump was off" not in shelf.run("week")


def test_drawn_seasons_know_of_an_outage(shelf):
    """A stop of three days makes weeks less likely that are to be met by seedlings of that day."""
    shelf.on = date(2026, 9, 16)
    chances = []
    for stopped in (False, True):
        if stopped:
            shelf.run("log", "outage", "pump", "72", "h", "--on", "2026-09-15")
        said = shelf.run("plan", "--all")
        assert ("plants after the pump stopped on 15 Sep: up to" in said) is stopped
        rows = [row for row in plan_json(shelf)["supply"] if row["chance"] is not None]
        chances.append([row["chance"] for row in rows if row["week"] < "2026-11-16"])
    assert "stopped_pumps" in plan_json(shelf)
    before, after = (sum(of) for of in chances)
    assert after < before


@pytest.mark.deep
def test_a_tank_can_be_tried(shelf):
    said = shelf.run("plan", "--all", "--set", "zone.shelf.tank_l=60")
    assert "its tank of 60 litres lasts" in said


DAMAGE = {
    "water[1].weeks": lambda zone: zone.update(weeks=3),
    "water[1].zone": lambda zone: zone.pop("zone"),
    "water[1].watered": lambda zone: zone.update(watered="fog"),
}


@pytest.mark.parametrize("key", DAMAGE)
def test_a_damaged_plan_is_reported(shelf, key):
    form = plan_json(shelf)
    DAMAGE[key](form["water"][0])
    (shelf.folder / "plan" / "plan.json").write_text(json.dumps(form), encoding="utf-8")
    assert key in shelf.invoke("week").output
