"""One batch from sowing to its end: as planned, and as the journal has it."""

from datetime import date
from typing import Final, Literal

from cropcal.records.base import Record
from cropcal.records.journal import Entry
from cropcal.records.plan import Batch

SLIP_D: Final = 3
"""Days a batch may be late before its next jobs are moved, or doubted if they were not noted."""


class BatchHistory(Record):
    """One batch up to now: where it was from when, and what was noted about it.

    Attributes
    ----------
    batch, crop, bed, nursery
        Its id, crop slug, bed, and the nursery it starts in, None if it is sown in place.
    sown_on, sown
        The day of sowing and how it is known: noted, as planned, or unknown, which takes the first day on
        which anything was noted.
    moved_on
        The day on which it left the nursery for its bed, None if that was not noted.
    sites
        The number of its sites, as noted, else as planned; 0 if unknown.
    plants_per_site
        Plants that share a site.
    noted
        Its events by date.
    planned
        The batch in the plan; None if it was sown outside the plan.
    """

    batch: str
    crop: str
    bed: str
    nursery: str | None = None
    sown_on: date
    sown: Literal["noted", "planned", "unknown"] = "noted"
    moved_on: date | None = None
    sites: int = 0
    plants_per_site: int = 1
    noted: tuple[Entry, ...] = ()
    planned: Batch | None = None

    def days(self, on: date) -> int:
        """Return days after sowing."""
        return (on - self.sown_on).days

    def place(self, on: date) -> str:
        """Return the bed or nursery it was in on a day."""
        left_on = self.left_nursery_on
        waits = self.nursery is not None and (left_on is None or on < left_on)
        return self.nursery if waits and self.nursery is not None else self.bed

    @property
    def left_nursery_on(self) -> date | None:
        """Return the day on which it left the nursery: as noted, else as planned, before its first cut.

        A batch that was sown late left it as many days later. None: it was never there, or nobody knows.
        """
        if self.nursery is None or self.moved_on is not None or self.planned is None:
            return self.moved_on
        due, late = self.planned.transplant_on, self.sown_on - self.planned.sow_on
        if due is not None and late.days > SLIP_D:
            due += late
        days = [day for day in (due, *self.cut_on) if day is not None]
        return min(days, default=None)

    def of(self, event: str) -> tuple[Entry, ...]:
        """Return its events of one kind."""
        return tuple(entry for entry in self.noted if entry.event == event)

    @property
    def plug_age_d(self) -> int | None:
        """Return its age when it was bought and planted, on ``sown_on`` [d]; None: it was sown."""
        return self.planned.plug_age_d if self.planned else None

    @property
    def sites_each(self) -> int:
        """Return the sites that each plant (clump) holds, as planned; outside a plan 1."""
        return self.planned.sites_each if self.planned else 1

    @property
    def emerged_on(self) -> date | None:
        """Return the day its emergence was first noted."""
        return next((entry.on for entry in self.of("emerged")), None)

    @property
    def not_ready_on(self) -> date | None:
        """Return the last day since its last cut on which it was noted as not ready."""
        last = max(self.cut_on, default=date.min)
        return max((entry.on for entry in self.of("not ready") if entry.on > last), default=None)

    @property
    def late_d(self) -> int:
        """Return days behind its plan by the last sowing or transplanting noted; negative is ahead [d]."""
        if self.planned is None:
            return 0
        due = {"sown": self.planned.sow_on, "transplanted": self.planned.transplant_on}
        if self.plug_age_d is not None:
            due["transplanted"] = self.planned.sow_on
        late = [(entry.on - day).days for entry in self.noted if (day := due.get(entry.event))]
        return late[-1] if late else 0

    @property
    def losses(self) -> tuple[Entry, ...]:
        """Return the losses since the last counted transplanting: its count leaves out the earlier ones."""
        counted = [
            at for at, entry in enumerate(self.noted) if entry.event == "transplanted" and entry.amount
        ]
        return tuple(entry for entry in self.noted[max(counted, default=0) :] if entry.event == "lost")

    def sites_of(self, entry: Entry) -> float | None:
        """Return the number of sites lost, None where no number was noted: all that were left."""
        if entry.sites or entry.amount is None:
            return float(len(entry.sites)) if entry.sites else None
        return entry.amount / self.plants_per_site if entry.unit == "plants" else entry.amount

    def lost(self, until: date = date.max) -> float:
        """Return the sites lost by number up to a day."""
        return sum(self.sites_of(entry) or 0.0 for entry in self.losses if entry.on <= until)

    @property
    def cut_in_parts(self) -> bool:
        """Return whether it was cut on several days, and not all notes say which sites."""
        cuts = self.of("harvested")
        return len({entry.on for entry in cuts}) > 1 and not all(entry.sites for entry in cuts)

    @property
    def harvested(self) -> float:
        """Return the amount harvested so far, in the crop's unit."""
        return sum(entry.amount or 0.0 for entry in self.of("harvested"))

    @property
    def cut_on(self) -> tuple[date, ...]:
        """Return the days on which it was cut."""
        return tuple(dict.fromkeys(entry.on for entry in self.of("harvested")))

    @property
    def left(self) -> float | None:
        """Return the number of sites (heads, trays) left; None if it is unknown how many there were."""
        cuts = self.of("harvested")
        if any(self.sites_of(entry) is None for entry in self.losses):
            return 0.0
        if any(entry.cut == "whole" and entry.unit != "heads" for entry in cuts):
            return 0.0
        heads = sum(entry.amount or 0.0 for entry in cuts if entry.unit == "heads")
        return max(self.sites - self.lost() - heads, 0.0) if self.sites else None
