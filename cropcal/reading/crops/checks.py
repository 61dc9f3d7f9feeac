"""Whether the values of one crop make sense together: a list of small checks with one signature.

To add a check, write a function from a crop to its slips and add its name to ``CHECKS``.
"""

import re
from collections.abc import Callable, Iterator
from typing import Final, NamedTuple

from cropcal.records.crop import Crop

SLUG: Final = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")


class ColumnMistake(NamedTuple):
    """What is wrong with one column of a crop."""

    column: str
    found: str
    expected: str
    hint: str = ""


def light_in_order(crop: Crop) -> Iterator[ColumnMistake]:
    """Least light <= target <= ceiling, and a ceiling without a fan between the least and that with one."""
    least, target, most = crop.dli_min_mol_m2_d, crop.dli_target_mol_m2_d, crop.dli_max_mol_m2_d
    still = crop.dli_max_still_air_mol_m2_d
    if not least <= target:
        yield ColumnMistake("dli_min_mol_m2_d", f"{least:g}", f"at most the target, {target:g}")
    if not target <= most:
        yield ColumnMistake("dli_max_mol_m2_d", f"{most:g}", f"at least the target, {target:g}")
    if not least <= still <= most:
        yield ColumnMistake("dli_max_still_air_mol_m2_d", f"{still:g}", _between(least, most))


def temperatures_in_order(crop: Crop) -> Iterator[ColumnMistake]:
    """Air base < optimum < maximum, and quality falls somewhere between base and maximum."""
    base, best, most = crop.air_base_c, crop.air_optimum_c, crop.air_max_c
    if not base < best:
        yield ColumnMistake("air_base_c", f"{base:g}", f"below the optimum, {best:g}")
    if not best < most:
        yield ColumnMistake("air_max_c", f"{most:g}", f"above the optimum, {best:g}")
    quality = crop.air_quality_max_c
    if quality is not None and not base < quality <= most:
        yield ColumnMistake("air_quality_max_c", f"{quality:g}", _between(base, most))


def unit_of_the_kind(crop: Crop) -> Iterator[ColumnMistake]:
    """Heads are counted, all else is weighed; a head is cut once."""
    unit = "heads" if crop.kind == "head" else "g"
    if crop.unit != unit:
        yield ColumnMistake("unit", f'"{crop.unit}"', f'"{unit}" for a crop of the kind "{crop.kind}"')
    if crop.kind == "head" and crop.cuts_max != 1:
        yield ColumnMistake("cuts_max", str(crop.cuts_max), "1: a head is cut whole")
    if crop.kind == "head" and crop.plants_per_site != 1:
        yield ColumnMistake("plants_per_site", str(crop.plants_per_site), "1: a head is one plant")


def something_left_to_grow(crop: Crop) -> Iterator[ColumnMistake]:
    """Part of the shoot is left where a crop is cut again."""
    if crop.cuts_max > 1 and crop.cut_leaves_share == 0:
        yield ColumnMistake("cut_leaves_share", "0", f"above 0 for a crop cut {crop.cuts_max} times")


def nursery_of_the_kind(crop: Crop) -> Iterator[ColumnMistake]:
    """Trays are sown in place; a crop raised in a nursery needs a density and a time there."""
    if crop.kind in ("tray", "shoots"):
        if crop.nursery_d:
            yield ColumnMistake("nursery_d", str(crop.nursery_d), "0: it is sown in place")
        if crop.plants_per_site != 1:
            yield ColumnMistake("plants_per_site", str(crop.plants_per_site), "1: it is sown all over")
    elif crop.nursery_d >= crop.anchor_days:
        expected = f"less than the {crop.anchor_days:g} days to harvest"
        yield ColumnMistake("nursery_d", str(crop.nursery_d), expected)
    elif crop.nursery_d and crop.nursery_plants_m2 is None:
        yield ColumnMistake("nursery_plants_m2", "nothing", "plants per m², as it is raised in a nursery")


def spaced_out_in_time(crop: Crop) -> Iterator[ColumnMistake]:
    """Ask for both figures of the reference harvest's young spacing or neither, ending before harvest."""
    density, until = crop.anchor_young_plants_m2, crop.anchor_young_until_d
    if (density is None) != (until is None):
        column = "anchor_young_plants_m2" if density is None else "anchor_young_until_d"
        yield ColumnMistake(column, "nothing", "a number, or none in both anchor_young columns")
    elif until is not None and until >= crop.anchor_days:
        expected = f"less than the {crop.anchor_days:g} days to harvest"
        yield ColumnMistake("anchor_young_until_d", f"{until:g}", expected)


def shoots_have_seed_rates(crop: Crop) -> Iterator[ColumnMistake]:
    """Seed-fed shoots, and only they, have columns of seed mass."""
    columns = ("shoots_seed_g_m2", "shoots_g_per_g_seed")
    if crop.kind == "shoots":
        for column in columns:
            if getattr(crop, column) is None:
                yield ColumnMistake(column, "nothing", "a value, as its kind is shoots")
        return
    for column in columns:
        value = getattr(crop, column)
        if value is not None:
            yield ColumnMistake(column, f"{value:g}", 'nothing, as its kind is not "shoots"')


def _between(low: float, high: float) -> str:
    return f"between {low:g} and {high:g}"


CHECKS: Final[tuple[Callable[[Crop], Iterator[ColumnMistake]], ...]] = (
    light_in_order,
    temperatures_in_order,
    unit_of_the_kind,
    something_left_to_grow,
    nursery_of_the_kind,
    spaced_out_in_time,
    shoots_have_seed_rates,
)


def check_crop(crop: Crop) -> list[ColumnMistake]:
    """Return every mistake among the values of a crop."""
    return [slip for check in CHECKS for slip in check(crop)]
