"""What readings over some beds say of the lamps over their neighbours.

The logarithm of readings over computed light is the sum of two errors. One is of the lamp, the same over
every bed under it: its photons, their share that lands, age, dust. The other is of the bed: its distance, the
walls near it, its place under the lamp, and the meter. The lamp's part is taken as normal, and each reading
as a normal observation of it, so mean and spread of what is left are in closed form (Gelman et al. 2013,
Bayesian Data Analysis, 3rd ed., section 2.5; from memory).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import exp, hypot, log, sqrt

from cropcal.planning.site.lamp_light import LampLight
from cropcal.planning.site.light_uncertainty import LightErrors
from cropcal.records.crop import GOOD_UMOL_J, MOST_UMOL_J

WILD, WILD_SDS = 4.0, 3.0
"""Readings further from the computed light than this many times, or this many standard deviations if that is
more, are taken for a slip in the file or in the reading, and correct no neighbour (assumed: a forgotten dial
or a second lamp lies within; a misplaced comma, or lumens for umol, does not)."""
POINT = 0.5
"""Spread of one reading about the mean of its bed, as a share of that between the sites (assumed: whoever
reads one point does not take a corner for the whole)."""
OF_ITS_KIND = 1.1
"""A lamp may beat the best of its kind in ``lamps.csv``, or its own spec sheet, by so much (assumed)."""


@dataclass(frozen=True)
class Witness:
    """Readings over one bed beside what its lamps should give.

    ``ln_ratio`` is ln(readings / computed). ``own_sd_ln`` is the part of its spread that is of this bed
    alone, ``meter_sd_ln`` the one that all readings with the same ``meter`` share. ``slip``: the readings
    or the file must be wrong, so they say nothing of the lamp over other beds.
    """

    bed: str
    ln_ratio: float
    own_sd_ln: float
    meter: str
    meter_sd_ln: float
    slip: bool = False

    @property
    def ratio(self) -> float:
        """Return readings / computed."""
        return exp(self.ln_ratio)


@dataclass(frozen=True)
class LampFactor:
    """How bright lamps are beside their data, by readings over beds under them: ln, and its spread."""

    ln_factor: float
    sd_ln: float

    @property
    def factor(self) -> float:
        """Return the factor."""
        return exp(self.ln_factor)


def witness(
    lamps: LampLight, errors: LightErrors, ratio: float, meter: str, sd_ln: tuple[float, float]
) -> Witness | None:
    """Return what readings over a bed say of its lamps, None if they say nothing (dark).

    ``sd_ln`` is the spread of the meter, and what is added where one point was read of a bed of many sites.
    """
    if ratio <= 0:
        return None
    meter_sd_ln, point_sd_ln = sd_ln
    own = hypot(errors.own, point_sd_ln)
    wild = abs(log(ratio)) > max(log(WILD), WILD_SDS * hypot(errors.lamp, own, meter_sd_ln))
    impossible = efficacy_umol_j(lamps) * ratio > MOST_UMOL_J
    return Witness(lamps.bed.name, log(ratio), own, meter, meter_sd_ln, slip=wild or impossible)


def lamp_factor(witnesses: Iterable[Witness], lamp_sd_ln: float) -> LampFactor:
    """Return the factor of lamps given readings over beds under them.

    Parameters
    ----------
    witnesses
        The readings; in any order.
    lamp_sd_ln
        Spread of the lamp's part before any reading, sd of ln.

    Returns
    -------
    factor
        Between 1 and the ratio, if there is one reading; its spread is never wider than before, and never
        widened by one reading more. Readings with one meter share its error, so that many of them do not
        make a phone a good meter.
    """
    meters: dict[tuple[str, float], list[Witness]] = {}
    for witness in witnesses:
        meters.setdefault((witness.meter, witness.meter_sd_ln), []).append(witness)
    information, weighed = 0.0, 0.0
    for (_, meter_sd_ln), group in sorted(meters.items()):
        group.sort(key=lambda entry: (entry.ln_ratio, entry.own_sd_ln))
        weights = [entry.own_sd_ln**-2 for entry in group]
        total = sum(weights)
        mean = sum(weight * entry.ln_ratio for weight, entry in zip(weights, group, strict=True)) / total
        known = 1 / (1 / total + meter_sd_ln**2)
        information += known
        weighed += known * mean
    left = lamp_sd_ln**2 / (1 + lamp_sd_ln**2 * information)
    return LampFactor(ln_factor=left * weighed, sd_ln=sqrt(left))


def efficacy_umol_j(lamps: LampLight) -> float:
    """Return the photons of lamps for each joule, by their data."""
    watts = sum(fixture.watts * fixture.count for fixture in lamps.fixtures)
    return sum(lamps.ppf_umol_s) / watts


def too_bright(lamps: LampLight, ratio: float) -> str:
    """Return a sentence where readings would take more photons for each joule than such lamps give, or ""."""
    stated = efficacy_umol_j(lamps)
    implied = stated * ratio
    low, high = _of_kind(lamps)
    if implied > MOST_UMOL_J:
        limit = f"no lamp gives more than {MOST_UMOL_J:g}"
    elif implied > GOOD_UMOL_J:
        limit = f"the best lamps give {GOOD_UMOL_J:g}"
    elif implied > OF_ITS_KIND * max(high, stated):
        kinds = " and ".join(dict.fromkeys(photons.lamp.lamp for photons in lamps.photons))
        limit = f"lamps of this kind ({kinds}) give {low:.2g} to {high:.2g}"
    else:
        return ""
    return (
        f"the readings would take {implied:.2g} µmol from the lamp for each joule, and {limit}: are watts and"
        " count those of all lamps over it, is the distance right, was no sun or other light in the readings?"
    )


def _of_kind(lamps: LampLight) -> tuple[float, float]:
    """Return the range of photons for each joule of such lamps, each weighed by its watts."""
    weights = [fixture.watts * fixture.count for fixture in lamps.fixtures]
    kinds = [photons.lamp for photons in lamps.photons]
    low = sum(weight * lamp.efficacy_low_umol_j for weight, lamp in zip(weights, kinds, strict=True))
    high = sum(weight * lamp.efficacy_high_umol_j for weight, lamp in zip(weights, kinds, strict=True))
    return low / sum(weights), high / sum(weights)


def came_to(witnesses: Iterable[Witness]) -> str:
    """Return "the readings over box A came to 0.67", in the words of ``BedLight.how``."""
    entries = list(witnesses)
    beds = " and ".join(entry.bed for entry in entries)
    return f"the readings over {beds} came to {' and '.join(f'{entry.ratio:.2f}' for entry in entries)}"


def not_believed(slip: Witness) -> str:
    """Return why readings over a neighbour do not correct a bed."""
    return (
        f"the readings over {slip.bed} come to {slip.ratio:.2g} times what the lamp should give there, most "
        "likely a slip in space.toml or in the reading, so the light here is not corrected by them: "
        "find out which, or take a reading over this bed too"
    )
