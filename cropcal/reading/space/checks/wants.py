"""Checks of wants: crops of the table, in one unit, with a bed, at a time within the plan; and of seed."""

from collections.abc import Iterator

from cropcal.problems import Problem
from cropcal.reading.space.checks.plan import last_day, stretch_is_known
from cropcal.reading.space.draft import Draft, Part, readable_parts
from cropcal.reading.text.crop_names import crops_named, nearest_crop
from cropcal.reading.text.suggestions import did_you_mean, listed
from cropcal.reading.text.toml_locations import KeyPath
from cropcal.records.crop import Crop
from cropcal.records.space import Bed, Want

BED_KIND = {"head": "sites", "bunch": "sites", "tray": "tray", "shoots": "tray"}
"""The kind of bed in which each kind of crop grows."""

LEAST_HELPING_G = 5.0
"""Grams a week below which a number of plants is likelier meant (assumed)."""
LIGHTEST_SHARE, HEAVIEST_SHARE = 1 / 3, 2.0
"""Shares of the weight in the crop table beyond which a weight at the cut is asked about (assumed)."""


def known_crops(draft: Draft) -> Iterator[Problem]:
    """Ask that wanted crops are in the crop table."""
    for part in readable_parts(draft.wants, "crops"):
        for place, slug in enumerate(part.record.crops):
            yield from known_crop(draft, (*part.path, "crops", place), slug)


def known_crop(draft: Draft, path: KeyPath, slug: str) -> Iterator[Problem]:
    """Ask that one crop is in the crop table."""
    crops = draft.tables.crops
    if slug not in crops:
        kinds = crops_named(slug, draft.tables)
        if kinds:
            yield draft.source.problem(path, "one crop in the table", f"which of {listed(kinds)}?")
        else:
            yield draft.source.problem(path, "a crop in the table", nearest_crop(slug, draft.tables))


def one_unit(draft: Draft) -> Iterator[Problem]:
    """Ask that all crops of a want are counted in one unit, and the want in the same."""
    for part in readable_parts(draft.wants, "crops"):
        crops = _crops(draft, part.record)
        units = sorted({crop.unit for crop in crops})
        if len(units) > 1:
            found = " and ".join(f"{crop.slug} in {crop.unit}" for crop in crops)
            hint = "make a [[want]] of each"
            yield draft.source.problem((*part.path, "crops"), "crops counted in one unit", hint, found=found)
        elif "unit" not in part.bad and units and part.record.unit not in _units_of(units[0]):
            slugs = " and ".join(crop.slug for crop in crops)
            expected = f'"{units[0]}", in which {slugs} is counted'
            yield draft.source.problem((*part.path, "unit"), expected, "or leave unit out")


def _units_of(unit: str) -> tuple[str | None, ...]:
    """Return what a want may be counted in whose crops are counted in a unit."""
    return (None, unit, "bowls") if unit == "g" else (None, unit)


def bowls_of_some_weight(draft: Draft) -> Iterator[Problem]:
    """Ask for the weight of a bowl only where bowls are wanted."""
    for part in readable_parts(draft.wants, "unit", "bowl_g"):
        if part.record.bowl_g is not None and part.record.unit != "bowls":
            expected = 'unit = "bowls" as well'
            yield draft.source.problem((*part.path, "bowl_g"), expected, found="bowl_g without bowls")


def young_plants_of_crops(draft: Draft) -> Iterator[Problem]:
    """Ask for bought plants only of crops that are planted out, and for an age only where they are bought."""
    for part in readable_parts(draft.wants, "crops", "plugs", "plug_age_d"):
        want = part.record
        if want.plug_age_d is not None and not want.plugs:
            expected = "plugs = true as well"
            yield draft.source.problem((*part.path, "plug_age_d"), expected, found="plug_age_d without plugs")
        for place, slug in enumerate(want.crops if want.plugs else ()):
            crop = draft.tables.crops.get(slug)
            if crop is not None and crop.nursery_d == 0:
                expected = "a crop that is bought as young plants"
                hint = "this one is sown in place"
                yield draft.source.problem((*part.path, "crops", place), expected, hint)


def weights_of_crops(draft: Draft) -> Iterator[Problem]:
    """Ask for a weight at the cut only of crops of the want that stand as single plants."""
    for part, path, slug, _ in _weights(draft):
        if slug not in part.record.crops:
            yield draft.source.problem(
                path, "a crop of this want", did_you_mean(slug, part.record.crops), found=slug
            )
            continue
        crop = draft.tables.crops.get(slug)
        if crop is not None and BED_KIND[crop.kind] == "tray":
            wrong = f"{crop.name}: cut by the tray, not by the weight of a plant"
            cure = "leave cut_at_g out, or name only the crops it is for, like { kale = 60 }"
            yield draft.source.fault(path, wrong, cure)


