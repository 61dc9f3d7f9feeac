"""Names that are formulas, mark-up and line ends: harmless in every CSV and in the calendar, and not lost.

What a spreadsheet calculates: a cell that begins with = + - @, tab or CR, also behind a semicolon where
semicolons part the cells (OWASP, "CSV Injection").
"""

import csv
import io
import re
from datetime import UTC, date, datetime

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from typer.testing import CliRunner

from cropcal.cli.main import app
from cropcal.reading.journal.append import append
from cropcal.reading.journal.read import read_journal
from cropcal.records.journal import Entry
from cropcal.spreadsheets import as_typed, harmless

SCRIPT, LINK, BROKEN = "<script>alert(1)</script>", '=HYPERLINK("x")', "A;B C"
SPACE = r"""
[place]
name = "=HYPERLINK(\"x\")"
[[zone]]
name = "A;B C"
length_m = 1.0
width_m = 0.5
lit = [["06:00", "22:00"]]
[[bed]]
name = "=HYPERLINK(\"x\")"
zone = "A;B C"
sites = 6
[[bed]]
name = "a;=1+1"
zone = "A;B C"
kind = "nursery"
sites = 12
[[fixture]]
zone = "A;B C"
watts = 90
[[load]]
name = "@fan"
watts = 4
always = true
[tariff]
currency = "EUR"
[[tariff.rate]]
name = "+base"
per_kwh = 0.3
[plan]
start = 2027-01-04
weeks = 10
[[want]]
crops = ["lettuce-butterhead"]
per_week = 1
[[chore]]
name = "<script>alert(1)</script>"
every_days = 7
[[chore]]
name = "A;B C,\"x\""
every_days = 14
[[chore]]
name = "-wipe"
every_days = 21
"""
CROPS = 'slug,name\nlettuce-butterhead,"=HYPERLINK(""x"")"\n'


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """Return the folder of a plan whose every name is a trick."""
    folder = tmp_path_factory.mktemp("tricks")
    (folder / "space.toml").write_text(SPACE, encoding="utf-8")
    (folder / "crops.csv").write_text(CROPS, encoding="utf-8")
    done = CliRunner().invoke(app, ["plan", str(folder), "--out", str(folder / "out"), "--on", "2027-01-04"])
    assert done.exit_code in (0, 1), done.output
    return folder


def test_no_cell_of_any_sheet_is_calculated(written):
    """Read with commas or with semicolons, no cell but a plain number begins with a sign of a formula."""
    files = sorted((written / "out").glob("*.csv"))
    assert len(files) == 9
    for file in files:
        text = file.read_bytes().decode()
        for delimiter in ",;":
            for row in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter):
                for cell in row:
                    calculated = cell.lstrip().startswith(("=", "+", "-", "@", "\t", "\r"))
                    assert not calculated or re.fullmatch(r"-?\d+(\.\d+)?", cell), (file.name, cell)


def test_the_names_are_still_there(written):
    """Guarded, not dropped: each cell says what was typed once the guard is taken off."""
    rows = {
        name: list(csv.DictReader(io.StringIO((written / "out" / name).read_text(encoding="utf-8"))))
        for name in ("jobs.csv", "sites.csv", "bill.csv", "timers.csv", "setpoints.csv")
    }
    assert {as_typed(row["bed"]) for row in rows["sites.csv"]} == {LINK}
    assert {as_typed(row["bed"]) for row in rows["jobs.csv"]} >= {LINK, "a;=1+1", ""}
    assert {as_typed(row["note"]) for row in rows["jobs.csv"]} >= {SCRIPT, 'A;B C,"x"', "-wipe"}
    assert {row["zone"] for row in rows["timers.csv"]} == {"A;B C"}
    assert {as_typed(row["what"]) for row in rows["bill.csv"]} >= {"@fan"}
    assert {as_typed(row["rate"]) for row in rows["bill.csv"]} >= {"+base"}


def test_the_calendar_holds_the_names_as_text(written):
    """Folded at 75 octets, escaped, and read back by another library as they were typed, on one line."""
    raw = (written / "out" / "calendar.ics").read_bytes()
    assert all(len(line) <= 75 for line in raw.split(b"\r\n"))
    from icalendar import Calendar

    calendar = Calendar.from_ical(raw)
    assert str(calendar["name"]) == LINK
    said = "\n".join(str(event["description"]) for event in calendar.walk("VEVENT"))
    for name in (LINK, "a;=1+1", SCRIPT, 'A;B C,"x"'):
        assert name in said
    assert {type(part).__name__ for part in calendar.walk()} <= {"Calendar", "Event", "Alarm"}


@given(text=st.text(st.sampled_from("=+-@;' \"aA1＝"), max_size=12))
@example(text="'=x")
@example(text="a; '@b;;-")
def test_the_guard_comes_off_again(text):
    """Whatever is guarded comes back, and no guarded text is a formula however the cells are parted."""
    cell = harmless(text)
    assert as_typed(cell) == text
    for part in cell.split(";"):
        assert not part.lstrip().startswith(("=", "+", "-", "@", "＝"))


@pytest.mark.parametrize("note", [LINK, SCRIPT, "A;B C", "a; =1", "'@quoted", "- a list"])
def test_a_note_in_the_journal_is_guarded_and_read_back(tmp_path, note):
    """The journal is opened in spreadsheets most of all; what was said comes back as it was."""
    path = tmp_path / "journal.csv"
    noted = Entry(on=date(2027, 1, 5), event="air", zone=LINK, amount=21.0, unit="C", note=note)
    append(path, noted, now=datetime.now(UTC))
    journal, problems = read_journal(path)
    assert problems == []
    assert (journal.events[0].note, journal.events[0].zone) == (note, LINK)
    for cell in path.read_text(encoding="utf-8").replace(";", ",").split(","):
        assert not cell.strip('" ').startswith(("=", "+", "-", "@"))
