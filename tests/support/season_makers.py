"""Spaces as makers of plans, with as few slots as a test can count through, and searches over them."""

from dataclasses import replace
from datetime import date
from itertools import product

import numpy as np
import small_space

from cropcal.planning.candidates.prepare import prepare
from cropcal.planning.choices import PlanMaker
from cropcal.planning.luck.drawn import SEARCH_SEED
from cropcal.planning.luck.score import Scorer, prices_of
from cropcal.planning.luck.search import SowingSearch
from cropcal.planning.luck.sowings import Slot, Slots
from cropcal.planning.realise import PlanBuilder
from cropcal.reading.space.read import read_space_text
from cropcal.records.space import Prices

ROWS = ("option", "age", "sown", "planted", "cuts", "amounts", "lows", "highs", "freed", "staleness")


def maker(text, tables, **more):
    """Return the maker of plans of a space without a past; ``more``: ``stop`` and the like."""
    space, problems = read_space_text(text, tables, today=date(2026, 12, 30))
    assert problems == [], "\n".join(map(str, problems))
    made = prepare(space, tables, open_end=space.horizon is not None)
    builder = PlanBuilder(
        made.space, made.assessment, made.candidates, made.wanted, made.serving, None, made.per_week
    )
    return PlanMaker(builder, made.task, **more)


def few_slots(slots, chosen, most_cuts=9):
    """Return the slots with no others than those chosen: (option, day), each with so many cuts at most."""
    its = slots.candidates
    firsts = [(slots.goes[option][0], day) for option, day in zip(its.option, its.sown, strict=True)]
    rows = np.array([key in chosen for key in firsts], dtype=bool) & (slots.cuts <= most_cuts)
    kept = replace(its, **{name: getattr(its, name)[rows] for name in ROWS})
    return Slots(kept, slots.time, slots.goes)


def scorer(made, seasons, prices=None, slots=None, seed=SEARCH_SEED):
    """Return a scorer of worlds with so many seasons each, the last of which decides."""
    first = len(seasons) - 1
    return Scorer(
        stages=[
            made.builder.model.stage((), {}, number, seed + (at + 1) * (at < first))
            for at, number in enumerate(seasons)
        ],
        slots=slots or made.slots,
        wants=made.builder.space.wants,
        counted=made.builder.to_come,
        per_week=made.builder.per_week,
        prices=prices_of("usual", prices or Prices()),
    )


def search(its_scorer, **more):
    """Return a search with a scorer, as plans are made with."""
    return SowingSearch(its_scorer, SEARCH_SEED, **more)


# --- tiny spaces, all of whose sowings can be counted through ---------------------------------------------

TRAYS = """
[[bed]]
name = "trays"
zone = "shelf"
kind = "tray"
sites = 2
length_m = 0.4
width_m = 0.25
"""
BASIL = '[[want]]\ncrops = ["basil"]\nper_week = 30\nunit = "g"\n'
LEAVES = TRAYS + '[[want]]\ncrops = ["lettuce-baby"]\nper_week = 60\nunit = "g"\n'
SHOOTS = TRAYS + '[[want]]\ncrops = ["pea-shoots", "microgreens-brassica"]\nper_week = 90\nunit = "g"\n'
MOST_SLOTS = 4


def tiny_text(random):
    """Return the text of a space drawn at random: a few sites, one or two wants, some weeks."""
    made = small_space.text(
        weeks=int(random.integers(8, 13)),
        sites=int(random.integers(1, 5)),
        umol=int(random.integers(180, 300)),
        per_week=int(random.integers(1, 3)),
        more=str(random.choice(["", BASIL, LEAVES, SHOOTS])),
        days=str(random.choice(['["mon"]', '["mon", "fri"]', '["tue", "thu", "sat"]'])),
    )
    return made.replace("length_m = 1.1", "length_m = 1.6", 1)


def tiny_slots(slots, random):
    """Return up to four of the slots, drawn at random from days near to each other."""
    keys = sorted(slots.most_cuts)
    most = int(random.integers(2, MOST_SLOTS + 1))
    middle = keys[int(random.integers(len(keys)))][1]
    near = sorted(keys, key=lambda key: (abs(key[1] - middle), random.random()))[: 3 * most]
    chosen, left = set(), most
    for at in random.permutation(len(near)).tolist():
        cuts = min(slots.most_cuts[near[at]], 2)
        if cuts <= left:
            chosen.add(near[at])
            left -= cuts
    return few_slots(slots, chosen, most_cuts=2)


def all_slots(slots):
    """Return each slot."""
    return [
        Slot(option, day, cuts)
        for (option, day), most in sorted(slots.most_cuts.items())
        for cuts in range(1, most + 1)
    ]


def best_of_all(its_scorer, found, most):
    """Return the best of all sowings, and its score: up to ``most`` cells a slot, and one more than found."""
    slots = all_slots(its_scorer.slots)
    ranges = [range(max(most, found.get(slot, 0) + 1) + 1) for slot in slots]
    vectors = list(product(*ranges))
    choices = [
        {slot: cells for slot, cells in zip(slots, vector, strict=True) if cells} for vector in vectors
    ]
    last = len(its_scorer.stages) - 1
    scores = np.concatenate(
        [its_scorer.scores(choices[at : at + 40], last).mean(axis=1) for at in range(0, len(choices), 40)]
    )
    best = int(np.argmin(scores))
    return choices[best], float(scores[best])
