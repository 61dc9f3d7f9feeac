"""Observed growing conditions of a bed, day by day: the file's light and air, corrected by the journal."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

from cropcal.planning.history.past_settings import PastConditions
from cropcal.planning.site.growing_conditions import GrowingConditions, conditions_in, with_season
from cropcal.records.base import stretch_hours
from cropcal.records.batch_history import BatchHistory
from cropcal.records.daylight import half_of
from cropcal.records.journal import Entry
from cropcal.records.plan import BedLight
from cropcal.records.space import Space
from cropcal.science import light

Array = npt.NDArray[np.float64]
ONE_DAY = timedelta(days=1)


@dataclass(frozen=True)
class Conditions:
    """The growing conditions of each bed by the file, and the journal's corrections by day."""

    spots: dict[str, GrowingConditions]
    ppfd_umol_m2_s: dict[str, float]
    zone_of: dict[str, str]
    noted: tuple[Entry, ...]
    lux_per_umol: Mapping[str, float] = field(default_factory=dict)
    air_by_day: Mapping[str, Mapping[date, float]] = field(default_factory=dict)
    before: tuple[PastConditions, ...] = ()

    def at_place(self, place: GrowingConditions, ppfd_umol_m2_s: float) -> "Conditions":
        """Return the conditions with a bed at the light of some of its sites, in the past in proportion."""
        bed, whole = place.bed, self.ppfd_umol_m2_s[place.bed]
        share = ppfd_umol_m2_s / whole if whole > 0 else 1.0
        return replace(
            self,
            spots={**self.spots, bed: place},
            ppfd_umol_m2_s={**self.ppfd_umol_m2_s, bed: ppfd_umol_m2_s},
            before=tuple(
                replace(past, ppfd_umol_m2_s={**past.ppfd_umol_m2_s, bed: past.ppfd_umol_m2_s[bed] * share})
                for past in self.before
            ),
        )

    def _by_file(self, bed: str, day: date) -> tuple[GrowingConditions, float]:
        """Return the growing conditions of a bed and its PPFD by the file that held on a day."""
        for past in self.before:
            if day < past.until:
                return past.spots[bed], past.ppfd_umol_m2_s[bed]
        return self.spots[bed], self.ppfd_umol_m2_s[bed]

    def _outdated(self, entry: Entry, bed: str, day: date) -> bool:
        """Return whether the file was changed after a note in what it notes: the later one counts."""
        for past in self.before:
            if entry.on < past.until <= day:
                (old, old_ppfd), (new, new_ppfd) = (
                    self._by_file(bed, past.until - ONE_DAY),
                    self._by_file(bed, past.until),
                )
                apart = {
                    "reading": old_ppfd != new_ppfd,
                    "air": old.air_c != new.air_c,
                    "lamp hours": _lamp_h(old, past.until) != _lamp_h(new, past.until),
                }
                if apart.get(entry.event):
                    return True
        return False

    def on(self, bed: str, day: date) -> GrowingConditions:
        """Return the observed growing conditions of a bed on a day."""
        place, ppfd = self._by_file(bed, day)
        season = place.seasons[half_of(day)] if place.seasons else None
        if season is not None:
            place = replace(with_season(place, (), season), photoperiod_h=season.lamp_h)
        hours, air_c, lost_h = place.photoperiod_h, place.air_c, 0.0
        for entry in self.noted:
            if entry.on > day:
                break
            if not self._concerns(entry, bed) or self._outdated(entry, bed, day):
                continue
            if entry.event == "reading" and entry.unit == "umol_m2_s" and entry.amount:
                ppfd = entry.amount
            elif entry.event == "reading" and entry.unit == "lux" and entry.amount:
                factor = self.lux_per_umol.get(bed)
                ppfd = ppfd if factor is None else entry.amount / factor
            elif entry.event == "air" and entry.amount is not None:
                air_c = entry.amount
            elif entry.event == "lamp hours":
                hours = hours_noted(entry, hours)
            elif entry.event == "outage" and entry.what in ("lamp", "power"):
                lost_h += _lost_h(entry, day)
        air_c = self.air_by_day.get(self.zone_of[bed], {}).get(day, air_c)
        lit_h = max(hours - lost_h, 0.0)
        dli = float(light.dli(ppfd, lit_h))
        if season is not None:
            dli, hours = dli + season.sun_mol_m2_d, max(hours, season.photoperiod_h)
        return replace(place, dli_mol_m2_d=dli, photoperiod_h=hours, air_c=air_c)

    def stages(self, history: BatchHistory, last: date) -> tuple[tuple[GrowingConditions, ...], Array]:
        """Return a batch's successive conditions up to a day, and the day after sowing each ended, (1, S)."""
        length = max(history.days(last), 1)
        measured = self.air_by_day.get(self.zone_of.get(history.bed, ""), {})
        turns = {0, *(history.days(day) for day in self._turns())}
        turns |= {history.days(past.until) for past in self.before}
        turns |= {history.days(day) + late for day in measured for late in (0, 1)}
        if any(
            past.seasons
            for spots_then in (self.spots, *(past.spots for past in self.before))
            for past in spots_then.values()
        ):
            turns.update(day for day in range(length) if _turns_half(history.sown_on + timedelta(days=day)))
        if history.left_nursery_on is not None:
            turns.add(history.days(history.left_nursery_on))
        begins = sorted(turn for turn in turns if 0 <= turn < length)
        spots: list[GrowingConditions] = []
        begins_kept: list[int] = []
        for day in begins:
            then = history.sown_on + timedelta(days=day)
            place = self.on(history.place(then), then)
            if place.bed != history.nursery:
                place = place.shared_out(history.sites_each)
            if not spots or place != spots[-1]:
                spots.append(place)
                begins_kept.append(day)
        return tuple(spots), np.array([[*map(float, begins_kept[1:]), np.inf]])

    def _turns(self) -> set[date]:
        """Return the days on which a note begins or ceases to count."""
        first = {entry.on for entry in self.noted}
        after = {entry.on + timedelta(days=1) for entry in self.noted if entry.event == "outage"}
        spans = [
            (e.starts.date(), e.ends.date())
            for e in self.noted
            if e.starts and e.ends and e.event == "outage"
        ]
        within = {a + timedelta(days=day) for a, z in spans for day in range((z - a).days + 2)}
        return first | after | within

    def _concerns(self, entry: Entry, bed: str) -> bool:
        if entry.bed:
            return entry.bed == bed or (
                entry.event != "reading" and self._zone(entry.bed) == self.zone_of[bed]
            )
        return not entry.zone or entry.zone == self.zone_of[bed]

    def _zone(self, bed: str) -> str:
        return self.zone_of.get(bed, "")


