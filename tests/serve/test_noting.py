"""Ticking, weighing, undoing, correcting on the page: the same lines in the journal as the typed commands."""

import time
from datetime import timedelta

import pytest
from in_process import cropcal
from on_a_day import DAY
from served import day, job, serve, window, write_space

from cropcal.reading.journal.read import read_journal

OWN = ("id", "written_at", "corrects")
"""What no two lines share."""


@pytest.fixture
def shelf(tmp_path):
    return write_space(tmp_path / "shelf")


@pytest.fixture
def page(shelf):
    return window(serve(shelf))


def lines(folder):
    """Return the lines of a journal without what no two share, each with the place of the one it corrects."""
    journal, problems = read_journal(folder / "journal.csv")
    assert problems == []
    place = {entry.id: number for number, entry in enumerate(journal.entries)}
    return [
        (place.get(entry.corrects), entry.model_copy(update={**dict.fromkeys(OWN, ""), "written_at": None}))
        for entry in journal.entries
    ]


def events(folder):
    return read_journal(folder / "journal.csv")[0].events


def typed(tmp_path, *commands):
    """Return the lines that typed commands write in a space of its own; {n} is the id of its n-th line."""
    folder = write_space(tmp_path / "typed")
    for words in commands:
        ids = [entry.id for entry in read_journal(folder / "journal.csv")[0].entries]
        done = cropcal("log", *(word.format(*ids) for word in words.split()), cwd=folder)
        assert done.returncode == 0, done.stderr
    return lines(folder)


def test_a_tick_is_what_log_writes(page, shelf, tmp_path):
    """A sowing, a late one on its own day, with another number and a remark: the lines of the commands."""
    first = page.get()
    answer = page.post("/tick", first.form("/tick", job=f"sow.1220a.{day(0)}"))
    assert "Noted for Sun 20 Dec: sown 4 sites Butterhead lettuce, batch 1220a, long box" in answer.text
    page.post("/tick", first.form("/tick", job=f"sow.1218a.{day(-2)}") | {"day": day(-2)})
    changed = {"amount": "1", "remark": "none-left"}
    page.post("/tick", first.form("/tick", job=f"sow.1220b.{day(0)}") | changed)
    assert lines(shelf) == typed(
        tmp_path, "sown 1220a", f"sown 1218a --on {day(-2)}", "sown 1220b 1 sites --note none-left"
    )


def test_a_harvest_is_counted_and_weighed(page, shelf, tmp_path):
    """Heads with their weight, grams of a bunch; the page says what is left, and what there is to eat."""
    first = page.get()
    cut = first.form("/tick", job=f"cut.1012a.{day(-1)}")
    assert cut["heads"] == "3"
    assert first.form("/tick", job=f"cut.1019a.{day(0)}")["grams"] == "", "a forecast is no weight"
    answer = page.post("/tick", cut | {"heads": "2", "grams": "310"})
    assert "1 of 3 left" in answer.text
    answer = page.post("/tick", first.form("/tick", job=f"cut.1019a.{day(0)}") | {"grams": "210,5"})
    assert "210 g Basil, cut Sun 20 Dec, eat by Wed 23 Dec" in answer.text
    assert lines(shelf) == typed(tmp_path, "harvested 1012a 2 heads 310 g", "harvested 1019a 210.5 g")


def test_all_of_a_day_at_once(page, shelf, tmp_path):
    """One tap notes what is left of today; the same form sent again notes nothing more."""
    before, first = len(events(shelf)), page.get()
    page.post("/tick", first.form("/tick", job=f"sow.1220a.{day(0)}"))
    form = page.get().form("/done", day=day(0))
    answer = page.post("/done", form)
    assert "Noted as planned, Sun 20 Dec:" in answer.text
    assert "cropcal log" not in answer.text
    once = lines(shelf)
    page.post("/done", form)
    assert lines(shelf) == once
    assert sorted(map(str, once)) == sorted(map(str, typed(tmp_path, "sown 1220a", f"done --on {day(0)}")))
    assert "/done" not in page.get().text
    page.post("/undo", answer.forms("/undo")[0])
    assert len(events(shelf)) == before + 1, "all of it is taken back at once, and only that"


