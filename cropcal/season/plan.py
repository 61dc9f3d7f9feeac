"""A plan of a season: what it resumes from, its whole result, its tables and its files."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from cropcal.reading.calendar_ics import read_calendar
from cropcal.records import plan as records
from cropcal.records.crop import CropTables
from cropcal.records.hazard import Caution
from cropcal.records.hours import SetPoint, TimerLine
from cropcal.records.space import Assumption, Held, Space
from cropcal.records.tariff import NotedBill
from cropcal.records.written_plan import WrittenPlan
from cropcal.season.beside import Noted, past_of
from cropcal.season.care import Dangers, cautions_here, dangers_of
from cropcal.season.cured import cured, with_cures
from cropcal.season.files import (
    CALENDAR,
    keep_files,
    kept_before,
    names,
    plan_files,
)
from cropcal.season.learned import learned_paces
from cropcal.season.load import (
    PLAN_FOLDER,
    fingerprint,
    folder_of,
)
from cropcal.season.log_words import command
from cropcal.show import care_words
from cropcal.show.data import answer_tables, tables
from cropcal.show.data import json_forms as forms
from cropcal.show.data import measured_form as measured_forms
from cropcal.show.data import set_points_json as set_point_forms
from cropcal.show.data.json_forms import Json
from cropcal.show.data.tables import Table
from cropcal.show.text import typed

if TYPE_CHECKING:  # numpy and pandas, which not every command needs
    import pandas as pd

    from cropcal.planning.growth.pace import Paces
    from cropcal.planning.planner import SolveOptions


@dataclass(frozen=True)
class Asked:
    """The request for a plan, beside its space.

    Attributes
    ----------
    path, sets
        The space, and ``KEY=VALUE`` of every tried value.
    journal
        The journal, and the previous plan.
    today
        The first day to be planned.
    steady
        Whether it follows the steady rule; None: as the previous plan did.
    """

    path: Path
    sets: tuple[str, ...]
    journal: Noted
    today: date
    steady: bool | None = None


def planned(space: Space, crop_tables: CropTables, asked: Asked, effort: "SolveOptions") -> "Plan":
    """Return a plan made from the journal, the learned growth rates and the previous plan.

    Raises
    ------
    SpaceError
        If the journal or the previous plan has mistakes.
    """
    from cropcal.planning.horizon import PAST_WEEKS, seen_from
    from cropcal.planning.planner import plan

    prints = fingerprint(asked.path, asked.sets), fingerprint(asked.path, asked.sets, space_only=True)
    written = asked.journal.plan()
    past = past_of(asked.journal, space, asked.today)
    space = seen_from(space, asked.today, PAST_WEEKS)
    if written and space.settings.start > space.first_day:  # what is listed as growing is in that plan
        space = space.model_copy(update={"growing": ()})
    paces = learned_paces(asked.journal, space, crop_tables)
    steady = bool(written and written.steady) if asked.steady is None else asked.steady
    result = _with_cures(
        plan(space, crop_tables, effort, paces, past, steady=steady), space, crop_tables, paces
    )
    result = result.model_copy(update={"noted_bills": _noted_bills(space, asked.journal, written)})
    here = cautions_here(space, crop_tables, asked.journal.journal.events, asked.today)
    result = result.model_copy(update={"care": tuple(one for one in here if not one.is_general)})
    begun = past is not None or asked.today > space.first_day
    settings, changed = settings_kept(asked.path, space, begun=begun)
    dangers = dangers_of(space, crop_tables, asked.journal.journal.events)
    return Plan(
        result, space, crop_tables, paces, asked.path, asked.sets, *prints, dangers, settings, changed
    )


def _noted_bills(space: Space, journal: Noted, written: WrittenPlan | None) -> tuple[NotedBill, ...]:
    events = journal.journal.events
    if not any(event.event == "bill" for event in events):
        return ()
    from cropcal.season.bill import dark_of, noted_bills

    return noted_bills(space, events, dark_of(space, written))


def _with_cures(
    result: records.SeasonPlan, space: Space, crop_tables: CropTables, paces: "Paces"
) -> records.SeasonPlan:
    """Return the plan with computed cures, and their words in its verdicts and warnings."""
    fits, mending = cured(space, crop_tables, result.lights, result.fits, paces)
    warnings = with_cures(result.warnings, result.fits, fits, mending, crop_tables)
    return result.model_copy(update={"fits": fits, "warnings": warnings, "cures": mending})


@dataclass(frozen=True, repr=False, eq=False)
class Plan:
    """A plan with its whole result.

    Every table is a pandas DataFrame: days are ``datetime64``, unknown values are missing. Tables that are
    written as CSV have the same columns as their file; ``cost`` is in ``currency``.

    Attributes
    ----------
    result
        The record behind all of this.
    space
        The space it was made for, with the lamp hours that were picked where the file gives none.
    crop_tables
        Its crop tables.
    paces
        The growth rate of each crop in each bed, as learned from the journal.
    path, sets
        The path of the space, and its tried values.
    inputs_sha256, space_sha256
        Hashes of the files it was made from.
    dangers
        What is dangerous in the space.
    settings
        The past and present settings: kept beside the plan, so that the past stays as it was.
    settings_changed
        A line for each setting that changed since the previous plan.
    """

    result: records.SeasonPlan
    space: Space
    crop_tables: CropTables
    paces: "Paces"
    path: Path
    sets: tuple[str, ...]
    inputs_sha256: str
    space_sha256: str
    dangers: Dangers
    settings: tuple[Held, ...] = ()
    settings_changed: tuple[str, ...] = ()

    def __repr__(self) -> str:
        """Return place, time and outcome in one line."""
        result, short = self.result, self.outcome.short_want_weeks
        return (
            f"<Plan of {result.place}: {result.weeks} weeks from {result.start}, "
            f"{len(result.batches)} sowings, "
            f"{short:.2g} weekly targets missed, {self.outcome.status}>"
        )

    @property
    def start(self) -> date:
        """Return its first day."""
        return self.result.start

    @property
    def weeks(self) -> int:
        """Return its number of weeks."""
        return self.result.weeks

    @property
    def currency(self) -> str | None:
        """Return the currency of every ``cost``, None without a tariff."""
        return self.result.currency

    @property
    def outcome(self) -> records.Outcome:
        """Return the outcome of the search: short weeks, the score and its bound, the binding resources."""
        return self.result.outcome

    @property
    def warnings(self) -> tuple[str, ...]:
        """Return the warnings about the plan."""
        return self.result.warnings

    @property
    def cautions(self) -> tuple[str, ...]:
        """Return the cautions about power and water, hot and bright lamps, and food."""
        return self.result.cautions

    @property
    def care(self) -> tuple[Caution, ...]:
        """Return the cautions that hold in this space besides: codes, facts, whom to ask."""
        return self.result.care

    @property
    def assumptions(self) -> tuple[Assumption, ...]:
        """Return the values that were assumed."""
        return self.result.assumptions

    @property
    def sowings(self) -> "pd.DataFrame":
        """Return one row a batch: ``sowings.csv``."""
        return _frame(tables.sowings(self.result))

    @property
    def choices(self) -> "pd.DataFrame":
        """Return one row a choice of how much is sown: cells, missed and uneaten weeks, power a month.

        Weeks are those of one want, from drawn seasons; ``least_sure`` is the lowest chance of a wanted week,
        ``power_unit`` says whether power is money or kWh. No rows where no want has a number.
        """
        return _frame(tables.choices(self.result))

    @property
    def harvests(self) -> "pd.DataFrame":
        """Return one row a cutting of some sites of a batch, by day, with 80 % ranges."""
        return _frame(tables.harvests(self.result))

    @property
    def jobs(self) -> "pd.DataFrame":
        """Return one row a job: ``jobs.csv``."""
        return _frame(tables.jobs(self.result))

    @property
    def supply(self) -> "pd.DataFrame":
        """Return one row a week and want: ``supply.csv``."""
        return _frame(tables.supply(self.result))

    @property
    def sites(self) -> "pd.DataFrame":
        """Return one row a stretch of time in which a batch holds a site: ``sites.csv``."""
        return _frame(tables.sites(self.result))

    @property
    def bill(self) -> "pd.DataFrame":
        """Return one row a month, user of power and rate: ``bill.csv``."""
        return _frame(tables.bill(self.result.bill))

    @property
    def light(self) -> "pd.DataFrame":
        """Return one row a site: ``light.csv``."""
        from cropcal.planning.site.floor_map import lit_zones

        return _frame(tables.light(lit_zones(self.space, self.result.lights)))

    @property
    def seed_orders(self) -> "pd.DataFrame":
        """Return one row an order of seed: ``seeds.csv``."""
        return _frame(tables.seeds(self.orders))

    @property
    def timers(self) -> "pd.DataFrame":
        """Return one row a stretch of lamp light: ``timers.csv``."""
        return _frame(tables.timers(self._timers))

    @property
    def set_points(self) -> "pd.DataFrame":
        """Return one row a value that a timer, alarm or other controller is set to: ``setpoints.csv``."""
        return _frame(tables.set_points(self._set_points))

    @cached_property
    def _timers(self) -> tuple[TimerLine, ...]:
        from cropcal.planning.photoperiod.fill_hours import timer_lines
        from cropcal.planning.schedule.empty_beds import dark_days

        return timer_lines(self.space, dark_days(self.space, self.result.sites, self.result.batches))

    @cached_property
    def _set_points(self) -> tuple[SetPoint, ...]:
        from cropcal.planning.set_points import set_points

        return set_points(self.space, self.crop_tables, self.result, self._timers)

    @property
    def ranges(self) -> "pd.DataFrame":
        """Return one row a wanted crop and bed: the daily light there and the limits of the crop."""
        from cropcal.planning.growth.light_ranges import light_ranges

        return _frame(answer_tables.ranges(light_ranges(self.space, self.crop_tables, self.result.lights)))

    @cached_property
    def orders(self) -> tuple[records.SeedOrder, ...]:
        """Return the seed to buy, as records."""
        from cropcal.planning.schedule.seed_orders import seed_orders

        again = self.result.again
        since = again.on if again else None
        return seed_orders(self.result.batches, self.crop_tables, since, self.space.seed)

    def form(self) -> Json:
        """Return the content of plan.json: plain dicts and lists."""
        return {
            **self.dangers.form,
            **forms.plan(self.result),
            "care": care_words.form(self.result.care, names(self.crop_tables)),
            **set_point_forms.form(self._set_points),
            "inputs_sha256": self.inputs_sha256,
            "space_sha256": self.space_sha256,
            **measured_forms.form(self.space),
        }

    def write(self, folder: str | Path | None = None) -> tuple[Path, ...]:
        """Write every file that ``cropcal plan`` writes, all or none, and return their paths.

        Parameters
        ----------
        folder
            Where to; made if it is missing. Left out, the folder ``plan`` beside space.toml.

        Raises
        ------
        SpaceError
            If the folder cannot be written; nothing is changed then.
        ValueError
            If values are only tried and no folder is given: the space keeps its own plan.
        """
        if folder is None and self.sets:
            message = "found no folder, expected one: values are only tried, so the space keeps its own plan"
            raise ValueError(message)
        into = folder_of(self.path) / PLAN_FOLDER if folder is None else Path(folder)
        return tuple(into / name for name in self.keep(into, self.form()))

    def is_kept_in(self, folder: Path) -> bool:
        """Return whether a folder is that of the space's own plan, from which the next plan resumes."""
        return not self.sets and folder.resolve() == (folder_of(self.path) / PLAN_FOLDER).resolve()

    def keep(self, folder: Path, form: Json) -> Sequence[str]:
        """Write every file into a folder, and return their names; ``form`` is the content of plan.json."""
        files = kept_before(folder) | self.files(folder, form)
        keep_files(folder, files)
        return sorted(files)

    def files(self, folder: Path, form: Json) -> dict[str, str | bytes]:
        """Return every file as it belongs into a folder; ``form`` is the content of plan.json."""
        own = folder_of(self.path) / PLAN_FOLDER
        earlier = read_calendar(folder / CALENDAR) or read_calendar(own / CALENDAR)
        settings = self.settings if self.is_kept_in(folder) else ()
        return plan_files(
            self.space, self.crop_tables, self.result, form, earlier, self.orders, self.paces, settings
        )


def _frame(table: Table) -> "pd.DataFrame":
    from cropcal.show.data.frames import frame

    return frame(table)


def settings_kept(path: Path, space: Space, *, begun: bool) -> tuple[tuple[Held, ...], tuple[str, ...]]:
    """Return the past and present settings, and a line for each setting that changed since the last plan.

    ``begun``: whether anything may grow yet; before that, past settings are dropped.
    """
    from cropcal.planning.history.past_settings import changes, with_current_settings

    history = space.history
    if history is None:
        return (), ()
    held = history.held if begun else ()
    lines = tuple(
        f"{what}: counted from {history.now.since:%Y-%m-%d} on. If it changed earlier: "
        + command(path, f"{event} {typed(place)} {amount} --on DATE")
        for what, event, place, amount in changes(held, history.now, space.beds)
    )
    return with_current_settings(held, history.now), lines