def observed_conditions(
    space: Space,
    lights: Iterable[BedLight],
    events: Iterable[Entry],
    lux_per_umol: Mapping[str, float] | None = None,
    before: tuple[PastConditions, ...] = (),
) -> Conditions:
    """Return the conditions of every bed.

    Events are those that hold, by day. Readings in lux count in beds whose factor is known. Air measured on a
    day overrides notes and the file. ``before`` are the past stretches in which the file had other settings.
    """
    by_bed = {light.bed: light for light in lights}
    return Conditions(
        spots={bed.name: conditions_in(bed, space, by_bed[bed.name]) for bed in space.beds},
        ppfd_umol_m2_s={name: light.ppfd_umol_m2_s for name, light in by_bed.items()},
        zone_of={bed.name: bed.zone for bed in space.beds},
        noted=tuple(e for e in events if e.event in ("reading", "air", "lamp hours", "outage")),
        lux_per_umol=lux_per_umol or {},
        air_by_day={seen.zone: seen.by_day for seen in space.measured_air},
        before=before,
    )


def _lamp_h(place: GrowingConditions, day: date) -> float:
    return place.seasons[half_of(day)].lamp_h if place.seasons else place.photoperiod_h


def _turns_half(day: date) -> bool:
    return day.day in (1, 16)


def hours_noted(entry: Entry, before: float) -> float:
    """Return the hours of light a day from a note on."""
    if entry.amount is not None:
        return entry.amount
    if entry.starts is None or entry.ends is None:
        return before
    first, last = (moment.hour * 60 + moment.minute for moment in (entry.starts, entry.ends))
    return stretch_hours((first, last or 24 * 60))


def _lost_h(entry: Entry, day: date) -> float:
    """Return the hours of a day that an outage took; by its noted hours if it has no times."""
    if entry.starts is None or entry.ends is None:
        return (entry.amount or 24.0) if entry.on == day else 0.0
    midnight = entry.starts.replace(year=day.year, month=day.month, day=day.day, hour=0, minute=0, second=0)
    overlap = min(entry.ends, midnight + timedelta(days=1)) - max(entry.starts, midnight)
    return max(overlap.total_seconds() / 3600, 0.0)
