"""Plans for the tests of cropcal.show: a small one written by hand, and large random ones."""

import random
from datetime import date, timedelta

from cropcal.records.chances import Choice, Expected, ExpectedWant, Searched
from cropcal.records.crop import Crop
from cropcal.records.fit import Fit
from cropcal.records.plan import (
    Batch,
    BedLight,
    BillLine,
    Harvest,
    Job,
    Outcome,
    SeasonPlan,
    SiteUse,
    Steady,
    Supply,
    UnitCost,
)
from cropcal.records.space import Assumption

NAMES = {
    "lettuce-butterhead": "Butterhead lettuce",
    "basil-sweet": "Sweet basil",
    "pak-choi": "Pak choi",
    "coriander": "Coriander",
}
PLANK, TUB, DRAWER = "oak plank", "tin tub", "seed drawer"


SOURCES = {
    "dli_min_mol_m2_d": {"known": "printed", "keys": ("book-a",)},
    "dli_target_mol_m2_d": {"known": "printed", "keys": ("book-a",)},
    "dli_max_mol_m2_d": {"known": "printed", "keys": ("book-a",)},
    "seed_g_per_1000": {"known": "memory"},
    "germination_min": {"known": "printed", "keys": ("book-b",)},
    "anchor_days": {"known": "printed", "keys": ("book-c",)},
    "plants_per_site": {"known": "practice"},
    "window_d": {"known": "assumed", "keys": ("book-c",), "note": "a guess beside the book"},
}
"""Whose some values of the invented crops are."""


def crop(slug: str, name: str, **changes: object) -> Crop:
    """Return a crop with plausible values; only slug, name and the changes matter to a test."""
    values: dict[str, object] = {
        "slug": slug,
        "name": name,
        "latin": "Planta inventa",
        "kind": "head",
        "unit": "heads",
        "dli_min_mol_m2_d": 10.0,
        "dli_target_mol_m2_d": 14.0,
        "dli_max_mol_m2_d": 17.0,
        "dli_max_still_air_mol_m2_d": 15.0,
        "photoperiod_max_h": None,
        "photoperiod_reason": "",
        "air_base_c": 4.0,
        "air_optimum_c": 22.0,
        "air_max_c": 30.0,
        "air_quality_max_c": None,
        "emergence_curve": slug,
        "seed_g_per_1000": 1.1,
        "germination_min": 0.8,
        "seeds_per_plant": 1,
        "anchor_days": 35.0,
        "anchor_g_per_plant": 150.0,
        "anchor_plants_m2": 38.0,
        "anchor_young_plants_m2": None,
        "anchor_young_until_d": None,
        "anchor_dli_mol_m2_d": 17.0,
        "anchor_photoperiod_h": 16.0,
        "anchor_air_c": 22.0,
        "dry_matter": 0.05,
        "plants_per_site": 1,
        "nursery_d": 14,
        "nursery_hold_d": 7,
        "nursery_plants_m2": None,
        "window_d": 10,
        "cuts_max": 1,
        "cut_leaves_share": 0.0,
        "cut_lag_d": 0,
        "keeping_d": None,
        "height_cm": 20.0,
        "shoots_seed_g_m2": None,
        "shoots_g_per_g_seed": None,
        "sources": SOURCES,
    }
    return Crop.model_validate(values | changes)


def _d(month: int, day: int) -> date:
    return date(2027, month, day)


def _batch(
    name: str,
    want: int,
    slug: str,
    bed: str,
    dates: tuple[date, date, date | None, date, date, date],
    counts: tuple[int, int, int],
    unit: str,
    harvests: tuple[tuple[date, int, int, float, float, float], ...],
) -> Batch:
    sow, emerge, transplant, ready, until, clear = dates
    sites, cells, seeds = counts
    return Batch(
        id=name,
        want=want,
        crop=slug,
        bed=bed,
        nursery=DRAWER if transplant else None,
        sow_on=sow,
        emerge_on=emerge,
        transplant_on=transplant,
        ready_from=ready,
        ready_from_low_80=ready - timedelta(days=3),
        ready_from_high_80=ready + timedelta(days=5),
        ready_until=until,
        clear_on=clear,
        sites=sites,
        cells=cells,
        seeds=seeds,
        unit=unit,  # type: ignore[arg-type]
        harvests=tuple(
            Harvest(on=on, cut=cut, sites=n, amount=amount, amount_low_80=low, amount_high_80=high)
            for on, cut, n, amount, low, high in harvests
        ),
    )


