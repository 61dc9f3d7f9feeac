"""Seed that is there already."""

from typing import Annotated

from pydantic import Field

from cropcal.records.base import Record
from cropcal.records.values import Day, Name


class SeedOnHand(Record):
    """Seed of a crop that need not be bought: how many seeds, or g of it; ``year`` in which it was packed.

    ``counted`` is the day on which there was so much of it, None: the first day. Later sowings use it up.
    """

    crop: Name
    seeds: Annotated[int, Field(ge=1, le=10_000_000)] | None = None
    g: Annotated[float, Field(gt=0, le=100_000)] | None = None
    year: Annotated[int, Field(ge=1990, le=2199)] | None = None
    counted: Day | None = None
