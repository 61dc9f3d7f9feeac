"""Comparison of two groups of batches by the journal: by bed, before and since a day, or by kind."""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

import numpy as np

from cropcal.planning.growth.pace import UNLEARNED
from cropcal.planning.history.calibration import (
    expected_g,
    grams_a_plant,
    stages_of,
    unlearned,
)
from cropcal.planning.history.observed_conditions import Conditions
from cropcal.records.batch_history import BatchHistory
from cropcal.records.crop import Crop, CropTables
from cropcal.records.learned import BatchOutcome, Difference, Trial, Verdict
from cropcal.records.plan import BedLight
from cropcal.science import growth, trials

LIGHT_APART = 1.1
"""Groups whose daily light differs by more than this factor differ by light anyway (assumed)."""
LIKELY = 0.2
"""Chance by noise up to which a difference points somewhere: its 80 % range leaves zero out."""
PLANTS = 4


@dataclass(frozen=True)
class ComparisonRequest:
    """What is compared: two beds (none: those with most batches), sowings before and since a day, two kinds.

    Of two kinds ``other`` is the second; ``beds`` are then those in which both are compared (none: all).
    """

    beds: tuple[str, ...] = ()
    since: date | None = None
    other: Crop | None = None


def compare_groups(
    crop: Crop,
    tables: CropTables,
    lights: tuple[BedLight, ...],
    histories: Sequence[BatchHistory],
    conditions: Conditions,
    request: ComparisonRequest,
) -> Trial | str:
    """Return the comparison, or a sentence on what the journal lacks for it.

    Parameters
    ----------
    histories, conditions
        The history of each batch, and the observed conditions of each bed.
    """
    kinds = {kind.slug: kind for kind in (crop, request.other) if kind is not None}
    cut_batches = [history for history in histories if history.crop in kinds and history.of("harvested")]
    known = [
        history for history in cut_batches if history.sown != "unknown" and history.bed in conditions.spots
    ]
    cut = [history for history in known if _first_cut(history) is not None]
    unknown = _left_out_text(len(cut_batches) - len(known))
    if not cut:
        return (
            f"{crop.name}: no batch whose first cut is noted, and whose sowing is noted or planned{unknown}. "
            f"Note both for each batch: cropcal log sown {crop.slug}, cropcal log harvested {crop.slug}"
        )
    groups = _kinds(cut, request, crop, request.other) if request.other else _groups(cut, request)
    if isinstance(groups, str):
        about = "" if request.other else f"{crop.name}: "
        return f"{about}{groups}{unknown}"
    names, group_of = groups
    outcomes = [
        _outcome(history, number, kinds[history.crop], tables, lights, conditions)
        for history in cut
        if (number := group_of(history)) is not None
    ]
    rows = tuple(_difference(what, unit, outcomes, value) for what, unit, value in MEASURES)
    dli = [
        np.mean([outcome.dli_mol_m2_d for outcome in outcomes if outcome.group == number] or [0.0])
        for number in (0, 1)
    ]
    return Trial(
        crop=crop.slug,
        groups=names,
        outcomes=tuple(outcomes),
        differences=rows,
        dli_mol_m2_d=(float(dli[0]), float(dli[1])),
        notes=_notes((float(dli[0]), float(dli[1])), names, cut, len(outcomes), unknown),
        missing=_missing(outcomes, names, crop),
        other=request.other.slug if request.other else "",
    )


def _left_out_text(count: int) -> str:
    """Return a note on batches left out, as their sowing or their bed is unknown."""
    some = "1 more batch is" if count == 1 else f"{count} more batches are"
    return f" ({some} left out: nothing says when they were sown, or in which bed)" if count else ""


def _first_cut(history: BatchHistory) -> date | None:
    """Return the day of the first cut, None if there is none or it came early on purpose."""
    cuts = history.of("harvested")
    return None if not cuts or cuts[0].early or cuts[0].on <= history.sown_on else cuts[0].on


Grouping = tuple[tuple[str, str], Callable[[BatchHistory], int | None]]


def _groups(cut: Sequence[BatchHistory], request: ComparisonRequest) -> Grouping | str:
    """Return the names of both groups and the group of a batch, or why there are not two groups."""
    beds = Counter(history.bed for history in cut if not request.beds or history.bed in request.beds)
    since = request.since
    if since is not None:
        inside = [history for history in cut if history.bed in beds]
        early = sum(history.sown_on < since for history in inside)
        if not 0 < early < len(inside):
            when = "before" if early else "from"
            return (
                f"all {len(inside)} batches that were cut were sown {when} {_date_text(since)}:"
                " nothing to compare"
            )
        names = (f"before {_date_text(since)}", f"from {_date_text(since)}")
        return names, lambda history: int(history.sown_on >= since) if history.bed in beds else None
    if len(beds) < 2:
        where = next(iter(beds), "no bed of those")
        return (
            f"all batches that were cut grew in {where}. Sow it in a second bed at the same time and note "
            "both; or compare what was sown before and since a day: --since DATE"
        )
    first, second = sorted(bed for bed, _ in beds.most_common(2))
    if len(request.beds) == 2:
        first, second = request.beds
    return (first, second), lambda history: {first: 0, second: 1}.get(history.bed)


def _kinds(
    cut: Sequence[BatchHistory], request: ComparisonRequest, crop: Crop, other: Crop
) -> Grouping | str:
    """Return the names of two kinds and the group of a batch, or which kind has no batch."""
    inside = [history for history in cut if not request.beds or history.bed in request.beds]
    for kind in (crop, other):
        if not any(history.crop == kind.slug for history in inside):
            where = f" in {' or '.join(request.beds)}" if request.beds else ""
            return f"no batch of {kind.name} was cut{where}, so there is nothing to compare"
    beds = {history.bed for history in inside}
    return (
        crop.name,
        other.name,
    ), lambda history: int(history.crop == other.slug) if history.bed in beds else None


