"""From the words and options of a note to lines of the journal."""

import re
from collections.abc import Sequence
from typing import Any

from cropcal.planning.history.match_batch import unplanned_batch_id
from cropcal.reading.journal.event_words import Quantity, unit_of
from cropcal.reading.text.days import day_at_the_end
from cropcal.records.batch_history import BatchHistory
from cropcal.records.crop import Crop
from cropcal.records.journal import PLANT_EVENTS, UNITS, Entry, EventName
from cropcal.season import clock, log_words
from cropcal.season.bill_entry import bill_fields
from cropcal.season.load import refuse_one
from cropcal.season.log_batches import A_BATCH_OR_CROP, batches_meant, shared_out
from cropcal.season.log_words import Options
from cropcal.season.log_write import NoteContext, Spread

_NUMBERS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
_COUNTED = re.compile(r"x(\d{1,4})|(\d{1,4})x", re.ASCII)


def entries_of(
    context: NoteContext, event: EventName, words: Sequence[str], options: Options, base: Entry | None
) -> Spread:
    """Return the lines given by words and options; what they leave open comes from ``base``."""
    words, on_text = (words, options.on) if event == "bill" else without_day(context, words, options)
    today = clock.today()
    on = base.on if base is not None and on_text is None else log_words.event_day(on_text, today)
    starts, ends = log_words.event_times(options, on)
    if starts is not None and event == "outage":
        on = starts.date()
    entry = Entry(
        on=on,
        event=event,
        sites=log_words.site_numbers(options.site),
        why=options.why or "",
        note=options.note or "",
        early=options.early,
        sure=options.sure,
        cut="whole" if options.whole else options.cut,
        starts=starts,
        ends=ends,
    )
    if event in PLANT_EVENTS:
        return _of_plants(context, entry, _counted(words), options)
    if event == "bill":
        fields = bill_fields(words, options, today, context.space.tariff, base)
        return Spread((entry.model_copy(update=fields),))
    thing, amounts = log_words.thing_and_amounts(words, ())
    where: dict[str, Any] = {}
    match event:
        case "reading":
            beds = [bed.name for bed in context.space.beds]
            where["bed"] = log_words.matching_name("bed", options.bed or thing, beds)
        case "outage":
            what = thing.casefold()
            if what not in ("lamp", "pump", "fan", "power"):
                expected = "what stood still: lamp, pump, fan or power"
                refuse_one("WHAT", f'"{thing}"' if thing else "nothing", expected)
            where["what"] = what
            where["zone"] = log_words.zone_named(context.space, options.zone) if options.zone else ""
        case _:
            where["zone"] = log_words.zone_named(context.space, options.zone or thing)
    fields = {**where, **log_words.amount_fields(event, amounts, UNITS[event][0])}
    return Spread((entry.model_copy(update=fields),))


def without_day(
    context: NoteContext, words: Sequence[str], options: Options
) -> tuple[Sequence[str], str | None]:
    """Return the words without a day at their end, and that day as typed; ``--on`` stands before it."""
    count = 0 if options.on is not None else day_at_the_end(words, clock.today())
    folded = [word.casefold() for word in words]
    names = [bed.name for bed in context.space.beds] + [zone.name for zone in context.space.zones]
    if any(folded[-len(name.split()) :] == name.casefold().split() for name in names):
        count = 0  # a bed may be called "sun"
    return (words[:-count], " ".join(words[-count:])) if count else (words, options.on)


def _counted(words: Sequence[str]) -> list[str]:
    """Return the words of a note of plants with numbers in figures: "three", "x3", "a tray"."""
    counted = []
    for word, following in zip(words, (*words, "")[1:], strict=True):
        if word.casefold() in ("a", "an") and unit_of(following):
            counted.append("1")
        elif word.casefold() in _NUMBERS:
            counted.append(f"{_NUMBERS.index(word.casefold()) + 1}")
        elif match := _COUNTED.fullmatch(word.casefold()):
            counted.append(match[1] or match[2])
        else:
            counted.append(word)
    return counted


def _of_plants(context: NoteContext, entry: Entry, words: Sequence[str], options: Options) -> Spread:
    """Return an event of plants, one line a batch, with its crop, bed and amount."""
    ids = [history.batch for history in context.stories]
    thing, amounts = log_words.plants_and_amounts(words, ids)
    if not thing:
        text = log_words.written(amounts) if amounts else "nothing"
        refuse_one("CROP_OR_BATCH", text, A_BATCH_OR_CROP)
    story = context.story(thing)
    if story is not None:
        return Spread((_of_batch(context, entry, story, story.crop, amounts, options),))
    units = {amount.unit for amount in amounts}
    fit, crop = batches_meant(context, entry, thing, options.bed or "", units)
    known = context.tables.crops.get(crop)
    if len(fit) < 2 or known is None:
        one = fit[0] if fit else None
        return Spread((_of_batch(context, entry, one, crop, amounts, options),))
    if entry.event == "harvested" and not amounts:
        refuse_one("AMOUNT", "nothing", f"how much, in {known.unit}")
    shares = shared_out(fit, entry, amounts, known, thing)
    used = [share for share in shares if not share.amounts or share.amounts[0].value or len(shares) == 1]
    return Spread(
        tuple(_of_batch(context, entry, share.history, crop, share.amounts, options) for share in used),
        tuple(share.history for share in shares if share not in used),
    )


def _of_batch(
    context: NoteContext,
    entry: Entry,
    story: BatchHistory | None,
    crop: str,
    amounts: list[Quantity],
    options: Options,
) -> Entry:
    """Return an event of one batch, or of a crop without one."""
    batch = story.batch if story else ""
    if story is None and entry.event == "sown":
        batch = unplanned_batch_id(entry.on, [history.batch for history in context.stories])
    known = context.tables.crops.get(crop)
    nursery = story.nursery if story else None
    unit = UNITS[entry.event][0] if UNITS[entry.event] else ""
    if entry.event == "harvested" and known:
        unit = known.unit
        if not amounts:
            refuse_one("AMOUNT", "nothing", f"how much, in {unit}")
    elif entry.event == "sown":
        unit = "cells" if nursery else _places(known)
    elif entry.event == "lost" and known and known.plants_per_site > 1:
        unit = "sites"
    parts = log_words.amount_fields(entry.event, amounts, unit)
    if not parts and entry.event in ("sown", "transplanted") and story and story.planned:
        places = story.planned.cells if unit == "cells" else story.planned.sites
        parts = {"amount": float(places), "unit": unit}
    beds = [bed.name for bed in context.space.beds]
    bed = log_words.matching_name("bed", options.bed, beds) if options.bed else ""
    if not bed and story:
        bed = nursery if nursery and entry.event in ("sown", "emerged") else story.bed
    return entry.model_copy(
        update={
            "batch": batch,
            "crop": crop,
            "bed": bed,
            "cut": entry.cut or cut_number(entry, story, known.cuts_max if known else 1),
            **parts,
        }
    )


def _places(known: Crop | None) -> str:
    return "trays" if known and known.kind in ("tray", "shoots") else "sites"


def cut_number(entry: Entry, story: BatchHistory | None, cuts_max: int) -> int | str | None:
    """Return the number of a harvest's cut where none is given: the next, or "whole" for a crop cut once."""
    if entry.event != "harvested":
        return None
    if cuts_max == 1:
        return "whole"
    if story is None:
        return None
    return len({*story.cut_on, entry.on})
