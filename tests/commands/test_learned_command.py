"""``cropcal learned`` as a whole: a journal beside a space, what it teaches, and where that shows."""

import json
import struct
from datetime import date, timedelta
from pathlib import Path

import pytest
from typer.testing import CliRunner

from cropcal.cli.main import app
from cropcal.planning.history.calibration_report import report
from cropcal.planning.site.bed_light import bed_lights
from cropcal.reading.journal.read import parse_journal, read_journal
from cropcal.season.load import fingerprint
from cropcal.show.pictures import learned as learned_drawing
from cropcal.show.pictures.shapes import Marks, TextLine

SPACE = """
[place]
name = "Attic garden"
[[zone]]
name = "gable"
length_m = 1.0
width_m = 0.6
photoperiod_h = {hours}
air_c = {air_c}
{zone}
[[bed]]
name = "gutter"
zone = "gable"
rows = 2
columns = 8
length_m = 1.0
width_m = 0.4
[[bed]]
name = "mat"
zone = "gable"
kind = "tray"
length_m = 0.3
width_m = 0.2
[[fixture]]
zone = "gable"
watts = 90
lamp = "{lamp}"
[[reading]]
bed = "gutter"
umol_m2_s = [[{ppfd}]]
[[reading]]
bed = "mat"
umol_m2_s = [[{ppfd}]]
[[want]]
crops = ["lettuce-butterhead"]
per_week = 1
[[want]]
crops = ["spinach-baby"]
[plan]
start = {start}
weeks = 20
"""
HEADER = "on,event,batch,crop,bed,amount,unit,weight_g,why\n"
WHOLE = HEADER.replace("\n", ",sites,cut,sure,written_at,corrects,id\n")
SOWN = date(2026, 3, 2)
LETTUCE = "lettuce-butterhead"


def space_text(**other):
    """Return the space with some values other than usual."""
    usual = {
        "hours": 16, "air_c": 21, "zone": "air_moving = true", "lamp": "white LED", "ppfd": 250,
        "start": SOWN.isoformat(),
    }  # fmt: skip
    return SPACE.format(**{**usual, **other})


def line(day, event, rest="x1,lettuce-butterhead,,,,,"):
    """Return a line of the journal some days after the first sowing."""
    return f"{(SOWN + timedelta(days=day)).isoformat()},{event},{rest}\n"


BEGUN = line(0, "sown", "x1,lettuce-butterhead,gutter,3,sites,,")


def harvest(day, g, batch="x1"):
    """Return the line of three heads of a given weight each [g]."""
    return line(day, "harvested", f"{batch},{LETTUCE},,3,heads,{3 * g},")


@pytest.fixture
def attic(tmp_path):
    """Return a function that makes the folder of a space with its journal."""

    def make(*lines, header=HEADER, **other):
        (tmp_path / "space.toml").write_text(space_text(**other), encoding="utf-8")
        if lines:
            (tmp_path / "journal.csv").write_text(header + "".join(lines), encoding="utf-8")
        return tmp_path

    return make


def run(*words, code=0):
    """Return what a command prints."""
    done = CliRunner().invoke(app, [str(word) for word in words], catch_exceptions=False)
    expected = (0, 1) if words[0] == "plan" and code == 0 else (code,)  # luck may make it short
    assert done.exit_code in expected, done.stderr
    return done.stdout


def told(folder, *words):
    """Return the screen of ``learned`` on one line."""
    return " ".join(run("learned", folder, "--all", *words).split())


def learned(folder):
    """Return the JSON of ``learned``."""
    return json.loads(run("learned", folder, "--json"))


def row(folder, slug=LETTUCE):
    """Return what is said of one crop."""
    return next(crop for crop in learned(folder)["crops"] if crop["slug"] == slug)


def test_without_a_journal_it_says_what_to_note(attic):
    """Not an error: two commands for this very space to begin with."""
    folder = attic()
    assert "Nothing is learned yet" in told(folder)
    assert f"cropcal log {folder} harvested lettuce-butterhead 3 heads 420 g" in told(folder)
    assert learned(folder)["lessons"] == []


