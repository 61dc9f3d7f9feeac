"""Electricity use by the local clock and calendar: exact sums over intervals, nothing sampled.

All times of day are whole minutes of the clock on the wall, so whatever repeats weekly is a table of
10080 minutes, from Monday 00:00. The wall clock decides: a lamp set to 02:00-03:00 stays dark on the night
that skips that hour and is on twice on the night that repeats it.
"""

from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from numpy.typing import NDArray

from cropcal.science.distinct import distinct

Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]

MINUTES_PER_DAY = 1440
MINUTES_PER_WEEK = 7 * MINUTES_PER_DAY
_DAY_S = 86400
_SUNDAY = 6 * MINUTES_PER_DAY
_NEARLY = 1e-6
"""Sums of floats that lie this little below half a unit are meant to be half."""
_MONDAY_S = -3 * _DAY_S
"""Seconds of the Monday before the count begins: 1970-01-01 was a Thursday."""


class LocalClock(NamedTuple):
    """The local clock over a period, as stretches of one UTC offset each.

    ``edges_s`` (n + 1,): UTC seconds since 1970 at which the stretches meet, first and last are those
    of the period. ``offsets_s`` (n,): local time less UTC in each. ``standard_s``: local standard time
    less UTC.
    """

    edges_s: Ints
    offsets_s: Ints
    standard_s: int


class Use(NamedTuple):
    """How long each user of power was on, by rate and calendar month.

    ``months`` (m,): months since January 1970, rising. ``seconds`` (users, rates, m).
    """

    months: Ints
    seconds: Ints


def local_clock(start: date, days: int, tz: tzinfo | None) -> LocalClock:
    """Return the local clock from the first moment of ``start`` over whole calendar days.

    Parameters
    ----------
    start
        First local date.
    days
        Calendar days, at least 0; two days a year may have 23 or 25 hours, or change by half an hour.
    tz
        Time zone; None is this computer's.

    Notes
    -----
    Standard time is the lower of the offsets of January and July of the starting year, "winter time".
    (Time zones' own marks of summer time are no help: Ireland's call the winter the exception.)
    A clock that changes twice within 24 h would be missed; none does.

    Raises
    ------
    ValueError
        If days is negative.
    """
    if days < 0:
        message = f"days must not be negative, not {days}"
        raise ValueError(message)
    begin = _midnight_s(start, tz)
    end = _midnight_s(start + timedelta(days=days), tz)
    edges, offsets = [begin], [_offset_s(begin, tz)]
    for from_s in range(begin, end, _DAY_S):
        until_s = min(from_s + _DAY_S, end)
        if _offset_s(until_s, tz) != offsets[-1]:
            change_s = _first_change_s(from_s, until_s, tz)
            if change_s < end:
                edges.append(change_s)
                offsets.append(_offset_s(change_s, tz))
    halves = (datetime(start.year, month, 1, tzinfo=UTC) for month in (1, 7))
    standard_s = min(_offset_s(int(half.timestamp()), tz) for half in halves)
    return LocalClock(np.array([*edges, end], np.int64), np.array(offsets, np.int64), standard_s)


def _midnight_s(day: date, tz: tzinfo | None) -> int:
    """Return the UTC seconds at which a local date begins (after midnight, if midnight is skipped)."""
    return int(datetime.combine(day, time.min, tzinfo=tz).timestamp())


def _offset_s(utc_s: int, tz: tzinfo | None) -> int:
    """Return local time less UTC, in seconds."""
    offset = datetime.fromtimestamp(utc_s, UTC).astimezone(tz).utcoffset()
    return int((offset or timedelta()).total_seconds())


def _first_change_s(from_s: int, until_s: int, tz: tzinfo | None) -> int:
    """Return the first second of a new offset between two moments of different offset, by bisection."""
    before = _offset_s(from_s, tz)
    while until_s - from_s > 1:
        middle = (from_s + until_s) // 2
        if _offset_s(middle, tz) == before:
            from_s = middle
        else:
            until_s = middle
    return until_s


def week_table(stretches: Sequence[tuple[int, int]] | None, weekdays: Iterable[int] = range(7)) -> Bools:
    """Return for each minute of the week whether it lies in a stretch begun on one of the weekdays.

    Parameters
    ----------
    stretches
        From and until in minutes after midnight, until not included; from later than until crosses
        midnight and still belongs to the day on which it began; from 1440 is the same as from 0. None:
        the whole day.
    weekdays
        Monday is 0.

    Returns
    -------
    Bools
        Shape (10080,), from Monday 00:00.
    """
    table = np.zeros(MINUTES_PER_WEEK, np.bool_)
    for weekday in weekdays:
        for start, end in ((0, MINUTES_PER_DAY),) if stretches is None else stretches:
            first = weekday * MINUTES_PER_DAY + start % MINUTES_PER_DAY
            length = (end - start) % MINUTES_PER_DAY or MINUTES_PER_DAY
            table[np.arange(first, first + length) % MINUTES_PER_WEEK] = True
    return table


