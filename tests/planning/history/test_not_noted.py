"""What nobody noted counts as done as planned: in learning and in trials as in planning again."""

from datetime import date
from math import log

import pytest
from small_space import LETTUCE, SpaceFolder

from cropcal.planning.history.calibration import UNNOTED_SD
from cropcal.units import Z_80


@pytest.fixture
def room(tmp_path, monkeypatch):
    return SpaceFolder(tmp_path, monkeypatch)


def planned(room, **other):
    """Write and plan the space, and let ten weeks pass."""
    room.write(**other)
    room.plan_first()
    room.later(70)
    return room.batches()


def test_a_weighed_harvest_counts_though_nobody_noted_the_move(room):
    """A sowing and a cut on their planned days: the plant left the nursery in between, as planned."""
    first = min(planned(room).values(), key=lambda batch: batch["sow_on"])
    room.run("log", "sown", first["batch"], "--on", first["sow_on"])
    room.run("log", "harvested", first["batch"], "1", "head", "150", "g", "--on", first["clear_on"])
    silent = room.json("learned")["lessons"]
    assert [(one["kind"], one["used"]) for one in silent] == [("weighed", True)]
    assert 100 < silent[0]["expected"] < 250
    assert "hard to believe" not in room.run("learned").lower()
    room.run("log", "transplanted", first["batch"], "--on", first["transplant_on"])
    assert room.json("learned")["lessons"] == silent


def test_sown_late_it_left_the_nursery_as_much_later(room):
    """Sown eleven days late, it was moved eleven days late: the forecast is that of such a plant."""
    batches = planned(room)
    one = min(batches.values(), key=lambda batch: batch["sow_on"])
    room.run("log", "sown", one["batch"], "--on", "2026-09-18")
    room.run("log", "harvested", one["batch"], "1", "head", "150", "g", "--on", "2026-11-05")
    silent = room.json("learned")["lessons"][0]["expected"]
    moved = date.fromisoformat(one["transplant_on"]).toordinal() + 11
    room.run("log", "transplanted", one["batch"], "--on", date.fromordinal(moved))
    assert room.json("learned")["lessons"][0]["expected"] == silent


def test_a_harvest_whose_sowing_nobody_noted_teaches_less(room):
    """Its plants may be days younger than the plan says: the same weight counts, but weaker."""
    batch = min(planned(room).values(), key=lambda batch: batch["sow_on"])
    room.run("log", "harvested", batch["batch"], "1", "head", "90", "g", "--on", batch["clear_on"])
    (unnoted,) = room.json("learned")["lessons"]
    room.run("log", "sown", batch["batch"], "--on", batch["sow_on"])
    (noted,) = room.json("learned")["lessons"]
    assert unnoted["expected"] == noted["expected"]
    width = [log(lesson["high_80"] / lesson["low_80"]) / (2 * Z_80) for lesson in (unnoted, noted)]
    assert width[0] ** 2 - width[1] ** 2 == pytest.approx(UNNOTED_SD**2, rel=0.05)


def test_the_first_lines_of_the_guide_work_on_a_planned_space(room):
    """A sowing today and a harvest of yesterday, by the crop's name alone."""
    planned(room, per_week=3, sites=24, days='["mon"]')
    due = [batch["clear_on"] for batch in room.batches().values()]
    room.on = date.fromisoformat(min(day for day in due if due.count(day) == 1))
    room.later(1)
    assert "sown" in room.run("log", "sown", LETTUCE)
    said = room.run("log", "harvested", LETTUCE, "3", "heads", "420", "g", "--on", "yesterday")
    assert "3 heads (420 g)" in said
    assert "no batch of the plan fits" not in said.lower()
    (lesson,) = room.json("learned")["lessons"]
    assert (lesson["kind"], lesson["used"], lesson["seen"]) == ("weighed", True, 140)
    assert 90 < lesson["expected"] < 250


TUB = """
[[bed]]
name = "tub"
zone = "shelf"
sites = 4
length_m = 0.3
width_m = 0.2
[[reading]]
bed = "tub"
umol_m2_s = [[240]]
[[want]]
crops = ["lettuce-butterhead"]
per_week = 1
beds = ["tub"]
"""


def test_a_trial_takes_sowings_that_nobody_noted_as_planned(room):
    """Two beds with cuts noted alone are compared; that sowings are taken as planned is said."""
    batches = planned(room, more=TUB)
    room.later(14)
    cut = [batch for batch in batches.values() if batch["clear_on"] <= room.on.isoformat()]
    assert {batch["bed"] for batch in cut} == {"channel", "tub"}
    cut = [next(batch for batch in cut if batch["bed"] == bed) for bed in ("channel", "tub")]
    for batch in cut:
        room.run("log", "harvested", batch["batch"], "1", "head", "140", "g", "--on", batch["clear_on"])
    said = room.run("trial", LETTUCE, "--all")
    assert "all batches that were cut grew in" not in said
    assert f"sowing not noted in {len(cut)} of {len(cut)} batches: taken as done on the planned day" in said
    form = room.json("trial", LETTUCE)
    assert {one["batch"] for one in form["batches"]} == {batch["batch"] for batch in cut}


def test_a_trial_says_what_it_leaves_out(room):
    """A cut of a batch that no plan knows and nobody noted as sown is not passed over in silence."""
    first = min(planned(room).values(), key=lambda batch: batch["sow_on"])
    for name in (first["batch"], "x0901a"):
        line = f"2026-10-20,harvested,{name},{LETTUCE},tub,1,heads,140\n"
        file = room.folder / "journal.csv"
        if not file.exists():
            file.write_text("on,event,batch,crop,bed,amount,unit,weight_g\n", encoding="utf-8")
        file.write_text(file.read_text(encoding="utf-8") + line, encoding="utf-8")
    said = room.run("trial", LETTUCE, "--all")
    assert "all batches that were cut grew in channel" in said
    assert "1 more batch is left out: nothing says when" in said
