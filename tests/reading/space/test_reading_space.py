"""space.toml is read whole, or every mistake in it is reported with its line, in our own words."""

import random
import re
from datetime import date
from pathlib import Path

import pytest
from depth import few_of

from cropcal.problems import Problem, Where
from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.space.defaults import BOARD_W_M2_K, DRIFT_M_S, HEIGHT_M
from cropcal.reading.space.read import read_space, read_space_text
from cropcal.reading.text.key_types import fields
from cropcal.reading.text.suggestions import phrase
from cropcal.reading.text.toml_mistakes import INNER, MANY, SINGLE
from cropcal.records.space import Prices, Quiet, photoperiod_h
from cropcal.records.tariff import Block

HERE = Path(__file__).resolve().parents[2] / "spaces"
GOOD = sorted((HERE / "good").glob("*.toml"))
BAD = sorted((HERE / "bad").glob("*.toml"))
WEDNESDAY = date(2027, 1, 6)
EXPECT = "# expect: "

MINIMAL = """\
[[zone]]
name = "shelf"
length_m = 0.9
width_m = 0.4

[[bed]]
name = "box"
zone = "shelf"

[[fixture]]
zone = "shelf"
watts = 45

[[want]]
crops = ["lettuce-butterhead"]
"""


@pytest.fixture(autouse=True)
def _a_computer_in_lisbon(monkeypatch):
    """Keep the timezone of the machine that runs the tests out of them."""
    monkeypatch.setenv("TZ", "Europe/Lisbon")


@pytest.fixture
def read(few_crops):
    """Return a reader of a text."""
    return lambda text: read_space_text(text, few_crops, today=WEDNESDAY)


def told(problem: Problem) -> str:
    """Return a problem as the first lines of a bad space write it: its line instead of its file and line."""
    line = problem.where.line or "-"
    return f"{line}:{str(problem).removeprefix(str(problem.where)).removeprefix(':')}"


@pytest.mark.parametrize("path", GOOD, ids=[path.stem for path in GOOD])
def test_a_good_space_is_read(path, few_crops):
    """A file of served keys gives a space and no problem."""
    space, problems = read_space(path, few_crops, today=WEDNESDAY)
    assert problems == []
    assert space is not None


@pytest.mark.parametrize("path", BAD, ids=[path.stem for path in BAD])
def test_a_bad_space_tells_exactly_its_mistakes(path, few_crops):
    """Each file lists in its first lines what is to be said about it: no more, no less, in that order."""
    lines = path.read_text(encoding="utf-8").splitlines()
    expected = [line.removeprefix(EXPECT) for line in lines if line.startswith(EXPECT)]
    assert expected
    space, problems = read_space(path, few_crops, today=WEDNESDAY)
    assert [told(problem) for problem in problems] == expected
    assert space is None


@pytest.mark.parametrize("path", GOOD, ids=[path.stem for path in GOOD])
def test_a_good_space_is_read_with_the_shipped_tables(path):
    """The crops and lamps of the good files are those that come with the planner."""
    tables, _ = read_crop_tables(None)
    assert tables is not None
    assert read_space(path, tables, today=WEDNESDAY)[1] == []


def test_problems_carry_their_fields(read):
    """What is printed is also there to be used: file, line, key, found, expected, hint."""
    _, problems = read(MINIMAL.replace("0.9", "120"))
    assert problems == [
        Problem(
            Where("space.toml", 3),
            "zone.shelf.length_m",
            "120",
            "a length in metres above 0 up to 50",
            "looks like centimetres: 1.2",
        )
    ]


def test_a_key_is_named_as_people_find_it(read):
    """Tables go by name where that tells them apart, else by place, counted from 1."""
    zone = "[[zone]]\nname = {}\nlength_m = 0\nwidth_m = 1\n\n"
    names = ['"rack, top"', '"twin"', '"twin"', "7", '"0"', '"a.b"', '"say \\"hi\\""', '"ü"', '"plain_1"']
    text = "".join(zone.format(name) for name in names) + MINIMAL
    _, problems = read(text)
    assert [problem.key for problem in problems if problem.key.endswith("length_m")] == [
        'zone."rack, top".length_m',
        "zone[2].length_m",
        "zone[3].length_m",
        "zone[4].length_m",
        'zone."0".length_m',
        'zone."a.b".length_m',
        'zone."say \\"hi\\"".length_m',
        'zone."ü".length_m',
        "zone.plain_1.length_m",
    ]


