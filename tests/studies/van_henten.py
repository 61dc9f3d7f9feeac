"""The lettuce model of Van Henten (1994), as a truth that knows nothing of the planner's own equations.

Van Henten E.J. 1994. Validation of a dynamic lettuce growth model for greenhouse climate control.
Agricultural Systems 45:55-72; constants as printed there and in Van Henten & Van Straten 1994, Journal of
Agricultural Engineering Research 59:19-31, read in two public transcriptions; the boundary layer and stomatal
conductances are from memory. Two states, both dry g a m2 of ground: non-structural (sugars) and structural.
"""

import numpy as np

J_PER_UMOL = 1 / 4.6
"""Energy of a mean photon of white light (4.6 umol/J: white LED spectra of CIE 15:2018)."""

C_ALPHA, C_BETA = 0.68, 0.8
GROWTH_MAX_PER_S = 5e-6
GROWTH_SATURATION = 1.0
RESPIRATION_SHOOT_PER_S, RESPIRATION_ROOT_PER_S = 3.47e-7, 1.16e-7
ROOT_SHARE = 0.15
EXTINCTION = 0.9
LEAF_AREA_M2_G = 75e-3
EPSILON_G_J = 17e-6
CO2_G_M3_PPM = 1.83e-3
BOUNDARY_M_S, STOMATA_M_S = 0.004, 0.007


def photosynthesis_g_m2_s(par_w_m2, air_c, co2_ppm):
    """Return the gross CO2 uptake of a closed canopy, g m-2 s-1."""
    compensation = 40 * 2 ** ((air_c - 20) / 10)
    carboxylation = -1.32e-5 * air_c**2 + 5.94e-4 * air_c - 2.64e-3
    conductance = 1 / (1 / BOUNDARY_M_S + 1 / STOMATA_M_S + 1 / carboxylation)
    efficiency = EPSILON_G_J * (co2_ppm - compensation) / (co2_ppm + 2 * compensation)
    by_light = efficiency * par_w_m2
    by_co2 = conductance * CO2_G_M3_PPM * (co2_ppm - compensation)
    return by_light * by_co2 / (by_light + by_co2 + 1e-30)


def rates(sugars, structure, par_w_m2, air_c, co2_ppm, leaf_area=LEAF_AREA_M2_G):
    """Return the change of both states, g m-2 s-1; arrays broadcast."""
    growth = (
        GROWTH_MAX_PER_S * sugars / (GROWTH_SATURATION * structure + sugars) * 1.6 ** ((air_c - 20) / 10)
    ) * structure
    respired = (
        (RESPIRATION_SHOOT_PER_S * (1 - ROOT_SHARE) + RESPIRATION_ROOT_PER_S * ROOT_SHARE)
        * structure
        * 2 ** ((air_c - 25) / 10)
    )
    cover = 1 - np.exp(-EXTINCTION * leaf_area * (1 - ROOT_SHARE) * structure)
    made = C_ALPHA * cover * photosynthesis_g_m2_s(par_w_m2, air_c, co2_ppm)
    return made - growth - respired - (1 - C_BETA) / C_BETA * growth, growth


def step(sugars, structure, par_w_m2, air_c, co2_ppm, seconds, leaf_area=LEAF_AREA_M2_G):
    """Return both states after one step of the classical Runge-Kutta rule, conditions held."""

    def slope(a, b):
        return rates(a, b, par_w_m2, air_c, co2_ppm, leaf_area)

    k1 = slope(sugars, structure)
    k2 = slope(sugars + seconds / 2 * k1[0], structure + seconds / 2 * k1[1])
    k3 = slope(sugars + seconds / 2 * k2[0], structure + seconds / 2 * k2[1])
    k4 = slope(sugars + seconds * k3[0], structure + seconds * k3[1])
    change = [(a + 2 * b + 2 * c + d) / 6 * seconds for a, b, c, d in zip(k1, k2, k3, k4, strict=True)]
    return np.maximum(sugars + change[0], 1e-9), structure + change[1]


def shoot_g_m2(sugars, structure):
    """Return the shoot's dry mass: all but the roots."""
    return (sugars + structure) * (1 - ROOT_SHARE)
