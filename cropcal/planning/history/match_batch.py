"""Match a journal entry to a batch."""

from collections.abc import Collection, Iterable
from datetime import date, timedelta

from cropcal.records.batch_history import BatchHistory

SOWN_WITHIN_D = 10
"""A sowing further from its planned day than this is not in the plan; assumed."""
GONE_AFTER_D = 60
"""A batch whose planned end is longer ago than this does not stand any more; assumed."""
NO_DAY_KNOWN_D = 10_000
LETTERS = "abcdefghijklmnopqrstuvwxyz"


def matching_batches(
    histories: Iterable[BatchHistory], event: str, crops: Collection[str], on: date, bed: str = ""
) -> tuple[BatchHistory, ...]:
    """Return the batches that an event of some crop matches best: one, several equally well, or none.

    A batch fits if it is as far as the event needs (not sown twice, not cut before it was sown, with
    something left), and the one whose planned day for it is nearest fits best. The bed of a transplanting is
    where it went, which no plan need know.
    """
    near = [
        (days_off_plan(history, event, on), history)
        for history in histories
        if history.crop in crops
        and (event == "transplanted" or not bed or bed in (history.bed, history.nursery))
        and is_open(history, event, on)
    ]
    nearest = min((away for away, _ in near), default=0)
    if event == "sown" and nearest > SOWN_WITHIN_D:
        return ()
    return tuple(history for away, history in near if away == nearest)


def is_open(history: BatchHistory, event: str, on: date) -> bool:
    """Return whether an event can come next for a batch."""
    if event == "sown":
        return history.sown == "planned"
    if not _is_standing(history, on):
        return False
    young = history.moved_on is None and not history.harvested
    if event == "emerged":
        return young
    if event == "transplanted":
        return young and (history.planned is None or history.nursery is not None)
    return True


def _is_standing(history: BatchHistory, on: date) -> bool:
    """Return whether a batch was sown by a day, has something left, and is not long past its end."""
    planned = history.planned
    if history.sown != "unknown" and history.sown_on > on:
        return False
    if planned and on > planned.clear_on + timedelta(days=history.late_d + GONE_AFTER_D):
        return False
    return history.left is None or history.left > 0


def days_off_plan(history: BatchHistory, event: str, on: date) -> int:
    """Return the days between an event and the nearest planned day for it [d].

    Losses and faults may come on any day, so that all batches that stand there are equally near.
    """
    planned = history.planned
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
    return min(abs((on - day).days - history.late_d) for day in days)


def unplanned_batch_id(on: date, taken: Collection[str]) -> str:
    """Return an id for a sowing that is not in the plan: x, month and day, and a letter."""
    stem = f"x{on:%m%d}"
    names = [stem + more + letter for more in ["", *list(LETTERS)] for letter in LETTERS]
    return next(name for name in names if name not in taken)
