"""Which steps may help a crop in a bed, by what it lacks there or has too much of."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from math import ceil

import numpy as np

from cropcal.planning.cures import air_steps, light_steps
from cropcal.planning.cures.light_steps import CM, Ladder, TriedStep
from cropcal.planning.cures.settings import changed
from cropcal.planning.cures.trial import CureTrial, rank_of
from cropcal.planning.site.air import Air, zone_air
from cropcal.planning.site.lamp_light import CLEAR_OF_LAMP_M
from cropcal.records.crop import Crop
from cropcal.records.fit import Fit
from cropcal.records.measured import NotedReading
from cropcal.records.plan import BedLight
from cropcal.records.space import Space, Zone
from cropcal.units import MOL_PER_UMOL_H

BRIGHT = 0.7
"""Share of a crop's ceiling from which less light is tried (assumed: the light is known to a fifth or so)."""


@dataclass(frozen=True, eq=False)
class Misfit:
    """A crop that does badly in a bed, and what is known there as things stand."""

    trial: CureTrial
    fit: Fit

    @property
    def crop(self) -> Crop:
        """Return the crop."""
        return self.trial.crops[self.fit.crop]

    @property
    def zone(self) -> Zone:
        """Return the zone of the bed."""
        return self.trial.space.zone(self.light.zone)

    @property
    def light(self) -> BedLight:
        """Return the light of the bed."""
        return self.trial.lights[self.fit.bed]

    @cached_property
    def is_open(self) -> bool:
        """Return whether what ``--set`` makes of the zone cannot be computed here.

        Its lamps may be turned down with picked hours; or hours are picked beside the sun, which takes long.
        """
        dims = any(
            lamp.dims_to is not None for lamp in self.trial.space.fixtures if lamp.zone == self.zone.name
        )
        return self.trial.picked(self.zone) and (dims or self.zone.has_daylight)

    @property
    def by_lamp(self) -> bool:
        """Return whether a lamp is over the bed."""
        return self.light.source != "daylight"

    @cached_property
    def lamp_can_be_told(self) -> bool:
        """Return whether ``--set`` can say that the lamp gives another light.

        It cannot where the journal alone says what was read: no value of the file could say it otherwise.
        """
        beds = {bed.name for bed in light_steps.beds_of(self.trial.space, self.zone)}
        noted = (reading for reading in self.trial.space.readings if isinstance(reading, NotedReading))
        return self.by_lamp and not any(reading.bed in beds and not reading.in_file for reading in noted)

    @cached_property
    def is_dim(self) -> bool:
        """Return whether more light may help."""
        return least_and_most(self.light)[0] < self.crop.dli_target_mol_m2_d

    @cached_property
    def is_bright(self) -> bool:
        """Return whether less light may help."""
        crop = self.crop
        ceiling = crop.dli_max_mol_m2_d if self.zone.air_moving else crop.dli_max_still_air_mol_m2_d
        return least_and_most(self.light)[1] > BRIGHT * ceiling

    @cached_property
    def day_is_too_long(self) -> bool:
        """Return whether the day is longer than the crop tolerates."""
        seen_h = max((half.day_seen_h for half in self.light.halves), default=self.light.photoperiod_h)
        return self.crop.photoperiod_max_h is not None and seen_h > self.crop.photoperiod_max_h

    @cached_property
    def clear_m(self) -> float:
        """Return how far leaves keep from the lamp."""
        return max(self.light.lamp_clearance_m or 0.0, CLEAR_OF_LAMP_M)

    @cached_property
    def too_near_m(self) -> float:
        """Return by how much the grown crop comes too near to the lamp, 0 where it does not."""
        if self.light.lamp_to_canopy_m is None:
            return 0.0
        return max(self.crop.height_cm / 100 + self.clear_m - self.light.lamp_to_canopy_m, 0.0)

    @cached_property
    def lowest_m(self) -> float:
        """Return how low the lamp may hang: clear of this crop and the tallest that does best in its zone."""
        trial = self.trial
        beds = {bed.name for bed in light_steps.beds_of(trial.space, self.zone)}
        best = {slug: best_beds(trial, slug) for slug in trial.crops}
        here = [trial.crops[slug] for slug, names in best.items() if names and names[0] in beds]
        return max(other.height_cm for other in (*here, self.crop)) / 100 + self.clear_m

    def ladders(self, space: Space) -> tuple[Ladder, ...]:
        """Return the ladders, each of steps from a (changed) space, that may help."""
        zone = space.zone(self.zone.name)
        return tuple(ladder for ladder in self._ladders(space, zone) if ladder is not None)

    def _ladders(self, space: Space, zone: Zone) -> Iterator[Ladder | None]:
        if self.by_lamp and not self.trial.picked(zone):
            if self.is_dim and not self.day_is_too_long:
                yield light_steps.hours(space, zone, longer=True)
            if self.is_bright or self.day_is_too_long or self.fit.verdict == "risk":
                shorter = light_steps.hours(space, zone, longer=False)
                yield replace(shorter, more=None) if self.day_is_too_long else shorter
        if self.is_bright:
            yield air_steps.fan(space, zone)
        if self.lamp_can_be_told:
            yield from self._lamp(space, zone)
        if self.fit.verdict in ("risk", "no"):
            yield from self._air(space, zone)
        if self.is_bright:
            yield air_steps.shade(space, zone)
        if self.lamp_can_be_told and self.is_dim:
            yield light_steps.watts(space, zone)

    def _lamp(self, space: Space, zone: Zone) -> Iterator[Ladder | None]:
        """Yield what moves, turns or walls in the lamps."""
        if self.is_dim:
            yield light_steps.height(space, zone, self.trial.tables, self.lowest_m, lower=True)
            yield light_steps.output(space, zone, up=True)
            yield light_steps.walls(space, zone, self.trial.tables)
        if self.is_bright or self.too_near_m:
            yield light_steps.height(space, zone, self.trial.tables, 0.0, lower=False)
        if self.is_bright or self.fit.verdict == "risk":
            yield light_steps.output(space, zone, up=False)

    def _air(self, space: Space, zone: Zone) -> Iterator[Ladder | None]:
        """Yield what makes the air milder, where it is too warm or too cold for the crop."""
        now = zone_air(zone, space.fixtures)
        if _suits(self.crop, now):
            return
        if now.mean_c > self.crop.air_base_c:
            yield air_steps.flow(space, zone)
        yield air_steps.air(space, zone, warmer=now.mean_c <= self.crop.air_base_c)

    def bases(self) -> Iterator[tuple[TriedStep, ...]]:
        """Yield no step; then the steps that end each trouble beside the light: lamp too near, unfit air."""
        higher, milder = self._clear_of_lamp(), self.kept_mild(self.trial.space)
        yield ()
        ends = [step for step in (higher, milder) if step is not None]
        yield from ((step,) for step in ends)
        if len(ends) > 1:
            yield tuple(ends)

    def _clear_of_lamp(self) -> TriedStep | None:
        space, tables = self.trial.space, self.trial.tables
        if not self.too_near_m or not self.lamp_can_be_told:
            return None
        ladder = light_steps.height(space, self.zone, tables, 0.0, lower=False)
        rungs = ceil(self.too_near_m / CM - 1e-6)
        if ladder is None or not 0 < rungs <= len(ladder.sizes):
            return None
        return ladder.build(ladder.sizes[rungs - 1])

    def kept_mild(self, space: Space) -> TriedStep | None:
        """Return the smallest step by which the air of a (changed) space suits the crop, None if it does."""
        for ladder in self._air(space, space.zone(self.zone.name)):
            for size in ladder.sizes if ladder else ():
                step = ladder.build(size) if ladder else None
                if step is None:
                    continue
                after = changed(space, step.settings)
                if _suits(self.crop, zone_air(after.zone(self.zone.name), after.fixtures)):
                    return step
        return None


