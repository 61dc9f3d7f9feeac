"""All files of a set are written, or none: whatever fails, whoever is killed, however many write at once."""

import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from cropcal.reading.files import file_set, locked
from cropcal.reading.files.file_set import (
    BEING_WRITTEN,
    LOCK,
    TO_BE_PLACED,
    CannotWriteError,
    settle,
    write_set,
)

NEW = {"a.csv": "header\nbät\n", "b.png": b"\x89PNG\r\n", "c.json": "{}\n"}
STEPS = ("mkdir", "open", "fsync", "rename", "replace", "rmdir", "unlink")
MINE = {".report.html.swp": b"an editor's", "mine.txt": b"mine", ".x.0123abcd.part": b"a browser's"}


def contents(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def generation(number):
    return {f"{name}.csv": f"{number} {name}\n" * 50 for name in "abcdefgh"}


def generations(folder):
    """Return which generations the files in a folder are of."""
    return {path.read_text().split()[0] for path in folder.glob("*.csv")}


class Dead(BaseException):
    """The process was killed here."""


@pytest.fixture
def killed_after(monkeypatch):
    """Return a function that lets a number of disk operations happen, and none after them."""

    def kill(steps):
        left = [steps]

        def counted(real):
            def step(*args, **kwargs):
                if left[0] == 0:
                    raise Dead
                left[0] -= 1
                return real(*args, **kwargs)

            return step

        patch = monkeypatch.context()
        inside = patch.__enter__()
        for name in STEPS:
            inside.setattr(os, name, counted(getattr(os, name)))
        inside.setattr(Path, "open", counted(Path.open))
        return lambda: patch.__exit__(None, None, None)

    return kill


def test_files_are_written_byte_for_byte(tmp_path):
    """Text is UTF-8 with its own line ends, and folders are made."""
    write_set(tmp_path / "new" / "deep", NEW)
    assert contents(tmp_path / "new" / "deep") == {
        "a.csv": "header\nbät\n".encode(),
        "b.png": b"\x89PNG\r\n",
        "c.json": b"{}\n",
    }


def test_old_files_are_replaced_and_others_stay(tmp_path):
    """Planning again overwrites the plan and leaves the user's own files alone."""
    (tmp_path / "a.csv").write_text("old")
    for name, content in MINE.items():
        (tmp_path / name).write_bytes(content)
    (tmp_path / ".a.csv.0123abcd.part").write_text("left by the version before")
    write_set(tmp_path, NEW)
    after = contents(tmp_path)
    assert after.pop("a.csv") == "header\nbät\n".encode()
    assert after.keys() == {"b.png", "c.json", *MINE}
    assert {name: after[name] for name in MINE} == MINE


def test_killed_at_every_step(tmp_path, killed_after):
    """Whoever opens the folder next finds all files of one set, the old or the new, and no leftovers."""
    seen = []
    for steps in range(200):
        folder = tmp_path / str(steps)
        folder.mkdir()
        for name, content in MINE.items():
            (folder / name).write_bytes(content)
        write_set(folder, generation(1))
        revive = killed_after(steps)
        try:
            write_set(folder, generation(2))
        except Dead:
            ended = False
        else:
            ended = True
        finally:
            revive()
        settle(folder)
        seen += generations(folder)
        assert contents(folder).keys() == {*generation(1), *MINE}, steps
        assert {name: contents(folder)[name] for name in MINE} == MINE
        if ended:
            break
        assert len(generations(folder)) == 1, steps
    assert steps > 30
    assert seen == sorted(seen)
    assert seen.count("1") > 10
    assert seen.count("2") > 10


def test_killed_while_it_cleans_up_after_another(tmp_path, killed_after):
    """Who finishes the set of a writer that died may die too; the third has it all."""
    pending = tmp_path / "pending"
    write_set(pending, generation(1))
    (pending / TO_BE_PLACED).mkdir()
    for name, content in generation(2).items():
        folder = pending if name < "d" else pending / TO_BE_PLACED
        (folder / name).write_text(content)
    for steps in range(12):
        folder = Path(shutil.copytree(pending, tmp_path / str(steps)))
        revive = killed_after(steps)
        try:
            settle(folder)
        except Dead:
            pass
        finally:
            revive()
        write_set(folder, {"z.txt": "another set"})
        assert generations(folder) == {"2"}
        assert contents(folder).keys() == {*generation(2), "z.txt"}


@pytest.mark.parametrize(
    ("method", "suffix"), [("open", "writing"), ("rename", ".csv"), ("rename", "writing")]
)
def test_a_failure_leaves_everything_as_it_was(tmp_path, monkeypatch, method, suffix):
    """A full disk or a file held open by a spreadsheet loses nothing and leaves no litter."""
    for name in NEW:
        (tmp_path / name).write_text("old")
    before = contents(tmp_path)
    real = getattr(Path, method)

    def failing(self, *args, **kwargs):
        if self.name.endswith(suffix) or self.parent.name.endswith(suffix):
            raise PermissionError(13, "held open")
        return real(self, *args, **kwargs)

    monkeypatch.setattr(Path, method, failing)
    with pytest.raises(CannotWriteError, match=r"or open in another program, .*, nothing was changed$"):
        write_set(tmp_path, NEW)
    assert contents(tmp_path) == before


def test_a_file_that_is_held_open_in_the_end_is_placed_later(tmp_path, monkeypatch):
    """It is said what holds now; the next opener tries again, and places all once it can."""
    write_set(tmp_path, dict.fromkeys(NEW, "old"))
    real = Path.replace

    def failing(self, target):
        if target.name == "b.png":
            raise PermissionError(13, "held open")
        return real(self, target)

    with monkeypatch.context() as patch:
        patch.setattr(Path, "replace", failing)
        for attempt in (lambda: write_set(tmp_path, NEW), lambda: settle(tmp_path)):
            with pytest.raises(CannotWriteError, match="once they can, the next command puts them there"):
                attempt()
    settle(tmp_path)
    assert contents(tmp_path).keys() == NEW.keys()
    assert (tmp_path / "b.png").read_bytes() == NEW["b.png"]


def test_a_failure_takes_new_folders_away_again(tmp_path, monkeypatch):
    """Nothing written means no empty folders either."""

    def full(self, *_args, **_kwargs):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "open", full)
    with pytest.raises(CannotWriteError, match="no space left on device"):
        write_set(tmp_path / "new" / "deep", NEW)
    assert list(tmp_path.iterdir()) == []


