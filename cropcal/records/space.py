"""The growing space as the user describes it in ``space.toml``."""

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from cropcal.problems import Problem
from cropcal.records.base import DayStretch, Record, stretch_hours
from cropcal.records.crop import SeedOnHand, Unit
from cropcal.records.hazard import Care
from cropcal.records.measured import MeasuredAir, Metered
from cropcal.records.measured import Reading as Reading
from cropcal.records.replan import Begun, Horizon
from cropcal.records.tariff import Tariff
from cropcal.records.values import (
    MOST_SITES,
    ByMonth,
    CutAt,
    Day,
    Many,
    Name,
    Positive,
    SiteNumbers,
    Walls,
    Weekday,
    Yearly,
)
from cropcal.records.water import Watered


class Place(Record):
    """Where the space is; what comes down outdoors, the mean day of each month; the mains.

    ``supply_a``: amps that an electrician laid out for the space, in place of one household socket.
    """

    name: Name = "my space"
    timezone: str | None = None
    latitude: Annotated[float, Field(ge=-90, le=90)] | None = None
    longitude: Annotated[float, Field(ge=-180, le=180)] | None = None
    outdoor_kwh_m2_d: Yearly | None = None
    mains_v: Annotated[float, Field(ge=90, le=250)] | None = None
    supply_a: Annotated[float, Field(gt=0, le=1000)] | None = None


class Quiet(Record):
    """Hours in which lamp and fans had better be off."""

    hours: Annotated[tuple[DayStretch, ...], Many]
    days: Annotated[tuple[Weekday, ...], Many] = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


class Zone(Record):
    """One lamp timer, one air, one tank; length and width are those of the lit floor.

    ``watered``: how roots get their water. ``tank_l``: the solution in its tank when full, or its share of a
    tank that other zones use too. ``pot_l``: the volume of a pot or plug.
    """

    name: Name
    length_m: Annotated[float, Field(gt=0, le=50)]
    width_m: Annotated[float, Field(gt=0, le=50)]
    lit: Annotated[tuple[DayStretch, ...], Many] | None = None
    photoperiod_h: Annotated[float, Field(ge=1, le=24)] | None = None
    quiet: Annotated[tuple[Quiet, ...], Many] = ()
    walls: Annotated[Walls, Field(alias="wall_reflectance")] = (0.0, 0.0, 0.0, 0.0)
    timer_follows_clock: bool = True
    lamp_on_air_c: Annotated[float, Field(ge=-10, le=50)] | None = None
    lamp_off_air_c: Annotated[float, Field(ge=-10, le=50)] | None = None
    air_c: Annotated[float, Field(ge=-10, le=50)] | None = None
    room_c: Annotated[float, Field(ge=-30, le=50)] | None = None
    fan_m3_h: Annotated[float, Field(ge=0, le=100_000)] | None = None
    loss_w_per_k: Annotated[float, Field(gt=0, le=100_000)] | None = None
    air_moving: bool = False
    co2: Literal["ambient", "enriched"] = "ambient"
    daylight_share: ByMonth = (0.0,) * 12
    watered: Watered | None = None
    tank_l: Annotated[float, Field(gt=0, le=10_000)] | None = None
    pot_l: Annotated[float, Field(gt=0, le=100)] | None = None

    @property
    def has_daylight(self) -> bool:
        """Return whether any of the sun reaches the leaves."""
        return any(self.daylight_share)

    @property
    def area_m2(self) -> float:
        """Return the lit floor area."""
        return self.length_m * self.width_m


class OutOfUse(Record):
    """Sites of a bed that cannot be used between two days; without sites all, without a day from or to it."""

    sites: SiteNumbers | None = None
    from_: Annotated[Day | None, Field(alias="from")] = None
    until: Day | None = None


