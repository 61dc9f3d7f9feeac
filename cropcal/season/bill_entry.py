"""A bill as a line of the journal, from the words and options of ``cropcal log bill``."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from cropcal.reading.journal.bill_words import A_MONTH, MONEY, BillWords, bill_words
from cropcal.reading.text.csv_cells import Bad
from cropcal.reading.text.source import shorten
from cropcal.records.journal import Entry
from cropcal.records.tariff import Tariff
from cropcal.season import log_words
from cropcal.season.load import refuse_one
from cropcal.season.log_words import Options
from cropcal.show import text

WHOLE_SPACE = "nothing: a bill is for the whole space"


def bill_fields(
    words: Sequence[str], options: Options, today: date, tariff: Tariff | None, old: Entry | None
) -> dict[str, Any]:
    """Return day, amount, currency and kWh of a bill; what is left open comes from the line it corrects.

    The day is the last of its month, or today in the month that is not over; ``--on`` gives another.

    Raises
    ------
    SpaceError
        If the words name no month or no sum, a month to come, or a currency that the tariff does not have.
    """
    given = (("--bed", options.bed), ("--zone", options.zone), ("--site", options.site))
    for option, value in given:
        if value:
            refuse_one(option, f'"{value}"', WHOLE_SPACE)
    typed = " ".join(words)
    said = bill_words(typed, today, tariff.currency if tariff else None)
    if isinstance(said, Bad):
        refuse_one(
            "MONTH" if said.expected == A_MONTH else "AMOUNT", f'"{shorten(typed)}"', said.expected, said.hint
        )
    kwh = _kwh(options.kwh, said)
    on = _last_day(said.month, options, today, old)
    fields: dict[str, Any] = {"on": on, "amount": said.amount, "unit": said.currency, "kwh": kwh}
    if old is not None:
        fields["amount"] = old.amount if said.amount is None else said.amount
        fields["unit"] = old.unit if said.amount is None else said.currency
        fields["kwh"] = old.kwh if kwh is None else kwh
    if fields["amount"] is None:
        fields["unit"] = ""
        if fields["kwh"] is None:
            refuse_one("AMOUNT", "nothing", MONEY, "or the kWh that it counts: --kwh 180")
    return fields


def _kwh(given: str | None, said: BillWords) -> float | None:
    """Return the kWh of the option, or those of the words."""
    if given is None:
        return said.kwh
    meant = bill_words(f"{given.casefold().removesuffix('kwh')} kWh", date.min, None)
    if isinstance(meant, Bad) or meant.kwh is None or said.kwh is not None:
        refuse_one("--kwh", f'"{shorten(given)}"', "the energy that the bill counts, once, like 180")
    return meant.kwh


def _last_day(month: date | None, options: Options, today: date, old: Entry | None) -> date:
    """Return the last day that a bill is for."""
    on = log_words.event_day(options.on, today) if options.on else None
    if month is None:
        if on is None and old is None:
            refuse_one("MONTH", "nothing", A_MONTH)
        return on or (old.on if old else today)
    last = (month + timedelta(days=32)).replace(day=1) - timedelta(days=1)
    if month > today:
        label = text.month(f"{month:%Y-%m}", (month, last))
        refuse_one("MONTH", label, "a month that has begun", f"today is {today.isoformat()}")
    if on is not None and not month <= on <= last:
        refuse_one("--on", f'"{options.on}"', "a day of that month", "or leave it out")
    return on or min(last, today)
