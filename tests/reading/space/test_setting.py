"""``--set``: keys and values as people type them and as shells leave them; nothing is ever written."""

import json
import tomllib
from datetime import date

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from in_process import cropcal

from cropcal.reading.space.read import read_space_with
from cropcal.reading.space.setting import with_settings
from cropcal.reading.space.setting_key import split_option
from cropcal.reading.space.setting_value import NoValueError, read_value
from cropcal.reading.text.key_types import KeyType
from cropcal.reading.text.source import SourceText
from cropcal.reading.text.toml_locations import find_locations

TODAY = date(2026, 12, 1)

TWO = """
[[zone]]
name = "top shelf"
length_m = 1.0
width_m = 0.5
lit = [["18:00", "10:00"]]
lamp_on_air_c = 23
lamp_off_air_c = 19

[[zone]]
name = "low, left"
length_m = 1.0
width_m = 0.5
photoperiod_h = 16

[[bed]]
name = "a"
zone = "top shelf"
rows = 2
columns = 3

[[bed]]
name = "b"
zone = "low, left"
sites = 4

[[fixture]]
zone = "top shelf"
watts = 80

[[fixture]]
zone = "low, left"
watts = 40

[[load]]
name = "pump"
watts = 5
on_minutes = 10
every_minutes = 60

[tariff]
currency = "EUR"
[[tariff.rate]]
name = "day"
per_kwh = 0.3
[[tariff.rate]]
name = "night"
per_kwh = 0.2
hours = [["23:00", "07:00"]]

[plan]
start = 2027-01-04
weeks = 12
work_days = ["wed"]

[[want]]
crops = ["lettuce-butterhead"]
per_week = 2

[[want]]
crops = ["basil"]
"""

ONE = """
[[zone]]
name = "shelf"
length_m = 1.0
width_m = 0.5

[[bed]]
name = "pots"
zone = "shelf"
sites = 6

[[fixture]]
zone = "shelf"
watts = 100

[plan]
start = 2027-01-04
weeks = 10

[[want]]
crops = ["lettuce-looseleaf"]
per_week = 1
"""


def source_of(text: str) -> SourceText:
    return SourceText("space.toml", find_locations(text), tomllib.loads(text))


@pytest.fixture
def tried(tmp_path, tables):
    """Return a function from options to the space, the changes and the problems, for the file TWO."""

    def read(*options: str, text: str = TWO):
        (tmp_path / "space.toml").write_text(text, encoding="utf-8")
        return read_space_with(tmp_path, tables, options, "space.toml", today=TODAY)

    return read


def quoted(name: str) -> str:
    """Write a name as TOML does: JSON's escapes, and one for the control character that JSON lets be."""
    return json.dumps(name, ensure_ascii=False).replace("\x7f", "\\u007f")


NAMES = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=20)


@given(NAMES)
def test_any_name_in_quotes_is_found(name):
    """Dots, quotes, = and every script may stand in a name: in quotes it is that name and no other."""
    assume(name != "low, left")
    source = source_of(TWO.replace('"top shelf"', quoted(name)))
    for key in (f"zone.{quoted(name)}.photoperiod_h=14", f" zone . {quoted(name)} . photoperiod_h = 14"):
        assert split_option(source, key)[:2] == (("zone", 0), "photoperiod_h")


@given(NAMES.filter(lambda name: name == name.strip()))
def test_any_name_is_found_without_its_quotes(name):
    """A shell eats quotes: what is left still names the zone."""
    assume(name != "low, left")
    source = source_of(TWO.replace('"top shelf"', quoted(name)))
    assert split_option(source, f"zone.{name}.photoperiod_h=14") == (("zone", 0), "photoperiod_h", "14")
    assert split_option(source, "zone.low, left.photoperiod_h=14")[0] == ("zone", 1)


@pytest.mark.parametrize(
    ("option", "path"),
    [
        ("zone.2.lit=", ("zone", 1)),
        ("zone[2].lit=", ("zone", 1)),
        ("zone.'low, left'.lit=", ("zone", 1)),
        ("fixture.low, left.watts=30", ("fixture", 1)),
        ("want.basil.per_week=3", ("want", 1)),
        ("load.watts=3", ("load", 0)),
        ("plan.weeks=3", ("plan",)),
        ("tariff.currency=GBP", ("tariff",)),
        ("tariff.rate.night.per_kwh=0.1", ("tariff", "rate", 1)),
        ("tariff.rate.1.per_kwh=0.1", ("tariff", "rate", 0)),
    ],
)
def test_a_table_goes_by_name_number_or_alone(option, path):
    """By its name, its number from 1, what it belongs to, or nothing where there is only one."""
    assert split_option(source_of(TWO), option)[0] == path