def _suits(crop: Crop, air: Air) -> bool:
    """Return whether air can be no trouble to a crop, whatever else is."""
    warm = min(most for most in (crop.air_quality_max_c, crop.air_max_c) if most is not None)
    return crop.air_base_c < air.mean_c <= warm and air.mean_c < crop.air_max_c > air.lamp_on_c


def best_beds(trial: CureTrial, crop: str) -> list[str]:
    """Return the beds in which a crop may grow, the best first: of like verdicts, by how fit the light is."""
    target = trial.crops[crop].dli_target_mol_m2_d

    def strain(bed: str) -> tuple[int, float, str]:
        dli = max(least_and_most(trial.lights[bed])[0], 1e-6)
        return rank_of(trial.fits[crop, bed]), abs(float(np.log(dli / target))), bed

    return sorted(trial.allowed[crop], key=strain)


def least_and_most(light: BedLight) -> tuple[float, float]:
    """Return the least and the most light of a day of a bed over the half months of the year."""
    if not light.halves:
        return light.dli_mol_m2_d(), light.dli_mol_m2_d()
    lamp = light.ppfd_umol_m2_s * MOL_PER_UMOL_H
    days = [lamp * half.lamp_h + half.sun_mol_m2_d for half in light.halves]
    return min(days), max(days)
