"""Settings changed in the file, or tried, do not rewrite the past: what held is kept beside the plan."""

import json
from datetime import date
from pathlib import Path

import pytest
from depth import few_of
from small_space import LETTUCE, SpaceFolder

from cropcal.reading.past_settings import read_past_settings
from cropcal.records.space import MonthHours, settings_from
from cropcal.show.data import settings_json as held_json

GOOD = sorted((Path(__file__).resolve().parents[2] / "spaces" / "good").glob("*.toml"))


@pytest.fixture
def room(tmp_path, monkeypatch):
    return SpaceFolder(tmp_path, monkeypatch)


def settings(room):
    return json.loads((room.folder / "plan" / "settings.json").read_text(encoding="utf-8"))["held"]


@pytest.fixture
def grown(room):
    """Seven weeks at 15 h, with two weighed heads, planned once: one on its day, one well before."""
    room.write()
    room.plan_first()
    first, second = sorted(room.batches().values(), key=lambda batch: batch["sow_on"])[:2]
    room.later(50)
    for batch, g in ((first, 170), (second, 100)):
        room.run("log", "sown", batch["batch"], "--on", batch["sow_on"])
        room.run(
            "log", "harvested", batch["batch"], "1", "head", g, "g", "--on", first["harvests"][0]["date"]
        )
    return room


def speed(room, *words):
    return room.json("learned", *words)["crops"][0]["speed"]


def ready(room, *words):
    return room.json("when", LETTUCE, "--sown", room.on, *words)["harvest"]["middle"]


TEN = ("--set", "zone.photoperiod_h=10")


def test_tried_hours_teach_nothing_of_the_past(grown):
    """Ten hours tried: the past was at fifteen, so the speed stays and the harvest comes later."""
    assert speed(grown, *TEN) == speed(grown)
    assert ready(grown, *TEN) > ready(grown)


@pytest.mark.deep
def test_a_plan_of_tried_hours_or_elsewhere_keeps_no_settings(grown):
    """They are those of the space's own plan alone."""
    kept = (grown.folder / "plan" / "settings.json").read_bytes()
    grown.invoke("plan", "--time-limit", 5, *TEN, "--out", grown.folder / "tried")
    grown.invoke("plan", "--time-limit", 5, "--out", grown.folder / "elsewhere")
    assert (grown.folder / "plan" / "settings.json").read_bytes() == kept
    assert not (grown.folder / "tried" / "settings.json").exists()
    assert not (grown.folder / "elsewhere" / "settings.json").exists()


def test_hours_changed_in_the_file_count_from_the_day_a_plan_sees_them(grown):
    """The change is shown with its day and the note that would date it; the past stays at fifteen hours."""
    before = speed(grown)
    grown.write(hours="photoperiod_h = 10")
    assert speed(grown) == before
    said = grown.run("plan", "--time-limit", 5)
    assert "lamp hours of shelf changed from 15 h to 10 h: counted from 2026-10-27 on" in said
    assert f"cropcal log {grown.folder} lamp hours shelf 10 --on DATE" in said
    assert [row["from"] for row in settings(grown)] == [None, "2026-10-27"]
    assert [row["zones"][0]["photoperiod_h"] for row in settings(grown)] == [15, 10]
    assert speed(grown) == before
    grown.later(1)
    assert "changed from" not in grown.run("plan", "--time-limit", 5)
    assert speed(grown) == before
    assert [row["from"] for row in settings(grown)] == [None, "2026-10-27"]
    grown.write()
    grown.run("plan", "--time-limit", 5)
    assert [row["from"] for row in settings(grown)] == [None, "2026-10-27", "2026-10-28"]


def test_when_reads_the_days_before_a_change_as_they_were(grown):
    """A sowing of six weeks ago had fifteen hours until the change: ready between all of either."""
    sown = ("--sown", "2026-09-14")

    def middle(*words):
        return grown.json("when", LETTUCE, *sown, *words)["harvest"]["middle"]

    fifteen, ten = middle(), middle(*TEN)
    grown.write(hours="photoperiod_h = 10")
    grown.run("plan", "--time-limit", 5)
    assert fifteen <= middle() < ten
    grown.later(20)
    said = grown.run("when", LETTUCE, "--all", *sown)
    assert "hours, light and air of channel: until 27 Oct 2026 as they were then" in said
    assert "as they were then" not in grown.run("when", LETTUCE, "--sown", "2026-11-01")


def test_a_note_dates_the_change_earlier(grown):
    """Noted for the second day, ten hours were all the plants had: they were faster than thought."""
    before = speed(grown)
    grown.write(hours="photoperiod_h = 10")
    grown.run("plan", "--time-limit", 5)
    grown.run("log", "lamp", "hours", "shelf", "10", "--on", "2026-09-08")
    assert speed(grown) > before * 1.1


