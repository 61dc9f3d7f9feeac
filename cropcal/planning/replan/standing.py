"""Batches that are in the ground on the day of planning: on which sites, and what they brought so far."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from cropcal.planning.history.batch_history import batch_histories
from cropcal.records.batch_history import SLIP_D, BatchHistory
from cropcal.records.crop import Crop
from cropcal.records.journal import Entry
from cropcal.records.past import Past
from cropcal.records.plan import Batch, Harvest, SiteUse
from cropcal.records.replan import TakenDone

DOUBT_D = 7
"""A cut planned within so many days of a look that found the batch not ready is not taken as done."""

FORGOTTEN_D = 120
"""Days after the last note of a batch that no plan knows, until when it is taken to stand (assumed)."""

ASKED_D = 21
"""Days for which a grower is told of a job that nobody noted, taken as done (assumed)."""


@dataclass(eq=False)
class StandingPlot:
    """One site (or nursery cell on its way there) of a batch: cut days behind it and planned, and its end.

    ``gone_on``: the plan before knew already that it was lost or given up. ``open_end``: nobody said how
    often it is to be cut.
    """

    site: int
    planned: tuple[date, ...] = ()
    done: list[date] = field(default_factory=list)
    ended: date | None = None
    lost: bool = False
    gone_on: date | None = None
    open_end: bool = False

    @property
    def left(self) -> tuple[date, ...]:
        """Return the planned cuts that are not done."""
        return self.planned[len(self.done) :]


@dataclass(frozen=True)
class StandingBatch:
    """A batch that was sown, as it went until now.

    ``was`` is the batch as planned before; ``harvests`` are behind it. A plot without ``ended`` stands (or
    waits in the nursery).
    """

    was: Batch
    story: BatchHistory
    plots: tuple[StandingPlot, ...]
    harvests: tuple[Harvest, ...]
    extra: bool = False

    @property
    def waits(self) -> bool:
        """Return whether it is still in the nursery."""
        return self.story.nursery is not None and self.story.moved_on is None

    @property
    def standing(self) -> tuple[StandingPlot, ...]:
        """Return the plots that are not at their end."""
        return tuple(plot for plot in self.plots if plot.ended is None)

    @property
    def lost(self) -> int:
        """Return how many sites were lost."""
        return sum(plot.lost for plot in self.plots)

    @property
    def late_d(self) -> int:
        """Return days it was sown later than planned."""
        return (self.story.sown_on - self.was.sow_on).days

    def ended_before(self, day: date) -> bool:
        """Return whether it was at its end by then: a plan that starts on that day has no use for it."""
        ends = [plot.ended for plot in self.plots if plot.ended]
        return not self.standing and max([*ends, self.story.sown_on]) < day

    def uses(self) -> list[SiteUse]:
        """Return who held which site until now: those plots that are at their end."""
        if self.waits:
            return []
        return [
            SiteUse(
                bed=self.story.bed,
                site=plot.site,
                batch=self.was.id,
                crop=self.was.crop,
                held_from=self.story.moved_on or self.story.sown_on,
                held_until=plot.ended,
                cuts=tuple(plot.done),
            )
            for plot in self.plots
            if plot.ended is not None and plot.site > 0
        ]


def standing_batches(
    past: Past, crops: Mapping[str, Crop], nurseries: frozenset[str]
) -> tuple[tuple[StandingBatch, ...], tuple[TakenDone, ...]]:
    """Return the batches that were sown before today, or noted as sown, and what was taken as done.

    A job of the past that nobody noted is taken as done as planned, for people forget to note: unless the
    batch was noted to run more than a few days late, or that it was not ready. Told are those of the last
    weeks that nothing noted since shows to be done.
    """
    planned = {batch.id: batch for batch in past.batches}
    events = [event for event in past.events if event.on <= past.on]
    told = batch_histories(events, planned, nurseries, crops)
    uses: dict[str, list[SiteUse]] = {}
    for use in past.sites:
        uses.setdefault(use.batch, []).append(use)
    found, taken = [], []
    for story in told:
        if story.crop not in crops or (story.sown != "noted" and story.sown_on >= past.on):
            continue
        crop, batch = crops[story.crop], story.planned
        if batch is not None:
            if story.sown == "planned" and not story.noted:
                taken.append(TakenDone(on=batch.sow_on, job="sow", batch=batch.id, crop=batch.crop))
            one, more = _went(batch, story, uses.get(batch.id, []), crop, past.on)
            found.append(one)
            taken += more
        elif story.sown == "noted" and story.bed and not _forgotten(story, past.on):
            found.append(_unplanned_batch(story, crop))
    _forget_shared_sites(found)
    told_since = past.on - timedelta(days=ASKED_D)
    asked = [job for job in taken if job.on >= told_since]
    return tuple(found), tuple(sorted(asked, key=lambda job: (job.on, job.batch)))


def _forgotten(story: BatchHistory, today: date) -> bool:
    """Return whether a batch of no plan was noted last so long ago that it cannot stand any more.

    What the file says is growing is no line of the journal, and is believed.
    """
    last = story.noted[-1]
    return bool(last.id) and (today - last.on).days > FORGOTTEN_D


def _forget_shared_sites(found: Sequence[StandingBatch]) -> None:
    """Let nobody know the site of plants that would stand where others stand: they are on another one."""
    held: set[tuple[str, int]] = set()
    for one in sorted(found, key=lambda one: one.story.moved_on or one.story.sown_on):
        for plot in () if one.waits else one.standing:
            if (one.story.bed, plot.site) in held:
                plot.site = 0
            held.add((one.story.bed, plot.site))


def _went(
    batch: Batch, story: BatchHistory, uses: Sequence[SiteUse], crop: Crop, today: date
) -> tuple[StandingBatch, list[TakenDone]]:
    """Return one batch of the plan before as it went, and what is taken as done."""
    taken = []
    late = (story.sown_on - batch.sow_on).days > SLIP_D
    moves, noted = batch.transplant_on, story.of("harvested")
    if story.nursery and story.moved_on is None and moves and moves < today and not late:
        story = story.model_copy(update={"moved_on": moves})
        taken += [] if noted else [TakenDone(on=moves, job="transplant", batch=batch.id, crop=batch.crop)]
    if story.nursery and story.moved_on is None and noted:
        story = story.model_copy(update={"moved_on": story.left_nursery_on})
    plots = _plots(batch, story, uses, today)
    here = story.nursery is None or story.moved_on is not None
    days: list[date] = []
    if here and not noted and not late:
        seen = [entry.on for entry in story.of("not ready")]
        days = sorted({day for plot in plots for day in plot.planned if day < today})
        days = [day for day in days if not any(abs((day - look).days) < DOUBT_D for look in seen)]
    harvests: list[Harvest] = []
    for on, _, entry in sorted(_in_order(story, noted, days), key=lambda turn: turn[:2]):
        if entry is None:
            cut = _as_planned(batch, plots, on)
            harvests += cut
            taken += [TakenDone(on=on, job="cut", batch=batch.id, crop=batch.crop)] if cut else []
        elif entry.event == "lost":
            _lose(plots, entry, story)
        else:
            harvests.append(_as_noted(entry, plots, crop))
    for plot in plots:
        if plot.ended is None and plot.gone_on is not None:
            plot.ended = plot.gone_on
    return StandingBatch(batch, story, tuple(plots), tuple(harvests)), taken


def _in_order(
    story: BatchHistory, noted: Sequence[Entry], days: Sequence[date]
) -> list[tuple[date, int, Entry | None]]:
    """Return what was lost, cut, or taken as cut, as (day, order within the day, its line)."""
    lost = [(entry.on, 0, entry) for entry in story.losses]
    return [*lost, *((entry.on, 1, entry) for entry in noted), *((day, 2, None) for day in days)]


def _plots(batch: Batch, story: BatchHistory, uses: Sequence[SiteUse], today: date) -> list[StandingPlot]:
    """Return the plots of a batch of the plan before, those first that were to be cut first.

    Sites that the plan before freed without a cut were lost or given up by then: they come last, with those
    that never got a site.
    """
    plots = []
    for use in sorted(uses, key=lambda use: (use.cuts, use.site)):
        gone = use.held_until <= today and use.cuts[-1:] != (use.held_until,)
        plots.append(StandingPlot(use.site, use.cuts, gone_on=use.held_until if gone else None))
    plots += [StandingPlot(0, gone_on=story.sown_on) for _ in range(batch.sites - len(plots))]
    plots.sort(key=lambda plot: plot.gone_on is not None)
    return plots[: story.sites] if story.sites else plots


AMOUNTS = ("amount", "amount_low_80", "amount_high_80")


def _as_planned(batch: Batch, plots: Sequence[StandingPlot], day: date) -> list[Harvest]:
    """Cut what was to be cut that day."""
    found = []
    for harvest in batch.harvests:
        mine = [
            plot
            for plot in plots
            if plot.ended is None and len(plot.done) == harvest.cut - 1 and plot.left[:1] == (day,)
        ]
        if harvest.on != day or not mine:
            continue
        share = len(mine) / harvest.sites
        amounts = {name: getattr(harvest, name) * share for name in AMOUNTS}
        found.append(harvest.model_copy(update={"sites": len(mine), **amounts}))
        for plot in mine:
            _cut(plot, day)
    return found


def _cut(plot: StandingPlot, day: date, *, whole: bool = False) -> None:
    plot.done.append(day)
    if whole or (not plot.left and not plot.open_end):
        plot.ended = day


def _as_noted(entry: Entry, plots: Sequence[StandingPlot], crop: Crop) -> Harvest:
    """Cut the sites that were noted, else those that were to be cut first."""
    mine = [plot for plot in plots if plot.ended is None and entry.on not in plot.done]
    if entry.sites:
        mine = [plot for plot in mine if plot.site in entry.sites]
    elif crop.unit == "heads":
        mine.sort(key=lambda plot: entry.on not in plot.planned)
        mine = mine[: round(entry.amount or 0.0)]
    cut = 1 + max((len(plot.done) for plot in mine), default=0)
    for plot in mine:
        _cut(plot, entry.on, whole=entry.cut == "whole" or crop.cuts_max == 1)
    amount = entry.amount or 0.0
    return Harvest(
        on=entry.on, cut=cut, sites=len(mine), amount=amount, amount_low_80=amount, amount_high_80=amount
    )


def _lose(plots: Sequence[StandingPlot], entry: Entry, story: BatchHistory) -> None:
    """Take away what was lost: the sites that were noted, else the last; without a number all of them."""
    mine = [plot for plot in plots if plot.ended is None]
    count = story.sites_of(entry)
    if entry.sites:
        mine = [plot for plot in mine if plot.site in entry.sites]
    elif count is not None:
        mine.sort(key=lambda plot: plot.gone_on is not None)
        mine = mine[max(len(mine) - int(count + 1e-9), 0) :]
    for plot in mine:
        plot.ended, plot.lost = entry.on, True


def _unplanned_batch(story: BatchHistory, crop: Crop) -> StandingBatch:
    """Return a batch that only the journal knows; its sites are those noted, 0 where nobody said which."""
    first = next(entry for entry in story.of("sown"))
    plots = [StandingPlot(site, open_end=True) for site in list(first.sites) or [0] * story.sites]
    harvests = []
    for _, _, entry in sorted(_in_order(story, story.of("harvested"), []), key=lambda turn: turn[:2]):
        if entry is not None and entry.event == "lost":
            _lose(plots, entry, story)
        elif entry is not None:
            harvests.append(_as_noted(entry, plots, crop))
    was = Batch(
        id=story.batch, want=-1, crop=story.crop, bed=story.bed, nursery=story.nursery, sow_on=story.sown_on,
        emerge_on=story.sown_on, transplant_on=story.moved_on, ready_from=story.sown_on,
        ready_from_low_80=story.sown_on, ready_from_high_80=story.sown_on, ready_until=story.sown_on,
        clear_on=story.sown_on, sites=len(plots), cells=len(plots) if story.nursery else 0, seeds=0,
        unit=crop.unit, harvests=(),
    )  # fmt: skip
    return StandingBatch(was, story, tuple(plots), tuple(harvests), extra=True)
