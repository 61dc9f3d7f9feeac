"""Commands as a person types them: what is printed where, exit codes, JSON, and nothing half-written."""

import json
import shlex
from datetime import date
from pathlib import Path

import pytest
import small_space
from in_process import cropcal

PROJECT = Path(__file__).resolve().parents[2]
EXAMPLE = PROJECT / "examples" / "millbrook"

METER = """
[[zone]]
name = "bench"
length_m = 1.0
width_m = 1.0
photoperiod_h = {hours}
air_moving = true

[[bed]]
name = "pots"
zone = "bench"
sites = 4

[[reading]]
bed = "pots"
umol_m2_s = [[200]]

[[fixture]]
zone = "bench"
watts = 100

[[want]]
crops = ["lettuce-butterhead"]
"""


def as_json(*words: str):
    done = cropcal(*words, "--json")
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_the_next_command_can_be_pasted(tmp_path):
    """A folder with a space in its name is quoted in commands to type."""
    folder = tmp_path / "my shelf"
    folder.mkdir()
    (folder / "space.toml").write_text(METER.format(hours=16), encoding="utf-8")
    said = cropcal("check", str(folder)).stdout.splitlines()[-1]
    words = shlex.split(said.removeprefix("Next, type: "))
    assert words == ["cropcal", "light", str(folder)]
    assert cropcal(*words[1:]).stdout.splitlines()[-1] == f'Next, type: cropcal photoperiod "{folder}"'


@pytest.fixture
def meter_space(tmp_path):
    """Return a maker of spaces with one reading of 200 umol and the hours given."""

    def make(hours):
        folder = tmp_path / f"{hours}"
        folder.mkdir()
        (folder / "space.toml").write_text(METER.format(hours=hours), encoding="utf-8")
        return str(folder)

    return make


@pytest.mark.parametrize(("hours", "dli"), [(12, 8.64), (16, 11.52), (20, 14.40)])
def test_light_of_200_umol(meter_space, hours, dli):
    """200 umol for 12, 16 and 20 h are 8.64, 11.5 and 14.4 mol (Gavhane et al. 2023, Sci. Rep. 13:10923)."""
    bed = as_json("light", meter_space(hours))["beds"][0]
    assert bed["dli_mol_m2_d"]["mean"] == pytest.approx(dli, abs=1e-9)
    assert bed["ppfd_umol_m2_s"] == {"min": 200, "mean": 200, "max": 200}
    assert bed["source"] == "readings"
    assert len(bed["sites"]) == 4


def written(folder: Path, text: str) -> str:
    """Write a space.toml into a folder; return the folder as a word of a command."""
    folder.mkdir()
    (folder / "space.toml").write_text(text, encoding="utf-8")
    return str(folder)


def test_lux_under_tubes_is_100_umol(tmp_path):
    """7,400 lux under cool-white tubes are 100 umol: 74 lux per umol (Thimijan & Heins 1983)."""
    tubes = METER.format(hours=16).replace("watts = 100", 'watts = 100\nlamp = "fluorescent"')
    for read_with, sd_ln in (("meter", 0.10), ("phone", 0.25)):
        lux = tubes.replace("umol_m2_s = [[200]]", f'lux = [[7400]]\nread_with = "{read_with}"')
        bed = as_json("light", written(tmp_path / read_with, lux))["beds"][0]
        assert bed["ppfd_umol_m2_s"]["mean"] == pytest.approx(100, rel=1e-3)
        assert bed["sd_ln"] == pytest.approx(sd_ln)


def test_lux_under_red_and_blue_is_refused(tmp_path):
    """Exit code 2, one line with the reason and what to do instead."""
    text = METER.format(hours=16).replace("watts = 100", 'watts = 100\nlamp = "red-blue LED"')
    done = cropcal("light", written(tmp_path / "pink", text.replace("umol_m2_s = [[200]]", "lux = [[900]]")))
    assert done.returncode == 2
    assert len(done.stderr.strip().splitlines()) == 1, done.stderr
    assert "lux weighs light as eyes do" in done.stderr
    assert "PAR meter" in done.stderr


