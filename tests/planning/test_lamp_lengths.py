"""Lamp hours and sowings together, by whole commands: what each length costs, brings and how slow it is."""

import json
import shlex
from datetime import date
from itertools import pairwise

import pytest
from depth import few_of
from in_process import cropcal

from cropcal import open as season_of

RACK = """
[place]
timezone = "UTC"

[[zone]]
name = "top rack"
length_m = 0.9
width_m = 0.4
air_c = 20
air_moving = true
{zone}

[[bed]]
name = "box"
zone = "top rack"
sites = 6

[[fixture]]
zone = "top rack"
watts = {watts}
ppf_umol_s = {ppf}
{fixture}

[[load]]
name = "pump"
watts = 5
always = true

[tariff]
currency = "EUR"
standing_per_day = 0.2
tax_percent = 10
[[tariff.rate]]
per_kwh = 0.3
[[tariff.rate]]
name = "night"
per_kwh = 0.1
hours = [["23:00", "07:00"]]

[plan]
start = 2027-01-04
weeks = 17

[[want]]
crops = ["{crop}"]
per_week = {amount}
"""
SHELF = """
[[zone]]
name = "shelf"
length_m = 0.9
width_m = 0.4
air_c = 21

[[bed]]
name = "pots"
zone = "shelf"
sites = 4

[[fixture]]
zone = "shelf"
watts = 60
ppf_umol_s = 160

[[want]]
crops = ["lettuce-looseleaf"]
beds = ["pots"]
per_week = 1
"""
MONTH_D = 365.25 / 12


def a_rack(folder, crop="kale", ppf=250, amount=150, zone="", fixture="", more="", watts=100):
    text = RACK.format(watts=watts, ppf=ppf, crop=crop, amount=amount, zone=zone, fixture=fixture) + more
    (folder / "space.toml").write_text(text)
    return folder


def zones_of(folder, *options):
    done = cropcal("photoperiod", str(folder), "--json", *options)
    assert done.returncode == 0
    return json.loads(done.stdout)["zones"]


def as_option(zone, length):
    lit = ", ".join(f'["{on}", "{off}"]' for on, off in length["lit"])
    return f"zone.{zone}.lit=[{lit}]"


def billed_a_month(folder, *sets):
    """Return the whole bill of the planned weeks in a mean month."""
    options = [word for option in sets for word in ("--set", option)]
    months = json.loads(cropcal("bill", str(folder), "--json", *options).stdout)["months"]
    return sum(month["cost"] for month in months) / (17 * 7) * MONTH_D


@pytest.fixture(scope="module")
def kale(tmp_path_factory):
    return a_rack(tmp_path_factory.mktemp("kale"))


@pytest.fixture(scope="module")
def lengths(kale):
    return zones_of(kale)[0]["lengths"]


@pytest.fixture(scope="module")
def screen(kale):
    return cropcal("photoperiod", str(kale), "--all", env={"COLUMNS": "80"}).stdout


def test_no_length_is_slower_than_a_quarter_over_the_fewest_days(kale, lengths):
    """Days to harvest grow as hours go down, and end at 1.25 times the fewest; with --slow they go on."""
    days = [length["harvest_days"]["kale"] for length in lengths]
    assert len(lengths) >= 4
    assert days == sorted(days, reverse=True)
    assert days[0] <= 1.25 * days[-1]
    slow = [length["harvest_days"]["kale"] for length in zones_of(kale, "--slow")[0]["lengths"]]
    assert slow[0] > 1.25 * slow[-1]
    assert slow[-1] == days[-1]


def test_the_days_are_those_of_a_plan_with_these_hours(kale, lengths):
    """The forecast of one sowing, with the hours of a row in the file, is ready on the day of that row."""
    for length in (lengths[0], lengths[-1]):
        option = as_option("top rack", length)
        form = cropcal("when", str(kale), "kale", "--sown", "2027-01-04", "--json", "--set", option).stdout
        ready = date.fromisoformat(json.loads(form)["cuts"][0]["ready"]["middle"])
        assert (ready - date(2027, 1, 4)).days == pytest.approx(length["harvest_days"]["kale"], abs=1)


def test_the_cost_is_the_bill_of_that_length(kale, lengths):
    """With the hours of a row in the file, cropcal bill adds up to what the row says, all power in it."""
    for length in (lengths[0], lengths[-1]):
        billed = billed_a_month(kale, as_option("top rack", length))
        assert length["cost_per_month"] == pytest.approx(billed, abs=1e-5)


def test_more_light_brings_no_less_salad(lengths):
    """In the same luck, more hours miss no more weeks, but for what the figures are not sure of."""
    missing = [length["short_want_weeks"] for length in lengths]
    for fewer, more in pairwise(missing):
        assert more <= fewer + 0.2
    assert missing[-1] < missing[0]


def test_a_grower_takes_the_cheapest_of_those_that_miss_hardly_more(lengths):
    """The star is where nothing cheaper is within two standard errors, or a week in 50, of the least."""
    near = [
        length
        for length in lengths
        if length["over_best"] <= max(2 * length["over_best_sd"], length["wanted_want_weeks"] / 50)
    ]
    chosen = [length for length in lengths if length["chosen"]]
    assert chosen == [min(near, key=lambda length: length["cost_per_month"])]
    assert [length["picked"] for length in lengths].count(True) == 1