def small_plan() -> SeasonPlan:
    """Return a plan of eight weeks for a shelf of 6 sites, a tub of 4 and a nursery of 12 cells."""
    batches = (
        _batch(
            "L1",
            0,
            "lettuce-butterhead",
            PLANK,
            (_d(3, 2), _d(3, 6), _d(3, 16), _d(4, 6), _d(4, 15), _d(4, 13)),
            (3, 4, 5),
            "heads",
            ((_d(4, 6), 1, 2, 2.0, 1.6, 2.0), (_d(4, 13), 1, 1, 1.0, 0.8, 1.0)),
        ),
        _batch(
            "B1",
            1,
            "basil-sweet",
            TUB,
            (_d(3, 2), _d(3, 9), None, _d(4, 9), _d(4, 25), _d(4, 23)),
            (2, 0, 6),
            "g",
            ((_d(4, 9), 1, 2, 46.25, 37.0, 56.5), (_d(4, 23), 2, 2, 61.5, 48.0, 77.0)),
        ),
        _batch(
            "P1",
            2,
            "pak-choi",
            PLANK,
            (_d(3, 5), _d(3, 8), _d(3, 19), _d(4, 9), _d(4, 16), _d(4, 9)),
            (2, 2, 3),
            "heads",
            ((_d(4, 9), 1, 2, 2.0, 1.5, 2.0),),
        ),
        _batch(
            "C1",
            3,
            "coriander",
            TUB,
            (_d(3, 9), _d(3, 17), None, _d(4, 16), _d(4, 25), _d(4, 20)),
            (2, 0, 8),
            "g",
            ((_d(4, 20), 1, 2, 18.4, 14.0, 23.9),),
        ),
        _batch(
            "L2",
            0,
            "lettuce-butterhead",
            PLANK,
            (_d(3, 16), _d(3, 20), _d(3, 30), _d(4, 20), _d(4, 25), _d(4, 20)),
            (1, 2, 2),
            "heads",
            ((_d(4, 20), 1, 1, 1.0, 0.7, 1.0),),
        ),
    )
    places = {"L1": (1, 2, 3), "P1": (4, 5), "L2": (6,), "B1": (1, 2), "C1": (3, 4)}
    sites = tuple(
        SiteUse(
            bed=batch.bed,
            site=site,
            batch=batch.id,
            crop=batch.crop,
            held_from=batch.planted_on,
            held_until=batch.clear_on,
            cuts=tuple(harvest.on for harvest in batch.harvests),
        )
        for batch in batches
        for site in places[batch.id]
    )
    return SeasonPlan(
        place="Copper Beech cellar",
        start=_d(3, 1),
        weeks=8,
        currency="EUR",
        work_days=tuple(_d(3, 2) + timedelta(days=7 * week + extra) for week in range(8) for extra in (0, 3)),
        batches=batches,
        jobs=_small_jobs(),
        supply=_small_supply(),
        sites=sites,
        bill=_small_bill(),
        unit_costs=(
            UnitCost(
                crop="lettuce-butterhead", bed=PLANK, unit="heads", kwh_per_unit=1.84, cost_per_unit=0.479
            ),
            UnitCost(crop="basil-sweet", bed=TUB, unit="g", kwh_per_unit=0.0421, cost_per_unit=0.011),
        ),
        lights=(
            BedLight(
                bed=PLANK,
                zone="shelf",
                source="readings",
                how="6 readings with a meter, between them by straight lines",
                sd_ln=0.05,
                photoperiod_h=16.0,
                site_ppfd_umol_m2_s=(180.0, 210.0, 205.0, 190.0, 228.0, 187.0),
            ),
            BedLight(
                bed=TUB,
                zone="shelf",
                source="watts",
                how="48 W on the label, 2.2 µmol/J, 70% lands on the floor",
                sd_ln=0.5,
                photoperiod_h=16.0,
                site_ppfd_umol_m2_s=(120.0,) * 4,
                assumed=(Assumption(key="bed.x_m", value="middle of the zone", why="not given"),),
            ),
        ),
        fits=(
            Fit(crop="lettuce-butterhead", bed=PLANK, verdict="ok", why="", cure=""),
            Fit(
                crop="basil-sweet",
                bed=TUB,
                verdict="slow",
                why="6.9 mol a day is under the 10 it needs to grow at full speed",
                cure="hang the lamp lower, or light it 20 h",
            ),
        ),
        outcome=Outcome(
            status="searched",
            seconds=0.42,
            value=12.5,
            bound=12.49,
            gap=0.0008,
            short_want_weeks=2.0,
            bound_want_weeks=2.0,
            terms={"short": 10.0, "over": 1.5, "labour": 1.0},
            power_cost=3.2,
            site_day_cost={PLANK: 0.01, TUB: 0.012},
            steady=(
                Steady(
                    want=0,
                    label="lettuce-butterhead",
                    wanted_per_week=2.0,
                    alone_per_week=2.4,
                    in_mix_per_week=1.3,
                    unit="heads",
                ),
                Steady(
                    want=1,
                    label="basil-sweet",
                    wanted_per_week=None,
                    alone_per_week=61.0,
                    in_mix_per_week=44.0,
                    unit="g",
                ),
            ),
        ),
        warnings=("Sweet basil gets half the light it likes in tin tub: expect thin stems.",),
        cautions=("Keep mains plugs above the water line; ask a licensed electrician about new sockets.",),
        assumptions=(
            Assumption(key="plan.clean_days", value="1 day", why="not given"),
            Assumption(key="grower", value="22% slower than a professional room", why="assumed"),
        ),
    )


