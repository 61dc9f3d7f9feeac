"""``cropcal set``: what --set tries is kept in space.toml, and nothing else in it changes."""

import shlex

import pytest
import small_space
from in_process import cropcal

from cropcal.season.edit import BEFORE


@pytest.fixture
def shelf(tmp_path):
    """Return the folder of a small space with a comment on every second line."""
    folder = tmp_path / "shelf"
    folder.mkdir()
    lines = small_space.text().splitlines()
    text = "\n".join(f"{line}  # {at}" if "=" in line and at % 2 else line for at, line in enumerate(lines))
    (folder / "space.toml").write_text(f"# my shelf\n{text}\n", encoding="utf-8")
    return folder


def lines_of(folder):
    return (folder / "space.toml").read_text(encoding="utf-8").splitlines()


def test_one_line_changes_and_the_way_back_is_told(shelf):
    before = lines_of(shelf)
    done = cropcal("set", str(shelf), "plan.weeks=9")
    assert done.returncode == 0, done.stderr
    changed = [(old, new) for old, new in zip(before, lines_of(shelf), strict=True) if old != new]
    assert len(changed) == 1
    assert changed[0][1].startswith("weeks = 9")
    assert (shelf / BEFORE).read_text(encoding="utf-8").splitlines() == before
    back = next(line for line in done.stdout.splitlines() if line.startswith("To go back: cropcal "))
    assert cropcal(*shlex.split(back.removeprefix("To go back: cropcal "))).returncode == 0
    assert lines_of(shelf) == before


def test_the_plan_goes_by_it(shelf):
    cropcal("set", str(shelf), "plan.weeks=9")
    assert cropcal("check", str(shelf)).returncode == 0
    assert '"weeks": 9' in cropcal("plan", str(shelf), "--json").stdout


def test_what_holds_already_is_no_change(shelf):
    cropcal("set", str(shelf), "plan.weeks=9")
    before = (shelf / "space.toml").stat().st_mtime_ns
    done = cropcal("set", str(shelf), "plan.weeks=9")
    assert "nothing changed" in done.stdout
    assert (shelf / "space.toml").stat().st_mtime_ns == before


@pytest.mark.parametrize(
    ("words", "found"),
    [
        (["plan.wek=3"], "plan.wek=3: plan.wek: found the unknown key wek, expected a key of [plan]"),
        (["plan.weeks=900"], "plan.weeks=900: plan.weeks: found 900, expected a whole number"),
        (["plan.weeks=9", "plan.weeks=8"], "twice"),
        ([], "found no KEY=VALUE"),
        (["plan.weeks"], "expected KEY=VALUE"),
    ],
)
def test_a_mistake_is_named_and_nothing_is_written(shelf, words, found):
    before = lines_of(shelf)
    done = cropcal("set", str(shelf), *words)
    assert done.returncode == 2
    assert found in " ".join(done.stderr.replace("│", " ").split())
    assert "--set" not in done.stderr
    assert lines_of(shelf) == before
    assert not (shelf / BEFORE).exists()


def test_a_file_with_mistakes_is_mended_first(shelf):
    (shelf / "space.toml").write_text("[plan]\nwek = 3\n", encoding="utf-8")
    done = cropcal("set", str(shelf), "plan.weeks=9")
    assert done.returncode == 2
    assert "wek" in done.stderr
