"""Fill in what a space file leaves out; each value that matters is listed as assumed."""

from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from math import sqrt
from typing import Any, Final

from cropcal.reading.space.draft import Draft, Part
from cropcal.reading.text.timezones import computers_timezone
from cropcal.reading.text.toml_locations import KeyPath
from cropcal.records.hazard import Care
from cropcal.records.space import (
    OWN_UNIT,
    Assumption,
    Bed,
    Fixture,
    Place,
    Reading,
    Settings,
    Space,
    Want,
    Zone,
)
from cropcal.records.tariff import Rate, Tariff

LAMP_TO_CANOPY_M: Final = 0.30
CELL_M2: Final = 0.04 * 0.04
"""Floor of one nursery cell whose bed has no size: seedling trays have cells of about 4 cm (assumed)."""


BOWL_G: Final = 60.0
"""Leaves in a bowl, g: a side salad of two good handfuls (common practice)."""


def first_day(today: date) -> date:
    """Return where a plan without a start begins: today if it is a Monday, else the next Monday."""
    return today + timedelta(days=-today.weekday() % 7)


class _Filler:
    """Fills parts in and notes what was assumed."""

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        self.assumed: list[Assumption] = []

    def note(self, path: KeyPath, value: Any, why: str) -> None:
        text = f"{value:g}" if isinstance(value, float) else str(value)
        self.assumed.append(Assumption(key=self.draft.source.name(path), value=text, why=why))

    def leaves_out(self, part: Part[Any], key: str) -> bool:
        """Return whether the file leaves a key out."""
        return (*part.path, key) not in self.draft.source.spots

    def place(self) -> Place:
        part = self.draft.place
        place, changes = part.record, {}
        if self.leaves_out(part, "name"):
            self.note(("place", "name"), place.name, "no name given")
        if place.timezone is None:
            timezone = computers_timezone()
            changes["timezone"] = timezone or "UTC"
            why = "this computer's" if timezone else "this computer does not give its own"
            self.note(("place", "timezone"), changes["timezone"], why)
        return place.model_copy(update=changes)

    def zone(self, part: Part[Zone]) -> Zone:
        zone, changes = part.record, {}
        lamped = any(fixture.record.zone == zone.name for fixture in self.draft.fixtures)
        beds = [bed.record for bed in self.draft.beds if bed.record.zone == zone.name]
        in_use = lamped or bool(beds)

        def fill(key: str, value: float, why: str) -> None:
            changes[key] = value
            if in_use:
                self.note((*part.path, key), value, why)

        for key, value, why in (*air(zone, beds), *water(zone)):
            fill(key, value, why)
        if self.leaves_out(part, "air_moving") and in_use:
            self.note((*part.path, "air_moving"), "false", "no fan that moves the leaves was mentioned")
        read = {reading.record.bed for reading in self.draft.readings}
        by_sun_alone = zone.has_daylight and not any(bed.name in read for bed in beds)
        if in_use and not lamped and not by_sun_alone:
            self.note((*part.path, "watts"), "not counted", "no [[fixture]]: what its lamp draws is unknown")
        return zone.model_copy(update=changes)

    def fixture(self, part: Part[Fixture]) -> Fixture:
        fixture = part.record
        if self.leaves_out(part, "lamp"):
            self.note((*part.path, "lamp"), fixture.lamp, "no kind of lamp given: the most common one")
        if self.leaves_out(part, "watts_from"):
            self.note(
                (*part.path, "watts_from"), fixture.watts_from, "not said whether metered: the wider range"
            )
        if fixture.lamp_to_canopy_m is not None:
            return fixture
        self.note((*part.path, "lamp_to_canopy_m"), LAMP_TO_CANOPY_M, "no distance given: a usual shelf")
        return fixture.model_copy(update={"lamp_to_canopy_m": LAMP_TO_CANOPY_M})

    def reading(self, part: Part[Reading]) -> Reading:
        reading = part.record
        if reading.lux is None:
            return reading.model_copy(update={"read_with": "meter"})
        if self.leaves_out(part, "read_with"):
            self.note(
                (*part.path, "read_with"), reading.read_with, "not said whether a lux meter: the wider range"
            )
        return reading

    def beds(self) -> tuple[Bed, ...]:
        sizes = {
            part.path: size
            for zone in self.draft.zones
            for part, size in _shares(
                zone.record, [bed for bed in self.draft.beds if bed.record.zone == zone.record.name]
            )
        }
        return tuple(self.bed(part, sizes.get(part.path)) for part in self.draft.beds)

    def bed(self, part: Part[Bed], size: tuple[float, float] | None) -> Bed:
        bed = part.record
        changes: dict[str, float] = {}
        if bed.sites is None and bed.rows is None:
            changes["sites"] = 1
            if bed.kind != "tray":
                self.note((*part.path, "sites"), 1, "no sites given")
        if size is not None:
            length, width = size
            changes |= {"length_m": length, "width_m": width}
            why = "no size given: its share, by sites, of the zone's floor"
            if bed.kind == "nursery":
                why = "no size given: cells of about 4 cm, or its share of the zone's floor"
            self.note(part.path, f"{length:.3g} m by {width:.3g} m", why)
        return bed.model_copy(update=changes)

    def tariff(self) -> Tariff | None:
        part = self.draft.tariff
        if part is None:
            self.note(("tariff",), "no price given", "cost is not computed")
            return None
        if self.leaves_out(part, "currency"):
            self.note(("tariff", "currency"), "none", "no currency given: costs are bare numbers")
        if self.leaves_out(part, "other_use_kwh_per_month") and any(
            rate.record.blocks for rate in self.draft.rates
        ):
            why = "no other use of the home given: the space alone fills the blocks"
            self.note(("tariff", "other_use_kwh_per_month"), "0", why)
        names = {rate.record.name for rate in self.draft.rates if not self.leaves_out(rate, "name")}
        rates = tuple(self.rate(rate, place, names) for place, rate in enumerate(self.draft.rates, 1))
        return part.record.model_copy(update={"rate": rates})

    def rate(self, part: Part[Rate], place: int, names: set[str]) -> Rate:
        """Name a rate that has no name: bills distinguish rates by it."""
        if not self.leaves_out(part, "name"):
            return part.record
        tries = ["base"] if part.record.is_base else []
        tries += [f"rate {number}" for number in range(place, place + len(names) + 1)]
        name = next(name for name in tries if name not in names)
        names.add(name)
        return part.record.model_copy(update={"name": name})

    def settings(self) -> Settings:
        part = self.draft.settings
        settings = part.record
        whys = {
            "start": "no start given: the next Monday",
            "weeks": "no length given: half a year",
            "work_days": "no work days given: two a week",
            "clean_days": "not given: a day to clean between two batches",
        }
        for key, why in whys.items():
            if self.leaves_out(part, key):
                value = getattr(settings, key)
                self.note(("plan", key), " ".join(value) if isinstance(value, tuple) else value, why)
        if settings.sow is None:
            choice = settings.sow_choice
            why = "not given: how much is sown against bad luck"
            if settings.service is not None:
                why = f'service = {settings.service:g} is read as sow = "{choice}"; write that instead'
            self.note(("plan", "sow"), choice, why)
        return settings

    def want(self, part: Part[Want]) -> Want:
        want = part.record
        if want.plugs and want.plug_age_d is None:
            ages = [f"{crop.nursery_d}" for slug in want.crops if (crop := self.draft.tables.crops[slug])]
            why = "no age given: as old as own seedlings when they are moved"
            self.note((*part.path, "plug_age_d"), " or ".join(dict.fromkeys(ages)), why)
        if want.unit == "bowls":
            return self.bowls(part)
        if want.unit is not None:
            return want
        unit = self.draft.tables.crops[want.crops[0]].unit
        self.note((*part.path, "unit"), unit, OWN_UNIT)
        return want.model_copy(update={"unit": unit})

    def bowls(self, part: Part[Want]) -> Want:
        """Return a want of bowls in grams."""
        want = part.record
        bowl_g = BOWL_G if want.bowl_g is None else want.bowl_g
        if want.bowl_g is None:
            self.note(
                (*part.path, "bowl_g"), bowl_g, "no weight of a bowl given: a side salad (common practice)"
            )
        changes: dict[str, float] = {"bowl_g": bowl_g}
        for key in ("per_week", "amount"):
            count = getattr(want, key)
            if count is not None:
                changes[key] = count * bowl_g
                self.note(
                    (*part.path, key),
                    f"{count * bowl_g:g} g",
                    f"{count:g} bowl{'' if count == 1 else 's'} of {bowl_g:g} g",
                )
        return want.model_copy(update=changes)

    def care(self) -> Care:
        part = self.draft.care
        if self.leaves_out(part, "eaten_by"):
            why = "not given: guests, a school or frail people need more care, see cropcal care"
            self.note(("care", "eaten_by"), part.record.eaten_by, why)
        return part.record


