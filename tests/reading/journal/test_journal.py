"""Journal lines to records and back, and one clear message for each mistake."""

from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from depth import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.reading.journal.append import _block
from cropcal.reading.journal.cells import cells_of, sites_of, sites_text
from cropcal.reading.journal.event_words import (
    EVENTS,
    SYNONYMS,
    Quantity,
    event_of,
    nearest_event,
    quantities,
)
from cropcal.reading.journal.lines import COLUMNS, HEADER, ID_LETTERS
from cropcal.reading.journal.read import id_from, parse_journal
from cropcal.records.journal import Entry

DAY = date(2026, 5, 4)
TEXT = st.text(max_size=40) | st.sampled_from(
    [
        '"',
        '""',
        "a\nb",
        "\r\n",
        "=1+1",
        "'=1",
        "'tis",
        "#torn",
        "##TORN",
        "\x00",
        "\u2028",
        "\ufeff",
        "-5",
        ";",
        "\t",
    ]
)
WHEN = st.datetimes(
    datetime(2026, 1, 1),  # noqa: DTZ001 - the zone is drawn
    datetime(2027, 12, 31),  # noqa: DTZ001
    timezones=st.sampled_from([UTC, timezone(timedelta(hours=5, minutes=45)), timezone(-timedelta(hours=3))]),
).map(lambda when: when.replace(microsecond=0))
IDS = st.integers(0, 10**9).map(id_from)


@st.composite
def harvests(draw) -> Entry:
    """Draw a harvest with anything in it that a line may hold."""
    in_heads = draw(st.booleans())
    number = st.integers(0, 10_000).map(float) if in_heads else st.floats(0, 1e6)
    return Entry(
        on=draw(st.dates(date(2020, 1, 1), date(2030, 1, 1))),
        event="harvested",
        batch=draw(TEXT) or "0106a",
        crop="lettuce-butterhead",
        bed=draw(TEXT),
        sites=tuple(sorted(draw(st.sets(st.integers(1, 20000), max_size=12)))),
        amount=draw(number),
        unit="heads" if in_heads else "g",
        weight_g=draw(st.none() | st.floats(0.001, 1e6)) if in_heads else None,
        cut=draw(st.none() | st.just("whole") | st.integers(1, 99)),
        early=draw(st.booleans()),
        why=draw(TEXT),
        note=draw(TEXT),
        sure=draw(st.booleans()),
        written_at=draw(WHEN),
        id=draw(IDS),
    )


@settings(max_examples=examples(300))
@given(entry=harvests(), saved=st.sampled_from(["", *(HEADER.replace(",", by) + "\r\n" for by in ",;\t")]))
def test_record_to_line_to_record(entry, saved, tmp_path_factory):
    """Whatever a note holds, the line read back is the same record, in every dialect."""
    line = _block(saved.encode(), (entry,), tmp_path_factory.getbasetemp() / "journal.csv")
    read, problems = parse_journal(saved.encode() + line, "journal.csv")
    assert problems == []
    assert [one.model_copy(update={"line": None}) for one in read.entries] == [entry]
    again = _block(saved.encode(), (read.entries[0],), tmp_path_factory.getbasetemp() / "journal.csv")
    assert again == line


@given(text=st.text())
def test_a_text_is_one_line_for_good(text):
    """A note's line ends become spaces, once and for all."""
    note = Entry(on=DAY, event="not ready", batch="0106a", note=text).note
    assert len(note.splitlines()) <= 1
    assert Entry(on=DAY, event="not ready", batch="0106a", note=note).note == note
    assert note.split() == Entry(on=DAY, event="not ready", batch="0106a", note=f" {text}\n").note.split()


def test_a_newline_becomes_a_space():
    """The plain case, by hand."""
    assert Entry(on=DAY, event="not ready", batch="0106a", note=" two\r\nlines, \x07 ").note == "two lines,"


@given(sites=st.sets(st.integers(1, 20000), max_size=30).map(lambda found: tuple(sorted(found))))
def test_sites_are_written_as_runs(sites):
    """Runs of site numbers read back as the same sites."""
    assert sites_of(sites_text(sites)) == sites


@settings(max_examples=examples(400))
@given(
    data=st.binary(max_size=300)
    | st.text(alphabet='on,event;"\t\n2026-05-04harvested', max_size=200).map(str.encode)
)
def test_no_bytes_break_the_reader(data):
    """Anything at all behind a header gives records and problems, never an error."""
    for start in (b"", HEADER.encode() + b"\n"):
        journal, problems = parse_journal(start + data, "journal.csv")
        assert all(str(problem).startswith("journal.csv") for problem in problems)
        assert {one.id for one in journal.events} <= {one.id for one in journal.entries}


