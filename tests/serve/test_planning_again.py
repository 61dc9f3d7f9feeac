"""Planning again from the page: in the background, shown before it replaces anything, kept or thrown away."""

import io
import json
import threading
import time

import pytest
from served import EndsWhenItMay, serve, window, write_space
from small_space import SpaceFolder

from cropcal.serve.planned_again import SAID, Preview, main, plan_beside
from cropcal.serve.planner import REPLACED, Planner, start_process

PREVIEW = Preview(
    headline="About 3 of 8 weekly targets will be met.",
    changes=("1220a Butterhead lettuce: not sown on Sun 20 Dec after all", "<b>another</b>"),
    taken_done=("Fri 18 Dec: sow Basil 1218a",),
    figures=(("weekly targets missed, about", "4", "5"),),
    next_jobs=(("Mon 21 Dec", "Sow 2 Basil"),),
    warnings=("the box is full",),
    inputs_sha256="of older files",
    is_empty=False,
)


class Process(EndsWhenItMay):
    """What stands for the process that plans: it has done so when it is made, and ends when it may."""

    def __init__(self, make, path, beside, today, begun):
        self.may_end, self.is_killed, self.stdin = threading.Event(), False, io.StringIO()
        self.stdout, self.code, self.beside = io.StringIO("7\n"), make(path, beside, today, begun), beside


def new_files(path, beside, today, begun):
    """Make what a plan would be: another plan.json, one more file, and what to say."""
    (beside / "plan.json").write_text((path / "plan" / "plan.json").read_text() + "\n")
    (beside / "jobs.csv").write_text("date,job\n")
    (beside / SAID).write_text(PREVIEW.model_dump_json())
    return 0


def mistakes(path, beside, today, begun):
    (beside / SAID).write_text(json.dumps(["space.toml:3: found <b>nothing</b>, expected a lamp"]))
    return 2


def really(path, beside, today, begun):
    plan_beside(path, beside, today, [].append, begun=begun)
    return 0


class Served:
    """A window of a space, and the processes that were started for it."""

    def __init__(self, folder, make=new_files):
        self.folder, self.started, self.make = folder, [], make
        self.page = window(serve(folder, Planner(folder, self._start)))

    def _start(self, *given):
        self.started.append(Process(self.make, *given))
        return self.started[-1]

    def begin(self):
        return self.page.post("/again/start", self.page.get("/plan").form("/again/start"))

    def made(self):
        """Let the process end, and return the page once it says what became of it."""
        self.started[-1].may_end.set()
        for _ in range(200):
            answer = self.page.get("/again")
            if "is being made" not in answer.text:
                return answer
            time.sleep(0.02)
        raise AssertionError(answer.text)

    def press(self, what):
        action = f"/again/{what}"
        return self.page.post(action, self.page.get("/again").form(action))

    def files(self):
        return {file.name: file.read_bytes() for file in (self.folder / "plan").iterdir()}


@pytest.fixture
def shelf(tmp_path):
    return Served(write_space(tmp_path / "shelf"))


def test_it_is_shown_before_it_replaces_anything(shelf):
    """Progress, then what changes; only "keep" writes, and the plan before it stays beside."""
    before = shelf.files()
    answer = shelf.begin()
    assert "A new plan is being made" in answer.text
    assert "The plan that you have stays" in answer.text
    assert json.loads(shelf.page.get("/again/state").text)["stage"] == "planning"
    assert "A new plan is being made" in shelf.page.get().text
    words = " ".join(shelf.made().read().words.split())
    for said in (
        PREVIEW.headline,
        *PREVIEW.changes,
        *PREVIEW.taken_done,
        "missed, about45",
        *PREVIEW.warnings,
    ):
        assert said in words, said
    assert shelf.files() == before
    assert "A new plan is ready" in shelf.page.get().text
    assert "The new plan is kept" in shelf.press("keep").text
    now = shelf.files()
    assert now["plan.json"] == before["plan.json"] + b"\n"
    assert now["previous.json"] == before["plan.json"]
    assert set(now) == {"plan.json", "previous.json", "jobs.csv"}
    assert not shelf.started[0].beside.exists()


def test_thrown_away_nothing_is_left(shelf):
    """Neither a file of the plan nor the folder in which it was made; a second one can be begun."""
    before = shelf.files()
    shelf.begin()
    shelf.begin()
    assert len(shelf.started) == 1, "one plan is in the making at a time"
    shelf.press("drop")
    assert shelf.started[0].is_killed
    assert "You see what it changes before you decide" in shelf.page.get("/again").text
    shelf.begin()
    shelf.made()
    shelf.press("drop")
    assert shelf.files() == before
    assert not any(process.beside.exists() for process in shelf.started)
    assert "A new plan" not in shelf.page.get().text