def _shares(zone: Zone, beds: list[Part[Bed]]) -> Iterable[tuple[Part[Bed], tuple[float, float]]]:
    """Share the floor that sized beds leave among the others, by sites, each in the shape of the zone.

    A nursery takes no more than its cells need, for seedlings stand close.
    """
    free = zone.area_m2 - sum((bed.record.length_m or 0.0) * (bed.record.width_m or 0.0) for bed in beds)
    unsized = [bed for bed in beds if bed.record.length_m is None]
    for kinds in (("nursery",), ("sites", "tray")):
        sites = sum(bed.record.site_count for bed in unsized)
        some = [bed for bed in unsized if bed.record.kind in kinds]
        unsized = [bed for bed in unsized if bed not in some]
        per_site = free / sites if sites else 0.0
        for bed in some:
            area = bed.record.site_count * (min(per_site, CELL_M2) if kinds == ("nursery",) else per_site)
            free -= area
            scale = sqrt(area / zone.area_m2)
            yield bed, (zone.length_m * scale, zone.width_m * scale)


def fill_in(draft: Draft) -> Space:
    """Turn a draft without problems into a space, every default filled in and listed.

    Parameters
    ----------
    draft
        Tables in which no problem was found.

    Returns
    -------
    Space
        With a timezone; zones with the air, or the room's with fan and losses, their hours left open where
        the file gives none; beds with a size and sites; fixtures with a distance; wants with a unit; and all
        that in ``assumed``.
    """
    filler = _Filler(draft)
    return Space(
        place=filler.place(),
        zones=tuple(filler.zone(part) for part in draft.zones),
        beds=filler.beds(),
        fixtures=tuple(filler.fixture(part) for part in draft.fixtures),
        readings=tuple(filler.reading(part) for part in draft.readings),
        loads=tuple(part.record for part in draft.loads),
        tariff=filler.tariff(),
        settings=filler.settings(),
        wants=tuple(filler.want(part) for part in draft.wants),
        chores=tuple(part.record for part in draft.chores),
        growing=tuple(part.record for part in draft.growing),
        seed=tuple(part.record for part in draft.seed),
        care=filler.care(),
        assumed=tuple(filler.assumed),
    )


