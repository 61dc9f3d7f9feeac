"""Cures of crops that do badly in a bed: of the steps that may help, the smallest that do.

Each is judged as the space is that its ``--set`` makes, for every wanted crop.
"""

from collections.abc import Iterable, Iterator, Sequence

from cropcal.planning.cures.ladders import Misfit, best_beds
from cropcal.planning.cures.light_steps import Ladder, TriedStep
from cropcal.planning.cures.settings import SetValue, changed, want_settings
from cropcal.planning.cures.trial import CureTrial, StepsOutcome, beds_allowed, rank_of
from cropcal.planning.cures.worth import too_weak, weighed
from cropcal.planning.growth.pace import Paces
from cropcal.planning.growth.suitability import VERDICTS
from cropcal.records.crop import Crop, CropTables
from cropcal.records.fit import Cure, Cures, CureStep, Fit, StepKind
from cropcal.records.plan import BedLight
from cropcal.records.space import Space, photoperiod_h

MOST_CURES = 2
"""Cures that are kept for a crop in a bed."""
SMALL_HOURS = 2.0
"""Hours of lamp up to which more or fewer of them count as a smaller step than moving a lamp."""
ORDER: tuple[StepKind, ...] = (
    *("hours", "fan", "height", "output", "walls", "bed", "flow", "shade", "air", "watts"),
)
"""Kinds of steps, the smallest first."""
FIRST_OF_PAIR: tuple[StepKind, ...] = ("hours", "fan", "height", "output", "walls", "flow")
MOST_RUNGS = 8
"""Steps of the first of two: 2 h, 8 cm."""
NEARLY = 3
"""Steps, from the smallest that should mend, that are computed anew: readings and watts are rounded."""
RISK = VERDICTS.index("risk")
MENDED = VERDICTS.index("slow")
"""A crop is mended that then does well, or at least slowly where it does worse now."""

Steps = tuple[TriedStep, ...]


def cures(
    space: Space,
    tables: CropTables,
    lights: tuple[BedLight, ...],
    fits: tuple[Fit, ...],
    paces: Paces | None = None,
) -> Cures:
    """Return the cures of all wanted crops that do badly where they may grow, the smallest steps first.

    A crop that does well in another bed is grown there. One that does well in none is mended in the bed in
    which it does best, if it can be mended there at all.

    Parameters
    ----------
    space
        With lamp hours for every zone; zones, beds, lamps, readings and wants as they stand in the file.
    lights, fits
        Light of each of its beds; verdict of each wanted crop in each bed of its kind.
    paces
        Growth learned so far, for days to harvest.
    """
    trial = CureTrial(space, tables, {light.bed: light for light in lights}, fits, paces or {})
    kept = tuple(cure for slug in trial.crops for cure in _cures_of(trial, slug))
    return Cures(cures=kept, too_weak=too_weak(trial, kept))


def _cures_of(trial: CureTrial, crop: str) -> list[Cure]:
    """Return the cures of one crop, bed by bed."""
    beds = best_beds(trial, crop)
    bad = [fit for bed in beds if (fit := trial.fits[crop, bed]).verdict != "ok"]
    elsewhere = {fit.bed: moved for fit in bad if (moved := _other_bed(trial, fit)) is not None}
    if any(moved.verdict_after == "ok" for moved in elsewhere.values()):
        return [*elsewhere.values()]
    for fit in bad:
        found = [*_searched(Misfit(trial, fit)), *([elsewhere[fit.bed]] if fit.bed in elsewhere else [])]
        harmless = [cure for cure in found if not cure.harms]
        if found:
            return [weighed(trial, cure) for cure in sorted(harmless or found, key=_size)[:MOST_CURES]]
    return []


def _size(cure: Cure) -> tuple[bool, bool, int, int, float]:
    """Return how small a cure is: what costs no lamp first, and of that what ends the trouble first."""
    kinds = [step.kind for step in cure.steps]
    first = cure.steps[0]
    far = any(step.kind == "hours" and abs(step.after - step.before) > SMALL_HOURS for step in cure.steps)
    order = ORDER.index("bed") if far else max(ORDER.index(kind) for kind in kinds)
    return "watts" in kinds, cure.verdict_after != "ok", len(kinds), order, abs(first.after - first.before)


def _searched(misfit: Misfit) -> list[Cure]:
    """Return the smallest step of each kind that mends, pairs where none alone does, and watts at last.

    Where the lamp is too near or the air unfit, the steps that end that come first.
    """
    if misfit.is_open:
        return []
    found: list[Cure] = []
    for search in (_singles, _pairs, _more_watts):
        for base in misfit.bases():
            mended = [VERDICTS.index(cure.verdict_after) for cure in found if not cure.harms]
            found += search(misfit, base, min(mended, default=MENDED + 1))
            if any(cure.verdict_after == "ok" and not cure.harms for cure in found):
                return found
    return found


