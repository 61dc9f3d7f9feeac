"""Checks of plants that stand already: known crops, in beds with room for them, sown once and not to come."""

from collections.abc import Iterator

from cropcal.problems import Problem
from cropcal.reading.space.checks.plan import stretch_is_known
from cropcal.reading.space.checks.wants import BED_KIND, known_crop
from cropcal.reading.space.draft import Draft, sound


def known_crops_growing(draft: Draft) -> Iterator[Problem]:
    """Ask that the crops are in the crop table."""
    for part in sound(draft.growing, "crop"):
        yield from known_crop(draft, (*part.path, "crop"), part.record.crop)


def beds_they_grow_in(draft: Draft) -> Iterator[Problem]:
    """Ask that each stands in a bed of its kind, or in a nursery if it is planted out later."""
    kinds = {bed.record.name: bed.record.kind for bed in draft.beds if bed.bad.isdisjoint({"name", "kind"})}
    for part in sound(draft.growing, "crop", "bed"):
        crop, kind = draft.tables.crops.get(part.record.crop), kinds.get(part.record.bed)
        if crop is None or kind is None:
            continue
        fitting = {BED_KIND[crop.kind], *(["nursery"] if crop.nursery_d else [])}
        if kind not in fitting:
            names = " or ".join(f'"{name}"' for name in sorted(fitting, reverse=True))
            yield draft.source.problem((*part.path, "bed"), f"a bed of kind = {names} for {crop.slug}")


def room_for_them(draft: Draft) -> Iterator[Problem]:
    """Ask that no bed holds more than it has sites."""
    for bed in sound(draft.beds, "name", "sites", "rows", "columns"):
        left = bed.record.site_count
        for part in sound(draft.growing, "bed", "sites"):
            if part.record.bed != bed.record.name:
                continue
            if part.record.sites > left:
                name, all_sites = bed.record.name, bed.record.site_count
                wrong = f'{part.record.sites} sites, but bed "{name}" has only {left} of {all_sites} left'
                cure = "lower sites, here or in another [[growing]] of this bed"
                yield draft.source.fault((*part.path, "sites"), wrong, cure)
                break
            left -= part.record.sites


def one_age(draft: Draft) -> Iterator[Problem]:
    """Ask for the day of sowing or the age when the plan starts, and that it lies behind."""
    plan = draft.settings
    for part in sound(draft.growing, "sown", "age_d"):
        row = part.record
        if (row.sown is None) == (row.age_d is None):
            if row.sown is None:
                wrong = "how old the plants are is not said"
                cure = "add sown = the day of sowing, or age_d = days since then when the plan starts"
            else:
                wrong, cure = "sown and age_d both say how old the plants are", "leave one of the two out"
            yield draft.source.fault(part.path, wrong, cure)
        elif row.sown is not None and stretch_is_known(draft, "start") and row.sown >= plan.record.start:
            expected = f"a day before the plan starts, {plan.record.start}"
            hint = "what is sown later is planned, or noted with cropcal log"
            yield draft.source.problem((*part.path, "sown"), expected, hint)
