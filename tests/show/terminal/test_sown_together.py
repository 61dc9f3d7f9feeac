"""The week's list: what is sown of one crop in one nursery is one line, for however many batches."""

from datetime import date

from cropcal.records.plan import Job
from cropcal.records.week import Week
from cropcal.show.sown_together import job_lines
from cropcal.show.terminal.week import week

DAY = date(2027, 3, 2)
BED_OF = {"0302a": "shelf", "0302b": "box", "0302c": "box", "0302d": "box"}


def sow(batch, crop, cells, note="2 seeds each"):
    return Job(
        on=DAY, job="sow", batch=batch, crop=crop, bed="seed drawer", sites="", amount=cells, unit="cells",
        note=note,
    )  # fmt: skip


def shown(*jobs, done=()):
    the_week = Week(
        place="den", on=DAY, start=DAY, until=date(2027, 6, 1), jobs=jobs, done=done, bed_of=BED_OF
    )
    return week(the_week, {"basil": "Basil", "kale": "Kale"}, lambda words: f"cropcal log {words}", "x", 80)


def test_sowings_of_one_crop_are_one_line_that_says_for_which_beds():
    """Ids first, as the journal takes them, then the sum and its parts; other crops stay apart."""
    text = shown(
        sow("0302a", "basil", 3), sow("0302b", "basil", 2), sow("0302c", "basil", 1), sow("0302d", "kale", 1)
    )
    assert "[ ] 0302a 0302b 0302c Basil\n    6 cells (3 for shelf, 3 for box), seed drawer" in text
    assert "[ ] 0302d Kale\n    1 cell, seed drawer" in text
    assert "All of today as planned: cropcal log done" in text


def test_what_is_done_or_sown_otherwise_stays_apart():
    """A noted sowing is ticked alone; another number of seeds is another job; one bed needs no parts."""
    first, second = sow("0302a", "basil", 3), sow("0302b", "basil", 2)
    text = shown(first, second, sow("0302c", "basil", 1, "1 seed each"), done=(first,))
    assert "[x] 0302a Basil\n[ ] 0302b Basil\n    2 cells, seed drawer, 2 seeds each\n[ ] 0302c Basil" in text
    alike = shown(sow("0302b", "basil", 2), sow("0302c", "basil", 1))
    assert "[ ] 0302b 0302c Basil\n    3 cells, seed drawer" in alike
    assert "All of today" not in shown(first, done=(first,))


def test_the_page_and_the_calendar_file_have_one_line_for_them_too():
    """The same sum and parts as in the week's list, with every id that the journal takes."""
    jobs = [sow("0302a", "basil", 3), sow("0302b", "basil", 2), sow("0302d", "kale", 1)]
    assert job_lines(jobs, {"basil": "Basil", "kale": "Kale"}, BED_OF) == [
        "Sow Basil 0302a 0302b: 5 cells (3 for shelf, 2 for box), seed drawer, 2 seeds each",
        "Sow Kale 0302d: 1 cell, seed drawer, 2 seeds each",
    ]
