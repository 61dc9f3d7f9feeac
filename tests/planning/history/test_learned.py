"""What a journal teaches: each lesson on its own, in a space one can follow."""

from datetime import date, timedelta
from importlib import import_module

import numpy as np
import pytest

from cropcal.planning.growth.crop_constants import days_to_emerge
from cropcal.planning.growth.crop_growth import grow
from cropcal.planning.history.batch_history import batch_histories
from cropcal.planning.history.calibration import learn
from cropcal.planning.history.observed_conditions import observed_conditions
from cropcal.planning.site.bed_light import bed_lights
from cropcal.planning.site.growing_conditions import conditions_in
from cropcal.records.journal import Entry

SPACE = """
[[zone]]
name = "loft"
length_m = 1.0
width_m = 0.6
photoperiod_h = 16
air_c = 21
air_moving = true
[[bed]]
name = "raft"
zone = "loft"
rows = 2
columns = 8
[[bed]]
name = "mat"
zone = "loft"
kind = "tray"
length_m = 0.3
width_m = 0.2
[[fixture]]
zone = "loft"
watts = 90
[[reading]]
bed = "raft"
umol_m2_s = [[250]]
[[want]]
crops = ["lettuce-butterhead"]
per_week = 3
"""
SOWN = date(2027, 1, 6)
LETTUCE = {"batch": "le-01", "crop": "lettuce-butterhead"}


class Grower:
    """A space and what was noted in it."""

    def __init__(self, space, tables):
        self.space, self.tables, self.lights = space, tables, bed_lights(space, tables)
        self.crop = tables.crops["lettuce-butterhead"]
        self.events = [Entry(on=SOWN, event="sown", bed="raft", amount=3, unit="sites", **LETTUCE)]

    def note(self, day, event, **more):
        """Note an event of the batch some days after sowing."""
        about = LETTUCE if event in ("emerged", "harvested", "not ready", "lost") else {}
        entry = Entry(on=SOWN + timedelta(days=day), event=event, line=len(self.events), **{**about, **more})
        self.events = sorted([*self.events, entry], key=lambda entry: entry.on)
        return self

    def learned(self):
        """Return what the notes teach."""
        told = batch_histories(self.events, {}, frozenset())
        found = observed_conditions(self.space, self.lights, self.events)
        return learn(told, self.tables, self.lights, found)

    def pace(self, crop="lettuce-butterhead"):
        """Return how fast a crop is now believed to grow."""
        return self.learned().pace(crop, "loft", self.lights[0].sd_ln)

    def ready_d(self):
        """Return low, middle and high day of the next sowing's readiness."""
        bed = self.space.bed("raft")
        place = conditions_in(bed, self.space, self.lights[0])
        return grow(self.crop, self.tables, place, None, self.pace()).ready_d[:, 0]

    def harvested(self, day, g, **more):
        """Note three heads of a given weight each [g]."""
        return self.note(day, "harvested", amount=3, unit="heads", weight_g=3 * g, **more)


@pytest.fixture
def grower(read_text, tables):
    """Return a grower who has sown three heads of lettuce, and noted no more."""
    return Grower(read_text(SPACE), tables)


def book_day(grower):
    """Return the day on which the heads are expected before anything was learned."""
    return int(np.ceil(grower.ready_d()[1]))


def test_nothing_noted_teaches_nothing(grower):
    """A sowing alone says nothing about its speed."""
    assert grower.learned().lessons == ()
    assert (grower.pace().ln_speed, grower.pace().light_with_speed) == (0.0, 0.0)


def test_a_harvest_as_expected_makes_surer_only(grower):
    """Heads of the expected weight leave the forecast where it is, and halve its range at least."""
    day = book_day(grower)
    before = grower.ready_d()
    expected = Grower(grower.space, grower.tables).harvested(day, 100.0).learned().lessons[0].expected
    after = grower.harvested(day, expected).ready_d()
    assert after[1] == pytest.approx(before[1], abs=0.1)
    assert after[2] - after[0] < 0.6 * (before[2] - before[0])


