"""A folder that an earlier version wrote can be continued: it opens, plans again and keeps its ids.

``folders/potting-loft`` was written by the commands of commit 412faa0 and is never written anew: a plan with
``service``, notes, planned again with them, more notes. Its pictures, page and wall sheet are left out. The
place, its figures and its notes are invented.
"""

import json
import shutil
from datetime import date
from pathlib import Path

import pytest
from typer.testing import CliRunner

from cropcal.cli.main import app

WRITTEN = Path(__file__).resolve().parents[1] / "folders" / "potting-loft"
TODAY = "2026-04-17"


@pytest.fixture
def loft(tmp_path):
    return Path(shutil.copytree(WRITTEN, tmp_path / "loft"))


def run(*words):
    done = CliRunner().invoke(app, [str(word) for word in words])
    assert done.exit_code in (0, 1), done.output
    return done.stdout


def batches(folder):
    form = json.loads((folder / "plan" / "plan.json").read_text(encoding="utf-8"))
    return {row["batch"]: row for row in form["batches"]}


def test_it_opens(loft):
    """No mistake is found; the week is that of the plan as written, with its ids and its ticks."""
    assert "no mistakes found" in run("check", loft)
    week = run("week", loft, "--on", TODAY)
    assert "[ ] 0413a Butterhead lettuce" in week
    assert "[x] 0302c Butterhead lettuce" in week
    assert "0302c: 172 g a plant" in run("learned", loft, "--all")


def test_a_note_finds_its_batch(loft, monkeypatch):
    """The ids of the plan as written are those that can be noted."""
    monkeypatch.setattr("cropcal.season.clock.today", lambda: date.fromisoformat(TODAY))
    assert "sown 1 cell Butterhead lettuce, batch 0413a, plug tray" in run("log", loft, "sown", "0413a")


@pytest.mark.deep
def test_planned_again_it_keeps_its_ids(loft):
    """Sown batches stay where they were; planned sowings that stay keep their ids.

    The growth of today is not that of the release that wrote it, so some sowings move: each one that is
    no more is reported, each new one has an id that was never used, and none is the same sowing renamed.
    """
    before = batches(loft)
    told = run("plan", loft, "--on", TODAY, "--time-limit", "10", "--all")
    assert "What changed since the last plan, from Fri 17 Apr" in told
    assert "0316b Butterhead lettuce: 1 site lost (slugs)" in told
    now = batches(loft)
    begun = [name for name, row in before.items() if row["sow_on"] < TODAY]
    assert len(begun) > 8
    for name in begun:
        assert {key: now[name][key] for key in ("crop", "bed", "sow_on")} == {
            key: before[name][key] for key in ("crop", "bed", "sow_on")
        }

    def sowing(row):
        return row["want"], row["crop"], row["sow_on"]

    kept, new = before.keys() & now.keys(), now.keys() - before.keys()
    assert len(kept) > len(begun)
    assert {sowing(now[name]) for name in kept} == {sowing(before[name]) for name in kept}
    assert not {sowing(now[name]) for name in new} & {sowing(row) for row in before.values()}
    form = json.loads((loft / "plan" / "plan.json").read_text(encoding="utf-8"))
    changes = {
        what: {row["batch"] for row in form["again"]["changes"] if row["what"] == what}
        for what in ("dropped", "new")
    }
    reached = max(row["sow_on"] for row in before.values())
    assert changes["dropped"] == before.keys() - now.keys()
    assert changes["new"] <= new  # what is sown beyond the plan before is no change of it
    assert all(now[name]["sow_on"] > reached for name in new - changes["new"])
    assert batches(WRITTEN) == before
