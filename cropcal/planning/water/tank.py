"""A tank over a plan: how long it lasts, when it is topped up, when its solution is changed."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise

from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, WorkCalendar
from cropcal.planning.water.use import Array
from cropcal.records.plan import Job
from cropcal.records.space import Chore, Zone
from cropcal.records.water import MOST_DAYS, Tank
from cropcal.science import water
from cropcal.units import rough_range

CHANGES = ("solution", "nutrient")
"""Words in the name of a chore of the file by which it is a change of the solution."""


@dataclass(frozen=True, eq=False)
class TankYear:
    """The tank of a zone over the days of a calendar: volume, and litres used each day, (days,) each."""

    zone: Zone
    tank_l: float
    low: Array
    middle: Array
    high: Array
    time: WorkCalendar

    @property
    def visits(self) -> list[int]:
        """Return the days on which somebody is there."""
        return sorted({*self.time.work_days.tolist(), *self.time.harvest_days.tolist()})

    def _in_weeks(self, litres: Array) -> Array:
        by_week: Array = litres.reshape(-1, DAYS_PER_WEEK).mean(axis=1)
        return by_week

    @property
    def change_every_d(self) -> int:
        """Return the days between two changes of the solution, by the thirstiest week."""
        return water.change_every_d(self.tank_l, float(self._in_weeks(self.middle).max(initial=0.0)))

    def summary(self) -> Tank:
        """Return how the tank fares."""
        thirstiest = int(self._in_weeks(self.middle).argmax()) if len(self.middle) else 0
        use = [float(self._in_weeks(litres)[thirstiest]) for litres in (self.high, self.low)]
        lasts = [min(float(water.tank_days(self.tank_l, litres)), MOST_DAYS) for litres in use]
        away = max(self._stretches(), key=lambda stretch: stretch[2], default=None)
        if away is None:
            return Tank(
                tank_l=self.tank_l, lasts_low_d=lasts[0], lasts_high_d=lasts[1],
                change_every_d=self.change_every_d,
            )  # fmt: skip
        first, last, used = away
        return Tank(
            tank_l=self.tank_l,
            lasts_low_d=lasts[0],
            lasts_high_d=lasts[1],
            change_every_d=self.change_every_d,
            away=(self.time.date_of(first), self.time.date_of(last)),
            away_too_long=used > (1 - water.PUMP_NEEDS) * self.tank_l,
        )

    def _stretches(self) -> Iterator[tuple[int, int, float]]:
        """Yield each stretch without a visit: its first and last day, and the litres used at most."""
        visits = [*self.visits, self.time.days]
        for before, after in pairwise(visits):
            if after - before > 1:
                yield before + 1, after - 1, float(self.high[before:after].sum())

    def jobs(self, chores: tuple[Chore, ...]) -> Iterator[Job]:
        """Yield topping up and changing, on days on which somebody is there.

        A tank is topped up where it may fall below half before the next visit. The file's own chore of
        changing the solution stands in place of ours.
        """
        own = any(word in chore.name.casefold() for chore in chores for word in CHANGES)
        visits = [*self.visits, self.time.days]
        filled = changed = 0
        for day, after in pairwise(visits):
            grows = self.middle[day:after].sum() > 0
            if not self.middle[:day].any():  # first filled when anything is sown
                filled = changed = day
            if not own and grows and water.is_stale(day - changed, self.middle[changed:day], self.tank_l):
                yield self._job(day, f"change the solution of {self.zone.name}: {self.tank_l:g} litres")
                filled = changed = day
            elif grows and self.high[filled:after].sum() > water.TOP_UP_AT * self.tank_l:
                low, high = (float(litres[filled:day].sum()) for litres in (self.low, self.high))
                if high >= 0.05 * self.tank_l:
                    amount = rough_range(low, min(high, self.tank_l))
                    yield self._job(day, f"top up the tank of {self.zone.name}: about {amount} litres")
                    filled = day

    def _job(self, day: int, note: str) -> Job:
        on = self.time.start + timedelta(days=day)
        return Job(on=on, job="chore", batch="", crop="", bed="", sites="", amount=None, unit="", note=note)
