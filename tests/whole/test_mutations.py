"""Damaged files are reported in words: no traceback, and no endless run."""

import random
import signal
import sys
from contextlib import contextmanager
from datetime import date
from pathlib import Path

import pytest
from mutations import AIR, CROPS, JOURNAL, METER, mutated
from typer.testing import CliRunner

from cropcal.cli.main import app
from cropcal.reading.crops.read import lay_over
from cropcal.reading.journal.read import parse_journal
from cropcal.reading.series import parse_air, parse_meter
from cropcal.reading.space.read import read_space_text
from cropcal.reading.text.csv_table import parse

HERE = Path(__file__).resolve().parents[1]
SPACES = [
    path.read_text(encoding="utf-8")
    for path in [
        *sorted((HERE / "spaces" / "good").glob("*.toml")),
        HERE.parent / "examples/millbrook/space.toml",
    ]
]
SHELF = """\
[place]
name = "Garage"
timezone = "Europe/Lisbon"

[plan]
start = 2027-01-04
weeks = 10
breaks = [["2027-02-08", "2027-02-14"]]

[[zone]]
name = "shelf"
length_m = 0.9
width_m = 0.4
lit = [["06:00", "22:00"]]
lamp_on_air_c = 23
lamp_off_air_c = 19

[[bed]]
name = "box"
zone = "shelf"
sites = 4

[[bed]]
name = "cradle"
zone = "shelf"
kind = "nursery"
sites = 6
length_m = 0.2
width_m = 0.2

[[fixture]]
zone = "shelf"
watts = 65

[[reading]]
bed = "box"
umol_m2_s = [[190, 210], [180, 205]]

[tariff]
currency = "EUR"

[[tariff.rate]]
per_kwh = 0.24

[[want]]
crops = ["lettuce-butterhead", "basil"]
per_week = 1
unit = "heads"

[[chore]]
name = "rinse"
every_days = 14
"""
FILES = {"space.toml": SHELF, "journal.csv": JOURNAL, "crops.csv": CROPS, "air.csv": AIR, "meter.csv": METER}
COMMANDS = (
    ("light",),
    ("photoperiod",),
    ("daylight",),
    ("bill",),
    ("bill", "--year"),
    ("crops",),
    ("learned",),
    ("when", "basil", "--sown", "2027-01-06"),
    ("trial", "lettuce-butterhead", "--since", "2027-01-10"),
    ("log",),
    ("log", "sown", "basil", "2"),
    ("log", "harvested", "0106a", "2 heads 240 g"),
    ("log", "--undo"),
    ("check", "--json"),
    ("light", "--json"),
    ("check", "--set", "zone.length_m=1.2"),
    ("light", "--set", "plan.weeks=4"),
)
MOST_S = 20


@contextmanager
def no_longer_than(seconds):
    """Stop what has kept the processor for so long; other programs on the machine do not count."""

    def late(_signal, _frame):
        message = f"still at it after {seconds} s"
        raise TimeoutError(message)

    before = signal.signal(signal.SIGPROF, late)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="processor time is counted by POSIX alone")


def read_by_its_reader(name, text, tables):
    zones, days = ["shelf"], date(2027, 3, 1)
    match name:
        case "space.toml":
            return read_space_text(text, tables, today=days)[1]
        case "journal.csv":
            return parse_journal(text.encode("utf-8", "surrogatepass"), name, days)[1]
        case "crops.csv":
            table, problems = parse(text, name)
            return problems if table is None else [*problems, *lay_over(tables, table)[1]]
        case "air.csv":
            return parse_air(text, name, zones, "Europe/Lisbon")[1]
        case _:
            return parse_meter(text, name, zones, "Europe/Lisbon")[1]


def check_readers(first, last, tables):
    for seed in range(first, last):
        chance = random.Random(seed)
        name = chance.choice([*FILES, "space.toml", "space.toml", "space.toml"])
        text = mutated(chance.choice([SHELF, *SPACES]) if name == "space.toml" else FILES[name], chance)
        try:
            with no_longer_than(MOST_S):
                problems = read_by_its_reader(name, text, tables)
        except Exception as error:
            error.add_note(f"seed {seed}, {name}")
            raise
        for problem in problems:
            assert problem.found, f"seed {seed}"
            assert problem.expected, f"seed {seed}"
            assert "\n" not in str(problem), f"seed {seed}"


def run(*words):
    """Return what a command printed, and check that it ended in an orderly way."""
    with no_longer_than(MOST_S):
        done = CliRunner().invoke(app, list(words))
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    assert done.exit_code in (0, 1, 2, 3)
    assert "Traceback" not in done.output
    assert done.output or done.exit_code == 0
    return done


def check_commands(first, last, folder):
    for seed in range(first, last):
        chance = random.Random(-seed - 1)
        here = folder / f"{seed}"
        here.mkdir()
        files = {name: text for name, text in FILES.items() if name == "space.toml" or chance.random() < 0.5}
        files["space.toml"] = chance.choice([SHELF, SHELF, *SPACES])
        name = chance.choice(["space.toml", *files])
        files[name] = mutated(files[name], chance)
        for one, text in files.items():
            (here / one).write_bytes(text.encode("utf-8", "surrogatepass"))
        try:
            good = run("check", str(here)).exit_code == 0
            for command, *words in chance.sample(COMMANDS, 3):
                run(command, str(here), *words)
            if good and chance.random() < 0.25:
                run("plan", str(here), "--time-limit", "1", "--on", "2027-02-22")
                run("week", str(here), "--on", "2027-02-22")
        except BaseException as error:
            error.add_note(f"seed {seed}, {name}")
            raise


def test_readers_take_any_text(tables):
    """Whatever became of a file, its reader says what is wrong with it."""
    check_readers(0, 100, tables)


@pytest.mark.deep
@pytest.mark.parametrize("part", range(20))
def test_readers_take_ten_thousand_texts(tables, part):
    """The same of ten thousand files."""
    check_readers(500 * part, 500 * part + 500, tables)


def test_commands_take_any_file(tmp_path):
    """Whatever became of a file, every command ends with an answer or with what is wrong."""
    check_commands(0, 6, tmp_path)


@pytest.mark.deep
@pytest.mark.parametrize("part", range(10))
def test_commands_take_five_hundred_files(tmp_path, part):
    """The same of five hundred files."""
    check_commands(50 * part, 50 * part + 50, tmp_path)
