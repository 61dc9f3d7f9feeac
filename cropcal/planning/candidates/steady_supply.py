"""Steady supply of a space: each want alone, all of them together, and with a nursery."""

from dataclasses import dataclass, replace

import numpy as np

from cropcal.optimize.programme import Columns, FloatArray, IntArray
from cropcal.optimize.steady_state import largest_alone, largest_mix
from cropcal.planning.candidates.columns import Option, candidate_columns, programme_columns
from cropcal.planning.candidates.eligible import Capacity, eligible_options
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, repeated_week
from cropcal.planning.growth.pace import Paces
from cropcal.records.crop import CropTables
from cropcal.records.space import Bed, Space, Want

STEP = {"heads": 0.1, "g": 10.0}
"""What a want without a number is rounded down to, or to less if that were more than a tenth of it: parts of
a head are heads in some weeks."""

LEAST_STEP = 0.01

CELLS_TRIED = 1000
"""Cells of the nursery that is imagined where there is none: more than any plan fills."""

CELL_M2 = 0.002
"""Floor of one of them."""


@dataclass(frozen=True, eq=False)
class SteadySupply:
    """Amount a week for each want: grown alone, in the mix, and what a want without a number aims at.

    ``early`` is what that aims at while the wants with a number bring nothing yet.
    """

    alone: FloatArray
    mix: FloatArray
    target: FloatArray
    early: FloatArray


def steady_supply(space: Space, candidates: tuple[Option, ...], land: Capacity) -> SteadySupply:
    """Return the largest steady supply, if every week were like the next.

    Wants with a number come first in the mix; the others then share what is left, each weighed by its share
    and by what it could reach alone. A want for listed days has no steady supply.
    """
    cycle, sites, cells = _one_week_of_sowings(space, candidates, land)
    fixed, share = _asked(space)
    by_itself = largest_alone(cycle, sites, cells, len(space.wants))
    together = largest_mix(cycle, sites, cells, fixed, share, by_itself)
    open_share = np.where([want.is_numbered for want in space.wants], 0.0, share)
    at_first = largest_mix(cycle, sites, cells, np.zeros_like(fixed), open_share, by_itself)
    target, early = (
        np.array([_rounded(amount, want.counted_in) for amount, want in zip(level, space.wants, strict=True)])
        for level in (together, at_first)
    )
    return SteadySupply(alone=by_itself, mix=together, target=target, early=early)


def _asked(space: Space) -> tuple[FloatArray, FloatArray]:
    """Return the amount a week of wants with a number, and the share of the others; none of listed days."""
    fixed = np.array([want.per_week or 0.0 for want in space.wants])
    return fixed, np.array([0.0 if want.on else want.share for want in space.wants])


def _rounded(amount: float, unit: str) -> float:
    """Round what a want without a number aims at down to a step."""
    step = STEP[unit]
    while amount < 10 * step and step > LEAST_STEP:
        step /= 10
    return float(np.floor(amount / step + 1e-6)) * step


def nursery_gain(
    space: Space, tables: CropTables, land: Capacity, even: SteadySupply, paces: Paces | None = None
) -> str:
    """Return a sentence on the gain of a nursery where there is none; "" where there would be no gain.

    One is imagined in the light of each zone that has sites.
    """
    if land.nurseries or not any(tables.crops[slug].nursery_d for want in space.wants for slug in want.crops):
        return ""
    first = {place.bed.zone: place for place in reversed(land.places) if place.bed.kind == "sites"}
    imagined = {
        name: Bed(name=name, zone=zone, kind="nursery", sites=CELLS_TRIED)
        for number, zone in enumerate(first)
        if (name := f"nursery {number + 1}")
    }
    with_nursery = replace(
        land,
        nurseries=tuple(imagined.values()),
        nursery_conditions={
            name: replace(first[bed.zone].spot, bed=name, site_area_m2=CELL_M2)
            for name, bed in imagined.items()
        },
        day_cost=land.day_cost | dict.fromkeys(imagined, 0.0),
    )
    cycle, sites, cells = _one_week_of_sowings(
        space, eligible_options(space, tables, with_nursery, paces), with_nursery
    )
    better = largest_alone(cycle, sites, cells, len(space.wants))
    gains = [
        f"{_amount_text(now)} instead of {_amount_text(before)} {want.counted_in}"
        f" of {_names(want, tables)} a week"
        for want, now, before in zip(space.wants, better, even.alone, strict=True)
        if now > before * 1.02
    ]
    if not gains:
        return ""
    return "a nursery in the same light would let each pot grow only big plants: up to " + ", ".join(gains)


def _amount_text(amount: float) -> str:
    return f"{amount:.0f}" if amount >= 10 else f"{amount:.1f}"


def _names(want: Want, tables: CropTables) -> str:
    return " or ".join(tables.crops[slug].name for slug in want.crops)


def _one_week_of_sowings(
    space: Space, candidates: tuple[Option, ...], land: Capacity
) -> tuple[Columns, IntArray, IntArray]:
    """Return the columns sown within one week of an endless row of like weeks, and the capacities."""
    columns_of_week = candidate_columns(
        candidates, repeated_week(space.settings), space.settings.clean_days, sown_before=DAYS_PER_WEEK
    )
    return programme_columns(columns_of_week), land.sites, land.cells
