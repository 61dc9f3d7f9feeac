"""A lamp whose hours the file leaves open is off over an empty zone: in the bill, the timers and the jobs."""

import csv
from datetime import date, timedelta
from types import SimpleNamespace

import pytest
from depth import examples
from hypothesis import given, settings
from hypothesis import strategies as st
from in_process import cropcal

from cropcal.planning.photoperiod.fill_hours import timer_lines, with_hours
from cropcal.planning.planner import SolveOptions, plan
from cropcal.planning.power.bill import bill
from cropcal.planning.schedule.empty_beds import dark_days, lamp_jobs
from cropcal.records.plan import SiteUse
from cropcal.season.load import load

A_DAY = timedelta(days=1)

TWO_ZONES = """
[place]
timezone = "Europe/Dublin"

[[zone]]
name = "rack"
length_m = 1.0
width_m = 0.5
air_c = 21
air_moving = true
{hours}

[[zone]]
name = "seedling shelf"
length_m = 0.6
width_m = 0.3
air_c = 20

[[bed]]
name = "box"
zone = "rack"
sites = 8

[[bed]]
name = "plugs"
zone = "seedling shelf"
kind = "nursery"
sites = 12

[[fixture]]
zone = "rack"
watts = 100
standby_watts = 2
ppf_umol_s = 260

[[fixture]]
zone = "seedling shelf"
watts = 25
ppf_umol_s = 60

[tariff]
currency = "EUR"
tax_percent = 9
[[tariff.rate]]
per_kwh = 0.3
[[tariff.rate]]
name = "night"
per_kwh = 0.1
hours = [["23:00", "08:00"]]

[plan]
start = 2027-01-04
weeks = 14
work_days = ["mon", "thu"]

[[want]]
crops = ["lettuce-butterhead"]
per_week = 1
unit = "heads"
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Return the folder of a space whose rack is empty while the first seedlings grow on their shelf."""
    path = tmp_path_factory.mktemp("two zones")
    (path / "space.toml").write_text(TWO_ZONES.replace("{hours}", ""))
    return path


@pytest.fixture(scope="module")
def planned(folder):
    """Return the settled space of that folder, its plan, and the dark days of it."""
    space, tables = load(folder)
    space = with_hours(space, tables)
    result = plan(space, tables, SolveOptions(time_limit_s=10))
    return space, result, dark_days(space, result.sites, result.batches)


def held_days(space, result):
    """Return on which days each zone holds a plant or a seedling if all grows as forecast."""
    days = {zone.name: set() for zone in space.zones}
    spans = [(use.bed, use.held_from, use.held_until) for use in result.sites]
    spans += [(one.nursery, one.sow_on, one.transplant_on) for one in result.batches if one.nursery]
    for bed, first, last in spans:
        days[space.bed(bed).zone] |= {first + timedelta(days=day) for day in range((last - first).days + 1)}
    return days


def test_no_lamp_is_off_over_a_plant(planned):
    """Each dark day has no plant in that zone, and the rack is dark until the first seedlings move in."""
    space, result, dark = planned
    held = held_days(space, result)
    for zone, days in dark.items():
        assert not days & held[zone]
    first = min(held["rack"])
    assert space.settings.start in dark["rack"]
    assert max(day for day in dark["rack"] if day < first) >= first - timedelta(days=8)
    assert space.settings.start not in dark.get("seedling shelf", ())


def test_hours_in_the_file_are_kept(tmp_path):
    """With hours of the grower's own, no lamp is switched for an empty bed."""
    (tmp_path / "space.toml").write_text(TWO_ZONES.replace("{hours}", "photoperiod_h = 14"))
    space, tables = load(tmp_path)
    space = with_hours(space, tables)
    assert "rack" not in dark_days(space, (), ())
    assert len(dark_days(space, (), ())["seedling shelf"]) == 14 * 7