def rate_calendar(week: Bools, months: Bools, base: int | None) -> Ints:
    """Return the rate that applies in each minute of the week of each calendar month.

    Parameters
    ----------
    week
        Shape (rates, 10080): when each rate applies within its months, see ``week_table``.
    months
        Shape (rates, 12): in which months (of the local date) each rate applies.
    base
        The rate that applies whenever no other does; its rows are ignored. None: there is none.

    Returns
    -------
    Ints
        Shape (12, 10080): index of the rate.

    Raises
    ------
    ValueError
        If two rates other than the base apply at once, or none applies and there is no base.
    """
    nothing = -1 if base is None else base
    calendar = np.full((months.shape[1], week.shape[1]), nothing, np.int64)
    for rate in range(len(week)):
        if rate != base:
            holds = months[rate, :, None] & week[rate]
            if (calendar[holds] != nothing).any():
                message = "two rates hold at the same time"
                raise ValueError(message)
            calendar[holds] = rate
    if calendar.min() < 0:
        message = "at some time no rate holds"
        raise ValueError(message)
    return calendar


def mean_watts(watts: float, on: float, every: float) -> float:
    """Return the mean power of something that is on for a part of every cycle, in its own unit of time.

    Used for pumps on a cycle and for hours a day: it is not known which hours, so they are spread evenly over
    day and night.
    """
    return watts * on / every


def kwh(watts: npt.ArrayLike, seconds: npt.ArrayLike) -> NDArray[np.float64]:
    """Return the energy of steady power, kWh = W × h / 1000; any shapes that fit each other."""
    return np.asarray(watts, np.float64) * np.asarray(seconds, np.float64) / 3.6e6


def lamp_watts(watts: float, output: float, at_output: float = 1.0, standby_watts: float = 0.0) -> float:
    """Return the power of a lamp at another output, from ``watts`` at ``at_output``: linear (assumed).

    Standby power is drawn at any output and does not shrink with it.
    """
    return standby_watts + (watts - standby_watts) * output / at_output


def in_blocks(
    kwh: npt.ArrayLike, before_kwh: npt.ArrayLike, tops_kwh: Sequence[float]
) -> NDArray[np.float64]:
    """Return the part of a month's energy in each block of use.

    Parameters
    ----------
    kwh, before_kwh
        The energy, and the use before it in the same month; any shapes that fit each other (...).
    tops_kwh
        Where each block but the last ends, rising, counted from the start of the month; shape (n - 1,).

    Returns
    -------
    NDArray
        kWh in each block, shape (..., n).
    """
    energy, before = (np.asarray(values, np.float64)[..., None] for values in (kwh, before_kwh))
    edges = np.array([0.0, *tops_kwh, np.inf])
    low, high = (np.maximum(ends - before, 0.0) for ends in (edges[:-1], edges[1:]))
    filled: NDArray[np.float64] = np.clip(energy, low, high) - low
    return filled


def rounded(amounts: npt.ArrayLike, digits: int) -> NDArray[np.float64]:
    """Return amounts (n,) of money, rounded to ``digits`` decimals, that add up to their rounded sum.

    Each running sum is rounded, half up, so that no line is off by a whole unit. Bills round so:
    26.125 is printed as 26.13.
    """
    running = np.cumsum(np.asarray(amounts, np.float64)) * 10**digits
    whole: NDArray[np.float64] = np.diff(np.floor(running + 0.5 + _NEARLY), prepend=0.0) / 10**digits
    return whole


def use_by_rate_and_month(
    clock: LocalClock, on: Bools, follows_clock: Bools, calendar: Ints, holidays: Sequence[int] = ()
) -> Use:
    """Return the seconds that each user of power is on, at each rate, in each calendar month.

    The period is cut at every minute of the day at which a user or a rate may change; within each piece
    all are constant, and its true length is summed.

    Parameters
    ----------
    clock
        The period, see ``local_clock``.
    on
        Shape (users, 10080): when each user is on, see ``week_table``.
    follows_clock
        Shape (users,): false for a timer that stays on standard time in summer.
    calendar
        Shape (12, 10080): which rate holds, see ``rate_calendar``.
    holidays
        Local dates, in days since 1970, that are priced as Sundays from midnight to midnight.
    """
    local_edges = _changes(np.vstack([on[follows_clock], calendar]))
    pieces = _pieces(clock, local_edges, _changes(on[~follows_clock]), calendar, holidays)
    minute_of_user = np.where(follows_clock[:, None], pieces.minute, pieces.standard_minute)
    seconds = np.take_along_axis(on, minute_of_user, axis=1) * pieces.length_s
    cells = pieces.rates * pieces.months.size
    sums = [np.bincount(pieces.cell, weights=row, minlength=cells) for row in seconds]
    shape = (len(on), pieces.rates, pieces.months.size)
    return Use(pieces.months, np.array(sums).astype(np.int64).reshape(shape))


