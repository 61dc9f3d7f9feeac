"""A reading noted in the journal counts like one in space.toml, on every screen, in every file, in Python."""

import json
import re
from datetime import timedelta

import pytest
from depth import few_of
from in_process import cropcal
from on_a_day import DAY

import cropcal as package
from cropcal.records.fit import Cures

SPACE = """
[place]
name = "Landing"
timezone = "Europe/Dublin"
latitude = 53.3
longitude = -6.3

[plan]
start = 2026-12-21
weeks = 8

[tariff]
currency = "EUR"
[[tariff.rate]]
per_kwh = 0.31

[[zone]]
name = "rack"
length_m = 1.2
width_m = 0.6
air_c = 20
{zone}

[[zone]]
name = "sill"
length_m = 0.8
width_m = 0.3
photoperiod_h = 12
air_c = 19
daylight_share = 0.1

[[fixture]]
zone = "rack"
watts = 90
lamp_to_canopy_m = 0.3
{lamp}

[[fixture]]
zone = "sill"
watts = 20
lamp_to_canopy_m = 0.3

[[bed]]
name = "left"
zone = "rack"
rows = 2
columns = 4

[[bed]]
name = "right"
zone = "rack"
rows = 2
columns = 4

[[bed]]
name = "window box"
zone = "sill"
sites = 3

[[want]]
crops = ["lettuce-butterhead"]
per_week = 1
{more}
"""
LAMP = "ppf_umol_s = 200"
BY_FILE = """
[[reading]]
bed = "left"
umol_m2_s = [[{left}]]

[[reading]]
bed = "window box"
lux = [[{box}]]
read_with = "phone"
"""
LEFT, BOX = 104, 4200


def write(folder, **values):
    folder.mkdir(exist_ok=True)
    parts = {"zone": "", "lamp": LAMP, "more": ""} | values
    (folder / "space.toml").write_text(SPACE.format(**parts), encoding="utf-8")
    return folder


def said(*words, codes=(0,), cwd=None):
    done = cropcal(*words, cwd=cwd)
    assert done.returncode in codes, done.both
    return done


@pytest.fixture(scope="module")
def pair(tmp_path_factory, no_cures):
    """Return two folders: the readings in the file of one, in the journal of the other; both planned."""
    home = tmp_path_factory.mktemp("landing")
    by_file = write(home / "file", more=BY_FILE.format(left=LEFT, box=BOX))
    by_journal = write(home / "journal")
    on = (DAY - timedelta(days=2)).isoformat()
    said("log", by_journal, "reading", "left", LEFT, "--on", on)
    said("log", by_journal, "reading", "window box", f"{BOX} lux", "--on", on)
    for folder in (by_file, by_journal):
        said("plan", folder, codes=(0, 1, 3))
    return by_file, by_journal


@pytest.fixture(scope="module")
def no_cures():
    with pytest.MonkeyPatch.context() as patch:
        # a cure that sets a reading anew can only be typed for a reading in the file
        patch.setattr("cropcal.planning.cures.search.cures", lambda *_, **__: Cures())
        yield


def alike(text):
    """Return a text without the words on where a reading is from, hashes of files, and seconds."""
    text = re.sub(r"\s+", " ", text)
    text = re.sub(r" of \d+ \w+ \d{4}, from the journal", "", text)
    return re.sub(r'"(inputs|space)_sha256": "\w+"|\d+\.\d+ s\b|"seconds": [\d.]+', "", text)


COMMANDS = (
    ("light",),
    ("photoperiod",),
    ("when", "lettuce-butterhead", "--sown", "2027-01-05", "--bed", "right"),
    *(
        pytest.param(words, marks=pytest.mark.deep)
        for words in (
            ("daylight",),
            ("bill",),
            ("crops",),
            ("when", "lettuce-butterhead", "--sown", "2027-01-05"),
            ("learned",),
            ("week", "--on", "2026-12-21"),
            ("plan", "--sow", "usual"),
            ("why",),
            ("plan", "--steady"),
        )
    ),
)


