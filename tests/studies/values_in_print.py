"""How much of the crop table is in print: python tests/studies/values_in_print.py.

Counts the values of the crops that come with cropcal by how they are known, in each group and in all,
and the crops whose whole reference harvest is in print.
"""

from collections import Counter
from typing import get_args

from cropcal.reading.crops.read import crop_columns, read_crop_tables
from cropcal.records.crop import IN_PRINT, Crop, Known

WORDS = get_args(Known)


def values_by_group(crops: list[Crop]) -> dict[str, Counter[str]]:
    """Return for each group of columns how many values are known in which way."""
    groups: dict[str, Counter[str]] = {}
    columns = crop_columns()
    for crop in crops:
        for column, source in crop.sources.items():
            groups.setdefault(columns[column].group, Counter())[source.known] += 1
    return groups


def anchor_in_print(crop: Crop) -> bool:
    """Return whether days, mass, density, light, hours and air of a reference harvest are all in print."""
    known = [source.known for column, source in crop.sources.items() if column.startswith("anchor_")]
    return all(word in IN_PRINT for word in known)


DECIDE = ("anchor_days", "anchor_g_per_plant", "anchor_plants_m2", "anchor_dli_mol_m2_d")
"""The values of a reference harvest that decide most: days, mass, density, light."""


def deciding_in_print(crop: Crop) -> bool:
    """Return whether the four values that decide most are in print, for the crop or for near kin."""
    return all(crop.source_of(column).known in (*IN_PRINT, "kin") for column in DECIDE)


def report(crops: list[Crop]) -> str:
    """Return the counts as a table, a group a line, and the crops whose reference harvest is in print."""
    groups = values_by_group(crops)
    total = sum(groups.values(), Counter[str]())
    rows = [*groups.items(), ("in all", total)]
    lines = [f"{'group':<12}" + "".join(f"{word:>10}" for word in (*WORDS, "in print"))]
    for name, counts in rows:
        share = sum(counts[word] for word in IN_PRINT) / counts.total()
        lines.append(f"{name:<12}" + "".join(f"{counts[word]:>10}" for word in WORDS) + f"{share:>10.0%}")
    whole = [crop.slug for crop in crops if anchor_in_print(crop)]
    named = f": {', '.join(whole)}" if whole else ""
    lines.append(f"\nReference harvests in print: {len(whole)} of {len(crops)}{named}")
    four = [crop.slug for crop in crops if deciding_in_print(crop)]
    lines.append(f"Days, mass, density and light in print, or of kin: {len(four)}: {', '.join(four)}")
    return "\n".join(lines)


if __name__ == "__main__":
    tables, problems = read_crop_tables(None)
    if tables is None:
        raise SystemExit("\n".join(str(problem) for problem in problems))
    print(report(list(tables.crops.values())))