def test_the_lamp_is_switched_when_somebody_is_there(planned):
    """Off on the day after a visit, on at a visit: each switch is a job on a work day."""
    space, _, dark = planned
    jobs = lamp_jobs(space, dark)
    assert jobs
    assert {f"{job.on:%a}" for job in jobs} <= {"Mon", "Thu"}
    assert all(job.job == "chore" for job in jobs)
    on = [job.on for job in jobs if job.note == "switch the lamp of rack on"]
    assert on[0] - timedelta(days=1) in dark["rack"]
    assert on[0] not in dark["rack"]


def test_the_timers_that_a_plan_writes_are_off_then(folder, planned, tmp_path):
    """The sheet of timers begins with the rack off, and sets it on the day before which it was dark."""
    done = cropcal("plan", str(folder), "--on", "2027-01-04", "--out", str(tmp_path))
    assert done.returncode in (0, 1)
    with (tmp_path / "timers.csv").open(encoding="utf-8-sig") as file:
        rows = [row for row in csv.DictReader(file) if row["zone"] == "rack"]
    outputs = [row[next(key for key in row if key.startswith("output"))] for row in rows]
    assert float(outputs[0]) == 0
    assert float(outputs[1]) > 0


def test_a_timer_that_is_dark_has_a_line_of_output_0(planned):
    """One line for the dark start, one from the day on which the lamp is on."""
    space, _, dark = planned
    rack = [line for line in timer_lines(space, dark) if line.zone == "rack"]
    assert (rack[0].start, rack[0].output) == (space.settings.start, 0)
    assert rack[1].output == 1
    assert rack[1].start - timedelta(days=1) in dark["rack"]
    assert [line.output for line in timer_lines(space) if line.zone == "rack"] == [1]


@given(off=st.sets(st.integers(0, 41), max_size=30))
@settings(max_examples=examples(40))
def test_a_dark_day_costs_what_a_day_without_that_lamp_costs(off, planned):
    """Day by day: with the rack's lamp but for its standby out of the space then, the bill is the same.

    The six weeks hold the night on which clocks change.
    """
    space, _, _ = planned
    start = date(2027, 2, 22)
    dark = {"rack": {start + timedelta(days=day) for day in off}}
    lamp = space.fixtures[0]
    without = space.model_copy(
        update={"fixtures": (lamp.model_copy(update={"watts": lamp.standby_watts}), *space.fixtures[1:])}
    )
    whole = bill(space, start, 42, dark)
    daily = [
        line
        for day in range(42)
        for line in bill(without if day in off else space, start + timedelta(days=day), 1)
    ]
    for what in ("kwh", "cost"):
        assert sum(getattr(line, what) for line in whole) == pytest.approx(
            sum(getattr(line, what) for line in daily)
        )
    assert bill(space, start, 42, {}) == bill(space, start, 42)


def a_use(space, first, last):
    start = space.settings.start
    return SiteUse(
        bed="box",
        site=1,
        batch="none",
        crop="lettuce-butterhead",
        held_from=start + timedelta(days=first),
        held_until=start + timedelta(days=first + last),
        cuts=(),
    )


@given(spans=st.lists(st.tuples(st.integers(-10, 100), st.integers(0, 40)), max_size=6))
@settings(max_examples=examples(100))
def test_dark_stretches_lie_between_visits_and_are_worth_it(spans, planned):
    """However a bed is held: dark for three days or more, never over a plant, from a visit to a visit."""
    space, _, _ = planned
    start, end = space.settings.start, space.settings.start + timedelta(weeks=14)
    uses = [a_use(space, first, last) for first, last in spans]
    dark = dark_days(space, uses, ()).get("rack", frozenset())
    held = held_days(space, SimpleNamespace(sites=uses, batches=()))["rack"]
    assert not dark & held
    for first in (day for day in dark if day - A_DAY not in dark):
        last = max(day for day in dark if all(first + n * A_DAY in dark for n in range((day - first).days)))
        assert (last - first).days + 1 >= 3
        assert first == start or f"{first - A_DAY:%a}" in ("Mon", "Thu")
        assert last == end - A_DAY or f"{last + A_DAY:%a}" in ("Mon", "Thu")
    empty = {start + timedelta(days=day) for day in range(14 * 7)} - held
    left_on = empty - dark
    assert all({day + n * A_DAY for n in range(-12, 13)} & held for day in left_on)


