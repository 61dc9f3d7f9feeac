"""``plan`` answers first: at most 24 lines of 80 columns, whatever the space; ``--all`` says the rest."""

import shutil
from pathlib import Path

import pytest
import small_space
from depth import few_of
from typer.testing import CliRunner

from cropcal.cli.main import app

ROOT = Path(__file__).resolve().parents[2]
PLANS = sorted((ROOT / "tests" / "spaces" / "plans").glob("*.toml"))
SPACES = [*PLANS, ROOT / "examples" / "millbrook" / "space.toml"]


def plan(*words):
    done = CliRunner().invoke(app, ["plan", *map(str, words), "--time-limit", "3"])
    assert done.exit_code in (0, 1), done.output
    return done.stdout.rstrip("\n").split("\n")


@pytest.mark.parametrize("space", few_of([*SPACES[1:], SPACES[0]], 1), ids=lambda path: path.stem)
def test_a_plan_fits_a_usual_terminal(space, tmp_path):
    """First and again in mid-season: how sure, what to do within the first half, what to type next."""
    folder = tmp_path / "space"
    folder.mkdir()
    shutil.copy(space, folder / "space.toml")
    start = plan(folder, "--begun")
    again = plan(folder, "--begun", "--on", "2027-02-22")
    for lines in (start, again):
        assert len(lines) <= 24, "\n".join(lines)
        *text, everything, following = lines
        assert max(map(len, text)) <= 80  # a command is never broken
        assert everything.startswith("All of it: open ")
        assert everything.endswith(" --all")
        assert following.startswith("Next, type: cropcal week")
    assert start.index("To do") <= 14
    assert "weekly target" in start[1] or "No amounts were asked for" in start[1]


def test_all_of_it_says_what_is_assumed(tmp_path):
    """The long form goes on where the short one stops."""
    text = small_space.text(weeks=8, sites=8)
    (tmp_path / "space.toml").write_text(text, encoding="utf-8")
    short, everything = plan(tmp_path), plan(tmp_path, "--all")
    assert len(everything) > 2 * len(short)
    for title in ("First jobs", "Seed to buy", "Assumptions"):
        assert title in everything
        assert title not in short