def _on(misfit: Misfit, base: Steps, *, watts: bool) -> Iterator[Ladder]:
    """Yield the ladders on top of some steps: those of watts, or all others."""
    space = changed(misfit.trial.space, [setting for step in base for setting in step.settings])
    taken = {step.said.kind for step in base}
    ladders = (ladder for ladder in misfit.ladders(space) if ladder.kind not in taken)
    yield from (ladder for ladder in ladders if (ladder.kind == "watts") == watts)


def _singles(misfit: Misfit, base: Steps, below: int) -> list[Cure]:
    ladders = _on(misfit, base, watts=False)
    return [cure for ladder in ladders for cure in _climbed(misfit, ladder, base, below)]


def _climbed(misfit: Misfit, ladder: Ladder, base: Steps, below: int) -> list[Cure]:
    """Return the smallest step of a ladder that mends, and that harms nobody if there is such a one.

    Its verdict is to have a rank below one.
    """
    for harmless in (True, False):
        for goal in range(min(rank_of(misfit.fit), below)):
            at = _smallest(misfit, ladder, base, goal, harmless=harmless)
            for number in () if at is None else range(at, min(at + NEARLY, len(ladder.sizes))):
                found = _confirmed(misfit, _at(misfit, ladder, base, number), goal, harmless=harmless)
                if found:
                    return found
    return []


def _at(misfit: Misfit, ladder: Ladder, base: Steps, number: int) -> StepsOutcome | None:
    step = ladder.build(ladder.sizes[number])
    return None if step is None else misfit.trial.outcome(misfit.zone, (*base, step))


def _smallest(misfit: Misfit, ladder: Ladder, base: Steps, goal: int, *, harmless: bool) -> int | None:
    """Return the number of the smallest step that makes a crop at least that good, None if none does.

    Steps further and further apart are tried, then those between the last that fails and the first that does.
    """

    def mends(number: int) -> bool:
        outcome = _at(misfit, ladder, base, number)
        if outcome is None or outcome.rank(misfit.fit.crop, misfit.fit.bed) > goal:
            return False
        return not harmless or not misfit.trial.harms(outcome, misfit.fit.crop)

    last = len(ladder.sizes) - 1
    if ladder.more and ladder.kind != "watts" and last > 0 and not mends(last):
        furthest = _at(misfit, ladder, base, last)
        if (
            furthest is not None
            and furthest.rank(misfit.fit.crop, misfit.fit.bed) == rank_of(misfit.fit) != RISK
        ):
            return None  # even so much light is too little
    failed = -1
    for number in [last] if last > 0 and mends(last) else _wider(len(ladder.sizes)):
        if mends(number):
            while number - failed > 1:
                between = (number + failed) // 2
                number, failed = (between, failed) if mends(between) else (number, between)
            return number
        failed = number
    return None


def _wider(count: int) -> Iterator[int]:
    """Yield 0, 1, 2, 3, 4, 5, 7, 9 ... and the last of some numbers."""
    number = 0.0
    while number < count - 1:
        yield int(number)
        number = max(number + 1, number * 1.4)
    if count:
        yield count - 1


def _pairs(misfit: Misfit, base: Steps, below: int) -> list[Cure]:
    """Return the smallest pair of steps of two kinds by which a crop does well, for the first kind with one.

    A pair is the smaller the fewer rungs it has: quarter hours, cm, twentieths.
    """
    if below == 0:
        return []
    for ladder in _on(misfit, base, watts=False):
        if ladder.kind not in FIRST_OF_PAIR:
            continue
        pairs: dict[int, StepsOutcome] = {}
        for number, first in reversed(_first_of_pair(misfit, ladder, base)):
            for second in _on(misfit, first.steps, watts=False):
                at = (
                    _smallest(misfit, second, first.steps, 0, harmless=True)
                    if _fits(ladder, second)
                    else None
                )
                both = None if at is None else _at(misfit, second, first.steps, at)
                if at is not None and both is not None:
                    pairs.setdefault(number + at, both)
            if not pairs:
                break
        for total in sorted(pairs):
            found = _confirmed(misfit, pairs[total], 0, harmless=True)
            if found:
                return found
    return []


def _first_of_pair(misfit: Misfit, ladder: Ladder, base: Steps) -> list[tuple[int, StepsOutcome]]:
    """Return small steps of a ladder that harm nobody; of too long a day only the step down to its limit."""
    if ladder.kind == "hours" and ladder.more is None:
        now, limit = photoperiod_h(misfit.zone), misfit.crop.photoperiod_max_h or 0.0
        rungs = [number for number, size in enumerate(ladder.sizes) if now - size <= limit][:1]
        return [(number, outcome) for number in rungs if (outcome := _at(misfit, ladder, base, number))]
    few = _wider(min(len(ladder.sizes), MOST_RUNGS))
    taken = ((number, _at(misfit, ladder, base, number)) for number in few)
    return [(number, first) for number, first in taken if first and not _harms(misfit, first)]


