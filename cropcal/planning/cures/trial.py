"""What steps make of a space: its light, and the verdict of every wanted crop in every bed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt

from cropcal.planning.cures.light_steps import TriedStep, merged
from cropcal.planning.cures.settings import SetValue, changed, zone_setting
from cropcal.planning.growth.cautions import wanted_crops
from cropcal.planning.growth.crop_in_bed import suits_bed
from cropcal.planning.growth.pace import Paces
from cropcal.planning.growth.suitability import VERDICTS, suitabilities
from cropcal.planning.photoperiod.tradeoff import first_nursery
from cropcal.planning.site.bed_light import bed_lights
from cropcal.planning.site.lamp_light import lamps_over, nearest_lamp
from cropcal.planning.site.sunlight import with_sun
from cropcal.records.crop import Crop, CropTables
from cropcal.records.fit import Fit
from cropcal.records.hours import hours_key
from cropcal.records.plan import BedLight
from cropcal.records.space import Bed, Space, Zone, photoperiod_h

Ranks = dict[str, int]
"""Crop -> rank of its verdict in its best bed."""


def rank_of(fit: Fit) -> int:
    """Return how bad a verdict is: 0 is ok."""
    return VERDICTS.index(fit.verdict)


@dataclass(frozen=True, eq=False)
class StepsOutcome:
    """What some steps make of the space: the space, its lights, and verdict by crop and bed."""

    steps: tuple[TriedStep, ...]
    settings: tuple[SetValue, ...]
    space: Space
    lights: Mapping[str, BedLight]
    fits: Mapping[tuple[str, str], Fit]

    def rank(self, crop: str, bed: str) -> int:
        """Return how badly a crop does in a bed."""
        return rank_of(self.fits[crop, bed])


@dataclass(frozen=True, eq=False)
class CureTrial:
    """The space as it stands, and all outcomes computed so far."""

    space: Space
    tables: CropTables
    lights: Mapping[str, BedLight]
    all_fits: tuple[Fit, ...]
    paces: Paces
    known: dict[tuple[str, ...], StepsOutcome] = field(default_factory=dict)
    exact: dict[tuple[str, ...], StepsOutcome] = field(default_factory=dict)
    ratios: dict[tuple[str, ...], npt.NDArray[np.float64]] = field(default_factory=dict)
    suns: dict[tuple[str, ...], BedLight] = field(default_factory=dict)

    @cached_property
    def crops(self) -> dict[str, Crop]:
        """Return the wanted crops."""
        return {crop.slug: crop for crop in wanted_crops(self.space, self.tables)}

    @cached_property
    def fits(self) -> dict[tuple[str, str], Fit]:
        """Return the verdicts as things stand."""
        return {(fit.crop, fit.bed): fit for fit in self.all_fits}

    @cached_property
    def allowed(self) -> dict[str, frozenset[str]]:
        """Return the beds in which each crop may grow, by any of its wants."""
        return {slug: beds_allowed(self.space, crop) for slug, crop in self.crops.items()}

    @cached_property
    def before(self) -> Ranks:
        """Return the rank of each crop in its best bed as things stand."""
        return self.best(self.fits, self.allowed)

    def best(self, fits: Mapping[tuple[str, str], Fit], allowed: Mapping[str, frozenset[str]]) -> Ranks:
        """Return the rank of each crop in its best bed."""
        return {
            slug: min(
                (rank_of(fits[slug, bed]) for bed in beds if (slug, bed) in fits),
                default=len(VERDICTS),
            )
            for slug, beds in allowed.items()
        }

    def harms(self, outcome: StepsOutcome, mended: str) -> tuple[Fit, ...]:
        """Return the verdicts of other crops that do worse in their best bed than they do now."""
        worse = []
        for slug, rank in self.best(outcome.fits, self.allowed).items():
            if slug != mended and rank > self.before[slug]:
                fits = (outcome.fits[slug, bed] for bed in sorted(self.allowed[slug]))
                worse.append(min(fits, key=rank_of))
        return tuple(worse)

    def picked(self, zone: Zone) -> bool:
        """Return whether the lamp hours of a zone were picked, as its file has none."""
        key = hours_key(zone.name)
        return any(item.key == key for item in self.space.assumed)

    def outcome(self, zone: Zone, taken: Sequence[TriedStep]) -> StepsOutcome:
        """Return what some steps in a zone make of the space; light is that of today, in proportion."""
        settings = (*self._pinned(zone), *merged(taken))
        key = tuple(setting.text for setting in settings)
        if key not in self.known:
            self.known[key] = self._computed(zone, taken, settings)
        return self.known[key]

    def exactly(self, outcome: StepsOutcome) -> StepsOutcome:
        """Return an outcome with its light computed anew, as ``--set`` has it."""
        key = tuple(setting.text for setting in outcome.settings)
        if key not in self.exact:
            beds = self._touched(outcome.space)
            part = outcome.space.model_copy(update={"beds": beds})
            lights = {light.bed: light for light in bed_lights(part, self.tables)}
            self.exact[key] = self._judged(part, outcome.space, outcome.steps, outcome.settings, lights)
        return self.exact[key]

    def _touched(self, space: Space) -> tuple[Bed, ...]:
        """Return the beds in all zones of which anything is changed."""
        of_lamps = {
            lamp.zone for lamp, now in zip(space.fixtures, self.space.fixtures, strict=True) if lamp != now
        }
        of_beds = {bed.zone for bed, now in zip(space.beds, self.space.beds, strict=True) if bed != now}
        zones = {zone.name for zone, now in zip(space.zones, self.space.zones, strict=True) if zone != now}
        return tuple(bed for bed in space.beds if bed.zone in zones | of_lamps | of_beds)

    def _computed(
        self, zone: Zone, taken: Sequence[TriedStep], settings: tuple[SetValue, ...]
    ) -> StepsOutcome:
        space = changed(self.space, settings)
        part = space.model_copy(update={"beds": self._touched(space)})
        lights = self._with_hours(part, zone, settings, self._moved(part, settings, taken))
        return self._judged(part, space, taken, settings, lights)

    def _judged(
        self,
        part: Space,
        space: Space,
        taken: Sequence[TriedStep],
        settings: tuple[SetValue, ...],
        lights: Mapping[str, BedLight],
    ) -> StepsOutcome:
        verdicts = suitabilities(part, tuple(lights.values()), tuple(self.crops.values()))
        fits = {**self.fits, **{(fit.crop, fit.bed): fit for fit in verdicts}}
        return StepsOutcome(tuple(taken), settings, space, {**self.lights, **lights}, fits)

    def _moved(
        self, space: Space, settings: Sequence[SetValue], taken: Sequence[TriedStep]
    ) -> dict[str, BedLight]:
        """Return the lamp light of beds: that of today, times what the lamps then give each site."""
        share = float(np.prod([step.light for step in taken]))
        moves = [setting for setting in settings if setting.moves_lamp]
        lights = {}
        for bed in space.beds:
            lamps, light = lamps_over(bed, space, self.tables), self.lights[bed.name]
            if lamps is None or not any(setting.table in ("fixture", "bed", "zone") for setting in settings):
                lights[bed.name] = light
                continue
            ppfd = np.array(light.site_ppfd_umol_m2_s) * self._ratio(bed, moves) * share
            update: dict[str, object] = {"site_ppfd_umol_m2_s": tuple(ppfd.tolist())}
            if light.lamp_to_canopy_m is not None:
                update["lamp_to_canopy_m"], update["lamp_clearance_m"] = nearest_lamp(lamps)
            lights[bed.name] = light.model_copy(update=update)
        return lights

    def _ratio(self, bed: Bed, moves: Sequence[SetValue]) -> npt.NDArray[np.float64]:
        """Return how many times the light of today moved lamps give the sites of a bed."""
        key = (bed.name, *(setting.text for setting in moves))
        if key not in self.ratios:
            space = changed(self.space, moves)
            before, after = (
                lamps_over(other.bed(bed.name), other, self.tables) for other in (self.space, space)
            )
            if not moves or before is None or after is None:
                ratio = np.ones(1)
            elif any(reading.bed == bed.name for reading in space.readings):
                ratio = np.array([after.mean_umol_m2_s() / before.mean_umol_m2_s()])
            else:
                ratio = after.sites_umol_m2_s() / before.sites_umol_m2_s()
            self.ratios[key] = ratio
        return self.ratios[key]

    def _with_hours(
        self, space: Space, zone: Zone, settings: Sequence[SetValue], by_bed: Mapping[str, BedLight]
    ) -> dict[str, BedLight]:
        """Return the light of beds with the lamp hours and the sun of their zone."""
        update: dict[str, object] = {"photoperiod_h": photoperiod_h(space.zone(zone.name))}
        if zone.has_daylight:
            key = tuple(setting.text for setting in settings if setting.moves_day)
            if key not in self.suns:
                some_bed = next(iter(by_bed.values()))
                self.suns[key] = with_sun(space, some_bed) if key else self.lights[some_bed.bed]
            update |= {"halves": self.suns[key].halves, "sd_ln_sun": self.suns[key].sd_ln_sun}
        return {name: light.model_copy(update=update) for name, light in by_bed.items()}

    def _pinned(self, zone: Zone) -> tuple[SetValue, ...]:
        """Return the settings that keep picked hours as they are, all of them if seedlings are there."""
        nursery = first_nursery(self.space)
        all_may_move = nursery is not None and nursery.zone == zone.name
        return tuple(
            zone_setting(self.space, other, "lit", other.lit)
            for other in self.space.zones
            if self.picked(other) and other.lit and (all_may_move or other.name == zone.name)
        )


def beds_allowed(space: Space, crop: Crop) -> frozenset[str]:
    """Return the beds in which a crop may grow, by its kind and by any of its wants."""
    return frozenset(
        bed.name
        for bed in space.beds
        if suits_bed(crop, bed)
        and any(
            (want.beds is None or bed.name in want.beds) and (want.zones is None or bed.zone in want.zones)
            for want in space.wants
            if crop.slug in want.crops
        )
    )
