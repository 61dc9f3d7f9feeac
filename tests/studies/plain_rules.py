"""Short weeks of a plan against those of the best plain rule, on every space of at most sixty sites.

``python tests/studies/plain_rules.py [SECONDS]`` prints the table of ``plain_rules.md``: the example, the
spaces of ``tests/spaces/plans`` and those of ``SPACES`` (invented). The plain rule sows the same every so
many days; for each want its crop, cuts, sites, rhythm and first day are sought for the best there is with
the whole season known, which no grower could do beforehand. ``at least`` is what no plan can help, in
want-weeks; beyond it a plan is to be short of at most a sixth of what the rule is short of.
"""

import sys
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np

from cropcal.optimize.bottleneck import TimeLimits, shortage
from cropcal.optimize.fixed_interval import best_rule, eaten
from cropcal.optimize.solve import solve
from cropcal.planning.candidates.columns import NO_DAY
from cropcal.planning.candidates.prepare import prepare
from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.space.read import read_space_text

PROJECT = Path(__file__).resolve().parents[2]
PART = 6
"""The plan is to be short of at most this part of what the rule is short of."""
_SILL = """
[[zone]]
name = "shelf"
length_m = {floor}
width_m = 0.5
photoperiod_h = {hours}
air_c = {air}
air_moving = true

[[bed]]
name = "boxes"
zone = "shelf"
sites = {sites}
length_m = {length}
width_m = 0.45

[[bed]]
name = "plugs"
zone = "shelf"
kind = "nursery"
sites = {cells}
length_m = 0.3
width_m = 0.3

[[reading]]
bed = "boxes"
umol_m2_s = [[{light}]]

[[reading]]
bed = "plugs"
umol_m2_s = [[{light}]]

[plan]
start = 2027-01-04
weeks = 26
work_days = {days}
breaks = [["2027-04-05", "2027-04-11"]]
"""
_WANT = "\n[[want]]\ncrops = [{crops}]\nper_week = {much}\n"
SPACES = {
    "staff room, 12": _SILL.format(
        hours=16, air=21, sites=12, length=1.1, floor=1.3, cells=16, light=210, days='["mon", "thu"]'
    )
    + _WANT.format(crops='"lettuce-batavia"', much=2)
    + _WANT.format(crops='"basil"', much=40),
    "hostel, 20": _SILL.format(
        hours=15, air=20, sites=20, length=1.8, floor=2.0, cells=24, light=220, days='["tue", "sat"]'
    )
    + _WANT.format(crops='"lettuce-butterhead", "pak-choi"', much=3)
    + _WANT.format(crops='"parsley"', much=40)
    + _WANT.format(crops='"chives"', much=20),
    "mess, 60": _SILL.format(
        hours=16, air=21, sites=60, length=5.4, floor=5.6, cells=60, light=230, days='["mon", "wed", "fri"]'
    )
    + _WANT.format(crops='"lettuce-butterhead", "lettuce-looseleaf"', much=8)
    + _WANT.format(crops='"pak-choi"', much=3)
    + _WANT.format(crops='"basil"', much=120),
}
"""Name and sites -> the text of its file."""


def texts() -> dict[str, str]:
    """Return the text of every space by its name."""
    files = [
        PROJECT / "examples" / "millbrook" / "space.toml",
        *sorted((PROJECT / "tests" / "spaces" / "plans").glob("*.toml")),
    ]
    return {
        **{
            (file.parent.name if file.stem == "space" else file.stem): file.read_text("utf-8")
            for file in files
        },
        **SPACES,
    }


@dataclass(frozen=True)
class Against:
    """Short want-weeks of a plan and of the best plain rule, and of any plan at least; surplus of both."""

    weeks: int
    least: float
    plan: float
    rule: float
    plan_over: float
    rule_over: float
    proven: bool

    @property
    def holds(self) -> bool:
        """Return whether the plan is short of a sixth of what the rule is, beyond what none can help."""
        return self.plan - self.least <= max(self.rule - self.least, 0.0) / PART + 1e-6


def against(text: str, time_limit_s: float) -> Against:
    """Return the comparison of a plan with the best plain rule on one space."""
    tables, _ = read_crop_tables(None)
    assert tables is not None
    space, problems = read_space_text(text, tables, today=date(2027, 1, 1))
    assert space is not None, problems
    ready = prepare(space, tables)
    task, found = ready.task, ready.found
    crops = sorted({offer.grown.crop.slug for offer in found.offers})
    of_offer = np.array([crops.index(offer.grown.crop.slug) for offer in found.offers])
    kind = of_offer[found.offer] * 100 + (found.cuts != NO_DAY).sum(axis=1)
    numbered = [index for index, want in enumerate(ready.space.wants) if want.is_numbered]
    counted = replace(
        task, demand=np.where(np.isin(np.arange(len(task.demand)), numbered)[:, None], task.demand, 0)
    )
    solved = solve(task, time_limit_s=time_limit_s)
    rule = best_rule(task, kind, ready.time.work_days)
    plan_short = eaten(counted, solved.n)[0]
    return Against(
        weeks=int((counted.demand > 0).sum()),
        least=min(shortage(task, numbered, TimeLimits(time_limit_s)), plan_short),
        plan=plan_short,
        rule=eaten(counted, rule.n)[0],
        plan_over=eaten(task, solved.n)[1],
        rule_over=eaten(task, rule.n)[1],
        proven=solved.status == "proven",
    )


def main() -> None:
    """Print the table."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 60.0
    print("| space | weeks | at least | plan | best plain rule | a sixth | too much: plan, rule | proven |")
    print("| --- | ---: | ---: | ---: | ---: | --- | ---: | --- |")
    for name, text in texts().items():
        row = against(text, seconds)
        print(
            f"| {name} | {row.weeks} | {row.least:.2f} | {row.plan:.2f} | {row.rule:.2f}"
            f" | {'yes' if row.holds else 'NO'} | {row.plan_over:.1f}, {row.rule_over:.1f}"
            f" | {'yes' if row.proven else 'no'} |",
            flush=True,
        )


if __name__ == "__main__":
    main()
