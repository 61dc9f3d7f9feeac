"""Water that plants take up, how often pots are flooded, how long roots can do without.

What leaves give off rises with growth: in twelve crops of lettuce in a nutrient film, under several lights
and levels of CO2, the water of a day was linear in the growth of the day (Ciolkosz, Albright & Both 1998,
Acta Horticulturae 456, abstract). So litres follow from dry grams. The rest is what growers do, and rough.
"""

from typing import Final

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

LETTUCE_FRESH_G_L: Final = (28.0, 50.0, 75.0)
"""Fresh lettuce for a litre of water: low, middle and high.

Low: 28.1 g in pots of substrate that are flooded and drained in a vertical farm, 52.9 g with roots in mist
there (Carotti et al. 2023, Agricultural Water Management 285:108365, abstract). Middle: 20 +- 3.8 litres a kg
in a hydroponic greenhouse (Barbosa et al. 2015, International Journal of Environmental Research and Public
Health 12:6879-6891, abstract). High: 75 g at the best of five red to blue ratios, 215 umol and 16 h (Pennisi
et al. 2019, Scientific Reports 9:14127, abstract), 71 g at 11.5 mol (Gavhane et al. 2023, Scientific Reports
13:10923, abstract). That the range holds in four cases of five is assumed."""

LETTUCE_DRY_SHARE: Final = 0.045
"""Dry share of those lettuces, to carry their water over to other crops (assumed; hydroponic heads have 0.038
to 0.049, butterhead from shops 0.044: USDA Standard Reference, NDB 11250)."""


def litres(dry_g: npt.ArrayLike) -> tuple[Array, Array, Array]:
    """Return the litres of water that go with some growth of shoots: low, middle and high.

    Parameters
    ----------
    dry_g
        Growth in g of shoot dry mass, of any shape.

    Returns
    -------
    tuple of Array
        Of that shape [l]. More growth never takes less water. It is what leaves give off and what pots lose;
        an open tank loses more.
    """
    grown = np.maximum(np.asarray(dry_g, float), 0.0) / LETTUCE_DRY_SHARE
    worst, middle, best = LETTUCE_FRESH_G_L
    return grown / best, grown / middle, grown / worst


MAT_L_M2_D: Final = 1.5
"""Water that a mat of shoots takes, litres a square metre and day: they live on their seed and gain no dry
mass, so it is about what the open top loses (see ``DRIES_L_M2_H``; assumed)."""


def growth_for(l_per_d: float) -> float:
    """Return the growth that goes with some litres, middle: the inverse of ``litres`` [g dry]."""
    return l_per_d * LETTUCE_FRESH_G_L[1] * LETTUCE_DRY_SHARE


FLOOD_H: Final = (1.5, 8.0)
FLOOD_MIN: Final = (5.0, 20.0)
HALF_LITRE_H: Final = 4.0
HALF_LITRE_MIN: Final = 10.0
"""A pot of half a litre is flooded for ten minutes every four hours of light; smaller ones more often and
shorter, from a plug of a mug's bottom (5 min every 1.5 h) to a bucket (20 min every 8 h): common practice."""


def flood_every_h(pot_l: npt.ArrayLike) -> Array:
    """Return the hours of light from one flood to the next, by the litres of a pot (common practice)."""
    hours = HALF_LITRE_H * np.sqrt(np.asarray(pot_l, float) / 0.5)
    return np.asarray(np.clip(np.round(2 * hours) / 2, *FLOOD_H))


def flood_minutes(pot_l: npt.ArrayLike) -> Array:
    """Return how long a flood lasts, in whole five minutes, by the litres of a pot (common practice)."""
    minutes = HALF_LITRE_MIN * np.cbrt(np.asarray(pot_l, float) / 0.5)
    return np.asarray(np.clip(5 * np.round(minutes / 5), *FLOOD_MIN))


HELD_SHARE: Final = (0.10, 0.35)
"""Share of a drained pot's volume that is water which roots can take: expanded clay and gravel, peat and coir
(common practice; a wet pot of peat is four fifths water, but a third of that is out of reach)."""

