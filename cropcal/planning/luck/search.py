"""Search for sowings: small changes, kept when they pay in drawn seasons that all choices share.

A round draws changes and screens them in few seasons; the best of them, one after another on top of each
other, are decided on in many. The number of trials does not depend on the clock: the same input gives the
same sowings, unless the search is stopped.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from cropcal.planning.luck.moves import Move, Moves
from cropcal.planning.luck.score import Scorer
from cropcal.planning.luck.sowings import Sown, changed
from cropcal.seasons.world import FloatArray

TRIED = 47
"""Changes that are screened in a round."""
DECIDED = 12
"""Of these, how many are decided on together; the best few also alone."""
ALONE = 4
SMALL_GAIN, SMALL_SHARE = 0.02, 0.002
"""Gain of the last rounds at which the search ends: want-weeks, or a part of the score, whichever is more."""
LAST_ROUNDS = 6

Progress = Callable[[float, int], None]
"""Called with the best score and the trials so far."""


@dataclass(frozen=True, eq=False)
class Found:
    """Sowings that were found, their score and that of the start, and how the search went."""

    sown: Sown
    score: float
    start_score: float
    trials: int
    last_trials: int
    last_gain: float
    stopped: bool


@dataclass(frozen=True, eq=False)
class Search:
    """A search; the last stage of the scorer decides, the others screen, one a round in turn.

    ``kept`` are sowings from which each changed cell costs ``calm``: those of the last plan.
    """

    scorer: Scorer
    seed: int
    kept: Sown | None = None
    calm: float = 0.0
    stop: Callable[[], bool] | None = None
    progress: Progress | None = None

    def best_of(self, choices: list[Sown]) -> tuple[Sown, float]:
        """Return the best of some choices, and its score."""
        scores = self._decided(choices)
        best = int(np.argmin(scores))
        return choices[best], float(scores[best])

    def improved(self, start: Sown, rounds: int) -> Found:
        """Return the best sowings found from a start in so many rounds at most."""
        moves = Moves(self.scorer.slots, self.seed)
        sown, start_score = self.best_of([start])
        history, stopped = [start_score], False
        for number in range(rounds):
            if self.stop is not None and self.stop():
                stopped = True
                break
            sown, score = self._round(sown, moves, number)
            history.append(score)
            if self.progress is not None:
                self.progress(score, TRIED * (len(history) - 1))
            if self._hardly_gains(history):
                break
        last = history[max(len(history) - 1 - LAST_ROUNDS, 0)]
        return Found(
            sown=sown,
            score=history[-1],
            start_score=start_score,
            trials=TRIED * (len(history) - 1),
            last_trials=TRIED * min(len(history) - 1, LAST_ROUNDS),
            last_gain=last - history[-1],
            stopped=stopped,
        )

    def _round(self, sown: Sown, moves: Moves, number: int) -> tuple[Sown, float]:
        tried: list[Move] = []
        choices: list[Sown] = [sown]
        for move in moves.draw(sown, TRIED):
            after = move.applied(sown)
            if after is not None:
                tried.append(move)
                choices.append(after)
        screens = max(len(self.scorer.stages) - 1, 1)
        scores = self._with_calm(choices, self.scorer.scores(choices, number % screens).mean(axis=1))
        order = np.argsort(scores[1:], kind="stable")
        better = [int(at) for at in order if scores[1 + at] < scores[0]][:DECIDED]
        if not better:
            return self.best_of([sown])
        together = [sown]
        for at in better:
            after = tried[at].applied(together[-1])
            if after is not None:
                together.append(after)
        return self.best_of([*together, *(choices[1 + at] for at in better[1 : 1 + ALONE])])

    def _decided(self, choices: list[Sown]) -> FloatArray:
        return self._with_calm(choices, self.scorer.scores(choices, len(self.scorer.stages) - 1).mean(axis=1))

    def _with_calm(self, choices: list[Sown], scores: FloatArray) -> FloatArray:
        if self.kept is None or not self.calm:
            return scores
        return scores + self.calm * np.array([changed(self.kept, sown) for sown in choices])

    def _hardly_gains(self, history: list[float]) -> bool:
        if len(history) <= LAST_ROUNDS:
            return False
        return history[-1 - LAST_ROUNDS] - history[-1] < max(SMALL_GAIN, SMALL_SHARE * history[-1])
