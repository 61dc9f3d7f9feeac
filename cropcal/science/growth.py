"""Growth of a stand of plants in closed form: mass by day, the day a mass is reached, cuts and regrowth.

``dW/dt = C (1 - exp(-k W))`` with W the shoot dry mass per ground area (g m⁻²): slow while the plants
are small and light falls between them, C grams a day once the canopy is closed. The expolinear
equation of Goudriaan & Monteith (1990, Annals of Botany 66:695-701) is its solution; here it starts
from a given mass, and stages with other light, air or spacing are chained.
"""

from typing import Final

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

P: Final = 0.70
"""Power of DLI in C, fitted with Q and K to five papers of 1 to 4 series each (tests/reference: in
sample). Only the closed canopies of Carotti et al. 2021 tell P and Q apart; without them P drifts to
1. The lettuce model of Van Henten (1994, Agricultural Systems 45:55-72), run as an experiment, gives
0.53 at 400 ppm CO2 and 0.73 at 1000 ppm."""
Q: Final = 0.35
"""Power of DLI in 1/k: leaves get thicker in strong light. Fitted with P."""
H: Final = 0.10
"""Power of the photoperiod in C at equal DLI: +16 to +19 % from 10 to 20 h (Palmer & van Iersel 2020,
Agronomy 10:1659). Other work finds from 0 to +50 %."""
K: Final = 0.028
"""k in m² per g shoot dry mass at 17 mol m⁻² d⁻¹ and 22 °C. Light extinction times leaf area per g of
shoot; the series fit as well with 0.02 to 0.045."""
DLI_REF_MOL_M2_D: Final = 17.0
PHOTOPERIOD_REF_H: Final = 16.0
AIR_REF_C: Final = 22.0
"""Where C = 17 eps: near the rooms of the anchors (17 mol: Brechner & Both 2013, Cornell handbook)."""
DLI_AMBIENT_CAP_MOL_M2_D: Final = 20.0
"""No gain is forecast above this without added CO2 (assumed, after Van Henten's model at 400 ppm)."""
DLI_ENRICHED_CAP_MOL_M2_D: Final = 43.2
"""No gain is forecast above this with added CO2: the brightest treatment of Carotti et al. 2021."""
RECORD_G_MOL: Final = 1.23
"""Most shoot dry g per mol of light that fell on the ground, of all lettuce in print (best of 48 rooms of
Carotti et al. 2021, Frontiers in Plant Science 11:592171; 53 studies of indoor lettuce have 0.55 in the
mean, Jin et al. 2023, Food and Energy Security 12). No crop is promised more a day."""
CROWN_SHARE: Final = 1.36
"""Ground that a full-grown plant can cover, for the ground it has at its book density: 52 lettuces of
Hemming et al. 2021 cover 0.049 m² at 150 g, 28 stand on a square metre (tests/reference). Taken for all."""
CROWN_POWER: Final = 0.35
"""Power of plant mass in the ground that a plant covers, from the same lettuces."""
SEEDLING_SHARE: Final = 0.7
"""Shoot dry mass at emergence per seed mass (assumed; the rest is root, husk and respired)."""

HOME_LN_SPEED_MEAN: Final = -0.10
"""ln of a home grower's speed against a trial in an ordinary room or greenhouse (assumed)."""
BEST_ROOM_LN_SPEED: Final = 0.20
"""ln of the lead of the best rooms in print, with much CO2, over ordinary ones. Together with the home's
arrears it is what six rooms of skilled growers (625 to 912 ppm in the light) lacked against such a
harvest: -0.30 by fresh mass, which a grower weighs; -0.16 by dry mass (tests/studies/six_rooms.py)."""
GROWER_SD: Final = 0.20
"""Spread of ln speed between growers (assumed; 0.10 between six rooms of skilled ones, one cultivar, which
by six rooms may be from 0.07 to 0.22)."""
CROP_SD: Final = 0.20
"""Spread of ln speed between the crops of one grower (assumed)."""
PLANT_CV: Final = 0.20
"""Spread of head mass within a batch: 0.19 to 0.23 in the last harvests of four lettuce varieties
(357 plants of the Wageningen lettuce images, Hemming et al. 2021), whose plants grew less alike."""
EMERGENCE_SD: Final = 0.25
"""Spread of ln days to emergence (assumed)."""


