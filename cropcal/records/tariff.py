"""The price of power as the user gives it."""

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