ROOTED_D: Final = 21.0
"""Age at which roots are all through a pot (assumed)."""

SPROUT_SHARE: Final = 0.15
"""Share of a pot that the first root reaches: its top (assumed)."""

DRIES_L_M2_H: Final = (0.03, 0.10)
"""Water that the open top of a pot loses, litres a square metre and hour: calm and moist, warm and moving air
(assumed; up to 2.4 mm a day)."""


def pump_stop_h(
    pot_l: npt.ArrayLike, age_d: npt.ArrayLike, l_per_d: npt.ArrayLike, top_m2: float | None = None
) -> tuple[Array, Array]:
    """Return how long the pump of pots may stop: from the first wilting to most of them, in hours (rough).

    What a drained pot holds within reach of the roots lasts for what the plant gives off and the pot loses.

    Parameters
    ----------
    pot_l
        Volume of a pot, a plug or a cell [l].
    age_d
        Days from sowing.
    l_per_d
        Water of the plants of one pot a day, middle [l].
    top_m2
        Its open top [m2]; None: of a pot about as wide as high.

    Returns
    -------
    tuple of Array
        Soonest and latest [h], broadcast. A larger pot never lasts shorter, a thirstier plant never longer.
    """
    pot, use = np.asarray(pot_l, float), np.asarray(l_per_d, float)
    reach = np.clip(np.asarray(age_d, float) / ROOTED_D, SPROUT_SHARE, 1.0)
    top = np.asarray((pot / 1000) ** (2 / 3) if top_m2 is None else top_m2)
    worst, middle, best = LETTUCE_FRESH_G_L
    soonest = HELD_SHARE[0] * pot * reach / (use * middle / worst / 24 + DRIES_L_M2_H[1] * top)
    latest = HELD_SHARE[1] * pot * reach / (use * middle / best / 24 + DRIES_L_M2_H[0] * top)
    return soonest, latest


FRAIL_D: Final = 14
"""Age up to which a seedling that wilted is taken to be lost (assumed)."""

LOST_OF_WILTED: Final = {True: 0.5, False: 0.1}
"""Share of wilted plants that do not recover: of seedlings, of older plants (assumed)."""


def lost_share(hours: float, soonest_h: float, latest_h: float, age_d: float) -> float:
    """Return the share of plants that a stop is taken to kill: none before the soonest wilts (assumed)."""
    wilted = np.clip((hours - soonest_h) / max(latest_h - soonest_h, 1e-9), 0.0, 1.0)
    return float(wilted) * LOST_OF_WILTED[age_d <= FRAIL_D]


PUMP_NEEDS: Final = 0.25
"""Share of a tank that stays in it, for the pump to stay under water (assumed)."""

TOP_UP_AT: Final = 0.5
"""Share of a tank below which it had better not fall before the next visit: what is left gets too strong
(common practice)."""

CHANGE_D: Final = (7, 21)
"""Days after which the solution is changed at the soonest and latest (common practice)."""


def tank_days(tank_l: npt.ArrayLike, l_per_d: npt.ArrayLike) -> Array:
    """Return the days from a full tank until the pump draws air; infinite if nothing is used."""
    use = np.asarray(l_per_d, float)
    usable = (1 - PUMP_NEEDS) * np.asarray(tank_l, float)
    return np.asarray(np.where(use > 0, usable / np.where(use > 0, use, 1.0), np.inf))


def is_stale(days: int, l_per_d: npt.ArrayLike, tank_l: float) -> bool:
    """Return whether a solution has to be changed, by its age and the litres used each day since."""
    soonest, latest = CHANGE_D
    return days >= latest or (days >= soonest and float(np.sum(l_per_d)) >= tank_l)


def change_every_d(tank_l: float, l_per_d: float) -> int:
    """Return the days between two changes: when a tank's volume was topped up, one to three weeks.

    By then what plants leave over has doubled (common practice).
    """
    days = tank_l / l_per_d if l_per_d > 0 else np.inf
    return int(np.clip(days, *CHANGE_D))