def test_the_validator_never_speaks_to_the_user():
    """No expected message holds a word or an address of the library that checks types."""
    leaks = re.compile(
        r"pydantic|https?:|Input should|valid (string|integer|number)|\bNone\b|tuple|dict\b|_type"
    )
    for path in BAD:
        for line in path.read_text(encoding="utf-8").splitlines():
            if line.startswith(EXPECT):
                assert not leaks.search(line), f"{path.name}: {line}"


# ---- the file itself

NO_FILE = "no such file, expected a space.toml, or a folder with one, cropcal new writes one"


def test_the_folder_and_the_file_are_the_same_space(tmp_path, few_crops):
    """A space can be named by its folder or by its file."""
    (tmp_path / "space.toml").write_text(MINIMAL, encoding="utf-8")
    by_folder = read_space(tmp_path, few_crops, today=WEDNESDAY)
    assert by_folder == read_space(tmp_path / "space.toml", few_crops, today=WEDNESDAY)
    assert by_folder[1] == []


def test_a_problem_names_the_path_as_typed(tmp_path, few_crops, monkeypatch):
    """A relative path stays relative, so that an editor can jump to it."""
    monkeypatch.chdir(tmp_path)
    Path("attic").mkdir()
    Path("attic/space.toml").write_text(MINIMAL.replace("0.9", "0"), encoding="utf-8")
    for path in (Path("attic"), Path("attic/space.toml")):
        _, (problem,) = read_space(path, few_crops, today=WEDNESDAY)
        assert str(problem.where) == str(Path("attic/space.toml")) + ":3"
    _, (problem,) = read_space(Path("attic"), few_crops, "~/attic/space.toml", today=WEDNESDAY)
    assert str(problem.where) == "~/attic/space.toml:3"


def test_the_current_folder_is_not_spelt_out(tmp_path, few_crops, monkeypatch):
    """With no path typed the file is just space.toml."""
    monkeypatch.chdir(tmp_path)
    _, (problem,) = read_space(Path(), few_crops, today=WEDNESDAY)
    assert str(problem) == f"space.toml: found {NO_FILE}"


NOTHING = (
    "an empty file, expected at least a [[zone]], a [[bed]], a [[fixture]] and a [[want]],"
    " cropcal new writes one"
)
BROKEN = "a quote, bracket or comma may be missing here or on the line before"
FILES = {
    "missing": (None, f"-: found {NO_FILE}"),
    "empty": (b"", f"-: found {NOTHING}"),
    "comments": (b"# nothing yet\n\n", f"-: found {NOTHING}"),
    "latin-1": (
        MINIMAL.replace("shelf", "rét").encode("latin-1"),
        "2: found a byte that is not UTF-8 (0xe9), expected text in UTF-8, save the file as UTF-8",
    ),
    "utf-16": (
        MINIMAL.encode("utf-16"),
        "-: found text saved as UTF-16, expected UTF-8, save it as UTF-8",
    ),
    "cut off": (
        MINIMAL.replace('butterhead"]', "").encode(),
        '15: found crops = ["lettuce-, expected valid TOML, close the quotes',
    ),
    "null byte": (
        MINIMAL.replace("0.4", "0.4\0").encode(),
        f"4: found width_m = 0.4\N{REPLACEMENT CHARACTER}, expected valid TOML, {BROKEN}",
    ),
}


@pytest.mark.parametrize("case", list(FILES))
def test_a_file_that_is_no_space(case, tmp_path, few_crops):
    """A file that is missing, empty, or no text has one plain problem."""
    data, expected = FILES[case]
    path = tmp_path / "space.toml"
    if data is not None:
        path.write_bytes(data)
    space, (problem,) = read_space(path, few_crops, today=WEDNESDAY)
    assert space is None
    assert told(problem) == expected


