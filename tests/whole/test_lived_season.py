"""A season as it is lived: only commands as README shows them, sloppy notes, one slip, one wrong batch.

The plants do not know the planner: a head weighs what a Gompertz curve says (Winsor 1932, Proceedings of the
National Academy of Sciences 18:1-8), at a grower's own pace. Its shape and pace are assumed.
"""

from math import exp, log

import pytest
from small_space import SpaceFolder

HEAD_G, GROWN_G, BOOK_D, SHAPE = 150, 400, 35, 0.08
"""Head weight when ready and fully grown [g]; days to the first in the table's room; curve per day."""
OFF = (1.0, 0.93, 1.06, 0.97, 1.09, 0.9, 1.03)
"""By how much batches differ, in turn."""


def head_g(days, pace):
    """Return the weight of a head some days after sowing [g]."""
    back = log(GROWN_G / HEAD_G) * exp(SHAPE * BOOK_D)
    return GROWN_G * exp(-back * exp(-SHAPE * pace * days))


class Grower:
    """Somebody who does what the calendar says, cuts what looks ready, and notes some of it."""

    def __init__(self, room, pace):
        self.room, self.pace = room, pace
        self.sown, self.cut, self.noted = {}, {}, []

    def day(self):
        """Sow what is due, unnoted every third time; cut heads that look ready, weighed to ten grams."""
        room = self.room
        for name, batch in room.batches().items():
            if batch["sow_on"] == room.on.isoformat() and name not in self.sown:
                self.sown[name] = (room.on, OFF[len(self.sown) % len(OFF)], batch["sites"])
                if len(self.sown) % 3:
                    room.run("log", "sown", name)
        for name, (on, off, heads) in self.sown.items():
            grams = off * head_g((room.on - on).days, self.pace)
            if name not in self.cut and grams >= 0.95 * HEAD_G:
                self.cut[name] = room.on
                self.note(name, heads, round(grams * heads, -1))

    def note(self, name, heads, grams):
        """Note a harvest; the second with a nought too many, corrected; the fourth for a neighbour."""
        number = len(self.cut)
        if number == 2:
            said = self.room.run("log", "harvested", name, heads, "heads", grams * 10, "g")
            self.room.run("log", "--correct", said.split("--undo ")[1].split()[0], heads, "heads", grams, "g")
        elif number == 4:
            other = next(one for one in self.sown if one not in self.cut)
            self.room.run("log", "harvested", other, heads, "heads", grams, "g")
            self.cut[other], self.sown[name] = self.cut.pop(name), self.sown[other]
            return
        elif number == 5:
            self.room.run("log", "harvested", name, heads)  # nobody weighed
        else:
            self.room.run("log", "harvested", name, heads, "heads", grams, "g")
        self.noted.append(name)


def live(room, weeks, pace, *, again):
    """Live some weeks, planning again every few; return the grower and the ids of each plan."""
    room.run("plan", "--time-limit", 5)
    grower, ids = Grower(room, pace), [set(room.batches())]
    for day in range(7 * weeks):
        if room.on.weekday() in (0, 4):
            grower.day()
        if day and day % (7 * again) == 0:
            before = {name for name in room.batches() if name in grower.sown}
            assert "report.html" in room.run("plan", "--time-limit", 5)
            assert before <= set(room.batches())
            ids.append(set(room.batches()))
        room.later(1)
    return grower, ids


def check(room, grower, ids, pace):
    """Hold what the commands say against what was lived."""
    lessons = [one for one in room.json("learned")["lessons"] if one["batch"] in grower.noted]
    assert len(lessons) == len(grower.noted) >= 4
    assert all(one["used"] for one in lessons)
    room.run("plan", "--time-limit", 5)
    made = room.batches()
    for name in grower.noted:
        harvests = made[name]["harvests"]
        assert [one["date"] for one in harvests] == [grower.cut[name].isoformat()]
        assert sum(one["amount"] for one in harvests) == grower.sown[name][2]
    assert len(set.intersection(*ids)) >= len(grower.sown) // 2
    (crop,) = room.json("learned")["crops"]
    before, now, truth = crop["days_before"], crop["days_now"], BOOK_D / pace
    assert abs(now["middle"] - truth) < abs(before["middle"] - truth) * 0.65
    widths = [high - low for low, high in (before["range_80"], now["range_80"])]
    assert widths[1] < widths[0] / 2


@pytest.fixture
def room(tmp_path, monkeypatch):
    room = SpaceFolder(tmp_path, monkeypatch)
    room.write(hours="photoperiod_h = 16", umol=260)
    return room


def test_a_lived_season(room):
    """A slow grower's fourteen weeks: harvests count, ids stay, the forecast comes near the truth."""
    pace = 0.62
    grower, ids = live(room, 14, pace, again=5)
    check(room, grower, ids, pace)


@pytest.mark.deep
@pytest.mark.parametrize("pace", [0.6, 0.9])
def test_a_longer_season(room, pace):
    """Four months, planned again every fortnight, by a slow and a fast grower.

    Batches that ended longer ago are no part of a plan any more.
    """
    room.write(hours="photoperiod_h = 16", umol=260, weeks=26, per_week=2, sites=18)
    grower, ids = live(room, 19, pace, again=2)
    check(room, grower, ids, pace)