@pytest.mark.parametrize(
    "words",
    [
        ("when", LETTUCE, "--sown", "2026-03-10"),
        ("bill",),
        ("photoperiod",),
        pytest.param(("plan", "--on", SOWN.isoformat()), marks=pytest.mark.deep),
    ],
)
def test_a_journal_that_teaches_nothing_changes_no_forecast(attic, words):
    """A journal with the air of one day in it leaves every answer as it was without, to the letter."""
    command, *rest = words
    folder = attic()

    def answer():
        place = [folder, *rest] if command != "plan" else [folder, "--out", folder / "out", *rest]
        form = json.loads(run(command, *place, "--json"))
        form.pop("inputs_sha256", None)
        form.get("outcome", {}).pop("seconds", None)
        return form

    before = answer()
    (folder / "journal.csv").write_text(
        "on,event,zone,amount,unit\n2026-03-02,air,gable,21,C\n", encoding="utf-8"
    )
    assert answer() == before


@pytest.mark.deep
def test_a_slow_harvest_moves_every_forecast_later(attic):
    """Heads of half the weight: when, photoperiod and the plan say later, the power of a head is more."""

    def forecasts(folder):
        when = json.loads(run("when", folder, LETTUCE, "--sown", "2026-03-10", "--json"))
        hours = json.loads(run("photoperiod", folder, "--json"))["zones"][0]["now"]["harvest_days"][LETTUCE]
        bill = json.loads(run("bill", folder, "--json"))["unit_costs"]
        plan = json.loads(run("plan", folder, "--on", "2026-02-20", "--out", folder / "out", "--json"))
        ready = min(batch["ready_from"] for batch in plan["batches"] if batch["crop"] == LETTUCE)
        power = next(one["kwh_per_unit"] for one in bill if one["crop"] == LETTUCE)
        return when["harvest"]["middle"], hours, power, ready

    book = forecasts(attic())
    slow = forecasts(attic(BEGUN, harvest(50, 60)))
    assert all(after > before for before, after in zip(book, slow, strict=True))


def test_an_odd_harvest_is_asked_about_until_it_is_said_to_be_right(attic):
    """Its line, what was expected and seen, and two commands: the one that confirms it makes it count."""
    folder = attic(BEGUN, harvest(50, 1300), header=WHOLE)
    name = learned(folder)["lessons"][0]["id"]
    said = told(folder)
    assert "Hard to believe" in said
    assert "1300 g a plant, expected" in said
    assert "(journal.csv, line 3)" in said
    command = f"cropcal log {folder} --correct {name} --sure"
    assert f"It is right: {command}" in said
    assert f"A slip: cropcal log {folder} --correct {name} AMOUNT" in said
    before = row(folder)
    assert before["harvests"] == 0
    run(*command.split()[1:])
    journal, problems = read_journal(folder / "journal.csv")
    assert problems == []
    assert [event.sure for event in journal.events if event.event == "harvested"] == [True]
    assert "Hard to believe" not in told(folder)
    assert row(folder)["harvests"] == 1
    assert row(folder)["speed"] > before["speed"]


def test_an_odd_harvest_that_was_a_slip_is_corrected(attic):
    """The other command, with the amount as it was: nothing is odd any more, and it is learned from."""
    folder = attic(BEGUN, harvest(50, 1300), header=WHOLE)
    name = learned(folder)["lessons"][0]["id"]
    run("log", folder, "--correct", name, "3", "heads", "390", "g")
    (lesson,) = learned(folder)["lessons"]
    assert (lesson["seen"], lesson["used"], lesson["sure"]) == (130, True, False)


def test_a_journal_without_room_for_sure_says_which_column_to_add(attic):
    """Nothing is written into a file whose first line lacks the word."""
    folder = attic(BEGUN, harvest(50, 1300), header=WHOLE.replace(",sure", ""))
    name = learned(folder)["lessons"][0]["id"]
    done = CliRunner().invoke(app, ["log", str(folder), "--correct", name, "--sure"])
    assert done.exit_code == 2
    assert 'journal.csv:1: sure: found no such column, expected one to write into, add "sure"' in done.stderr


def test_sure_is_for_what_teaches(tmp_path):
    """A sure air temperature is refused, on the command line and in the file."""
    (tmp_path / "space.toml").write_text(space_text(), encoding="utf-8")
    done = CliRunner().invoke(app, ["log", str(tmp_path), "air", "20", "--sure"])
    assert done.exit_code == 2
    assert '--sure: found yes, expected nothing, that is for one of "emerged"' in done.stderr
    _, problems = parse_journal(b"on,event,zone,amount,unit,sure\n2026-03-02,air,gable,20,C,yes\n", "j.csv")
    assert [(problem.where.line, problem.key) for problem in problems] == [(2, "sure")]


