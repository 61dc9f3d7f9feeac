"""Notes as people type them at the shelf, with wet hands: what is written down for each, or what is asked.

Each row: the words after ``cropcal log``, and the lines of the journal that they mean, as "event batch amount
unit", with "@3" for 3 days ago and "*" for a crop without a batch; or ``Asks`` with words of the question.
Made up by us before the code that reads them.
"""

import json
from datetime import timedelta
from pathlib import Path
from typing import Any

from as_people_say import Asks
from on_a_day import DAY

SPACE = """
[[zone]]
name = "bench"
length_m = 1.2
width_m = 1.0
photoperiod_h = 16

[[bed]]
name = "long box"
zone = "bench"
sites = 16
length_m = 0.9
width_m = 0.4

[[bed]]
name = "short box"
zone = "bench"
sites = 8
length_m = 0.5
width_m = 0.4

[[bed]]
name = "trays"
zone = "bench"
kind = "tray"
sites = 3
length_m = 0.9
width_m = 0.2

[[bed]]
name = "nursery"
zone = "bench"
kind = "nursery"
sites = 20
length_m = 0.3
width_m = 0.2

[[fixture]]
zone = "bench"
watts = 100

[[want]]
crops = ["lettuce-butterhead", "lettuce-romaine"]

[[want]]
crops = ["basil"]

[[want]]
crops = ["arugula-baby", "lettuce-baby"]
"""


def day(ago: int) -> str:
    """Return the date of some days ago."""
    return (DAY - timedelta(days=ago)).isoformat()


def batch(
    name: str,
    crop: str,
    sown: int,
    ready: int,
    sites: int,
    bed: str = "long box",
    moved: int | None = None,
    grams: float | None = None,
) -> dict[str, Any]:
    """Return a batch as plan.json has it; ``sown``, ``ready``, ``moved`` are days ago."""
    amount = float(sites) if grams is None else grams
    cut = {
        "date": day(ready),
        "cut": 1,
        "sites": sites,
        "amount": amount,
        "amount_range_80": [amount, amount],
    }
    return {
        "batch": name, "want": 0, "crop": crop, "bed": bed, "nursery": None if moved is None else "nursery",
        "sow_on": day(sown), "emerge_on": day(sown - 4),
        "transplant_on": None if moved is None else day(moved),
        "ready_from": day(ready), "ready_from_range_80": [day(ready + 3), day(ready - 3)],
        "ready_until": day(ready - 7), "clear_on": day(ready), "sites": sites,
        "cells": 0 if moved is None else sites, "seeds": 2 * sites, "amount": amount,
        "unit": "heads" if grams is None else "g", "harvests": [cut],
    }  # fmt: skip


BATCHES = [
    batch("1220c", "basil", 0, -40, 1, moved=-20, grams=60.0),
    batch("1220d", "basil", 0, -44, 2, moved=-20, grams=120.0),
    batch("1220e", "basil", 0, -47, 1, "short box", moved=-22, grams=60.0),
    batch("1110a", "lettuce-butterhead", 40, 0, 3),
    batch("1110b", "lettuce-butterhead", 40, 0, 2, "short box"),
    batch("1112a", "lettuce-romaine", 38, -2, 4),
    batch("1128a", "arugula-baby", 22, 0, 1, "trays", grams=90.0),
    batch("1130a", "lettuce-baby", 20, 0, 1, "trays", grams=90.0),
    batch("1130b", "lettuce-baby", 20, 0, 1, "trays", grams=90.0),
    batch("1213a", "chard", 7, -40, 2, moved=0, grams=200.0),
    batch("1213b", "chard", 7, -44, 2, moved=0, grams=200.0),
    batch("1101a", "parsley", 49, 3, 2, grams=60.0),
    batch("1102a", "parsley", 48, 2, 2, grams=60.0),
    batch("1216a", "kale-baby", 4, -30, 1, "trays", grams=90.0),
]