def test_an_interrupt_cleans_up_too(tmp_path, monkeypatch):
    """Ctrl-C while files are written changes nothing; while they are placed, all of them are placed first."""
    write_set(tmp_path, dict.fromkeys(NEW, "old"))
    before, calls = contents(tmp_path), []

    def interrupted(real):
        def step(self, *args):
            calls.append(self)
            if len(calls) == 2:
                raise KeyboardInterrupt
            return real(self, *args)

        return step

    with monkeypatch.context() as patch:
        patch.setattr(file_set, "_write", interrupted(file_set._write))
        with pytest.raises(KeyboardInterrupt, match=r"^$"):
            write_set(tmp_path, NEW)
    assert contents(tmp_path) == before
    calls.clear()
    with monkeypatch.context() as patch:
        patch.setattr(Path, "replace", interrupted(Path.replace))
        with pytest.raises(KeyboardInterrupt, match=r"^$"):
            write_set(tmp_path, NEW)
    assert contents(tmp_path)["c.json"] == b"{}\n"
    assert contents(tmp_path).keys() == NEW.keys()


def test_a_file_in_the_way_is_named(tmp_path):
    """A file where the folder should be, a file in its path, a folder where a file should be."""
    (tmp_path / "plan").write_text("a file")
    for folder in (tmp_path / "plan", tmp_path / "plan" / "deep"):
        with pytest.raises(CannotWriteError, match="plan: found a file, not a folder, expected"):
            write_set(folder, NEW)
    (tmp_path / "out" / "c.json").mkdir(parents=True)
    with pytest.raises(CannotWriteError, match=r"c\.json: found a folder of that name, expected a file"):
        write_set(tmp_path / "out", NEW)
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["c.json"]