@pytest.mark.parametrize(("share", "later"), [(0.6, True), (1.6, False)])
def test_lighter_heads_mean_a_slower_room(grower, share, later):
    """Heads of six tenths of the weight move the next forecast later, heavier ones sooner."""
    day = book_day(grower)
    before = grower.ready_d()[1]
    after = grower.harvested(day, share * grower.crop.anchor_g_per_plant).ready_d()[1]
    assert (after > before + 2) if later else (after < before - 2)


def test_a_tray_of_two_is_no_light_batch(grower):
    """Two trays of a crop that is cut once, taken on two days: nobody knows what part each was."""
    about = {"batch": "mi-01", "crop": "microgreens-brassica"}
    grower.note(0, "sown", bed="mat", amount=2, unit="sites", **about)
    once = Grower(grower.space, grower.tables)
    once.events = list(grower.events)
    once.note(12, "harvested", amount=60, unit="g", **about)
    assert len(once.learned().lessons) == 1
    grower.note(12, "harvested", amount=60, unit="g", **about).note(
        15, "harvested", amount=70, unit="g", **about
    )
    assert grower.learned().lessons == ()


def test_a_weight_out_of_the_world_is_asked_about(grower):
    """Heads of 3 kg are a slip of the pen: nothing is learned from them, and it is said."""
    before = grower.ready_d()
    grower.harvested(book_day(grower), 3000.0)
    lesson = grower.learned().lessons[0]
    assert (lesson.used, lesson.seen) == (False, 3000.0)
    assert lesson.odd > 3
    assert grower.ready_d() == pytest.approx(before, abs=0.1)


def test_not_ready_yet_moves_the_forecast_past_that_day(grower):
    """A look a week after the expected day that finds small heads makes the next forecast later."""
    day = book_day(grower)
    before = grower.ready_d()[1]
    assert grower.note(day + 7, "not ready").ready_d()[1] > before + 4


def test_looks_at_the_same_plants_count_once(grower):
    """Three looks at one batch teach what the last does, and none beside the cut that follows them."""
    day = book_day(grower)
    last = Grower(grower.space, grower.tables).note(day + 6, "not ready")
    for late in (0, 3, 6):
        grower.note(day + late, "not ready")
    assert grower.pace().ln_speed == pytest.approx(last.pace().ln_speed, abs=1e-3)
    assert grower.pace().sd_ln_speed == pytest.approx(last.pace().sd_ln_speed, abs=1e-3)
    cut = Grower(grower.space, grower.tables).harvested(day + 9, 150.0)
    found = grower.harvested(day + 9, 150.0).pace()
    assert found.ln_speed == pytest.approx(cut.pace().ln_speed, abs=1e-3)
    assert [lesson.kind for lesson in grower.learned().lessons] == [*["not ready"] * 3, "weighed"]


def test_cut_early_on_purpose_is_not_a_harvest_when_ready(grower):
    """Heads cut a month early, unweighed, teach next to nothing; cut when ready, a lot."""
    day = book_day(grower) - 30
    other = Grower(grower.space, grower.tables)
    early = grower.note(day, "harvested", amount=3, unit="heads", early=True).pace()
    ready = other.note(day, "harvested", amount=3, unit="heads").learned()
    assert early.ln_speed == pytest.approx(0.0, abs=0.02)
    assert ready.lessons[0].odd > 2


@pytest.mark.parametrize("seen", [[4], [6], [6, 6, 6]])
def test_days_to_emergence_of_a_textbook(grower, seen):
    """The mean moves by n s0² ȳ / (n s0² + s²), prior 0.25, noise 0.15 (Gelman et al. 2013, eq. 2.12)."""
    book = days_to_emerge(grower.crop, grower.tables, 21.0)
    events = []
    for number, day in enumerate(seen):
        about = {"batch": f"le-{number}", "crop": "lettuce-butterhead"}
        sown = SOWN + timedelta(days=50 * number)
        events.append(Entry(on=sown, event="sown", bed="raft", amount=3, unit="sites", **about))
        events.append(Entry(on=sown + timedelta(days=day), event="emerged", **about))
    grower.events = events
    mean = len(seen) * 0.25**2 * np.log(seen[0] / book) / (len(seen) * 0.25**2 + 0.15**2)
    assert grower.pace().ln_emergence == pytest.approx(mean)


