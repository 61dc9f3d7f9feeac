"""All files of a plan are written, or none."""

from pathlib import Path

import pytest

from cropcal.show.files import CannotWriteError, write_all

NEW = {"a.csv": "header\nbät\n", "b.png": b"\x89PNG\r\n", "c.json": "{}\n"}


def contents(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_files_are_written_byte_for_byte(tmp_path):
    """Text is UTF-8 with its own line ends, and folders are made."""
    write_all(tmp_path / "new" / "deep", NEW)
    assert contents(tmp_path / "new" / "deep") == {
        "a.csv": "header\nbät\n".encode(),
        "b.png": b"\x89PNG\r\n",
        "c.json": b"{}\n",
    }


def test_old_files_are_replaced_and_others_stay(tmp_path):
    """Planning again overwrites the plan and leaves the user's own files alone."""
    (tmp_path / "a.csv").write_text("old")
    (tmp_path / "mine.txt").write_text("mine")
    write_all(tmp_path, NEW)
    assert contents(tmp_path)["a.csv"] == "header\nbät\n".encode()
    assert contents(tmp_path)["mine.txt"] == b"mine"
    assert len(contents(tmp_path)) == 4


@pytest.mark.parametrize("stage", ["writing", "placing"])
@pytest.mark.parametrize("at", [1, 2, 3])
def test_a_failure_leaves_everything_as_it_was(tmp_path, monkeypatch, stage, at):
    """A full disk or a file held open by a spreadsheet loses nothing and leaves no litter."""
    (tmp_path / "a.csv").write_text("old")
    before = contents(tmp_path)
    method = "open" if stage == "writing" else "replace"
    real, calls = getattr(Path, method), []

    def failing(self, *args, **kwargs):
        if self.name.endswith(".part"):
            calls.append(self)
            if len(calls) == at:
                raise PermissionError(13, "held open")
        return real(self, *args, **kwargs)

    monkeypatch.setattr(Path, method, failing)
    with pytest.raises(CannotWriteError, match=r"open in another program; nothing was changed$"):
        write_all(tmp_path, NEW)
    assert contents(tmp_path) == before


def test_a_failure_takes_new_folders_away_again(tmp_path, monkeypatch):
    """Nothing written means no empty folders either."""

    def full(self, *_args, **_kwargs):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "open", full)
    with pytest.raises(CannotWriteError, match="no space left on device"):
        write_all(tmp_path / "new" / "deep", NEW)
    assert list(tmp_path.iterdir()) == []


def test_an_interrupt_cleans_up_too(tmp_path, monkeypatch):
    """Ctrl-C in the middle is no reason to leave half a plan."""

    def interrupt(self, _target):
        raise KeyboardInterrupt

    monkeypatch.setattr(Path, "replace", interrupt)
    with pytest.raises(KeyboardInterrupt, match=r"^$"):
        write_all(tmp_path, NEW)
    assert contents(tmp_path) == {}


def test_a_file_in_the_way_is_named(tmp_path):
    """A file where the folder should be, a file in its path, a folder where a file should be."""
    (tmp_path / "plan").write_text("a file")
    with pytest.raises(CannotWriteError, match="plan: cannot write here, it is a file, not a folder"):
        write_all(tmp_path / "plan", NEW)
    with pytest.raises(CannotWriteError, match="it is a file, not a folder"):
        write_all(tmp_path / "plan" / "deep", NEW)
    (tmp_path / "out" / "c.json").mkdir(parents=True)
    with pytest.raises(CannotWriteError, match=r"c\.json: cannot write this file, a folder has its name"):
        write_all(tmp_path / "out", NEW)
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["c.json"]


def test_names_may_not_leave_the_folder(tmp_path):
    """A file name with a path in it is a bug, and says so."""
    with pytest.raises(ValueError, match="not plain file names"):
        write_all(tmp_path, {"../a.csv": "x"})
