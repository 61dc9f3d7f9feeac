"""What steps make of a space: its light, and the verdict of every wanted crop in every bed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from cropcal.planning.cures.light_steps import Step, merged
from cropcal.planning.cures.settings import Setting, changed
from cropcal.planning.growth.cautions import wanted_crops
from cropcal.planning.growth.pace import Paces
from cropcal.planning.growth.suitability import VERDICTS, suitabilities, suits_bed
from cropcal.planning.photoperiod.fill_hours import with_hours
from cropcal.planning.photoperiod.tradeoff import first_nursery
from cropcal.planning.site.bed_light import bed_lights
from cropcal.planning.site.sunlight import with_sun
from cropcal.records.crop import Crop, CropTables
from cropcal.records.fit import Fit
from cropcal.records.hours import hours_key
from cropcal.records.plan import BedLight
from cropcal.records.space import Space, Zone, photoperiod_h

Ranks = dict[str, int]
"""Crop -> rank of its verdict in its best bed."""


def rank_of(fit: Fit) -> int:
    """Return how bad a verdict is: 0 is ok."""
    return VERDICTS.index(fit.verdict)


@dataclass(frozen=True, eq=False)
class Outcome:
    """What some steps make of the space: the space, its lights, and verdict by crop and bed."""

    steps: tuple[Step, ...]
    settings: tuple[Setting, ...]
    space: Space
    lights: Mapping[str, BedLight]
    fits: Mapping[tuple[str, str], Fit]

    def rank(self, crop: str, bed: str) -> int:
        """Return how badly a crop does in a bed."""
        return rank_of(self.fits[crop, bed])


@dataclass(frozen=True, eq=False)
class Trial:
    """The space as it stands, and all outcomes computed so far."""

    space: Space
    tables: CropTables
    lights: Mapping[str, BedLight]
    all_fits: tuple[Fit, ...]
    paces: Paces
    known: dict[tuple[str, ...], Outcome] = field(default_factory=dict)
    geometry: dict[tuple[str, ...], dict[str, BedLight]] = field(default_factory=dict)
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

    def harms(self, outcome: Outcome, mended: str) -> tuple[Fit, ...]:
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

    def outcome(self, zone: Zone, taken: Sequence[Step]) -> Outcome:
        """Return what some steps in a zone make of the space."""
        settings = merged(taken)
        key = tuple(setting.text for setting in settings)
        if key not in self.known:
            self.known[key] = self._computed(zone, taken, settings)
        return self.known[key]

    def _computed(self, zone: Zone, taken: Sequence[Step], settings: tuple[Setting, ...]) -> Outcome:
        space = changed(self.space, settings)
        new_hours = self._reopened(space, zone, settings)
        if new_hours is not None:
            space = with_hours(new_hours, self.tables)
        moved = {other.name for other in space.zones if other != self.space.zone(other.name)} | {zone.name}
        beds = tuple(bed for bed in space.beds if bed.zone in moved)
        part = space.model_copy(update={"beds": beds})
        if new_hours is not None:
            lights = {light.bed: light for light in bed_lights(part, self.tables)}
        else:
            lights = self._with_hours(part, zone, settings, self._by_geometry(part, settings))
        verdicts = suitabilities(part, tuple(lights.values()), tuple(self.crops.values()))
        fits = self.fits | {(fit.crop, fit.bed): fit for fit in verdicts}
        return Outcome(tuple(taken), settings, space, {**self.lights, **lights}, fits)

    def _by_geometry(self, space: Space, settings: Sequence[Setting]) -> Mapping[str, BedLight]:
        """Return the lamp light of beds, computed once for all lamp hours, all air and all sun."""
        key = tuple(setting.text for setting in settings if setting.moves_light)
        if not key:
            return {bed.name: self.lights[bed.name] for bed in space.beds}
        if key not in self.geometry:
            in_the_dark = {"daylight_share": (0.0,) * 12}
            zones = tuple(zone.model_copy(update=in_the_dark) for zone in space.zones)
            lamps_alone = space.model_copy(update={"zones": zones})
            self.geometry[key] = {light.bed: light for light in bed_lights(lamps_alone, self.tables)}
        return self.geometry[key]

    def _with_hours(
        self, space: Space, zone: Zone, settings: Sequence[Setting], by_bed: Mapping[str, BedLight]
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

    def _reopened(self, space: Space, zone: Zone, settings: Sequence[Setting]) -> Space | None:
        """Return the space with picked hours left open again, where the change may move them; else None."""
        if any(setting.key in ("lit", "photoperiod_h") for setting in settings):
            return None
        nursery = first_nursery(space)
        all_may_move = nursery is not None and nursery.zone == zone.name
        open_ = {
            other.name
            for other in space.zones
            if self.picked(other) and (all_may_move or other.name == zone.name)
        }
        if not open_:
            return None
        keys = {hours_key(name) for name in open_}
        none = {"lit": None, "photoperiod_h": None}
        zones = (other.model_copy(update=none) if other.name in open_ else other for other in space.zones)
        update = {
            "zones": tuple(zones),
            "month_hours": tuple(hours for hours in space.month_hours if hours.zone not in open_),
            "assumed": tuple(item for item in space.assumed if item.key not in keys),
        }
        return space.model_copy(update=update)


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
