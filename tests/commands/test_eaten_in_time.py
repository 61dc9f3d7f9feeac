"""Nothing is eaten after its day: recomputed from the files of random plans alone, in days."""

import csv
import io
import random
import re
from collections import defaultdict
from datetime import date, timedelta

import pytest
from in_process import cropcal

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
START = date(2027, 1, 4)
LIKE = {"heads": ("lettuce-looseleaf", "pak-choi"), "g": ("basil", "kale", "radish", "mizuna-baby")}
SPACE = """
[[zone]]
name = "shelf"
length_m = 1.2
width_m = 0.5
photoperiod_h = 16
air_c = 21
[[bed]]
name = "trough"
zone = "shelf"
sites = {sites}
[[bed]]
name = "tray"
zone = "shelf"
kind = "tray"
sites = 2
length_m = 0.5
width_m = 0.2
[[fixture]]
zone = "shelf"
watts = 110
ppf_umol_s = 260
[[reading]]
bed = "trough"
umol_m2_s = [[320]]
[[reading]]
bed = "tray"
umol_m2_s = [[250]]
[plan]
start = 2027-01-04
weeks = {weeks}
work_days = {work_days}
{rule}
"""
WEEKLY = '[[want]]\ncrops = ["{crop}"]\nper_week = {amount}\nunit = "{unit}"\n'
FEAST = '[[want]]\ncrops = ["{crop}"]\non = [{on}]\namount = {amount}\nunit = "{unit}"\n'
QUICK, ALL = 3, 200


class Kitchen:
    """A random small space: what it wants, how long each of its own crops keeps, and the kitchen's rule."""

    def __init__(self, seed: int) -> None:
        rng = random.Random(seed)
        self.weeks = rng.randint(9, 13)
        self.rule = rng.choice([None, None, 0, 2, 3, 6, 9])
        self.keeps: dict[str, int | None] = {}
        self.feasts: dict[str, date] = {}
        table, wants = ["slug,like,keeping_d"], ""
        for number in range(rng.randint(1, 2)):
            unit = rng.choice(["heads", "g", "g"])
            like, slug = rng.choice(LIKE[unit]), f"leaf-{number}"
            self.keeps[slug] = rng.choice([1, 2, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 16, 20])
            table.append(f"{slug},{like},{self.keeps[slug]}")
            amount = rng.randint(1, 2) if unit == "heads" else rng.choice([15, 25, 40])
            if number and rng.random() < 0.4:
                on = START + timedelta(days=7 * self.weeks - rng.randint(1, 14))
                self.feasts[slug] = on
                wants += FEAST.format(crop=slug, on=on, amount=2 * amount, unit=unit)
            else:
                wants += WEEKLY.format(crop=slug, amount=amount, unit=unit)
        if rng.random() < 0.2:
            wants += WEEKLY.format(crop="pea-shoots", amount=30, unit="g")
            self.keeps["pea-shoots"] = None
        days = rng.sample(WEEKDAYS, rng.choice([1, 1, 2, 2, 3]))
        self.text = (
            SPACE.format(
                sites=rng.randint(3, 8),
                weeks=self.weeks,
                work_days=str(days).replace("'", '"'),
                rule="" if self.rule is None else f"eat_within_d = {self.rule}",
            )
            + wants
        )
        self.crops = "\n".join(table) + "\n"

    def days(self, crop: str) -> int | None:
        """Return the days from its cut within which a crop must be eaten; None: nobody knows."""
        keeps = self.keeps[crop]
        return keeps if keeps is None or self.rule is None else min(keeps, self.rule)


def rows(path):
    return list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))


def in_words(on: date) -> str:
    return f"{WEEKDAYS[on.weekday()].capitalize()} {on.day} {MONTHS[on.month - 1]}"


@pytest.fixture(
    scope="module",
    params=[
        *range(QUICK),
        *(pytest.param(seed, marks=pytest.mark.deep) for seed in range(QUICK, ALL)),
    ],
)
def planned(request, tmp_path_factory):
    """Return a kitchen, and its cuts and supply as written."""
    kitchen, folder = Kitchen(request.param), tmp_path_factory.mktemp("kitchen")
    (folder / "space.toml").write_text(kitchen.text, encoding="utf-8")
    (folder / "crops.csv").write_text(kitchen.crops, encoding="utf-8")
    done = cropcal("plan", str(folder / "space.toml"), "--time-limit", "1")
    assert done.returncode in (0, 1), done.both
    plan = folder / "plan"
    cuts = [row for row in rows(plan / "jobs.csv") if row["job"] == "cut"]
    return kitchen, cuts, rows(plan / "supply.csv")


def test_all_that_is_eaten_is_eaten_in_time(planned):
    """Each week eats what will go off first, of its own cuts and those before that are still good.

    What is cut on day c and is good for k days can be eaten in a later week only if day c + k is in it or
    after it. A listed day eats what was cut since the listed day before, at most k days before.
    """
    kitchen, cuts, supply = planned
    stock = defaultdict(list)
    for row in cuts:
        on, days = date.fromisoformat(row["date"]), kitchen.days(row["crop"])
        stock[row["crop"]].append([on + timedelta(days=days or 0), on, float(row["amount"])])
    for row in sorted(supply, key=lambda row: row["week"]):
        week, missing = date.fromisoformat(row["week"]), float(row["ready"])
        feast = kitchen.feasts.get(row["want"])
        if feast is not None and not week <= feast < week + timedelta(days=7):
            assert missing == 0
            continue
        for part in sorted(stock[row["want"]]):
            until, on, left = part
            if feast is not None:
                good = on <= feast <= until
            else:
                good = on < week + timedelta(days=7) and (until >= week or on >= week)
            if good:
                part[2] -= min(left, missing)
                missing -= min(left, missing)
        assert missing == pytest.approx(0, abs=0.02), f"{row['want']} in the week of {week}"


KEEP = re.compile(r"(\d+) (?:g|heads?) for (next week|the week after next)")


def test_each_cut_says_by_when_to_eat_it(planned):
    """In a column, and in its note; nothing of it is kept for a week that begins after that day."""
    kitchen, cuts, _ = planned
    for row in cuts:
        on, days = date.fromisoformat(row["date"]), kitchen.days(row["crop"])
        parts = KEEP.findall(row["note"])
        if days is None:
            assert row["eat_by"] == ""
            assert "eat by" not in row["note"]
            assert not parts
            continue
        until = on + timedelta(days=days)
        assert row["eat_by"] == until.isoformat()
        assert row["note"].count("eat by") == 1
        assert f"eat by {in_words(until)}" in row["note"]
        week = START + timedelta(days=(on - START).days // 7 * 7)
        for _, when in parts:
            assert until >= week + timedelta(weeks=2 if "after" in when else 1)