@pytest.mark.parametrize(
    ("saved", "amounts"),
    [
        ("\ufeffon;event;batch;amount;unit\r\n2026-05-04;harvested;0402a;240,5;g\r\n", [240.5]),
        ("unit\tamount\tbatch\tevent\ton\ng\t240,5\t0402a\tHarvested\t2026-05-04\n", [240.5]),
        ('on,event,batch,amount,unit\n\n2026-05-04,"harvested",0402a,240.5,grams\n,,,,\n', [240.5]),
        ("On,Event,Batch,Amount,Unit\n2026-05-04,harvest,0402a,7,g\n2026-05-04,cut,0402a,8,g", [7.0, 8.0]),
        (
            'on,event,batch,amount,unit,note\n2026-05-04,harvested,0402a,7,g,"a\nb"\n2026-05-04,harvested,0402a,8,g,\n',
            [7.0, 8.0],
        ),
    ],
)  # fmt: skip
def test_what_spreadsheets_make_of_it(saved, amounts):
    """Byte order mark, line ends, semicolons, tabs, other order, decimal commas, quotes, blank lines."""
    journal, problems = parse_journal(saved.encode(), "journal.csv")
    assert problems == []
    assert [entry.amount for entry in journal.events] == amounts
    assert len({entry.id for entry in journal.entries}) == len(amounts)


def test_the_id_of_a_line_typed_by_hand_is_stable():
    """It depends on the content of the line, not on its place; equal lines differ."""
    head, line = "on,event,batch,amount,unit\n", "2026-05-04,harvested,0402a,7,g\n"
    alone = parse_journal((head + line).encode(), "j")[0].entries[0].id
    moved = parse_journal((head + "2026-05-01,sown,0402a,,\n" + line).encode(), "j")[0].entries[1].id
    twins = parse_journal((head + line + line).encode(), "j")[0].entries
    assert moved == alone == twins[0].id
    assert twins[1].id != alone
    assert set(alone) <= set(ID_LETTERS)


@pytest.mark.parametrize(
    ("row", "message"),
    [
        (
            "03.05.2026,harvested,0402a,,3,heads",
            'on: found "03.05.2026", expected a date like 2027-01-06, write 2026-05-03',
        ),
        (
            "04/05/2026,harvested,0402a,,3,heads",
            'on: found "04/05/2026", expected a date like 2027-01-06, write 2026-05-04',
        ),
        (
            "5/13/26,harvested,0402a,,3,heads",
            'on: found "5/13/26", expected a date like 2027-01-06, write 2026-05-13',
        ),
        (
            "3 May 2026,harvested,0402a,,3,heads",
            'on: found "3 May 2026", expected a date like 2027-01-06, write 2026-05-03',
        ),
        (
            "2026-02-30,harvested,0402a,,3,heads",
            'on: found "2026-02-30", expected a date like 2027-01-06, there is no such day',
        ),
        (
            "2026-06-01,harvested,0402a,,3,heads",
            'on: found "2026-06-01", expected a day up to today, 2026-05-14',
        ),
        (
            "someday,harvested,0402a,,3,heads",
            'on: found "someday", expected a date like 2027-01-06, write year-month-day',
        ),
        (
            ",harvested,0402a,,3,heads",
            "on: found nothing, expected a date like 2027-01-06, write year-month-day",
        ),
        ("2026-05-04,harvetsed,0402a,,3,heads", 'did you mean "harvested"?'),
        ("2026-05-04,,0402a,,3,heads", "event: found nothing, expected one of"),
        (
            "2026-05-04,harvested,,,3,heads",
            "batch: found nothing, expected the batch id of the calendar, or a crop",
        ),
        ("2026-05-04,harvested,0402a,,,", "amount: found nothing, expected how much, in heads or g"),
        ("2026-05-04,harvested,0402a,,3,", 'unit: found nothing, expected "heads" or "g"'),
        ("2026-05-04,harvested,0402a,,3,lux", 'unit: found "lux", expected "heads" or "g"'),
        (
            "2026-05-04,harvested,0402a,,3,bunches",
            'unit: found "bunches", expected a unit like heads, g or sites',
        ),
        ("2026-05-04,harvested,0402a,,2.5,heads", "amount: found 2.5, expected a whole number of heads"),
        (
            "2026-05-04,harvested,0402a,,-3,heads",
            "amount: found -3, expected a number of heads from 0 to 1000000",
        ),
        ("2026-05-04,harvested,0402a,,3 heads,heads", "leave out the unit: 3"),
        (
            "2026-05-04,not ready,0402a,,3,heads",
            'amount: found 3, expected nothing, "not ready" has no amount',
        ),
        ("2026-05-04,reading,,,210,umol", "bed: found nothing, expected the bed that was read"),
        (
            "2026-05-04,reading,,box,9000,umol",
            "amount: found 9000, expected a PPFD in µmol/m²/s from 0 to 3000",
        ),
        (
            "2026-05-04,air,,shelf,72,C",
            "amount: found 72, expected a temperature in °C from -10 to 50, looks like °F: 22.2",
        ),
        ("2026-05-04,outage,,,3,h", 'what: found nothing, expected "lamp", "pump", "fan" or "power"'),
        ("2026-05-04,undone,,,,", "corrects: found nothing, expected the id of the line to take back"),
        ("2026-05-04,harvested,0402a,,3,heads,7", "found 7 cells, expected at most 6, as the first line has"),
        ('2026-05-04,harvested,"0402a,,3,heads', "found a row that is not in cells, expected"
                                                 " valid CSV"),
    ],
)  # fmt: skip
def test_each_mistake_has_one_message(row, message):
    """The line is named, the message says what was expected, and the other lines still count."""
    head = "on,event,batch,bed,amount,unit\n"
    if "air" in row:
        head = head.replace("bed", "zone")
    text = f"{head}2026-05-01,sown,0402a,,,\n{row}\n2026-05-02,lost,0402a,,1,plants\n"
    journal, problems = parse_journal(text.encode(), "journal.csv", today=date(2026, 5, 14))
    assert len(problems) == 1, problems
    assert str(problems[0]).startswith("journal.csv:3: ")
    assert message in str(problems[0])
    assert [entry.event for entry in journal.entries] == ["sown", "lost"]