def test_lines_typed_by_hand_keep_the_id_they_had_before_sure_was_a_column():
    """Corrections name it: "jcbbq" is what the version before gave this line."""
    lines = b"on,event,batch,crop,amount,unit\n2027-01-06,sown,0106a,kale,3,sites\n"
    assert parse_journal(lines, "journal.csv")[0].entries[0].id == "jcbbq"


SPINACH = line(0, "sown", "x2,spinach-baby,mat,1,trays,,")
LOST = line(9, "lost", "x1,lettuce-butterhead,,2,plants,,{}")


@pytest.mark.parametrize(
    ("other", "lines", "point"),
    [
        # 280 umol * 16 h * 0.0036 = 16.128 mol; at most 14.4 in still air, else 17; 14.4 / 16.128 * 16 h
        (
            {"ppfd": 280, "zone": ""},
            [line(30, "tip burn")],
            "tip burn in 1 of 1 batch. It points to light: 16.1 mol a day, above its 14.4 in still air. Try:"
            " a small fan over the leaves, or 14.25 h of light.",
        ),
        # 320 * 16 * 0.0036 = 18.432 mol; 17 / 18.432 * 16 h = 14.757
        (
            {"ppfd": 320},
            [line(30, "tip burn")],
            "18.4 mol a day, above its 17 in moving air. Try: 14.75 h of light, or a lamp turned down.",
        ),
        ({"ppfd": 200, "zone": ""}, [line(30, "tip burn")], "it points to air that does not move"),
        ({"air_c": 27}, [line(30, "tip burn")], "points to heat: air of 27 °C, quality falls above 24 °C"),
        # Chun 2001 (HortScience 36:889): 85 % of spinach and more bolted at 16 h; 200 * 13 * 0.0036 mol
        (
            {"ppfd": 200},
            [SPINACH, line(25, "bolted", "x2,spinach-baby,,,,,")],
            "It points to hours: 16 h of light, it bolts above 13 h. Try: 13 h would give 9.4 mol a day",
        ),
        ({"hours": 18}, [line(40, "bolted")], "18 h of light, and nobody printed its limit. Try: 16 h"),
        ({"hours": 14}, [line(40, "bolted")], "Hours and air do not explain it, 14 h of light and 21 °C"),
        # 100 * 12 * 0.0036 = 4.32 mol; 8 mol in 16 h need 8 / (16 * 0.0036) = 138.9 umol
        (
            {"ppfd": 100, "hours": 12},
            [LOST.format("leggy")],
            "4.3 mol a day is far too little, sturdy seedlings have 8 and more. Try: a lamp nearer or"
            " stronger: 139 µmol for 16 h.",
        ),
        # 150 * 12 * 0.0036 = 6.48 mol; 8 / 6.48 * 12 h = 14.8 h
        (
            {"ppfd": 150, "hours": 12},
            [LOST.format("stretched seedlings")],
            "leggy seedlings in 1 of 1 batch. It points to light: 6.5 mol a day is little, sturdy seedlings"
            " have 8 and more. Try: 15 h of light.",
        ),
        ({"air_c": 26}, [LOST.format("Spindly")], "points to warmth: air of 26 °C, it grows best at 24 °C"),
        ({}, [LOST.format("leggy")], "The light is enough by the file, 14.4 mol a day. Try: read it where"),
        (
            {"lamp": "red-blue LED"},
            [line(5, "reading", ",,gutter,9000,lux,,")],
            "gutter: readings in lux are not used, the lux of its lamp for each µmol is not known.",
        ),
    ],
)  # fmt: skip
def test_what_went_wrong_points_to_a_cause_and_a_cure(attic, other, lines, point):
    """Light, hours, air or heat, by the numbers of the bed on that day."""
    assert point in told(attic(BEGUN, *lines, **other))


def test_a_loss_to_slugs_points_to_nothing(attic):
    """Only what people call leggy is taken for want of light."""
    assert "What the notes point to" not in told(attic(BEGUN, LOST.format("slugs"), ppfd=100))


def test_the_air_that_was_noted_counts_not_that_of_the_file(attic):
    """Tips burnt in a hot week are the heat's, though the file says 21 C."""
    header = HEADER.replace("bed", "bed,zone")
    lines = [
        "2026-03-02,sown,x1,lettuce-butterhead,gutter,,3,sites,,\n",
        "2026-03-20,air,,,,gable,27,C,,\n",
        "2026-04-01,tip burn,x1,lettuce-butterhead,,,,,,\n",
    ]
    assert "air of 27 °C" in told(attic(*lines, header=header))


