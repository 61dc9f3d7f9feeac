"""Uncertainty of the light from lamps, part by part, and the one measurement that would narrow it most."""

from dataclasses import dataclass, replace
from math import log

import numpy as np

from cropcal.planning.site.lamp_light import LampLight, Photons
from cropcal.records.plan import Narrowing
from cropcal.science import light, spread
from cropcal.science.light import LABEL_LN_SD, METER_LN_SD

SHEET_LN_SD = 0.15
"""Spread of a spec sheet's photons: a lamp's age, dust, and how honest the sheet is (assumed)."""
TAPE_M = 0.02
"""How far a distance read from a tape may lie off (assumed: leaves are no straight edge)."""
USUAL_DISTANCES_M = (0.20, 0.45)
"""A lamp over salad hangs between these if its height is not given (common practice)."""
WALLS_OFF = 0.10
"""Error of a reflectance judged by eye (assumed)."""
EDGE_LN_SD, PLACE_LN_SD = 0.05, 0.10
"""How far a bed's light lies off for its place under the lamp: where geometry gives each site (no lamp shines
quite as a flat panel does), and where the mean of the lit floor stands for it (assumed)."""
WORTH = 0.9
"""A measurement is offered if it leaves no more than this share of the spread (assumed)."""

PHOTON_FLUX = "the lamp's photon flux (PPF, µmol/s) from its maker"
PAR_METER = "a PAR meter borrowed for an hour"


@dataclass(frozen=True)
class LightErrors:
    """Standard deviations of ln PPFD that the parts of a computed light bring, independent of each other.

    ``least`` is the value of ``light.LN_SD``: the parts do not cover everything, so it is a lower limit.
    ``place`` is what the bed's place under the lamps adds; it is part of ``least``.
    """

    least: float
    sheet: float
    efficacy: float
    watts: float
    landing: float
    distance: float
    walls: float
    place: float = EDGE_LN_SD

    @property
    def sd_ln(self) -> float:
        """Return the spread of the light."""
        named = (self.sheet, self.efficacy, self.watts, self.landing, self.distance, self.walls)
        return max(self.least, float(np.linalg.norm(named)))

    @property
    def own(self) -> float:
        """Return the part of the spread that is of this bed alone: distance, walls, place."""
        return min(float(np.linalg.norm((self.distance, self.walls, self.place))), self.sd_ln)

    @property
    def lamp(self) -> float:
        """Return the rest of the spread, which every bed under the same lamps shares."""
        return float(np.sqrt(self.sd_ln**2 - self.own**2))


def light_errors(lamps: LampLight) -> LightErrors:
    """Return the standard deviation of ln PPFD from each source of error in a bed's light."""
    landing = [] if lamps.sized else [float(spread.sd_of_limits(*share)) for share in lamps.shares()]
    return LightErrors(
        **_photon_errors(lamps.photons),
        landing=float(np.average(landing, weights=lamps.ppf_umol_s)) if landing else 0.0,
        distance=_distance_error(lamps),
        walls=_walls_error(lamps),
        place=EDGE_LN_SD if lamps.sites_known else PLACE_LN_SD,
    )


def _photon_errors(photons: tuple[Photons, ...]) -> dict[str, float]:
    """Return the parts that the photons bring, each lamp weighed by its own: they err together (careful)."""
    rows = []
    for entry in photons:
        by_sheet = entry.known == "spec sheet"
        ends = entry.lamp.efficacy_low_umol_j, entry.lamp.efficacy_high_umol_j
        rows.append(
            (
                light.LN_SD[entry.known],
                SHEET_LN_SD if by_sheet else 0.0,
                0.0 if by_sheet else float(spread.sd_of_range(*ends)),
                {"watts meter": METER_LN_SD, "watts label": LABEL_LN_SD}.get(entry.known, 0.0),
            )
        )
    means = np.average(rows, axis=0, weights=[entry.ppf_umol_s for entry in photons])
    return dict(zip(("least", "sheet", "efficacy", "watts"), means.tolist(), strict=True))


def _with_photons(errors: LightErrors, photons: tuple[Photons, ...], known: dict[str, str]) -> float:
    """Return the spread if photons were known as ``known`` says: how they are known -> how they would be."""
    changed = tuple(replace(entry, known=known.get(entry.known, entry.known)) for entry in photons)
    return replace(errors, **_photon_errors(changed)).sd_ln


