"""What a new plan takes over: the previous plan, and what happened since."""

from datetime import date

from cropcal.records.base import Record
from cropcal.records.journal import Entry
from cropcal.records.plan import Batch, SiteUse, Supply


class Past(Record):
    """The previous plan and the journal, as a new plan uses them.

    Attributes
    ----------
    on
        The first day that is still to be planned.
    batches, sites, supply
        Those of the previous plan, as written; empty without one.
    events
        The valid events of the journal, by day.
    """

    on: date
    batches: tuple[Batch, ...] = ()
    sites: tuple[SiteUse, ...] = ()
    supply: tuple[Supply, ...] = ()
    events: tuple[Entry, ...] = ()
