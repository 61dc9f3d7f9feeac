"""What is eaten of what is cut: each week what it wants, the oldest first, never beyond its days."""

import numpy as np

from cropcal.seasons.world import NEVER, BoolArray, Delivery, FloatArray, IntArray, World

TRIFLE = 0.01
"""Share of a week's amount too small to count as missing."""


class Pantry:
    """Stock of one want in each drawn season, by its last good day."""

    def __init__(self, seasons: int) -> None:
        self.stock: dict[int, FloatArray] = {}
        self.wasted = np.zeros(seasons)

    def put(self, last_day: int, amount: FloatArray) -> None:
        """Keep an amount, (seasons,), until its last good day."""
        before = self.stock.get(last_day)
        self.stock[last_day] = amount if before is None else before + amount

    def eat(self, day: int, most: FloatArray) -> FloatArray:
        """Throw away what is not good on a day, then eat at most so much, and return what was eaten."""
        for last in sorted(self.stock):
            if last < day:
                self.wasted = self.wasted + self.stock.pop(last)
        eaten = np.zeros_like(most)
        for last in sorted(self.stock):
            taken = np.minimum(self.stock[last], most - eaten)
            eaten = eaten + taken
            self.stock[last] = self.stock[last] - taken
        return eaten

    @property
    def left(self) -> FloatArray:
        """Return what is still kept, (seasons,)."""
        return np.asarray(sum(self.stock.values(), np.zeros_like(self.wasted)))


class Kitchen:
    """What is eaten of each want in each week, (wants, weeks, seasons), and what is kept or wasted."""

    def __init__(self, world: World) -> None:
        self.world = world
        wants, self.weeks = world.wanted.shape
        self._wants = np.arange(wants)
        self.eaten = np.zeros((wants, self.weeks, world.seasons))
        self.pantries = [Pantry(world.seasons) for _ in range(wants)]
        self.spoilt = np.zeros((wants, world.seasons))
        self.serves = np.full((wants, world.days), NEVER, dtype=np.int64)
        for kind in world.kinds:
            self.serves[kind.want] = np.maximum(self.serves[kind.want], kind.serves)
        days = np.flatnonzero(world.harvest)
        self.last_visit = np.zeros((wants, world.days), dtype=bool)
        for want in range(wants):
            week = self.serves[want, days]
            self.last_visit[want, days] = (week != np.append(week[1:], NEVER)) & (week != NEVER)

    def begin_week(self, week: int) -> None:
        """Eat what was kept, as far as the week wants it."""
        for want, pantry in enumerate(self.pantries):
            self.eaten[want, week] += pantry.eat(week * 7, self.need(want, week))

    def need(self, want: int, week: int) -> FloatArray:
        """Return what a week still wants, (seasons,)."""
        if not 0 <= week < self.weeks:
            return np.zeros(self.world.seasons)
        return np.asarray(np.maximum(self.world.wanted[want, week] - self.eaten[want, week], 0.0))

    def lacking(self, day: int) -> FloatArray:
        """Return what the week that each want's cut on a day serves still wants, (wants, seasons)."""
        week, counts = self._week(day)
        left = self.world.wanted[self._wants, week][:, None] - self.eaten[self._wants, week]
        return np.asarray(np.maximum(left, 0.0) * counts[:, None])

    def enough(self, day: int) -> FloatArray:
        """Return the amounts for which nobody cuts another plant on a day, (wants,)."""
        week, counts = self._week(day)
        return np.asarray(TRIFLE * self.world.wanted[self._wants, week] * counts)

    def _week(self, day: int) -> tuple[IntArray, BoolArray]:
        """Return the week that a cut of each want on a day serves, and whether it is one of the plan's."""
        week = self.serves[:, day]
        counts = (week >= 0) & (week < self.weeks)
        return np.where(counts, week, 0), counts

    def deliver(self, cut: Delivery) -> None:
        """Eat of what was cut before the first day what its week wants, and keep the rest."""
        week = int(self.serves[cut.want, cut.day])
        amount = np.full(self.world.seasons, cut.amount)
        self.take(cut.want, week, cut.day, cut.last_good - cut.day, amount)

    def take(self, want: int, week: int, day: int, keeps_d: int, amount: FloatArray) -> None:
        """Eat of an amount, (seasons,), what the week wants, and keep the rest as long as it keeps."""
        now = np.minimum(amount, self.need(want, week))
        if 0 <= week < self.weeks:
            self.eaten[want, week] += now
        kept = amount - now
        if kept.any():
            self.pantries[want].put(day + keeps_d, kept)

    @property
    def wasted(self) -> FloatArray:
        """Return what was cut, or went over, and was not eaten, (wants, seasons)."""
        return np.stack([pantry.wasted + pantry.left for pantry in self.pantries]) + self.spoilt