@pytest.mark.parametrize("other", few_of([{"hours": "photoperiod_h = 10"}, {"watts": 140, "umol": 400}], 1))
def test_what_stands_goes_on_with_what_it_had(grown, other):
    """Planned again after the change, standing crops had the old settings until then, the new since."""
    old = grown.batches()
    grown.write(**other)
    grown.run("plan", "--time-limit", 5)
    standing = [
        name for name, batch in grown.batches().items() if "2026-09-18" <= batch["sow_on"] < "2026-10-20"
    ]
    assert standing
    assert len(settings(grown)) == 2
    with_history = {name: grown.batches()[name]["ready_from"] for name in standing}
    (grown.folder / "plan" / "settings.json").unlink()
    grown.run("plan", "--time-limit", 5)
    assert {name: grown.batches()[name]["ready_from"] for name in standing} != with_history
    assert set(standing) <= set(old)


def test_a_reading_is_better_knowledge_of_the_same_lamp(grown):
    """A reading corrected in the file holds for the past too, as the lamp was the same."""
    before = speed(grown)
    grown.write(umol=160)
    assert "of shelf changed" not in grown.run("plan", "--time-limit", 5)
    assert [row["from"] for row in settings(grown)] == [None]
    assert speed(grown) > before


def test_without_the_file_the_past_is_read_by_the_file_of_today(grown):
    """A folder planned before there was such a file: as it always was, and nothing false is said."""
    (grown.folder / "plan" / "settings.json").unlink()
    before = speed(grown)
    grown.write(hours="photoperiod_h = 10")
    assert speed(grown) > before
    assert "changed from 15 h" not in grown.run("plan", "--time-limit", 5)


def test_a_damaged_file_is_one_clear_problem(grown):
    """Nothing is made of half of it; a key of a newer version is passed over."""
    file = grown.folder / "plan" / "settings.json"
    form = json.loads(file.read_text(encoding="utf-8"))
    form["held"][0]["zones"][0]["colour"] = "blue"
    file.write_text(json.dumps(form), encoding="utf-8")
    assert speed(grown) > 0
    file.write_text('{"held": 3}', encoding="utf-8")
    done = grown.invoke("learned", "--all")
    assert done.exit_code == 2
    assert "settings.json: found something else, expected what held when" in done.stderr
    assert file.read_text(encoding="utf-8") == '{"held": 3}'


def test_nothing_has_a_past_before_the_plan_begins(room):
    """Hours changed between two plans made ahead of the start are no change."""
    room.on = room.on.replace(day=1)
    room.write()
    room.run("plan", "--time-limit", 5)
    room.later(2)
    room.write(hours="photoperiod_h = 12")
    assert "changed from" not in room.run("plan", "--time-limit", 5)
    assert [row["from"] for row in settings(room)] == [None]


@pytest.mark.deep
def test_a_lamp_hung_nearer_to_one_bed_is_a_change_of_its_zone(grown):
    """And put back the same day, there was none."""
    near = 'lamp_to_canopy_m = 0.25\n\n[[bed]]\nname = "saucer"'
    file = grown.folder / "space.toml"
    before = file.read_text(encoding="utf-8")
    file.write_text(before.replace('[[bed]]\nname = "saucer"', near), encoding="utf-8")
    assert "lamp of shelf changed: counted from 2026-10-27 on" in grown.run("plan", "--time-limit", 5)
    assert len(settings(grown)) == 2
    file.write_text(before, encoding="utf-8")
    grown.run("plan", "--time-limit", 5)
    assert [row["from"] for row in settings(grown)] == [None]


@pytest.mark.parametrize("file", GOOD, ids=lambda file: file.stem)
def test_what_is_kept_is_read_back_as_it_was(file, read_text, tmp_path):
    """Hours of the clock, walls, daylight, panels and hours by month; quiet hours are no light."""
    space = read_text(file.read_text(encoding="utf-8"))
    by_month = tuple(((300, 900),) if month % 2 else () for month in range(12))
    kept = settings_from(space, date(2026, 11, 3)).model_copy(
        update={
            "zones": tuple(zone.model_copy(update={"quiet": ()}) for zone in space.zones),
            "month_hours": (MonthHours(zone=space.zones[0].name, lit=by_month),),
        }
    )
    (tmp_path / "settings.json").write_text(json.dumps(held_json.form([kept], None)), encoding="utf-8")
    assert read_past_settings(tmp_path / "settings.json") == ((kept,), None, [])