@pytest.mark.parametrize("name", [pytest.param("top rack", marks=pytest.mark.deep), "kid's top.rack"])
def test_the_line_to_type_plans_with_the_chosen_hours(name, kale, tmp_path):
    """What the screen says to type is a command, whatever quotes and blanks the name of the zone has."""
    text = (kale / "space.toml").read_text().replace('"top rack"', f'"{name}"')
    (tmp_path / "space.toml").write_text(text)
    screen = cropcal("photoperiod", str(tmp_path), "--all", env={"COLUMNS": "80"}).stdout
    told = screen[screen.index("Hours and sowings together") :].splitlines()
    lengths = zones_of(tmp_path)[0]["lengths"]  # the luck that is drawn goes by the name too
    chosen = next(length for length in lengths if length["chosen"])
    assert f"the simulated seasons favour {chosen['photoperiod_h']:g} h" in " ".join(screen.split())
    line = next(line for line in told if "--set" in line)
    assert max(len(row) for row in told if "cropcal plan" not in row) <= 80
    words = shlex.split(line)
    assert words[:4] == ["cropcal", "plan", str(tmp_path), "--set"]
    assert billed_a_month(tmp_path, words[4]) == pytest.approx(chosen["cost_per_month"], abs=1e-5)


def test_next_cheaper_and_next_better_are_told_with_their_price(screen, lengths):
    """Beside the star stand its neighbours: what they save and miss, or cost and bring."""
    told = " ".join(screen.split())
    chosen = next(length for length in lengths if length["chosen"])
    cheaper = [length for length in lengths if length["cost_per_month"] < chosen["cost_per_month"]][-1]
    saved = chosen["cost_per_month"] - cheaper["cost_per_month"]
    assert f"next cheaper: {cheaper['photoperiod_h']:g} h, {saved:.2f} EUR a month less" in told


@pytest.mark.deep
def test_the_same_space_gives_the_same_table(kale, lengths):
    """Nothing is drawn by the clock."""
    assert zones_of(kale)[0]["lengths"] == lengths


def test_there_is_no_table_where_there_is_no_choice(tmp_path):
    """Hours that the file gives are not varied, nor is a lamp beside a window, set by the month."""
    window = "daylight_share = 0.1"
    for number, zone in enumerate(("photoperiod_h = 12", window)):
        folder = tmp_path / f"{number}"
        folder.mkdir()
        a_rack(folder, zone=zone)
        if zone == window:
            text = (folder / "space.toml").read_text()
            place = "[place]\nlatitude = 53.3\nlongitude = -6.3\n"
            (folder / "space.toml").write_text(text.replace("[place]\n", place))
        assert [row["lengths"] for row in zones_of(folder)] == [[]]


def test_there_is_no_table_where_no_week_counts(tmp_path):
    """A plan that ends before the first harvest says nothing of missing weeks."""
    folder = a_rack(tmp_path)
    text = (folder / "space.toml").read_text()
    (folder / "space.toml").write_text(text.replace("weeks = 17", "weeks = 6"))
    assert zones_of(folder)[0]["lengths"] == []


def test_python_gives_the_same_table(kale, lengths):
    """A row a length, as the command prints in JSON."""
    table = season_of(kale).lamp_lengths()
    assert table["photoperiod_h"].tolist() == [length["photoperiod_h"] for length in lengths]
    assert table["cells"].tolist() == [length["cells"] for length in lengths]
    assert table["cost_per_month"].tolist() == pytest.approx(
        [length["cost_per_month"] for length in lengths], abs=1e-5
    )
    assert table.query("chosen")["short_want_weeks"].tolist() == pytest.approx(
        [length["short_want_weeks"] for length in lengths if length["chosen"]], abs=1e-5
    )


@pytest.mark.deep
def test_one_zone_is_varied_at_a_time(tmp_path):
    """At the picks both tables tell of the same space: the same bill, the same weeks missing."""
    folder = a_rack(tmp_path, more=SHELF)
    zones = zones_of(folder)
    picked = [next(row for row in zone["lengths"] if row["picked"]) for zone in zones]
    assert [zone["zone"] for zone in zones] == ["top rack", "shelf"]
    assert picked[0]["cost_per_month"] == picked[1]["cost_per_month"]
    assert picked[0]["cost_per_month"] == pytest.approx(billed_a_month(folder), abs=1e-5)
    for zone in zones:
        lit = {json.dumps(row["lit"]) for row in zone["lengths"]}
        assert len(lit) == len(zone["lengths"]) > 1


@pytest.mark.parametrize(
    ("crop", "ppf", "amount"),
    few_of([("basil", 400, 60), ("lettuce-butterhead", 160, 1), ("mint", 700, 40), ("chard", 110, 100)], 0),
)
def test_in_every_space_slow_lengths_are_left_out(crop, ppf, amount, tmp_path):
    """Weak lamp or strong: none in the table is slower, and the pick is among them."""
    for zone in zones_of(a_rack(tmp_path, crop=crop, ppf=ppf, amount=amount, watts=300)):
        rows = zone["lengths"]
        fewest = min((row["harvest_days"][crop] for row in rows), default=0)
        assert all(row["harvest_days"][crop] <= 1.25 * fewest for row in rows)
        assert not rows or [row["photoperiod_h"] for row in rows if row["picked"]] == [
            zone["pick"]["photoperiod_h"]
        ]


@pytest.mark.deep
def test_a_lamp_that_dims_keeps_its_output_in_the_table(tmp_path):
    """Lengths are compared at the output that is picked, and the line for the file names that output."""
    folder = a_rack(tmp_path, crop="lettuce-looseleaf", ppf=500, amount=1, fixture="dims_to = 0.4", watts=200)
    zone = zones_of(folder)[0]
    assert {row["output"] for row in zone["lengths"]} == {zone["pick"]["output"]}
    assert zone["pick"]["output"] < 1
    told = cropcal("photoperiod", str(folder), "--all").stdout
    chosen = next(row for row in zone["lengths"] if row["chosen"])
    assert "--set" not in told
    assert chosen["picked"] or f"output = {chosen['output']:g} and the watts" in " ".join(told.split())
