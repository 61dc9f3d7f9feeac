"""Bills that were noted, held against watts, hours and prices of the file, with likely causes."""

from collections.abc import Iterable
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from cropcal.planning.power.bill_causes import BillCase, likely_causes
from cropcal.planning.power.bill_range import bill_range, priced_energy
from cropcal.planning.power.consumption import DarkDays
from cropcal.records.journal import Entry
from cropcal.records.tariff import NotedBill, PowerRange

if TYPE_CHECKING:
    from cropcal.records.space import Space

PRICE_AGREES = 0.03
"""A bill agrees with the prices of the file if it differs by no more, for the energy it counts (assumed:
whole kWh are 1 % of a small bill, and a meter is not read at midnight)."""


class BillNote(NamedTuple):
    """The note of a bill that counts for its month, and the ids of those before it that do not."""

    entry: Entry
    instead_of: tuple[str, ...]


def bill_notes(events: Iterable[Entry]) -> tuple[BillNote, ...]:
    """Return the notes of bills, one a month, by month: of several the one that was noted last."""
    of_month: dict[str, list[Entry]] = {}
    for entry in events:
        if entry.event == "bill":
            of_month.setdefault(f"{entry.on:%Y-%m}", []).append(entry)
    notes = []
    for month in sorted(of_month):
        *before, last = sorted(of_month[month], key=lambda entry: entry.line or 0)
        notes.append(BillNote(last, tuple(entry.id for entry in before)))
    return tuple(notes)


def held_against(space: "Space", note: BillNote, since: date, dark: DarkDays | None = None) -> NotedBill:
    """Return a noted bill beside what was computed for the days of its month up to that of the note.

    An amount agrees if it lies in the range of the computed bill, in four cases of five. Where the energy is
    noted too, energy is held against energy, and the amount against the prices for that energy.

    Parameters
    ----------
    space
        The space as it was in that month.
    note
        The note; its day is the last that the bill is for.
    since
        The first day on which the space was in use.
    dark
        Days on which the lamps of a zone were off all day, by its name.
    """
    entry, instead_of = note
    first, last = max(entry.on.replace(day=1), since), entry.on
    noted = NotedBill(
        id=entry.id,
        first=first,
        last=last,
        amount=entry.amount,
        kwh=entry.kwh,
        computed=None,
        instead_of=instead_of,
    )
    days = (last - first).days + 1
    computed = bill_range(space, first, days, dark) if days > 0 else None
    priced = priced_energy(space, first, days, dark) if computed else None
    if computed is None or priced is None:
        return noted
    case = BillCase(space, priced, first, days, dark or {})
    of_days = computed.in_all
    wrong_kwh = noted.kwh is not None and not of_days.kwh_low_80 <= noted.kwh <= of_days.kwh_high_80
    between = _between(case, of_days, noted.kwh)
    agrees = between is None or noted.amount is None or between[0] <= noted.amount <= between[1]
    causes = likely_causes(
        case,
        kwh=noted.kwh,
        amount=noted.amount,
        wrong_kwh=wrong_kwh,
        between=None if agrees else between,
    )
    low, high = between or (None, None)
    return noted.model_copy(
        update={"computed": of_days, "cost_low": low, "cost_high": high, "causes": causes}
    )


def _between(case: BillCase, computed: PowerRange, kwh: float | None) -> tuple[float, float] | None:
    """Return between which an amount agrees: in the computed range, or with the prices for an energy."""
    if computed.cost is None or computed.cost_low_80 is None or computed.cost_high_80 is None:
        return None
    if kwh is None:
        return computed.cost_low_80, computed.cost_high_80
    low, high = case.cost_of(kwh)
    return low * (1 - PRICE_AGREES), high * (1 + PRICE_AGREES)
