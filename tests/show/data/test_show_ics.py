"""calendar.ics: read back with another library, and held against RFC 5545."""

import hashlib
import re
from datetime import UTC, date, datetime, timedelta

import pytest
from depth import examples
from hypothesis import example, given, settings
from hypothesis import strategies as st

from cropcal.records.plan import Job
from cropcal.show.data import ics

STAMP = datetime(2027, 1, 1, tzinfo=UTC)


@pytest.fixture
def written(small_plan, names):
    return ics.calendar(small_plan, names, STAMP)


def events_of(written):
    from icalendar import Calendar

    return {str(event["uid"]): event for event in Calendar.from_ical(written).walk("VEVENT")}


def test_one_event_a_day_with_jobs(written, small_plan):
    """A day without jobs has no event; every event lasts that one day."""
    events = events_of(written).values()
    assert sorted(event.decoded("dtstart") for event in events) == sorted({job.on for job in small_plan.jobs})
    for event in events:
        assert isinstance(event.decoded("dtstart"), date)
        assert not isinstance(event.decoded("dtstart"), datetime)
        assert event.decoded("dtend") - event.decoded("dtstart") == timedelta(days=1)


def test_required_properties_are_there(written):
    """RFC 5545 3.6 wants PRODID and VERSION once; 3.6.1 wants UID and DTSTAMP once an event, DTSTART here."""
    lines = written.decode().split("\r\n")
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines.count("VERSION:2.0") == 1
    assert sum(line.startswith("PRODID:") for line in lines) == 1
    events = lines.count("BEGIN:VEVENT")
    assert events == 11
    for name in ("UID:", "DTSTAMP:20270101T000000Z", "SEQUENCE:0", "DTSTART;VALUE=DATE:", "SUMMARY:"):
        assert sum(line.startswith(name) for line in lines) == events, name


def test_a_title_makes_sense_alone(written, small_plan):
    """Crops are called by name; the description has one line a job."""
    first = events_of(written)[ics.uid(small_plan.place, date(2027, 3, 2))]
    assert str(first["summary"]) == "Sow 5 Butterhead lettuce and 6 Sweet basil, change the solution"
    assert str(first["description"]).split("\n") == [
        "Sow Butterhead lettuce L1: 5 seeds, seed drawer, 4 cells",
        "Sow Sweet basil B1: 6 seeds, tin tub, sites 1-2, 3 seeds a site, thin to the best",
        "Change the solution",
    ]


def test_every_job_comes_through(written, small_plan):
    """As many lines as jobs, day by day."""
    for event in events_of(written).values():
        jobs = [job for job in small_plan.jobs if job.on == event.decoded("dtstart")]
        assert len(str(event["description"]).split("\n")) == len(jobs)


def test_a_second_import_updates_instead_of_doubling(written, small_plan, names):
    """A calendar that merges by UID has as many events after a changed plan as before."""
    changed = tuple(job.model_copy(update={"amount": 99.0}) if job.amount else job for job in small_plan.jobs)
    again = ics.calendar(small_plan.model_copy(update={"jobs": changed}), names, STAMP)
    merged = {**events_of(written), **events_of(again)}
    assert len(merged) == len(events_of(written))
    assert "99" in str(merged[ics.uid(small_plan.place, date(2027, 4, 6))]["summary"])


def test_two_places_do_not_share_events(small_plan):
    """The UID depends on place and day, and on nothing else."""
    on = date(2027, 3, 2)
    uids = {ics.uid("cellar", on), ics.uid("attic", on), ics.uid("cellar", on + timedelta(days=1))}
    assert len(uids) == 3


def test_a_uid_is_a_uuid_of_version_5():
    """SHA-1 of name space and name, version and variant set (RFC 9562, 5.5), worked out step by step."""
    space = bytes.fromhex("5e1d6a0c7b0f4a539d2e3c6f0a8be417")
    digest = bytearray(hashlib.sha1(space + "Müllers Keller\n2027-03-02".encode()).digest()[:16])
    digest[6] = digest[6] & 0x0F | 0x50
    digest[8] = digest[8] & 0x3F | 0x80
    groups = [digest.hex()[start:end] for start, end in ((0, 8), (8, 12), (12, 16), (16, 20), (20, 32))]
    assert ics.uid("Müllers Keller", date(2027, 3, 2)) == "-".join(groups)


