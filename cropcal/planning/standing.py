"""How far each batch has come by the journal, and which of them an event is about."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date, timedelta

from cropcal.records.crop import Unit
from cropcal.records.journal import PLANT_EVENTS, Entry
from cropcal.records.plan import Batch
from cropcal.records.standing import Standing

SOWN_WITHIN_D = 10
"""A sowing further from its planned day than this is one besides the plan; assumed."""
GONE_AFTER_D = 60
"""A batch whose planned end is longer ago than this is not there any more; assumed."""
NO_DAY_KNOWN_D = 10_000
LETTERS = "abcdefghijklmnopqrstuvwxyz"


def standings(
    batches: Iterable[Batch], events: Sequence[Entry], units: Mapping[str, Unit]
) -> tuple[Standing, ...]:
    """Return how each batch stands, those of the plan first, then those that only the journal knows.

    Parameters
    ----------
    batches
        The batches of the plan as written.
    events
        What holds of the journal, by day.
    units
        Crop slug -> unit of harvest.
    """
    found = {
        batch.id: Standing(
            batch=batch.id,
            crop=batch.crop,
            bed=batch.bed,
            unit=batch.unit,
            planned=batch,
            places=float(batch.sites),
        )
        for batch in batches
    }
    for event in events:
        if event.event not in PLANT_EVENTS or not event.batch:
            continue
        if event.batch not in found:
            unit = units.get(event.crop, "g")
            found[event.batch] = Standing(batch=event.batch, crop=event.crop, bed=event.bed, unit=unit)
        found[event.batch] = after(found[event.batch], event)
    return tuple(found.values())


def after(standing: Standing, event: Entry) -> Standing:
    """Return how a batch stands after one more event."""
    amount = event.amount
    match event.event:
        case "sown":
            planned = standing.planned.sow_on if standing.planned else None
            places = standing.places
            if amount is not None and event.unit in ("sites", "trays", "cells"):
                places = amount if places is None else min(places, amount)
            return standing.model_copy(
                update={
                    "sown_on": event.on,
                    "places": places,
                    "late_d": _days(planned, event.on, standing.late_d),
                    "bed": standing.bed or event.bed,
                }
            )
        case "emerged":
            return standing.model_copy(update={"emerged_on": event.on, "up": amount})
        case "transplanted":
            planned = standing.planned.transplant_on if standing.planned else None
            return standing.model_copy(
                update={
                    "transplanted_on": event.on,
                    "places": standing.places if amount is None else amount,
                    "lost": standing.lost if amount is None else 0.0,
                    "late_d": _days(planned, event.on, standing.late_d),
                    "bed": event.bed or standing.bed,
                }
            )
        case "harvested":
            return standing.model_copy(
                update={
                    "harvested": standing.harvested + (amount or 0.0),
                    "cuts": standing.cuts + (event.on != standing.last_cut_on),
                    "last_cut_on": event.on,
                    "taken": standing.taken or (event.cut == "whole" and standing.unit != "heads"),
                }
            )
        case "lost":
            return standing.model_copy(update={"lost": standing.lost + (amount or 0.0)})
    return standing


def _days(planned: date | None, on: date, before: int) -> int:
    return before if planned is None else (on - planned).days


def fitting(
    found: Iterable[Standing], event: str, crops: Collection[str], on: date, bed: str = ""
) -> tuple[Standing, ...]:
    """Return the batches that an event of some crop fits best: one, several equally well, or none.

    A batch fits if it is as far as the event needs (not sown twice, not cut before it was sown, with
    something left), and the one whose planned day for it is nearest fits best. The bed of a transplanting is
    where it went, which no plan need know.
    """
    near = [
        (away_d(standing, event, on), standing)
        for standing in found
        if standing.crop in crops
        and (event == "transplanted" or not bed or bed in _beds(standing))
        and is_open(standing, event, on)
    ]
    nearest = min((away for away, _ in near), default=0)
    if event == "sown" and nearest > SOWN_WITHIN_D:
        return ()
    return tuple(standing for away, standing in near if away == nearest)


def _beds(standing: Standing) -> tuple[str | None, ...]:
    return standing.bed, standing.planned.nursery if standing.planned else None


def is_open(standing: Standing, event: str, on: date) -> bool:
    """Return whether a batch is as far as an event needs."""
    if event == "sown":
        return standing.sown_on is None and standing.planned is not None
    if not _is_there(standing, on):
        return False
    match event:
        case "emerged":
            return standing.transplanted_on is None and standing.harvested == 0
        case "transplanted":
            has_nursery = standing.planned is None or standing.planned.nursery is not None
            return has_nursery and standing.transplanted_on is None and standing.harvested == 0
    return True


def _is_there(standing: Standing, on: date) -> bool:
    """Return whether a batch was sown by a day, has something left, and is not long past its end."""
    planned = standing.planned
    sown_on = standing.sown_on or (planned.sow_on if planned else None)
    if sown_on is not None and sown_on > on:
        return False
    if planned and on > planned.clear_on + timedelta(days=standing.late_d + GONE_AFTER_D):
        return False
    return standing.left is None or standing.left > 0


def away_d(standing: Standing, event: str, on: date) -> int:
    """Return how many days an event is from the nearest day for it that is planned [d].

    Losses and faults may come on any day, so that all batches that stand there are equally near.
    """
    planned = standing.planned
    if event in ("lost", "bolted", "tip burn"):
        return 0
    if planned is None:
        return NO_DAY_KNOWN_D
    days: list[date] = []
    match event:
        case "sown":
            return abs((on - planned.sow_on).days)
        case "emerged":
            days = [planned.emerge_on]
        case "transplanted":
            days = [planned.planted_on]
        case "harvested" | "not ready":
            days = [harvest.on for harvest in planned.harvests] or [planned.ready_from]
    return min(abs((on - day).days - standing.late_d) for day in days)


def extra_batch(on: date, taken: Collection[str]) -> str:
    """Return an id for a sowing besides the plan: x, month and day, and a letter."""
    stem = f"x{on:%m%d}"
    names = [stem + more + letter for more in ["", *list(LETTERS)] for letter in LETTERS]
    return next(name for name in names if name not in taken)