def unusual_weights(draft: Draft) -> Iterator[Problem]:
    """Ask whether a crop is meant to be cut much lighter or heavier than the crop table knows it."""
    for _, path, slug, grams in _weights(draft):
        usual_g = draft.tables.crops[slug].anchor_g_per_plant
        low_g, high_g = LIGHTEST_SHARE * usual_g, HEAVIEST_SHARE * usual_g
        if not low_g <= grams <= high_g:
            expected = f"{low_g:.0f} to {high_g:.0f} g for {slug}"
            hint = f"the crop table knows it at {usual_g:.0f} g a plant; far from it growth is a guess"
            yield draft.source.problem(path, expected, hint, found=f"{grams:g} g a plant")


def a_helping(draft: Draft) -> Iterator[Problem]:
    """Ask whether a few grams a week are meant, where a count of plants or bunches is likelier."""
    for part in readable_parts(draft.wants, "crops", "per_week", "unit"):
        want = part.record
        grown = [crop for slug in want.crops if (crop := draft.tables.crops.get(slug)) is not None]
        grams = want.per_week
        if grams is None or want.unit == "bowls" or not grown or any(crop.unit != "g" for crop in grown):
            continue
        if 0 < grams < LEAST_HELPING_G:
            crop = grown[0]
            hint = f"{crop.name}: grams are counted"
            if BED_KIND[crop.kind] == "sites":
                hint += f"; one plant gives about {crop.anchor_g_per_plant:.0f} g a cut"
            expected = f"at least {LEAST_HELPING_G:g} g, a few leaves"
            yield draft.source.problem((*part.path, "per_week"), expected, hint, found=f"{grams:g} g a week")


def _weights(draft: Draft) -> Iterator[tuple[Part[Want], KeyPath, str, float]]:
    """Yield each weight at which a want has a crop cut: its want, its place in the file, crop and grams."""
    for part in readable_parts(draft.wants, "crops", "cut_at_g"):
        for name, grams in (part.record.cut_at_g or {}).items():
            path: KeyPath = (*part.path, "cut_at_g", *([name] if name else []))
            for slug in dict.fromkeys((name,) if name else part.record.crops):
                yield part, path, slug, grams


def variety_of_crops(draft: Draft) -> Iterator[Problem]:
    """Ask for more than one crop where not the same is wanted every week."""
    for part in readable_parts(draft.wants, "crops", "variety"):
        if part.record.variety and len({*part.record.crops}) == 1:
            wrong = "one crop alone gives no variety"
            cure = "name another crop in crops, or leave variety out"
            yield draft.source.fault((*part.path, "variety"), wrong, cure)


def a_bed_for_each_crop(draft: Draft) -> Iterator[Problem]:
    """Ask for a bed of the kind each wanted crop grows in, among those the want is kept to."""
    if (
        "bed" in draft.unsure
        or not draft.beds
        or any(bed.bad & {"name", "zone", "kind"} for bed in draft.beds)
    ):
        return
    for part in readable_parts(draft.wants, "crops", "beds", "zones"):
        kinds = {bed.kind for bed in _beds(draft, part.record)}
        key = next(key for key in ("beds", "zones", "crops") if getattr(part.record, key) is not None)
        if () in (part.record.beds, part.record.zones):
            continue  # another check reports an empty list
        if not kinds:
            if _names_are_known(draft, part.record):
                wrong = "none of the beds of this want is in one of its zones"
                cure = "leave beds or zones out, or name a bed in one of these zones"
                yield draft.source.fault((*part.path, key), wrong, cure)
            continue
        if kinds == {"nursery"}:
            wrong = "there is only a nursery for it, and a nursery only holds seedlings"
            cure = 'add or name a bed for growing plants, of kind = "sites" or "tray"'
            yield draft.source.fault((*part.path, key), wrong, cure)
            continue
        for place, slug in enumerate(part.record.crops):
            crop = draft.tables.crops.get(slug)
            path, expected = (*part.path, "crops", place), "a crop for the beds this want may use"
            if crop is not None and BED_KIND[crop.kind] not in kinds:
                hint = f'it grows in a bed of kind = "{BED_KIND[crop.kind]}"'
                yield draft.source.problem(path, expected, hint)
            elif crop is not None and _crops_of_beds_known(draft):
                kind = BED_KIND[crop.kind]
                beds = [bed for bed in _beds(draft, part.record) if bed.kind == kind]
                if not any(bed.crops is None or slug in bed.crops for bed in beds):
                    yield draft.source.problem(path, expected, "their crops do not name it")