def test_a_plan_that_was_written_meanwhile_is_not_replaced(shelf):
    """The terminal planned too: the new plan of the page is thrown away, and the page says so."""
    shelf.begin()
    shelf.made()
    plan = shelf.folder / "plan" / "plan.json"
    plan.write_text(plan.read_text() + " ")
    before = shelf.files()
    assert REPLACED in shelf.press("keep").text
    assert shelf.files() == before


def test_kept_twice_is_kept_once(shelf):
    """A second window, and the same form sent again."""
    other = window(shelf.page.app)
    shelf.begin()
    keep, again = shelf.made().form("/again/keep"), other.get("/again").form("/again/keep")
    shelf.page.post("/again/keep", keep)
    after = shelf.files()
    assert "The new plan is kept" in shelf.page.post("/again/keep", keep).text
    assert "no new plan to keep" in other.post("/again/keep", again).text
    assert shelf.files() == after


def test_the_best_so_far_can_be_taken(shelf):
    """The process is told to end its search; what it found is shown like any other plan."""
    shelf.begin()
    shelf.press("enough")
    assert shelf.started[0].stdin.getvalue() == "enough\n"


def test_a_mistake_in_a_file_is_said(tmp_path):
    """There is no new plan, and the one that holds stays; so where the process ends without a word."""
    shelf = Served(write_space(tmp_path / "shelf"), mistakes)
    before = shelf.files()
    shelf.begin()
    assert "found <b>nothing</b>, expected a lamp" in shelf.made().read().words
    shelf.make = lambda *given: 1
    shelf.press("start")
    assert "Planning ended without a plan" in shelf.made().text
    assert shelf.files() == before


@pytest.fixture
def space(tmp_path, monkeypatch):
    """Return a small space with a plan, a few days after it began."""
    made = SpaceFolder(tmp_path, monkeypatch)
    made.write(sites=6, weeks=8)
    made.plan_first()
    made.later(4)
    return made


@pytest.mark.deep
def test_it_is_what_the_command_plans(space):
    """The files are those of ``cropcal plan`` on the same day; what was noted later is said to be missing."""
    first = min(space.batches().values(), key=lambda batch: batch["sow_on"])
    space.run("log", "lost", first["batch"])
    space.run("plan", "--out", space.folder / "by-command", "--on", space.on.isoformat())
    shelf = Served(space.folder, really)
    assert "Notes or measurements came" in shelf.page.get().text
    shelf.begin()
    text = shelf.made().text
    assert " lost" in text
    assert "weekly targets missed, about" in text
    assert "was changed since this plan was made" not in text
    space.run("log", "air", "shelf", "22")
    assert "was changed since this plan was made" in shelf.page.get("/again").text
    shelf.press("keep")
    kept = shelf.files()
    typed = {file.name: file.read_bytes() for file in (space.folder / "by-command").iterdir()}
    for name in ("jobs.csv", "sowings.csv", "supply.csv", "report.html"):
        assert kept[name] == typed[name], name
    assert "settings.json" in kept


@pytest.mark.deep
def test_in_a_process_of_its_own(space, tmp_path):
    """The real process: it makes the files and tells progress; killed, it leaves the space as it was."""
    shelf = Served(space.folder)
    before = shelf.files()
    beside = tmp_path / "beside"
    beside.mkdir()
    with start_process(space.folder, beside, space.on, False) as process:
        process.stdin.write("enough\n")
        process.stdin.flush()
        told = process.stdout.read()
        assert process.wait() == 0
    assert all(line.isdecimal() for line in told.split())
    preview = Preview.model_validate_json((beside / SAID).read_text())
    assert "weekly target" in preview.headline
    assert {"plan.json", "report.html", "calendar.ics"} <= {file.name for file in beside.iterdir()}
    with start_process(space.folder, tmp_path / "other", space.on, False) as process:
        process.stdin.close()  # as if the server had been killed
        assert process.wait(60) == 1
    assert shelf.files() == before


@pytest.mark.deep
def test_the_process_says_what_is_wrong(space, tmp_path, monkeypatch):
    whole = (space.folder / "space.toml").read_text()
    (space.folder / "space.toml").write_text(whole.replace("watts = 80", "watts = -80"))
    monkeypatch.setattr("cropcal.serve.planned_again._listen", lambda enough: None)
    assert main([str(space.folder), str(tmp_path), space.on.isoformat(), "not begun"]) == 2
    assert "watts" in json.loads((tmp_path / SAID).read_text())[0]