class Bed(Record):
    """A container, tray or shelf of equal sites inside a zone; ``crops``: only these grow in it."""

    name: Name
    zone: Name
    kind: Literal["sites", "tray", "nursery"] = "sites"
    sites: Annotated[int, Field(ge=1, le=MOST_SITES)] | None = None
    rows: Annotated[int, Field(ge=1, le=2000)] | None = None
    columns: Annotated[int, Field(ge=1, le=2000)] | None = None
    length_m: Annotated[float, Field(gt=0, le=50)] | None = None
    width_m: Annotated[float, Field(gt=0, le=50)] | None = None
    x_m: Annotated[float, Field(ge=0)] | None = None
    y_m: Annotated[float, Field(ge=0)] | None = None
    headroom_m: Annotated[float, Field(gt=0, le=10)] | None = None
    lamp_to_canopy_m: Annotated[float, Field(gt=0, le=10)] | None = None
    crops: Annotated[tuple[Name, ...], Many] | None = None
    out_of_use: Annotated[tuple[OutOfUse, ...], Many] = ()

    @property
    def site_count(self) -> int:
        """Return how many equal sites the bed has (one if nothing says how many)."""
        return self.sites or (self.rows or 1) * (self.columns or 1)


class Fixture(Record):
    """Lamps of one kind over a zone; size and place are those of one panel's shining face.

    ``output`` is the share of full at which watts and readings were taken, ``dims_to`` the least share to
    which the lamp can be turned down (None: it cannot, or nobody said so), ``clearance_m`` the least distance
    to leaves by its maker.
    """

    zone: Name
    lamp: str = "white LED"
    watts: Annotated[float, Field(gt=0, le=20000)]
    watts_from: Literal["meter", "label"] = "label"
    output: Annotated[float, Field(gt=0, le=1)] = 1.0
    dims_to: Annotated[float, Field(gt=0, le=1)] | None = None
    standby_watts: Annotated[float, Field(ge=0, le=20000)] = 0.0
    lamp_to_canopy_m: Annotated[float, Field(gt=0, le=10)] | None = None
    clearance_m: Annotated[float, Field(gt=0, le=10)] | None = None
    ppf_umol_s: Annotated[float, Field(gt=0, le=60000)] | None = None
    length_m: Annotated[float, Field(gt=0, le=50)] | None = None
    width_m: Annotated[float, Field(gt=0, le=50)] | None = None
    x_m: Annotated[float, Field(ge=0, le=50)] | None = None
    y_m: Annotated[float, Field(ge=0, le=50)] | None = None
    count: Annotated[int, Field(ge=1, le=1000)] = 1


class Load(Record):
    """Anything else that draws power, for one zone or for all of them; ``silent``: nobody hears it."""

    name: Name
    zone: Name | None = None
    watts: Annotated[float, Field(gt=0, le=20000)]
    always: bool = False
    hours_per_day: Annotated[float, Field(gt=0, le=24)] | None = None
    on: Annotated[tuple[DayStretch, ...], Many] | None = None
    on_minutes: Annotated[float, Field(gt=0, le=1440)] | None = None
    every_minutes: Annotated[float, Field(gt=0, le=10080)] | None = None
    silent: bool = False


SowChoice = Literal["sparing", "usual", "safe"]
"""How much more is sown than would do if nothing went wrong."""


class Prices(Record):
    """What weighs against a missing week when sowings are chosen, in weeks without one want; None: as usual.

    ``surplus``: a week's worth that is cut, or goes over, and is not eaten. ``cell``: a cell (or site) sown.
    ``sowing``: a crop sown on a day. ``seed``: one seed. ``minute``: a minute of sowing, moving and cutting.
    ``site_week``: a site in the light for a week.
    """

    surplus: Annotated[float, Field(ge=0, le=10)] | None = None
    cell: Annotated[float, Field(ge=0, le=10)] | None = None
    sowing: Annotated[float, Field(ge=0, le=10)] | None = None
    seed: Annotated[float, Field(ge=0, le=10)] | None = None
    minute: Annotated[float, Field(ge=0, le=10)] | None = None
    site_week: Annotated[float, Field(ge=0, le=10)] | None = None


