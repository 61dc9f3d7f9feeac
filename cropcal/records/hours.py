"""Which hours a lamp should be on: every choice, the pick, and why; what controllers are set to."""

from datetime import date
from typing import Final, Literal

from pydantic import Field

from cropcal.records.base import Record
from cropcal.records.crop import Unit
from cropcal.records.space import Assumption

Suit = Literal["right", "slow", "unknown", "burn", "bolt", "hot", "dark", "glare", "air"]
"""How hours suit a crop, from best to worst: right; slow; no published limit for so long a day; leaf tips may
burn; it bolts; too hot while the lamp is on; too dark; far too bright; air too hot or cold."""
SUITS: tuple[Suit, ...] = ("right", "slow", "unknown", "burn", "bolt", "hot", "dark", "glare", "air")

LAMP_ON: Final = "lamp on"
LAMP_OFF: Final = "lamp off"
LAMP_OUTPUT: Final = "lamp output"
OF_LAMP: Final = (LAMP_ON, LAMP_OFF, LAMP_OUTPUT)
"""What the timer of a lamp is set to; a stretch of light has one row of each."""
CLOCK: Final = "h:min"
"""The unit of a time of day, like "06:30"."""


def hours_key(zone: str) -> str:
    """Return the key of the assumption that the lamp hours of a zone were picked: the file gives none."""
    return f"hours of {zone}"


class HoursChoice(Record):
    """One timer setting: its light, yield and cost. Money is None without a tariff.

    ``kwh_per_month`` and ``cost_per_month`` are the lamps' alone, in a month of 30.4 days. By crop, over all
    its sites in the zone: ``suits``; days from sowing to harvest, amount a week that the sites can give
    (sites / days on site), power for one more unit, each only where the crop is ever ready.
    """

    photoperiod_h: float
    lit: tuple[tuple[int, int], ...]
    output: float
    day_seen_h: float
    dli_mol_m2_d: float
    kwh_per_month: float
    cost_per_month: float | None
    quiet_h_per_week: float
    suits: dict[str, Suit]
    harvest_days: dict[str, float]
    per_week: dict[str, float]
    kwh_per_unit: dict[str, float]
    cost_per_unit: dict[str, float]
    problems: tuple[str, ...]


class HoursSpan(Record):
    """A range of hours of light a day over which the suitability of a crop is the same."""

    from_h: float
    to_h: float
    suit: Suit


class CropHours(Record):
    """The needs of one crop (or of the seedlings) in hours of one zone, at the picked output."""

    crop: str
    name: str
    unit: Unit | None
    sites: int
    longest_h: float | None
    longest_why: str
    longest_source: str
    chance: float
    spans: tuple[HoursSpan, ...]
    cheapest_h: float | None


class LampLength(Record):
    """One length of the lamp's day in a zone, with sowings of its own, in drawn seasons.

    Of ``wanted_want_weeks``, ``short_want_weeks`` are expected to be missing: ``over_best`` more than at the
    length with least, with the standard error of that difference. Kilowatt hours and cost: all power of the
    space in a month of 30.4 days, as billed; None without a tariff. ``slowest``: the crop slowed most, and
    its days to harvest over its fewest. ``picked``: as without seasons; ``chosen``: by them.
    """

    setting: HoursChoice
    short_want_weeks: float
    wanted_want_weeks: int
    over_best: float
    over_best_sd: float
    cells: int
    kwh_per_month: float
    cost_per_month: float | None
    slowest: str
    times_fewest_days: float
    picked: bool
    chosen: bool


class ZoneHours(Record):
    """One zone: the pick, the present hours (None: the file gives none), every choice, every crop.

    ``fitting``: the settings, shortest first, that suit the crops as well as the pick, at its output; empty
    where the file gives the hours, or there is a window. ``lengths``: some of them in drawn seasons.
    ``by_month``: where the timer is set by the month, its hours and why, in words; ``pick`` is then the best
    that is never changed. ``fewest_days``: of each crop to harvest, under this lamp, with hours that lose
    none; leaf tips may burn.
    ``quiet``: minutes of the day, from and to, that are quiet on any weekday. ``price_by_quarter``: mean
    price of a kWh in each quarter hour of the day, with tax; empty without a tariff. ``season_saves``: share
    of the lamp's cost saved by resetting the timer as prices change; 0 if that does not pay. ``window``:
    there is daylight too, and the light of a choice is the lamp's alone.
    """

    zone: str
    pick: HoursChoice
    now: HoursChoice | None
    choices: tuple[HoursChoice, ...]
    crops: tuple[CropHours, ...]
    suits_all: bool
    why: str
    pays: tuple[str, ...]
    cures: tuple[str, ...]
    warnings: tuple[str, ...]
    quiet: tuple[tuple[int, int], ...]
    price_by_quarter: tuple[float, ...]
    season_saves: float = 0.0
    window: bool = False
    fitting: tuple[HoursChoice, ...] = ()
    fewest_days: dict[str, float] = Field(default_factory=dict)
    lengths: tuple[LampLength, ...] = ()
    by_month: tuple[str, ...] = ()


class TimerLine(Record):
    """One setting of a timer, from a date on."""

    zone: str
    start: date
    on: int
    off: int
    output: float


class SetPoint(Record):
    """One value that something in a zone is set to.

    ``zone`` is "" for what serves all zones. ``value`` is a number of ``unit``, or a text such as "06:30"
    (of unit "h:min") or "always on" (of none). ``start``: the day from which it holds, None: all the time.
    ``note`` says where it comes from.
    """

    zone: str
    what: str
    value: float | str
    unit: str
    start: date | None = None
    note: str = ""


class HoursAdvice(Record):
    """The whole result of ``cropcal photoperiod``."""

    place: str
    currency: str | None
    zones: tuple[ZoneHours, ...]
    timers: tuple[TimerLine, ...]
    cautions: tuple[str, ...]
    assumptions: tuple[Assumption, ...]