def _distance_error(lamps: LampLight) -> float:
    if lamps.distances_stated:
        return abs(log(lamps.mean_umol_m2_s(TAPE_M) / lamps.mean_umol_m2_s(-TAPE_M))) / 2
    at = lamps.distances_m[0]
    ends = [lamps.mean_umol_m2_s(at - distance) for distance in USUAL_DISTANCES_M]
    return float(spread.sd_of_limits(*ends))


def _walls_error(lamps: LampLight) -> float:
    now = np.array(lamps.zone.walls)
    if not now.any():
        return 0.0
    ends = [
        lamps.mean_umol_m2_s(walls=tuple(np.where(now > 0, np.clip(now + off, 0, 0.98), 0.0)))
        for off in (-WALLS_OFF, WALLS_OFF)
    ]
    return abs(log(ends[1] / ends[0])) / 2


def from_lamps(lamps: LampLight, errors: LightErrors, sd_ln: float) -> tuple[Narrowing, ...]:
    """Return the measurements that would narrow the light computed from lamps, the best last, at most three.

    ``sd_ln`` is its spread now, narrower than by the errors alone if neighbours were read.

    The photons from the maker if they come from watts; the best of what is at hand, else of what is cheap to
    buy; and the best of all, a PAR meter. Each is left out where it would hardly help.
    """
    papers = []
    if lamps.by_watts:
        known = dict.fromkeys(("watts meter", "watts label"), "spec sheet")
        papers = [Narrowing(find=PHOTON_FLUX, sd_ln=_with_photons(errors, lamps.photons, known))]
    for tools in (_at_hand(lamps, errors), _lux(lamps, "lux meter")):
        best = _best(tools, sd_ln)
        if best:
            break
    return _worthwhile([*papers, *best, _par_meter()], sd_ln)


def from_reading(source: str) -> tuple[Narrowing, ...]:
    """Return the measurements that would narrow light that was read; none after a PAR meter."""
    meter = [Narrowing(find="the same with a lux meter", sd_ln=light.LN_SD["lux meter"])]
    return _worthwhile([*(meter if source == "phone lux" else []), _par_meter()], light.LN_SD[source])


def _at_hand(lamps: LampLight, errors: LightErrors) -> list[Narrowing]:
    """Return the measurements possible with a tape, a phone or a plug meter."""
    options = _lux(lamps, "phone lux")
    if any(entry.known == "watts label" for entry in lamps.photons):
        metered = _with_photons(errors, lamps.photons, {"watts label": "watts meter"})
        options.append(Narrowing(find="a plug meter for the lamp's watts", sd_ln=metered))
    if not lamps.sized:
        options.append(
            Narrowing(find="the lamp's length and width", sd_ln=replace(errors, landing=0.0).sd_ln)
        )
    if not lamps.distances_stated:
        taped = replace(errors, distance=_distance_error(replace(lamps, distances_stated=True)))
        options.append(Narrowing(find="the distance from lamp to leaves", sd_ln=taped.sd_ln))
    return options


def _lux(lamps: LampLight, tool: str) -> list[Narrowing]:
    if any(entry.lamp.lux_per_umol is None for entry in lamps.photons):
        return []
    word = {"phone lux": "lux read with a phone at the sites", "lux meter": "a lux meter at the sites"}[tool]
    return [Narrowing(find=word, sd_ln=light.LN_SD[tool])]


def _par_meter() -> Narrowing:
    return Narrowing(find=PAR_METER, sd_ln=light.LN_SD["readings"])


def _best(options: list[Narrowing], sd_ln: float) -> list[Narrowing]:
    useful = [entry for entry in options if entry.sd_ln <= WORTH * sd_ln]
    return [min(useful, key=lambda entry: entry.sd_ln)] if useful else []


def _worthwhile(options: list[Narrowing], sd_ln: float) -> tuple[Narrowing, ...]:
    useful = [entry for entry in options if entry.sd_ln <= WORTH * sd_ln]
    return tuple(sorted(useful, key=lambda entry: -entry.sd_ln))
