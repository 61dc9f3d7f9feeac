"""What "salad" and "herbs" mean under a lamp: the crops that it grows soonest in the beds that there are."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil, inf
from statistics import mean

from cropcal.planning.candidates.assessment import Assessment, assess
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK
from cropcal.planning.growth.suitability import VERDICTS
from cropcal.reading.space.defaults import BOWL_G
from cropcal.reading.space.read import read_space_text
from cropcal.reading.text.crop_names import CROPS_OF_MIX
from cropcal.records.answers import Answers, Floor, Mix, PotBoxes, Wish
from cropcal.records.crop import Crop, CropTables
from cropcal.records.space import Space
from cropcal.season import clock
from cropcal.show.data.space_template import space_toml

MOST_KINDS = 3
"""Crops of one want of a mix: enough not to eat the same every week, few enough to buy seed for (assumed)."""
LEAST_TRAY_M2 = 0.05
"""Floor beside the boxes from which a tray has room there (assumed)."""
AT_RISK = VERDICTS.index("risk")
LEAST_KINDS = 2
"""Crops of one want of a mix below which one is taken that may suffer here (assumed)."""
BRIDGES = ("microgreens-brassica", "pea-shoots")
"""Sown for the weeks before the leaves of a salad are ready."""


@dataclass(frozen=True)
class _Growing:
    """A crop under this lamp: its verdict's rank (0 is best), days from seed to the first cut, and g a week.

    ``g_week`` is what it would give if it filled all its beds, cut once.
    """

    crop: Crop
    rank: int
    days: float
    g_week: float = 1.0


def chosen(answers: Answers, tables: CropTables) -> tuple[Answers, list[str]]:
    """Return the answers with crops in place of mixes, and what was taken for granted, in words.

    Wishes for which there is no bed are left out. A salad gets no tray that nobody spoke of.
    """
    if (
        answers.boxes.trays is None
        and answers.boxes.count
        and any(wish.mix == "salad" for wish in answers.wishes)
    ):
        answers = answers.model_copy(update={"boxes": answers.boxes.model_copy(update={"trays": 0})})
    answers, notes = _that_fit(answers, tables)
    soonest = _soonest(answers, tables) if any(wish.mix for wish in answers.wishes) else {}
    named = {slug for wish in answers.wishes for slug in wish.crops}
    wishes: list[Wish] = []
    for wish in answers.wishes:
        if wish.mix is not None:
            made = (
                _salad(wish, soonest, answers.start)
                if wish.mix == "salad"
                else _any_of(wish, wish.mix, soonest, named)
            )
            if made:
                crops = ", ".join(slug for part in made for slug in part.crops)
                grow = any(soonest[slug].days < inf for part in made for slug in part.crops)
                why = "what this lamp grows soonest" if grow else "but the lamp is too weak for them"
                notes.append(f"{wish.mix}: {crops} ({why})")
            else:
                notes.append(f"{wish.mix}: left out (there is no bed for it)")
            wishes += made
        elif answers.boxes.count == 0 and not wish.in_tray:
            notes.append(f"{' or '.join(wish.crops)}: left out (there are no pots for it)")
        elif answers.boxes.trays == 0 and wish.in_tray:
            notes.append(f"{' or '.join(wish.crops)}: left out (there is no open tray for it)")
        else:
            wishes.append(wish)
    if not wishes:
        wishes = _any_salad(answers, tables)
        notes.append(f"eat: {', '.join(slug for wish in wishes for slug in wish.crops)}")
    if answers.boxes.trays is None and all(wish.in_tray for wish in wishes):
        notes.append("boxes: used as open trays, since nothing you want grows in pots")
    return answers.model_copy(update={"wishes": tuple(wishes)}), notes


def asks_for_a_tray(boxes: PotBoxes, floor: Floor, wishes: Sequence[Wish]) -> bool:
    """Return whether an open tray beside the pots would serve some wish, is not spoken of, and has room."""
    if boxes.trays is not None or boxes.count == 0:
        return False
    if boxes.length_m is not None and boxes.width_m is not None:
        left_m2 = floor.length_m * floor.width_m - boxes.count * boxes.length_m * boxes.width_m
        if left_m2 < LEAST_TRAY_M2:
            return False
    for_tray = [wish.in_tray or wish.mix == "microgreens" for wish in wishes]
    return any(wish.mix == "salad" for wish in wishes) or (any(for_tray) and not all(for_tray))


def _any_salad(answers: Answers, tables: CropTables) -> list[Wish]:
    """Return a salad of whatever beds there are, where nothing that was wished for has a bed."""
    salad = Wish(crops=(), unit="g", mix="salad", in_bowls=True)
    return _salad(salad, _soonest(answers.model_copy(update={"wishes": (salad,)}), tables), answers.start)


def _soonest(answers: Answers, tables: CropTables) -> dict[str, _Growing]:
    """Return the crops of all mixes that have a bed, the best and soonest first."""
    mixes = {wish.mix for wish in answers.wishes if wish.mix}
    slugs = dict.fromkeys(slug for mix in mixes for slug in CROPS_OF_MIX[mix] if slug in tables.crops)
    candidates = [crop for slug in slugs if _has_bed(crop := tables.crops[slug], answers)]
    space = _space_with(answers, candidates, tables)
    if space is None:  # the answers are no valid space, which is said when the file is checked
        return {crop.slug: _Growing(crop, 0, inf) for crop in candidates}
    assessed = assess(space, tables)
    ranks = {crop.slug: len(VERDICTS) for crop in candidates}
    for fit in assessed.verdicts:
        ranks[fit.crop] = min(ranks[fit.crop], VERDICTS.index(fit.verdict))
    growing = [_Growing(crop, ranks[crop.slug], *_days_and_grams(crop, assessed)) for crop in candidates]
    return {
        grown.crop.slug: grown
        for grown in sorted(growing, key=lambda grown: (grown.rank >= AT_RISK, grown.days))
    }


def _that_fit(answers: Answers, tables: CropTables) -> tuple[Answers, list[str]]:
    """Return the answers without the sizes of boxes and trays if these do not fit on the floor."""
    in_pots = [crop for crop in tables.crops.values() if crop.kind == "head" and answers.boxes.count]
    in_trays = [crop for crop in tables.crops.values() if crop.kind == "tray" and answers.boxes.trays]
    crops = [*in_pots[:1], *in_trays[:1]]
    no_size = dict.fromkeys(("length_m", "width_m", "tray_length_m", "tray_width_m"))
    smaller = answers.model_copy(update={"boxes": answers.boxes.model_copy(update=no_size)})
    if smaller == answers or _space_with(answers, crops, tables) or not _space_with(smaller, crops, tables):
        return answers, []
    return smaller, ["boxes: their sizes are left out, since they do not fit on the floor"]


def _space_with(answers: Answers, crops: Sequence[Crop], tables: CropTables) -> Space | None:
    """Return the space of some answers with as much of each of these crops as fits, None if not valid."""
    trial = answers.model_copy(update={"wishes": tuple(_alone(crop) for crop in crops)})
    return read_space_text(space_toml(trial), tables, today=clock.today())[0]


def _days_and_grams(crop: Crop, assessed: Assessment) -> tuple[float, float]:
    """Return days to the first cut in the best place, and g a week from all places; inf and 0 if none."""
    days = inf
    by_place: dict[int, float] = {}
    unit_g = crop.anchor_g_per_plant if crop.unit == "heads" else 1.0
    for option in assessed.options:
        if option.grown.crop.slug != crop.slug:
            continue
        ready = float(option.grown.ready_d[1].min())
        site_days = max(ready - (float(option.grown.ages_d[0]) if option.grown.nursery else 0.0), 1.0)
        sites = float(assessed.land.sites[option.place]) / option.sites_each
        g_week = sites * float(option.grown.amount[0, ceil(ready)]) * unit_g * DAYS_PER_WEEK / site_days
        days = min(days, ready)
        by_place[option.place] = max(by_place.get(option.place, 0.0), g_week)
    return days, sum(by_place.values())


def _has_bed(crop: Crop, answers: Answers) -> bool:
    """Return whether there is a bed for a crop; boxes serve as trays where nobody spoke of trays."""
    return answers.boxes.trays != 0 if crop.kind in ("tray", "shoots") else answers.boxes.count > 0


def _alone(crop: Crop) -> Wish:
    """Return a wish for as much of a crop as fits."""
    in_tray = crop.kind in ("tray", "shoots")
    return Wish(crops=(crop.slug,), unit=crop.unit, in_tray=in_tray, has_nursery=crop.nursery_d > 0)


def _any_of(wish: Wish, mix: Mix, soonest: dict[str, _Growing], named: set[str]) -> list[Wish]:
    """Return a want of the soonest crops of a mix that are not wished for by name."""
    of_mix = [grown for slug, grown in soonest.items() if slug in CROPS_OF_MIX[mix] and slug not in named]
    fit = _good(of_mix)
    return [_want(fit, wish.per_week, in_bowls=wish.in_bowls)] if fit else []


def _salad(wish: Wish, soonest: dict[str, _Growing], start: date) -> list[Wish]:
    """Return leaves that are cut again, with microgreens as a bridge, and heads beside them."""
    candidates = [grown for slug, grown in soonest.items() if slug in CROPS_OF_MIX["salad"]]
    of_salad = [grown for grown in candidates if grown.days < inf] or candidates
    heads = _good([grown for grown in of_salad if grown.crop.unit == "heads"])
    leaves = [grown for grown in of_salad if grown.crop.unit == "g" and grown.crop.slug not in BRIDGES]
    in_tray = [grown for grown in leaves if grown.crop.kind == "tray"]
    leaves = _good(in_tray) if in_tray else _unspoilt(leaves)[:MOST_KINDS] if heads else _good(leaves)
    bowls = wish.per_week if wish.in_bowls or wish.per_week is None else wish.per_week / BOWL_G
    of_leaves, of_heads = bowls, None
    if bowls is not None and heads:
        head_g = mean(grown.crop.anchor_g_per_plant for grown in heads)
        share = _g_week(heads) / max(_g_week(heads) + _g_week(leaves), 1e-9)
        of_heads = round(bowls * share * BOWL_G / head_g * 2) / 2  # to half a head
        of_leaves = round(max(bowls - of_heads * head_g / BOWL_G, 0.0) * 2) / 2
        if not leaves:
            of_heads = max(of_heads, 0.5)
    made = [_want(leaves, of_leaves, in_bowls=True)] if leaves and of_leaves != 0 else []
    bridges = [grown for grown in of_salad if grown.crop.slug in BRIDGES]
    if made and bridges and (left_d := leaves[0].days - bridges[0].days) < inf and left_d > DAYS_PER_WEEK:
        until = start + timedelta(days=ceil(leaves[0].days) + DAYS_PER_WEEK)
        why = f"A bridge: ready {left_d:.0f} days before the leaves."
        bridge = _want(bridges[:1], 1.0, in_bowls=True)
        made.insert(0, bridge.model_copy(update={"until": until, "why": why}))
    if heads and of_heads != 0:
        made.append(_want(heads, of_heads, in_bowls=False))
    return made


def _unspoilt(growing: list[_Growing]) -> list[_Growing]:
    """Return the crops that are not at risk here."""
    return [grown for grown in growing if grown.rank < AT_RISK]


def _good(growing: list[_Growing]) -> list[_Growing]:
    """Return the few soonest: those that are not at risk, and others only where there are fewer than two."""
    good = _unspoilt(growing)
    possible = [grown for grown in growing if grown.days < inf] or growing
    return (good if len(good) >= LEAST_KINDS else possible[:LEAST_KINDS])[:MOST_KINDS]


def _g_week(growing: list[_Growing]) -> float:
    """Return what a bed full of some crops in turn gives [g a week]."""
    return mean(grown.g_week for grown in growing) if growing else 0.0


def _want(growing: list[_Growing], per_week: float | None, *, in_bowls: bool) -> Wish:
    """Return a want of any of some crops that grow in the same sort of bed."""
    crops = [grown.crop for grown in growing]
    about = ", ".join(f"{grown.crop.name} {grown.days:.0f}" for grown in growing if grown.days < inf)
    why = f"Chosen for this lamp; days from seed to the first cut, about: {about}."
    return Wish(
        crops=tuple(crop.slug for crop in crops),
        unit=crops[0].unit,
        per_week=per_week,
        in_tray=crops[0].kind in ("tray", "shoots"),
        has_nursery=any(crop.nursery_d > 0 for crop in crops),
        in_bowls=in_bowls,
        variety=len(crops) > 1,
        why=why if about else "None of these gets enough light here: see `cropcal light`.",
    )
