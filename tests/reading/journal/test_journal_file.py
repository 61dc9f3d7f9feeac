"""The journal as it lies on the disk: nothing noted is lost, whoever else writes, whenever it crashes."""

import random
import re
import subprocess
import sys
import time
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from cropcal.reading.journal.append import CannotNoteError, append
from cropcal.reading.journal.lines import HEADER
from cropcal.reading.journal.read import read_journal, torn_notes
from cropcal.records.journal import Entry

NOW = datetime(2026, 5, 4, 18, 30, tzinfo=UTC)
NOTED = re.compile(r"^noted (\d+) ([a-z]+)$", re.MULTILINE)
WRITER = """
import os
import sys
from datetime import UTC, date, datetime
from pathlib import Path
from cropcal.reading.journal.append import append
from cropcal.records.journal import Entry

if sys.argv[4] == "quick":
    os.fsync = lambda handle: None
for number in range(int(sys.argv[2]), int(sys.argv[3])):
    entry = Entry(on=date(2026, 5, 4), event="harvested", batch="0402a", amount=float(number), unit="g",
                  note='weighed, "wet" \N{LEAFY GREEN} ' + "x" * (number % 90))
    told = append(Path(sys.argv[1]), entry, now=datetime.now(UTC))
    sys.stdout.write(f"noted {number} {told.id}\\n")
    sys.stdout.flush()
"""


def harvest(amount: float, **more) -> Entry:
    return Entry(on=date(2026, 5, 4), event="harvested", batch="0402a", amount=amount, unit="g", **more)


def writer(path: Path, first: int, last: int, pace: str) -> subprocess.Popen[str]:
    command = [sys.executable, "-c", WRITER, str(path), str(first), str(last), pace]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True)


@pytest.fixture
def journal(tmp_path):
    """Return the path of a journal that does not exist yet."""
    return tmp_path / "journal.csv"