def temperature_factor(
    air_c: npt.ArrayLike, base_c: npt.ArrayLike, optimum_c: npt.ArrayLike, max_c: npt.ArrayLike
) -> Array:
    """Return the Wang & Engel beta response to temperature, relative to 22 °C (unitless).

    Zero at and outside base and max, 1 at 22 °C. Only for a crop whose response at 22 °C is under
    half its best (max or base near 22) it is relative to that half, so it never exceeds 2.
    Raises ValueError unless base < optimum < max.
    """
    air, base, best, top = (np.asarray(value, float) for value in (air_c, base_c, optimum_c, max_c))
    if not np.all((base < best) & (best < top)):
        message = "a crop's base temperature lies below its optimum, and that below its maximum"
        raise ValueError(message)
    reference = np.maximum(_beta(np.asarray(AIR_REF_C), base, best, top), 0.5)
    factor: Array = _beta(air, base, best, top) / reference
    return factor


def _beta(air: Array, base: Array, best: Array, top: Array) -> Array:
    """Return Wang & Engel's beta function (1998, Agricultural Systems 58:1-24): 1 at the optimum."""
    power = np.log(2) / np.log((top - base) / (best - base))
    warmth = ((np.clip(air, base, top) - base) / (best - base)) ** power
    response: Array = np.where((air > base) & (air < top), warmth * (2 - warmth), 0.0)
    return response


def air_for_share_c(
    share: npt.ArrayLike, base_c: npt.ArrayLike, optimum_c: npt.ArrayLike, max_c: npt.ArrayLike
) -> tuple[Array, Array]:
    """Return the coldest and warmest air in which growth is a share (0 to 1) of that at the optimum [°C].

    The inverse of Wang & Engel's response, see ``temperature_factor``: a share of 0 gives base and max.
    """
    base, best, top = (np.asarray(value, float) for value in (base_c, optimum_c, max_c))
    power = np.log(2) / np.log((top - base) / (best - base))
    off = np.sqrt(1.0 - np.asarray(share, float))
    low: Array = base + (best - base) * (1.0 - off) ** (1 / power)
    high: Array = base + (best - base) * (1.0 + off) ** (1 / power)
    return low, high


def capped_dli(dli_mol_m2_d: npt.ArrayLike, co2_enriched: npt.ArrayLike) -> Array:
    """Return the DLI that counts for growth: at most 20 mol without added CO2, 43.2 with it.

    Burnt leaf tips are no matter of it: they spoil leaves, and the plant weighs what it weighs.
    """
    cap = np.where(np.asarray(co2_enriched, bool), DLI_ENRICHED_CAP_MOL_M2_D, DLI_AMBIENT_CAP_MOL_M2_D)
    return np.minimum(dli_mol_m2_d, cap)


def closest_density(
    density_plants_m2: npt.ArrayLike, book_plants_m2: npt.ArrayLike, mass_share: npt.ArrayLike
) -> Array:
    """Return the density that counts for light: a plant takes none from beyond the ground it can cover.

    Parameters
    ----------
    density_plants_m2
        Plants per area as they stand.
    book_plants_m2
        Plants per area of the reference harvest.
    mass_share
        Mass at which they are cut, for that of the reference harvest.

    Returns
    -------
    Array
        At least one plant for each area that one full-grown plant can cover; broadcast.
    """
    least = np.asarray(book_plants_m2, float) / (CROWN_SHARE * np.asarray(mass_share, float) ** CROWN_POWER)
    return np.maximum(density_plants_m2, least)


def rates(
    eps: npt.ArrayLike, dli_mol_m2_d: npt.ArrayLike, photoperiod_h: npt.ArrayLike, f_t: npt.ArrayLike
) -> tuple[Array, Array]:
    """Return C in g m⁻² d⁻¹ and k in m² g⁻¹, broadcast over the inputs.

    eps is shoot dry g per mol of intercepted light at 17 mol m⁻² d⁻¹, 16 h and 22 °C; a grower's
    speed enters as eps × exp(ln speed). Without light or at f_t = 0 (a billionth counts as none), C
    is 0 and k finite.
    """
    light = np.asarray(dli_mol_m2_d, float) / DLI_REF_MOL_M2_D
    day = np.asarray(photoperiod_h, float) / PHOTOPERIOD_REF_H
    warmth = np.asarray(f_t, float)
    grows = (light > 1e-9) & (warmth > 1e-9)
    light, warmth = np.where(grows, light, 1.0), np.where(grows, warmth, 1.0)
    c = np.asarray(eps, float) * DLI_REF_MOL_M2_D * light**P * day**H * warmth**0.3
    k = K * light**-Q * warmth**0.7
    return np.where(grows, c, 0.0), k * np.ones_like(c)


def record_eps(dli_mol_m2_d: npt.ArrayLike, photoperiod_h: npt.ArrayLike, f_t: npt.ArrayLike) -> Array:
    """Return the eps at which a closed canopy gains ``RECORD_G_MOL`` of its light; infinite without light.

    What a book promises is held to it. A grower's own harvests may teach more: they are seen, not promised.
    """
    c, _ = rates(1.0, dli_mol_m2_d, photoperiod_h, f_t)
    most = RECORD_G_MOL * np.asarray(dli_mol_m2_d, float)
    return np.where(c > 0, most / np.where(c > 0, c, 1.0), np.inf)