def test_one_white_wall_brightens_its_side(tmp_path):
    """An open shelf is alike left and right; a white board on the left lifts the left pots most."""
    text = METER.format(hours=16).replace("sites = 4", "rows = 1\ncolumns = 4\nPLACE")
    text = text.replace("PLACE", "length_m = 1.0\nwidth_m = 0.2\nx_m = 0.0\ny_m = 0.4")
    text = text.replace('[[reading]]\nbed = "pots"\numol_m2_s = [[200]]\n', "")
    text = text.replace("watts = 100", "watts = 100\nppf_umol_s = 200\nlength_m = 0.8\nwidth_m = 0.4")
    light = {}
    for walls in ("0.0", "[0.9, 0.0, 0.0, 0.0]"):
        space = text.replace("width_m = 1.0\n", f"width_m = 1.0\nwall_reflectance = {walls}\n", 1)
        bed = as_json("light", written(tmp_path / f"walls {len(light)}", space))["beds"][0]
        light[walls] = [site["ppfd_umol_m2_s"] for site in bed["sites"]]
    before, after = light.values()
    assert before == pytest.approx(before[::-1], abs=0.11)  # figures are rounded
    gains = [b - a for a, b in zip(before, after, strict=True)]
    assert gains == sorted(gains, reverse=True)
    assert gains[0] > 0.1 * before[0]
    assert gains[0] > 3 * gains[3] > 0


def test_a_cure_is_named_in_hours(meter_space):
    """What hours can do is said in hours, with what it takes and brings."""
    fit = as_json("light", meter_space(12))["fits"][0]
    assert fit["verdict"] == "slow"
    assert fit["cure"].startswith("16 h 45 min of lamp light a day instead of 12 h; then it grows well, ")


def test_week_uses_the_plan_that_is_written(tmp_path):
    """The jobs of a week are those of the written plan as long as the files are the same."""
    folder = tmp_path / "box"
    folder.mkdir()
    text = small_space.text(start=date(2027, 1, 4), weeks=8)
    (folder / "space.toml").write_text(text, encoding="utf-8")
    cropcal("plan", str(folder))
    told = cropcal("week", str(folder), "--on", "2027-01-14", "--json")
    assert told.stderr == ""
    jobs = json.loads(told.stdout)["jobs"]
    assert jobs
    assert all("2027-01-11" <= job["date"] <= "2027-01-17" for job in jobs)
    (folder / "space.toml").write_text(text + "\n# a word more\n", encoding="utf-8")
    again = cropcal("week", str(folder), "--on", "2027-01-14", "--json")
    assert "one was made for this answer only" in again.stderr
    assert json.loads(again.stdout)["jobs"] == jobs


def test_crops_json_has_every_crop():
    """All 30 crops, an unknown day-length limit as null, each value with its source."""
    crops = {crop["slug"]: crop for crop in as_json("crops")["crops"]}
    assert len(crops) == 30
    assert crops["dill"]["photoperiod_max_h"] is None
    assert crops["spinach-baby"]["sources"]["photoperiod_max_h"]["keys"] == ["Chun 2001"]


def test_when_gives_a_range():
    """A date alone would be a lie: there is a middle and an 80 % range, and cuts for what regrows."""
    answer = as_json("when", str(EXAMPLE), "basil", "--sown", "2027-01-05")
    assert answer["harvest"]["range_80"][0] < answer["harvest"]["middle"] < answer["harvest"]["range_80"][1]
    low, high = answer["yield_g_per_plant"]["range_80"]
    assert low < answer["yield_g_per_plant"]["middle"] < high
    assert len(answer["cuts"]) == 2
    assert answer["assumptions"]


def test_bill_json_adds_up():
    """The lines of a month add up to the month, in kWh and in money."""
    for month in as_json("bill", str(EXAMPLE))["months"]:
        assert sum(line["kwh"] for line in month["lines"]) == pytest.approx(month["kwh"], abs=1e-4)
        assert sum(line["cost"] for line in month["lines"]) == pytest.approx(month["cost"], abs=1e-4)


def test_a_years_bill_has_twelve_months():
    """From 4 January 2027 until 3 January 2028, and its total is also shown beside the planned weeks."""
    year, weeks = as_json("bill", str(EXAMPLE), "--year"), as_json("bill", str(EXAMPLE))
    assert [month["month"] for month in year["months"]] == [f"2027-{n:02d}" for n in range(1, 13)] + [
        "2028-01"
    ]
    assert year["months"][:6] == weeks["months"][:6]
    for key in ("kwh", "cost"):
        assert sum(month[key] for month in year["months"]) == pytest.approx(weeks["year"][key], abs=1e-4)


def test_lettuce_seed_in_the_warm_is_warned_about(tmp_path):
    """Lettuce seed fails in the warm: 99 % normal seedlings at 25 C, 12 % at 30 C.

    Harrington & Minges 1954.
    """
    folder = tmp_path / "warm"
    folder.mkdir()
    text = METER.format(hours=16).replace("air_moving = true", "air_moving = true\nair_c = 30")
    (folder / "space.toml").write_text(text, encoding="utf-8")
    told = cropcal("when", str(folder), "lettuce-butterhead", "--sown", "2027-01-05")
    assert "12% of seeds" in told.stdout, told.stdout + told.stderr


