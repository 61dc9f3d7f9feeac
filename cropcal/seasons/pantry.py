"""What is cut and not yet eaten, by the last day on which it is good; the oldest is eaten first."""

import numpy as np

from cropcal.seasons.world import FloatArray


class Pantry:
    """Stock of one want in each drawn season, by its last good day."""

    def __init__(self, seasons: int) -> None:
        self._stock: dict[int, FloatArray] = {}
        self.wasted = np.zeros(seasons)

    def put(self, last_day: int, amount: FloatArray) -> None:
        """Keep an amount, (seasons,), until its last good day."""
        before = self._stock.get(last_day)
        self._stock[last_day] = amount if before is None else before + amount

    def eat(self, day: int, most: FloatArray) -> FloatArray:
        """Throw away what is not good on a day, then eat at most so much, and return what was eaten."""
        for last in sorted(self._stock):
            if last < day:
                self.wasted = self.wasted + self._stock.pop(last)
        eaten = np.zeros_like(most)
        for last in sorted(self._stock):
            taken = np.minimum(self._stock[last], most - eaten)
            eaten = eaten + taken
            self._stock[last] = self._stock[last] - taken
        return eaten

    @property
    def left(self) -> FloatArray:
        """Return what is still kept, (seasons,)."""
        return np.asarray(sum(self._stock.values(), np.zeros_like(self.wasted)))