def test_long_and_odd_names_are_folded_and_come_back(small_plan):
    """Lines are at most 75 octets long (RFC 5545 3.1), and no sign is torn apart."""
    name = "🥬 Kopfsalat »Große Königin«; früh, zart \\ 白菜" * 3
    odd = ics.calendar(small_plan, {"lettuce-butterhead": name}, STAMP)
    assert all(len(line) <= 75 for line in odd.split(b"\r\n"))
    assert b"\n" not in odd.replace(b"\r\n", b"")
    for line in odd.split(b"\r\n"):
        line.decode()
    event = events_of(odd)[ics.uid(small_plan.place, date(2027, 3, 2))]
    assert name in str(event["summary"])


def test_the_same_plan_gives_the_same_bytes(written, show_plans, names):
    """Nothing random and no clock gets in."""
    assert ics.calendar(show_plans.small_plan(), names, STAMP) == written


def test_an_empty_plan_is_an_empty_calendar(show_plans, names):
    """No jobs, no events, still a calendar."""
    assert events_of(ics.calendar(show_plans.empty_plan(), names, STAMP)) == {}


def test_an_event_that_says_the_same_is_left_as_it_was(small_plan, names, tmp_path):
    """Written again after the same plan, the file is the same to the byte, whatever the stamp."""
    first = ics.calendar(small_plan, names, STAMP)
    assert ics.calendar(small_plan, names, STAMP + timedelta(days=9), read_back(first, tmp_path)) == first


def test_changed_days_count_up_and_dropped_ones_are_cancelled(small_plan, names, tmp_path):
    """RFC 5545 3.8.7.4: SEQUENCE rises with each revision; 3.8.1.11: STATUS:CANCELLED; UIDs stay."""
    first = ics.calendar(small_plan, names, STAMP)
    days = sorted({job.on for job in small_plan.jobs})
    dropped, moved = days[0], days[1]
    some = next(job for job in small_plan.jobs if job.on == moved)
    jobs = tuple(job for job in small_plan.jobs if job.on != dropped and job is not some)
    other = some.model_copy(update={"amount": 99.0})
    changed = small_plan.model_copy(update={"jobs": tuple(sorted([*jobs, other], key=lambda job: job.on))})
    later = STAMP + timedelta(days=9)
    second = ics.calendar(changed, names, later, read_back(first, tmp_path))
    before, after = events_of(first), events_of(second)
    assert before.keys() == after.keys()
    for event in after.values():
        on = event.decoded("dtstart")
        assert int(event["sequence"]) == (on in (dropped, moved))
        assert event.decoded("dtstamp") == (later if on in (dropped, moved) else STAMP)
        assert ("status" in event) == (on == dropped)
    assert str(after[ics.uid(small_plan.place, dropped)]["status"]) == "CANCELLED"
    third = events_of(ics.calendar(small_plan, names, later, read_back(second, tmp_path)))
    again = third[ics.uid(small_plan.place, dropped)]
    assert int(again["sequence"]) == 2
    assert "status" not in again


def read_back(written, folder):
    from cropcal.reading.calendar_ics import read_calendar

    file = folder / "calendar.ics"
    file.write_bytes(written)
    return read_calendar(file)


def test_what_is_read_back_is_what_another_library_reads(written, tmp_path):
    """Folded lines and escaped commas, semicolons and line ends come back as icalendar has them."""
    events = events_of(written)
    told = read_back(written, tmp_path)
    assert len(told) == len(events)
    for one in told:
        event = events[one.uid]
        assert one.on == event.decoded("dtstart")
        assert (one.summary, one.description) == (str(event["summary"]), str(event["description"]))
        assert (one.sequence, one.stamp, one.cancelled) == (0, STAMP, False)


def test_it_rings_once_on_the_evening_before(written):
    """RFC 5545 3.6.6: relative to 00:00 of the day where the user is; -PT5H is 19:00 of the day before."""
    for event in events_of(written).values():
        (alarm,) = event.walk("VALARM")
        assert str(alarm["action"]) == "DISPLAY"
        midnight = datetime.combine(event.decoded("dtstart"), datetime.min.time())
        rings = midnight + alarm.decoded("trigger")
        assert (rings.date(), rings.hour) == (event.decoded("dtstart") - timedelta(days=1), 19)
        assert str(alarm["description"]) == f"Tomorrow: {event['summary']}"
    assert written.count(b"TRIGGER:-PT5H\r\n") == len(events_of(written))


def test_what_is_called_off_does_not_ring(small_plan, names, tmp_path):
    """A cancelled event has no alarm; one that the old file left silent counts up when it gets one."""
    first = ics.calendar(small_plan, names, STAMP)
    silent = b"".join(re.split(rb"BEGIN:VALARM.*?END:VALARM\r\n", first, flags=re.DOTALL))
    assert silent.count(b"VALARM") == 0
    jobs = tuple(job for job in small_plan.jobs if job.on != date(2027, 3, 2))
    changed = small_plan.model_copy(update={"jobs": jobs})
    for event in events_of(ics.calendar(changed, names, STAMP, read_back(first, tmp_path))).values():
        assert (not event.walk("VALARM")) == ("status" in event)
    for event in events_of(ics.calendar(small_plan, names, STAMP, read_back(silent, tmp_path))).values():
        assert int(event["sequence"]) == 1