def test_a_folder_without_a_space(tmp_path, few_crops):
    """A folder in which there is no space.toml, and one in which that is a folder, are distinguished."""
    _, (problem,) = read_space(tmp_path, few_crops, today=WEDNESDAY)
    assert (problem.where.path, problem.found) == (str(tmp_path / "space.toml"), "no such file")
    (tmp_path / "space.toml").mkdir()
    for path in (tmp_path, tmp_path / "space.toml"):
        _, (problem,) = read_space(path, few_crops, today=WEDNESDAY)
        assert (problem.where.path, problem.found) == (str(tmp_path / "space.toml"), "a folder")


@pytest.mark.parametrize("name", ["x" * 5000, "nul\0byte", "space.toml/space.toml"])
def test_a_path_no_file_can_have(name, tmp_path, few_crops):
    """Odd paths are a problem, not a traceback."""
    (tmp_path / "space.toml").write_text(MINIMAL, encoding="utf-8")
    space, (problem,) = read_space(tmp_path / name, few_crops, today=WEDNESDAY)
    assert space is None
    assert problem.found in (
        "a file that cannot be read",
        "no such file",
        "file name too long",
        "not a directory",
    )


def test_a_byte_order_mark_and_line_ends_of_windows_are_accepted(tmp_path, few_crops):
    """What Windows editors add changes neither the space nor the lines of its problems."""
    windows = "\ufeff" + MINIMAL.replace("\n", "\r\n")
    path = tmp_path / "space.toml"
    path.write_bytes(windows.encode("utf-8"))
    space, problems = read_space(path, few_crops, today=WEDNESDAY)
    assert problems == []
    assert space == read_space_text(MINIMAL, few_crops, today=WEDNESDAY)[0]
    path.write_bytes(windows.replace("45", "4500000").encode("utf-8"))
    _, (problem,) = read_space(path, few_crops, today=WEDNESDAY)
    assert (problem.where.line, problem.found) == (12, "4500000")


@pytest.mark.parametrize(
    "text", ["a = " + "[" * 100_000, "a = " + "{b=" * 100_000, "a = " + "9" * 5000, "a = 0x" + "f" * 5000]
)
def test_texts_made_to_break_a_reader(text, read):
    """Endless brackets and endless numbers are reported without a crash."""
    space, problems = read(text)
    assert space is None
    assert len(problems) >= 1


# ---- what is read


def test_everything_that_is_served_arrives(few_crops):
    """Values of one file, in several spellings of TOML, are those a person reads there."""
    space, _ = read_space(HERE / "good" / "everything.toml", few_crops, today=WEDNESDAY)
    assert space.place.name == "Harbour school kitchen"
    assert space.place.timezone == "Europe/Lisbon"
    zone = space.zone("bench, window side")
    assert zone.lit == ((5 * 60 + 30, 12 * 60), (13 * 60, 22 * 60 + 30))
    assert photoperiod_h(zone) == 16.0
    assert zone.quiet[0].days == ("mon", "tue", "wed", "thu", "fri")
    assert zone.quiet[1].hours == ((22 * 60 + 30, 5 * 60),)
    assert (zone.lamp_on_air_c, zone.lamp_off_air_c, zone.air_c) == (24.0, 18.5, None)
    assert space.bed("grey tub").site_count == 10
    assert space.fixtures[0].ppf_umol_s == 110.0
    assert space.readings[0].umol_m2_s[1] == (185.0, 214.0, 228.0, 207.0, 181.0)
    assert [load.name for load in space.loads] == ["air pump", "stirrer", "heat mat", "flood pump"]
    assert (space.loads[0].zone, space.loads[1].zone) == ("bench, window side", None)
    assert space.fixtures[0].standby_watts == 0.5
    assert [rate.is_base for rate in space.tariff.rate] == [True, False, False]
    assert [block.up_to_kwh for block in space.tariff.rate[0].blocks] == [200.0, 300.0, None]
    assert [rate.per_kwh for rate in space.tariff.rate] == [None, 0.12, 0.14]
    assert space.tariff.holidays == (date(2027, 3, 26), date(2027, 12, 25))
    assert (space.tariff.round, space.tariff.other_use_kwh_per_month) == ("line", 240.0)
    assert space.settings.start == date(2027, 2, 1)
    assert (space.settings.sow, space.settings.prices) == ("sparing", Prices(surplus=0.4, site_week=0))
    assert space.settings.breaks[1] == (date(2027, 7, 19), date(2027, 8, 27))
    assert (space.wants[0].from_, space.wants[0].until) == (date(2027, 3, 1), date(2027, 8, 20))
    assert (space.care.eaten_by, space.care.children) == ("school", True)
    assert [(item.key, item.value) for item in space.assumed] == [("want[2].unit", "g")]


