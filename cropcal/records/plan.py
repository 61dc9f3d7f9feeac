"""A plan: batches, jobs, supply, sites, bill, and how good it is."""

from datetime import date
from math import exp, hypot
from typing import Annotated, Final, Literal

from pydantic import Field

from cropcal.records.base import Days, Record
from cropcal.records.chances import Choice, Expected, Habit, Searched, SowMore
from cropcal.records.crop import Unit
from cropcal.records.daylight import HALVES, HalfMonth
from cropcal.records.fit import Cures, Fit, LightCheck
from cropcal.records.hazard import FOOD_GRADE, Caution
from cropcal.records.replan import Replan
from cropcal.records.space import Assumption
from cropcal.records.tariff import BillRange, NotedBill
from cropcal.records.water import StoppedPump, ZoneWater
from cropcal.units import MOL_PER_UMOL_H, Z_80

JobName = Literal["sow", "plant", "thin", "transplant", "cut", "clear", "chore", "check"]


class Narrowing(Record):
    """A measurement that would narrow a bed's light, and the spread (sd of ln PPFD) after it."""

    find: str
    sd_ln: float


class BedLight(Record):
    """PPFD over one bed when it is planted, its source, and its uncertainty.

    ``sites_known`` is false where one mean stands for all sites. ``lamp_to_canopy_m`` is the distance from
    the nearest lamp down to the leaves of newly planted plants (about the rim of the pots or trays), None if
    it is not given; grown plants are nearer by their height. All of this is the lamp's light alone: where the
    sun comes in, ``halves`` holds its part in each half month of the year, with the spread ``sd_ln_sun``.
    ``lamp_factor``: the lamp's data times this, as readings over other beds under it have it. ``slips`` are
    readings that cannot be right, here or over a neighbour.
    """

    bed: str
    zone: str
    source: Literal["readings", "lux meter", "phone lux", "spec sheet", "watts", "daylight"]
    how: str
    sd_ln: float
    photoperiod_h: float
    site_ppfd_umol_m2_s: tuple[float, ...]
    assumed: tuple[Assumption, ...] = ()
    sites_known: bool = True
    lamp_to_canopy_m: float | None = None
    lamp_clearance_m: float | None = None
    narrower: tuple[Narrowing, ...] = ()
    check: LightCheck | None = None
    warnings: tuple[str, ...] = ()
    slips: tuple[str, ...] = ()
    lamp_factor: float = 1.0
    halves: tuple[HalfMonth, ...] = ()
    sd_ln_sun: float = 0.0

    @property
    def ppfd_umol_m2_s(self) -> float:
        """Return the mean over the sites."""
        return sum(self.site_ppfd_umol_m2_s) / len(self.site_ppfd_umol_m2_s)

    @property
    def uniformity_min_over_mean(self) -> float | None:
        """Return the darkest site's share of the mean; None where single sites are not known."""
        if not self.sites_known or self.ppfd_umol_m2_s <= 0:
            return None
        return min(self.site_ppfd_umol_m2_s) / self.ppfd_umol_m2_s

    @property
    def range_80_umol_m2_s(self) -> tuple[float, float]:
        """Return the 80 % range of the mean over the sites."""
        factor = exp(Z_80 * self.sd_ln)
        return self.ppfd_umol_m2_s / factor, self.ppfd_umol_m2_s * factor

    def dli_mol_m2_d(self, ppfd_umol_m2_s: float | None = None) -> float:
        """Return the daily light integral at the bed's photoperiod (of the mean, if no PPFD is given)."""
        ppfd = self.ppfd_umol_m2_s if ppfd_umol_m2_s is None else ppfd_umol_m2_s
        return ppfd * self.photoperiod_h * MOL_PER_UMOL_H

    def with_sun_mol_m2_d(self, half: int) -> float:
        """Return the daily light integral of lamp and sun in a half month; the lamp's without a window."""
        if not self.halves:
            return self.dli_mol_m2_d()
        now = self.halves[half]
        return self.ppfd_umol_m2_s * now.lamp_h * MOL_PER_UMOL_H + now.sun_mol_m2_d

    @property
    def months_with_sun_mol_m2_d(self) -> tuple[float, ...]:
        """Return the daily light integral of lamp and sun in each month; empty without a window."""
        halves = [self.with_sun_mol_m2_d(half) for half in range(len(self.halves))]
        return tuple((first + second) / 2 for first, second in zip(halves[::2], halves[1::2], strict=True))

    @property
    def sd_ln_all(self) -> float:
        """Return the spread of ln light over a year, lamp and sun together."""
        if not self.halves:
            return self.sd_ln
        return sum(self.sd_ln_with_sun(half) for half in range(HALVES)) / HALVES

    def sd_ln_with_sun(self, half: int) -> float:
        """Return the spread of ln light in a half month: the errors of lamp and sun are independent."""
        total = self.with_sun_mol_m2_d(half)
        if not self.halves or total <= 0:
            return self.sd_ln
        sun = self.halves[half].sun_mol_m2_d
        return hypot(self.sd_ln * (total - sun), self.sd_ln_sun * sun) / total


