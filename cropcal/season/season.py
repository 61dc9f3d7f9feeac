"""The Python API of a season: the same answers as the commands give, as DataFrames."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cropcal.problems import Problem, Where
from cropcal.records.crop import CropTables
from cropcal.records.journal import Entry
from cropcal.records.replan import Begun
from cropcal.records.space import Space
from cropcal.season import beside
from cropcal.season.begun import never_begun
from cropcal.season.errors import SpaceError, in_python, without_dashes
from cropcal.season.forecast import forecast_of
from cropcal.season.learned import learned_paces
from cropcal.season.load import as_option, day
from cropcal.season.log_words import Options
from cropcal.season.opened import opened
from cropcal.season.plan import Asked, Plan, planned
from cropcal.show.data import answer_tables, tables

if TYPE_CHECKING:  # a second to load
    import pandas as pd

Day = str | date
Tell = Callable[[str], object]


LEAST_S = 0.1
"""Least time of a search [s]."""


def open_season(path: str | PathLike[str]) -> "Season":
    """Open the season of a space.

    Parameters
    ----------
    path
        The folder of the space, or its space.toml.

    Raises
    ------
    SpaceError
        If space.toml or a file beside it has mistakes: all of them, as ``cropcal check`` lists them.
    """
    season = Season(Path(path))
    season.check()
    return season


@dataclass(frozen=True)
class Season:
    """A space with its journal, measured series, learned paces and last plan.

    It holds no copy: every answer reads the files anew, as every command does, so a note or an edit counts
    from the next answer on. Tables are pandas DataFrames: days are ``datetime64``, units are part of the
    column names (or in a column ``unit``), a cost is in ``currency``, unknown values are missing.
    Every answer raises SpaceError if a file has become wrong, or an argument is.

    Attributes
    ----------
    path
        The folder of the space, or its space.toml.
    sets
        ``KEY=VALUE`` of every value tried in place of the file's; see ``with_values``.
    """

    path: Path
    sets: tuple[str, ...] = ()

    def check(self) -> None:
        """Raise SpaceError if space.toml or a file beside it has mistakes: all of them."""
        from cropcal.season.load import read, read_with

        space, _, problems = read(self.path)
        journal = beside.noted(self.path, _today())
        more = [
            *journal.problems,
            *beside.series_problems(self.path, space, _today()),
            *journal.plan_problems,
        ]
        if self.sets and not problems:
            problems = read_with(self.path, self.sets)[2]
        if problems or more:
            raise SpaceError([without_dashes(problem) for problem in (*problems, *more)])

    @in_python
    def with_values(self, values: Mapping[str, Any]) -> "Season":
        """Return the season with other values in place of those of space.toml, which stays as it is.

        Parameters
        ----------
        values
            Dotted key -> value, as ``--set`` of the commands takes them:
            ``{"zone.'salad rack'.photoperiod_h": 14}``; None takes a key out.
        """
        kept = [option for option in self.sets if option.partition("=")[0] not in values]
        tried = replace(self, sets=(*kept, *(as_option(key, value) for key, value in values.items())))
        tried._read()
        return tried

    @property
    def space(self) -> Space:
        """Return the space as a record of its files: all its keys, defaults filled in."""
        return self._read()[0]

    @property
    def currency(self) -> str | None:
        """Return the currency of every cost, None without a tariff."""
        tariff = self.space.tariff
        return tariff.currency if tariff else None

    @in_python
    def reminders(self) -> tuple[str, ...]:
        """Return the notes of light, air and hours that differ from space.toml."""
        now = opened(self.path, self.sets)
        return (*now.notes, *beside.reminders(now.space, beside.noted(self.path)))

    @in_python
    def crops(self) -> "pd.DataFrame":
        """Return the crop table, one row a crop: the columns of columns.csv, whose names have the units."""
        from cropcal.show.data.frames import frame

        return frame(answer_tables.crops(self._read()[1].crops.values()))

    @in_python
    def crop_sources(self) -> "pd.DataFrame":
        """Return one row a value of a crop: the value, how it is known, its sources and a note."""
        from cropcal.show.data.frames import frame

        return frame(answer_tables.crop_sources(self._read()[1].crops.values()))

    @in_python
    def light(self) -> "pd.DataFrame":
        """Return the light of each site: PPFD and DLI, the columns of light.csv."""
        from cropcal.planning.site.bed_light import bed_lights
        from cropcal.planning.site.floor_map import lit_zones
        from cropcal.show.data.frames import frame

        space, crop_tables = self._lit()
        return frame(tables.light(lit_zones(space, bed_lights(space, crop_tables))))

    @in_python
    def bed_light(self) -> "pd.DataFrame":
        """Return the mean light of each bed with its 80 % range and its source."""
        from cropcal.planning.site.bed_light import bed_lights
        from cropcal.show.data.frames import frame

        return frame(answer_tables.bed_light(bed_lights(*self._lit())))

    @in_python
    def suitability(self, *, all_crops: bool = False) -> "pd.DataFrame":
        """Return how each wanted crop (or each of the table) suits each bed: verdict, why, cure."""
        from cropcal.planning.growth.cautions import wanted_crops
        from cropcal.planning.growth.suitability import suitabilities
        from cropcal.planning.site.bed_light import bed_lights
        from cropcal.season.cured import cured
        from cropcal.show.data.frames import frame

        space, crop_tables = self._lit()
        crops = tuple(crop_tables.crops.values()) if all_crops else wanted_crops(space, crop_tables)
        lights = bed_lights(space, crop_tables)
        fits = suitabilities(space, lights, crops)
        return frame(
            answer_tables.suitability(fits if all_crops else cured(space, crop_tables, lights, fits)[0])
        )

    @in_python
    def photoperiod(self, *, by_crop: bool = False) -> "pd.DataFrame":
        """Return every timer setting considered, with its light and cost; ``picked`` is the advice.

        Parameters
        ----------
        by_crop
            Whether to return one row a setting and wanted crop: suitability, days to harvest, yield.
        """
        from cropcal.planning.photoperiod.advice import advice
        from cropcal.show.data.frames import frame

        space, crop_tables = self._read()
        journal = beside.noted(self.path)
        advised = advice(space, crop_tables, learned_paces(journal, space, crop_tables))
        return frame((answer_tables.hours_by_crop if by_crop else answer_tables.hours)(advised))

    @in_python
    def lamp_lengths(self, *, slow: bool = False) -> "pd.DataFrame":
        """Return a few lengths of each lamp's day, and what they cost and bring in drawn seasons.

        ``slow``: lengths too at which a crop takes more than 1.25 times its fewest days.
        """
        from cropcal.planning.lamp_lengths import with_lengths
        from cropcal.planning.photoperiod.advice import advice
        from cropcal.show.data.frames import frame

        space, crop_tables = self._read()
        paces = learned_paces(beside.noted(self.path), space, crop_tables)
        advised = advice(space, crop_tables, paces)
        return frame(answer_tables.lengths(with_lengths(advised, space, crop_tables, paces, slow=slow)))

    @in_python
    def bill(self, *, year: bool = False) -> "pd.DataFrame":
        """Return the power bill of the planned weeks, or of twelve months: the columns of bill.csv."""
        from cropcal.season.bill import planned_bill
        from cropcal.show.data.frames import frame

        return frame(tables.bill(planned_bill(self._lit()[0], self.path, year=year)))

    @in_python
    def when(self, crop: str, sown: Day | None = None, bed: str | None = None) -> "pd.DataFrame":
        """Return when one sowing is ready and its yield, one row a cut, with 80 % ranges.

        Parameters
        ----------
        crop
            Slug of the crop table, like "basil".
        sown
            The day, "2027-03-01" or a date; today if left out.
        bed
            Its bed; the first bed that it can grow in if left out.

        Returns
        -------
        forecast
            One row without days where it is never ready; its ``warnings`` say why.
        """
        from cropcal.planning.forecast import Unanswered
        from cropcal.show.data.frames import frame

        on, journal = _day(sown, "sown"), beside.noted(self.path)
        space, crop_tables = self._lit()
        forecast = forecast_of(self.path, journal, space, crop_tables, crop, bed, on)
        if isinstance(forecast, Unanswered):
            return frame(answer_tables.no_forecast(crop, bed, on, forecast.why))
        return frame(answer_tables.forecast(forecast))

    @in_python
    def plan(
        self,
        *,
        on: Day | None = None,
        sow: str | None = None,
        steady: bool | None = None,
        time_limit_s: float = 60.0,
        begun: bool | None = None,
    ) -> Plan:
        """Plan from a day on, using the journal and the previous plan; nothing is written yet.

        Parameters
        ----------
        on
            The first day to be planned; today if left out.
        sow
            How much is sown against bad luck, this once: "sparing", "usual" or "safe"; left out, as
            space.toml says.
        steady
            Whether the same is sown week after week; as before if left out.
        time_limit_s
            Longest time of the search [s].
        begun
            Whether anything was sown yet where the start is past, nothing was noted and no plan was written;
            left out, it is taken as not begun and planned from ``on``.
        """
        from cropcal.planning.planner import SolveOptions

        if not time_limit_s >= LEAST_S:
            expected = f"a number from {LEAST_S:g} on"
            raise SpaceError([Problem(Where("time_limit_s"), "", f"{time_limit_s}", expected)])
        today = _day(on, "on")
        journal = beside.noted(self.path, max(today, _today()))
        asked = Asked(self.path, self.sets, journal, today, steady)
        now = opened(self.path, self.sets, today, sow)

        def begin(space: Space) -> Begun | None:
            idle = not begun and never_begun(self.path, journal, space, today)
            return Begun(start=space.settings.start, on=today) if idle else None

        effort = SolveOptions(time_limit_s=time_limit_s)
        return planned(now.ready(begin), now.tables, asked, effort)

    @in_python
    def note(
        self,
        event: str,
        thing: str = "",
        amount: str | float = "",
        *,
        on: Day | None = None,
        bed: str | None = None,
        zone: str | None = None,
        site: str | int | None = None,
        cut: int | None = None,
        whole: bool = False,
        early: bool = False,
        from_: str | None = None,
        until: str | None = None,
        why: str | None = None,
        note: str | None = None,
        sure: bool = False,
        tell: Tell | None = None,
    ) -> Entry:
        """Note what happened, as ``cropcal log`` does, and return the line as it was written.

        A note of a crop may come to a line for each of several batches: the first is returned, and
        ``tell`` hears of all.

        Parameters
        ----------
        event, thing, amount
            Like ``"harvested", "0105a", "2 heads"``: the event, what it is about (a batch id, a crop, a bed
            or a zone), and how much.
        on
            The day, or "yesterday"; today if left out.
        bed, zone, site, cut, whole, early, from_, until, why, note, sure
            As the options of ``cropcal log``.
        tell
            Called with each text that the command would print; ``print``, for instance.
        """
        options = Options(
            on=on if on is None or isinstance(on, str) else _day(on, "on").isoformat(),
            bed=bed,
            zone=zone,
            site=None if site is None else f"{site}",
            cut=cut,
            whole=whole,
            early=early,
            from_=from_,
            until=until,
            why=why,
            note=note,
            sure=sure,
        )
        return self._log([part for part in (event, thing, f"{amount}") if part], options, tell)

    @in_python
    def done(
        self, thing: str = "", *, on: Day | None = None, week: bool = False, tell: Tell | None = None
    ) -> tuple[Entry, ...]:
        """Note the planned jobs of a day, or of its week up to it, as done as planned; return the lines.

        ``thing`` is a batch or a crop, "" for all.
        """
        from cropcal.season.log import log_all

        options = Options(on=None if on is None else _day(on, "on").isoformat(), week=week)
        return log_all(self.path, ["done", *thing.split()], options, tell or (lambda _: None))[0]

    @in_python
    def undo(self, entry: Entry | str, tell: Tell | None = None) -> Entry:
        """Take a line of the journal back: the line, or its id."""
        return self._log([entry if isinstance(entry, str) else entry.id], Options(undo=True), tell)

    def _log(self, words: Sequence[str], options: Options, tell: Tell | None) -> Entry:
        from cropcal.season.log import log

        written, _ = log(self.path, words, options, tell or (lambda _: None))
        if written is None:
            raise SpaceError([Problem(Where("event"), "", "nothing", "what happened, like harvested")])
        return written

    def _read(self) -> tuple[Space, CropTables]:
        """Return the space by its file, the tried values and the measured series."""
        now = opened(self.path, self.sets)
        return now.space, now.tables

    def _lit(self) -> tuple[Space, CropTables]:
        """Return the same, with lamp hours picked where the file gives none."""
        now = opened(self.path, self.sets)
        return now.ready(), now.tables


def _today() -> date:
    return day(None, "")


def _day(given: Day | None, argument: str) -> date:
    if isinstance(given, datetime):  # pandas' days are such
        return given.date()
    return given if isinstance(given, date) else day(None if given is None else f"{given}", argument)
