"""``cropcal log`` as a person types it: what is noted, what is said, what is refused."""

import contextlib
import json
import subprocess
from datetime import timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest
from on_a_day import CROPCAL, DAY
from typer.testing import CliRunner

from cropcal.cli.main import app
from cropcal.reading.journal.read import read_journal

TODAY = DAY
SPACE = """
[[zone]]
name = "bench"
length_m = 1.0
width_m = 1.0
photoperiod_h = 16

[[bed]]
name = "long box"
zone = "bench"
sites = 8
length_m = 0.9
width_m = 0.4

[[bed]]
name = "trays"
zone = "bench"
kind = "tray"
sites = 2
length_m = 0.9
width_m = 0.4

[[fixture]]
zone = "bench"
watts = 100

[[want]]
crops = ["lettuce-butterhead"]

[[want]]
crops = ["basil"]
"""


def ago(days: int) -> str:
    return (TODAY - timedelta(days=days)).isoformat()


def batch(name, crop, sown, ready, sites=8, unit="heads", bed="long box", nursery=None, amount=None):
    """Return a batch as plan.json has it; days count back from today."""
    amount = float(sites) if amount is None else amount
    cut = {
        "date": ago(ready),
        "cut": 1,
        "sites": sites,
        "amount": amount,
        "amount_range_80": [amount, amount],
    }
    return {
        "batch": name, "want": 0, "crop": crop, "bed": bed, "nursery": nursery, "sow_on": ago(sown),
        "emerge_on": ago(sown - 4), "transplant_on": ago(sown - 14) if nursery else None,
        "ready_from": ago(ready), "ready_from_range_80": [ago(ready + 7), ago(ready - 7)],
        "ready_until": ago(ready - 7), "clear_on": ago(ready), "sites": sites, "cells": 0, "seeds": 16,
        "amount": amount, "unit": unit, "harvests": [cut],
    }  # fmt: skip


@pytest.fixture
def shelf(tmp_path):
    """Return a folder with a space and a plan: three lettuces, a basil and two baby leaf trays on one day."""
    folder = tmp_path / "my shelf"
    (folder / "plan").mkdir(parents=True)
    (folder / "space.toml").write_text(SPACE, encoding="utf-8")
    batches = [
        batch("0401a", "lettuce-butterhead", 60, 10),
        batch("0415a", "lettuce-butterhead", 45, -10),
        batch("0601a", "lettuce-butterhead", 1, -50),
        batch("0402a", "basil", 58, 5, sites=2, unit="g", amount=230.0),
        batch("0501a", "lettuce-baby", 20, 1, sites=1, unit="g", bed="trays", amount=90.0),
        batch("0501b", "lettuce-baby", 20, 1, sites=1, unit="g", bed="trays", amount=90.0),
    ]
    form = {"batches": batches, "jobs": [], "sites": [], "supply": []}
    (folder / "plan" / "plan.json").write_text(json.dumps(form), encoding="utf-8")
    return folder


def run(folder: Path, *words: str, inside: bool = True):
    """Run the command within this process: a new one for each would take most of the time."""
    with contextlib.chdir(folder if inside else folder.parent):
        done = CliRunner().invoke(app, ["log", *words], catch_exceptions=False)
    return SimpleNamespace(returncode=done.exit_code, stdout=done.stdout, stderr=done.stderr)


def said(folder: Path, *words: str) -> str:
    done = run(folder, *words)
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    return " ".join(done.stdout.split())


def held(folder: Path):
    journal, problems = read_journal(folder / "journal.csv")
    assert problems == []
    return journal.events


def test_a_harvest_says_what_is_left_and_how_to_take_it_back(shelf):
    """The nearest batch of the crop is meant; weight may stand beside heads."""
    text = said(shelf, "harvested", "butterhead", "3", "heads", "420", "g", "--on", "yesterday")
    event = held(shelf)[0]
    assert (event.batch, event.amount, event.unit, event.weight_g) == ("0401a", 3, "heads", 420)
    assert (event.on, event.cut, event.bed) == (TODAY - timedelta(days=1), "whole", "long box")
    assert "harvested 3 heads (420 g) Butterhead lettuce, batch 0401a, long box; 5 of 8 left." in text
    assert text.endswith(f"Wrong? cropcal log --undo {event.id}")
    assert "2 of 8 left" in said(shelf, "harvested", "0401a", "3")
    assert "only 2 of 8 were left: is it this batch?" in said(shelf, "harvested", "0401a", "4")
    assert "batch 0415a" in said(shelf, "harvested", "butterhead", "1")  # nothing is left of the first