def _harms(misfit: Misfit, outcome: StepsOutcome) -> bool:
    return bool(misfit.trial.harms(outcome, misfit.fit.crop))


def _fits(first: Ladder, second: Ladder) -> bool:
    """Return whether a step of the second kind may help beside one of the first."""
    opposed = {first.more, second.more} == {True, False}
    return not opposed and ORDER.index(second.kind) > ORDER.index(first.kind)


def _more_watts(misfit: Misfit, base: Steps, below: int) -> list[Cure]:
    """Return the fewest watts that mend: alone, with a day cut to its limit, with air that is kept mild."""
    bases = [base]
    if misfit.day_is_too_long:
        shorter = (ladder for ladder in _on(misfit, base, watts=False) if ladder.kind == "hours")
        bases = [first.steps for ladder in shorter for _, first in _first_of_pair(misfit, ladder, base)]
    for start in bases:
        for ladder in _on(misfit, start, watts=True):
            found = _climbed(misfit, ladder, start, below) or _watts_kept_mild(misfit, ladder, start)
            if found:
                return found
    return []


def _watts_kept_mild(misfit: Misfit, ladder: Ladder, base: Steps) -> list[Cure]:
    """Return the fewest watts that mend where a step of air keeps their heat from doing harm."""

    def both(number: int) -> StepsOutcome | None:
        brighter = _at(misfit, ladder, base, number)
        milder = None if brighter is None else misfit.kept_mild(brighter.space)
        if brighter is None or milder is None:
            return None
        mild = misfit.trial.outcome(misfit.zone, (*brighter.steps, milder))
        well = mild.rank(misfit.fit.crop, misfit.fit.bed) == 0 and not _harms(misfit, mild)
        return mild if well else None

    failed = -1
    for number in _wider(len(ladder.sizes)):
        mended = both(number)
        if mended is not None:
            while number - failed > 1:
                between = (number + failed) // 2
                fewer = both(between)
                number, failed, mended = (
                    (number, between, mended) if fewer is None else (between, failed, fewer)
                )
            return _confirmed(misfit, mended, 0, harmless=True)
        failed = number
    return []


def _confirmed(misfit: Misfit, outcome: StepsOutcome | None, goal: int, *, harmless: bool) -> list[Cure]:
    """Return the cure, judged by its light computed anew, if it is as good as that."""
    if outcome is None:
        return []
    fit, outcome = misfit.fit, misfit.trial.exactly(outcome)
    if outcome.rank(fit.crop, fit.bed) > goal or (harmless and _harms(misfit, outcome)):
        return []
    cure = Cure(
        crop=fit.crop,
        bed=fit.bed,
        steps=tuple(step.said for step in outcome.steps),
        settings=tuple(setting.text for setting in outcome.settings),
        verdict_before=fit.verdict,
        verdict_after=outcome.fits[fit.crop, fit.bed].verdict,
        harms=misfit.trial.harms(outcome, fit.crop),
    )
    return [cure]


def _other_bed(trial: CureTrial, fit: Fit) -> Cure | None:
    """Return the cure of growing a crop only in that bed where it does best; None where it is here."""
    crop = trial.crops[fit.crop]
    better = [other for other in trial.all_fits if other.crop == fit.crop and rank_of(other) < rank_of(fit)]
    if not better:
        return None
    target = min(better, key=lambda other: (rank_of(other), other.bed not in trial.allowed[fit.crop]))
    if rank_of(target) > MENDED:
        return None
    settings: list[SetValue] = []
    for number, want in enumerate(trial.space.wants):
        if crop.slug in want.crops:
            settings += want_settings(trial.space, number, (target.bed,))
    after = trial.best(trial.fits, _allowed_in(trial.space, settings, trial.crops.values()))
    if any(rank > trial.before[slug] for slug, rank in after.items()):
        return None
    return Cure(
        crop=fit.crop,
        bed=fit.bed,
        steps=(CureStep(kind="bed", subject=target.bed),),
        settings=tuple(setting.text for setting in settings),
        verdict_before=fit.verdict,
        verdict_after=target.verdict,
    )


def _allowed_in(
    space: Space, settings: Sequence[SetValue], crops: Iterable[Crop]
) -> dict[str, frozenset[str]]:
    """Return the beds in which each crop may grow in a changed space."""
    after = changed(space, settings)
    return {crop.slug: beds_allowed(after, crop) for crop in crops}
