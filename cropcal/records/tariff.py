"""The price of power as the user gives it, the range of a bill, and bills that were noted."""

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from cropcal.records.base import DayStretch, Record
from cropcal.records.values import Currency, Day, Many, Name, Weekday

Price = Annotated[float, Field(ge=0, le=1000)]
Energy = Annotated[float, Field(gt=0, le=1_000_000)]


class Block(Record):
    """A price for a part of a month's use: up to so many kWh since the month began, or all above."""

    up_to_kwh: Energy | None = None
    per_kwh: Price


class Rate(Record):
    """A price per kWh, or one by blocks; without hours, days and months the base, others override it."""

    name: Name = "base"
    per_kwh: Price | None = None
    blocks: Annotated[tuple[Block, ...], Many] | None = None
    hours: Annotated[tuple[DayStretch, ...], Many] | None = None
    days: Annotated[tuple[Weekday, ...], Many] | None = None
    months: Annotated[tuple[Annotated[int, Field(ge=1, le=12)], ...], Many] | None = None

    @property
    def is_base(self) -> bool:
        """Return whether the rate applies whenever no other does."""
        return self.hours is None and self.days is None and self.months is None


class Tariff(Record):
    """What the power costs; holidays are priced as Sundays."""

    currency: Currency | None = None
    standing_per_day: Annotated[float, Field(ge=0, le=1_000_000)] = 0.0
    standing_per_month: Annotated[float, Field(ge=0, le=1_000_000)] = 0.0
    tax_percent: Annotated[float, Field(ge=0, le=100)] = 0.0
    prices_include_tax: bool = False
    other_use_kwh_per_month: Annotated[float, Field(ge=0, le=1_000_000)] = 0.0
    holidays: Annotated[tuple[Day, ...], Many] = ()
    round: Literal["total", "line"] | None = None
    rate: Annotated[tuple[Rate, ...], Many]


class PowerRange(Record):
    """Energy and cost, each with the range that should hold in four cases of five; no tariff: cost None."""

    kwh: float
    kwh_low_80: float
    kwh_high_80: float
    cost: float | None = None
    cost_low_80: float | None = None
    cost_high_80: float | None = None


class BillRange(Record):
    """The range of a bill: by month ("2027-01"), in all, and of a mean month."""

    months: dict[str, PowerRange]
    in_all: PowerRange
    a_month: PowerRange


class NotedBill(Record):
    """A bill that was noted, held against what the space should have cost.

    Attributes
    ----------
    id
        Of its line in the journal.
    first, last
        The days of its month on which the space was in use, both counted; ``first`` is later than ``last``
        where there is none.
    amount, kwh
        What it came to, and the energy that it counts; None where not noted.
    computed
        What watts, hours and prices of the file come to; None where nothing is computed for these days.
    cost_low, cost_high
        Between which the amount agrees: for the energy noted if it is, else for the computed range.
    causes
        Likely causes of a difference, the likeliest first; none where it agrees.
    instead_of
        Ids of bills of the same month that were noted before and do not count.
    """

    id: str
    first: date
    last: date
    amount: float | None
    kwh: float | None
    computed: PowerRange | None
    cost_low: float | None = None
    cost_high: float | None = None
    causes: tuple[str, ...] = ()
    instead_of: tuple[str, ...] = ()

    @property
    def month(self) -> str:
        """Return the month like "2027-02"."""
        return f"{self.last:%Y-%m}"