def test_undo_and_put_back(page, shelf, tmp_path):
    """A tick is taken back where it stands, and put back in the journal: the lines of --undo."""
    page.post("/tick", page.get().form("/tick", job=f"sow.1220a.{day(0)}"))
    answer = page.post("/undo", page.get().form("/undo"))
    assert "Taken back: sown 4 sites Butterhead lettuce" in answer.text
    assert "To have it back" not in answer.text, "that is said to a terminal"
    assert answer.form("/tick", job=f"sow.1220a.{day(0)}")
    back = page.get("/journal").form("/undo")
    assert "Took back: sown 4 sites" in page.get("/journal").text
    page.post("/undo", back)
    assert [event.batch for event in events(shelf)] == ["1220a"]
    assert lines(shelf) == typed(tmp_path, "sown 1220a", "--undo {0}", "--undo {1}")


def test_correct(page, shelf, tmp_path):
    """Another amount, day and remark on the page of the journal: the line of --correct."""
    page.post("/tick", page.get().form("/tick", job=f"cut.1012a.{day(-1)}") | {"heads": "3"})
    fix = page.get("/journal").form("/correct")
    assert fix["day"] == day(0)
    page.post("/correct", fix | {"amount": "2 heads 300 g", "day": day(-1), "remark": "miscounted"})
    assert lines(shelf) == typed(
        tmp_path,
        "harvested 1012a 3",
        f"--correct {{0}} 2 heads 300 g --on {day(-1)} --note miscounted",
    )
    assert "(corrected)" in page.get("/journal").text


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"event": "lost", "which": "1012a", "amount": "2", "why": "slugs"}, "lost 1012a 2 --why slugs"),
        ({"event": "reading", "which": "long box", "amount": "210"}, "reading long box 210"),
        ({"event": "outage", "which": "pump", "from": "06:00", "until": "07:30"},
         "outage pump --from 06:00 --until 07:30"),
        ({"event": "harvested", "which": "basil", "amount": "0.1 kg", "on": day(-3)},
         f"harvested basil 0.1 kg --on {day(-3)}"),
        ({"event": "air", "which": "bench", "amount": "23.5"}, "air bench 23.5"),
    ],
)  # fmt: skip
def test_anything_else_is_noted(page, shelf, tmp_path, fields, words):
    """Every event that ``log`` takes can be noted by the form."""
    blank = page.get().form("/note")
    answer = page.post("/note", blank | fields)
    assert "Noted for" in answer.text, answer.text
    assert lines(shelf) == typed(tmp_path, words)


def test_a_mistake_writes_nothing_and_loses_nothing(page, shelf):
    """What is wrong stands beside what was typed, which is still there; then the same form may come again."""
    cut = page.get().form("/tick", job=f"cut.1019a.{day(0)}") | {"grams": "two hands", "remark": "big leaves"}
    answer = page.post("/tick", cut)
    assert "How much: found" in answer.text
    assert "two hands" in answer.form("/tick", job=f"cut.1019a.{day(0)}")["grams"]
    assert answer.form("/tick", job=f"cut.1019a.{day(0)}")["remark"] == "big leaves"
    assert not (shelf / "journal.csv").exists()
    page.post("/tick", cut | {"grams": "90"})
    assert [event.amount for event in events(shelf)] == [90]
    wrong = page.get().form("/note") | {"event": "lost", "which": "bazil"}
    answer = page.post("/note", wrong)
    assert "Which: found" in answer.text
    assert answer.form("/note")["which"] == "bazil"


def test_a_form_sent_twice_counts_once(page, shelf):
    """Two taps, a reload, a network that sends again: one event, and the same answer."""
    tick = page.get().form("/tick", job=f"sow.1220a.{day(0)}")
    note = page.get().form("/note") | {"event": "lost", "which": "1012a", "amount": "1"}
    for _ in range(3):
        assert "sown 4 sites" in page.post("/tick", tick).text
        assert "lost 1 plant" in page.post("/note", note).text
    assert [event.event for event in events(shelf)] == ["sown", "lost"]


