"""Standing batches on the day of planning: their sites, and their harvests so far."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from cropcal.planning.history.batch_history import batch_histories
from cropcal.planning.schedule.batches import plant_uses
from cropcal.records.batch_history import SLIP_D, BatchHistory
from cropcal.records.crop import Crop
from cropcal.records.journal import Entry
from cropcal.records.plan import Batch, Harvest, SiteUse
from cropcal.records.replan import TakenDone
from cropcal.records.written_plan import Past

DOUBT_D = 7
"""A cut planned within these days of a check that found the batch not ready is not taken as done."""

FORGOTTEN_D = 120
"""Days after its last note for which a batch that is in no plan is taken to stand (assumed)."""

ASKED_D = 21
"""Days for which a job that nobody noted, and that is taken as done, is reported (assumed)."""


@dataclass(eq=False)
class StandingPlot:
    """One site of a batch (or a nursery cell on its way there): planned and past cut days, and its end.

    Its plant holds ``each`` sites; ``beside`` are those left empty, as far as they are known. ``gone_on``:
    day on which it was lost or given up, where the previous plan knew already. ``open_end``: the number of
    its cuts is not known.
    """

    site: int
    planned: tuple[date, ...] = ()
    done: list[date] = field(default_factory=list)
    ended: date | None = None
    lost: bool = False
    gone_on: date | None = None
    open_end: bool = False
    each: int = 1
    beside: tuple[int, ...] = ()

    @property
    def held(self) -> tuple[int, ...]:
        """Return the sites that are known to be held, its own first; empty if that is not known."""
        return (self.site, *self.beside) if self.site else ()

    @property
    def left(self) -> tuple[date, ...]:
        """Return the planned cuts that are not done."""
        return self.planned[len(self.done) :]

    def uses(self, bed: str, batch: str, crop: str, since: date, until: date) -> list[SiteUse]:
        """Return the past uses of its sites."""
        return plant_uses(bed, self.held, batch, crop, since, until, tuple(self.done))


@dataclass(frozen=True)
class StandingBatch:
    """A batch that was sown, as it went until now.

    ``planned`` is the batch in the previous plan; ``harvests`` are those until now. A plot without ``ended``
    stands (or waits in the nursery). ``extra``: no plan has it, only the journal.
    """

    planned: Batch
    history: BatchHistory
    plots: tuple[StandingPlot, ...]
    harvests: tuple[Harvest, ...]
    extra: bool = False

    @property
    def waits(self) -> bool:
        """Return whether it is still in the nursery."""
        return self.history.nursery is not None and self.history.moved_on is None

    @property
    def standing(self) -> tuple[StandingPlot, ...]:
        """Return the plots that still stand."""
        return tuple(plot for plot in self.plots if plot.ended is None)

    @property
    def lost(self) -> int:
        """Return how many sites were lost."""
        return sum(plot.lost for plot in self.plots)

    @property
    def late_d(self) -> int:
        """Return the days by which it was sown later than planned."""
        return (self.history.sown_on - self.planned.sow_on).days

    def ended_before(self, day: date) -> bool:
        """Return whether nothing of it stood on a day: a plan that starts then does not need it."""
        ends = [plot.ended for plot in self.plots if plot.ended]
        return not self.standing and max([*ends, self.history.sown_on]) < day

    def uses(self) -> list[SiteUse]:
        """Return the past uses of sites, by the plots that have ended."""
        if self.waits:
            return []
        since = self.history.moved_on or self.history.sown_on
        return [
            use
            for plot in self.plots
            if plot.ended is not None
            for use in plot.uses(self.history.bed, self.planned.id, self.planned.crop, since, plot.ended)
        ]


def standing_batches(
    past: Past, crops: Mapping[str, Crop], nurseries: frozenset[str]
) -> tuple[tuple[StandingBatch, ...], tuple[TakenDone, ...]]:
    """Return the batches that were sown before today, or noted as sown, and what was taken as done.

    A past job that nobody noted is taken as done as planned, for people forget to note; but not if the batch
    was noted to be more than a few days late, or not ready. Only jobs of the last ``ASKED_D`` days are
    reported as taken as done.
    """
    planned = {batch.id: batch for batch in past.batches}
    events = [event for event in past.events if event.on <= past.on]
    histories = batch_histories(events, planned, nurseries, crops)
    uses: dict[str, list[SiteUse]] = {}
    for use in past.sites:
        uses.setdefault(use.batch, []).append(use)
    batches, assumed_done = [], []
    for history in histories:
        if history.crop not in crops or (history.sown != "noted" and history.sown_on >= past.on):
            continue
        crop, batch = crops[history.crop], history.planned
        if batch is not None:
            if history.sown == "planned" and not history.noted:
                assumed_done.append(TakenDone(on=batch.sow_on, job="sow", batch=batch.id, crop=batch.crop))
            standing_batch, jobs_assumed = _as_it_went(batch, history, uses.get(batch.id, []), crop, past.on)
            batches.append(standing_batch)
            assumed_done += jobs_assumed
        elif history.sown == "noted" and history.bed and not _forgotten(history, past.on):
            batches.append(_unplanned_batch(history, crop))
    _forget_shared_sites(batches)
    asked_since = past.on - timedelta(days=ASKED_D)
    asked = [job for job in assumed_done if job.on >= asked_since]
    return tuple(batches), tuple(sorted(asked, key=lambda job: (job.on, job.batch)))


def _forgotten(history: BatchHistory, today: date) -> bool:
    """Return whether a batch that is in no plan was last noted too long ago to stand still.

    Plants that space.toml lists as growing have no journal line (no id) and are believed.
    """
    last = history.noted[-1]
    return bool(last.id) and (today - last.on).days > FORGOTTEN_D


def _forget_shared_sites(batches: Sequence[StandingBatch]) -> None:
    """Set the site to unknown (0) where two plots would share it; the earlier one keeps it.

    A plant whose neighbours were planted holds no more than its own site.
    """
    held: set[tuple[str, int]] = set()
    for batch in sorted(batches, key=lambda batch: batch.history.moved_on or batch.history.sown_on):
        for plot in () if batch.waits else batch.standing:
            if (batch.history.bed, plot.site) in held:
                plot.site, plot.beside = 0, ()
            elif any((batch.history.bed, site) in held for site in plot.beside):
                plot.each, plot.beside = 1, ()
            held.update((batch.history.bed, site) for site in plot.held)


def _as_it_went(
    batch: Batch, history: BatchHistory, uses: Sequence[SiteUse], crop: Crop, today: date
) -> tuple[StandingBatch, list[TakenDone]]:
    """Return one batch of the plan before as it went, and the jobs assumed to be done."""
    history, assumed_done = _with_planned_transplant(batch, history, today)
    plots = _plots(batch, history, uses, today)
    assumed_cuts = _cuts_assumed_done(plots, history, today) if _may_assume_cuts(batch, history) else []
    harvests: list[Harvest] = []
    for on, _, entry in _cuts_and_losses(history, assumed_cuts):
        if entry is None:
            cut = _as_planned(batch, plots, on)
            harvests += cut
            assumed_done += [TakenDone(on=on, job="cut", batch=batch.id, crop=batch.crop)] if cut else []
        elif entry.event == "lost":
            _lose(plots, entry, history)
        else:
            harvests.append(_as_noted(entry, plots, crop))
    for plot in plots:
        if plot.ended is None and plot.gone_on is not None:
            plot.ended = plot.gone_on
    return StandingBatch(batch, history, tuple(plots), tuple(harvests)), assumed_done


def _sown_late(batch: Batch, history: BatchHistory) -> bool:
    """Return whether a batch was sown so late that its planned days no longer count."""
    return (history.sown_on - batch.sow_on).days > SLIP_D


def _with_planned_transplant(
    batch: Batch, history: BatchHistory, today: date
) -> tuple[BatchHistory, list[TakenDone]]:
    """Return the history with a transplanting that nobody noted, and that job if it was only assumed.

    It was done on its planned day, unless the batch was sown late. A batch that was cut left its nursery in
    any case.
    """
    if not history.nursery or history.moved_on is not None:
        return history, []
    planned, cut = batch.transplant_on, history.of("harvested")
    if planned and planned < today and not _sown_late(batch, history):
        moved = history.model_copy(update={"moved_on": planned})
        job = TakenDone(on=planned, job="transplant", batch=batch.id, crop=batch.crop)
        return moved, [] if cut else [job]
    return history.model_copy(update={"moved_on": history.left_nursery_on}) if cut else history, []


def _may_assume_cuts(batch: Batch, history: BatchHistory) -> bool:
    """Return whether planned cuts are taken as done: on its site, never noted as cut, and not sown late."""
    on_site = history.nursery is None or history.moved_on is not None
    return on_site and not history.of("harvested") and not _sown_late(batch, history)


def _cuts_assumed_done(plots: Sequence[StandingPlot], history: BatchHistory, today: date) -> list[date]:
    """Return the planned cut days before today, except near a day on which it was noted as not ready."""
    checks = [entry.on for entry in history.of("not ready")]
    planned = sorted({day for plot in plots for day in plot.planned if day < today})
    return [day for day in planned if all(abs((day - check).days) >= DOUBT_D for check in checks)]


def _cuts_and_losses(
    history: BatchHistory, assumed_cuts: Sequence[date] = ()
) -> list[tuple[date, int, Entry | None]]:
    """Return losses, cuts and assumed cuts by day, as (day, order within the day, journal entry or None)."""
    rows: list[tuple[date, int, Entry | None]] = [(entry.on, 0, entry) for entry in history.losses]
    rows += [(entry.on, 1, entry) for entry in history.of("harvested")]
    rows += [(day, 2, None) for day in assumed_cuts]
    return sorted(rows, key=lambda row: row[:2])


def _plots(batch: Batch, history: BatchHistory, uses: Sequence[SiteUse], today: date) -> list[StandingPlot]:
    """Return the plots of a batch in the previous plan, by first planned cut.

    Sites that the previous plan freed without a cut were lost or given up by then: they come last, with plots
    that never got a site.
    """
    plots = []
    each = batch.sites_each
    planted = [use for use in uses if use.planted]
    for use in sorted(planted, key=lambda use: (use.cuts, use.site)):
        gone = use.held_until <= today and use.cuts[-1:] != (use.held_until,)
        beside = tuple(empty.site for empty in uses if empty.empty_for == use.site)
        gone_on = use.held_until if gone else None
        plots.append(StandingPlot(use.site, use.cuts, gone_on=gone_on, each=1 + len(beside), beside=beside))
    plots += [StandingPlot(0, gone_on=history.sown_on, each=each) for _ in range(batch.sites - len(plots))]
    plots.sort(key=lambda plot: plot.gone_on is not None)
    return plots[: history.sites] if history.sites else plots


AMOUNTS = ("amount", "amount_low_80", "amount_high_80")


def _as_planned(batch: Batch, plots: Sequence[StandingPlot], day: date) -> list[Harvest]:
    """Cut what was planned for that day, and return those harvests."""
    harvests = []
    for harvest in batch.harvests:
        plots_due = [
            plot
            for plot in plots
            if plot.ended is None and len(plot.done) == harvest.cut - 1 and plot.left[:1] == (day,)
        ]
        if harvest.on != day or not plots_due:
            continue
        share = len(plots_due) / harvest.sites
        amounts = {name: getattr(harvest, name) * share for name in AMOUNTS}
        harvests.append(harvest.model_copy(update={"sites": len(plots_due), **amounts}))
        for plot in plots_due:
            _cut(plot, day)
    return harvests


def _cut(plot: StandingPlot, day: date, *, whole: bool = False) -> None:
    plot.done.append(day)
    if whole or (not plot.left and not plot.open_end):
        plot.ended = day


def _as_noted(entry: Entry, plots: Sequence[StandingPlot], crop: Crop) -> Harvest:
    """Cut the noted sites, else those planned first, and return the harvest."""
    plots_cut = [plot for plot in plots if plot.ended is None and entry.on not in plot.done]
    if entry.sites:
        plots_cut = [plot for plot in plots_cut if plot.site in entry.sites]
    elif crop.unit == "heads":
        plots_cut.sort(key=lambda plot: entry.on not in plot.planned)
        plots_cut = plots_cut[: round(entry.amount or 0.0)]
    cut = 1 + max((len(plot.done) for plot in plots_cut), default=0)
    for plot in plots_cut:
        _cut(plot, entry.on, whole=entry.cut == "whole" or crop.cuts_max == 1)
    amount = entry.amount or 0.0
    return Harvest(
        on=entry.on, cut=cut, sites=len(plots_cut), amount=amount, amount_low_80=amount, amount_high_80=amount
    )


def _lose(plots: Sequence[StandingPlot], entry: Entry, history: BatchHistory) -> None:
    """Mark plots as lost: the noted sites, else the last ones; without a number, all of them."""
    plots_lost = [plot for plot in plots if plot.ended is None]
    count = history.sites_of(entry)
    if entry.sites:
        plots_lost = [plot for plot in plots_lost if plot.site in entry.sites]
    elif count is not None:
        plots_lost.sort(key=lambda plot: plot.gone_on is not None)
        plots_lost = plots_lost[max(len(plots_lost) - int(count + 1e-9), 0) :]
    for plot in plots_lost:
        plot.ended, plot.lost = entry.on, True


def _unplanned_batch(history: BatchHistory, crop: Crop) -> StandingBatch:
    """Return a batch that only the journal has; its sites are those noted, 0 where unknown."""
    first = next(entry for entry in history.of("sown"))
    plots = [StandingPlot(site, open_end=True) for site in list(first.sites) or [0] * history.sites]
    harvests = []
    for _, _, entry in _cuts_and_losses(history):
        if entry is not None and entry.event == "lost":
            _lose(plots, entry, history)
        elif entry is not None:
            harvests.append(_as_noted(entry, plots, crop))
    sown_on = history.sown_on
    planned = Batch(
        id=history.batch, want=-1, crop=history.crop, bed=history.bed, nursery=history.nursery,
        sow_on=sown_on, emerge_on=sown_on, transplant_on=history.moved_on, ready_from=sown_on,
        ready_from_low_80=sown_on, ready_from_high_80=sown_on, ready_until=sown_on, clear_on=sown_on,
        sites=len(plots), cells=len(plots) if history.nursery else 0, seeds=0, unit=crop.unit, harvests=(),
    )  # fmt: skip
    return StandingBatch(planned, history, tuple(plots), tuple(harvests), extra=True)
