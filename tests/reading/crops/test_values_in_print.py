"""The count of what is in print, and that print has a source."""

import csv
from collections import Counter
from pathlib import Path

import values_in_print

from cropcal.reading.crops.read import read_crop_tables
from cropcal.records.crop import IN_PRINT, ValueSource

FOLDER = Path(__file__).resolve().parents[3] / "crops"
SHIPPED, _ = read_crop_tables(None)


def rows(name):
    with (FOLDER / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_the_study_counts_what_is_there():
    """In all groups together each word is counted as often as the file has it."""
    counted = sum(values_in_print.values_by_group(list(SHIPPED.crops.values())).values(), Counter())
    assert counted == Counter(row["known"] for row in rows("crops.csv") if row["known"])
    assert values_in_print.report(list(SHIPPED.crops.values())).count("\n") >= 15


def test_a_printed_value_has_a_real_source():
    """What is printed, derived or of kin names a source that is in sources.csv and is no memory."""
    seen = {row["key"]: row["seen"] for row in rows("sources.csv")}
    for row in rows("crops.csv"):
        if row["known"] in (*IN_PRINT, "kin"):
            keys = row["source"].split(" + ")
            assert all(seen[key] not in ("", "-", "memory", "yours") for key in keys), row


def test_a_reference_harvest_is_in_print_only_if_all_of_it_is():
    """One value from memory takes the whole harvest out of the count."""
    crop = SHIPPED.crops["lettuce-butterhead"]
    printed = ValueSource(known="printed", keys=("Kew SID",))
    sources = dict.fromkeys(crop.sources, printed)
    assert values_in_print.anchor_in_print(crop.model_copy(update={"sources": sources}))
    sources["anchor_air_c"] = ValueSource(known="memory")
    assert not values_in_print.anchor_in_print(crop.model_copy(update={"sources": sources}))
