"""The wall sheet: the content of its pages, all of it within the paper."""

import re
from datetime import date, timedelta
from itertools import pairwise

import pytest

from cropcal.records.base import clock
from cropcal.records.hours import CLOCK, SetPoint, TimerLine
from cropcal.show import text
from cropcal.show.pictures import render as picture
from cropcal.show.pictures import wall_sheet
from cropcal.show.pictures.shapes import Boxes, TextLine

pytestmark = pytest.mark.drawn

ODD = {
    "crop-1": "🥬 白菜",
    "crop-2": "חסה ירוקה",
    "crop-3": "خس مقرمش 🥗",
    "crop-4": "A very long name of a lettuce of the royal house, early, crisp, red and slow to bolt " * 2,
    "crop-5": '=HYPERLINK("x") $\\frac{1}{2}$ <script>alert(1)</script>',
}


def timer(zone, on, off, start=date(2027, 3, 1), output=1.0):
    return TimerLine(zone=zone, start=start, on=on * 60, off=off * 60, output=output)


TIMERS = (timer("shelf", 17, 9), timer("tin " * 30, 6, 10), timer("tin " * 30, 14, 20, output=0.8))


def laid_out(plan, names, timers=TIMERS):
    return wall_sheet.pages(plan, names, timers, picture.printed_width)


def words_of(page):
    return [shape for shape in page.shapes if isinstance(shape, TextLine)]


def said_on(pages):
    return [word.text for page in pages for word in words_of(page)]


def ticks_of(page):
    """Return the small squares; a timer card is larger than an inch."""
    boxes = [box for shape in page.shapes if isinstance(shape, Boxes) for box in shape.boxes]
    return [box for box in boxes if box[1] - box[0] < 1]


def ends_of(word):
    wide = picture.printed_width(word.text, word.size_pt, word.bold)
    left = word.x - (wide if word.side == "right" else 0)
    return left, left + wide


@pytest.fixture
def crowded(small_plan):
    """Return thirty batches sown on one day, each on a long list of sites."""
    batch, job = small_plan.batches[0], small_plan.jobs[0]
    ids = [f"0302{'abcdefghijklmnopqrstuvwxyz'[at % 26]}{'b' * (at // 26)}" for at in range(30)]
    return small_plan.model_copy(
        update={
            "batches": tuple(batch.model_copy(update={"id": name}) for name in ids),
            "jobs": tuple(
                job.model_copy(
                    update={"batch": name, "sites": "1-4, 7, 9, 11-13, 15, 17, 19, 21, 23, 25, 27"}
                )
                for name in ids
            ),
        }
    )


def test_each_job_of_three_months_has_one_box(small_plan, names):
    """March and April: 20 jobs, 20 boxes, on one page, each month under its heading."""
    pages = laid_out(small_plan, names)
    assert [len(ticks_of(page)) > 0 for page in pages].count(True) == 1
    assert sum(len(ticks_of(page)) for page in pages) == len(small_plan.jobs) == 20
    assert {"Mar 2027", "Apr 2027"} <= set(said_on(pages))


def test_months_that_lie_far_ahead_are_left_out(show_plans):
    """What is a season away moves before it is done."""
    plan, names = show_plans.random_plan(sites=12, weeks=40)
    end = plan.start + timedelta(weeks=13)
    jobs = [job for job in plan.jobs if job.on < end]
    pages = laid_out(plan, names)
    assert sum(len(ticks_of(page)) for page in pages) == len(jobs) < len(plan.jobs)
    assert any("may still move. Print the sheet again" in word for word in said_on(pages))


def test_a_plan_made_again_is_printed_from_its_day(small_plan, names):
    """What is past needs no box."""
    from cropcal.records.replan import Replan

    on = date(2027, 4, 1)
    plan = small_plan.model_copy(update={"again": Replan(on=on, compared=True, revisions=(), taken_done=())})
    left = [job for job in plan.jobs if job.on >= on]
    assert sum(len(ticks_of(page)) for page in laid_out(plan, names)) == len(left)


def test_thirty_batches_on_a_day_all_find_room(crowded, names):
    """The day goes on in the next column, under its name; every batch has box and label."""
    pages = laid_out(crowded, names, ())
    said = said_on(pages)
    assert sum(len(ticks_of(page)) for page in pages) == 30
    assert {"Tue 2 Mar", "Tue 2 Mar, more"} <= set(said)
    for batch in crowded.batches:
        assert said.count(batch.id) == 2


@pytest.mark.parametrize("which", ["small", "odd", "crowded", "empty"])
def test_all_of_it_lies_on_the_paper(show_plans, small_plan, names, crowded, which):
    """No text leaves the page, and no two texts of a page overlap."""
    plan, called = {
        "small": (small_plan, names),
        "odd": show_plans.random_plan(sites=24, weeks=12, names=ODD),
        "crowded": (crowded, names),
        "empty": (show_plans.empty_plan(), names),
    }[which]
    for page in laid_out(plan, called):
        assert (page.width, page.height) == (8.27, 11.69)
        rows = sorted((round(word.y, 2), *ends_of(word), word.text) for word in words_of(page))
        for y, left, right, said in rows:
            assert 0.3 <= left < right <= 8.0, said
            assert 0.5 <= y <= 11.4, said
        for (y, _, right, said), (below, left, _, beside) in pairwise(rows):
            assert below > y or left >= right, (said, beside)


