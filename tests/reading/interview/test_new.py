"""``cropcal new``: answers as people type them, the file that comes of them, and the first plan at once."""

import contextlib
import os
import subprocess
import sys
import tomllib
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from in_process import cropcal

from cropcal.planning.site.next_measurement import most_unsure
from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.interview import questions as interview
from cropcal.reading.interview.answers import Heard, is_unknown
from cropcal.reading.interview.clock_times import hours as read_hours
from cropcal.reading.interview.floor_and_boxes import boxes as read_boxes
from cropcal.reading.interview.floor_and_boxes import floor as read_floor
from cropcal.reading.interview.lamps import lamp as read_lamp
from cropcal.reading.interview.wishes import wishes as read_wishes
from cropcal.records.answers import (
    Floor,
    LampAnswer,
    LampOnHours,
    PotBoxes,
    Price,
)
from cropcal.records.plan import BedLight, Narrowing

TABLES = read_crop_tables(None)[0]
HEARD = Heard(date(2027, 1, 7))
QUESTIONS = interview.questions(TABLES)
SAID = {
    "floor": "125x55cm, foil all round",
    "boxes": "2 x 5 pots, 45 x 25 cm",
    "lamp": "2 x 45 W LED by a plug meter",
    "gap": "14 in",
    "hours": "5-21, quiet 22 to 4:30",
    "air": "72 / 64 F",
    "price": "29p",
    "eat": "3 lettuces a week; basil, 50 g; pea shoots 100g",
}


def written(folder: Path):
    return tomllib.loads((folder / "space.toml").read_text(encoding="utf-8"))


@pytest.mark.parametrize(
    ("text", "floor"),
    [
        ("1.1 x 0.5 m, white walls", Floor(length_m=1.1, width_m=0.5, wall_reflectance=0.8)),
        ("1,2 by 0,6", Floor(length_m=1.2, width_m=0.6)),
        ("120x60cm open", Floor(length_m=1.2, width_m=0.6, wall_reflectance=0.0)),
        ("120 x 60", Floor(length_m=1.2, width_m=0.6)),  # nobody at home lights 120 m
        ("4 x 2 ft, foil", Floor(length_m=1.2192, width_m=0.6096, wall_reflectance=0.85)),
        ("1 m x 50 cm", Floor(length_m=1.0, width_m=0.5)),
    ],
)  # fmt: skip
def test_a_floor_in_many_words(text, floor):
    """Metres, centimetres, feet; a comma for a point; the walls in a word."""
    assert read_floor(text, HEARD) == floor


@pytest.mark.parametrize(
    ("text", "boxes"),
    [
        ("2 boxes of 8 pots, 0.5 x 0.3 m", PotBoxes(count=2, pots=8, length_m=0.5, width_m=0.3)),
        ("2 x 8 pots", PotBoxes(count=2, pots=8)),
        ("8", PotBoxes(count=1, pots=8)),
        ("one box, 12 net cups", PotBoxes(count=1, pots=12)),
        ("3 trays 5 plants each 25x45cm", PotBoxes(count=3, pots=5, length_m=0.25, width_m=0.45)),
    ],
)
def test_boxes_in_many_words(text, boxes):
    """How many, how many pots in each, and the size if it is known."""
    assert read_boxes(text, HEARD) == boxes


@pytest.mark.parametrize(
    ("text", "lamp"),
    [
        ("white LED, 96 W, plug meter", LampAnswer(watts=96, kind="white LED", metered=True)),
        ("100 watts", LampAnswer(watts=100)),
        ("2 x 50 W LED bars, label", LampAnswer(watts=50, count=2, kind="white LED", metered=False)),
        ("4 T5 tubes 24W", LampAnswer(watts=24, count=4, kind="fluorescent")),
        ("red and blue LED 60 w", LampAnswer(watts=60, kind="red-blue LED")),
        ("HPS 250", LampAnswer(watts=250, kind="HPS")),
    ],
)
def test_lamps_in_many_words(text, lamp):
    """Kind, watts of one, how many, and how the watts are known."""
    assert read_lamp(text) == lamp


@pytest.mark.parametrize(
    ("text", "metres"), [("35 cm", 0.35), ("0.35", 0.35), ("35", 0.35), ("350 mm", 0.35), ("1 ft", 0.3048)]
)
def test_a_gap_in_many_words(text, metres):
    """A bare number is metres if it can be, else centimetres."""
    assert interview.gap(text, HEARD) == metres


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("06:00-22:00, quiet 22-6", LampOnHours(lit=(("06:00", "22:00"),), quiet=(("22:00", "06:00"),))),
        ("17 to 9", LampOnHours(lit=(("17:00", "09:00"),))),
        ("16 h a day", LampOnHours(photoperiod_h=16)),
        ("14", LampOnHours(photoperiod_h=14)),
        ("picked, quiet 9:30 until 17", LampOnHours(quiet=(("09:30", "17:00"),))),
        ("5-11 and 15-23", LampOnHours(lit=(("05:00", "11:00"), ("15:00", "23:00")))),
    ],
)
def test_hours_in_many_words(text, hours):
    """Clock times or a length, and the hours to keep quiet."""
    assert read_hours(text) == hours