@pytest.mark.parametrize(
    ("words", "event", "facts"),
    [
        (["sown", "lettuce"], "sown", {"batch": "0601a", "amount": 8, "unit": "sites"}),
        (["sow", "0601a", "6"], "sown", {"batch": "0601a", "amount": 6}),
        (["up", "0601a", "5"], "emerged", {"batch": "0601a", "amount": 5, "unit": "plants"}),
        (["emerged", "Butterhead lettuce", "--bed", "long box"],
         "emerged", {"batch": "0601a", "amount": None}),
        (["harvested", "basil", "240,5 g"], "harvested", {"batch": "0402a", "amount": 240.5, "cut": 1}),
        (["harvested", "basil", "0.1 kg", "--cut", "2"], "harvested", {"amount": 100, "cut": 2}),
        (["harvested", "basil", "100", "--whole", "--early"], "harvested", {"cut": "whole", "early": True}),
        (["lost", "0401a", "2", "--why", "slugs"], "lost", {"amount": 2, "unit": "plants", "why": "slugs"}),
        (["bolted", "basil"], "bolted", {"batch": "0402a"}),
        (["tip", "burn", "0401a"], "tip burn", {"batch": "0401a", "crop": "lettuce-butterhead"}),
        (["not", "ready", "0415a"], "not ready", {"batch": "0415a"}),
        (["reading", "long", "box", "210", "--site", "1 to 3"],
         "reading", {"bed": "long box", "amount": 210, "unit": "umol_m2_s", "sites": (1, 2, 3)}),
        (["light", "trays", "15", "klux"], "reading", {"bed": "trays", "amount": 15000, "unit": "lux"}),
        (["air", "22.5"], "air", {"zone": "bench", "amount": 22.5, "unit": "C"}),
        (["air", "long box", "72 °F"], "air", {"zone": "bench", "amount": 22.22}),
        (["outage", "pump", "3", "h"], "outage", {"what": "pump", "amount": 3, "unit": "h", "zone": ""}),
        (["hours", "14"], "lamp hours", {"zone": "bench", "amount": 14, "unit": "h"}),
        (["lamp", "hours", "bench", "90", "min"], "lamp hours", {"amount": 1.5}),
    ],
)  # fmt: skip
def test_what_is_noted(shelf, words, event, facts):
    """Every event, in the words people use."""
    said(shelf, *words)
    (noted,) = held(shelf)
    assert noted.event == event
    assert {key: getattr(noted, key) for key in facts} == facts
    assert noted.on == TODAY


def test_an_outage_over_midnight(shelf):
    """Clock times are of the day, and an end before the start is the next day's."""
    text = said(shelf, "outage", "lamp", "--from", "22:30", "--until", "6:00", "--on", ago(3))
    (noted,) = held(shelf)
    assert noted.starts.isoformat() == f"{ago(3)}T22:30:00"
    assert noted.ends.isoformat() == f"{ago(2)}T06:00:00"
    assert "lamp off, 22:30 to 06:00 on" in text


def test_the_space_may_be_named_or_left_out(shelf):
    """An event first means the current folder; a folder first means that one."""
    assert run(shelf, "my shelf", "air", "22", inside=False).returncode == 0
    done = run(shelf, "my shelf/space.toml", "air", "23", inside=False)
    assert 'cropcal log "my shelf/space.toml" --undo' in done.stdout
    (shelf / "air").mkdir()  # a folder of an event's name changes nothing
    said(shelf, "air", "24")
    assert [event.amount for event in held(shelf)] == [22, 23, 24]


def test_the_last_ten(shelf):
    """Without an event it lists the last ten lines, newest at the end."""
    assert "Nothing is noted yet." in said(shelf)
    for celsius in range(12):
        said(shelf, "air", str(celsius + 10))
    lines = run(shelf).stdout.splitlines()
    assert len(lines) == 12
    assert "air 12 °C" in lines[2]
    assert "air 21 °C" in lines[-1]
    assert lines[-1].endswith(held(shelf)[-1].id)


def test_lost_without_a_number_is_all_that_was_left(shelf):
    """A loss means that the batch is gone; a bare number of a crop that grows in clumps counts pots."""
    for file in (shelf / "space.toml", shelf / "plan" / "plan.json"):
        file.write_text(file.read_text(encoding="utf-8").replace('"basil"', '"chives"'), encoding="utf-8")
    assert "lost 1 site Chives, batch 0402a, long box; 1 left." in said(shelf, "lost", "chives", "1")
    assert "lost all Chives, batch 0402a, long box, slugs; none left of 1." in said(
        shelf, "lost", "chives", "--why", "slugs"
    )
    assert "lost 3 plants Chives" in said(shelf, "lost", "0402a", "3 plants")
    done = run(shelf, "harvested", "chives", "80 g")
    assert "No batch of the plan fits" in done.stdout