def test_the_timer_card_says_on_and_off_in_large_letters(small_plan, names):
    """Every stretch of light of each zone, as large as there is room, with the cautions on the same page."""
    (page,) = [page for page in laid_out(small_plan, names) if "Timers and set points" in said_on([page])]
    big = {word.text: word.size_pt for word in words_of(page)}
    assert big["on 17:00   off 09:00"] >= 36
    assert big["on 06:00   off 10:00"] >= 24
    assert "lamp at 80%" in big
    assert "Take care" in big
    assert any("licensed electrician" in said for said in big)


YEAR = tuple(
    timer("long shelf", on, on + hours, date(2027 + month // 13, (month - 1) % 12 + 1, 1))
    for month in range(3, 15)
    for on, hours in ((1, 3 + month % 2), (6 + month % 3, 9), (20, 2))
)


def test_a_timer_with_many_settings_is_complete(small_plan, names):
    """A year of three stretches a day: each with its day, on a second page under the name of the zone."""
    pages = laid_out(small_plan, names, YEAR)
    said = said_on(pages)
    assert {"long shelf", "long shelf, continued"} <= set(said)
    for line in YEAR:
        assert f"on {clock(line.on)}   off {clock(line.off)}" in said
        assert said.count(f"from {text.day_year(line.start)}") == 3
    assert sum(word.startswith("on ") for word in said) == len(YEAR) == 36
    assert not any("…" in word for word in said)


def test_a_card_printed_in_may_begins_with_the_setting_of_may(small_plan, names):
    """Settings that are past are left out; that of the day stays, though it began before."""
    from cropcal.records.replan import Replan

    again = Replan(on=date(2027, 5, 9), compared=True, revisions=(), taken_done=())
    said = said_on(laid_out(small_plan.model_copy(update={"again": again}), names, YEAR))
    days = {word for word in said if word.startswith("from ")}
    assert days == {f"from {text.day_year(line.start)}" for line in YEAR if line.start >= date(2027, 5, 1)}


def test_a_card_has_all_set_points_of_its_zone(small_plan, names):
    """What, value with its unit, and where it comes from; those of all zones on a card of their own."""
    points = (
        SetPoint(zone="shelf", what="lamp on", value="17:00", unit=CLOCK),
        SetPoint(zone="shelf", what="air low alarm", value=13.0, unit="C", note="Basil: " + "so it is " * 20),
        SetPoint(zone="", what="pump every", value=90.0, unit="min", note="as space.toml has it"),
    )
    pages = wall_sheet.pages(small_plan, names, TIMERS[:1], picture.printed_width, (), points)
    said = said_on(pages)
    assert said.index("shelf") < said.index("air low alarm") < said.index("13 °C") < said.index("All zones")
    assert {"90 min", "as space.toml has it"} <= set(said)
    assert "lamp on" not in said  # the timer says it
    assert " ".join(said).count("so it is") == 20


def test_a_label_says_what_when_and_ready(small_plan, names):
    """Crop, id, sowing day and the range of readiness of each batch of the next six weeks."""
    later = small_plan.batches[0].model_copy(update={"id": "late", "sow_on": date(2027, 4, 12)})
    plan = small_plan.model_copy(update={"batches": (*small_plan.batches, later)})
    said = said_on(
        [page for page in laid_out(plan, names) if any("Labels" in word for word in said_on([page]))]
    )
    assert {"L1", "B1", "P1", "C1", "L2"} <= set(said)
    assert "late" not in said  # 42 days from 1 March end on 11 April
    at = said.index("L1")
    assert said[at : at + 5] == [
        "L1",
        "3 in oak plank",
        "Butterhead lettuce",
        "sown Tue 2 Mar 2027",
        "ready 3-11 Apr",
    ]


def test_too_many_labels_and_jobs_are_counted(small_plan, names, monkeypatch):
    """What is left out is named with the file that has it."""
    monkeypatch.setattr(wall_sheet, "MOST_JOB_PAGES", 2)
    batches = tuple(small_plan.batches[0].model_copy(update={"id": f"n{at}"}) for at in range(150))
    jobs = tuple(small_plan.jobs[0].model_copy(update={"batch": f"n{at}"}) for at in range(400))
    pages = laid_out(small_plan.model_copy(update={"batches": batches, "jobs": jobs}), names)
    said = said_on(pages)
    assert any("10 more batches are in sowings.csv" in word for word in said)
    (more,) = [word for word in said if "more jobs until" in word]
    ticked = sum(len(ticks_of(page)) for page in pages)
    assert int(re.search(r"and (\d+) more", more)[1]) == 400 - ticked > 0


def test_the_pdf_has_a_page_a_page_and_no_date(small_plan, names):
    """The same plan gives the same bytes, as many pages as were laid out."""
    first, second = (picture.wall_sheet_pdf(small_plan, names, TIMERS) for _ in range(2))
    assert first == second
    assert first.startswith(b"%PDF-")
    assert b"CreationDate" not in first
    assert len(re.findall(rb"/Type /Page\b[^s]", first)) == len(laid_out(small_plan, names))


def test_names_in_other_scripts_are_printed_or_the_slug_is(show_plans):
    """Hebrew and Arabic are in the library's font; where no font has a sign, the crop goes by its slug."""
    plan, names = show_plans.random_plan(sites=10, weeks=8, crops=5, names=ODD)
    assert picture.wall_sheet_pdf(plan, names, ()).startswith(b"%PDF-")
    assert picture.printable(ODD["crop-2"]) == ODD["crop-2"]
    assert picture.printable("خس 🥗") in ("خس", "خس 🥗")
    assert picture.printable("\U0010ffff") == picture.NO_NAME


def test_an_empty_plan_is_one_page(show_plans, names):
    """It says so instead of being blank."""
    pages = laid_out(show_plans.empty_plan(), names, ())
    assert len(pages) == 1
    assert "No jobs are planned: cropcal plan says why." in said_on(pages)