@pytest.mark.parametrize("bad", ["ppf_in_lumens", "lamp_below_the_canopy", "wall_reflectance_in_percent"])
def test_check_says_what_the_reader_says(bad):
    """Through the command a mistake reads as in the first line of its file: nothing more is blamed."""
    path = PROJECT / "tests" / "spaces" / "bad" / f"{bad}.toml"
    expected = path.read_text(encoding="utf-8").splitlines()[0].removeprefix("# expect: ").split(": ", 1)
    done = cropcal("check", str(path))
    assert done.returncode == 2
    assert done.stderr.splitlines()[0] == f"{path}:{expected[0]}: {expected[1]}"


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (["plan", "nowhere"], "nowhere"),
        (["when", ".", "letuce", "--sown", "2027-01-05"], ""),
        (["week", str(EXAMPLE), "--on", "someday"], '"someday", expected a date like'),
        (["when", str(EXAMPLE), "letuce-romaine", "--sown", "2027-01-05"], 'did you mean "lettuce-romaine"'),
        (["when", str(EXAMPLE), "basil", "--sown", "5.13.27.1"], "a date like"),
        (["when", str(EXAMPLE), "basil", "--sown", "2027-01-05", "--bed", "tray"], "a bed that Basil"),
        (["new", "x", "--yes", "--boxes", "0 pots"], "--boxes: found \"0 pots\": a number of pots of 0"),
        (["new", "x", "--yes", "--eat", "letuce"], 'did you mean "lettuce"?'),
        (["new", "x", "--yes", "--floor", "big"], 'something like "1.1 x 0.5 m, white walls"'),
        (["when", str(EXAMPLE), "basil"], "Missing option"),
        (["plan", str(EXAMPLE), "--gap", "2"], "No such option: --gap"),
        (["plan", str(EXAMPLE), "--sow", "safer"], '--sow: found "safer", expected one of "sparing",'),
        (["plan", str(EXAMPLE), "--sow", "safer"], 'did you mean "safe"?'),
        (["plan", str(EXAMPLE), "--sow", "safe", "--set", "plan.sow=usual"], "and --set plan.sow=usual"),
        (["harvest"], "No such command"),
    ],
)  # fmt: skip
def test_a_wrong_word_is_told_in_one_line(words, expected, tmp_path):
    """Exit code 2, a message that helps, no traceback, nothing written."""
    done = cropcal(*words, cwd=tmp_path)
    assert done.returncode == 2, done.stdout + done.stderr
    assert expected in done.stderr
    assert "Traceback" not in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_cannot_be_written_is_told(tmp_path):
    """A file where the folder should be: nothing is planned half."""
    (tmp_path / "taken").write_text("", encoding="utf-8")
    source = PROJECT / "tests" / "spaces" / "plans" / "five-sites-in-place.toml"
    done = cropcal("plan", str(source), "--out", str(tmp_path / "taken"))
    assert done.returncode == 2
    assert "nothing was changed" in done.stderr
    assert "Traceback" not in done.stderr


def test_photoperiod_writes_the_card_and_the_picture(meter_space, tmp_path):
    """The hours go to timers.csv, JSON and a picture; without --out nothing is written."""
    space = meter_space(12)
    shown = cropcal("photoperiod", space, "--all")
    assert shown.returncode == 0, shown.stderr
    assert "Timer card" in shown.stdout
    out = tmp_path / "hours"
    form = as_json("photoperiod", space, "--out", str(out))
    assert {path.name for path in out.iterdir()} == {"timers.csv", "photoperiod.json", "photoperiod.png"}
    card = (out / "timers.csv").read_text(encoding="utf-8").splitlines()
    assert card[0] == "zone,from,on,off,output"
    [[on, off]] = form["zones"][0]["pick"]["lit"]
    assert card[1].endswith(f",{on},{off},1")


def test_a_file_without_hours_is_planned_and_says_which_were_picked(meter_space):
    """light, bill and plan all count with the picked hours, and the plan lists them as assumed."""
    space = meter_space(12)
    path = Path(space) / "space.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("photoperiod_h = 12\n", ""), encoding="utf-8")
    picked = as_json("photoperiod", space)["zones"][0]["pick"]
    assert as_json("light", space)["beds"][0]["photoperiod_h"] == picked["photoperiod_h"]
    planned = cropcal("plan", space, "--all")
    assert "hours of" in planned.stdout, planned.stderr
    card = (path.parent / "plan" / "timers.csv").read_text(encoding="utf-8")
    assert ",".join(picked["lit"][0]) in card  # maybe after days on which nothing grows yet
