"""What a plan says of itself at its head, and at the head of a nursery."""

import pytest
from small_space import SpaceFolder

from cropcal.show.pictures import calendar_layout


@pytest.fixture
def room(tmp_path, monkeypatch):
    return SpaceFolder(tmp_path, monkeypatch)


def test_where_every_wanted_week_falls_short_nothing_is_said_to_be_met(room):
    """Forty heads a week from two sites: no week gets what is wanted, and no rest is met."""
    room.write(sites=2, per_week=40)
    done = room.invoke("plan", "--time-limit", 5)
    assert done.exit_code == 1
    weeks = [
        row for row in room.json("plan", "--time-limit", 5)["supply"] if row["counted"] and row["wanted"]
    ]
    assert len(weeks) > 5
    assert all(row["short"] > 0 for row in weeks)
    assert f"About 0 of {len(weeks)} weekly targets will be met." in done.stdout


def test_the_calendar_says_how_many_cells_a_nursery_has(room, monkeypatch):
    """The most that are full on one day, of all eight: not that it has no more."""
    drawn = []
    monkeypatch.setattr(
        "cropcal.show.pictures.render.calendar_png", lambda *given: drawn.append(given) or b""
    )
    room.write(per_week=2)
    room.run("plan", "--time-limit", 5)
    ((result, names, breaks),) = drawn
    (nursery,) = [
        block for block in calendar_layout.chart(result, names, breaks).blocks if block.kind == "nursery"
    ]
    cells = [batch.cells for batch in result.batches]
    assert nursery.note.startswith("seedlings, at most ")
    assert nursery.note.endswith(" of 8 cells")
    assert max(cells) <= int(nursery.note.split()[3]) <= 8
