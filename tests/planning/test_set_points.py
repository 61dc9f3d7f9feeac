"""What controllers are set to: alarms by the crop table, lamps by the timers, and only what is known."""

import csv
import json
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.planning.photoperiod.fill_hours import timer_lines
from cropcal.planning.set_points import ALARM_SHARE, set_points
from cropcal.records.plan import SiteUse
from cropcal.science.growth import air_for_share_c, temperature_factor
from tests.support.depth import examples
from tests.support.in_process import cropcal

SPACE = """
[place]
name = "Low landing"
[[zone]]
name = "ledge"
length_m = 1
width_m = 0.5
lit = [["06:00", "11:00"], ["15:00", "22:30"]]
quiet = [{{ hours = [["22:30", "06:00"]], days = ["sat", "sun"] }}]
air_moving = true
{air}
[[zone]]
name = "attic"
length_m = 1
width_m = 0.5
photoperiod_h = 16
[[bed]]
name = "trough"
zone = "ledge"
sites = 6
[[bed]]
name = "crate"
zone = "attic"
sites = 4
[[fixture]]
zone = "ledge"
watts = 70
[[fixture]]
zone = "attic"
watts = 70
[[load]]
name = "pump"
zone = "ledge"
watts = 5
on_minutes = 10
every_minutes = 45
[[load]]
name = "hub"
watts = 2
always = true
[plan]
start = 2027-02-01
weeks = 8
[[want]]
crops = ["lettuce-romaine"]
"""


def use(bed, crop):
    on = date(2027, 2, 1)
    return SiteUse(bed=bed, site=1, batch="a", crop=crop, held_from=on, held_until=on, cuts=())


@pytest.fixture
def points_of(read_text, tables, show_plans):
    """Return a function from what grows where to the set points, by zone and what."""

    def rows(*grown, air="air_c = 20"):
        space = read_text(SPACE.format(air=air))
        result = show_plans.empty_plan().model_copy(
            update={"sites": tuple(use(*where) for where in grown), "batches": ()}
        )
        return {(row.zone, row.what): row for row in set_points(space, tables, result, timer_lines(space))}

    return rows


def test_alarms_are_those_of_the_most_tender_crop(points_of, tables):
    """Basil is hurt by cold first, lettuce by heat; by Wang & Engel a quarter of their growth is left.

    For basil of 5.7, 30 and 43 °C by the crop table that is 12.7 °C, for romaine of 0, 24 and 34 °C 32.8 °C,
    both worked out by hand from the printed formula; alarms are whole degrees inside.
    """
    rows = points_of(("trough", "basil"), ("trough", "lettuce-romaine"))
    low, high, mean = (
        rows["ledge", what] for what in ("air low alarm", "air high alarm", "air mean at most")
    )
    assert (low.value, high.value, mean.value) == (13.0, 32.0, 24.0)
    assert low.note.startswith(f"{tables.crops['basil'].name}: ")
    assert "none at 5.7 °C (assumed)" in low.note
    assert "none at 34 °C (from memory)" in high.note
    assert "Maynard & Hochmuth 1997" in mean.note
    assert "ring" not in low.note + high.note


def test_an_alarm_that_the_planned_air_would_set_off_says_so(points_of):
    """Nights of 11 °C are colder than basil's alarm."""
    rows = points_of(("trough", "basil"), air="lamp_on_air_c = 24\nlamp_off_air_c = 11")
    assert rows["ledge", "air low alarm"].note.endswith("it will ring: the plan counts on 11 °C")
    assert "ring" not in rows["ledge", "air high alarm"].note
    assert rows["ledge", "air high alarm"].value == 40  # basil would stand more, lamps and plugs would not


def test_what_is_not_known_has_no_row(points_of):
    """Nothing grows in the attic: its lamp, but no alarm; and no flow of a fan that the file leaves out."""
    rows = points_of(("trough", "basil"))
    assert {what for zone, what in rows if zone == "attic"} == {"lamp on", "lamp off", "lamp output"}
    assert {what for zone, what in rows if zone == "ledge"} == {
        "lamp on", "lamp off", "lamp output", "air low alarm", "air high alarm", "quiet from", "quiet until",
        "fan over the leaves", "pump runs", "pump every",
    }  # fmt: skip
    assert (rows["ledge", "pump every"].value, rows["ledge", "pump every"].unit) == (45.0, "min")
    assert (rows["ledge", "quiet until"].value, rows["ledge", "quiet until"].note) == ("06:00", "sat, sun")
    assert rows["", "hub"].value == "always on"


@settings(max_examples=examples(60), deadline=None, derandomize=True)
@given(base=st.floats(-2, 10), to_best=st.floats(8, 25), to_top=st.floats(3, 15), share=st.floats(0.05, 0.95))
def test_at_an_alarm_that_share_of_growth_is_left(base, to_best, to_top, share):
    """The response of Wang & Engel (1998), at both ends, is the share of that at the optimum."""
    best, top = base + to_best, base + to_best + to_top
    at_best = temperature_factor(best, base, best, top)
    for air in air_for_share_c(share, base, best, top):
        assert base < air < top
        assert temperature_factor(air, base, best, top) == pytest.approx(share * at_best, rel=1e-6)
    assert 0 < ALARM_SHARE < 1


def test_a_plan_writes_its_set_points(tmp_path):
    """setpoints.csv and plan.json say the same; the lamp's are those of timers.csv."""
    (tmp_path / "space.toml").write_text(SPACE.format(air="air_c = 20"), encoding="utf-8")
    done = cropcal("plan", str(tmp_path), "--on", "2027-02-01")
    assert done.returncode in (0, 1), done.both
    sheets = {}
    for name in ("setpoints", "timers"):
        with (tmp_path / "plan" / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            sheets[name] = list(csv.DictReader(file))
    form = json.loads((tmp_path / "plan" / "plan.json").read_text(encoding="utf-8"))["set_points"]
    assert [(row["zone"], row["what"], row["note"]) for row in sheets["setpoints"]] == [
        (row["zone"], row["what"], row["note"]) for row in form
    ]
    assert "air low alarm" in {row["what"] for row in form}
    for key, what in (("on", "lamp on"), ("off", "lamp off")):
        of_timers = [(row["zone"], row["from"], row[key]) for row in sheets["timers"]]
        points = [row for row in sheets["setpoints"] if row["what"] == what]
        assert [(row["zone"], row["from"], row["value"]) for row in points] == of_timers
    page = (tmp_path / "plan" / "report.html").read_text(encoding="utf-8")
    assert "as in setpoints.csv" in page
    assert "air low alarm" in page
