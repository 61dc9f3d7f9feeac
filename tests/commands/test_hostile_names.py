"""No name, path or word of the command line can steer the terminal."""

import json
import re
import sys
import unicodedata
from pathlib import Path

import pytest
from typer.testing import CliRunner

from cropcal.cli.gate import Gate
from cropcal.cli.main import app
from cropcal.letters import clean, is_name

HOSTILE = "a\x1b[31mred\x07\x9b2J\x7f\u202edesrever\u2066x\u2069\u2028\u200by"
"""Colours, a bell, a wiped screen by its one-character code, an override, an isolate, a line end, nothing."""
STEERING = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u200b\u2028\u2029\u202a-\u202e\u2066-\u2069]")
HEADER = "on,event,crop,note,id"
WELCOME = (
    "سلة الخس",
    "ארגז \u200fא",
    "👩\u200d🌾 shelf",
    "Réglette à Zoë",
    "می\u200cخواهم",
    "\U0001f3f4\U000e0067\U000e007f",
)
EVERY = (
    ("check",),
    ("light",),
    ("photoperiod",),
    ("daylight",),
    ("bill",),
    ("crops",),
    ("learned",),
    ("log",),
    ("log", "sown", "lettuce-butterhead"),
    ("plan", "--time-limit", "1"),
    ("week",),
    pytest.param(("why", "--time-limit", "1"), marks=pytest.mark.deep),
)
"""Every command that takes a space and no more."""
SHELF = """\
[place]
name = {place}

[[zone]]
name = {zone}
length_m = 0.9
width_m = 0.4
photoperiod_h = 15

[[bed]]
name = {bed}
zone = {zone}
sites = 2

[[fixture]]
zone = {zone}
watts = 60

[tariff]
currency = {currency}
[[tariff.rate]]
per_kwh = 0.3

[[want]]
crops = ["lettuce-butterhead"]

[[chore]]
name = {chore}
every_days = 30
"""


def run(*words):
    """Return a command's output; none of it may steer a terminal."""
    done = CliRunner().invoke(app, list(words))
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    assert not STEERING.search(done.output), done.output
    return done


def quoted(text):
    """Return a TOML string with escapes for all that is not plain to see."""
    return '"' + "".join(char if is_name(f"a{char}") else f"\\u{ord(char):04x}" for char in text) + '"'


def shelf(folder, **names):
    said = {"place": "Cellar", "zone": "rack", "bed": "box", "currency": "EUR", "chore": "rinse", **names}
    text = SHELF.format(**{key: quoted(value) for key, value in said.items()})
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "space.toml").write_text(text, encoding="utf-8")
    return str(folder)


@pytest.mark.parametrize("key", ["place", "zone", "bed", "currency", "chore"])
@pytest.mark.parametrize(
    "name", ["a\x1bb", "a\x9bb", "a\x7fb", "a\u202eb", "a\nb", " ", "\u200d\u200c", "\u00a0", "\u0301"]
)
def test_a_name_that_steers_or_cannot_be_seen_is_refused(tmp_path, key, name):
    """Every name of a space file, with its key and line, and nothing of it on the terminal."""
    done = run("check", shelf(tmp_path, **{key: name}))
    assert done.exit_code == 2
    assert "expected letters that can be seen, without control characters" in " ".join(done.output.split())


@pytest.mark.drawn
@pytest.mark.parametrize("name", WELCOME)
def test_names_of_all_peoples_are_welcome(tmp_path, name):
    """Right-to-left names, joined emoji and accents are names like others, and are shown as they are."""
    here = shelf(tmp_path, place=name, bed=name, zone=name, chore=name)
    assert run("check", here).exit_code == 0
    assert name in run("light", here, "--all").output
    assert json.loads(run("light", here, "--json").output)["beds"][0]["bed"] == name
    (tmp_path / "crops.csv").write_text(f"slug,like,name\nours,basil,{name}\n", encoding="utf-8")
    assert run("check", here).exit_code == 0


@pytest.mark.drawn
@pytest.mark.parametrize("words", EVERY)
def test_no_command_lets_a_hostile_space_through(tmp_path, words):
    """Names in the file, the name of the folder, and a key that is no key."""
    here = shelf(tmp_path / clean(HOSTILE).replace(" ", "\x1b"), bed=HOSTILE, zone=HOSTILE)
    with Path(here, "space.toml").open("a", encoding="utf-8") as file:
        file.write(f'\n["{json.dumps(HOSTILE)[1:-1]}"]\nx = 1\n')
    done = run(words[0], here, *words[1:])
    assert done.exit_code == 2
    assert done.output.strip()


