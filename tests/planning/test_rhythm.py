"""A steady plan and how regular any plan is: by hand, and from the files that the commands write."""

import csv
import json
import shutil
from collections import Counter
from datetime import date, timedelta
from pathlib import Path

import pytest
from typer.testing import CliRunner

from cropcal.cli.main import app
from cropcal.planning.regularity import usual_days
from cropcal.reading.plan_json import read_plan
from cropcal.records.rhythm import CropRhythm, Rhythm, Tally
from cropcal.show.terminal.regularity import regularity_section, regularity_sentences

pytestmark = pytest.mark.usefixtures("no_pictures")

PLANS = Path(__file__).resolve().parents[1] / "spaces" / "plans"
START = date(2027, 2, 1)


def cropcal(*words):
    return CliRunner().invoke(app, [str(word) for word in words])


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Return the folder of five pots with a steady plan: every file as ``plan --steady`` writes it."""
    folder = tmp_path_factory.mktemp("table")
    shutil.copy(PLANS / "five-sites-in-place.toml", folder / "space.toml")
    done = cropcal("plan", folder, "--steady", "--on", "2027-01-20", "--time-limit", "20")
    assert done.exit_code in (0, 1), done.output
    (folder / "said.txt").write_text(done.output, encoding="utf-8")
    return folder


def form(folder):
    return json.loads((folder / "plan" / "plan.json").read_text(encoding="utf-8"))


def sowings(folder):
    """Return the sowings of sowings.csv: the day since the start, and what is the same in every cycle."""
    with (folder / "plan" / "sowings.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            sown, cleared = (date.fromisoformat(row[name]) for name in ("sow_on", "clear_on"))
            yield (sown - START).days, (row["crop"], row["bed"], row["sites"], (cleared - sown).days)


def test_a_steady_plan_sows_the_same_in_every_cycle(folder):
    """Straight from sowings.csv: but for the start and the end, each sowing has one a cycle later.

    Before the first harvest other things may be sown; what would be cut after the end is not sown.
    """
    cycle = 7 * form(folder)["rhythm"]["cycle_weeks"]
    assert form(folder)["rhythm"]["steady"] is True
    all_sown = Counter(sowings(folder))
    assert sum(all_sown.values()) >= 6
    quickest = min(what[3] for _, what in all_sown)
    for (day, what), times in all_sown.items():
        later = day + cycle
        if later + what[3] < 30 * 7:
            assert all_sown[later, what] == times or day + what[3] < 2 * quickest
    assert any(all_sown[day + cycle, what] for day, what in all_sown)


def test_it_is_held_against_the_free_plan(folder):
    """plan.json and the screen have both; the free one is short of no more, and steady says its cycle."""
    told = form(folder)["rhythm"]
    assert told["free"]["short_want_weeks"] <= told["this"]["short_want_weeks"] + 1e-6
    assert told["this"]["short_want_weeks"] == pytest.approx(
        sum(row["short"] / row["wanted"] for row in form(folder)["supply"] if row["wanted"] and row["short"]),
        abs=0.02,
    )
    said = (folder / "said.txt").read_text(encoding="utf-8")
    assert f"the same is sown every {told['cycle_weeks']} weeks" in said
    assert "this steady plan" in said
    assert "a free plan" in said
    assert "How regular the work is" in (folder / "plan" / "report.html").read_text(encoding="utf-8")


def test_the_week_knows_its_cycle(folder):
    """The second week of the plan is the second of its cycle, on the screen and as JSON."""
    weeks = form(folder)["rhythm"]["cycle_weeks"]
    assert weeks > 1
    done = cropcal("week", folder, "--on", "2027-02-10")
    assert f"Week 2 of {weeks} of the rhythm" in done.output
    as_json = json.loads(cropcal("week", folder, "--on", "2027-02-10", "--json").stdout)
    assert as_json["cycle"] == {"week": 2, "of": weeks}


def test_planning_again_stays_steady_until_it_is_told_otherwise(folder, tmp_path):
    """Planned again without a word it keeps its cycle and all that it had planned; ``--free`` ends that."""
    here = tmp_path / "table"
    shutil.copytree(folder, here)
    weeks, before = form(here)["rhythm"]["cycle_weeks"], Counter(sowings(here))
    again = ("plan", here, "--on", START + timedelta(days=9), "--time-limit", "20")
    cropcal(*again)
    assert form(here)["rhythm"]["steady"] is True
    assert form(here)["rhythm"]["cycle_weeks"] == weeks
    assert Counter(sowings(here)) >= before
    cropcal(*again, "--free")
    assert form(here)["rhythm"] | {"crops": [], "work_days": 0, "usual_days": 0} == {
        "steady": False,
        "cycle_weeks": 1,
        "work_days": 0,
        "usual_days": 0,
        "crops": [],
        "this": None,
        "free": None,
        "service_left": False,
    }
    cropcal(*again)
    assert form(here)["rhythm"]["steady"] is False


def test_with_the_sun_nothing_repeats(tmp_path):
    """A steady plan is refused where light changes through the year, with the zone and what to do."""
    text = (PLANS / "five-sites-in-place.toml").read_text(encoding="utf-8")
    text = text.replace(
        'timezone = "Europe/Lisbon"', 'timezone = "Europe/Lisbon"\nlatitude = 39\nlongitude = -9'
    )
    text = text.replace("air_c = 20", "air_c = 20\ndaylight_share = 0.1")
    (tmp_path / "space.toml").write_text(text, encoding="utf-8")
    done = cropcal("plan", tmp_path, "--steady")
    assert done.exit_code == 2
    assert 'daylight_share in zone "table"' in done.output
    assert "plan without --steady" in done.output


@pytest.mark.parametrize(
    ("rhythm", "weeks"),
    [
        ({"steady": True, "cycle_weeks": 3}, 3),
        ({"steady": False, "cycle_weeks": 3}, 0),
        ({"steady": True, "cycle_weeks": "3"}, None),
        ({"steady": True, "cycle_weeks": 0}, None),
        ({"steady": 1, "cycle_weeks": 3}, None),
        ([], None),
        (None, 0),
    ],
)
def test_the_cycle_of_a_written_plan(rhythm, weeks, tmp_path):
    """A free plan has none; what is not a whole rhythm is a mistake."""
    form = {"batches": [], "jobs": [], "sites": [], "supply": [], "rhythm": rhythm}
    (tmp_path / "plan.json").write_text(json.dumps(form), encoding="utf-8")
    plan, problems = read_plan(tmp_path / "plan.json")
    assert (plan.cycle_weeks if plan else None) == weeks
    assert (plan is None) == bool(problems)


def test_usual_days_by_hand():
    """Tuesdays and Fridays of four weeks; lettuce by ones on Tuesdays but for a two, basil twice.

    Work days 1, 4, 8, 11, 15, 18, 22, 25. Lettuce on 1, 8, 15 (two), 22: Friday's usual number is none, 15 is
    unusual. Basil on 4 and 18 counts on 4, 8, 11, 15, 18: of its Fridays two are ones and one is none, so 11
    is unusual. From 1 to 22 there are seven work days, five usual. In a cycle of two weeks basil is usual.
    """
    days = [1, 4, 8, 11, 15, 18, 22, 25]
    counts = {"lettuce": {1: 1, 8: 1, 15: 2, 22: 1}, "basil": {4: 1, 18: 1}}
    assert usual_days(counts, days, 1) == (7, 5)
    assert usual_days({"basil": counts["basil"]}, days, 2) == (5, 5)
    assert usual_days({}, days, 1) == (0, 0)


def test_regularity_in_words(names):
    """Two crops, one always alike; a free plan speaks of weekdays, a steady one of its cycle and its cost."""
    crops = (
        CropRhythm(crop="basil-sweet", sowings=4, sizes=(1,)),
        CropRhythm(crop="lettuce-butterhead", sowings=9, sizes=(1, 2, 4)),
    )
    free = Rhythm(steady=False, cycle_weeks=1, work_days=44, usual_days=31, crops=crops)
    said = regularity_sentences(free, names)
    assert "On 31 of 44 work days" in said
    assert "usual for that weekday" in said
    assert "Sweet basil always 1; Butterhead lettuce 1, 2 or 4." in said
    tally = Tally(short_want_weeks=1.05, surplus_want_weeks=5.92, power_cost=60.6, sowings=66)
    steady = free.model_copy(update={"steady": True, "cycle_weeks": 4, "this": tally, "free": tally})
    screen = regularity_section(steady.model_copy(update={"service_left": True}), names, "EUR")
    assert "the same is sown every 4 weeks" in screen
    assert "60.60" in screen
    assert "it would break the rhythm" in " ".join(screen.split())
    assert max(map(len, screen.splitlines())) <= 80
    assert regularity_section(free.model_copy(update={"crops": ()}), names, None) == ""
    assert regularity_section(None, names, None) == ""