def mass_density_after(
    w0_g_m2: npt.ArrayLike, c: npt.ArrayLike, k: npt.ArrayLike, days: npt.ArrayLike
) -> Array:
    """Return shoot dry mass in g m⁻² ``days`` days after it was ``w0_g_m2``, at constant C and k."""
    slope = np.asarray(k, float)
    start = _ln_expm1(slope * np.asarray(w0_g_m2, float))
    mass: Array = np.logaddexp(0.0, start + slope * np.asarray(c, float) * np.asarray(days, float)) / slope
    return mass


def days_between(w0_g_m2: npt.ArrayLike, w_g_m2: npt.ArrayLike, c: npt.ArrayLike, k: npt.ArrayLike) -> Array:
    """Return the days from one dry mass per area to another (g m⁻²); infinite if C is 0."""
    slope = np.asarray(k, float)
    with np.errstate(divide="ignore", invalid="ignore"):
        way = _ln_expm1(slope * np.asarray(w_g_m2, float)) - _ln_expm1(slope * np.asarray(w0_g_m2, float))
        return np.where(way == 0, 0.0, way / (slope * np.asarray(c, float)))


def _ln_expm1(x: Array) -> Array:
    """Return ln(exp(x) - 1), good for small and for large x; -inf at 0."""
    with np.errstate(divide="ignore"):
        return np.asarray(x + np.log(-np.expm1(-x)))


def mass_by_day(
    days: npt.ArrayLike,
    emergence_d: npt.ArrayLike,
    w0_g: npt.ArrayLike,
    stage_end_d: npt.ArrayLike,
    density_plants_m2: npt.ArrayLike,
    c: npt.ArrayLike,
    k: npt.ArrayLike,
) -> Array:
    """Return shoot dry mass in g per plant on each day, for n sowings at once.

    Parameters
    ----------
    days
        Days after sowing (fractions allowed), shape (m,).
    emergence_d
        Day after sowing on which growth starts, shape (n,); nan if none emerges.
    w0_g
        Shoot dry g per plant on that day (seed mass × ``SEEDLING_SHARE``), shape (n,).
    stage_end_d
        Day after sowing on which each stage ends, not falling, shape (n, S). The last stage never
        ends, whatever its value here. A crop with fewer stages than S repeats its last.
    density_plants_m2, c, k
        Of each stage (see ``rates``), shape (n, S).

    Returns
    -------
    Array
        Shape (n, m); zero before emergence.
    """
    day = np.asarray(days, float)[None, :]
    start = _or_never(emergence_d)
    emerged = day >= start[:, None]
    mass = np.asarray(w0_g, float)[:, None] + 0 * day
    for end, density, c_now, k_now in _stages(stage_end_d, density_plants_m2, c, k):
        spent = np.clip(day - start[:, None], 0, _lasts(start, end)[:, None])
        per_area = (density[:, None], c_now[:, None], k_now[:, None])
        mass = _grow(mass, *per_area, spent)
        start = np.maximum(start, end)
    return np.where(emerged, mass, 0.0)


def _stages(
    stage_end_d: npt.ArrayLike, density_plants_m2: npt.ArrayLike, c: npt.ArrayLike, k: npt.ArrayLike
) -> list[tuple[Array, Array, Array, Array]]:
    """Split arrays of shape (n, S) into stages of shape (n,); the last never ends."""
    tables = np.broadcast_arrays(
        *(np.asarray(table, float) for table in (stage_end_d, density_plants_m2, c, k))
    )
    ends, density, c_all, k_all = tables
    ends = np.concatenate([ends[:, :-1], np.full_like(ends[:, -1:], np.inf)], axis=1)
    return list(zip(ends.T, density.T, c_all.T, k_all.T, strict=True))


def _or_never(emergence_d: npt.ArrayLike) -> Array:
    """Return the emergence day, infinite where there is none (nan)."""
    day = np.asarray(emergence_d, float)
    return np.where(np.isnan(day), np.inf, day)


def _lasts(start: Array, end: Array) -> Array:
    """Return the days left of a stage for plants that reach it on day ``start`` (inf: never)."""
    never = np.isinf(start)
    return np.where(never, 0.0, np.maximum(end - np.where(never, 0.0, start), 0))


def _grow(mass_g: Array, density: Array, c: Array, k: Array, days: Array) -> Array:
    """Return g per plant after ``days`` days at one density."""
    return mass_density_after(mass_g * density, c, k, days) / density