@pytest.mark.drawn
@pytest.mark.skipif(sys.platform == "win32", reason="no such folder there")
@pytest.mark.parametrize("words", EVERY)
def test_no_command_lets_a_hostile_folder_through(tmp_path, words):
    """A good space in a folder of any name, with a crop and a journal that somebody else wrote."""
    here = shelf(tmp_path / "x\x1b[31m\u202e")
    (tmp_path / "x\x1b[31m\u202e" / "journal.csv").write_text(
        f"{HEADER}\n2026-01-04,sown,lettuce-butterhead,{HOSTILE},bcdfg\n", encoding="utf-8"
    )
    assert run(words[0], here, *words[1:]).exit_code in (0, 1, 2)


@pytest.mark.parametrize(
    "words",
    [
        (HOSTILE,),
        ("light", HOSTILE),
        ("light", ".", HOSTILE),
        (f"--{HOSTILE}",),
        ("when", "HERE", HOSTILE, "--sown", "2027-01-06"),
        ("when", "HERE", "basil", "--sown", HOSTILE),
        ("when", "HERE", "lettuce-butterhead", "--sown", "2027-01-06", "--bed", HOSTILE),
        ("plan", "HERE", "--on", HOSTILE),
        ("plan", "HERE", "--sow", HOSTILE),
        ("plan", "HERE", "--out", "HERE/space.toml/" + HOSTILE),
        ("trial", "HERE", HOSTILE),
        ("trial", "HERE", "basil", "--since", HOSTILE),
        ("log", "HERE", HOSTILE),
        ("log", "HERE", "sown", HOSTILE),
        ("log", "HERE", "sown", "lettuce-butterhead", "2", "--note", HOSTILE),
        ("log", "HERE", "reading", HOSTILE, "200"),
        ("log", "HERE", "--undo", HOSTILE),
        ("log", "HERE", "--correct", HOSTILE, "2"),
        ("light", "HERE", "--set", f"bed.{HOSTILE}.sites=3"),
        ("light", "HERE", "--set", f"bed.box.name={HOSTILE}"),
        ("light", "HERE", "--set", HOSTILE),
        ("new", "HERE/new", "--yes", "--name", HOSTILE),
        ("new", "HERE/new", "--floor", HOSTILE),
        ("new", "HERE/new", "--eat", HOSTILE),
    ],
)
def test_no_word_of_the_command_line_comes_back_raw(tmp_path, words):
    """Usage errors too, which the library of the command line prints."""
    here = shelf(tmp_path)
    done = run(*(word.replace("HERE", here) for word in words))
    assert done.output.strip()


def test_json_is_valid_and_has_escapes(tmp_path):
    """Text that a problem quotes is in JSON as it was typed, escaped."""
    done = run("check", shelf(tmp_path), "--json", "--set", f"bed.box.sites={HOSTILE}")
    assert HOSTILE in json.loads(done.output)["set"]["given"][0]["now"]
    done = run("light", shelf(tmp_path), "--json", "--set", f"zone.rack.photoperiod_h={HOSTILE}")
    assert done.exit_code == 2


def test_the_gate_writes_what_the_stream_can(tmp_path):
    """A terminal of another alphabet gets question marks, not a traceback."""
    with (tmp_path / "out").open("w", encoding="ascii", errors="strict") as file:
        Gate(file).write("Zoë \x1b[2J\n🍅\udcff\n")
    assert (tmp_path / "out").read_text(encoding="ascii") == "Zo?  [2J\n? \n"


def test_every_character_is_let_through_or_not_by_its_kind():
    """The gate agrees with the Unicode categories: controls, formats and separators of lines stay out."""
    for code in (*range(0x3000), *range(0xD700, 0x10000), *range(0xE0000, 0xE0200)):
        char = chr(code)
        if unicodedata.category(char) in ("Cc", "Cs", "Zl", "Zp"):
            assert clean(char) == " "
            assert not is_name(f"a{char}")
        elif unicodedata.category(char) != "Cf":
            assert clean(char) == char