POT_L: Final = 0.3
PLUG_L: Final = 0.05
"""Pots of eight centimetres, and plugs in a film or over a tank, where no volume is given (assumed)."""


def water(zone: Zone) -> Iterator["Filling"]:
    """Yield what a file leaves out about pots, where it says how they are watered."""
    if zone.watered is None or zone.pot_l is not None or zone.watered == "deep water":
        return
    if zone.watered == "film":
        yield "pot_l", PLUG_L, "no volume of a plug given"
    else:
        yield "pot_l", POT_L, "no volume of a pot given: a pot of 8 cm"


AIR_C: Final = 21.0


BOARD_W_M2_K: Final = 2.8
"""U of 12 mm of wood board: 1 / (0.13 + 0.012 / 0.13 + 0.13), with 0.13 m2K/W for the air at either face (ISO
6946, heat that flows sideways) and 0.13 W/mK (ISO 10456, oriented strand board). Foil or cloth lets
through a third more, so this is the warm side."""


DRIFT_M_S: Final = 0.05
"""Air that drifts in through half of an open side and out through the other half (assumed; warm air that
rises does a little better from 2 K on)."""


AIR_J_M3_K: Final = 1200.0


HEIGHT_M: Final = 0.6
"""Height of a zone whose beds have no headroom (assumed)."""


UNDER_AND_OVER_M: Final = 0.2
"""Height that a container and a lamp take beside the headroom (assumed)."""


Filling = tuple[str, float, str]
"""A key, its value, and why."""


def air(zone: Zone, beds: Iterable[Bed]) -> Iterator[Filling]:
    """Yield what a file leaves out about a zone's air; ``beds`` are those in the zone."""
    if zone.room_c is not None:
        yield from _room(zone, beds)
    elif zone.air_c is None:
        on, off = zone.lamp_on_air_c, zone.lamp_off_air_c
        if on is None and off is None:
            yield "air_c", AIR_C, "no air temperature given: an ordinary heated room"
        elif off is None and on is not None:
            yield "lamp_off_air_c", on, "as with the lamp on"
        elif on is None and off is not None:
            yield "lamp_on_air_c", off, "as with the lamp off"


def _room(zone: Zone, beds: Iterable[Bed]) -> Iterator[Filling]:
    """Yield fan and losses of a zone in a room of known air, rather too warm than too cool."""
    if zone.fan_m3_h is None:
        yield "fan_m3_h", 0.0, "no fan given that blows room air through"
    if zone.loss_w_per_k is not None:
        return
    heads = [bed.headroom_m for bed in beds if bed.headroom_m is not None]
    height = max(heads) + UNDER_AND_OVER_M if heads else HEIGHT_M
    left_to_right = (zone.width_m, zone.width_m, zone.length_m, zone.length_m)
    closed = zone.fan_m3_h is not None or all(zone.walls)
    walled = sum(side for side, white in zip(left_to_right, zone.walls, strict=True) if closed or white > 0)
    unwalled = sum(left_to_right) - walled
    board_m2 = walled * height + (zone.area_m2 if closed else 0.0)
    drift_m3_s = DRIFT_M_S * unwalled * height / 2
    loss = float(f"{BOARD_W_M2_K * board_m2 + AIR_J_M3_K * drift_m3_s:.3g}")
    what = "a closed box of thin board" if closed else "an open shelf: air drifts through its open sides"
    yield "loss_w_per_k", loss, f"{what}, {height:g} m high, rather too little than too much"