@pytest.mark.parametrize(
    ("text", "sort", "value"),
    [
        ("14", "number", 14),
        ("-0.5", "number", -0.5),
        (".5", "number", 0.5),
        ("5.", "number", 5.0),
        ("08", "number", 8),
        ("true", "yes or no", True),
        ("HPS", "choice", "HPS"),
        ('"HPS"', "choice", "HPS"),
        ("“white LED”", "text", "white LED"),
        ("white LED", "text", "white LED"),
        ("42", "text", "42"),
        ("2027-02-01", "date", date(2027, 2, 1)),
        ("[wed, sat]", "list", ["wed", "sat"]),
        ("[long box, trays]", "list", ["long box", "trays"]),
        ("[[17:00,09:00]]", "list", [["17:00", "09:00"]]),
        ("[{hours=[[09:00,17:00]],days=[mon]}]", "list", [{"hours": [["09:00", "17:00"]], "days": ["mon"]}]),
        ("[[1, 2.5], [3, 4]]", "list", [[1, 2.5], [3, 4]]),
        ("", "number", None),
        ("none", "text", None),
        ("1\nother = 2", "number", "1\nother = 2"),
    ],
)
def test_values_as_shells_leave_them(text, sort, value):
    """A TOML value, or the same without its quotes; nothing, or none, takes the key out."""
    got, toml = read_value(text, KeyType(sort))
    assert got == value
    assert type(got) is type(value)
    if value is not None:
        assert tomllib.loads(f"value = {toml}")["value"] == value


def test_open_brackets_are_no_value():
    """Half a list is neither a list nor a word."""
    with pytest.raises(NoValueError, match="09:00"):
        read_value("[[17:00, 09:00]", KeyType("list"))


@given(st.one_of(st.integers(-(10**6), 10**6), st.floats(-1e6, 1e6)))
def test_numbers_come_back(number):
    """Whatever number is typed is the number that is tried."""
    assert read_value(f"{number!r}", KeyType("number"))[0] == number


@pytest.mark.parametrize(
    ("option", "gone"),
    [
        ("zone.top shelf.photoperiod_h=14", ["lit"]),
        ("zone.2.lit=[[06:00,20:00]]", ["photoperiod_h"]),
        ("zone.1.air_c=20", ["lamp_off_air_c", "lamp_on_air_c"]),
        ("bed.a.sites=5", ["columns", "rows"]),
        ("load.always=true", ["every_minutes", "on_minutes"]),
    ],
)
def test_the_other_way_to_say_it_goes(tried, option, gone):
    """Of two keys that exclude each other the tried one stays, and the change says which went."""
    space, changes, problems = tried(option)
    assert problems == []
    assert space is not None
    pushed = [change for change in changes if change.now is None]
    assert [change.key.rpartition(".")[2] for change in pushed] == gone
    key = option.partition("=")[0].rpartition(".")[2]
    assert {change.because for change in pushed} == {key}
    assert changes[-1].key.endswith(f".{key}")


def test_values_take_the_place_of_the_files(tried):
    """Several at once; what is not touched stays; the changes tell what the file says."""
    space, changes, problems = tried("plan.weeks=8", "fixture.1.watts=60", "place.name=attic")
    assert problems == []
    assert (space.settings.weeks, space.place.name) == (8, "attic")
    assert [fixture.watts for fixture in space.fixtures] == [60, 40]
    assert [(change.key, change.before, change.now) for change in changes] == [
        ("plan.weeks", "12", "8"),
        ("fixture[1].watts", "80", "60"),
        ("place.name", None, "attic"),
    ]


def test_the_data_of_the_file_is_left_alone():
    """The comparison is with the file as it is: it must not be changed."""
    source = source_of(TWO)
    before = json.dumps(dict(source.data), default=str)
    with_settings(source, ["zone.1.photoperiod_h=14", "zone.2.length_m=3", "tariff.rate.1.per_kwh=1"])
    assert json.dumps(dict(source.data), default=str) == before


