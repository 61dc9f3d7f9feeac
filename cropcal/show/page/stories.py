"""Sixth part of the page, in words: the story of each batch."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from cropcal.letters import NTH
from cropcal.records.fit import Fit
from cropcal.records.plan import Batch, Harvest, SeasonPlan, SiteUse
from cropcal.records.scene import LightRange
from cropcal.show import text
from cropcal.show.terminal.light import VERDICTS
from cropcal.show.wording import crop_name


@dataclass(frozen=True)
class BatchStory:
    """One batch from seed to clearing: ``facts`` are (label, text) pairs in order of time."""

    number: int
    batch: str
    crop: str
    facts: tuple[tuple[str, str], ...]

    @property
    def anchor(self) -> str:
        """Return the batch's anchor on the page, safe whatever its id is."""
        return f"batch-{self.number}"


def stories(
    plan: SeasonPlan, ranges: Sequence[LightRange], names: Mapping[str, str]
) -> tuple[BatchStory, ...]:
    """Return the story of every batch, in order of sowing."""
    uses: dict[str, list[SiteUse]] = {}
    for use in plan.sites:
        uses.setdefault(use.batch, []).append(use)
    by_place = {(light_range.crop, light_range.bed): light_range for light_range in ranges}
    verdicts = {(fit.crop, fit.bed): _verdict(fit) for fit in plan.fits}
    batch_stories = []
    for number, batch in enumerate(sorted(plan.batches, key=lambda batch: (batch.sow_on, batch.id)), start=1):
        place = batch.crop, batch.bed
        facts = (
            ("where", _where(batch, uses.get(batch.id, ()))),
            *_start(batch),
            ("moved", text.day(batch.transplant_on) if batch.transplant_on else ""),
            ("ready", f"{text.day(batch.ready_from)} ({_likely(batch)}), good until {_until(batch)}"),
            ("cut", "; ".join(_cut(harvest, batch) for harvest in batch.harvests)),
            ("cleared", text.day(batch.clear_on)),
            ("in all", _in_all(batch)),
            ("light", _light(by_place.get(place))),
            ("in this bed", verdicts.get(place, "")),
        )
        known_facts = tuple((what, content) for what, content in facts if content)
        batch_stories.append(BatchStory(number, batch.id, crop_name(batch.crop, names), known_facts))
    return tuple(batch_stories)


def _where(batch: Batch, uses: Sequence[SiteUse]) -> str:
    sites = sorted({use.site for use in uses})
    if not sites:
        return batch.bed
    spacing = "" if all(use.planted for use in uses) else f", a plant on every {NTH[batch.sites_each]}"
    return f"{batch.bed}, site{'s' if len(sites) > 1 else ''} {_runs(sites)}{spacing}"


def _runs(numbers: Sequence[int]) -> str:
    """Return "1-4, 6" for sorted numbers."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    return ", ".join(str(first) if first == last else f"{first}-{last}" for first, last in runs)


def _start(batch: Batch) -> tuple[tuple[str, str], ...]:
    """Return the first facts: sown and up, or planted as bought plants."""
    if batch.plug_age_d is not None:
        return (("planted", f"{text.day(batch.sow_on)}, bought plants about {batch.plug_age_d} days old"),)
    sown = text.day(batch.sow_on) + (f", {_seed(batch)}" if batch.seeds else "")
    return ("sown", sown), ("up", text.day(batch.emerge_on))


def _seed(batch: Batch) -> str:
    seeds = f"{batch.seeds} seed{'' if batch.seeds == 1 else 's'}"
    if batch.nursery and batch.cells:
        return f"{seeds} in {batch.cells} cell{'' if batch.cells == 1 else 's'} of {batch.nursery}"
    return f"{seeds} in place"


def _likely(batch: Batch) -> str:
    return f"likely {text.span(batch.ready_from_low_80, batch.ready_from_high_80)}"


def _until(batch: Batch) -> str:
    return text.day(batch.ready_until)


def _cut(harvest: Harvest, batch: Batch) -> str:
    amount = text.amount(harvest.amount, batch.unit)
    likely = text.amount_range(harvest.amount_low_80, harvest.amount_high_80, batch.unit)
    return f"{text.day(harvest.on)} {amount}" + ("" if likely == amount else f" (likely {likely})")


def _in_all(batch: Batch) -> str:
    if len(batch.harvests) < 2:
        return ""
    return text.amount(batch.amount, batch.unit)


def _light(light_range: LightRange | None) -> str:
    if light_range is None:
        return ""
    dli = light_range.dli
    return f"{text.dli(dli.middle)} mol a day (likely {text.dli(dli.low)}-{text.dli(dli.high)})"


def _verdict(fit: Fit) -> str:
    return VERDICTS[fit.verdict] + (f": {fit.why}" if fit.verdict != "ok" else "")