TEXT = st.text(st.characters(codec="utf-8", exclude_categories=("C", "Zl", "Zp")), max_size=30)
A_JOB = st.fixed_dictionaries(
    {
        "on": st.dates(date(2027, 3, 1), date(2027, 3, 9)),
        "job": st.sampled_from(["sow", "thin", "transplant", "cut", "clear"]),
        "batch": st.from_regex(r"[0-9]{4}[a-z]{1,2}", fullmatch=True),
        "crop": st.sampled_from(["lettuce-butterhead", "basil-sweet"]),
        "bed": TEXT,
        "amount": st.integers(1, 99),
        "unit": st.sampled_from(["heads", "cells", "g"]),
    }
)


@settings(max_examples=examples(25))
@given(
    rows=st.lists(A_JOB, max_size=12, unique_by=lambda row: (row["batch"], row["job"])),
    name=TEXT.map(str.strip).filter(bool),
)
@example(rows=[{"on": date(2027, 3, 1), "job": "cut", "batch": "0101a", "crop": "basil-sweet",
                "bed": 'A;B,C\\n"x"', "amount": 3, "unit": "heads"}], name='A;B\nC,"x"')  # fmt: skip
@example(rows=[{"on": date(2027, 3, 1), "job": "sow", "batch": "0101a", "crop": "basil-sweet",
                "bed": 'C:\\New =HYPERLINK("x")', "amount": 1, "unit": "g"}], name="\\, \\;\\n")  # fmt: skip
def test_the_jobs_come_back_from_the_calendar(show_plans, tmp_path_factory, rows, name):
    """Plan -> calendar.ics -> icalendar: on each day the same jobs, batches, amounts and beds, in order."""
    jobs = tuple(
        Job(sites="", note="", **{**row, "amount": float(row["amount"])})
        for row in sorted(rows, key=lambda row: row["on"])
    )
    plan = show_plans.small_plan().model_copy(update={"jobs": jobs})
    raw = ics.calendar(plan, {"basil-sweet": name, "lettuce-butterhead": "Butterhead"}, STAMP)
    assert all(len(line) <= 75 for line in raw.split(b"\r\n"))
    back = []
    for event in sorted(events_of(raw).values(), key=lambda event: event.decoded("dtstart")):
        for said in str(event["description"]).split("\n"):
            verb, rest = said.split(" ", 1)
            batch = re.search(r" (\d{4}[a-z]{1,2}): (\d+) (heads?|cells?|g)(?:$|, )", rest)
            back.append((event.decoded("dtstart"), verb.lower(), batch[1], batch[2], rest[batch.end() :]))
    assert back == [(job.on, job.job, job.batch, f"{job.amount:.0f}", job.bed) for job in jobs]
    told = read_back(raw, tmp_path_factory.mktemp("again"))
    assert [one.description for one in sorted(told, key=lambda one: one.on)] == [
        str(event["description"])
        for event in sorted(events_of(raw).values(), key=lambda event: event.decoded("dtstart"))
    ]


@settings(max_examples=examples(25))
@given(seed=st.integers(0, 10**6), sites=st.integers(1, 40), weeks=st.integers(8, 52))
def test_the_jobs_of_any_plan_come_back(show_plans, seed, sites, weeks):
    """Read back with another library, each day has the same jobs: what, crop, batch and sites."""
    made, called = show_plans.random_plan(sites=sites, weeks=weeks, seed=seed, beds=1)
    found = []
    for event in events_of(ics.calendar(made, called, STAMP)).values():
        for said in str(event["description"]).split("\n"):
            what, crop, batch, facts = re.fullmatch(r"(Sow|Cut) (.+) (\S+): (.+)", said).groups()
            where = re.search(r"sites? ([\d-]+)", facts)
            found.append(
                (event.decoded("dtstart"), what.lower(), crop, batch, where.group(1) if where else "")
            )

    def one_number(text):
        first, _, last = text.partition("-")
        return first if first == last else text

    put = [(job.on, job.job, called[job.crop], job.batch, job.sites) for job in made.jobs]
    assert sorted((*row[:4], one_number(row[4])) for row in found) == sorted(
        (*row[:4], one_number(row[4])) for row in put
    )
