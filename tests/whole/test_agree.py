"""The same figure is the same on every screen, in every file and on the page.

Each space is planned once through the real command; then what several outputs say is read and compared.
"""

import csv
import html
import json
import math
import os
import re
import shutil
import subprocess
import tomllib
from datetime import date, timedelta

import pytest
from depth import few_of
from typer.testing import CliRunner

from cropcal.cli.main import app

pytestmark = pytest.mark.drawn

DIM = """
[place]
name = "Under the stairs"
[[zone]]
name = "nook"
length_m = 0.9
width_m = 0.5
photoperiod_h = 14
air_c = 21
air_moving = true
[[bed]]
name = "tub"
zone = "nook"
sites = 5
[[fixture]]
zone = "nook"
watts = 4
watts_from = "meter"
lamp_to_canopy_m = 0.4
[plan]
start = 2027-01-04
weeks = 12
[[want]]
crops = ["lettuce-butterhead"]
per_week = 1
"""
BARE = """
[[zone]]
name = "cupboard"
length_m = 0.8
width_m = 0.45
[[bed]]
name = "crate"
zone = "cupboard"
sites = 5
[[fixture]]
zone = "cupboard"
watts = 45
watts_from = "label"
[plan]
start = 2027-01-04
weeks = 14
[[want]]
crops = ["basil"]
per_week = 30
"""
SILL = """
[place]
name = "Harbour room"
timezone = "Europe/Copenhagen"
latitude = 55.7
longitude = 12.6
outdoor_kwh_m2_d = [0.5, 1.1, 2.4, 4.1, 5.3, 5.7, 5.4, 4.4, 2.9, 1.5, 0.7, 0.4]
[[zone]]
name = "sill"
length_m = 1.4
width_m = 0.35
daylight_share = 0.3
air_c = 21
[[bed]]
name = "pots"
zone = "sill"
sites = 7
[[fixture]]
zone = "sill"
watts = 42
watts_from = "meter"
ppf_umol_s = 95
lamp_to_canopy_m = 0.3
[tariff]
currency = "DKK"
[[tariff.rate]]
per_kwh = 2.4
[plan]
start = 2027-02-01
weeks = 14
[[want]]
crops = ["lettuce-butterhead"]
per_week = 1
"""
OTHER_HOURS = """
[place]
name = "Print shop"
timezone = "Europe/Copenhagen"
[[zone]]
name = "loft"
length_m = 1.1
width_m = 0.6
lit = [["14:00", "06:00"]]
air_c = 21
[[bed]]
name = "gutter"
zone = "loft"
sites = 6
[[fixture]]
zone = "loft"
watts = 130
watts_from = "meter"
lamp_to_canopy_m = 0.35
[tariff]
currency = "EUR"
[[tariff.rate]]
per_kwh = 0.4
[[tariff.rate]]
name = "night"
per_kwh = 0.2
hours = [["22:00", "06:00"]]
[plan]
start = 2027-01-04
weeks = 12
[[want]]
crops = ["lettuce-butterhead"]
per_week = 1
"""
SPACES = {"dim": DIM, "bare": BARE, "sill": SILL, "other hours": OTHER_HOURS}


def invoke(*words, codes=(0,)):
    done = CliRunner().invoke(app, [str(word) for word in words], catch_exceptions=False)
    assert done.exit_code in codes, done.output
    return done


def run(*words, codes=(0,)):
    return invoke(*words, codes=codes).stdout


class Outputs:
    """What one space says of itself, each output made when it is first asked for."""

    def __init__(self, folder):
        self.folder = folder
        done = invoke("plan", folder, "--time-limit", 5, "--on", "2026-12-28", "--all", codes=(0, 1, 3))
        self.plan, self.code = done.stdout, done.exit_code
        self.form = json.loads((folder / "plan" / "plan.json").read_text(encoding="utf-8"))
        written = (folder / "plan" / "report.html").read_text(encoding="utf-8")
        bare = re.sub(r"<(script|style)\b.*?</\1>", "", written, flags=re.DOTALL)
        cells = re.sub(r"</(td|th|p|li|caption|text|dd|dt|h\d|small)>", "\n", bare)
        self.page = html.unescape(re.sub(r"<[^>]+>", "", cells))
        self.light = run("light", folder, "--all")

    def json(self, command):
        return json.loads(run(command, self.folder, "--json"))

    def rows(self, name):
        with (self.folder / "plan" / name).open(encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))

    def wall(self):
        """Return the words of the sheet for the wall, where the tool that reads them is installed."""
        if shutil.which("pdftotext") is None:
            assert not os.environ.get("CROPCAL_NEEDS_PDFTOTEXT"), "pdftotext is not installed"
            return None
        sheet = self.folder / "plan" / "wall-sheet.pdf"
        done = subprocess.run(
            ["pdftotext", "-layout", sheet, "-"], capture_output=True, text=True, check=True
        )
        return done.stdout


