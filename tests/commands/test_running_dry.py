"""A plan that was written says in time that its sowings end, and later commands go on from any day."""

import json
from datetime import date, timedelta

import pytest
from small_space import LETTUCE, START, SpaceFolder


@pytest.fixture
def room(tmp_path, monkeypatch):
    """Return a planned folder: twelve weeks from Mon 7 Sep 2026, the last of them ends on Sun 29 Nov."""
    folder = SpaceFolder(tmp_path, monkeypatch)
    folder.write(weeks=12)
    folder.plan_first()
    return folder


def last_sowing(room):
    return max(one["sow_on"] for one in room.batches().values())


def test_the_week_says_four_weeks_ahead_that_the_sowings_end(room):
    """Silent until Sat 31 Oct; from Sun 1 Nov on the last sowing's day and what to type, also as JSON."""
    on = date.fromisoformat(last_sowing(room))
    room.on = date(2026, 10, 31)
    assert "last sowing" not in room.run("week")
    assert "runs_dry" not in room.json("week")
    room.later(1)
    told = room.run("week")
    assert f"The plan's last sowing is on {on:%a} {on.day} {on:%b}. Plan again: cropcal plan" in told
    assert told.index("last sowing") < told.index("[ ]")
    dry = room.json("week")["runs_dry"]
    assert dry == {"last_sowing": on.isoformat(), "plan_again": f"cropcal plan {room.folder}"}
    room.run("plan", "--time-limit", 2)
    assert "last sowing" not in room.run("week")
    assert date.fromisoformat(last_sowing(room)) > START + timedelta(weeks=16)


def test_after_the_plan_the_week_still_has_the_cuts_of_what_stands(room):
    """Sown before the end and cut after it: the jobs are there, and that sowing is over is said."""
    room.on = START + timedelta(weeks=12)
    told = room.run("week")
    assert "Cut" in told
    assert "This plan ended" not in told
    room.later(70)
    assert "This plan ended on Sun 29 Nov 2026. To continue from here, type: cropcal plan" in room.run("week")


def test_a_plan_is_made_long_after_the_last_one_has_ended(room):
    """A year and a half later, with nothing noted: sown from that day on, weeks as ever."""
    room.on = START + timedelta(days=550)
    form = room.json("plan", "--time-limit", 2)
    assert form["again"]["date"] == room.on.isoformat()
    end = date.fromisoformat(form["start"]) + timedelta(weeks=form["weeks"])
    assert end == START + timedelta(weeks=79 + 12)
    assert min(one["sow_on"] for one in form["batches"]) >= room.on.isoformat()


def test_nothing_runs_dry_where_nothing_more_is_wanted(room):
    """A want with a last day before the plan's end: no more is sown, and nobody is told to plan."""
    file = room.folder / "space.toml"
    text = file.read_text(encoding="utf-8").replace("per_week = 1", "per_week = 1\nuntil = 2026-11-15")
    file.write_text(text, encoding="utf-8")
    room.run("plan", "--time-limit", 2)
    room.on = date(2026, 11, 10)
    assert "last sowing" not in room.run("week")


def test_a_feast_and_a_break_beyond_the_first_end_count_once_they_are_reached(room):
    """Both are allowed in the file from the start on; planned nearer, the feast is met and the break kept."""
    file = room.folder / "space.toml"
    feast = f'[[want]]\ncrops = ["{LETTUCE}"]\non = [2027-01-15]\namount = 4\n\n[plan]'
    text = file.read_text(encoding="utf-8").replace("[plan]", feast)
    file.write_text(text + 'breaks = [["2026-12-21", "2027-01-03"]]\n', encoding="utf-8")
    room.run("check")
    first = room.json("plan", "--time-limit", 2)
    assert not any(row["counted"] for row in first["supply"] if row["on"])
    room.on = date(2026, 11, 2)
    form = room.json("plan", "--time-limit", 2)
    (row,) = (row for row in form["supply"] if row["on"])
    assert (row["counted"], row["wanted"], row["short"]) == (True, 4.0, 0.0)
    assert not any("2026-12-21" <= job["date"] <= "2027-01-03" for job in form["jobs"])


def test_the_page_has_the_line_for_its_reader_to_see_in_time(room):
    """The page is read on later days: the line is there, hidden, with the day from which it is shown."""
    page = (room.folder / "plan" / "report.html").read_text(encoding="utf-8")
    on = date.fromisoformat(last_sowing(room))
    assert 'id="runs-dry" role="status" data-from="2026-11-01" hidden' in page
    assert f"last sowing is on {on:%a} {on.day} {on:%b}. Plan again" in page.replace("&#39;", "'")
    assert json.loads((room.folder / "plan" / "plan.json").read_text(encoding="utf-8"))["weeks"] == 12


def test_a_file_without_a_start_keeps_that_of_its_first_plan(room):
    """First planned for the next Monday: planned again weeks later, that is still where it began."""
    file = room.folder / "space.toml"
    text = file.read_text(encoding="utf-8").replace(f"start = {START}\n", "")
    file.write_text(text, encoding="utf-8")
    (room.folder / "plan" / "plan.json").unlink()
    room.on = START - timedelta(days=3)
    first = room.json("plan", "--time-limit", 2)
    assert first["start"] == START.isoformat()
    room.on = START + timedelta(days=30)
    again = room.json("plan", "--time-limit", 2)
    assert (again["start"], again["weeks"]) == (START.isoformat(), 17)
    (start,) = (row for row in again["assumptions"] if row["key"] == "plan.start")
    assert (start["value"], start["why"]) == (START.isoformat(), "no start given: that of the first plan")