def test_the_least_file_lists_all_it_takes_for_granted(read):
    """A zone's size, a bed, a lamp's watts and a crop are enough; all else is said to be assumed."""
    space, problems = read(MINIMAL)
    assert problems == []
    assert {item.key: item.value for item in space.assumed} == {
        "place.name": "my space",
        "place.timezone": "Europe/Lisbon",
        "zone.shelf.air_c": "21",
        "zone.shelf.air_moving": "false",
        "bed.box.sites": "1",
        "bed.box": "0.9 m by 0.4 m",
        "fixture[1].lamp": "white LED",
        "fixture[1].watts_from": "label",
        "fixture[1].lamp_to_canopy_m": "0.3",
        "tariff": "no price given",
        "plan.start": "2027-01-11",
        "plan.weeks": "26",
        "plan.work_days": "wed sat",
        "plan.clean_days": "1",
        "plan.sow": "usual",
        "want[1].unit": "heads",
        "care.eaten_by": "household",
    }
    assert all(item.why for item in space.assumed)
    assert (space.zones[0].photoperiod_h, space.zones[0].lit, space.zones[0].air_c) == (None, None, 21.0)
    bed = space.beds[0]
    assert (bed.sites, bed.length_m, bed.width_m) == (1, pytest.approx(0.9), pytest.approx(0.4))
    assert (space.fixtures[0].lamp_to_canopy_m, space.tariff, space.wants[0].unit) == (0.3, None, "heads")
    assert space.settings.start == date(2027, 1, 11)


@pytest.mark.parametrize(
    ("today", "start"),
    [
        (date(2027, 1, 4), date(2027, 1, 4)),
        (date(2027, 1, 5), date(2027, 1, 11)),
        (date(2027, 1, 10), date(2027, 1, 11)),
        (date(2027, 12, 31), date(2028, 1, 3)),
    ],
)
def test_a_plan_without_a_start_begins_on_a_monday(today, start, few_crops):
    """Today if it is one, else the next; by the calendar."""
    space, _ = read_space_text(MINIMAL, few_crops, today=today)
    assert space.settings.start == start


def test_one_air_temperature_stands_for_the_other(read):
    """Lamp on without lamp off is taken for both, and the other way round."""
    for given, lacking in (("lamp_on_air_c", "lamp_off_air_c"), ("lamp_off_air_c", "lamp_on_air_c")):
        space, _ = read(MINIMAL.replace("width_m = 0.4", f"width_m = 0.4\n{given} = 18"))
        zone = space.zones[0]
        assert (zone.lamp_on_air_c, zone.lamp_off_air_c, zone.air_c) == (18.0, 18.0, None)
        assert f"zone.shelf.{lacking}" in {item.key for item in space.assumed}