@pytest.mark.parametrize(
    ("text", "air"),
    [("23 / 19", (23, 19)), ("21", (21, 21)), ("21.5 on, 18 off", (21.5, 18)), ("68F", (20, 20))],
)
def test_air_in_many_words(text, air):
    """Two numbers or one, in Celsius or Fahrenheit."""
    assert interview.air(text, HEARD) == air


@pytest.mark.parametrize(
    ("text", "price"),
    [
        ("0.29 GBP", Price(per_kwh=0.29, currency="GBP")),
        ("29p", Price(per_kwh=0.29, currency="GBP")),
        ("£0.29 per kWh", Price(per_kwh=0.29, currency="GBP")),
        ("31,5 ct", Price(per_kwh=0.315)),
        ("2.45 SEK", Price(per_kwh=2.45, currency="SEK")),
    ],
)
def test_prices_in_many_words(text, price):
    """A hundredth or the whole, before or behind its sign."""
    assert interview.price(text, HEARD) == price


def test_wishes_in_many_words():
    """A family of crops, a name, a slug; heads, grams and kilograms; how often; trays apart."""
    text = "3 lettuces a week, basil 50g, 2 heads pak choi or tatsoi, rocket 0.2 kg, pea shoots"
    text += ", romaine lettuce twice"
    found = read_wishes(text, TABLES)
    assert [(wish.crops, wish.per_week, wish.unit, wish.in_tray) for wish in found] == [
        (
            (
                "lettuce-butterhead", "lettuce-romaine", "lettuce-looseleaf", "lettuce-red-leaf",
                "lettuce-batavia",
            ),
            3.0, "heads", False,
        ),
        (("basil",), 50.0, "g", False),
        (("pak-choi", "tatsoi"), 2.0, "heads", False),
        (("arugula-baby",), 200.0, "g", True),
        (("pea-shoots",), None, "g", True),
        (("lettuce-romaine",), 2.0, "heads", False),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("key", "text", "message"),
    [
        ("floor", "quite big", "no length and width"),
        ("floor", "0 x 3 m", "a length of 0 is outside"),
        ("floor", "1 x 2 m, purple", '"purple" is not understood'),
        ("boxes", "some", "no number of pots"),
        ("lamp", "bright", "no watts"),
        ("lamp", "90 W by the label and the plug meter", "both a label and a meter"),
        ("gap", "high", "no distance"),
        ("hours", "25-30", "not a time span"),
        ("hours", "6-22, 16 h", "both clock times"),
        ("hours", "6-22, quiet please", "no quiet hours"),
        ("hours", "long", "no hours"),
        ("air", "warm", "0 temperatures"),
        ("air", "300", "outside -10 to 50"),
        ("price", "cheap", "no price"),
        ("eat", "letuce", 'did you mean "lettuce"'),
        ("eat", "3 basil", "how many g a week"),
        ("eat", "2 kg lettuce", "is counted in heads"),
        ("eat", "basil or lettuce", "counted in heads and by weight"),
        ("eat", "basil or pea shoots", "of trays and of pots"),
        ("eat", " , ", "no crop"),
    ],
)
def test_what_is_not_understood_is_said(key, text, message):
    """One message: what is the matter with the answer."""
    question = next(one for one in QUESTIONS if one.key == key)
    with pytest.raises(ValueError, match=message):
        question.read(text, HEARD)


@given(st.sampled_from(QUESTIONS), st.text(max_size=40))
def test_no_answer_breaks_the_interview(question, text):
    """Whatever is typed is read, or refused with a message."""
    with contextlib.suppress(ValueError):
        question.read(text, HEARD)


def test_examples_and_defaults_are_understood():
    """What a question shows as an example can be typed, and what it takes by itself can be read."""
    for question in QUESTIONS:
        question.read(question.like, HEARD)
        if question.key not in ("hours",):
            question.read(question.default, HEARD)
    assert len(QUESTIONS) == 10