WINDOW = TWO_ZONES.replace(
    'timezone = "Europe/Dublin"', 'timezone = "Europe/Dublin"\nlatitude = 53.3\nlongitude = -6.3'
)


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    """Return the folder of a space whose rack stands at a window; its lamp is set by the month."""
    path = tmp_path_factory.mktemp("bench")
    (path / "space.toml").write_text(WINDOW.replace("{hours}", "daylight_share = 0.4"))
    return path


@pytest.fixture(scope="module")
def settled_bench(bench):
    """Return that space with its hours: a year, so that the sun is enough in summer."""
    space, tables = load(bench)
    settings = space.settings.model_copy(update={"weeks": 50})
    return with_hours(space.model_copy(update={"settings": settings}), tables)


def test_a_window_over_an_empty_bed_by_the_command(bench, tmp_path):
    """Timers, bill and jobs of the plan: the rack is dark until its first seedlings move in."""
    done = cropcal("plan", str(bench), "--on", "2027-01-04", "--out", str(tmp_path))
    assert done.returncode in (0, 1)

    def rows_of(sheet):
        with (tmp_path / sheet).open(encoding="utf-8-sig") as file:
            return list(csv.DictReader(file))

    timers = [row for row in rows_of("timers.csv") if row["zone"] == "rack"]
    assert (timers[0]["from"], float(timers[0]["output"])) == ("2027-01-04", 0)
    lit_from = next(row["from"] for row in timers if float(row["output"]) > 0)
    assert lit_from <= min(row["from"] for row in rows_of("sites.csv") if row["bed"] == "box")
    jobs = [row for row in rows_of("jobs.csv") if "lamp of rack" in row["note"]]
    assert [(jobs[0]["date"], jobs[0]["note"])] == [(lit_from, "switch the lamp of rack on")]
    (january,) = (
        {
            row["rate"]: float(row["kwh"])
            for row in rows_of("bill.csv")
            if (row["month"], row["zone"], row["what"]) == ("2027-01", "rack", "lamps")
        },
    )
    lit = [row for row in timers if row["from"] == lit_from]
    on, off = (int(lit[0][key][:2]) + int(lit[0][key][3:]) / 60 for key in ("on", "off"))
    lit_d = 31 - int(lit_from[8:]) + 1
    expected = 28 * 24 * 0.002 + 0.098 * ((off - on) % 24) * lit_d
    assert sum(january.values()) == pytest.approx(expected, rel=0.01)


def test_no_lamp_is_switched_in_months_in_which_it_is_off(settled_bench):
    """Held from March to May and from mid-August on; from May to July the sun is enough, no lamp is on."""
    space = settled_bench
    off = {number + 1 for number, lit in enumerate(space.month_hours[0].lit) if not lit}
    assert {5, 6, 7} <= off
    assert not {1, 2, 3, 10, 11, 12} & off
    uses = [a_use(space, 60, 75), a_use(space, 222, 140)]
    dark = dark_days(space, uses, ())
    jobs = [(job.on, job.note) for job in lamp_jobs(space, {"rack": dark["rack"]})]
    assert [note for _, note in jobs] == ["switch the lamp of rack on"]
    assert jobs[0][0] <= uses[0].held_from
    lines = [line for line in timer_lines(space, dark) if line.zone == "rack"]
    assert lines[0].output == 0
    assert all(line.output == 0 for line in lines if line.start.month in off)