class Settings(Record):
    """The stretch of time to plan, and when somebody is there to work.

    ``eat_within_d``: days from the cut within which it must be eaten; never longer than the crop keeps.
    ``sow`` is how much is sown against bad luck; None: as usual. ``prices`` override those of that choice.
    ``service`` is of older files: the chance with which each wanted week should be met.
    ``most_minutes_a_day``: work on any one day, as far as it can be put off to another; None: no limit.
    """

    start: Day
    weeks: Annotated[int, Field(ge=1, le=156)] = 26
    work_days: Annotated[tuple[Weekday, ...], Many] = ("wed", "sat")
    harvest_days: Annotated[tuple[Weekday, ...], Many] | None = None
    breaks: Annotated[tuple[Annotated[tuple[Day, Day], Many], ...], Many] = ()
    clean_days: Annotated[int, Field(ge=0, le=60)] = 1
    eat_within_d: Annotated[int, Field(ge=0, le=60)] | None = None
    service: Annotated[float, Field(ge=0, le=0.99)] | None = None
    sow: SowChoice | None = None
    prices: Prices = Prices()
    most_minutes_a_day: Annotated[float, Field(ge=5, le=1440)] | None = None

    @property
    def sow_choice(self) -> SowChoice:
        """Return how much is sown: as the file says, or as its older ``service`` is read, or as usual."""
        if self.sow is not None or self.service is None:
            return self.sow or "usual"
        return "safe" if self.service > SAFE_SERVICE else "usual"


SAFE_SERVICE = 0.6
"""Chance of an older file above which its plan is a safe one."""

WantUnit = Literal["heads", "g", "bowls"]
"""What a want may be counted in: the unit of its crops, or bowls of leaves."""


class Want(Record):
    """What is wanted: any of some crops, so much a week; without a number, as much as fits.

    ``plugs``: bought young plants, ``plug_age_d`` days old, not own seed.
    ``on`` are days on each of which ``amount`` is wanted instead, a feast. Amounts in bowls are those of the
    file until the space is filled in, then grams; ``bowl_g`` is what a bowl holds.
    ``cut_at_g``: fresh g of one plant at the cut, by crop; under "" that of all its crops.
    ``variety``: one crop is to bring no more than three quarters of what is wanted in two weeks running.
    """

    crops: Annotated[tuple[Name, ...], Many]
    per_week: Positive | None = None
    on: Annotated[tuple[Day, ...], Many] | None = None
    amount: Positive | None = None
    unit: WantUnit | None = None
    bowl_g: Annotated[float, Field(gt=0, le=2000)] | None = None
    share: Positive = 1.0
    variety: bool = False
    plugs: bool = False
    plug_age_d: Annotated[int, Field(ge=1, le=120)] | None = None
    cut_at_g: CutAt | None = None
    beds: Annotated[tuple[Name, ...], Many] | None = None
    zones: Annotated[tuple[Name, ...], Many] | None = None
    from_: Annotated[Day | None, Field(alias="from")] = None
    until: Day | None = None

    @property
    def counted_in(self) -> Unit:
        """Return the unit of its crops: bowls are so many g."""
        return "heads" if self.unit == "heads" else "g"

    def cut_at(self, crop: str) -> float | None:
        """Return the fresh g at which a plant of a crop is cut, None: as the crop table has it."""
        grams = self.cut_at_g or {}
        return grams.get(crop, grams.get(""))

    @property
    def is_numbered(self) -> bool:
        """Return whether it says how much is wanted: only then can it be short."""
        return self.per_week is not None or self.amount is not None

    @property
    def label(self) -> str:
        """Return a short name: the crops it may be."""
        return " or ".join(self.crops)


class Chore(Record):
    """A job that comes round whatever grows, and takes ``minutes``; ``any_day``: it needs no work day."""

    name: Name
    every_days: Annotated[int, Field(ge=1, le=366)]
    any_day: bool = False
    minutes: Annotated[float, Field(ge=0, le=600)] | None = None


