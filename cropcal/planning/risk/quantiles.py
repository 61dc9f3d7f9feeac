"""The yield of a cut at the quantile of the chance asked for, as a share of its median."""

from statistics import NormalDist

import numpy as np

from cropcal.optimize.programme import FloatArray, IntArray
from cropcal.planning.candidates.columns import NO_DAY, CandidateColumns
from cropcal.planning.growth.crop_growth import GrowthTable
from cropcal.science.chance import LOSS_SHARE, MINIMUM_SHARE, share_passing
from cropcal.science.growth import PLANT_CV
from cropcal.units import Z_80


def dependable_shares(candidates: CandidateColumns, service: float) -> FloatArray:
    """Return the share of its median that each cut of each candidate brings with that chance, (cuts,)."""
    row, cut = np.nonzero(candidates.cuts != NO_DAY)
    share = _mass_share(candidates.amounts[row, cut], candidates.lows[row, cut], service)
    for index, option in enumerate(candidates.options):
        of_option = np.flatnonzero(candidates.option[row] == index)
        if option.grown.crop.unit == "heads" and len(of_option):
            after = candidates.cuts[row[of_option], cut[of_option]] - candidates.sown[row[of_option]]
            share[of_option] = _head_share(option.grown, candidates.age[row[of_option]], after, service)
    return share * (1.0 - LOSS_SHARE)


def _mass_share(middle: FloatArray, low: FloatArray, service: float) -> FloatArray:
    """Return the share of the median mass at that quantile, log-normal with the given 10th percentile."""
    usable = (middle > 0) & (low > 0)
    share = np.where(usable, low, 1.0) / np.where(usable, middle, 1.0)
    z = NormalDist().inv_cdf(max(service, 0.5))
    return np.where(usable, share ** (z / Z_80), 0.0)


def _head_share(grown: GrowthTable, age: IntArray, after: IntArray, service: float) -> FloatArray:
    """Return the share of heads that reach the minimum mass at that quantile of their shared spread."""
    low, middle = grown.g_per_plant[0][age, after], grown.g_per_plant[1][age, after]
    least = MINIMUM_SHARE * grown.crop.target_g
    with np.errstate(divide="ignore"):
        over = np.log(middle * _mass_share(middle, low, service) / least)
    return share_passing(over, PLANT_CV)