def job(
    kind: str, ago: int, name: str, crop: str, bed: str, amount: float | None, unit: str, note: str = ""
) -> dict[str, Any]:
    """Return a job as plan.json has it."""
    return {
        "date": day(ago), "job": kind, "batch": name, "crop": crop, "bed": bed, "sites": "",
        "amount": amount, "unit": unit, "note": note,
    }  # fmt: skip


JOBS = [
    job("sow", 4, "1216a", "kale-baby", "trays", 1, "trays"),
    job("cut", 0, "1110a", "lettuce-butterhead", "long box", 3, "heads"),
    job("cut", 0, "1110b", "lettuce-butterhead", "short box", 2, "heads"),
    job("cut", 0, "1128a", "arugula-baby", "trays", 90.0, "g"),
    job("transplant", 0, "1213a", "chard", "long box", 2, "sites"),
    job("sow", 0, "1220c", "basil", "nursery", 1, "cells"),
    job("sow", 0, "1220d", "basil", "nursery", 2, "cells"),
    job("sow", 0, "1220e", "basil", "nursery", 1, "cells"),
    job("chore", 0, "", "", "", None, "", "change the solution"),
    job("cut", -2, "1112a", "lettuce-romaine", "long box", 4, "heads"),
]


def shelf(folder: Path) -> Path:
    """Make a folder with the space and its plan, and return it."""
    (folder / "plan").mkdir(parents=True)
    (folder / "space.toml").write_text(SPACE, encoding="utf-8")
    form = {"batches": BATCHES, "jobs": JOBS, "sites": [], "supply": []}
    (folder / "plan" / "plan.json").write_text(json.dumps(form), encoding="utf-8")
    return folder