@pytest.mark.parametrize(
    ("keys", "fan", "loss"),
    [
        # open: air drifts by 0.05 m/s through half of 2 x (0.9 + 0.4) x 0.6 m2, 1200 J/m3K
        ("room_c = 19", 0.0, 1200 * 0.05 * (0.9 + 0.4) * 0.6),
        # closed: 2.8 W/m2K through four walls and the lid, 2 x (0.9 + 0.4) x 0.6 + 0.36 m2
        ("room_c = 19\nfan_m3_h = 0", 0.0, 2.8 * (2.6 * 0.6 + 0.36)),
        ("room_c = 19\nfan_m3_h = 40", 40.0, 2.8 * (2.6 * 0.6 + 0.36)),
        ("room_c = 19\nwall_reflectance = 0.9", 0.0, 2.8 * (2.6 * 0.6 + 0.36)),
        # a white back only: three sides open
        (
            "room_c = 19\nwall_reflectance = [0, 0, 0, 0.9]",
            0.0,
            2.8 * 0.9 * 0.6 + 1200 * 0.05 * (0.9 + 0.8) * 0.6 / 2,
        ),
        ("room_c = 19\nloss_w_per_k = 6.5", 0.0, 6.5),
    ],
)
def test_what_is_taken_for_a_zone_in_a_room(keys, fan, loss, read):
    """A room's air alone will do: the walls and the drift through open sides are taken, and said so."""
    space, problems = read(MINIMAL.replace("width_m = 0.4", f"width_m = 0.4\n{keys}"))
    assert problems == []
    zone = space.zones[0]
    assert (zone.room_c, zone.air_c, zone.lamp_on_air_c, zone.fan_m3_h) == (19.0, None, None, fan)
    assert zone.loss_w_per_k == pytest.approx(loss, rel=0.005)
    told = {item.key for item in space.assumed}
    for key in ("fan_m3_h", "loss_w_per_k"):
        assert (f"zone.shelf.{key}" in told) == (key not in keys)


def test_headroom_makes_a_box_higher(read):
    """0.5 m of headroom, and 0.2 m for container and lamp, are 0.7 m of wall."""
    text = MINIMAL.replace("width_m = 0.4", "width_m = 0.4\nroom_c = 19\nfan_m3_h = 0")
    space, _ = read(text.replace('zone = "shelf"\n\n', 'zone = "shelf"\nheadroom_m = 0.5\n\n', 1))
    assert space.zones[0].loss_w_per_k == pytest.approx(2.8 * (2.6 * 0.7 + 0.36), rel=0.005)


def test_what_is_taken_for_walls_errs_on_the_warm_side():
    """Board by ISO 6946 and ISO 10456; drift below what warm air does by itself.

    Through an opening of height h and area A on one side go Cd / 3 x A x sqrt(g h dT / T), Cd 0.6 (Warren
    & Parkins 1984, from memory); here 2 K over 293 K. A sheet without thickness is the other end for U.
    """
    assert pytest.approx(1 / (0.13 + 0.012 / 0.13 + 0.13), abs=0.05) == BOARD_W_M2_K
    assert BOARD_W_M2_K < 1 / (0.13 + 0.13)
    rises = 0.6 / 3 * (9.81 * HEIGHT_M * 2 / 293) ** 0.5
    assert rises / 2 < DRIFT_M_S / 2 < rises


def test_the_floor_is_shared_by_sites(few_crops):
    """Beds without a size share what sized ones leave: 0.55 - 0.8 x 0.3 m2 here, all for the one of them."""
    space, _ = read_space(HERE / "good" / "two_zones.toml", few_crops, today=WEDNESDAY)
    bed = space.bed("c")
    assert bed.length_m * bed.width_m == pytest.approx(0.55 - 0.24)
    assert bed.length_m / bed.width_m == pytest.approx(1.1 / 0.5)
    space, _ = read_space(HERE / "good" / "quoted_names.toml", few_crops, today=WEDNESDAY)
    areas = [bed.length_m * bed.width_m for bed in space.beds]
    assert areas == pytest.approx([0.36 * 4 / 6, 0.36 * 2 / 6])


def test_a_nursery_without_a_size_leaves_the_floor_to_the_grown(read):
    """30 cells of 4 cm take 0.048 m2; the box keeps the rest. On a small floor all share alike."""
    nursery = '\n[[bed]]\nname = "cradle"\nzone = "shelf"\nkind = "nursery"\nsites = 30\n'
    space, _ = read(MINIMAL + nursery)
    areas = [bed.length_m * bed.width_m for bed in space.beds]
    assert areas == pytest.approx([0.36 - 0.048, 0.048])
    space, _ = read((MINIMAL + nursery).replace("0.9", "0.05"))
    areas = [bed.length_m * bed.width_m for bed in space.beds]
    assert areas == pytest.approx([0.02 / 31, 0.02 * 30 / 31])