def within_the_plan(draft: Draft) -> Iterator[Problem]:
    """Ask that a want begins before it ends, ends after the start, and begins not far ahead."""
    plan = draft.settings
    known = stretch_is_known(draft)
    for part in readable_parts(draft.wants, "from", "until"):
        first, last = part.record.from_, part.record.until
        if first is not None and last is not None and first > last:
            yield draft.source.problem(
                (*part.path, "until"), f"a day not before from, {first}", "are the two swapped?"
            )
        elif known and last is not None and last < plan.record.start:
            expected = f"a day not before the plan starts, {plan.record.start}"
            yield draft.source.problem((*part.path, "until"), expected)
        elif known and first is not None and first > last_day(plan.record):
            expected = f"a day not after {last_day(plan.record)}"
            yield draft.source.problem((*part.path, "from"), expected)


def one_way_to_want(draft: Draft) -> Iterator[Problem]:
    """Ask for an amount a week, or days and the amount of each."""
    for part in readable_parts(draft.wants, "on", "amount", "per_week", "from", "until"):
        want, path = part.record, part.path
        if want.on is None and want.amount is not None:
            expected = "the days it is for as well, on = [2027-05-01]"
            yield draft.source.problem((*path, "amount"), expected, "or per_week", found="amount without on")
        elif want.on is not None and want.amount is None:
            yield draft.source.problem(
                (*path, "on"), "the amount wanted on each of these days as well", found="on without amount"
            )
        for key, value in (("per_week", want.per_week), ("from", want.from_), ("until", want.until)):
            if want.on is not None and value is not None:
                hint = "make a [[want]] of each" if key == "per_week" else ""
                yield draft.source.problem(
                    (*path, key), f"only one of on and {key}", hint, found=f"on and {key}"
                )


def days_apart_within_the_plan(draft: Draft) -> Iterator[Problem]:
    """Ask that listed days lie after the start, not far ahead, and a week apart: each is met for itself."""
    plan = draft.settings
    for part in readable_parts(draft.wants, "on"):
        days = part.record.on or ()
        for place, on in enumerate(days):
            path = (*part.path, "on", place)
            if stretch_is_known(draft) and not plan.record.start <= on <= last_day(plan.record):
                expected = f"a day between the start, {plan.record.start}, and {last_day(plan.record)}"
                yield draft.source.problem(path, expected)
            elif any(0 < abs((on - other).days) < 7 for other in days[:place]):
                yield draft.source.problem(path, "days a week apart or more", "make a [[want]] of each")


def known_crops_of_seed(draft: Draft) -> Iterator[Problem]:
    """Ask that the crops of seed on hand are in the crop table."""
    for part in readable_parts(draft.seed, "crop"):
        yield from known_crop(draft, (*part.path, "crop"), part.record.crop)


def one_amount_of_seed(draft: Draft) -> Iterator[Problem]:
    """Ask for a number of seeds or their weight."""
    for part in readable_parts(draft.seed, "seeds", "g"):
        row = part.record
        if row.seeds is None and row.g is None:
            cure = "add seeds = how many there are, or g = what they weigh"
            yield draft.source.fault(part.path, "it does not say how much seed there is", cure)
        elif row.seeds is not None and row.g is not None:
            wrong, cure = "seeds and g both say how much seed there is", "leave one of the two out"
            yield draft.source.fault(part.path, wrong, cure)


def packed_and_counted(draft: Draft) -> Iterator[Problem]:
    """Ask that seed was packed before it was counted."""
    for part in readable_parts(draft.seed, "year", "counted"):
        year, counted = part.record.year, part.record.counted
        latest = counted or draft.settings.record.start
        if year is not None and "start" not in draft.settings.bad and year > latest.year:
            expected = f"the year in which it was packed, {latest.year} or before"
            yield draft.source.problem((*part.path, "year"), expected)


def _crops_of_beds_known(draft: Draft) -> bool:
    """Return whether all crops that beds are kept for could be read (if not, another check reports it)."""
    named = [slug for bed in draft.beds for slug in bed.record.crops or ()]
    return not any("crops" in bed.bad for bed in draft.beds) and {*named} <= draft.tables.crops.keys()


def _crops(draft: Draft, want: Want) -> list[Crop]:
    return [draft.tables.crops[slug] for slug in want.crops if slug in draft.tables.crops]


def _beds(draft: Draft, want: Want) -> list[Bed]:
    """Return the beds a want is kept to."""
    return [
        bed.record
        for bed in draft.beds
        if (want.beds is None or bed.record.name in want.beds)
        and (want.zones is None or bed.record.zone in want.zones)
    ]


def _names_are_known(draft: Draft, want: Want) -> bool:
    """Return whether the beds and zones a want names all exist (if not, another check reports it)."""
    beds, zones = draft.bed_names, draft.zone_names
    return (
        beds is not None
        and zones is not None
        and {*(want.beds or ())} <= {*beds}
        and {*(want.zones or ())} <= {*zones}
    )