NOTES: tuple[tuple[str, Any], ...] = (
    # a crop over several batches of one day: those that are eaten first, first
    ("sown basil 4", ["sown 1220c 1 cells", "sown 1220d 2 cells", "sown 1220e 1 cells"]),
    ("sown basil", ["sown 1220c 1 cells", "sown 1220d 2 cells", "sown 1220e 1 cells"]),
    ("sown basil 2", ["sown 1220c 1 cells", "sown 1220d 1 cells"]),
    ("sown basil 6", ["sown 1220c 1 cells", "sown 1220d 2 cells", "sown 1220e 3 cells"]),
    ("sowed 4 basil", ["sown 1220c 1 cells", "sown 1220d 2 cells", "sown 1220e 1 cells"]),
    ("sown basil three", ["sown 1220c 1 cells", "sown 1220d 2 cells"]),
    ("sown basil --bed \"short box\"", ["sown 1220e 1 cells"]),
    ("sown a tray of rocket", ["sown x1220a 1 trays"]),
    ("lost all chard", ["lost 1213a", "lost 1213b"]),
    ("sow 1220d 2", ["sown 1220d 2 cells"]),
    ("picked 5 butterheads", ["harvested 1110a 3 heads", "harvested 1110b 2 heads"]),
    ("harvested butterhead 4 heads 520 g", ["harvested 1110a 3 heads 390", "harvested 1110b 1 heads 130"]),
    ("harvested butterhead 2", ["harvested 1110a 2 heads"]),
    ("cut Butterhead lettuce x3", ["harvested 1110a 3 heads"]),
    ("harvested lettuce-baby 170 g", ["harvested 1130a 85 g", "harvested 1130b 85 g"]),
    ("harvested lettuce-baby 85 g", Asks("1130a (trays")),
    ("transplanted chard", ["transplanted 1213a 2 sites", "transplanted 1213b 2 sites"]),
    ("transplanted chard 3", ["transplanted 1213a 2 sites", "transplanted 1213b 1 sites"]),
    ("came up chard", ["emerged 1213a", "emerged 1213b"]),
    ("lost chard", ["lost 1213a", "lost 1213b"]),
    ("not ready butterhead", ["not ready 1110a", "not ready 1110b"]),
    ("lost parsley 1", Asks("1101a (long box, counts as sown 1 Nov as planned, 2 sites)")),
    # printed names, families and common names
    ("harvested rocket 80 g", ["harvested 1128a 80 g"]),
    ("harvested arugula 80", ["harvested 1128a 80 g"]),
    ("harvested rucola 80 g", ["harvested 1128a 80 g"]),
    ("harvested Baby arugula 80 g", ["harvested 1128a 80 g"]),
    ("harvested cos 2", ["harvested 1112a 2 heads"]),
    ("harvested romaine lettuce 2", ["harvested 1112a 2 heads"]),
    ("harvested lettuce 2", Asks("lettuce-butterhead (Butterhead lettuce)")),
    ("harvested lettuce 170 g", ["harvested 1130a 85 g", "harvested 1130b 85 g"]),
    ("lost lamb's lettuce", Asks("a batch id of the calendar, or a crop")),
    ("came up kale", ["emerged 1216a"]),
    ("sown kale 3", ["sown x1220a 3 sites"]),
    ("sown coriander 3", ["sown x1220a 3 sites"]),
    ("sown spring onions 5", ["sown x1220a 5 sites"]),
    ("sown microgreens 1", Asks("pea-shoots (Pea shoots)")),
    ("lost iceberg 2", Asks("a batch id of the calendar, or a crop")),
    ("sown basil --week", Asks("it with done")),
    ("done basl", Asks('did you mean "basil"?')),
    ("done --bed trays", Asks("--on or --week alone")),
    ("sown basl 3", Asks('did you mean "basil"?')),
    # days
    ("harvested rocket 80 g yesterday", ["harvested 1128a 80 g @1"]),
    ("harvested rocket 80 g --on 18.12.", ["harvested 1128a 80 g @2"]),
    ("harvested rocket 80 g 18.12.", ["harvested 1128a 80 g @2"]),
    ("harvested rocket 80 g --on \"18 Dec\"", ["harvested 1128a 80 g @2"]),
    ("harvested rocket 80 g on 18 December", ["harvested 1128a 80 g @2"]),
    ("harvested rocket 80 g Dec 18th", ["harvested 1128a 80 g @2"]),
    ("harvested rocket 80 g --on 12/18", ["harvested 1128a 80 g @2"]),
    ("harvested rocket 80 g --on 18/12/26", ["harvested 1128a 80 g @2"]),
    ("air 21 --on 12/5", Asks("2026-05-12 (Tue 12 May) or 2026-12-05 (Sat 5 Dec), expected")),
    ("harvested rocket 80 g --on Fri", ["harvested 1128a 80 g @2"]),
    ("harvested rocket 80 g on Friday", ["harvested 1128a 80 g @2"]),
    ("harvested rocket 80 g --on Sun", ["harvested 1128a 80 g"]),
    ("harvested rocket 80 g 2 days ago", ["harvested 1128a 80 g @2"]),
    ("harvested rocket 80 g two days ago", ["harvested 1128a 80 g @2"]),
    ("harvested rocket 80 g this morning", ["harvested 1128a 80 g"]),
    ("harvested rocket 80 g last night", ["harvested 1128a 80 g @1"]),
    ("harvested rocket 80 g day before yesterday", ["harvested 1128a 80 g @2"]),
    ("harvested rocket 80 g --on tomorrow", Asks("a day up to today, today is 2026-12-20")),
    ("harvested rocket 80 g --on \"Sat 18 Dec\"", Asks("2026-12-18 is a Friday")),
    ("harvested rocket 80 g --on 31.11.", Asks("there is no day 31 of month 11")),
    ("harvested rocket 80 g --on soon", Asks("a date like 2027-01-06")),
    ("harvested rocket 24.5", ["harvested 1128a 24.5 g"]),
    ("air 21 this afternoon", ["air * 21 C"]),
    ("reading trays 210 on 18.12.", ["reading * 210 umol_m2_s @2"]),
    ("outage pump 3 h yesterday", ["outage * 3 h @1"]),
    # nothing here is guessed
    ("harvested basil 3 4", Asks("one number")),
    ("harvested rocket", Asks("how much, in g")),
    ("harvested rocket 3 bunches", Asks("a number with its unit")),
    ("sown", Asks("a batch id of the calendar, or a crop")),
    ("eaten rocket 80 g", Asks('expected one of "sown"')),
)  # fmt: skip
"""What somebody types, and what it means."""
