"""Pipes, folders and extremes in the place of a file or a value: a word about it, and no waiting for ever."""

import os
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from cropcal.cli.main import app

MINIMAL = (Path(__file__).resolve().parents[1] / "spaces" / "good" / "minimal.toml").read_text(
    encoding="utf-8"
)
BESIDE = ("journal.csv", "air.csv", "meter.csv", "crops.csv")


def run(*words):
    done = CliRunner().invoke(app, list(words))
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    return done.exit_code, " ".join(done.output.split())


@pytest.fixture
def shelf(tmp_path):
    (tmp_path / "space.toml").write_text(MINIMAL, encoding="utf-8")
    return tmp_path


@pytest.mark.skipif(sys.platform == "win32", reason="no pipes with names")
@pytest.mark.parametrize("name", ["space.toml", *BESIDE])
def test_a_pipe_is_no_file(shelf, name):
    """Nobody writes into it, so reading it would never end."""
    (shelf / name).unlink(missing_ok=True)
    os.mkfifo(shelf / name)
    code, said = run("check", str(shelf))
    assert code == 2
    assert f"{name}: found a pipe, expected a" in said
    if name == "journal.csv":
        code, said = run("log", str(shelf), "sown", "lettuce-butterhead")
        assert code == 2
        assert "nothing was noted" in said


@pytest.mark.parametrize("name", BESIDE)
@pytest.mark.parametrize("command", ["check", "bill", "plan"])
def test_a_folder_is_no_file(shelf, name, command):
    """A folder of that name is pointed out by every command that would read the file."""
    (shelf / name).mkdir()
    code, said = run(command, str(shelf))
    assert code == 2
    assert f"{name}: found a folder, expected a CSV file" in said


@pytest.mark.parametrize(
    "key", [".".join(["x"] * 500) + " = 1", f"[{'.'.join(['x'] * 500)}]", "x = " + "[" * 90 + "]" * 90]
)
@pytest.mark.parametrize("more", [(), ("--set", "plan.weeks=4")])
def test_tables_in_one_another_without_end(shelf, key, more):
    """Deep keys and brackets are pointed out with their line."""
    (shelf / "space.toml").write_text(f"{MINIMAL}\n{key}\n", encoding="utf-8")
    code, said = run("check", str(shelf), *more)
    assert code == 2
    line = len(MINIMAL.splitlines()) + 2
    assert f"space.toml:{line}: found keys or brackets nested too deep" in said


@pytest.mark.parametrize("digits", [4300, 4301, 9000])
def test_numbers_without_end(shelf, digits):
    """Python refuses to read more than 4300 digits at once; the file and the options say so in words."""
    number = "9" * digits
    (shelf / "space.toml").write_text(MINIMAL.replace("0.9", number), encoding="utf-8")
    code, said = run("check", str(shelf))
    assert code == 2
    assert "space.toml:4" in said
    (shelf / "space.toml").write_text(MINIMAL, encoding="utf-8")
    for option in (f"plan.weeks={number}", f"zone.length_m={number}", f"bed.sites=0{number}"):
        code, said = run("check", str(shelf), "--set", option)
        assert code == 2
        assert "--set" in said
    for words in (("sown", "lettuce-butterhead", number), ("sown", "lettuce-butterhead", "--site", number)):
        assert run("log", str(shelf), *words)[0] == 2


@pytest.mark.drawn
@pytest.mark.parametrize("size_m", ["1e-5", "5e-324", "0.004"])
@pytest.mark.parametrize("command", ["check", "light", "plan"])
def test_a_zone_that_nobody_can_see(shelf, size_m, command):
    """A floor of a hundredth of a millimetre is a slip."""
    (shelf / "space.toml").write_text(MINIMAL.replace("0.9", size_m), encoding="utf-8")
    code, said = run(command, str(shelf))
    assert code == 2
    assert "zone.shelf.length_m: found" in said
    assert "expected a length in metres from 0.005 on" in said


JOURNAL = "on,event,crop,amount,unit,note,written_at,corrects,id\n{lines}\n"
FIRST = "2026-01-04,sown,lettuce-butterhead,1,sites,,2026-01-04T10:00:00+00:00,,bbbbb"
SECOND = "2026-01-04,sown,lettuce-butterhead,2,sites,,2026-01-04T11:00:00+00:00,bbbbb,ccccc"
THIRD = "2026-01-04,sown,lettuce-butterhead,3,sites,,2026-01-04T12:00:00+00:00,ccccc,ddddd"
UNDONE = "2026-01-05,undone,,,,,2026-01-05T12:00:00+00:00,ddddd,fffff"


@pytest.mark.parametrize(
    ("lines", "held"),
    [
        ((SECOND, FIRST), 2),
        ((THIRD, SECOND, FIRST), 3),
        ((THIRD, FIRST, SECOND), 3),
        ((UNDONE, SECOND, THIRD, FIRST), 2),
    ],
)
def test_a_journal_that_a_spreadsheet_sorted(shelf, lines, held):
    """A correction may come to stand before the line that it corrects; it holds as before."""
    (shelf / "journal.csv").write_text(JOURNAL.format(lines="\n".join(lines)), encoding="utf-8")
    assert run("check", str(shelf))[0] == 0
    code, said = run("log", str(shelf), "--correct", "bbbbb", "--note", "recounted")
    assert code == 0
    assert f"sown {held} sites" in said
    assert f"Taken back: sown {held} sites" in run("log", str(shelf), "--undo")[1]
    assert run("check", str(shelf))[0] == 0
    assert run("learned", str(shelf))[0] == 0


def test_corrections_in_a_ring(shelf):
    """Lines that correct each other are pointed out, both."""
    ring = FIRST.replace(",,bbbbb", ",ccccc,bbbbb")
    (shelf / "journal.csv").write_text(JOURNAL.format(lines=f"{ring}\n{SECOND}"), encoding="utf-8")
    code, said = run("check", str(shelf))
    assert code == 2
    assert "journal.csv:2: corrects" in said
    assert "journal.csv:3: corrects" in said
    assert run("log", str(shelf))[0] == 0


@pytest.mark.parametrize("column", ["on", "written_at"])
@pytest.mark.parametrize("year", ["0001-01-01", "9999-12-31"])
def test_years_of_another_age(shelf, column, year):
    """The first and the last day that a computer knows."""
    said_on, written = (year, "") if column == "on" else ("2026-01-04", f"{year}T00:00:00")
    line = f"{said_on},sown,lettuce-butterhead,1,sites,,{written},,bbbbb"
    (shelf / "journal.csv").write_text(JOURNAL.format(lines=line), encoding="utf-8")
    for words in (("check",), ("log",), ("learned",), ("plan", "--time-limit", "1")):
        code, _ = run(words[0], str(shelf), *words[1:])
        assert code in (0, 1, 2)
    for words in (("plan", "--on"), ("week", "--on"), ("log", "sown", "lettuce-butterhead", "--on")):
        code, said = run(words[0], str(shelf), *words[1:], year)
        assert code == 2
        assert "--on: found" in said or "journal.csv:2" in said
