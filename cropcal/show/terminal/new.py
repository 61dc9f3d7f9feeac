"""What ``new`` prints when the file is written: the gist of the first plan, and where to go from there."""

from collections.abc import Mapping, Sequence

from cropcal.records.plan import BedLight, Narrowing, SeasonPlan
from cropcal.show import text
from cropcal.show.terminal.plan import headline
from cropcal.show.wording import (
    assumptions,
    crop_name,
    lamp_hours,
    want_name,
)

FULL_MONTH_DAYS = 30.0


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
        The values that the file has for each "don't know".
    unsure
        The light that is least sure and what would narrow it, None where no measurement is worth it.
    folder
        Folder of the space, as the user typed it.
    """
    granted = [text.bullets(f"not told, {line}" for line in guessed), assumptions(result.assumptions)]
    return (
        f"{text.wrap(headline(result))}\n"
        + text.section("What you can eat first", text.bullets(_first(result, names)))
        + text.section("What it could give, week after week", text.bullets(_gives(result, names)))
        + text.section("The lamp", text.bullets(_lamp(result)))
        + text.section("Watch out", text.bullets(result.warnings))
        + text.section("Take care", text.bullets(result.cautions))
        + text.section("Taken for granted", "\n".join(filter(None, granted)))
        + text.section("Find out first", _find_out(unsure))
        + f"\nNext, type: cropcal plan {text.typed(folder)}\n"
    )


def _first(result: SeasonPlan, names: Mapping[str, str]) -> list[str]:
    soonest: dict[str, str] = {}
    for batch in sorted(result.batches, key=lambda batch: (batch.ready_from, batch.id)):
        likely = text.span(batch.ready_from_low_80, batch.ready_from_high_80)
        sown = f"sown {text.day(batch.sow_on)}, ready about {text.day(batch.ready_from)} ({likely})"
        soonest.setdefault(batch.crop, f"{crop_name(batch.crop, names)}: {sown}")
    return list(soonest.values())


def _gives(result: SeasonPlan, names: Mapping[str, str]) -> list[str]:
    return [
        f"{want_name(row.label, names)}: {text.amount(row.in_mix_per_week, row.unit)}"
        + ("" if row.wanted_per_week is None else f"; wanted {text.amount(row.wanted_per_week, row.unit)}")
        for row in result.outcome.steady
    ]


def _lamp(result: SeasonPlan) -> list[str]:
    hours = {light.zone: lamp_hours(light) for light in result.lights}
    lines = [f"{zone}: {value} a day" for zone, value in hours.items()]
    days = result.weeks * 7
    month_kwh = sum(line.kwh for line in result.bill) / days * FULL_MONTH_DAYS
    costs = [line.cost for line in result.bill if line.cost is not None]
    cost = f", {text.money(sum(costs) / days * FULL_MONTH_DAYS, result.currency)}" if costs else ""
    return [*lines, f"about {text.kwh(month_kwh)} kWh{cost} in 30 days"]


def _find_out(unsure: tuple[BedLight, tuple[Narrowing, ...]] | None) -> str:
    """Return what to measure first: the least certain light, else the first harvest."""
    if unsure is None:
        return text.wrap("Nothing to measure tells more than the first harvest you note: cropcal log.")
    light, ways = unsure
    sentence = text.wrap(f"How bright it is in {light.bed}: known to {text.known_to(light.sd_ln)} now.")
    return f"{sentence}\n{text.bullets(f'{way.find}: {text.known_to(way.sd_ln)}' for way in ways)}"