def test_what_light_was_read_with(few_crops):
    """Lux is taken for a phone's unless said otherwise, and that is listed; PPFD is always a PAR meter's."""
    space, _ = read_space(HERE / "good" / "lux.toml", few_crops, today=WEDNESDAY)
    box, tub = space.readings
    assert (box.lux, box.umol_m2_s, box.read_with) == (((11200.0, 14000.0, 12600.0),), None, "phone")
    assert (tub.lux, tub.read_with) == (((7400.0, 8100.0), (6900.5, 7700.0)), "meter")
    told = {item.key: item.value for item in space.assumed}
    assert told["reading[1].read_with"] == "phone"
    assert "reading[2].read_with" not in told
    space, _ = read_space(HERE / "good" / "everything.toml", few_crops, today=WEDNESDAY)
    assert space.readings[0].read_with == "meter"


def test_one_number_stands_for_four_walls(few_crops):
    """A number is the whiteness of all walls; four are those of the left, right, front and back."""
    space, _ = read_space(HERE / "good" / "everything.toml", few_crops, today=WEDNESDAY)
    assert space.zones[0].walls == (0.85, 0.85, 0.85, 0.85)
    space, _ = read_space(HERE / "good" / "four_walls.toml", few_crops, today=WEDNESDAY)
    assert space.zones[0].walls == (0.9, 0.9, 0.0, 0.5)


def test_a_zone_not_in_use_has_nothing_assumed_about_it(few_crops):
    """Nobody needs to know the air of an empty shelf."""
    space, _ = read_space(HERE / "good" / "two_zones.toml", few_crops, today=WEDNESDAY)
    assert not [item for item in space.assumed if "spare" in item.key]


def test_rates_without_a_name_get_one_each(few_crops):
    """Bills tell rates apart by name."""
    space, _ = read_space(HERE / "good" / "night_rate.toml", few_crops, today=WEDNESDAY)
    assert [rate.name for rate in space.tariff.rate] == ["base", "rate 2", "rate 3"]
    assert space.tariff.currency is None


def test_names_arrive_unharmed(few_crops):
    """Quotes, brackets and backslashes in names are kept."""
    space, _ = read_space(HERE / "good" / "quoted_names.toml", few_crops, today=WEDNESDAY)
    assert space.place.name == 'Grönschrank "Süd" #1'
    assert [bed.name for bed in space.beds] == ["C:\\boxes", 'the "other" box']


def test_edges_of_beds_may_touch_and_differ_by_a_millimetre(read):
    """Beds side by side, to the edge of the zone, are fine; two millimetres over are reported."""
    other = '\n[[bed]]\nname = "tub"\nzone = "shelf"\nlength_m = 0.5\nwidth_m = 0.4\nx_m = {x}\ny_m = 0\n'
    first = MINIMAL.replace(
        'zone = "shelf"\n\n', 'zone = "shelf"\nlength_m = 0.4\nwidth_m = 0.4\nx_m = 0\ny_m = 0\n\n', 1
    )
    for x, count in ((0.4, 0), (0.3995, 0), (0.4005, 0), (0.398, 1), (0.402, 1)):
        assert len(read(first + other.format(x=x))[1]) == count, x


def test_the_computers_timezone_can_fail_to_be_told(read, monkeypatch):
    """An odd TZ gives UTC, said as such."""
    monkeypatch.setenv("TZ", "<-03>3")
    space, _ = read(MINIMAL)
    assert space.place.timezone == "UTC"
    assert ("place.timezone", "UTC") in {(item.key, item.value) for item in space.assumed}


def test_blocks_without_other_use_say_that_they_start_empty(read):
    """What the home uses besides decides which block the space pays; leaving it out is an assumption."""
    blocks = "blocks = [{ up_to_kwh = 250, per_kwh = 0.2 }, { per_kwh = 0.25 }]"
    for other, said in (("", ["0"]), ("other_use_kwh_per_month = 0\n", [])):
        space, problems = read(f'{MINIMAL}[tariff]\ncurrency = "EUR"\n{other}[[tariff.rate]]\n{blocks}\n')
        assert problems == []
        key = "tariff.other_use_kwh_per_month"
        assert [item.value for item in space.assumed if item.key == key] == said


