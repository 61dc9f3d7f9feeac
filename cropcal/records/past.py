"""What a new plan keeps to: the plan before it, and what happened since."""

from datetime import date

from cropcal.records.base import Record
from cropcal.records.journal import Entry
from cropcal.records.plan import Batch, SiteUse, Supply


class Past(Record):
    """What is behind a new plan.

    Attributes
    ----------
    on
        The first day that is still to be planned.
    batches, sites, supply
        Those of the plan before, as written; none if there was none.
    events
        What holds of the journal, by day.
    """

    on: date
    batches: tuple[Batch, ...] = ()
    sites: tuple[SiteUse, ...] = ()
    supply: tuple[Supply, ...] = ()
    events: tuple[Entry, ...] = ()
