"""``cropcal crops --sources NAME``, and where else the source of a single value is shown."""

import json
import re

import pytest
from in_process import cropcal

from cropcal.planning.growth.cautions import crop_assumptions
from cropcal.reading.crops.read import read_crop_tables

SHIPPED, _ = read_crop_tables(None)
SPACE = """
[[zone]]
name = "attic"
length_m = 1.0
width_m = 1.0
photoperiod_h = 16

[[bed]]
name = "tray"
zone = "attic"
sites = 4

[[reading]]
bed = "tray"
umol_m2_s = [[200]]

[[want]]
crops = ["radish"]
"""


@pytest.fixture
def attic(tmp_path):
    (tmp_path / "space.toml").write_text(SPACE, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("slug", list(SHIPPED.crops))
def test_every_value_is_shown_once_with_its_source(slug):
    """Each value of a crop has a line; its numbers lead to citations; 100 columns at most."""
    done = cropcal("crops", "--sources", slug)
    assert done.returncode == 0
    lines = done.stdout.splitlines()
    assert max(map(len, lines)) <= 100
    crop = SHIPPED.crops[slug]
    body, cited = done.stdout.split("\nSources\n")
    for column, source in crop.sources.items():
        (line,) = re.findall(rf"^  {column} .*$", body, re.MULTILINE)
        numbers = line[2 + 26 + 2 :].split(source.known, 1)[1][:12] if source.keys else ""
        for number, key in zip(re.findall(r"\d+", numbers), source.keys, strict=True):
            assert re.search(rf"^ +{number}  {re.escape(key)[:30]}", cited, re.MULTILINE), (column, key)
    numbered = re.findall(r"^ {1,2}(\d+)  ", cited, re.MULTILINE)
    assert numbered == [str(place) for place in range(1, len(numbered) + 1)]


def test_values_have_their_units_and_their_notes():
    """The mass of 1000 lettuce seeds is in grams; hours that nobody printed say so."""
    shown = cropcal("crops", "--sources", "lettuce-butterhead").stdout
    assert re.search(r"seed_g_per_1000 +1 g +printed", shown)
    assert re.search(r"anchor_plants_m2 +28 plants/m² +printed", shown)
    assert re.search(r"anchor_days +35 d +printed", shown)
    assert re.search(r"anchor_photoperiod_h +16 h +assumed", shown)


def test_a_name_will_do_as_well():
    """People know the name of a crop sooner than its slug."""
    by_slug, by_name = cropcal("crops", "--sources", "kale-baby"), cropcal("crops", "--sources", "baby Kale")
    assert by_name.stdout == by_slug.stdout != ""


def test_an_unknown_name_gets_the_nearest():
    """A slip of the pen is one line and exit code 2."""
    done = cropcal("crops", "--sources", "basill")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == '--sources: found "basill", expected a crop in the table, did you mean "basil"?\n'


def test_sources_in_json():
    """Each value has its number, unit, word and keys; every key is cited."""
    form = json.loads(cropcal("crops", "--sources", "basil", "--json").stdout)
    values = {value["column"]: value for value in form["values"]}
    assert values["seed_g_per_1000"] == {
        "column": "seed_g_per_1000", "value": 1.1, "unit": "g", "known": "printed", "keys": ["Kew SID"],
        "note": "",
    }  # fmt: skip
    keys = {key for value in form["values"] for key in value["keys"]}
    assert {row["key"] for row in form["citations"]} == keys


def test_your_own_value_is_shown_as_yours(attic):
    """With a space, what its crops.csv says of a value stands beside it."""
    (attic / "crops.csv").write_text(
        "crop,column,value,unit,source\nradish,anchor_days,30,d,packet of 2027\nradish,window_d,6,,\n",
        encoding="utf-8",
    )
    shown = cropcal("crops", str(attic), "--sources", "radish").stdout
    assert re.search(r"anchor_days +30 d +yours +\d", shown)
    assert re.search(r"window_d +6 d +yours +\d", shown)
    assert "packet of 2027: named in your crops.csv. Seen: yours." in shown
    assert re.search(r"anchor_g_per_plant +24.5 g +derived", shown)


def test_a_plan_names_single_values_that_are_not_in_print():
    """What is assumed of kale is said value by value; its seed, which is printed, is not among them."""
    (said,) = crop_assumptions(SHIPPED.crops["kale"])
    assert said.key == "Kale"
    assert "days to harvest 55 d, mass of a plant 150 g" in said.value
    assert "height" not in said.value
    assert "stays good 10 d" in said.value
    assert "1000 seeds" not in said.value
    assert said.value.index("common practice: spacing") < said.value.index("from memory")


def test_a_value_of_your_own_is_no_assumption():
    """What the user gave is not listed among the values that nobody printed."""
    basil = SHIPPED.crops["basil"]
    sources = {**basil.sources, "height_cm": basil.sources["seed_g_per_1000"]}
    (said,) = crop_assumptions(basil.model_copy(update={"sources": sources}))
    assert "height" not in said.value
