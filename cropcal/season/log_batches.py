"""Which batches a note is about, and how a number is spread over several of one day."""

from collections.abc import Collection, Sequence
from datetime import date, timedelta
from typing import NamedTuple

from cropcal.planning.history.match_batch import days_off_plan, matching_batches
from cropcal.reading.journal.event_words import Quantity
from cropcal.reading.text.crop_names import akin, crops_named, named_exactly, nearest_crop
from cropcal.reading.text.suggestions import did_you_mean
from cropcal.records.batch_history import BatchHistory
from cropcal.records.crop import Crop
from cropcal.records.journal import Entry
from cropcal.season.errors import Meaning, choose
from cropcal.season.load import crop_named, refuse_one
from cropcal.season.log_write import NoteContext
from cropcal.show.terminal import log as journal_screens

KINDS_APART_D = 7
"""Kinds of a family whose planned days for an event are nearer than this are asked about (assumed)."""
A_BATCH_OR_CROP = "a batch id of the calendar, or a crop"


class BatchShare(NamedTuple):
    """A batch and its part of a note: how much of it, None if no number was given."""

    history: BatchHistory
    amounts: list[Quantity]


def batches_meant(
    context: NoteContext, entry: Entry, thing: str, bed: str, units: Collection[str] = ()
) -> tuple[tuple[BatchHistory, ...], str]:
    """Return the batches that a note of a crop is about (several of one day, or none), and the crop.

    ``units`` of its amounts tell kinds cut in heads from those that are weighed.

    Raises
    ------
    SpaceError
        If no crop has that name; OpenError if several crops or batches may be meant.
    """
    tables, here = context.tables, context.here
    slugs = crops_named(thing, tables, here)
    if not slugs:
        ids = [history.batch for history in context.stories]
        is_id = any(char.isdecimal() for char in thing)
        hint = nearest_crop(thing, tables)
        if is_id:
            hint = did_you_mean(thing, ids) if ids else "no plan is written: cropcal plan"
        refuse_one("CROP_OR_BATCH", f'"{thing}"', A_BATCH_OR_CROP, hint)
    if entry.event == "harvested" and units:
        usual = "heads" if "heads" in units else "g" if {*units} == {"g"} else ""
        slugs = tuple(slug for slug in slugs if tables.crops[slug].unit == usual) or slugs
    fit = _fitting(context, entry, slugs, bed)
    if not fit and entry.event != "sown" and named_exactly(thing, tables):
        kin = tuple(slug for slug in akin(thing, tables) if slug in here)
        fit = _fitting(context, entry, kin, bed)
    crops = tuple(dict.fromkeys(history.crop for history in fit))
    if len(crops) > 1:
        choices = [Meaning(slug, tables.crops[slug].name) for slug in crops]
        crop = choose("CROP_OR_BATCH", thing, choices, "one of these crops")
        fit = tuple(history for history in fit if history.crop == crop)
    if not fit:
        return (), slugs[0] if len(slugs) == 1 else crop_named(thing, "CROP_OR_BATCH", tables, here)
    nearest = min(days_off_plan(history, entry.event, entry.on) for history in fit)
    fit = tuple(history for history in fit if days_off_plan(history, entry.event, entry.on) == nearest)
    if len(fit) > 1 and not _is_one_sowing(fit, entry):
        fit = (_asked(fit, entry, thing),)
    return fit, fit[0].crop


def _fitting(
    context: NoteContext, entry: Entry, slugs: Collection[str], bed: str
) -> tuple[BatchHistory, ...]:
    """Return the batches of each crop that match best, and of several crops those that are near the best."""
    best = {slug: matching_batches(context.stories, entry.event, (slug,), entry.on, bed) for slug in slugs}
    away = {slug: days_off_plan(fit[0], entry.event, entry.on) for slug, fit in best.items() if fit}
    least = min(away.values(), default=0)
    return tuple(
        history for slug, days in away.items() if days < least + KINDS_APART_D for history in best[slug]
    )