@pytest.mark.parametrize(
    "form", [("--json",), pytest.param((), marks=pytest.mark.deep)], ids=["json", "screen"]
)
@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_every_command_shows_the_same_light(pair, tmp_path, words, form):
    """Every figure of its JSON and of its screen, beyond the words that say where the reading is from."""
    name, *options = words
    shown = []
    for folder in pair:
        out = ("--out", tmp_path) if name == "plan" else ()
        done = said(name, ".", *options, *out, *form, codes=(0, 1, 3), cwd=folder)
        shown.append(alike(done.stdout))
    assert shown[0] == shown[1]


@pytest.mark.parametrize(
    "name", ["plan.json", "light.csv", "report.html", "sowings.csv", "timers.csv", "bill.csv"]
)
def test_every_file_of_a_plan_has_the_same_light(pair, name):
    """What is written beside the space, the page too."""
    one, other = (alike((folder / "plan" / name).read_text(encoding="utf-8")) for folder in pair)
    assert one == other


@pytest.mark.parametrize("answer", few_of(["light", "bed_light", "suitability", "bill", "photoperiod"], 2))
def test_python_has_the_same_light(pair, answer):
    """The tables of ``cropcal.open`` too."""
    one, other = (getattr(package.open(folder), answer)() for folder in pair)
    assert one.to_csv() == other.to_csv()


def light_of(folder, bed="left"):
    done = said("light", folder, "--json")
    [light] = [light for light in json.loads(done.stdout)["beds"] if light["bed"] == bed]
    return light["ppfd_umol_m2_s"]["mean"], " ".join(done.stderr.split())


def log(folder, amount, days_ago, bed="left"):
    return said("log", folder, "reading", bed, amount, "--on", (DAY - timedelta(days=days_ago)).isoformat())


def test_the_newest_reading_of_a_bed_wins(tmp_path):
    """By its day, in whatever order they are noted; one taken back counts no more, nor does a dark one."""
    folder = write(tmp_path / "space")
    log(folder, 120, 3)
    log(folder, 150, 9)
    assert light_of(folder)[0] == 120
    newest = log(folder, 90, 1)
    assert light_of(folder)[0] == 90
    log(folder, 0, 0)
    assert light_of(folder)[0] == 90
    said("log", folder, "--undo", re.search(r"--undo (\w+)", newest.stdout)[1])
    assert light_of(folder)[0] == 120


def test_a_reading_in_the_file_is_older_unless_it_has_a_day(tmp_path):
    """The journal's counts, and that is said; with a later day beside it the file's counts, said too."""
    folder = write(tmp_path / "space", more=BY_FILE.format(left=170, box=BOX))
    log(folder, 100, 4)
    ppfd, told = light_of(folder)
    assert ppfd == 100
    assert "left: the journal has 100 µmol read on 16 Dec 2026, which counts in place of" in told
    day = f'left"\non = {(DAY - timedelta(days=1)).isoformat()}'
    write(folder, more=BY_FILE.format(left=170, box=BOX).replace('left"', day))
    ppfd, told = light_of(folder)
    assert ppfd == 170
    assert "It is not used: the reading in space.toml is newer, of 19 Dec 2026" in told


def test_a_reading_under_lamps_that_hang_there_no_more_does_not_count(tmp_path, no_cures):
    """Once a plan has seen the lamp change; why is said. Read again, it counts."""
    folder = write(tmp_path / "space", zone="photoperiod_h = 16")
    said("log", folder, "sown", "lettuce-butterhead", "2", "--bed", "left", "--on", "2026-12-08")
    log(folder, 100, 6)
    said("plan", folder, codes=(0, 1, 3))
    assert light_of(folder)[0] == 100
    write(folder, zone="photoperiod_h = 16", lamp="ppf_umol_s = 330\ncount = 2")
    ppfd, told = light_of(folder)
    assert ppfd > 150
    assert "It is not used: lamp or place over it changed in space.toml since" in told
    log(folder, 210, 0)
    assert light_of(folder)[0] == 210


