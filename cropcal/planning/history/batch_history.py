"""The history of each batch, from the plan and the journal."""

from collections.abc import Iterable, Mapping

from cropcal.records.batch_history import BatchHistory
from cropcal.records.crop import Crop
from cropcal.records.journal import PLANT_EVENTS, Entry
from cropcal.records.plan import Batch

PLACES = ("sites", "cells", "trays")


def batch_histories(
    events: Iterable[Entry],
    planned: Mapping[str, Batch],
    nurseries: frozenset[str],
    crops: Mapping[str, Crop] | None = None,
) -> tuple[BatchHistory, ...]:
    """Return the history of every batch of the plan, then of those that only the journal has.

    Parameters
    ----------
    events
        The journal entries that hold after all corrections, by day.
    planned
        Batches of the plan by id: they fill in what the journal lacks. A batch that was transplanted or cut
        counts as sown on its planned day, even if nobody noted it.
    nurseries
        Names of the beds in which seedlings wait.
    crops
        Crops by slug, for those of which several plants share a site.
    """
    known = crops or {}
    histories = {batch.id: _as_planned(batch, known.get(batch.crop)) for batch in planned.values()}
    for entry in events:
        if entry.event in PLANT_EVENTS and entry.batch:
            history = histories.get(entry.batch) or unplanned_batch(entry, known.get(entry.crop))
            histories[entry.batch] = after_entry(history, entry, nurseries)
    return tuple(histories.values())


def _as_planned(batch: Batch, crop: Crop | None) -> BatchHistory:
    return BatchHistory(
        batch=batch.id,
        crop=batch.crop,
        bed=batch.bed,
        nursery=batch.nursery,
        sown_on=batch.sow_on,
        sown="planned",
        sites=batch.sites,
        plants_per_site=crop.plants_per_site if crop else 1,
        planned=batch,
    )


def unplanned_batch(entry: Entry, crop: Crop | None) -> BatchHistory:
    """Return the history of a batch that is in no plan, before its first entry, which is given."""
    return BatchHistory(
        batch=entry.batch,
        crop=entry.crop,
        bed=entry.bed,
        sown_on=entry.on,
        sown="unknown",
        plants_per_site=crop.plants_per_site if crop else 1,
    )


def after_entry(history: BatchHistory, entry: Entry, nurseries: frozenset[str]) -> BatchHistory:
    """Return the history after one more entry."""
    new: dict[str, object] = {"noted": (*history.noted, entry)}
    if entry.event == "sown":
        bed = entry.bed or history.nursery or history.bed
        new |= {"sown_on": entry.on, "sown": "noted", "sites": _sown_sites(history, entry)}
        new |= {"nursery": bed} if bed in nurseries else {"nursery": None, "bed": bed}
        if not history.bed:
            new["bed"] = bed
    elif entry.event == "transplanted" and history.plug_age_d is not None:
        new |= {"sown_on": entry.on, "sown": "noted", "bed": entry.bed or history.bed}
        new |= {"sites": int(entry.amount)} if entry.amount and entry.unit in PLACES else {}
    elif entry.event == "transplanted":
        new |= {"moved_on": entry.on, "bed": entry.bed or history.bed}
        if entry.amount:
            each = history.plants_per_site if entry.unit == "plants" else 1
            new["sites"] = round(entry.amount / each)
    return history.model_copy(update=new)


def _sown_sites(history: BatchHistory, entry: Entry) -> int:
    """Return the sites of a sowing; spare cells of the nursery are no sites."""
    if not entry.amount or entry.unit not in PLACES:
        return history.sites or len(entry.sites)
    sown = int(entry.amount)
    return min(sown, history.sites) if entry.unit == "cells" and history.planned else sown