def test_a_bare_number_of_a_crop_of_one_plant_a_site_counts_plants(shelf):
    """Plant and site are the same there, and a plant is what a person sees."""
    assert "lost 1 plant Basil, batch 0402a, long box; 1 left." in said(shelf, "lost", "basil", "1")


def test_undo_takes_back_and_brings_back(shelf):
    """The last event, or the one of an id; the file only grows."""
    said(shelf, "air", "20")
    said(shelf, "air", "21")
    first = held(shelf)[0].id
    assert "Taken back: air 21 °C" in said(shelf, "--undo")
    text = said(shelf, "--undo")
    assert held(shelf) == ()
    assert "does not hold any more" in said(shelf)
    said(shelf, *text.partition("cropcal log ")[2].split())
    assert [event.id for event in held(shelf)] == [first]
    assert len((shelf / "journal.csv").read_text(encoding="utf-8").splitlines()) == 6
    said(shelf, "--undo", first)
    assert run(shelf, "--undo").returncode == 2


def test_correct_replaces_what_is_said_anew(shelf):
    """An amount alone, an option alone, or the whole event; the rest stays."""
    said(shelf, "harvested", "0401a", "3", "--note", "wet", "--on", ago(2))
    name = held(shelf)[0].id
    assert "6 of 8 left" in said(shelf, "--correct", name, "2")
    assert "4 of 8 left" in said(shelf, "--correct", name, "4 heads 500 g")
    said(shelf, "--correct", name, "--on", ago(1))
    (event,) = held(shelf)
    assert (event.amount, event.weight_g, event.note, event.on.isoformat()) == (4, 500, "wet", ago(1))
    assert "7 plants left" not in said(shelf, "--correct", event.id, "lost", "0401a", "1")
    (event,) = held(shelf)
    assert (event.event, event.amount, event.on.isoformat()) == ("lost", 1, ago(1))
    assert len(read_journal(shelf / "journal.csv")[0].entries) == 5


def test_a_sowing_besides_the_plan_gets_a_batch(shelf):
    """What is sown without a plan can still be named later."""
    text = said(shelf, "sown", "kale", "4")
    name = f"x{TODAY:%m%d}a"
    assert f"batch {name}; it is not in the plan" in text
    assert "120 g so far" in said(shelf, "harvested", "kale", "120 g")
    assert [event.batch for event in held(shelf)] == [name, name]
    assert f"x{TODAY:%m%d}b" in said(shelf, "sown", "kale")


def test_a_batch_of_no_plan_moves_to_another_bed(shelf):
    """What was sown beside the plan is moved where it is said, and cut there."""
    said(shelf, "sown", "lettuce-romaine", "3 sites", "--bed", "trays", "--on", ago(40))
    moved = said(shelf, "transplanted", "lettuce-romaine", "--bed", "long box", "--on", ago(20))
    assert "long box. Wrong?" in moved
    said(shelf, "harvested", "lettuce-romaine", "2 heads 300 g")
    assert [event.batch for event in held(shelf)] == [f"x{TODAY - timedelta(days=40):%m%d}a"] * 3
    assert held(shelf)[-1].bed == "long box"


def test_what_is_noted_is_learned(shelf):
    """A weighed harvest makes `learned` and `when` surer; before it, the screen says what to note."""
    with contextlib.chdir(shelf):
        empty = CliRunner().invoke(app, ["learned"], catch_exceptions=False).stdout
        assert "Nothing is learned yet" in empty
        said(shelf, "sown", "lettuce-romaine", "3 sites", "--bed", "long box", "--on", ago(70))
        said(shelf, "harvested", "lettuce-romaine", "3 heads 390 g")
        shown = CliRunner().invoke(app, ["learned", "--json"], catch_exceptions=False).stdout
        assert "130 g a plant" in CliRunner().invoke(app, ["learned", "--all"], catch_exceptions=False).stdout
    row = next(crop for crop in json.loads(shown)["crops"] if crop["slug"] == "lettuce-romaine")
    (before, now) = (row[key]["range_80"] for key in ("days_before", "days_now"))
    assert row["harvests"] == 1
    assert now[1] - now[0] < 0.7 * (before[1] - before[0])