def _is_one_sowing(fit: Sequence[BatchHistory], entry: Entry) -> bool:
    """Return whether batches were sown on one day and share a note; losses and faults must be of one bed."""
    if len({history.sown_on for history in fit}) > 1:
        return False
    is_fault = entry.event in ("bolted", "tip burn") or (entry.event == "lost" and entry.sites)
    return not is_fault and (entry.event != "lost" or len({history.place(entry.on) for history in fit}) == 1)


def _asked(fit: Sequence[BatchHistory], entry: Entry, thing: str) -> BatchHistory:
    """Return the batch of several that is meant, or raise."""
    choices = [Meaning(history.batch, journal_screens.candidate(history, entry.on)) for history in fit]
    shown = journal_screens.candidates(fit, entry.on)
    name = choose("CROP_OR_BATCH", thing, choices, "one of these batch ids", shown)
    return next(history for history in fit if history.batch == name)


def shared_out(
    fit: Sequence[BatchHistory], entry: Entry, amounts: Sequence[Quantity], crop: Crop, thing: str
) -> list[BatchShare]:
    """Return the part of each batch of one sowing, those that are eaten first before the others.

    Counts fill the batches up to what is planned for each, and what is over goes to the last. Losses take
    from those that are eaten last. Weights go by what is expected of each batch.
    """
    order = sorted(fit, key=_first_eaten)
    if not amounts:
        return [BatchShare(history, []) for history in order]
    if entry.event == "lost":
        order.reverse()
    counts = [
        amount
        for amount in amounts
        if not (amount.unit == "g" or (crop.unit == "g" and entry.event == "harvested"))
    ]
    weights = [amount for amount in amounts if amount not in counts]
    if len(counts) > 1 or len(weights) > 1:
        return [BatchShare(order[0], list(amounts))]  # refused as for one batch
    if counts:
        parts = _filled(counts[0].value, [_room(history, entry, counts[0].unit) for history in order])
        heads = sum(parts)
        return [
            BatchShare(
                history,
                [Quantity(part, counts[0].unit)]
                + [Quantity(round(weight.value * part / heads, 1), "g") for weight in weights],
            )
            for history, part in zip(order, parts, strict=True)
            if heads
        ]
    return _by_weight(order, entry, weights[0], thing)


def _by_weight(order: Sequence[BatchHistory], entry: Entry, weight: Quantity, thing: str) -> list[BatchShare]:
    """Share a weight by what is expected of each batch; ask if it is likelier that of one of them."""
    expected = [history.planned.amount if history.planned else 1.0 for history in order]
    total = sum(expected)
    nearest = min(abs(weight.value - part) for part in expected)
    if nearest < abs(weight.value - total):
        return [BatchShare(_asked(order, entry, thing), [weight])]
    return [
        BatchShare(history, [Quantity(round(weight.value * part / total, 1), weight.unit)])
        for history, part in zip(order, expected, strict=True)
    ]


def _filled(count: float, rooms: Sequence[float]) -> list[float]:
    """Return a count filled into rooms in their order; what is over goes into the last."""
    parts = []
    for room in rooms:
        parts.append(min(room, count))
        count -= parts[-1]
    parts[-1] += count
    return parts


def _room(history: BatchHistory, entry: Entry, unit: str) -> float:
    """Return how many places or plants of a batch a note can be about."""
    planned = history.planned
    if entry.event == "sown" and planned:
        if unit == "seeds":
            return float(planned.seeds)
        return float(planned.cells or planned.sites)
    left = float(history.sites) if history.left is None else history.left
    return left * (history.plants_per_site if unit == "plants" else 1)


def _first_eaten(history: BatchHistory) -> tuple[date, str, str]:
    """Return what batches of one sowing are ordered by: the day of the first cut, bed, id."""
    days = [harvest.on for harvest in history.planned.harvests] if history.planned else []
    return min(days, default=history.sown_on + timedelta(days=365)), history.bed, history.batch