@pytest.mark.parametrize(
    ("cells", "message"),
    [
        ("outage,pump,2026-05-04 18:00,", "until: found nothing, expected both from and until"),
        ("outage,pump,,", "from: found nothing, expected from and until, or hours as amount"),
        (
            "outage,pump,2026-05-04 18:00,2026-05-04 17:00",
            "until: found 2026-05-04 17:00, expected a time after from",
        ),
        (
            "outage,pump,2026-05-03 18:00,2026-05-04 17:00",
            "from: found 2026-05-03 18:00, expected a time on 2026-05-04",
        ),
        ("outage,pump,18:00,19:00", 'from: found "18:00", expected a date and time like 2026-01-06 18:30'),
        ("outage,kettle,2026-05-04 18:00,2026-05-04 19:00", 'what: found "kettle", expected one of "lamp"'),
        ("sown,,2026-05-04 18:00,", 'from: found a time, expected nothing, "sown" takes a day'),
        ("sown,pump,,", 'what: found "pump", expected nothing, that is for an outage'),
    ],
)  # fmt: skip
def test_times_that_make_no_sense(cells, message):
    """From and until belong together, and to outages and lamp hours."""
    event, what, start, end = cells.split(",")
    text = f"on,event,batch,what,from,until\n2026-05-04,{event},0402a,{what},{start},{end}\n"
    _, problems = parse_journal(text.encode(), "journal.csv")
    assert message.replace("2026-01-06", "2027-01-06") in str(problems[0])


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"\xff\xfeo\x00n\x00", "journal.csv:1: found a file in UTF-16, expected text in UTF-8"),
        (
            HEADER.encode() + b"\n2026-05-04,sown,\xe9t\xe9,,,,,,,,,,,,,,,,,kkkkk\n",
            "journal.csv:2: found a byte that is not UTF-8",
        ),
        (
            b"on,event,amout\n",
            'csv:1: amout: found an unknown column, expected a column of a journal, did you mean "amount"?',
        ),
        (b"on,event,on\n", "journal.csv:1: on: found 2 columns of that name"),
        (b"date,what\n2026-05-04,sown\n", "journal.csv:1: event: found no such column"),
    ],
)  # fmt: skip
def test_a_file_that_cannot_be_read_as_it_is(data, message):
    """Encodings and headers, with the line."""
    _, problems = parse_journal(data, "journal.csv")
    assert any(message in str(problem) for problem in problems), problems