MOST_EACH: Final = 4
"""Most sites that one plant is given: with more a crop does not belong in that bed (assumed)."""


class Harvest(Record):
    """One cutting of some sites of a batch on one day; in four seasons of five it falls in ``on_80``."""

    on: date
    cut: int
    sites: int
    amount: float
    amount_low_80: float
    amount_high_80: float
    on_80: Days | None = None


class SiteUse(Record):
    """One site held by one batch, from planting until clearing, and the days on which it is cut.

    ``empty_for``: the site whose plant needs this one left empty beside it; 0: a plant stands here.
    """

    bed: str
    site: int
    batch: str
    crop: str
    held_from: date
    held_until: date
    cuts: tuple[date, ...]
    empty_for: int = 0

    @property
    def planted(self) -> bool:
        """Return whether a plant (clump) stands here."""
        return not self.empty_for


class Batch(Record):
    """One sowing of one crop for one group of sites of one bed.

    With ``plug_age_d`` it is one planting of bought plants of that age, on ``sow_on``. ``sites`` are those
    with a plant; each holds ``sites_each`` sites, its own and those left empty beside it.
    ``cut_at_g``: fresh g of a plant at which it is cut, None: as the crop table has it.
    ``moved_80``: days between which it is moved in four seasons of five, None: not known.
    """

    id: str
    want: int
    crop: str
    bed: str
    nursery: str | None
    sow_on: date
    emerge_on: date
    transplant_on: date | None
    ready_from: date
    ready_from_low_80: date
    ready_from_high_80: date
    ready_until: date
    clear_on: date
    sites: int
    cells: int
    seeds: int
    unit: Unit
    harvests: tuple[Harvest, ...]
    plug_age_d: int | None = None
    cut_at_g: float | None = None
    sites_each: Annotated[int, Field(ge=1, le=MOST_EACH)] = 1
    moved_80: Days | None = None

    @property
    def held_sites(self) -> int:
        """Return the sites it holds, those left empty between its plants included."""
        return self.sites * self.sites_each

    @property
    def planted_on(self) -> date:
        """Return the day from which the batch holds its sites."""
        return self.transplant_on or self.sow_on

    @property
    def amount(self) -> float:
        """Return the yield of all its cuts."""
        return sum(harvest.amount for harvest in self.harvests)


class Job(Record):
    """Something to do on one day, or between the days of ``likely`` (four seasons of five).

    ``any_site``: it may go into any free site of its bed; ``sites`` are those of the middle season.
    ``eat_by``: the last day on which what is cut is to be eaten, if known.
    """

    on: date
    job: JobName
    batch: str
    crop: str
    bed: str
    sites: str
    amount: float | None
    unit: str
    note: str
    eat_by: date | None = None
    likely: Days | None = None
    any_site: bool = False


class SeedOrder(Record):
    """Seed of one crop to order by a day: for all sowings from ``sow_from`` to ``sow_until``.

    ``seeds`` are to be bought, with spare ones for those that do not come up; ``on_hand`` are taken from seed
    that is there, ``packed`` the years of that. ``plugs`` are cells or pots to fill. With no seed at all they
    are bought young plants. ``food_grade``: what comes up is eaten as it is, so the seed must be untreated.
    """

    crop: str
    order_by: date
    sow_from: date
    sow_until: date
    seeds: int
    plugs: int
    weight_g: float
    on_hand: int = 0
    packed: tuple[int, ...] = ()
    food_grade: bool = False

    @property
    def is_plants(self) -> bool:
        """Return whether these are young plants and no seed."""
        return not self.seeds and not self.on_hand

    @property
    def note(self) -> str:
        """Return what kind of seed it must be, "" where any will do."""
        return FOOD_GRADE if self.food_grade and not self.is_plants else ""