def test_lux_under_a_lamp_without_a_factor_is_not_used(tmp_path):
    """It cannot be refused as in the file, so it is said."""
    folder = write(tmp_path / "space", lamp=f'{LAMP}\nlamp = "red-blue LED"')
    before = light_of(folder)[0]
    log(folder, "8000 lux", 1)
    ppfd, told = light_of(folder)
    assert ppfd == before
    assert "It is not used: the lux of its lamp for each µmol is not known" in told


def test_a_value_that_is_tried_beats_the_journal(tmp_path):
    """``--set`` of a reading is tried, whatever was read."""
    folder = write(tmp_path / "space", more=BY_FILE.format(left=170, box=BOX))
    log(folder, 100, 4)
    done = said("light", folder, "--set", "reading.left.umol_m2_s=[[140]]", "--json")
    [light] = [light for light in json.loads(done.stdout)["beds"] if light["bed"] == "left"]
    assert light["ppfd_umol_m2_s"]["mean"] == 140


@pytest.mark.parametrize(
    ("key", "value", "times"),
    [("ppf_umol_s", 300, 1.5), ("ppf_umol_s", 100, 0.5), ("lamp_to_canopy_m", 0.2, None)],
)
@pytest.mark.parametrize("where", few_of(["journal", "file"], 1))
def test_a_lamp_that_is_tried_counts_for_beds_that_were_read(tmp_path, where, key, value, times):
    """Half as bright again for the bed that was read, and for its neighbour, whatever the first was read."""
    folder = write(tmp_path / "space", more=BY_FILE.format(left=LEFT, box=BOX) if where == "file" else "")
    if where == "journal":
        log(folder, LEFT, 1)
    before = {bed["bed"]: bed for bed in json.loads(said("light", folder, "--json").stdout)["beds"]}
    tried = said("light", folder, "--set", f"fixture.rack.{key}={value}", "--json")
    after = {bed["bed"]: bed for bed in json.loads(tried.stdout)["beds"]}
    grew = {
        name: bed["ppfd_umol_m2_s"]["mean"] / before[name]["ppfd_umol_m2_s"]["mean"]
        for name, bed in after.items()
    }
    assert grew["left"] == pytest.approx(grew["right"], rel=0.01)
    assert grew["window box"] == pytest.approx(1)
    assert grew["left"] == pytest.approx(times, rel=1e-3) if times else grew["left"] > 1.02


def test_a_lamp_is_tried_over_a_bed_that_was_read_in_lux(tmp_path):
    """Its lux say nothing under a lamp of another kind: the lamp's own light is shown, no traceback."""
    folder = write(tmp_path / "space", lamp=f'{LAMP}\nlamp = "white LED"')
    log(folder, "8000 lux", 1)
    tried = said("light", folder, "--set", "fixture.rack.lamp=red-blue LED", "--json")
    [light] = [light for light in json.loads(tried.stdout)["beds"] if light["bed"] == "left"]
    assert light["source"] == "spec sheet"


def test_a_reading_with_its_day_is_read_back_by_the_next_plan(tmp_path, no_cures):
    """The settings kept beside a plan hold it; planned again after the lamp was changed, nothing is amiss."""
    more = BY_FILE.format(left=170, box=BOX).replace('left"', 'left"\non = 2026-12-10')
    folder = write(tmp_path / "space", zone="photoperiod_h = 16", more=more)
    said("log", folder, "sown", "lettuce-butterhead", "2", "--bed", "left", "--on", "2026-12-08")
    said("plan", folder, codes=(0, 1, 3))
    write(folder, zone="photoperiod_h = 16", lamp="ppf_umol_s = 330\ncount = 2", more=more)
    said("plan", folder, codes=(0, 1, 3))
    assert "2026-12-10" in (folder / "plan" / "settings.json").read_text(encoding="utf-8")
    said("learned", folder)


def test_the_light_screen_names_the_day_and_the_journal(tmp_path):
    folder = write(tmp_path / "space")
    log(folder, 100, 4)
    shown = " ".join(said("light", folder, "--all").stdout.split())
    assert "left: 1 reading over the bed of 16 Dec 2026, from the journal" in shown
    assert "the readings over left came to" in shown
