"""Plants that stand when planning begins, as if their sowing had been noted."""

from collections import Counter
from datetime import date, timedelta

from cropcal.records.journal import Entry
from cropcal.records.space import Growing, Space
from cropcal.records.written_plan import Past


def with_initial_stock(past: Past | None, space: Space) -> Past | None:
    """Return the past with the plants that the file lists as growing; later notes of them count."""
    entries = initial_sowings(space)
    if not entries:
        return past
    if past is None:
        return Past(on=space.settings.start, events=entries)
    events = sorted([*entries, *past.events], key=lambda entry: entry.on)
    return past.model_copy(update={"events": tuple(events)})


def initial_sowings(space: Space) -> tuple[Entry, ...]:
    """Return a sowing for each row of plants in the file, by day."""
    counts: Counter[str] = Counter()
    sowings = []
    for row in space.growing:
        on = sown_on(row, space.settings.start)
        stem = f"{on:%m%d}s"
        counts[stem] += 1
        sowings.append(
            Entry(
                on=on,
                event="sown",
                batch=stem if counts[stem] == 1 else f"{stem}{counts[stem]}",
                crop=row.crop,
                bed=row.bed,
                amount=float(row.sites),
                unit="sites",
            )
        )
    return tuple(sorted(sowings, key=lambda entry: entry.on))


def sown_on(row: Growing, start: date) -> date:
    """Return the day on which plants were sown."""
    return row.sown if row.sown is not None else start - timedelta(days=row.age_d or 0)