class Growing(Record):
    """Plants that stand when planning begins: how many sites (or cells) of a bed, since which sowing."""

    crop: Name
    bed: Name
    sites: Annotated[int, Field(ge=1, le=MOST_SITES)]
    sown: Day | None = None
    age_d: Annotated[int, Field(ge=0, le=365)] | None = None


OWN_UNIT = "the crop's own unit"
"""Reason given for the unit of a want without one."""


class Assumption(Record):
    """A value that was not given: its key, the value assumed, and why or from where."""

    key: str
    value: str
    why: str


class MonthHours(Record):
    """When the lamp of a zone is on in each month, January first: as picked where the sun comes in."""

    zone: Name
    lit: tuple[tuple[tuple[int, int], ...], ...]


class Held(Record):
    """Settings that applied from a day on: hours, air, lamps and readings, as the file had them then.

    ``since`` is None for the first settings; ``canopy_m`` is the distance from the lamp by zone and bed, None
    where a bed has none of its own.
    """

    since: date | None
    zones: tuple[Zone, ...]
    fixtures: tuple[Fixture, ...]
    readings: tuple[Reading, ...]
    month_hours: tuple[MonthHours, ...]
    canopy_m: dict[str, dict[str, float | None]]


class History(Record):
    """Past settings, as the plans recorded them, and those of the file today (from ``now.since`` on)."""

    held: tuple[Held, ...]
    now: Held
    begun: Begun | None = None


class Space(Record):
    """A whole space file, with every default that was filled in listed in ``assumed``.

    ``measured_air`` and ``metered`` come from the measured series, once they are read. ``history`` holds past
    settings, None if not loaded. ``horizon`` is set where start and weeks are no longer those of the file.
    ``doubts`` are values that can be meant but are most often slips.
    """

    place: Place
    zones: tuple[Zone, ...]
    beds: tuple[Bed, ...]
    fixtures: tuple[Fixture, ...]
    readings: tuple[Reading, ...]
    loads: tuple[Load, ...]
    tariff: Tariff | None
    settings: Settings
    wants: tuple[Want, ...]
    chores: tuple[Chore, ...]
    growing: tuple[Growing, ...] = ()
    seed: tuple[SeedOnHand, ...] = ()
    care: Care = Care()
    assumed: tuple[Assumption, ...] = ()
    measured_air: tuple[MeasuredAir, ...] = ()
    metered: tuple[Metered, ...] = ()
    month_hours: tuple[MonthHours, ...] = ()
    history: History | None = None
    horizon: Horizon | None = None
    doubts: tuple[Problem, ...] = ()

    @property
    def first_day(self) -> date:
        """Return the day on which the space began."""
        return self.horizon.first if self.horizon else self.settings.start

    @property
    def asked_weeks(self) -> int:
        """Return how many weeks ahead a plan reaches."""
        return self.horizon.weeks if self.horizon else self.settings.weeks

    def cut_at(self, crop: str) -> float | None:
        """Return the fresh g at which the first want of a crop has it cut, None: as the crop table has it."""
        return next((want.cut_at(crop) for want in self.wants if crop in want.crops), None)

    def zone(self, name: str) -> Zone:
        """Return the zone of that name."""
        return next(zone for zone in self.zones if zone.name == name)

    def bed(self, name: str) -> Bed:
        """Return the bed of that name."""
        return next(bed for bed in self.beds if bed.name == name)


def settings_from(space: Space, since: date) -> Held:
    """Return the settings of a space file as a record that applies from a day on."""
    return Held(
        since=since,
        zones=space.zones,
        fixtures=space.fixtures,
        readings=space.readings,
        month_hours=space.month_hours,
        canopy_m={
            zone.name: {bed.name: bed.lamp_to_canopy_m for bed in space.beds if bed.zone == zone.name}
            for zone in space.zones
        },
    )


def photoperiod_h(zone: Zone) -> float:
    """Return the hours of lamp light a day: given as such, or the sum of its lit stretches."""
    if zone.photoperiod_h is not None:
        return zone.photoperiod_h
    return sum(stretch_hours(stretch) for stretch in zone.lit or ())