def test_a_share_of_no_daylight_is_taken(read):
    """Zero, or twelve of them, needs no place on Earth, and is the same as saying nothing."""
    silent, _ = read(MINIMAL)
    for zero in ("0", "0.0", "[0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0]"):
        space, problems = read(MINIMAL.replace("width_m = 0.4", f"width_m = 0.4\ndaylight_share = {zero}"))
        assert problems == []
        assert space == silent


def test_every_key_has_words_for_what_it_may_be():
    """No key falls back on "a number" or "a text": each says what it measures, with its unit."""
    tables = {**SINGLE, **MANY, **INNER, "zone.quiet": Quiet, "tariff.rate.blocks": Block}
    words = {
        f"{table}.{key}": phrase(kind, key)
        for table, record in tables.items()
        for key, kind in fields(record).items()
    }
    vague = r"a (whole )?number( from| above| up|$)|a text"
    assert [key for key, expected in words.items() if re.match(vague, expected)] == []
    assert words["load.hours_per_day"] == "hours per day above 0 up to 24"


# ---- whatever else a hand can do to a file

PIECES = ["[[", "]]", '"', "'", "=", "\n", ",", "{", "}", "#", "\\", ".", "-", "é", "\0", '"""', "[[bed]]\n"]
VALUES = [
    *("0", "-1", "1e400", "nan", "inf", "960", "0.5", "1e9", "true", "12345678901234567890123", '""', "''"),
    *('"text"', "'\\'", "[]", "[[]]", "[1, [2]]", "{}", "{ a = 1 }", '"96 W"', '"0,5"', '"1e5 cm"', '"9:5"'),
    *("2027-01-04", "07:30:00", "2027-01-04T07:30:00Z", "9999-12-31", "0001-01-01", '"9999-12-31"'),
    *('[["06:00", "06:00"]]', '["mon", "mon"]', '[["9999-12-31", "0001-01-01"]]'),
    '[["22:00", "06:00"], ["05:00", "23:00"]]',
]


def mutated(text: str, rng: random.Random) -> str:
    """Do one to three of the things to a text that editors, cats and hurry do."""
    for _ in range(rng.randint(1, 3)):
        lines = text.split("\n")
        at, other = rng.randrange(len(lines)), rng.randrange(len(lines))
        match rng.randrange(8):
            case 0:
                del lines[at]
            case 1:
                lines.insert(other, lines[at])
            case 2:
                lines[at], lines[other] = lines[other], lines[at]
            case 3:
                lines[at] = re.sub(r"\d+", lambda _: str(rng.choice([0, 1, 7, 25, 960, 10**12])), lines[at])
            case 4 | 5:
                key, equals, _ = lines[at].partition(" = ")
                lines[at] = f"{key}{equals}{rng.choice(VALUES)}" if equals else lines[at]
            case 6:
                place = rng.randint(0, len(lines[at]))
                lines[at] = lines[at][:place] + rng.choice(PIECES) + lines[at][place + rng.randint(0, 2) :]
            case 7:
                lines[at] = lines[at].replace("_", "", 1) if rng.random() < 0.5 else lines[at].upper()
        text = "\n".join(lines)
    return text


@pytest.mark.parametrize(("seed", "number"), few_of([(5, 500), *((seed, 2500) for seed in (1, 2, 3, 4))], 1))
def test_mutated_spaces_give_problems_and_no_traceback(seed, number, few_crops):
    """10,500 spaces in five lots: each is read, or its mistakes are reported by line, in order."""
    rng = random.Random(seed)
    texts = [path.read_text(encoding="utf-8") for path in GOOD]
    outcomes = {True: 0, False: 0}
    for _ in range(number):
        text = mutated(rng.choice(texts), rng)
        space, problems = read_space_text(text, few_crops, today=WEDNESDAY)
        assert (space is None) == bool(problems)
        lines = [problem.where.line or 0 for problem in problems]
        assert lines == sorted(lines)
        assert all(0 <= line <= text.count("\n") + 1 for line in lines)
        assert len(set(problems)) == len(problems)
        assert all("\n" not in str(problem) and "pydantic" not in str(problem) for problem in problems)
        outcomes[space is None] += 1
    assert min(outcomes.values()) > number // 25