def _date_text(on: date) -> str:
    return f"{on.day} {on:%b %y}"


def _outcome(
    history: BatchHistory,
    group: int,
    crop: Crop,
    tables: CropTables,
    lights: tuple[BedLight, ...],
    conditions: Conditions,
) -> BatchOutcome:
    """Return the outcome of a batch, and its forecast under the observed conditions."""
    cut = history.of("harvested")[0]
    spots, ends = conditions.stages(history, cut.on)
    stages = stages_of(crop, tables, history, spots, ends, UNLEARNED)
    ready = float(stages.ready_d(0.0, 0.0, 0.0)[0]) if stages is not None else np.inf
    forecast = expected_g(unlearned([crop.slug], lights), history, cut.on, crop, tables, conditions)
    stays = np.diff(np.minimum(ends[0], history.days(cut.on)), prepend=0.0)
    return BatchOutcome(
        batch=history.batch,
        group=group,
        bed=history.bed,
        sown_on=history.sown_on,
        cut_on=cut.on,
        days=history.days(cut.on),
        days_forecast=ready if np.isfinite(ready) else None,
        g=grams_a_plant(cut, history, crop, conditions),
        g_forecast=None if forecast is None else forecast[0],
        dli_mol_m2_d=float(np.average([spot.dli_mol_m2_d for spot in spots], weights=stays)),
    )


def _days_late(outcome: BatchOutcome) -> float | None:
    return None if outcome.days_forecast is None else outcome.days - outcome.days_forecast


def _weight_ratio(outcome: BatchOutcome) -> float | None:
    return outcome.g / outcome.g_forecast if outcome.g and outcome.g_forecast else None


Unit = Literal["d", "g", "ratio"]
MEASURES: tuple[tuple[str, Unit, Callable[[BatchOutcome], float | None]], ...] = (
    ("days", "d", lambda one: float(one.days)),
    ("days over forecast", "d", _days_late),
    ("weight", "g", lambda one: one.g),
    ("weight / forecast", "ratio", _weight_ratio),
)


def _difference(
    what: str, unit: Unit, outcomes: Sequence[BatchOutcome], value: Callable[[BatchOutcome], float | None]
) -> Difference:
    """Return the difference between the groups; of logarithms for weights, whose noise is proportional."""
    values: tuple[list[float], list[float]] = ([], [])
    for outcome in outcomes:
        measured = value(outcome)
        if measured is not None:
            values[outcome.group].append(measured if unit == "d" else float(np.log(measured)))
    counts = (len(values[0]), len(values[1]))

    def back(number: float) -> float:
        return number if unit == "d" else float(np.exp(number))

    first, second = (back(float(np.mean(group))) if group else None for group in values)
    if min(counts) < 2:
        return Difference(what=what, unit=unit, counts=counts, means=(first, second), verdict="too few")
    test = trials.welch(*values)
    low, high = test.range_of(0.8)
    verdict: Verdict = "told" if test.p <= trials.SIGNIFICANCE else "likely" if test.p <= LIKELY else "noise"
    sd = float(np.sqrt((np.var(values[0], ddof=1) + np.var(values[1], ddof=1)) / 2))
    return Difference(
        what=what,
        unit=unit,
        counts=counts,
        means=(first, second),
        difference=back(test.difference),
        low_80=back(low),
        high_80=back(high),
        chance_by_noise=test.p,
        verdict=verdict,
        needed=None if verdict == "told" else trials.batches_needed(sd, test.difference),
    )


def _notes(
    dli: tuple[float, float], names: tuple[str, str], cut: Sequence[BatchHistory], used: int, unknown: str
) -> tuple[str, ...]:
    """Return notes: light that differs anyway, batches left out, sowings that were not noted."""
    notes = []
    if min(dli) > 0 and max(dli) / min(dli) > LIGHT_APART:
        notes.append(
            f"the groups differ in light anyway, {dli[0]:.1f} mol a day in {names[0]} and {dli[1]:.1f} in "
            f"{names[1]}: go by the lines against forecast, which allow for it"
        )
    if used < len(cut):
        notes.append(f"{len(cut) - used} batches grew elsewhere and are left out: --bed names others")
    if unknown:
        notes.append(unknown.strip(" ()"))
    planned = sum(history.sown == "planned" for history in cut)
    if planned:
        notes.append(f"sowing not noted in {planned} of {len(cut)} batches: taken as done on the planned day")
    notes.append("the two groups also differ in whatever else changed: season, seed, who did the work")
    return tuple(notes)


def _missing(outcomes: Sequence[BatchOutcome], names: tuple[str, str], crop: Crop) -> tuple[str, ...]:
    """Return what the journal lacks for an answer."""
    lacks = []
    for number, name in enumerate(names):
        in_group = [outcome for outcome in outcomes if outcome.group == number]
        if len(in_group) < 2:
            lacks.append(
                f"{name}: {len(in_group)} batch, and two are needed to tell a difference from chance"
            )
        unweighed = sum(outcome.g is None for outcome in in_group)
        if unweighed:
            lacks.append(
                f"{name}: {unweighed} of {len(in_group)} not weighed, so their weight does not count"
            )
    if any("two are needed" in line for line in lacks):
        noise = growth.PLANT_CV / np.sqrt(PLANTS)
        lacks.append(
            f"plants of one batch differ by {growth.PLANT_CV:.0%}: the mean of {PLANTS} is good to "
            f"{noise:.0%} at best, and batches differ as well"
        )
    return tuple(lacks)