def use_by_quarter(
    clock: LocalClock, calendar: Ints, holidays: Sequence[int] = (), *, follows_clock: bool
) -> Use:
    """Return the same for 96 users, each on in one quarter hour of every day: exactly, and much sooner.

    ``follows_clock``: false for timers that stay on standard time in summer.
    """
    edges = np.arange(0, MINUTES_PER_DAY, 15)
    local, standard = (edges, edges[:0]) if follows_clock else (edges[:0], edges)
    pieces = _pieces(clock, np.append(_changes(calendar), local), standard, calendar, holidays)
    minute = pieces.minute if follows_clock else pieces.standard_minute
    cells = pieces.rates * pieces.months.size
    key = minute % MINUTES_PER_DAY // 15 * cells + pieces.cell
    sums = np.bincount(key, weights=pieces.length_s, minlength=edges.size * cells)
    return Use(pieces.months, sums.astype(np.int64).reshape(edges.size, pieces.rates, pieces.months.size))


class _Pieces(NamedTuple):
    """Pieces of a period (n,) in which nothing changes, and the months (m,) that it touches.

    ``cell`` is rate times m plus the month's place, ``minute`` that of the week on the clock,
    ``standard_minute`` that in standard time.
    """

    length_s: Ints
    minute: Ints
    standard_minute: Ints
    months: Ints
    cell: Ints
    rates: int


def _pieces(
    clock: LocalClock, local_edges: Ints, standard_edges: Ints, calendar: Ints, holidays: Sequence[int]
) -> _Pieces:
    """Cut a period at minutes of the day, on the clock and in standard time."""
    start_s, end_s = clock.edges_s[[0, -1]]
    local_edges = distinct(np.append(0, local_edges))
    cuts = [clock.edges_s, _daily(standard_edges, start_s, end_s, clock.standard_s)]
    for from_s, until_s, offset_s in zip(clock.edges_s[:-1], clock.edges_s[1:], clock.offsets_s, strict=True):
        cuts.append(_daily(local_edges, from_s, until_s, offset_s))
    cut = distinct(np.concatenate(cuts))
    at, length = cut[:-1], np.diff(cut)

    local_s = at + clock.offsets_s[np.searchsorted(clock.edges_s, at, side="right") - 1]
    month = (local_s // _DAY_S).astype("datetime64[D]").astype("datetime64[M]").astype(np.int64)
    months, column = np.unique(month, return_inverse=True)
    minute = _minute_of_week(local_s)
    as_sunday = _SUNDAY + minute % MINUTES_PER_DAY
    priced_as = np.where(np.isin(local_s // _DAY_S, holidays), as_sunday, minute)
    cell = calendar[month % 12, priced_as] * months.size + column
    standard_minute = _minute_of_week(at + clock.standard_s)
    return _Pieces(length, minute, standard_minute, months, cell, int(calendar.max()) + 1)


def _changes(tables: NDArray[np.generic]) -> Ints:
    """Return the minutes of the day at which any of the tables (n, 10080) changes on any weekday."""
    changes = (tables != np.roll(tables, 1, axis=1)).any(axis=0)
    return np.flatnonzero(changes.reshape(7, MINUTES_PER_DAY).any(axis=0))


def _daily(minutes: Ints, from_s: int, until_s: int, offset_s: int) -> Ints:
    """Return the UTC seconds, from ``from_s`` until before ``until_s``, of minutes of each local day."""
    first, last = ((utc_s + offset_s) // _DAY_S for utc_s in (from_s, until_s))
    days_s = np.arange(first, last + 1, dtype=np.int64)[:, None] * _DAY_S - offset_s
    at = (days_s + minutes * 60).ravel()
    return at[(at >= from_s) & (at < until_s)]


def _minute_of_week(local_s: Ints) -> Ints:
    """Return the minutes since Monday 00:00."""
    return (local_s - _MONDAY_S) // 60 % MINUTES_PER_WEEK