@pytest.mark.parametrize("wanted", [250, pytest.param(1000, marks=pytest.mark.deep)])
def test_killed_at_random_moments_nothing_noted_is_lost(journal, wanted):
    """Lines by a writer that is killed again and again: each that it reported is there, once."""
    # What a killed process wrote is the system's to keep: waiting for the disk tests nothing here.
    pace = "quick"
    rng = random.Random(20260504)
    told: dict[str, float] = {}
    number, kills = 0, 0
    while number < wanted:
        process = writer(journal, number, wanted, pace)
        assert process.stdout is not None
        lines = [process.stdout.readline() for _ in range(rng.randint(1, 240 * wanted // 1000))]
        if lines[-1]:
            time.sleep(rng.uniform(0.0, 0.01))
            process.kill()
            kills += 1
        said = NOTED.findall("".join(lines) + process.stdout.read())
        process.stdout.close()
        process.wait()
        told |= {name: float(amount) for amount, name in said}
        number = int(said[-1][0]) + 1
        read, problems = read_journal(journal)
        assert problems == []
        kept = {entry.id: entry.amount for entry in read.events}
        assert told.items() <= kept.items()
    assert kills >= 5
    amounts = [entry.amount for entry in read.events]
    # One more a kill: a line may be whole on the disk before its writer could tell of it.
    assert len(told) == wanted
    assert set(amounts) == set(map(float, range(wanted)))
    assert len(amounts) - wanted <= kills
    assert len({entry.id for entry in read.entries}) == len(read.entries)


def test_two_writers_at_once(journal):
    """Two processes that append at the same time lose and double nothing, and write one header."""
    processes = [writer(journal, 0, 150, "real"), writer(journal, 150, 300, "real")]
    told = [process.communicate()[0] for process in processes]
    read, problems = read_journal(journal)
    assert problems == []
    assert read.torn == ()
    assert sorted(entry.amount for entry in read.events) == list(map(float, range(300)))
    assert {entry.id for entry in read.events} == {name for _, name in NOTED.findall("\n".join(told))}
    assert journal.read_text(encoding="utf-8").count("on,event") == 1


@pytest.mark.parametrize(
    "note", ["plain", 'with, comma and "quotes"', "ends in leaf \N{LEAFY GREEN}", '"', "=1+1"]
)
def test_a_line_torn_anywhere_is_set_aside_and_kept(journal, note):
    """Cut off after any byte, the last line is half a line or the whole event, never another event."""
    append(journal, harvest(1.0), now=NOW)
    before = journal.read_bytes()
    whole = append(journal, harvest(240.5, note=note), now=NOW)
    full = journal.read_bytes()
    for end in range(len(before) + 1, len(full)):
        journal.write_bytes(full[:end])
        torn_before, problems = read_journal(journal)
        assert problems == []
        assert len(torn_before.entries) + len(torn_before.torn) == 2
        for entry in torn_before.entries[1:]:
            same = {"line": None, "id": whole.id, "written_at": whole.written_at}
            assert entry.model_copy(update=same) == whole
        append(journal, harvest(7.0), now=NOW)
        after = journal.read_bytes()
        assert after.startswith(full[:end])
        read, problems = read_journal(journal)
        assert problems == []
        assert read.entries[0].amount == 1.0
        assert read.entries[-1].amount == 7.0
        assert [one.line for one in read.torn] == [one.line for one in torn_before.torn]
        assert all(one.marked for one in read.torn)


def test_it_is_on_the_disk_before_anybody_is_told(journal, monkeypatch):
    """The write is followed by fsync of the same file, and only then by the answer."""
    import os

    calls = []
    write, fsync = os.write, os.fsync
    monkeypatch.setattr(os, "write", lambda handle, block: calls.append("write") or write(handle, block))
    monkeypatch.setattr(os, "fsync", lambda handle: calls.append("fsync") or fsync(handle))
    append(journal, harvest(1.0), now=NOW)
    append(journal, harvest(2.0), now=NOW)
    assert calls == ["fsync", "write", "fsync", "write", "fsync"]  # the first is the new file's name


def test_a_torn_header_is_made_whole(journal):
    """The very first write may be torn as well: the next completes it."""
    append(journal, harvest(1.0), now=NOW)
    full = journal.read_bytes()
    for end in range(len(HEADER) + 1):
        journal.write_bytes(full[:end])
        assert read_journal(journal)[1] == []
        append(journal, harvest(2.0), now=NOW)
        read, problems = read_journal(journal)
        assert problems == []
        assert [entry.amount for entry in read.entries] == [2.0]
        assert journal.read_text(encoding="utf-8").startswith(HEADER + "\n")


def test_what_is_told_of_half_a_line(journal):
    """The message names the line, shows it, and says what to do."""
    append(journal, harvest(1.0), now=NOW)
    with journal.open("a", encoding="utf-8") as file:
        file.write("2026-05-04,harvested,0402b,,,,,24")
    read, problems = read_journal(journal)
    assert problems == []
    assert [str(note) for note in torn_notes(read.torn, "journal.csv")] == [
        'journal.csv:3: found half a line, set aside: "2026-05-04,harvested,0402b,,,,,24", expected a whole'
        " one, note it again if it is missing, then take this line out"
    ]


def test_zero_bytes_at_the_end_harm_nothing(journal):
    """A file system may fill a file with zeros when the power fails."""
    append(journal, harvest(1.0), now=NOW)
    with journal.open("ab") as file:
        file.write(b"2026-05-04,harv" + bytes(300))
    append(journal, harvest(2.0), now=NOW)
    read, problems = read_journal(journal)
    assert problems == []
    assert [entry.amount for entry in read.entries] == [1.0, 2.0]
    assert len(read.torn) == 1


@pytest.mark.parametrize(
    "saved",
    [
        "event;on;batch;amount;unit;note;id;corrects;written_at\r\nharvested;2026-05-03;0402a;1,5;g;;kkkkk;;\r\n",
        "\ufeffon;event;batch;amount;unit;written_at;id\r\n2026-05-03;harvested;0402a;1,5;g;;\r\n",
        "on\tevent\tamount\tunit\tbatch\twritten_at\tid\n2026-05-03\tharvested\t1.5\tg\t0402a\t\t",
        "id,written_at,on,event,crop,batch,amount,unit\n,,2026-05-03,Harvested,,0402a,1.5,g",
        'id,written_at,on,event,batch,amount,unit,note\n,,2026-05-03,harvested,0402a,1.5,g,"two\nlines"',
        '\n\n"id","written_at","on","event","batch","amount","unit"\n\n,,2026-05-03,"harvested","0402a","1.5","g"\n,,,,,,\n\n',
        "on,event,batch,amount,unit,written_at,id\r2026-05-03,harvested,0402a,1.5,g,,\r",
    ],
)
def test_a_file_that_a_spreadsheet_saved_goes_on_in_its_own_form(journal, saved):
    """Mark, line ends, semicolons, tabs, order of columns and decimal commas stay as they were found."""
    journal.write_text(saved, encoding="utf-8", newline="")
    append(journal, harvest(240.5), now=NOW)
    text = journal.read_bytes().decode("utf-8-sig")
    assert text.startswith(saved.removeprefix("\ufeff"))
    read, problems = read_journal(journal)
    assert problems == []
    assert read.torn == ()
    assert [(entry.batch, entry.amount) for entry in read.entries] == [("0402a", 1.5), ("0402a", 240.5)]
    if ";" in saved:
        assert "240,5" in text
        assert text.count("\n") == text.count("\r\n")


def test_a_column_that_is_missing_is_named(journal):
    """Nothing is written where there is no column for it."""
    journal.write_text("on,event,batch,amount,unit,id,written_at\n", encoding="utf-8")
    with pytest.raises(CannotNoteError, match=r"journal\.csv:1: note: found no such column"):
        append(journal, harvest(1.0, note="wet"), now=NOW)
    assert journal.read_text(encoding="utf-8") == "on,event,batch,amount,unit,id,written_at\n"


def test_a_file_that_is_no_journal_stays_as_it_is(journal):
    """A shopping list is no journal."""
    journal.write_text("milk\nbread", encoding="utf-8")
    with pytest.raises(CannotNoteError, match=r"journal\.csv:1: milk: found an unknown column"):
        append(journal, harvest(1.0), now=NOW)
    assert journal.read_text(encoding="utf-8") == "milk\nbread"


def test_a_folder_of_that_name_is_refused(journal):
    """The message is one line, not a traceback."""
    journal.mkdir()
    with pytest.raises(CannotNoteError, match="found a folder, expected a journal"):
        append(journal, harvest(1.0), now=NOW)


@pytest.mark.skipif(sys.platform == "win32", reason="locks differ")
def test_a_lock_that_is_never_given_back(journal):
    """Waiting has an end, and the message says why."""
    import fcntl

    append(journal, harvest(1.0), now=NOW)
    with journal.open("rb") as other:
        fcntl.flock(other, fcntl.LOCK_EX)
        with pytest.raises(CannotNoteError, match="another program has been writing"):
            append(journal, harvest(2.0), now=NOW, wait_s=0.05)


def test_a_file_replaced_while_we_write_gets_the_line_too(journal, tmp_path, monkeypatch):
    """A spreadsheet saves by putting a new file in the old one's place: the line must not go with the old."""
    from cropcal.reading.journal import append as journal_file

    append(journal, harvest(1.0), now=NOW)
    saved = journal.read_bytes()
    write = journal_file._write

    def replaced_meanwhile(*arguments):
        monkeypatch.setattr(journal_file, "_write", write)
        write(*arguments)
        (tmp_path / "new").write_bytes(saved)
        (tmp_path / "new").replace(journal)

    monkeypatch.setattr(journal_file, "_write", replaced_meanwhile)
    append(journal, harvest(2.0), now=NOW)
    assert [entry.amount for entry in read_journal(journal)[0].entries] == [1.0, 2.0]


def test_a_full_disk_leaves_no_half_line(journal, monkeypatch):
    """What was written of a line that does not fit is taken back, and the user gets a message."""
    import os

    append(journal, harvest(1.0), now=NOW)
    before = journal.read_bytes()
    write = os.write
    monkeypatch.setattr(os, "write", lambda handle, block: write(handle, block[:20]))
    with pytest.raises(CannotNoteError, match="no room on the disk"):
        append(journal, harvest(2.0), now=NOW)
    assert journal.read_bytes() == before
