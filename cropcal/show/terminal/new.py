"""What ``new`` prints when the file is written: the gist of the first plan, and where to go from there."""

from collections.abc import Mapping, Sequence
from typing import Any

from cropcal.records.answers import LampOnHours, PotBoxes, Wish
from cropcal.records.plan import BedLight, Narrowing, SeasonPlan
from cropcal.show import care_words, text
from cropcal.show.terminal.plan import headline
from cropcal.show.wording import (
    assumptions,
    crop_name,
    lamp_hours,
    want_name,
)

FULL_MONTH_DAYS = 365.25 / 12


def first(
    result: SeasonPlan,
    names: Mapping[str, str],
    guessed: Sequence[str],
    unsure: tuple[BedLight, tuple[Narrowing, ...]] | None,
    folder: str,
) -> str:
    """Return a short summary of the first plan of a new space.

    Parameters
    ----------
    result
        The plan.
    names
        Slug of a crop -> its name.
    guessed
        What the file has where an answer was left out or not understood.
    unsure
        The light that is least sure and what would narrow it, None where no measurement is worth it.
    folder
        Folder of the space, as the user typed it.
    """
    granted = [text.bullets(guessed), assumptions(result.assumptions)]
    return (
        f"{text.wrap(headline(result))}\n"
        + text.section("What you can eat first", text.bullets(_first(result, names)))
        + text.section("What it could give every week", text.bullets(given_each_week(result, names)))
        + text.section("The lamp", text.bullets(lamp_facts(result)))
        + text.section("Watch out", text.bullets(result.warnings))
        + text.section(
            "Take care", text.bullets([*result.cautions, *care_words.sentences(result.care, names)])
        )
        + text.section("Assumptions", "\n".join(filter(None, granted)))
        + text.section("Find out first", _find_out(unsure))
        + f"\nNext, type: cropcal plan {text.typed(folder)}\n"
    )


def understood(key: str, value: Any) -> str:
    """Return an answer as it was understood, in a few words and the file's units."""
    match key:
        case "floor":
            walls = (
                "" if value.wall_reflectance is None else f", walls that reflect {value.wall_reflectance:.0%}"
            )
            return f"{_metres(value.length_m)} x {_metres(value.width_m)} m{walls}"
        case "boxes":
            return _boxes(value)
        case "lamp":
            many = f"{value.count} lamps of " if value.count > 1 else ""
            known = {True: ", measured", False: ", by the label", None: ""}[value.metered]
            flux = "" if value.ppf_umol_s is None else f", {value.ppf_umol_s:g} µmol/s"
            return f"{many}{value.watts:g} W, {value.kind or 'kind not named'}{known}{flux}"
        case "gap":
            return f"{value * 100:.0f} cm"
        case "hours":
            return _hours(value)
        case "air":
            return f"{value[0]:g} °C with the lamp on, {value[1]:g} °C with it off"
        case "price":
            return f"{value.per_kwh:g} {value.currency or ''}".strip() + " a kWh"
        case "eat":
            return "; ".join(map(_wish, value))
        case "tray":
            return "yes" if value else "no"
        case "days":
            return ", ".join(day.capitalize() for day in value)
        case _:
            return text.day(value)


def _metres(length: float) -> str:
    return f"{round(length, 2):g}"


def _sized(length: float | None, width: float | None) -> str:
    return "" if length is None or width is None else f", {_metres(length)} x {_metres(width)} m"


def _boxes(boxes: PotBoxes) -> str:
    parts = []
    if boxes.count:
        of = "1 box" if boxes.count == 1 else f"{boxes.count} boxes"
        parts.append(f"{of} of {boxes.pots} pots{_sized(boxes.length_m, boxes.width_m)}")
    if boxes.trays == 0:
        parts.append("no tray")
    if boxes.trays:
        of = "1 open tray" if boxes.trays == 1 else f"{boxes.trays} open trays"
        parts.append(f"{of}{_sized(boxes.tray_length_m, boxes.tray_width_m)}")
    return "; ".join(parts)


def _hours(hours: LampOnHours) -> str:
    parts = [f"on {start} to {end}" for start, end in hours.lit]
    if hours.photoperiod_h is not None:
        parts.append(f"on {hours.photoperiod_h:g} h a day")
    parts += [f"off {start} to {end}" for start, end in hours.quiet]
    return ", ".join(parts) or "picked for you"


def _wish(wish: Wish) -> str:
    families = {slug.partition("-")[0] for slug in wish.crops}
    any_kind = (
        f"any {families.pop()}" if len(families) == 1 and len(wish.crops) > 1 else " or ".join(wish.crops)
    )
    name = wish.mix or any_kind
    if wish.per_week is None:
        return f"{name}, as much as fits"
    unit = "bowls" if wish.in_bowls else wish.unit
    return f"{name}, {wish.per_week:g} {unit.removesuffix('s') if wish.per_week == 1 else unit} a week"


def _first(result: SeasonPlan, names: Mapping[str, str]) -> list[str]:
    soonest: dict[str, str] = {}
    for batch in sorted(result.batches, key=lambda batch: (batch.ready_from, batch.id)):
        likely = text.span(batch.ready_from_low_80, batch.ready_from_high_80)
        sown = f"sown {text.day(batch.sow_on)}, ready about {text.day(batch.ready_from)} ({likely})"
        soonest.setdefault(batch.crop, f"{crop_name(batch.crop, names)}: {sown}")
    return list(soonest.values())


def ready_about(result: SeasonPlan, names: Mapping[str, str]) -> dict[str, str]:
    """Return the day on which each crop is first ready, in words, the soonest first."""
    soonest: dict[str, str] = {}
    for batch in sorted(result.batches, key=lambda batch: (batch.ready_from, batch.id)):
        soonest.setdefault(crop_name(batch.crop, names), text.day(batch.ready_from))
    return soonest


def given_each_week(result: SeasonPlan, names: Mapping[str, str]) -> list[str]:
    """Return what the space could give of each want, week after week."""
    return [
        f"{_of(text.amount(row.in_mix_per_week, row.unit))} {want_name(row.label, names)}"
        + ("" if row.wanted_per_week is None else f" ({text.amount(row.wanted_per_week, row.unit)} wanted)")
        for row in result.outcome.steady
    ]


def _of(amount: str) -> str:
    return f"{amount} of" if amount[-1:].isalpha() else amount


def lamp_facts(result: SeasonPlan) -> list[str]:
    """Return the lamp's hours in each zone, and the power of a month."""
    hours = {light.zone: lamp_hours(light) for light in result.lights}
    lines = [f"{zone} {value} a day" for zone, value in hours.items()]
    days = result.weeks * 7
    month_kwh = sum(line.kwh for line in result.bill) / days * FULL_MONTH_DAYS
    costs = [line.cost for line in result.bill if line.cost is not None]
    money = (
        f"{text.plain(sum(costs) / days * FULL_MONTH_DAYS, 0)} {text.clean(result.currency or '')}".strip()
    )
    return [*lines, f"about {text.kwh(month_kwh)} kWh{f' and {money}' if costs else ''} a month"]


def _find_out(unsure: tuple[BedLight, tuple[Narrowing, ...]] | None) -> str:
    """Return what to measure first: the least certain light, else the first harvest."""
    if unsure is None:
        return text.wrap("No measurement teaches more than the first harvest you note: cropcal log.")
    light, ways = unsure
    sentence = text.wrap(
        f"How bright it is in {light.bed}: known to within {text.known_to(light.sd_ln)} now."
    )
    return f"{sentence}\n{text.bullets(f'{way.find}: {text.known_to(way.sd_ln)}' for way in ways)}"