def test_names_may_not_leave_the_folder(tmp_path):
    """A file name with a path in it is a bug, and says so."""
    with pytest.raises(ValueError, match="not plain file names"):
        write_set(tmp_path, {"../a.csv": "x"})


def test_writers_wait_for_each_other_and_readers_do_not(tmp_path):
    """As long as nothing is to be placed, the files are those of before, whoever is writing."""
    write_set(tmp_path, NEW)
    with locked.locked(tmp_path / LOCK, passing=True):
        (tmp_path / BEING_WRITTEN).mkdir()
        began = time.monotonic()
        settle(tmp_path, wait_s=5.0)
        assert time.monotonic() - began < 2.0
        assert (tmp_path / BEING_WRITTEN).exists()
        with pytest.raises(CannotWriteError, match=r"another program has been writing for 0\.1 s"):
            write_set(tmp_path, NEW, wait_s=0.1)
        (tmp_path / BEING_WRITTEN).rename(tmp_path / TO_BE_PLACED)
        with pytest.raises(CannotWriteError, match=r"another program has been writing for 0\.1 s"):
            settle(tmp_path, wait_s=0.1)
    settle(tmp_path)
    assert contents(tmp_path).keys() == NEW.keys()


def test_what_may_not_be_changed_can_be_read(tmp_path, monkeypatch):
    """In a folder without the right to write, leftovers stay and are no reason to stop."""
    write_set(tmp_path, NEW)
    (tmp_path / BEING_WRITTEN).mkdir()

    def refused(*_args, **_kwargs):
        raise PermissionError(13, "read only")

    monkeypatch.setattr(os, "open", refused)
    settle(tmp_path)
    with pytest.raises(CannotWriteError, match="no permission"):
        write_set(tmp_path, NEW)
    (tmp_path / BEING_WRITTEN).rename(tmp_path / TO_BE_PLACED)
    with pytest.raises(CannotWriteError, match="no permission"):
        settle(tmp_path)


WRITER = """
import sys
from pathlib import Path
from cropcal.reading.files.file_set import write_set
folder, number, many = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
print("ready", flush=True)
for turn in range(number, number + many):
    write_set(folder, {f"{name}.csv": f"{turn} {name}\\n" * 50 for name in "abcdefgh"})
"""


def writer(folder, number, many):
    code = [sys.executable, "-c", WRITER, str(folder), str(number), str(many)]
    process = subprocess.Popen(code, stdout=subprocess.PIPE)
    process.stdout.readline()
    return process


def end(process):
    process.kill()
    process.wait()
    process.stdout.close()


@pytest.mark.parametrize("kills", [4, pytest.param(300, marks=pytest.mark.deep)])
def test_killed_for_real(tmp_path, kills):
    """A process that writes one set after the other is killed at any moment."""
    for name, content in MINE.items():
        (tmp_path / name).write_bytes(content)
    write_set(tmp_path, generation(0))
    left = 0
    for number in range(kills):
        process = writer(tmp_path, 1000 * number, 1000)
        time.sleep(0.0007 * (number % 50))
        end(process)
        left += any((tmp_path / name).exists() for name in (TO_BE_PLACED, BEING_WRITTEN, LOCK))
        settle(tmp_path)
        assert len(generations(tmp_path)) == 1
        after = contents(tmp_path)
        assert after.keys() == {*generation(0), *MINE}
        assert {name: after[name] for name in MINE} == MINE
    assert left > kills / 2


@pytest.mark.parametrize("rounds", [2, pytest.param(60, marks=pytest.mark.deep)])
def test_two_at_once(tmp_path, rounds):
    """The set of one of them is there as a whole."""
    for _ in range(rounds):
        both = [writer(tmp_path, number, 5) for number in (1000, 2000)]
        assert [process.wait() for process in both] == [0, 0]
        for process in both:
            process.stdout.close()
        assert len(generations(tmp_path)) == 1
        assert contents(tmp_path).keys() == generation(0).keys()