@pytest.fixture(scope="module", params=few_of(SPACES, 2))
def outputs(request, tmp_path_factory):
    folder = tmp_path_factory.mktemp("agree") / "room"
    folder.mkdir()
    (folder / "space.toml").write_text(SPACES[request.param], encoding="utf-8")
    return Outputs(folder)


def test_timers(outputs):
    """The page names the hours of timers.csv, which are those used for the light."""
    rows = outputs.rows("timers.csv")
    table = outputs.page.split("How the timers are set")[1].split("What does it cost?")[0]
    shown = re.findall(r"\d\d:\d\d", table)
    times = [time for row in rows if float(row["output"]) for time in (row["on"], row["off"])]
    assert shown == times
    wall = outputs.wall()
    if wall is not None:
        assert [
            time for pair in re.findall(r"on (\d\d:\d\d) +off (\d\d:\d\d)", wall) for time in pair
        ] == times
    if outputs.form["beds"][0].get("dli_with_sun_mol_m2_d") is None:
        lit_from = {row["from"] for row in rows if float(row["output"])}
        hours = {_hours_on(rows, start) for start in lit_from}  # the same whenever the lamp is on at all
        assert [*hours] == [pytest.approx(outputs.form["beds"][0]["photoperiod_h"])]


def _hours_on(rows, day):
    """Return the hours of light on a day of the plan, by the rows of timers.csv that hold then."""
    last = max((row["from"] for row in rows if row["from"] <= day), default=None)
    lit = [row for row in rows if row["from"] == last and float(row["output"])]
    return sum(_minutes(row["off"], row["on"]) for row in lit) / 60


def _minutes(end, start):
    last, first = (60 * int(time[:2]) + int(time[3:]) for time in (end, start))
    return (last - first) % 1440 or 1440


def test_light_and_how_sure_it_is(outputs):
    """PPFD, DLI and spread are the same in ``light``, its JSON, plan.json, light.csv and the page."""
    [bed] = outputs.json("light")["beds"]
    [planned] = outputs.form["beds"]
    assert {key: planned[key] for key in ("ppfd_umol_m2_s", "dli_mol_m2_d", "sd_ln")} == {
        key: bed[key] for key in ("ppfd_umol_m2_s", "dli_mol_m2_d", "sd_ln")
    }
    [line] = [row for row in outputs.light.splitlines() if row.startswith(bed["bed"])][:1]
    assert f" {math.exp(1.2816 * bed['sd_ln']) - 1:.0%}" in line
    assert f"{bed['ppfd_umol_m2_s']['mean']:.0f}" in line.split()
    for row in outputs.rows("light.csv"):
        assert float(row["ppfd_umol_m2_s"]) == pytest.approx(bed["ppfd_umol_m2_s"]["mean"], abs=0.01)
        if "dli_with_sun_mol_m2_d" in bed:
            assert row["dli_mol_m2_d"] == ""  # it changes by month
        else:
            assert float(row["dli_mol_m2_d"]) == pytest.approx(bed["dli_mol_m2_d"]["mean"], abs=0.01)
            assert f"{bed['dli_mol_m2_d']['mean']:.1f}" in outputs.page


def test_verdicts(outputs):
    """``light``, plan.json and the page judge alike; a verdict names the worst of the months it holds in."""
    found = outputs.json("light")
    assert outputs.form["fits"] == found["fits"]
    [fit], [bed] = found["fits"], found["beds"]
    assert fit["why"] in " ".join(outputs.page.split())
    months = bed.get("dli_with_sun_mol_m2_d")
    said = re.search(r"([\d.]+) mol a day", fit["why"])
    if months and fit["verdict"] == "slow":
        first, last = 2, 5  # the planned months, February to the first days of May
        assert float(said[1]) <= min(months[first - 1 : last]) + 0.05
        assert "at worst" in fit["why"]


def test_best_lies_within_what_is_borne(outputs):
    """The best light that the page names is no more than the crop's ceiling here."""
    for most, best in re.findall(r"asks [\d.]+-([\d.]+), best ([\d.]+)", " ".join(outputs.page.split())):
        assert float(best) <= float(most)


def test_power(outputs):
    """KWh and money add up to the same on the screen, in bill.csv, plan.json, on the page, by the timers.

    ``bill`` goes by the plan: its lamps are off over empty beds, and it says what that saves.
    """
    form, bill = outputs.form, outputs.json("bill")
    kwh = sum(line["kwh"] for line in form["bill"])
    assert sum(float(row["kwh"] or 0) for row in outputs.rows("bill.csv")) == pytest.approx(kwh, abs=0.1)
    [total] = re.findall(r"^in all +([\d.]+)", outputs.plan, flags=re.MULTILINE)
    assert float(total) == pytest.approx(kwh, abs=0.5)
    if form["currency"]:
        cost = sum(line["cost"] for line in form["bill"])
        assert f"{cost:.2f}" in outputs.plan
        assert f"{cost:.2f}" in outputs.page
    timers, start = outputs.rows("timers.csv"), date.fromisoformat(form["start"])
    days = [str(start + timedelta(days=day)) for day in range(7 * form["weeks"])]
    [lamp] = tomllib.loads((outputs.folder / "space.toml").read_text(encoding="utf-8"))["fixture"]
    lit = sum(_hours_on(timers, day) for day in days) * lamp["watts"] / 1000
    assert kwh == pytest.approx(lit, abs=lamp["watts"] / 1000 + 0.01)  # the clock skips an hour in spring
    assert bill["in_all"]["kwh"] == pytest.approx(kwh)
    always_on = all(float(row["output"]) for row in timers)
    assert (bill["plan"]["saved_kwh"] == pytest.approx(0, abs=1e-6)) == always_on