def test_clearly_slow_crops_point_to_what_may_be_other_than_told(attic):
    """Three harvests of a third of the weight: look at light and air first, with how they are known."""
    lines = [
        part
        for number in range(3)
        for part in (
            line(number, "sown", f"y{number},lettuce-butterhead,gutter,3,sites,,"),
            harvest(50 + number, 50, f"y{number}"),
        )
    ]
    said = told(attic(*lines))
    assert "Butterhead lettuce in gutter, slow:" in said
    assert "14.4 mol a day assumed" in said  # 250 umol * 16 h * 0.0036
    assert "then the air (21 °C, as given)" in said


def test_a_lux_reading_counts_as_light(attic):
    """8650 lux under a white lamp are 125 umol: 69.2 lux for each (CIE 15:2018, in crops/lamps.csv)."""
    expected = []
    for amount in ("125,umol_m2_s", "8650,lux"):
        light = line(10, "reading", f",,gutter,{amount},,")
        expected.append(learned(attic(BEGUN, light, harvest(55, 90)))["lessons"][0]["expected"])
    without = learned(attic(BEGUN, harvest(55, 90)))["lessons"][0]["expected"]
    assert expected[0] == pytest.approx(expected[1], rel=1e-4)
    assert expected[0] < 0.8 * without


def test_a_plan_made_before_a_note_stays_the_plan_of_the_week(attic):
    """A note changes what the plan depends on: the week says so, and shows the plan on the wall."""
    folder = attic()
    before = fingerprint(folder)
    CliRunner().invoke(app, ["plan", str(folder), "--on", SOWN.isoformat()])
    week = ["week", str(folder), "--on", SOWN.isoformat(), "--json"]
    first = CliRunner().invoke(app, week)
    assert first.stderr == ""
    attic(BEGUN)
    assert fingerprint(folder) != before
    now = CliRunner().invoke(app, week)
    assert "The journal or a log file has changed since this plan was made" in now.stderr
    shown = [
        [(job["batch"], job["date"]) for job in json.loads(told.stdout)["jobs"]] for told in (first, now)
    ]
    assert shown[0] == shown[1]


def test_the_picture_shows_each_note_in_its_range(attic, read_text, tables):
    """One mark a note: filled where it was used; the bars hold the ranges; nothing leaves the page."""
    lines = [
        BEGUN,
        line(4, "emerged"),
        line(40, "not ready"),
        harvest(50, 120),
        line(1, "sown", "x9,lettuce-butterhead,gutter,3,sites,,"),
        harvest(51, 1300, "x9"),
    ]
    folder = attic(*lines)
    space = read_text(space_text())
    journal, _ = read_journal(folder / "journal.csv")
    found = report(space, tables, bed_lights(space, tables), journal.events, ())
    drawn = learned_drawing.drawing(found, {}, "Attic garden")
    legend = max(
        shape.y for shape in drawn.shapes if isinstance(shape, TextLine) and "forecast" in shape.text
    )
    marks = [shape for shape in drawn.shapes if isinstance(shape, Marks)]
    assert [mark.sign for mark in marks][:4] == ["down", "dot", "dot", "dot"]
    assert len(marks) == len(found.lessons) + 3  # the legend explains three signs
    assert legend < drawn.height
    for shape in drawn.shapes:
        if isinstance(shape, TextLine):
            assert 0 <= shape.x <= drawn.width
            assert 0 <= shape.y <= drawn.height
    (weighed,) = (one for one in found.lessons if one.kind == "weighed" and one.used)
    assert weighed.low_80 < weighed.expected < weighed.high_80
    assert weighed.expected**2 == pytest.approx(weighed.low_80 * weighed.high_80)


def test_the_picture_is_written_on_demand(attic, tmp_path):
    """A PNG (PNG specification, 11.2.2), the same bytes twice, and its name on the screen."""
    folder = attic(BEGUN, harvest(50, 120))
    assert not list(Path(tmp_path).glob("**/*.png"))
    assert "learned.png" in told(folder, "--out", folder / "out")
    first = (folder / "out" / "learned.png").read_bytes()
    width, height = struct.unpack(">II", first[16:24])
    assert first[:8] == b"\x89PNG\r\n\x1a\n"
    assert width > 800
    assert height > 300
    run("learned", folder, "--out", folder / "out")
    assert (folder / "out" / "learned.png").read_bytes() == first