def _job(
    on: date,
    job: str,
    batch: str,
    slug: str,
    bed: str,
    sites: str,
    amount: float | None,
    unit: str,
    note: str = "",
) -> Job:
    return Job(
        on=on,
        job=job,
        batch=batch,
        crop=slug,
        bed=bed,
        sites=sites,
        amount=amount,
        unit=unit,
        note=note,  # type: ignore[arg-type]
    )


def _small_jobs() -> tuple[Job, ...]:
    lettuce, basil, choi, coriander = NAMES
    return (
        _job(_d(3, 2), "sow", "L1", lettuce, DRAWER, "", 5.0, "seeds", "4 cells"),
        _job(_d(3, 2), "sow", "B1", basil, TUB, "1-2", 6.0, "seeds", "3 seeds a site, thin to the best"),
        _job(_d(3, 2), "chore", "", "", "", "", None, "", "change the solution"),
        _job(_d(3, 5), "sow", "P1", choi, DRAWER, "", 3.0, "seeds", "2 cells"),
        _job(_d(3, 9), "sow", "C1", coriander, TUB, "3-4", 8.0, "seeds"),
        _job(_d(3, 16), "transplant", "L1", lettuce, PLANK, "1-3", 3.0, "plants"),
        _job(_d(3, 16), "sow", "L2", lettuce, DRAWER, "", 2.0, "seeds", "2 cells"),
        _job(_d(3, 16), "chore", "", "", "", "", None, "", "change the solution"),
        _job(_d(3, 19), "transplant", "P1", choi, PLANK, "4-5", 2.0, "plants"),
        _job(_d(3, 30), "transplant", "L2", lettuce, PLANK, "6", 1.0, "plants"),
        _job(_d(3, 30), "chore", "", "", "", "", None, "", "change the solution"),
        _job(_d(4, 6), "cut", "L1", lettuce, PLANK, "1-2", 2.0, "heads"),
        _job(_d(4, 9), "cut", "B1", basil, TUB, "1-2", 46.25, "g", "first of 2 cuts"),
        _job(_d(4, 9), "cut", "P1", choi, PLANK, "4-5", 2.0, "heads"),
        _job(_d(4, 9), "clear", "P1", choi, PLANK, "4-5", None, ""),
        _job(_d(4, 13), "cut", "L1", lettuce, PLANK, "3", 1.0, "heads"),
        _job(_d(4, 13), "clear", "L1", lettuce, PLANK, "1-3", None, ""),
        _job(_d(4, 20), "cut", "C1", coriander, TUB, "3-4", 18.4, "g"),
        _job(_d(4, 20), "cut", "L2", lettuce, PLANK, "6", 1.0, "heads"),
        _job(_d(4, 23), "cut", "B1", basil, TUB, "1-2", 61.5, "g", "last cut"),
    )


