"""``[[seed]]`` in space.toml: refused with one clear message, and taken off what ``plan`` says to buy."""

import csv
import re
from pathlib import Path

import pytest
from in_process import cropcal

PLANS = Path(__file__).resolve().parents[1] / "spaces" / "plans"


def with_seed(folder, *rows):
    folder.mkdir(exist_ok=True)
    text = (PLANS / "five-sites-in-place.toml").read_text()
    (folder / "space.toml").write_text(text + "".join(f"\n[[seed]]\n{row}\n" for row in rows))
    return folder


MISTAKES = [
    ('crop = "radis"\nseeds = 9', '"radis", expected a crop in the table, did you mean "radish"?'),
    ('crop = "radish"', "it does not say how much seed there is; add seeds = how many there are, or g ="),
    ('crop = "radish"\nseeds = 9\ng = 1', "seeds and g both say how much seed there is; leave one"),
    ('crop = "radish"\nseeds = 0', "seeds: found 0, expected a whole number of seeds from 1"),
    ('crop = "radish"\ng = 0', "g: found 0, expected a weight in g above 0"),
    ('crop = "radish"\ng = 1\nyear = 2031', "found 2031, expected the year in which it was packed, 2027"),
    ('crop = "radish"\nseed = 9', "found the unknown key seed, expected"),
    ("seeds = 9", "seed[1].crop: found nothing, expected the slug of a crop"),
]


@pytest.mark.parametrize(("row", "said"), MISTAKES)
def test_a_mistake_gets_one_clear_message(tmp_path, row, said):
    """Key, what was found, what was expected, the nearest valid choice; exit code 2."""
    done = cropcal("check", with_seed(tmp_path, row))
    assert done.returncode == 2
    assert said in done.stderr
    assert "1 mistake found" in done.stderr or "mistakes found" in done.stderr


def seeds_csv(space):
    with (space / "plan" / "seeds.csv").open() as file:
        return list(csv.DictReader(file))


def needed(rows):
    """Return bought and on hand by crop."""
    sums = {}
    for row in rows:
        bought, there = sums.get(row["crop"], (0, 0))
        sums[row["crop"]] = bought + int(row["seeds"]), there + int(row["on_hand"])
    return sums


def planned(space):
    done = cropcal("plan", space, "--on", "2027-01-20", "--time-limit", 3, "--out", space / "plan", "--all")
    assert done.returncode in (0, 1), done.stderr
    return " ".join(done.stdout.split())


def test_what_is_there_is_not_bought(tmp_path):
    """Seed for ever of one crop: the plan is the same, that seed is not bought, and all is said."""
    bare = with_seed(tmp_path / "bare")
    planned(bare)
    without = needed(seeds_csv(bare))
    assert not any(there for _, there in without.values())
    crop = max(without, key=without.__getitem__)
    rich = with_seed(tmp_path / "rich", f'crop = "{crop}"\ng = 400\nyear = 2022')
    said = planned(rich)
    after = needed(seeds_csv(rich))
    assert after[crop] == (0, without[crop][0])
    assert {name: sum(pair) for name, pair in after.items()} == {
        name: sum(pair) for name, pair in without.items()
    }
    assert f"already taken off: {without[crop][0]} of" in said
    assert re.search(r"Old seed germinates less well \([^)]* of 2022\)", said)
    page = (rich / "plan" / "report.html").read_text()
    for row in seeds_csv(rich):
        assert (f"none: {row['on_hand']} on hand" in page) == (row["crop"] == crop)