def test_amounts_and_days(outputs):
    """plan.json, sowings.csv and supply.csv tell the same days and amounts, and the same shortage."""
    batches = {row["batch"]: row for row in outputs.rows("sowings.csv")}
    assert set(batches) == {batch["batch"] for batch in outputs.form["batches"]}
    for batch in outputs.form["batches"]:
        row = batches[batch["batch"]]
        assert (row["sow_on"], row["ready_from"]) == (batch["sow_on"], batch["ready_from"])
        assert float(row["amount"]) == pytest.approx(batch["amount"], abs=0.1)
    supply = outputs.rows("supply.csv")
    assert [float(row["short"]) for row in supply] == pytest.approx(
        [row["short"] for row in outputs.form["supply"]], abs=0.1
    )


def test_the_headline_counts_the_weeks(outputs):
    """The first lines tell the weeks of the wants that count, and the expected short ones of plan.json."""
    form, first = outputs.form, " ".join(outputs.plan.split("\n", 3)[1:3])
    if not form["batches"]:
        assert "no wanted crop can be grown here" in " ".join(outputs.plan.split())
        return
    end = date.fromisoformat(form["start"]) + timedelta(weeks=form["weeks"])
    counted = [
        row
        for row in form["supply"]
        if row["counted"] and row["wanted"] and date.fromisoformat(row["week"]) < end
    ]
    number = r"(\d+(?:\.\d+)?)"
    sentence = f"About {number} of {number} weekly targets will be met; {number} to {number} in four seasons"
    met, weeks, low, high = re.match(sentence, first).groups()
    assert int(weeks) == len(counted) == form["expected"]["weeks"]
    for said, name in ((met, "short_want_weeks"), (low, "short_high_80"), (high, "short_low_80")):
        assert int(weeks) - float(said) == pytest.approx(form["expected"][name], abs=0.5)
    misses = any(want["short_weeks"] > 0.05 * want["weeks"] for want in form["expected"]["wants"])
    assert outputs.code == (1 if misses else 0)


def test_what_cannot_grow_is_promised_nowhere(outputs):
    """Light that keeps a crop out of the plan lets no other screen name a harvest of it."""
    [fit], [bed] = outputs.form["fits"], outputs.form["beds"]
    sunny = "dli_with_sun_mol_m2_d" in bed  # what is too dark in winter may grow in summer
    for zone in () if sunny else outputs.json("photoperiod")["zones"]:
        for choice in zone["choices"]:
            hopeless = choice["suits"][fit["crop"]] in ("dark", "glare", "air")
            assert not hopeless or fit["crop"] not in choice["harvest_days"]
    said = run("when", outputs.folder, fit["crop"], "--all", "--sown", "2027-02-02", codes=(0, 1))
    assert ("ready" in said) == (fit["verdict"] != "no")


@pytest.fixture
def dim(tmp_path):
    (tmp_path / "space.toml").write_text(DIM, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(
    "words",
    [
        ("plan",),
        ("why",),
        *(pytest.param(("plan", word), marks=pytest.mark.deep) for word in ("--steady", "--free")),
    ],
    ids=" ".join,
)
def test_where_nothing_grows_it_says_why_and_what_to_do(dim, words):
    """No traceback, exit code 3, the reason in the first lines, and what would help."""
    said = run(*words, dim, codes=(3,))
    start = " ".join(said.split("\n\nPower")[0].split())
    assert "no wanted crop can be grown here" in start
    assert "0.4 mol a day, far below 6.5, the least tested" in start
    assert "W more of the same kind of lamp; then it grows well" in start
    assert "cropcal crops" in start


def test_the_week_of_an_empty_plan_points_to_the_reasons(dim):
    """Before the plan begins too: nothing is not called a plan that begins later."""
    run("plan", dim, codes=(3,))
    assert "The plan has no jobs" in run("week", dim, "--on", "2026-12-01")


def test_a_lamp_that_is_never_on_is_off_all_year():
    """A list of all months is not a list of none."""
    from cropcal.records.daylight import month_spans

    assert month_spans(range(12)) == "all year"


def test_new_and_light_know_the_light_alike(tmp_path):
    """A lamp known by its label is as sure in ``new`` as in ``light``."""
    folder = tmp_path / "shelf"
    first = run("new", folder, "--yes", "--all", codes=(0,))
    [known] = re.findall(r"known to within (\d+%) now", " ".join(first.split()))
    assert f"now {known};" in " ".join(run("light", folder, "--all").split())