def test_new_then_plan(tmp_path):
    """Nothing but a folder's name is needed to get a plan with every assumption listed."""
    done = cropcal("new", "shelf", "--yes", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "cropcal plan shelf" in done.stdout
    assert cropcal("check", "shelf", cwd=tmp_path).returncode == 0
    planned = cropcal("plan", "shelf", "--all", "--time-limit", "3", cwd=tmp_path)
    assert planned.returncode == 0, planned.stdout + planned.stderr
    assert "Assumptions" in planned.stdout
    assert "assumed" in planned.stdout
    assert {path.name for path in (tmp_path / "shelf" / "plan").iterdir()} >= {
        "sowings.csv", "jobs.csv", "supply.csv", "sites.csv", "bill.csv", "seeds.csv", "timers.csv",
        "setpoints.csv", "plan.json", "calendar.ics", "calendar.png", "bill.png", "light.csv", "light.png",
        "report.html",
    }  # fmt: skip


def test_dont_know_to_everything_is_a_plan(tmp_path):
    """Ten times "don't know", piped: a valid space, the gist of a plan, and all that was guessed."""
    done = cropcal("new", "den", "--all", cwd=tmp_path, typed="don't know\n" * 10)
    assert done.returncode == 0, done.stdout + done.stderr
    assert cropcal("check", "den", cwd=tmp_path).returncode == 0
    for said in (
        "10 of 10:", "What you can eat first", "a month", "Assumptions", "- lamp: LED, 100 W",
        "Find out first", "Mains power and water", "Next, type: cropcal plan den",
    ):  # fmt: skip
        assert said in done.stdout
    assert "fixture[1].lamp_to_canopy_m: 0.3" in done.stdout  # left out of the file, so assumed


def test_what_was_said_stands_in_the_file(tmp_path):
    """Answers from the keyboard and as flags make the same file, and each value is in it."""
    typed = cropcal("new", "a/loft", cwd=tmp_path, typed="".join(f"{text}\n" for text in SAID.values()))
    assert typed.returncode == 0, typed.stdout + typed.stderr
    flags = [part for key, text in SAID.items() for part in (f"--{key}", text)]
    flagged = cropcal("new", "b/loft", *flags, cwd=tmp_path)
    assert flagged.returncode == 0, flagged.stdout + flagged.stderr
    space = written(tmp_path / "a" / "loft")
    assert written(tmp_path / "b" / "loft") == space
    assert space["place"]["name"] == "loft"
    zone = space["zone"][0]
    assert zone["lit"] == [["05:00", "21:00"]]
    assert zone["quiet"] == [{"hours": [["22:00", "04:30"]]}]
    assert (zone["length_m"], zone["width_m"], zone["wall_reflectance"]) == (1.25, 0.55, 0.85)
    assert (zone["lamp_on_air_c"], zone["lamp_off_air_c"]) == (22.2, 17.8)
    boxes = [bed for bed in space["bed"] if bed["name"].startswith("box")]
    assert [(box["rows"] * box["columns"], box["length_m"]) for box in boxes] == [(5, 0.45)] * 2
    assert {bed.get("kind") for bed in space["bed"]} == {None, "nursery", "tray"}
    lamp = space["fixture"][0]
    assert (lamp["watts"], lamp["count"], lamp["watts_from"]) == (45, 2, "meter")
    assert lamp["lamp_to_canopy_m"] == 0.3556
    assert space["tariff"] == {"currency": "GBP", "rate": [{"name": "day", "per_kwh": 0.29}]}
    assert [want.get("per_week") for want in space["want"]] == [3, 50, 100]
    assert "not clear" not in typed.stdout


def test_only_trays_need_no_pots(tmp_path):
    """Somebody who eats shoots gets trays, and neither pots nor nursery."""
    done = cropcal(
        "new", "sill", "--yes", "--boxes", "2 boxes of 1", "--eat", "pea shoots 80 g", cwd=tmp_path
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert [bed["kind"] for bed in written(tmp_path / "sill")["bed"]] == ["tray", "tray"]


def test_answers_that_end_early_leave_the_rest_to_what_is_usual(tmp_path):
    """Two answers from a pipe are two answers; the rest is as usual, and listed on screen and in the file."""
    done = cropcal("new", "x", "--all", cwd=tmp_path, typed="80 x 40 cm\nsix pots\n")
    assert done.returncode == 0, done.stdout + done.stderr
    assert "No more answers" in done.stdout
    assert "- lamp: LED, 100 W, label" in done.stdout
    text = (tmp_path / "x" / "space.toml").read_text(encoding="utf-8")
    assert "#   lamp: LED, 100 W, label" in text
    space = written(tmp_path / "x")
    assert (space["zone"][0]["length_m"], space["bed"][0]["rows"] * space["bed"][0]["columns"]) == (0.8, 6)


def test_one_slip_costs_one_question(tmp_path):
    """An answer that is not clear takes its likely meaning, else what is usual; the others stand."""
    typed = "4 ft x 2 ft\nmany\nLED 60 W\n12\n6am to 10pm\n72\n30\n2 lettuces\nweekends\n1 March\n"
    done = cropcal("new", "x", "--all", cwd=tmp_path, typed=typed)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "Not understood: no number of pots is found. The usual is taken: 1 box of 8 pots." in (done.stdout)
    assert '- boxes: 1 box of 8 pots ("many" was not clear)' in done.stdout
    assert '- price: 30 ct ("30" was not clear)' in done.stdout
    space = written(tmp_path / "x")
    assert space["tariff"]["rate"][0]["per_kwh"] == 0.3
    assert space["fixture"][0]["lamp_to_canopy_m"] == 0.3048  # 12 after feet: inches
    assert space["fixture"][0]["watts"] == 60
    assert (space["zone"][0]["lamp_on_air_c"], space["zone"][0]["lit"]) == (22.2, [["06:00", "22:00"]])
    assert space["plan"]["work_days"] == ["sat", "sun"]
    assert (space["plan"]["start"].month, space["plan"]["start"].day) == (3, 1)
    assert cropcal("check", "x", cwd=tmp_path).returncode == 0


def test_a_flag_that_is_not_clear_is_refused(tmp_path):
    """A flag is typed on purpose: nothing is guessed, and the likely meaning is offered."""
    done = cropcal("new", "x", "--yes", "--price", "30", cwd=tmp_path)
    assert done.returncode == 2
    assert done.stderr.strip() == (
        '--price: found "30": 30 has no coin or currency; did you mean "30 ct"?, '
        'expected something like "30 ct"'
    )
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(sys.platform == "win32", reason="needs a Unix terminal")
def test_a_person_gets_another_go(tmp_path):
    """At a terminal a slip is explained and asked again."""
    ours, theirs = os.openpty()
    flags = [part for key, text in SAID.items() if key != "gap" for part in (f"--{key}", text)]
    command = [str(Path(sys.executable).with_name("cropcal")), "new", "x", *flags]
    at_once = {**os.environ, "PYTHONUNBUFFERED": "1"}
    with subprocess.Popen(
        command, stdin=theirs, stdout=subprocess.PIPE, text=True, cwd=tmp_path, env=at_once
    ) as running:
        os.write(ours, b"high up\n40 ft\n\n\n\n\n")
        said = ""
        while "Wrote" not in said and (line := running.stdout.readline()):
            said += line
        running.kill()  # the plan is not what this is about
    os.close(ours)
    os.close(theirs)
    assert 'Not understood: no distance is found. Try again, like: 35 cm; or "don\'t know".' in said
    assert 'did you mean "40 in"? Press Enter if so, or say it another way.' in said
    assert written(tmp_path / "x")["fixture"][0]["lamp_to_canopy_m"] == 1.016


def test_new_never_overwrites(tmp_path):
    """A space file that is there is somebody's work."""
    (tmp_path / "space.toml").write_text("# mine\n", encoding="utf-8")
    done = cropcal("new", str(tmp_path), "--yes", cwd=tmp_path)
    assert done.returncode == 2
    assert (tmp_path / "space.toml").read_text(encoding="utf-8") == "# mine\n"


def test_a_name_with_quotes_survives(tmp_path):
    """Whatever the place is called, the file that is written can be read."""
    name = 'Ana\'s "wall" \\ 8'
    assert cropcal("new", "x", "--yes", "--name", name, cwd=tmp_path).returncode == 0
    assert written(tmp_path / "x")["place"]["name"] == name
    assert cropcal("check", "x", cwd=tmp_path).returncode == 0


def light(bed, sd_ln, *narrower):
    return BedLight(
        bed=bed, zone="z", source="watts", how="", sd_ln=sd_ln, photoperiod_h=16,
        site_ppfd_umol_m2_s=(200.0,), narrower=narrower,
    )  # fmt: skip


def test_what_to_find_out_first_is_the_least_sure_light():
    """The bed known worst, until its light is known better than the pace of a new home (sd 0.28)."""
    meter = Narrowing(find="a PAR meter borrowed for an hour", sd_ln=0.05)
    phone = Narrowing(find="lux read with a phone at the sites", sd_ln=0.25)
    dim, bright = light("dim", 0.5, phone, meter), light("bright", 0.35, meter)
    assert most_unsure([bright, dim]) == (dim, (phone, meter))
    assert most_unsure([bright]) == (bright, (meter,))
    assert most_unsure([light("known", 0.2, meter)]) is None
    assert most_unsure([]) is None


@pytest.mark.parametrize("text", ["", "?", "Don't know", "dont know", "no idea."])
def test_dont_know_in_many_words(text):
    """Nothing, a question mark, or the words."""
    assert is_unknown(text)