def _small_supply() -> tuple[Supply, ...]:
    ready = {0: {5: 2.0, 6: 1.0, 7: 1.0}, 1: {5: 46.25, 7: 61.5}}
    wanted = {0: ("lettuce-butterhead", 2.0, "heads"), 1: ("basil-sweet", 40.0, "g")}
    rows = []
    for want, (label, number, unit) in wanted.items():
        for week in range(8):
            got = ready[want].get(week, 0.0)
            counted = week >= 5
            rows.append(
                Supply(
                    week=_d(3, 1) + timedelta(weeks=week),
                    want=want,
                    label=label,
                    wanted=number,
                    ready=got,
                    short=max(number - got, 0.0) if counted else 0.0,
                    over=max(got - number, 0.0),
                    unit=unit,  # type: ignore[arg-type]
                    counted=counted,
                    why="" if counted else "nothing sown now can be ready yet",
                    chance=(0.8634 - 0.1 * want if got >= number else 0.12) if counted else None,
                    in_8_of_10=min(got, number) if counted else None,
                )
            )
    return tuple(rows)


def _small_bill() -> tuple[BillLine, ...]:
    return (
        BillLine(month="2027-03", what="lamp", zone="shelf", rate="day", kwh=30.25, cost=8.47),
        BillLine(month="2027-03", what="lamp", zone="shelf", rate="night", kwh=15.5, cost=2.635),
        BillLine(month="2027-03", what="air stone", zone="", rate="day", kwh=1.488, cost=0.41664),
        BillLine(month="2027-03", what="standing charge", zone="", rate="", kwh=0.0, cost=9.3),
        BillLine(month="2027-04", what="lamp", zone="shelf", rate="day", kwh=24.0, cost=6.72),
        BillLine(month="2027-04", what="lamp", zone="shelf", rate="night", kwh=12.0, cost=2.04),
        BillLine(month="2027-04", what="air stone", zone="", rate="day", kwh=1.2, cost=0.336),
        BillLine(month="2027-04", what="standing charge", zone="", rate="", kwh=0.0, cost=7.5),
    )