def day_of_mass(
    target_g: npt.ArrayLike,
    emergence_d: npt.ArrayLike,
    w0_g: npt.ArrayLike,
    stage_end_d: npt.ArrayLike,
    density_plants_m2: npt.ArrayLike,
    c: npt.ArrayLike,
    k: npt.ArrayLike,
) -> Array:
    """Return the day after sowing on which a plant weighs ``target_g`` (shoot dry g, shape (n,)).

    Exact inverse of ``mass_by_day``, same arguments; shape (n,). The emergence day if the target is
    no more than ``w0_g``; infinite if it is never reached (no light, no warmth, no emergence).
    """
    start, mass = _or_never(emergence_d), np.asarray(w0_g, float)
    target = np.maximum(target_g, mass)
    ready = np.full(np.broadcast_shapes(start.shape, target.shape), np.inf)
    stages = _stages(stage_end_d, density_plants_m2, c, k)
    for number, (end, density, c_now, k_now) in enumerate(stages, start=1):
        lasts = _lasts(start, end)
        needed = days_between(mass * density, np.maximum(target, mass) * density, c_now, k_now)
        ready = np.where(needed <= lasts, np.minimum(ready, start + needed), ready)
        if number == len(stages):
            break
        mass = _grow(mass, density, c_now, k_now, np.where(np.isinf(lasts), 0, lasts))
        start = np.maximum(start, end)
    return ready


def solve_eps(
    anchor_d: npt.ArrayLike,
    dry_g: npt.ArrayLike,
    emergence_d: npt.ArrayLike,
    w0_g: npt.ArrayLike,
    stage_end_d: npt.ArrayLike,
    density_plants_m2: npt.ArrayLike,
    dli_mol_m2_d: npt.ArrayLike,
    photoperiod_h: npt.ArrayLike,
    f_t: npt.ArrayLike,
) -> Array:
    """Return the eps that reproduces a reference harvest exactly, for n crops at once.

    Parameters
    ----------
    anchor_d, dry_g
        Days from sowing and shoot dry g per plant of the reference harvest, shape (n,).
    emergence_d, w0_g, stage_end_d, density_plants_m2
        As in ``mass_by_day``: (n,), (n,), (n, S), (n, S).
    dli_mol_m2_d, photoperiod_h, f_t
        Light, hours of light and temperature factor of the reference harvest, shape (n,).

    Returns
    -------
    Array
        Shape (n,); nan where no eps from 0.001 to 1000 fits (a harvest before emergence, say).
    """
    light, hours, warmth = (np.asarray(v, float)[:, None] for v in (dli_mol_m2_d, photoperiod_h, f_t))
    wanted = np.asarray(anchor_d, float)

    def too_slow(ln_eps: Array) -> npt.NDArray[np.bool_]:
        c, k = rates(np.exp(ln_eps)[:, None], light, hours, warmth)
        return day_of_mass(dry_g, emergence_d, w0_g, stage_end_d, density_plants_m2, c, k) > wanted

    low, high = np.full(wanted.shape, np.log(1e-3)), np.full(wanted.shape, np.log(1e3))
    fits = too_slow(low) & ~too_slow(high)
    for _ in range(60):
        middle = (low + high) / 2
        slow = too_slow(middle)
        low, high = np.where(slow, middle, low), np.where(slow, high, middle)
    return np.where(fits, np.exp(high), np.nan)


def cut_days(
    first_d: npt.ArrayLike,
    target_g: npt.ArrayLike,
    leaves_share: npt.ArrayLike,
    lag_d: npt.ArrayLike,
    cuts: int,
    stage_end_d: npt.ArrayLike,
    density_plants_m2: npt.ArrayLike,
    c: npt.ArrayLike,
    k: npt.ArrayLike,
) -> Array:
    """Return the day after sowing on which each cut is ready, the first included; shape (n, cuts).

    A cut leaves a share of ``target_g`` standing; ``lag_d`` days later that regrows by the same
    equations to ``target_g``. Nothing is lost from cut to cut (rocket cut five times gave as much as
    re-sown, spinach more: Bantis et al. 2021, Agriculture 11:465). For masses between two cuts use
    ``mass_by_day`` with emergence_d = cut day + lag and w0_g = share × mass at the cut.

    Parameters
    ----------
    first_d, target_g, leaves_share, lag_d
        Day of the first cut, shoot dry g per plant before each cut, share of it left, days without
        growth; shape (n,).
    cuts
        How many cuts to date, at least 1.
    stage_end_d, density_plants_m2, c, k
        As in ``mass_by_day``, shape (n, S).
    """
    target, share, lag = (np.asarray(value, float) for value in (target_g, leaves_share, lag_d))
    ready = [np.asarray(first_d, float)]
    for _ in range(cuts - 1):
        ready.append(
            day_of_mass(target, ready[-1] + lag, share * target, stage_end_d, density_plants_m2, c, k)
        )
    return np.stack(np.broadcast_arrays(*ready), axis=1)