def test_a_lamp_that_was_off_explains_small_heads(grower):
    """Ten days without the lamp are not the grower's slowness: the same weight teaches less of it."""
    other = Grower(grower.space, grower.tables)
    day = book_day(grower)
    plain = other.harvested(day, 100.0).pace().ln_speed
    for lost in range(20, 30):
        grower.note(lost, "outage", what="lamp", amount=16, unit="h")
    told = grower.harvested(day, 100.0).pace().ln_speed
    assert plain < told - 0.05


def test_light_that_was_read_later_is_believed_from_then_on(grower):
    """A reading of half the light in the second week makes light heads what was to be expected."""
    other = Grower(grower.space, grower.tables)
    day = book_day(grower)
    plain = other.harvested(day, 90.0).learned().lessons[0]
    told = grower.note(10, "reading", bed="raft", amount=125, unit="umol_m2_s").harvested(day, 90.0)
    assert told.learned().lessons[0].expected < 0.7 * plain.expected


def test_another_crop_learns_the_shared_part(grower):
    """Slow lettuce makes basil expected slow too, less so and less surely."""
    grower.harvested(book_day(grower), 90.0)
    lettuce, basil = grower.pace(), grower.pace("basil")
    assert lettuce.ln_speed < basil.ln_speed < 0
    assert basil.sd_ln_speed > lettuce.sd_ln_speed


@pytest.mark.deep
def test_simulated_growers(read_text):
    """Twenty growers of the planner's own kind: five harvests more than halve the days off, ranges hold.

    An ideal learner who was told nothing says the middle of the others' days.
    """
    growers = import_module("growers")
    rows = growers.table("own", 20, seed=3)
    assert [row[0] for row in rows] == [0, 1, 3, 5]
    assert rows[3][2] < rows[0][2] / 2
    # 80 forecasts whose 80 % range should hold: fewer than 50 within happens once in 10,000 times at most
    assert sum(row[1] * row[5] for row in rows) > 50
    here, every, _ = growers.growers("own", 20, seed=3)
    days = np.array([truth.ready_d(here.crop.anchor_g_per_plant) for truth in every])
    others = [np.sort(np.delete(days, me))[9] for me in range(20)]  # nineteen others
    assert rows[0][4] == pytest.approx(np.mean(np.abs(days - others)))
    assert rows[3][4] < rows[0][4] / 2


@pytest.mark.parametrize("umol", [150, 250, 310])
def test_ranges_reach_to_both_sides_whatever_light_a_crop_bears(read_text, tables, umol):
    """Five harvests show how long a head takes, sooner as surely as later, below and at its light ceiling.

    250 umol for 16 h are 14 mol a day, 310 are 18: lettuce is promised nothing above 17.
    """
    grower = Grower(read_text(SPACE.replace("[[250]]", f"[[{umol}]]")), tables)
    day = book_day(grower)
    for number in range(5):
        about = {"batch": f"le-{number}", "crop": "lettuce-butterhead"}
        sown = SOWN + timedelta(days=30 * number)
        cut = {"amount": 3, "unit": "heads", "weight_g": 450.0}
        grower.events.append(Entry(on=sown, event="sown", bed="raft", amount=3, unit="sites", **about))
        grower.events.append(Entry(on=sown + timedelta(days=day), event="harvested", **cut, **about))
    grower.events = sorted(grower.events[1:], key=lambda entry: entry.on)
    low, middle, high = grower.ready_d()
    # a weight is known to 20 % / √5, and heads grow by about 5 % a day as they get ready
    assert 1 < middle - low < 5
    assert middle - low == pytest.approx(high - middle, rel=0.35)