def test_the_same_twice_is_pointed_out(shelf):
    """The note is taken, with a warning."""
    assert "noted already" not in said(shelf, "lost", "0401a", "1")
    assert f"The same is noted already as {held(shelf)[0].id}" in said(shelf, "lost", "0401a", "1")


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["harvestd", "basil", "80"], 'EVENT: found "harvestd", expected one of "sown"'),
        (["harvestd", "basil", "80"], 'did you mean "harvested"?'),
        (["shlef", "harvested", "basil", "80"], 'SPACE: found "shlef", expected a folder with a space.toml'),
        (["harvested"], "CROP_OR_BATCH: found nothing, expected a batch id of the calendar, or a crop"),
        (["harvested", "3"], 'CROP_OR_BATCH: found "3", expected a batch id'),
        (["harvested", "basl", "80"],
         'found "basl", expected a batch id of the calendar, or a crop, did you mean "basil"?'),
        (["harvested", "0402b", "80"],
         'found "0402b", expected a batch id of the calendar, or a crop, did you mean "0402a"?'),
        (["harvested", "lettuce-baby", "80"],
         'CROP_OR_BATCH: found "lettuce-baby", which may be 0501a (trays, counts as sown 30 Nov as planned'),
        (["harvested", "basil"], "AMOUNT: found nothing, expected how much, in g"),
        (["harvested", "basil", "3 heads"],
         'AMOUNT: found "3 heads", expected an amount in g, the unit of this crop'),
        (["harvested", "0401a", "420 g"],
         'AMOUNT: found "420 g", expected heads, and their weight if you like: 3 heads 420 g'),
        (["harvested", "0401a", "2.5"], "AMOUNT: found 2.5, expected a whole number of heads"),
        (["harvested", "0401a", "1,240"], 'AMOUNT: found "1,240", expected a number with its unit'),
        (["harvested", "0401a", "3", "buckets"],
         'AMOUNT: found "3 buckets", expected a number with its unit'),
        (["air", "22", "--on", "2150-01-01"],
         '--on: found "2150-01-01", expected a day up to today, today is'),
        (["air", "22", "--on", "3 Mai 26th"],
         '--on: found "3 Mai 26th", expected yesterday, or a date like 2027-01-06'),
        (["air"], "AMOUNT: found nothing, expected how much, in C"),
        (["air", "80"], "AMOUNT: found 80, expected a temperature in °C from -10 to 50, looks like °F: 26.7"),
        (["reading", "210"], 'BED: found nothing, expected the name of a bed, there are "long box", "trays"'),
        (["reading", "lang box", "210"],
         'BED: found "lang box", expected the name of a bed, did you mean "long box"?'),
        (["reading", "trays", "210", "--site", "1-Apr"],
         '--site: found "1-Apr", expected numbers of sites like 1 to 4, 7'),
        (["outage", "3 h"], "WHAT: found nothing, expected what stood still: lamp, pump, fan or power"),
        (["outage", "pump"], "--from: found nothing, expected from and until, or hours as amount"),
        (["outage", "pump", "--from", "18:00"],
         "--until: found nothing, expected a time like 18:30, --from has one"),
        (["outage", "pump", "--from", "six", "--until", "7:00"],
         '--from: found "six", expected a time like 18:30'),
        (["--undo", "zzzzz"], '--undo: found "zzzzz", expected the id of a line'),
        (["--undo"], "--undo: found a journal without events"),
        (["--correct", "zzzzz", "3"], '--correct: found "zzzzz", expected the id of a line'),
    ],
)  # fmt: skip
def test_what_is_refused(shelf, words, message):
    """One clear line, exit code 2, nothing written."""
    done = run(shelf, *words)
    assert (done.returncode, done.stdout) == (2, "")
    assert len(done.stderr.splitlines()) == 1
    assert message in done.stderr
    assert not (shelf / "journal.csv").exists()


def test_other_mistakes_in_the_file_do_not_stop_a_note(shelf):
    """They are said, with their line; so is half a line; ``check`` says them too."""
    said(shelf, "air", "20")
    with (shelf / "journal.csv").open("a", encoding="utf-8") as file:
        file.write("03/05/2026,sown,0401a\n2026-05-04,harv")
    done = run(shelf, "air", "21")
    assert done.returncode == 0
    assert "journal.csv:3: on: found" in done.stderr
    assert 'journal.csv:4: found half a line, set aside: "2026-05-04,harv"' in done.stderr
    journal, problems = read_journal(shelf / "journal.csv")
    assert [entry.amount for entry in journal.events] == [20, 21]
    assert len(problems) == 1
    assert [one.text for one in journal.torn] == ["2026-05-04,harv,#torn"]
    command = [*CROPCAL, "check", str(shelf)]
    checked = subprocess.run(command, capture_output=True, text=True, check=False)
    assert checked.returncode == 2
    assert "journal.csv:3" in checked.stderr
    assert "journal.csv:4" in checked.stderr


def test_without_a_plan_a_crop_will_do(shelf):
    """The event is noted for the crop, and the screen says so."""
    (shelf / "plan" / "plan.json").unlink()
    assert "No batch of the plan fits" in said(shelf, "harvested", "basil", "80")
    assert held(shelf)[0].crop == "basil"
    assert "no plan is written" in run(shelf, "harvested", "0402a", "80").stderr
