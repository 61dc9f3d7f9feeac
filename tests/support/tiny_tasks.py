"""Tiny tasks written as rows or drawn at random; a plan's score and capacity by independent code."""

from dataclasses import replace
from functools import cache

import numpy as np
from hypothesis import assume
from hypothesis import strategies as st

from cropcal.optimize.penalties import Weights
from cropcal.optimize.programme import Columns, Task, usual_cost


def columns(rows):
    """Return columns from rows (want, place, nursery, sown, planted, freed, cost, {week: amount})."""
    names = ("want", "place", "nursery", "sown", "planted", "freed")
    fields = {name: np.array([row[at] for row in rows], dtype=np.int64) for at, name in enumerate(names)}
    supply = [(at, week, amount) for at, row in enumerate(rows) for week, amount in row[7].items()]
    return Columns(
        **fields,
        cost=np.array([row[6] for row in rows], dtype=float),
        staleness=np.zeros(len(rows)),
        supply_column=np.array([entry[0] for entry in supply], dtype=np.int64),
        supply_week=np.array([entry[1] for entry in supply], dtype=np.int64),
        supply_amount=np.array([entry[2] for entry in supply], dtype=float),
    )


def task(rows, demand, sites, cells=(), keeps=()):
    """Return a task; ``keeps``: weeks for which all that a row brings keeps, default: none."""
    made = columns(rows)
    if len(keeps):
        made = replace(made, supply_keeps=np.array(keeps, dtype=np.int64)[made.supply_column])
    built = Task(
        columns=made,
        demand=np.array(demand, dtype=float),
        sites=np.array(sites, dtype=np.int64),
        cells=np.array(cells, dtype=np.int64),
    )
    return replace(built, cost_unit=usual_cost(built))


# --- against exhaustive search, by other code -----------------------------------------------------------


def peak(case, n):
    """Return the most sites held in any place on any day, and the most cells, counted day by day."""
    c = case.columns
    days = range(int(c.freed.max()) + 1)
    held = [
        sum(
            int(n[j] * c.held[j])
            for j in range(len(n))
            if c.place[j] == place and c.planted[j] <= day < c.freed[j]
        )
        for place in range(len(case.sites))
        for day in days
    ]
    cells = [
        sum(int(n[j]) for j in range(len(n)) if c.nursery[j] == number and c.sown[j] <= day < c.planted[j])
        for number in range(len(case.cells))
        for day in days
    ]
    return max(held), max(cells, default=0)


def fits(case, n):
    c = case.columns
    for day in range(int(c.freed.max()) + 1):
        for place, most in enumerate(case.sites):
            if (
                sum(
                    n[j] * c.held[j]
                    for j in range(len(n))
                    if c.place[j] == place and c.planted[j] <= day < c.freed[j]
                )
                > most
            ):
                return False
        for nursery, most in enumerate(case.cells):
            if (
                sum(
                    n[j] for j in range(len(n)) if c.nursery[j] == nursery and c.sown[j] <= day < c.planted[j]
                )
                > most
            ):
                return False
    return True


def weigh(case, n, weights):
    """Return the objective of whole sites ``n``, written straight from its definition."""
    c, total = case.columns, 0.0
    for want in range(len(case.demand)):
        cuts = []
        for keeps in (0, 1, 2):
            cuts.append([0.0] * case.demand.shape[1])
            for e, week in enumerate(c.supply_week):
                j = c.supply_column[e]
                if week < case.demand.shape[1] and c.want[j] == want and c.supply_keeps[e] >= keeps:
                    cuts[-1][week] += float(n[j] * c.supply_amount[e])
        total += meals(tuple(map(tuple, cuts)), tuple(map(float, case.demand[want])), weights)
    return total + weights.cost * sum(n[j] * c.cost[j] for j in range(len(n))) / case.cost_unit


@cache
def meals(cuts, asked, weights):
    """Return the weight of a want's weeks at the best carry-over, found by trying all whole amounts.

    ``cuts``: what is cut each week; what of it keeps a week; what keeps two.
    """
    counted = [d for d in asked if d > 0]
    usual = sum(counted) / len(counted) if counted else 1.0

    @cache
    def best(week, kept, kept_longer):
        """Return the least weight of weeks from ``week`` on, given carry-over to this week and the next."""
        if week == len(asked):
            return 0.0
        totals = []
        most = [int(asked[at]) if at < len(asked) else 0 for at in (week + 1, week + 2)]
        for next_week in range(int(min(cuts[1][week], most[0])) + 1):
            for week_after in range(int(min(cuts[2][week], cuts[1][week] - next_week, most[1])) + 1):
                share = (cuts[0][week] + kept - next_week - week_after) / (asked[week] or usual)
                total = weights.kept * (next_week + 2 * week_after) / usual
                if asked[week]:
                    missing = max(1 - share, 0)
                    for width, slope in weights.segments:
                        total += weights.short * slope * min(missing, width)
                        missing -= min(missing, width)
                    total += weights.surplus * max(share - 1, 0)
                else:
                    total += weights.surplus * share
                totals.append(total + best(week + 1, kept_longer + next_week, week_after))
        return min(totals)

    return best(0, 0, 0)


