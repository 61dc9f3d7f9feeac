"""Search for sowings: small changes, kept when they pay in drawn seasons that all choices share.

The search goes through the season again and again, some weeks at a time: what is sown from a day on changes
nothing before it, so that a change is tried from that day on. A round draws changes and screens them in few
seasons, over the weeks in which they matter most; the best of them, one after another on top of each other,
are decided on in many. A short season is gone through several times a sweep, by one move at a time and by two
in turn, and screened in the seasons that decide: where there is little to choose, the best is found. The
number of trials does not depend on the clock: the same input gives the same sowings, unless the search is
stopped.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import product

import numpy as np

from cropcal.planning.luck.moves import Move, Moves
from cropcal.planning.luck.score import Scorer
from cropcal.planning.luck.sowings import Sown, changed
from cropcal.seasons.checkpoint import Checkpoint
from cropcal.seasons.world import FloatArray

TRIED = 47
"""Changes that are screened in a round."""
TOGETHER = (1, 2, 3, 4, 6, 8, 12)
"""Of these, how many of the best are decided on together."""
ALONE = 3
"""How many of the next best are decided on alone."""
WEEKS_AT_ONCE, WEEKS_ON = 7, 4
"""Weeks of sowings that a round may change, and weeks by which the next goes on."""
WEEKS_SCREENED, WEEKS_DECIDED = 12, 20
"""Weeks after these in which changes are screened, and decided on."""
ROUNDS = 8
"""Rounds of a sweep: it goes through a short season as often as fits into them."""
SMALL_GAIN, SMALL_SHARE = 0.02, 0.002
"""Gain of a sweep at which the search ends: want-weeks, or a part of the score, whichever is more."""

Progress = Callable[[float, int], None]
"""Called with the best score and the trials so far."""


@dataclass(frozen=True, eq=False)
class Found:
    """Sowings that were found, their score and that of the start, and how the search went.

    ``last_gain`` is what the last ``last_trials`` gained.
    """

    sown: Sown
    score: float
    start_score: float
    trials: int
    last_trials: int
    last_gain: float
    stopped: bool


@dataclass(frozen=True, eq=False)
class SowingSearch:
    """A search; the last stage of the scorer decides, the others screen, one a sweep in turn.

    ``kept`` are sowings from which each changed cell costs ``calm``: those of the last plan.
    """

    scorer: Scorer
    seed: int
    kept: Sown | None = None
    calm: float = 0.0
    stop: Callable[[], bool] | None = None
    progress: Progress | None = None

    def best_of(self, choices: Sequence[Sown]) -> tuple[Sown, float]:
        """Return the best of some choices, and its score."""
        scores = self._mean(choices, len(self.scorer.stages) - 1)
        best = int(np.argmin(scores))
        return choices[best], float(scores[best])

    def best(self, choices: Sequence[Sown]) -> Sown:
        """Return the best of some choices; where they are all the same, no season is run."""
        return choices[0] if all(sown == choices[0] for sown in choices) else self.best_of(choices)[0]

    def want_by_want(self, start: Sown, others: Sequence[Sown]) -> Sown:
        """Return the start with the sowings of some wants taken from the others where that is better."""
        slots, best = self.scorer.slots, start
        for want in sorted({slots.want(slot) for sown in others for slot in sown}):
            rest = {slot: cells for slot, cells in best.items() if slots.want(slot) != want}
            its = [
                {slot: cells for slot, cells in sown.items() if slots.want(slot) == want} for sown in others
            ]
            best = self.best([best, *(rest | part for part in its)])
        return best

    def improved(self, start: Sown, sweeps: int) -> Found:
        """Return the best sowings found from a start in so many sweeps through the season at most."""
        moves = Moves(self.scorer.slots, self.seed)
        days = sorted({day for its in self.scorer.slots.days.values() for day in its})
        firsts = range(days[0], days[-1] + 1, 7 * WEEKS_ON) if days else range(0)
        sown, start_score = self.best_of([start])
        score, trials, gained = start_score, 0, 0.0
        stopped, tired, last_trials = False, set[int](), 0
        decide, passes = len(self.scorer.stages) - 1, max(ROUNDS // max(len(firsts), 1), 1)
        for sweep in range(sweeps):
            gained, before = 0.0, trials
            at = _Place(self, sweep % max(decide, 1) if passes == 1 else decide)
            for number, first in product(range(passes), firsts):
                if self.stop is not None and self.stop():
                    stopped = True
                    break
                if first in tired:
                    tired.remove(first)
                    continue
                sown, gain = self._round(sown, moves, at, first, at_once=1 + number % 2)
                if not gain and passes == 1:
                    tired.add(first)
                gained += gain
                score -= gain
                trials += TRIED
                if self.progress is not None:
                    self.progress(score, trials)
            last_trials = trials - before
            if stopped or gained < max(SMALL_GAIN, SMALL_SHARE * score):
                break
        if sown is not start:
            _, score = self.best_of([sown])
        return Found(sown, score, start_score, trials, last_trials, gained, stopped)

    def _round(self, sown: Sown, moves: Moves, at: "_Place", first: int, at_once: int) -> tuple[Sown, float]:
        """Return the sowings after a round of changes from a day on, and what they gain.

        A change is one move, or two ``at_once``.
        """
        last = first + 7 * WEEKS_AT_ONCE - 1
        tried: list[tuple[Move, ...]] = []
        choices: list[Sown] = [sown]
        draws = (moves.draw(sown, TRIED, first, last) for _ in range(at_once))
        for change in zip(*draws, strict=False):
            after = _applied(change, sown)
            if after is not None:
                tried.append(change)
                choices.append(after)
        screen, decide = at.screen, len(self.scorer.stages) - 1
        scores = self._mean(choices, screen, at.checkpoint(sown, screen, first), last + 7 * WEEKS_SCREENED)
        order = np.argsort(scores[1:], kind="stable")
        better = [int(number) for number in order if scores[1 + number] < scores[0]][: TOGETHER[-1]]
        if not better:
            return sown, 0.0
        together = [sown]
        for number in better:
            after = _applied(tried[number], together[-1])
            if after is not None:
                together.append(after)
        steps = [number for number in TOGETHER if number < len(together)]
        choices = [
            *(together[number] for number in (0, *steps)),
            *(choices[1 + number] for number in better[1 : 1 + ALONE]),
        ]
        scores = self._mean(choices, decide, at.checkpoint(sown, decide, first), last + 7 * WEEKS_DECIDED)
        best = int(np.argmin(scores))
        return choices[best], float(scores[0] - scores[best])

    def _mean(
        self,
        choices: Sequence[Sown],
        stage: int,
        since: Checkpoint | None = None,
        until_day: int | None = None,
    ) -> FloatArray:
        scores = self.scorer.scores(choices, stage, since, until_day).mean(axis=1)
        if self.kept is not None and self.calm:
            scores = scores + self.calm * np.array([changed(self.kept, sown) for sown in choices])
        return np.asarray(scores, float)


def _applied(change: Sequence[Move], sown: Sown) -> Sown | None:
    """Return the sowings after the moves of a change; None: one of them has nothing to take."""
    after: Sown | None = sown
    for move in change:
        after = None if after is None else move.applied(after)
    return after


@dataclass(eq=False)
class _Place:
    """Where a sweep is: the states of the seasons on the last day that it came to."""

    search: SowingSearch
    screen: int
    known: dict[int, Checkpoint] = field(default_factory=dict)

    def checkpoint(self, sown: Sown, stage: int, day: int) -> Checkpoint:
        """Return the state of a stage on the morning of a day; an earlier one begins a new pass."""
        last = self.known.get(stage)
        if last is None or last.day != day:
            since = None if last is None or last.day > day else last
            self.known[stage] = self.search.scorer.checkpoint(sown, stage, day, since)
        return self.known[stage]