NOT_WANTED = "not wanted then"
"""Why a week does not count in which nobody wants a crop."""


class Supply(Record):
    """One want in one week. ``counted`` is false in weeks that cannot or need not be met (``why``).

    ``ready`` is the amount to eat: the cuts of the week, plus what was kept ``from_before``, less what is
    kept ``for_later`` weeks. ``short`` and ``over`` compare it with ``wanted``.
    ``aimed_at`` is what the plan aims at: the same, but also just before the first week that is promised.
    A want without a number takes as much as fits: ``wanted`` is what the plan aims at, it is never short.
    ``on`` is the day of that week for which it is wanted, where it is for a day.
    ``chance`` is the probability that the wanted amount is there to eat that week, None where nothing is
    wanted; ``in_8_of_10`` the amount that is eaten in at least so many seasons.
    """

    week: date
    want: int
    label: str
    wanted: float
    ready: float
    short: float
    over: float
    unit: Unit
    counted: bool
    why: str
    aimed_at: float = 0.0
    from_before: float = 0.0
    for_later: float = 0.0
    on: date | None = None
    chance: float | None = None
    in_8_of_10: float | None = None


class BillLine(Record):
    """kWh and money of one user of power at one rate in one calendar month."""

    month: str
    what: str
    zone: str
    rate: str
    kwh: float
    cost: float | None


class UnitCost(Record):
    """Power for one more unit of a crop in one bed: its share of the lamp while it grows there."""

    crop: str
    bed: str
    unit: Unit
    kwh_per_unit: float
    cost_per_unit: float | None


class Steady(Record):
    """The largest steady supply of one want that the space could give, and its first weeks.

    ``first_week`` is the first possible, ``promised_week`` the first that 8 of 10 growers reach.
    """

    want: int
    label: str
    wanted_per_week: float | None
    alone_per_week: float
    in_mix_per_week: float
    unit: Unit
    first_week: date | None = None
    promised_week: date | None = None


class Outcome(Record):
    """How the search ended, for a season in which everything grows as forecast.

    ``value`` and ``bound`` are the weighted objective, ``gap`` relative to value.

    ``power_cost`` is the batches' share of the power while they grow, ``site_day_cost`` the cost of one site
    (or nursery cell) of each bed a day: money, or kWh without a tariff. ``cost_unit`` is the usual cost of
    one weekly want, the unit in which the score measures power.
    """

    status: Literal["proven", "time limit", "interrupted", "empty", "steady rule", "searched"]
    seconds: float
    value: float
    bound: float
    gap: float
    short_want_weeks: float
    bound_want_weeks: float
    terms: dict[str, float]
    power_cost: float
    site_day_cost: dict[str, float]
    steady: tuple[Steady, ...]
    cost_unit: float = 1.0


class SeasonPlan(Record):
    """The whole result of ``cropcal plan``; ``first_day`` of the season, which may be before ``start``.

    ``cautions`` are the general ones in words, ``care`` those that hold in this space.
    """

    place: str
    start: date
    weeks: int
    currency: str | None
    work_days: tuple[date, ...]
    batches: tuple[Batch, ...]
    jobs: tuple[Job, ...]
    supply: tuple[Supply, ...]
    sites: tuple[SiteUse, ...]
    bill: tuple[BillLine, ...]
    unit_costs: tuple[UnitCost, ...]
    lights: tuple[BedLight, ...]
    fits: tuple[Fit, ...]
    outcome: Outcome
    warnings: tuple[str, ...]
    cautions: tuple[str, ...]
    assumptions: tuple[Assumption, ...]
    care: tuple[Caution, ...] = ()
    again: Replan | None = None
    expected: Expected | None = None
    habits: tuple[Habit, ...] = ()
    choices: tuple[Choice, ...] = ()
    searched: Searched | None = None
    sow_more: tuple[SowMore, ...] = ()
    first_day: date | None = None
    bill_range: BillRange | None = None
    noted_bills: tuple[NotedBill, ...] = ()
    cures: Cures = Cures()
    water: tuple[ZoneWater, ...] = ()
    stopped_pumps: tuple[StoppedPump, ...] = ()
