"""What the commands that plan nothing print: check, crops, bill, when; light has a module of its own.

Every function returns text that ends in a newline.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date

from cropcal.problems import Problem
from cropcal.records.crop import IN_PRINT, Crop
from cropcal.records.fit import Fit
from cropcal.records.forecast import Forecast
from cropcal.records.plan import BillLine, UnitCost
from cropcal.show import hazard_words, text
from cropcal.show.terminal.light import verdicts
from cropcal.show.wording import assumptions, crop_name


def check(problems: Sequence[Problem], path: str, *, tried: bool = False) -> str:
    """Return one line for each problem; without any, what to type next (not while values are tried)."""
    if not problems:
        following = "" if tried else f"\nNext, type: cropcal light {text.typed(path)}\n"
        return f"{path}: no mistakes found\n{following}"
    count = f"{len(problems)} {'mistake' if len(problems) == 1 else 'mistakes'} found"
    return "".join(f"{text.clean(str(problem))}\n" for problem in problems) + f"{count}\n"


def doubts(problems: Sequence[Problem]) -> str:
    """Return one question for each unusual value, which is most often a mistake."""
    return "".join(f"{hazard_words.doubt(doubt)}\n" for doubt in problems)


def crops(table_of: Mapping[str, Crop], fits: Sequence[Fit] = ()) -> str:
    """Return the crop table by slug; with fits, below it which crop suits which bed."""
    rows = [
        (
            crop.slug,
            crop.name,
            crop.unit,
            text.dli(crop.dli_min_mol_m2_d),
            text.dli(crop.dli_target_mol_m2_d),
            text.dli(crop.dli_max_mol_m2_d),
            "?" if crop.photoperiod_max_h is None else text.hours(crop.photoperiod_max_h),
            _known(crop),
        )
        for crop in sorted(table_of.values(), key=lambda crop: crop.slug)
    ]
    headers = ("crop", "name", "unit", "min", "good", "max", "day", "known")
    note = text.wrap(
        "min, good, max: light of a day (DLI) in mol/m2. day: the most hours of light it bears before it"
        " bolts or suffers; ? is unknown. known: how many of its values are in print; the rest are a"
        " relative's, common practice, from memory or assumed: cropcal crops --sources NAME."
    )
    names = {crop.slug: crop.name for crop in table_of.values()}
    suits = text.section("In your beds", verdicts(fits, names)) if fits else ""
    return f"{text.table(headers, rows, 'klkrrrrr')}\n\n{note}\n{suits}"


def _known(crop: Crop) -> str:
    printed = sum(source.known in IN_PRINT for source in crop.sources.values())
    return f"{printed}/{len(crop.sources)}"


def bill(
    lines: Sequence[BillLine],
    unit_costs: Sequence[UnitCost],
    currency: str | None,
    names: Mapping[str, str],
    period: tuple[date, date],
    year: Sequence[BillLine] = (),
) -> str:
    """Return the bill by month, by user of power and by rate, then the power for one more unit.

    ``period`` is the first and the last day that is billed; ``year`` the lines of twelve months.
    """
    if not lines:
        return "Nothing here draws power, so there is no bill.\n"
    cost = f"cost {currency or ''}".strip()
    uses = _summed(lines, lambda line: (line.what, line.zone))
    by_price = sorted((line for line in lines if line.kwh), key=lambda line: (line.cost or 0.0) / line.kwh)
    rates = _summed(by_price, lambda line: (line.rate,))
    spent = f" and cost {text.money(_cost(year), currency)}" if _cost(year) is not None else ""
    a_year = f"\nTwelve months take {text.kwh(_kwh(year))} kWh{spent}.\n" if year else ""
    no_price = "" if _cost(lines) is not None else "\nNo tariff is given, so there is energy but no money.\n"
    return (
        f"{months(lines, currency, period)}\n{a_year}{no_price}"
        + text.section("What uses it", text.table(("what", "zone", "kWh", cost), uses, "llrr"))
        + text.section("At which price", text.table(("rate", "kWh", cost), rates, "lrr") if rates[1:] else "")
        + text.section("Power for one more", _unit_costs(unit_costs, currency, names))
    )


def _summed(lines: Iterable[BillLine], key: Callable[[BillLine], tuple[str, ...]]) -> list[tuple[str, ...]]:
    """Return a row for each key with its kWh and money; what is no power (charge, tax) comes last."""
    groups: dict[tuple[str, ...], list[BillLine]] = {}
    for line in lines:
        groups.setdefault(key(line), []).append(line)
    rows = sorted(groups.items(), key=lambda group: _kwh(group[1]) == 0)
    return [
        (*labels, text.kwh(_kwh(group)) if _kwh(group) else "", text.money(_cost(group)))
        for labels, group in rows
    ]


def months(lines: Sequence[BillLine], currency: str | None, period: tuple[date, date]) -> str:
    """Return a table of kWh and money a calendar month, with the total under it; part months say so."""
    by_month: dict[str, list[BillLine]] = {}
    for line in sorted(lines, key=lambda line: line.month):
        by_month.setdefault(line.month, []).append(line)
    rows = [
        (text.month(name, period), text.kwh(_kwh(group)), text.money(_cost(group)))
        for name, group in by_month.items()
    ]
    if len(rows) > 1:
        rows.append(("in all", text.kwh(_kwh(lines)), text.money(_cost(lines))))
    return text.table(("month", "kWh", f"cost {currency or ''}".strip()), rows, "lrr")


def _kwh(lines: Iterable[BillLine]) -> float:
    return sum(line.kwh for line in lines)


def _cost(lines: Iterable[BillLine]) -> float | None:
    known = [line.cost for line in lines if line.cost is not None]
    return sum(known) if known else None


def _unit_costs(costs: Sequence[UnitCost], currency: str | None, names: Mapping[str, str]) -> str:
    """Return kWh and money a head, or 100 g: one gram would be all zeros."""
    rows = []
    for cost in costs:
        size, unit = (100, "100 g") if cost.unit == "g" else (1, "head")
        price = None if cost.cost_per_unit is None else cost.cost_per_unit * size
        energy = text.plain(cost.kwh_per_unit * size, 2)
        rows.append(
            (crop_name(cost.crop, names), cost.bed, f"1 {unit}" if size == 1 else unit, energy, price)
        )
    shown = [(*row[:4], text.money(row[4])) for row in rows]
    headers = ("crop", "bed", "for", "kWh", f"cost {currency or ''}".strip())
    return text.table(headers, shown, "lllrr") if shown else ""


def when(forecast: Forecast, names: Mapping[str, str]) -> str:
    """Return the forecast of one sowing with 80 % ranges in brackets."""
    name = crop_name(forecast.crop, names)
    where = f"{forecast.bed}, after {forecast.nursery}" if forecast.nursery else forecast.bed
    rows = [
        ("sown", text.day_year(forecast.sown)),
        ("up", text.middle_days(forecast.emergence)),
        ("move", text.day(forecast.transplant) if forecast.transplant else "none: it stays where it is sown"),
        ("ready", f"{text.middle_days(forecast.ready)}, cut by {text.day(forecast.ready_until)}"),
        ("a plant", text.middle_range(forecast.g_per_plant, "g")),
        ("a site", text.middle_range(forecast.g_per_site, "g")),
    ]
    facts = "\n".join(text.wrap(fact, first=f"  {key:<8} ", later=" " * 11) for key, fact in rows)
    cuts = [
        (
            str(cut.cut),
            text.day(cut.ready.middle),
            text.range_days(cut.ready),
            text.grams(cut.g_per_plant.middle),
            text.amount_range(cut.g_per_plant.low, cut.g_per_plant.high, "g"),
        )
        for cut in forecast.cuts
    ]
    headers = ("cut", "ready", "likely between", "g a plant", "likely between")
    note = "In brackets: the range that should hold in four cases of five."
    return (
        f"{text.wrap(f'{name} in {where}')}\n{facts}\n{note}\n"
        + text.section("Cuts", text.table(headers, cuts, "rllrr") if len(cuts) > 1 else "")
        + text.section("Watch out", text.bullets(forecast.warnings))
        + text.section("Taken for granted", assumptions(forecast.assumptions))
    )


def written(folder: str, files: Sequence[str]) -> str:
    """Return the folder and names of the files written."""
    return text.section(
        f"Written to {text.clean(folder)}", text.wrap(", ".join(files), first="  ", later="  ")
    )
