"""A space whose start is past, with nothing noted and no plan written: what was never sown is not cut."""

import json

import pytest
from depth import few_of
from small_space import LETTUCE, SpaceFolder


@pytest.fixture
def room(tmp_path, monkeypatch):
    """Return a space six weeks after its start, of which nothing was noted."""
    room = SpaceFolder(tmp_path, monkeypatch)
    room.write()
    room.later(43)  # Tue 20 Oct
    return room


def first_sowing(room):
    return min(batch["sow_on"] for batch in room.batches().values())


def test_piped_it_is_planned_from_today(room):
    """Said in one sentence; no sowing lies in the past, no week before the first harvest is short."""
    done = room.invoke("plan", "--time-limit", 5)
    assert done.exit_code in (0, 1)
    said = " ".join(done.stderr.split())
    assert "Nothing was noted since Mon 7 Sep 2026, the start in space.toml, and no plan was written" in said
    assert f"cropcal plan {room.folder} --begun" in said
    assert "20 weeks from Tue 20 Oct 2026" in done.stdout
    assert first_sowing(room) >= "2026-10-20"


def test_the_next_plan_goes_on_from_it(room):
    """A week later what was planned from that day counts as planned: same ids, and nothing is asked.

    Only the very last sowing may grow, for the plan now reaches further.
    """
    room.run("plan", "--time-limit", 5)
    before = room.batches()
    room.later(8)
    done = room.invoke("plan", "--time-limit", 5)
    assert done.exit_code in (0, 1)
    assert "begun" not in done.output
    after, last = room.batches(), max(before, key=lambda name: before[name]["sow_on"])
    assert before.keys() <= after.keys()
    told = ("harvests", "transplant_range_80")  # ranges that narrow as time goes on
    for name, one in before.items():
        if one["sow_on"] < before[last]["sow_on"]:
            assert {key: one[key] for key in one if key not in told} == {
                key: after[name][key] for key in one if key not in told
            }
    assert "2026-10-20" in room.run("bill", "--json") or "Oct 2026, from 20" in room.run("bill")


def test_the_week_shows_no_cut_of_what_was_never_sown(room):
    """Without a plan too: it does not ask, and says so."""
    room.later(10)
    done = room.invoke("week")
    assert done.exit_code in (0, 1)
    assert "so this plan starts on" in " ".join(done.stderr.split())
    assert "Cut" not in done.stdout
    assert "Overdue" not in done.stdout


def test_json_stays_json(room):
    """What is said goes to the other stream."""
    done = room.invoke("plan", "--time-limit", 5, "--json")
    form = json.loads(done.stdout)
    assert form["start"] == "2026-10-20"
    assert "so this plan starts on" in " ".join(done.stderr.split())


@pytest.mark.parametrize(("typed", "begun"), few_of([("y\n", True), ("\n", False), ("n\n", False)], 2))
def test_on_a_terminal_it_asks(room, monkeypatch, typed, begun):
    """Yes: all counts as done as planned, from the start; no, or just Enter: planned from today."""
    monkeypatch.setattr("cropcal.cli.begun.on_terminal", lambda: True)
    done = room.invoke("plan", "--time-limit", 5, typed=typed)
    assert done.exit_code in (0, 1)
    assert "Has anything been sown since Mon 7 Sep 2026" in done.stderr
    assert (first_sowing(room) < "2026-10-20") is begun
    assert "sown CROP --on DATE" in done.stderr or not begun
    room.later(1)
    assert "Has anything" not in room.invoke("plan", "--time-limit", 5).output


def test_a_flag_answers_before_it_is_asked(room, monkeypatch):
    """With the flag there is neither a question nor a notice."""
    monkeypatch.setattr("cropcal.cli.begun.on_terminal", lambda: True)
    done = room.invoke("plan", "--time-limit", 5, "--begun")
    assert done.exit_code in (0, 1)
    assert done.stderr == ""
    assert first_sowing(room) == "2026-09-07"
    (room.folder / "plan" / "plan.json").unlink()
    assert room.invoke("plan", "--time-limit", 5, "--not-begun").stderr == ""
    assert first_sowing(room) >= "2026-10-20"


def test_what_was_noted_is_gone_on_with(room):
    """One sowing in the journal is a beginning."""
    room.run("log", "sown", LETTUCE, "2", "--bed", "saucer", "--on", "2026-10-05")
    assert "begun" not in room.invoke("plan", "--time-limit", 5).output
    assert "x1005a" in room.batches()


def test_plans_written_elsewhere_or_tried_keep_no_beginning(room):
    """The space itself was not begun by them."""
    for words in (("--out", room.folder / "elsewhere"), ("--set", "plan.weeks=18")):
        assert "so this plan starts on" in " ".join(room.run("plan", "--time-limit", 5, *words).split())
        assert not (room.folder / "plan").exists()


def test_another_start_in_the_file_is_another_season(room):
    """The day kept holds for the start that the file gave then."""
    room.run("plan", "--time-limit", 5)
    room.write(start="2026-11-02")
    assert "20 weeks from Mon 2 Nov 2026" in room.run("plan", "--time-limit", 5)


GROWING = """
[[growing]]
crop = "lettuce-butterhead"
bed = "channel"
sites = 2
age_d = 20
"""


def test_what_was_growing_keeps_its_age(room):
    """Twenty days old at the start in the file, they are so much older by now."""
    room.write(more=GROWING)
    room.run("plan", "--time-limit", 5)
    stock = [batch for name, batch in room.batches().items() if name.endswith("s")]
    assert [batch["sow_on"] for batch in stock] == ["2026-08-18"]