def random_plan(
    sites: int = 60,
    weeks: int = 52,
    crops: int = 8,
    seed: int = 1,
    beds: int = 3,
    names: dict[str, str] | None = None,
) -> tuple[SeasonPlan, dict[str, str]]:
    """Return a full plan with no site held twice, and the names of its crops."""
    rng = random.Random(seed)
    names = names or {f"crop-{number}": f"Invented leaf {number}" for number in range(1, crops + 1)}
    slugs = list(names)
    start = date(2027, 1, 4)
    end = start + timedelta(weeks=weeks)
    batches: list[Batch] = []
    uses: list[SiteUse] = []
    jobs: list[Job] = []
    sizes = [sites // beds + (number < sites % beds) for number in range(beds)]
    for number, size in enumerate(sizes, 1):
        bed = f"bench {number}"
        site = 1
        while site <= size:
            group = min(rng.randint(1, 6), size - site + 1)
            free = start + timedelta(days=rng.randint(0, 10))
            while free < end:
                slug = rng.choice(slugs)
                want = slugs.index(slug)
                nursed = want % 3 != 2
                planted = free
                sown = planted - timedelta(days=rng.randint(10, 18)) if nursed else planted
                if sown < start:
                    sown, nursed = planted, False
                ready = planted + timedelta(days=rng.randint(18, 45))
                cuts = rng.choice((1, 1, 1, 2, 3))
                cut_days = [ready + timedelta(days=3 + 14 * cut) for cut in range(cuts)]
                clear = cut_days[-1]
                if clear >= end:
                    break
                unit = "g" if want % 2 else "heads"
                each = 30.0 * group if unit == "g" else float(group)
                name = f"{slug}-{len(batches) + 1}"
                batch = _batch(
                    name,
                    want,
                    slug,
                    bed,
                    (sown, sown + timedelta(days=5), planted if nursed else None, ready, clear, clear),
                    (group, group + 1 if nursed else 0, group + 2),
                    unit,
                    tuple(
                        (on, cut, group, each, each * 0.8, each * 1.2) for cut, on in enumerate(cut_days, 1)
                    ),
                )
                batches.append(batch)
                uses += [
                    SiteUse(
                        bed=bed,
                        site=site_number,
                        batch=name,
                        crop=slug,
                        held_from=planted,
                        held_until=clear,
                        cuts=(clear,),
                    )
                    for site_number in range(site, site + group)
                ]
                jobs.append(_job(sown, "sow", name, slug, batch.nursery or bed, "", group + 2.0, "seeds"))
                jobs += [
                    _job(on, "cut", name, slug, bed, f"{site}-{site + group - 1}", each, unit)
                    for on in cut_days
                ]
                free = clear + timedelta(days=1 + rng.randint(0, 9))
            site += group
    plan = small_plan().model_copy(
        update={
            "place": "Heron Yard school",
            "start": start,
            "weeks": weeks,
            "work_days": tuple(start + timedelta(days=day) for day in range(weeks * 7) if day % 7 in (1, 4)),
            "batches": tuple(batches),
            "jobs": tuple(sorted(jobs, key=lambda job: job.on)),
            "sites": tuple(uses),
            "supply": _random_supply(batches, slugs, start, weeks),
            "lights": (),
            "fits": (),
            "unit_costs": (),
        }
    )
    return plan, names


def _random_supply(batches: list[Batch], slugs: list[str], start: date, weeks: int) -> tuple[Supply, ...]:
    rows = []
    for want, slug in enumerate(slugs):
        for week in range(weeks):
            monday = start + timedelta(weeks=week)
            got = sum(
                harvest.amount
                for batch in batches
                if batch.want == want
                for harvest in batch.harvests
                if monday <= harvest.on < monday + timedelta(days=7)
            )
            number = 60.0 if want % 2 else 3.0
            counted = week >= 6
            rows.append(
                Supply(
                    week=monday,
                    want=want,
                    label=slug,
                    wanted=number,
                    ready=got,
                    short=max(number - got, 0.0) if counted else 0.0,
                    over=max(got - number, 0.0),
                    unit="g" if want % 2 else "heads",
                    counted=counted,
                    why="" if counted else "nothing sown now can be ready yet",
                    chance=(0.75 if got >= number else 0.2) if counted else None,
                )
            )
    return tuple(rows)


def empty_plan() -> SeasonPlan:
    """Return a plan in which nothing could be grown."""
    outcome = small_plan().outcome.model_copy(
        update={"status": "empty", "value": 0.0, "bound": 0.0, "gap": 0.0, "short_want_weeks": 0.0}
        | {"bound_want_weeks": 0.0, "steady": ()}
    )
    return small_plan().model_copy(
        update={"batches": (), "jobs": (), "supply": (), "sites": (), "bill": (), "unit_costs": ()}
        | {"outcome": outcome}
    )


def searched_plan(**changes: object) -> SeasonPlan:
    """Return the small plan with its sowings searched in drawn seasons, beside two other choices."""
    plan = small_plan()
    expected = Expected(
        seasons=512,
        weeks=6,
        short_want_weeks=1.24,
        short_low_80=0.3,
        short_high_80=2.6,
        surplus_want_weeks=0.7,
        cells=11,
        minutes_a_week=9.0,
        wants=(
            ExpectedWant(
                want=0,
                label="lettuce-butterhead",
                weeks=3,
                short_weeks=1.24,
                short_weeks_low_80=0.3,
                short_weeks_high_80=2.6,
            ),
        ),
    )
    rule = expected.model_copy(update={"short_want_weeks": 1.9, "surplus_want_weeks": 1.4, "cells": 12})
    searched = Searched(
        start="steady rule",
        trials=1900,
        seconds=8.2,
        score=1.61,
        score_before=2.37,
        trials_last=400,
        gained_last=0.052,
        rule=rule,
    )
    outcome = plan.outcome.model_copy(update={"status": "searched", "bound_want_weeks": 1.86})
    usual: dict[str, object] = {"outcome": outcome, "expected": expected, "searched": searched}
    return plan.model_copy(update={**usual, "choices": three_choices(), **changes})


def three_choices(chosen: str = "usual", scale: float = 1.0) -> tuple[Choice, ...]:
    """Return the three choices; ``scale`` multiplies cells, weeks and cost."""
    return tuple(
        Choice(
            name=name,  # type: ignore[arg-type]
            chosen=name == chosen,
            cells=round(cells * scale),
            surplus_want_weeks=over * scale,
            short_want_weeks=short * scale,
            short_low_80=low * scale,
            short_high_80=high * scale,
            least_sure=sure,
            least_sure_week=_d(4, 5) + timedelta(weeks=week),
            least_sure_want=0,
            power_low=20.6 * scale,
            power_high=power * scale,
            power=22.5 * scale,
        )
        for name, cells, over, short, low, high, sure, week, power in (
            ("sparing", 9, 0.2, 2.13, 0.8, 3.9, 0.27, 1, 24.3),
            ("usual", 11, 0.7, 1.24, 0.3, 2.6, 0.44, 2, 24.4),
            ("safe", 15, 2.4, 0.58, 0.0, 1.4, 0.71, 3, 24.9),
        )
    )