HALVES = Weights(staleness=0.0, segments=((0.5, 1.0), (0.5, 1.6)))
"""A shortage penalty with a bend at half a week's want: with even wants the best carry-over is whole."""


@st.composite
def tiny_tasks(draw, keeping=False):
    """Return tasks small enough to try every plan: up to six columns, three sites, two cells.

    A planted site may hold another one, which stays empty.
    Where things keep, amounts are whole and wants even, so that only whole amounts need be tried.
    """
    rows, keeps, held = [], [], []
    heads = [keeping and draw(st.booleans()) for _ in range(2)]
    for _ in range(draw(st.integers(2, 5 if keeping else 6))):
        nursery = draw(st.sampled_from([-1, 0]))
        sown = draw(st.integers(0, 3)) * 7
        planted = sown if nursery < 0 else sown + 7 * draw(st.integers(1, 2))
        freed = planted + 7 * draw(st.integers(1, 3)) + draw(st.integers(0, 1))
        first = min((freed - 1) // 7, 5)
        amount = draw(st.sampled_from([1.0, 2.0, 2.0, 3.0, 5.0] if keeping else [0.7, 1.0, 1.0, 1.6, 3.0]))
        place, want = draw(st.integers(0, 1)), draw(st.integers(0, 1))
        amount = 1.0 if heads[want] else amount
        supply = {first: amount}
        if draw(st.booleans()) and first < 5:
            supply[first + 1] = amount
        rows.append(
            (want, place, nursery, sown, planted, freed, draw(st.sampled_from([0.5, 1.0, 2.0])), supply)
        )
        keeps.append(draw(st.integers(0, 2)) if keeping else 0)
        held.append(draw(st.sampled_from([1, 1, 2])))
    asked = [0, 2, 4] if keeping else [0, 1, 2, 3]
    demand = [[draw(st.sampled_from(asked)) for _ in range(6)] for _ in range(2)]
    built = task(rows, demand, [draw(st.integers(1, 2)), 1], [draw(st.integers(0, 2))], keeps)
    spaced = replace(built.columns, held=np.array(held, dtype=np.int64))
    return replace(built, columns=spaced, heads=np.array(heads))


@st.composite
def calendar_tasks(draw):
    """Return a tiny task as a calendar makes it, up to six columns: seven weeks of Mondays and Thursdays.

    Each sowing is one of: a window (cut in either of two weeks), a seedling (planted on either of two days),
    or a pot (cut up to three times, or cleared after the first and sown anew). In a break nothing is sown,
    planted or cut, and nothing is wanted; the second bed may be out of use for a time; the second want may be
    for one week only, a feast.
    """
    away = draw(st.sampled_from([None, 2, 3, 4]))
    shut = draw(st.sampled_from([None, (0, 13), (14, 27), (28, 48)]))
    keeps = [draw(st.integers(0, 2)) for _ in range(2)]
    rows = []
    for _ in range(draw(st.integers(2, 3))):
        want, place, sown = draw(st.integers(0, 1)), draw(st.integers(0, 1)), 7 * draw(st.integers(0, 2))
        amount = draw(st.sampled_from([1.0, 2.0, 3.0]))
        cost = draw(st.sampled_from([0.5, 1.0, 2.0]))
        grown = sown + 7 * draw(st.integers(1, 2)) + draw(st.sampled_from([3, 7]))
        kind = draw(st.sampled_from(["window", "seedling", "pot"]))
        if kind == "window":
            variants = [(-1, sown, sown, [cut]) for cut in (grown, grown + 7)]
        elif kind == "seedling":
            variants = [(0, sown, planted, [grown + 7]) for planted in (sown + 3, sown + 7)]
        else:
            variants = [(-1, sown, sown, [grown + 7 * more for more in range(cuts)]) for cuts in (3, 1)]
            anew = grown + (4 if grown % 7 else 3)  # the next work day
            variants.append((-1, anew, anew, [anew + grown - sown]))
        for nursery, start, planted, cuts in variants:
            days = [start, planted, *cuts]
            if max(days) >= 49 or (away is not None and any(day // 7 == away for day in days)):
                continue
            if place == 1 and shut is not None and planted <= shut[1] and cuts[-1] >= shut[0]:
                continue
            supply = {}
            for cut in cuts:
                supply[cut // 7] = supply.get(cut // 7, 0.0) + amount
            rows.append((want, place, nursery, start, planted, cuts[-1] + 1, cost, supply))
    rows = rows[:6]
    assume(rows)
    feast = draw(st.sampled_from([None, 3, 5]))
    demand = [[draw(st.sampled_from([0, 2, 4])) for _ in range(7)] for _ in range(2)]
    if feast is not None:
        demand[1] = [4 if week == feast else 0 for week in range(7)]
    if away is not None:
        demand[0][away] = demand[1][away] = 0
    built = task(
        rows,
        demand,
        [draw(st.integers(1, 2)), 1],
        [draw(st.integers(1, 2))],
        [keeps[row[0]] for row in rows],
    )
    return built, {"break": away is not None, "out of use": shut is not None, "feast": feast is not None}