@pytest.mark.parametrize(
    ("option", "said"),
    [
        ("plan.weeks", "no =, expected KEY=VALUE"),
        ("=3", "no key"),
        ("zones.1.lit=", 'no table zones, expected a table first: place, tariff, plan, care, zone'),
        ("zones.1.lit=", 'did you mean "zone"?'),
        ("weeks=3", "did you mean plan.weeks?"),
        ("width_m=3", "did you mean zone.width_m or bed.width_m or fixture.width_m?"),
        ("top shelf.lit=", 'did you mean zone."top shelf".lit?'),
        ("zone.top shlef.lit=", 'no zone "top shlef", expected the name of a zone, did you mean "top '),
        ('zone."low left".lit=', 'did you mean "low, left"?'),
        ("zone.photoperiod_h=14", 'zone."top shelf".photoperiod_h, zone."low, left".photoperiod_h'),
        ("want.letuce.per_week=3", 'no want "letuce", expected a crop that a want has, there are "basil"'),
        ("zone.3.lit=", "zone 3, expected a number from 1 on, the file has 2"),
        ("zone.0.lit=", "zone 0, expected a number from 1 on"),
        ("load.2.watts=3", "the file has only one"),
        ("zone.top shelf=3", "no key behind the name of the zone"),
        ("zone.1=3", "no key behind the name of the zone"),
        ("zone=3", "no key of zone"),
        ("plan=3", "no key of plan"),
        ("reading.1.lux=300", "no [[reading]] in the file"),
        ("tariff.night.per_kwh=1", "did you mean tariff.rate.night?"),
        ("zone.1.lit[1][2]=09:00", "a part of lit, expected the whole value, as in zone.1.lit=[...]"),
        ("zone.1.lit=[[17:00,09:00]", "[[17:00,09:00], expected a value as in the file, close every bracket"),
        ("plan.work_days=wed,sat", "wed,sat, expected a list in brackets, write [wed,sat]"),
        ("plan.breaks=", "no plan.breaks to take out"),
        ("plan.week=3", 'the unknown key week, expected a key of [plan], did you mean "weeks"?'),
        ("plan.weeks=0", "found 0, expected a whole number of weeks from 1 to 156"),
        ("plan.weeks=ten", "found ten, expected a whole number of weeks from 1 to 156"),
        ("plan.start=1.2.2027", "expected a date like 2027-01-04, write year-month-day"),
        ("fixture.1.watts=60W", "leave out the unit: 60"),
        ("tariff.rate.night.per_kwh=0,17", "a price per kWh from 0 to 1000, write a point: 0.17"),
        ("fixture.1.lamp=hps", 'did you mean "HPS"?'),
        ("zone.2.photoperiod_h=960", "looks like minutes: 16"),
        ("zone.1.air_moving=yes", "write true"),
        ("zone.1.lit=[[17:00,9]]", 'lit[1][2]: found 9, expected a time of day like "06:30", write "09:00"'),
        ("want.1.crops=[letuce-romaine]", 'found "letuce-romaine"'),
    ],
)  # fmt: skip
def test_a_slip_is_told_once_and_by_its_option(tried, option, said):
    """One message, whose place is the option as typed and not a line of the file."""
    space, _, problems = tried(option)
    assert space is None
    assert [problem.where.path for problem in problems] == [f"--set {option}"]
    assert problems[0].where.line is None
    assert said in str(problems[0])


def test_a_table_of_two_is_asked_for(tried):
    """Two lamps over one zone: its name alone does not tell which."""
    more = TWO + '\n[[fixture]]\nzone = "top shelf"\nwatts = 10\n'
    _, _, problems = tried("fixture.top shelf.watts=5", text=more)
    assert "write fixture.1.watts or fixture.3.watts" in str(problems[0])


def test_a_key_twice_is_told(tried):
    """Two values for one key: nobody knows which is meant."""
    _, _, problems = tried("zone.1.length_m=1", "zone.top shelf.length_m=2")
    assert [str(problem) for problem in problems] == [
        '--set zone.top shelf.length_m=2: found zone."top shelf".length_m twice, expected each key once'
    ]


def test_a_mistake_elsewhere_names_what_caused_it(tried):
    """A zone that shrinks lets a bed stick out: the bed has its line, and the hint says why."""
    text = TWO.replace("columns = 3\n", "columns = 3\nlength_m = 0.8\nwidth_m = 0.4\n")
    _, _, problems = tried("zone.1.length_m=0.5", text=text)
    assert problems
    assert all(problem.where.line is not None for problem in problems)
    assert all(problem.hint.endswith("with --set zone.1.length_m=0.5") for problem in problems)