def test_a_job_that_another_window_ticked_is_not_ticked_again(page, shelf):
    """Neither one that a terminal noted; an undo and a correction of what is gone write nothing either."""
    other = window(page.app)
    name = f"sow.1220a.{day(0)}"
    mine, theirs = page.get().form("/tick", job=name), other.get().form("/tick", job=name)
    page.post("/tick", mine)
    assert "noted or changed meanwhile" in other.post("/tick", theirs).text
    late = page.get().form("/tick", job=f"sow.1220b.{day(0)}")
    assert cropcal("log", "sown", "1220b", cwd=shelf).returncode == 0
    assert "noted or changed meanwhile" in page.post("/tick", late).text
    line = next(event.id for event in events(shelf) if event.batch == "1220a")
    undo = [window.get("/journal").form("/undo", line=line) for window in (page, other)]
    fix = page.get("/journal").form("/correct", line=line) | {"amount": "3"}
    page.post("/undo", undo[0])
    assert "meanwhile" in other.post("/undo", undo[1]).text
    assert "meanwhile" in page.post("/correct", fix).text
    assert [event.batch for event in events(shelf)] == ["1220b"]
    assert len(lines(shelf)) == 3


def test_a_job_that_left_the_plan_is_not_noted(page, shelf):
    """The plan was made anew while the page was open: it says so and shows the new one."""
    tick = page.get().form("/tick", job=f"sow.1220a.{day(0)}")
    plan = shelf / "plan" / "plan.json"
    plan.write_text(plan.read_text().replace("1220a", "1220c"))
    assert "not in it any more" in page.post("/tick", tick).text
    assert not (shelf / "journal.csv").exists()


def test_what_is_late_comes_first_and_what_is_next_is_said(tmp_path):
    """Yesterday's harvest and a sowing are late; the chore is shown, but the journal has no such event."""
    later = job("cut", "1220b", "basil", 55, 200.0, "g")
    page = window(serve(write_space(tmp_path / "shelf", more_jobs=[later])))
    text = page.get().text
    late, today = text.index("Late, or not noted yet"), text.index("Today, Sun 20 Dec")
    assert late < text.index("Cut 3 Butterhead lettuce") < today < text.index("Sow 4 Butterhead lettuce")
    assert late < text.index("Sow 2 Basil") < today
    assert "Wipe the lamp" in text
    assert all(not fields["job"].startswith("chore") for fields in page.get().forms("/tick"))
    ahead = page.get(f"/?on={(DAY + timedelta(days=55)).isoformat()}").text
    assert "Cut 200 g Basil" in ahead
    assert page.get("/?on=soon").status == 200, "a day that is none is today"


def test_a_space_without_a_plan_offers_one(tmp_path):
    """It is no mistake: the page says so, and notes can be made all the same."""
    folder = write_space(tmp_path / "new")
    (folder / "plan" / "plan.json").unlink()
    page = window(serve(folder))
    assert "There is no plan yet" in page.get().text
    assert page.get().form("/again/start")
    page.post("/note", page.get().form("/note") | {"event": "sown", "which": "basil", "amount": "3"})
    assert [event.crop for event in events(folder)] == ["basil"]


def test_mistakes_of_files_are_shown_as_the_commands_say_them(page, shelf):
    """space.toml broken while it is served: the page says where; mended, it is back."""
    file = shelf / "space.toml"
    whole = file.read_text()
    file.write_text(whole.replace("watts = 100", 'watts = "many"'))
    answer = page.get()
    assert answer.status == 500
    assert "fixture" in answer.text
    assert "watts" in answer.text
    file.write_text(whole)
    assert page.get().status == 200


def test_a_line_that_cannot_be_read_is_shown(page, shelf):
    page.post("/tick", page.get().form("/tick", job=f"sow.1220a.{day(0)}"))
    with (shelf / "journal.csv").open("a") as file:
        file.write("yesterdayish,sown,1220b\n")
    assert "yesterdayish" in page.get().text
    assert "yesterdayish" in page.get("/journal").text


def test_a_link_that_only_reads_shows_no_form(shelf):
    """It shows the same week without anything to press, and nothing can be sent."""
    reader = window(serve(shelf), "r" * 43)
    text = reader.get().text
    assert "Sow 4 Butterhead lettuce" in text
    assert "<form" not in text
    assert "<form" not in reader.get("/journal").text
    assert reader.post("/tick", {"job": f"sow.1220a.{day(0)}"}).status == 403


def test_a_tick_is_answered_within_a_tenth_of_a_second(page):
    """The form and the page it leads to, in CPU time, once all is loaded: the best of three."""
    first = page.get()
    spent = []
    for name in (f"sow.1220a.{day(0)}", f"sow.1220b.{day(0)}", f"sow.1218a.{day(-2)}"):
        begin = time.process_time()
        page.post("/tick", first.form("/tick", job=name))
        spent.append(time.process_time() - begin)
    assert min(spent) < 0.1, spent
