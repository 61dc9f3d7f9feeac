"""What happened to each batch, gathered from the lines of the journal."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from cropcal.records.journal import Entry
from cropcal.records.plan import Batch


@dataclass(frozen=True)
class Story:
    """One batch as it really went: where it stood from when, and what was noted about it.

    ``moved_on`` is the day on which it left the nursery for its bed, None if it is there still or never was.
    ``sites`` counts those it has or had, 0 if nobody said. ``noted`` holds its events in turn.
    """

    batch: str
    crop: str
    sown_on: date
    bed: str
    nursery: str | None = None
    moved_on: date | None = None
    sites: int = 0
    noted: tuple[Entry, ...] = ()

    def days(self, on: date) -> int:
        """Return days after sowing."""
        return (on - self.sown_on).days

    def place(self, on: date) -> str:
        """Return the bed in which it stood on a day."""
        waits = self.nursery is not None and (self.moved_on is None or on < self.moved_on)
        return self.nursery if waits and self.nursery is not None else self.bed

    @property
    def emerged_on(self) -> date | None:
        """Return the day it was first seen to be up."""
        return next((entry.on for entry in self.noted if entry.event == "emerged"), None)

    @property
    def lost(self) -> float:
        """Return how many sites or plants were lost."""
        return sum(entry.amount or 0.0 for entry in self.noted if entry.event == "lost")


def stories(events: Iterable[Entry], planned: Mapping[str, Batch], nurseries: frozenset[str]) -> list[Story]:
    """Return the batches that were sown, oldest first.

    Parameters
    ----------
    events
        What holds after all corrections, by day.
    planned
        Batches of the calendar by their id: they fill in what the journal does not say. One that was
        transplanted or cut was sown, though nobody noted it: on its planned day.
    nurseries
        Names of the beds in which seedlings wait.
    """
    found: dict[str, Story] = {}
    for entry in events:
        if not entry.batch and not entry.crop:
            continue
        key = entry.batch or f"{entry.crop} of {entry.on}"
        if key not in found:
            story = _begun(entry, planned.get(entry.batch), nurseries)
            if story is None:
                continue
            found[key] = story
        found[key] = _went_on(found[key], entry, nurseries)
    return sorted(found.values(), key=lambda story: (story.sown_on, story.batch))


def _begun(entry: Entry, plan: Batch | None, nurseries: frozenset[str]) -> Story | None:
    """Return a story as its first line tells it; None if there is no telling when it was sown."""
    if plan is not None:
        bed, nursery = plan.bed, plan.nursery
        sown = entry.on if entry.event == "sown" else plan.sow_on
        return Story(entry.batch, plan.crop, sown, bed, nursery, sites=plan.sites)
    if entry.event != "sown" or not entry.bed or not entry.crop:
        return None
    nursery = entry.bed if entry.bed in nurseries else None
    sites = int(entry.amount or 0) if entry.unit in ("sites", "cells", "trays") else len(entry.sites)
    return Story(entry.batch, entry.crop, entry.on, entry.bed, nursery, sites=sites)


def _went_on(story: Story, entry: Entry, nurseries: frozenset[str]) -> Story:
    """Return the story with one more line."""
    story = replace(story, noted=(*story.noted, entry))
    if entry.event == "sown":
        bed = entry.bed or story.nursery or story.bed
        sites = (
            int(entry.amount) if entry.amount and entry.unit in ("sites", "cells", "trays") else story.sites
        )
        if bed in nurseries:
            return replace(story, sown_on=entry.on, nursery=bed, sites=sites)
        return replace(story, sown_on=entry.on, nursery=None, bed=bed, sites=sites)
    if entry.event == "transplanted":
        sites = int(entry.amount) if entry.amount and entry.unit in ("sites", "plants") else story.sites
        return replace(story, moved_on=entry.on, bed=entry.bed or story.bed, sites=sites)
    return story