def rows(*lines: str):
    head = "id,corrects,on,event,batch,amount,unit\n"
    journal, problems = parse_journal((head + "\n".join(lines) + "\n").encode(), "journal.csv")
    assert problems == []
    return [(entry.id, entry.amount) for entry in journal.events], len(journal.entries)


SOWN = "bbbbb,,2026-05-01,lost,0402a,1,plants"
CHANGED = "ccccc,bbbbb,2026-05-01,lost,0402a,2,plants"
UNDONE = "fffff,bbbbb,2026-05-02,undone,,,"
CHANGED_AGAIN = "ddddd,ccccc,2026-05-01,lost,0402a,3,plants"


@pytest.mark.parametrize(
    ("lines", "holds"),
    [
        ([SOWN], [("bbbbb", 1.0)]),
        ([SOWN, CHANGED], [("ccccc", 2.0)]),
        ([SOWN, CHANGED, CHANGED_AGAIN], [("ddddd", 3.0)]),
        ([SOWN, UNDONE], []),
        ([SOWN, CHANGED, "fffff,ccccc,2026-05-02,undone,,,"], [("bbbbb", 1.0)]),
        ([SOWN, CHANGED, "fffff,bbbbb,2026-05-02,undone,,,"], []),
        ([SOWN, UNDONE, "ggggg,fffff,2026-05-02,undone,,,"], [("bbbbb", 1.0)]),
        (
            [SOWN, UNDONE, "ggggg,fffff,2026-05-02,undone,,,", "hhhhh,ggggg,2026-05-02,undone,,,"],
            [],
        ),
        ([SOWN, UNDONE, CHANGED], [("ccccc", 2.0)]),
    ],
)  # fmt: skip
def test_what_holds_after_corrections(lines, holds):
    """The last word holds; taking back brings back what was before; every line stays in the history."""
    assert rows(*lines) == (holds, len(lines))


@pytest.mark.parametrize(
    ("line", "message"),
    [
        (
            "ccccc,zzzzz,2026-05-01,lost,0402a,2,plants",
            'journal.csv:3: corrects: found "zzzzz", expected the id of another line',
        ),
        (
            "bbbbb,,2026-05-01,lost,0402a,2,plants",
            'journal.csv:3: id: found "bbbbb" again, expected each id once, line 2 has it',
        ),
    ],
)  # fmt: skip
def test_corrections_that_lead_nowhere(line, message):
    """An unknown id and an id used twice are named with their line."""
    text = f"id,corrects,on,event,batch,amount,unit\n{SOWN}\n{line}\n"
    journal, problems = parse_journal(text.encode(), "journal.csv")
    assert str(problems[0]).startswith(message)
    assert [entry.amount for entry in journal.events] == [1.0]


def test_events_by_their_everyday_words():
    """Each word means one event; a slip of the finger is understood."""
    assert [event_of(event.upper().replace(" ", "-")) for event in EVENTS] == list(EVENTS)
    assert [event_of(word) for word in ("picked", "came up", "tip_burn", "Not Ready", "hours")] == [
        "harvested", "emerged", "tip burn", "not ready", "lamp hours",
    ]  # fmt: skip
    assert nearest_event("harvestd") == "harvested"
    assert nearest_event("trasnplanted") == "transplanted"
    assert nearest_event("zzz") is None
    assert not set(SYNONYMS) & set(EVENTS)


@pytest.mark.parametrize(
    ("words", "meant"),
    [
        (["3"], [Quantity(3, "")]),
        (["3", "heads"], [Quantity(3, "heads")]),
        (["3 heads, 420 g"], [Quantity(3, "heads"), Quantity(420, "g")]),
        (["240,5g"], [Quantity(240.5, "g")]),
        (["0.4", "kg"], [Quantity(400, "g")]),
        (["90", "min"], [Quantity(1.5, "h")]),
        (["72°F"], [Quantity(22.22, "C")]),
        (["15 klux"], [Quantity(15000, "lux")]),
        (["1,240"], "1,240"),
        (["many"], "many"),
        (["3", "buckets"], "3 buckets"),
    ],
)
def test_amounts_as_people_write_them(words, meant):
    """Units may stand apart or close; thousands with a comma are not guessed."""
    assert quantities(words) == meant


def test_columns_of_a_line_are_those_of_the_header():
    """No field of an entry is left out of the file."""
    assert list(cells_of(Entry(on=DAY, event="sown", crop="kale"), decimal_comma=False)) == list(COLUMNS)
    fields = {{"starts": "from", "ends": "until"}.get(name, name) for name in Entry.model_fields} - {"line"}
    assert fields == set(COLUMNS)