@pytest.mark.parametrize("text", ["zone = 3", "zone = [3]", "plan = 3", "tariff = 3", "[tariff]\nrate = 3"])
def test_a_broken_file_does_not_break_it(tried, text):
    """Any value in place of a table gives problems and no crash."""
    for option in ("zone.lit=[]", "plan.weeks=3", "tariff.currency=GBP", "tariff.rate.per_kwh=1"):
        assert tried(option, text=text)[2]


@pytest.fixture
def shelf(tmp_path):
    """Return a folder with a space whose light is known from the watts of its one lamp."""
    (tmp_path / "space.toml").write_text(ONE, encoding="utf-8")
    return tmp_path


def test_half_the_watts_give_half_the_light(shelf):
    """The light of a lamp goes with its watts; both forms are there, and the screen says so too."""
    told = cropcal("light", "--set", "fixture.watts=50", "--json", cwd=shelf)
    assert told.returncode == 0, told.stderr
    form = json.loads(told.stdout)
    now, before = form["beds"][0]["ppfd_umol_m2_s"], form["set"]["before"]["beds"][0]["ppfd_umol_m2_s"]
    assert now["mean"] == pytest.approx(before["mean"] / 2, abs=1e-5)
    change = next(one for one in form["set"]["changes"] if one["key"] == "beds[pots].ppfd_umol_m2_s.mean")
    assert (change["before"], change["after"]) == (before["mean"], now["mean"])
    assert form["set"]["given"][0] == {"key": "fixture[1].watts", "before": "100", "now": "50", "because": ""}
    screen = cropcal("light", "--all", "--set", "fixture.watts=50", cwd=shelf).stdout
    row = next(line for line in screen.splitlines() if line.startswith("pots: PPFD µmol/m²/s, mean"))
    assert row.split()[-2:] == [f"{before['mean']:.0f}", f"{now['mean']:.0f}"]
    assert screen.index("with --set") < screen.index("based on")


def test_what_changes_nothing_is_said(shelf):
    """A change without effect on this command is reported as such, not as an empty table."""
    told = cropcal("light", "--set", "plan.weeks=5", cwd=shelf)
    assert "It changes nothing on this screen." in told.stdout


def test_a_trial_writes_nothing(shelf):
    """The file keeps its bytes and no plan appears, whatever is tried with which command."""
    before = (shelf / "space.toml").read_bytes()
    for words in (["plan"], ["week", "--on", "2027-01-06"], ["bill"], ["crops"], ["check"]):
        told = cropcal(*words, "--set", "want.1.per_week=2", cwd=shelf)
        assert told.returncode in (0, 1), told.stderr
        assert "want[1].per_week = 2 (in the file: 1)" in told.stdout
    assert (shelf / "space.toml").read_bytes() == before
    assert [path.name for path in shelf.iterdir()] == ["space.toml"]


def test_a_plan_that_was_tried_is_not_taken_for_the_files_own(shelf):
    """With --out it is written and says so; week does not read it, for the file says something else."""
    told = cropcal("plan", "--set", "want.1.per_week=2", "--out", "plan", cwd=shelf)
    assert "All of it: open plan/report.html, or cropcal plan . --all" in told.stdout
    written = json.loads((shelf / "plan" / "plan.json").read_text(encoding="utf-8"))
    assert written["set"]["given"][0]["now"] == "2"
    assert "one was made for this answer only" in cropcal("week", "--on", "2027-01-06", cwd=shelf).stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["light", "--set", "plan.weeks", "=", "3"], "no spaces around ="),
        (["light", "--set", "zone.top", "shelf.lit="], "quotes around all of it"),
        (["bill", "--set", "plan.weeks=0"], "--set plan.weeks=0: plan.weeks: found 0"),
        (["check", "--set", "fixture.lamp=sun"], "--set fixture.lamp=sun: fixture[1].lamp: found sun"),
        (["when", "basil", "--sown", "2027-01-05", "--set", "zone.shelff.air_c=20"], 'did you mean "shelf"?'),
    ],
)
def test_a_command_tells_a_slip_and_stops(shelf, words, said):
    """Exit code 2 and a message that helps, before anything is worked out."""
    told = cropcal(*words, cwd=shelf)
    assert told.returncode == 2
    assert said in " ".join(told.stderr.split())
    assert "Traceback" not in told.stderr
