"""The shapes of the bill picture: kWh a month as bars, split by user of power, with the cost beside."""

from collections.abc import Mapping, Sequence

from cropcal.records.plan import BillLine, SeasonPlan
from cropcal.records.tariff import PowerRange
from cropcal.show import text
from cropcal.show.pictures.shapes import (
    INK,
    SWATCH,
    Drawing,
    Shape,
    Strokes,
    TextLine,
    tiles,
)
from cropcal.show.wording import cost_range, kwh_range, period_of

WIDTH = 8.5
LEFT, LONGEST = 1.6, 4.1
ROW, THICK = 0.36, 0.26
TOP = 0.7
COLUMNS, COLUMN, LINE = 3, 2.3, 0.2


def drawing(result: SeasonPlan) -> Drawing:
    """Return everything to draw."""
    months: dict[str, list[BillLine]] = {}
    for line in sorted(result.bill, key=lambda line: line.month):
        months.setdefault(line.month, []).append(line)
    many_zones = len({line.zone for line in result.bill if line.zone}) > 1
    named = {line: _user(line, many_zones=many_zones) for line in result.bill if line.kwh > 0}
    users = list(dict.fromkeys(named.values()))
    ranges = result.bill_range.months if result.bill_range else {}
    ends = [of.kwh_high_80 for of in ranges.values()]
    most = max([*(_kwh(lines) for lines in months.values()), *ends], default=0.0) or 1.0
    shapes: list[Shape] = [
        TextLine(0.25, 0.34, f"{text.clip(result.place, 36)}: power by month", 13, bold=True)
    ]
    if ranges:
        shapes.append(TextLine(0.25, 0.56, "line, brackets: the range in four cases out of five", 8))
    for number, (month, lines) in enumerate(months.items()):
        label = text.month(month, period_of(result))
        used = {user: sum(line.kwh for line in lines if named.get(line) == user) for user in users}
        of = ranges.get(month)
        shapes += _row(TOP + number * ROW, label, used, most, _totals(lines, result.currency, of), of)
    bottom = TOP + ROW * max(len(months), 1)
    if len(months) > 1:
        shapes.append(TextLine(0.25, bottom + THICK / 2, "in all", 9, rise="center", bold=True))
        in_all = result.bill_range.in_all if result.bill_range else None
        label = _totals(result.bill, result.currency, in_all)
        shapes.append(TextLine(LEFT + 0.08, bottom + THICK / 2, label, 8.5, rise="center", bold=True))
        bottom += ROW
    if not months:
        shapes.append(TextLine(0.25, TOP + 0.2, "Nothing here draws power", 10))
    for number, user in enumerate(users):
        x, y = LEFT + number % COLUMNS * COLUMN, bottom + 0.2 + LINE * (number // COLUMNS)
        shapes += tiles(((x, x + SWATCH, y - 0.12, y + 0.02),), number)
        shapes.append(TextLine(x + 0.34, y, text.clip(user, 26), 8))
    return Drawing(WIDTH, bottom + 0.35 + LINE * -(-len(users) // COLUMNS), tuple(shapes))


def _user(line: BillLine, *, many_zones: bool) -> str:
    return f"{line.what}, {line.zone}" if many_zones and line.zone else line.what


def _row(
    y: float, month: str, used: Mapping[str, float], most: float, totals: str, of: PowerRange | None
) -> list[Shape]:
    """Return a bar with its range in four cases of five as a line over its end, and what it comes to."""
    shapes: list[Shape] = [TextLine(0.25, y + THICK / 2, month, 9, rise="center")]
    x = LEFT
    for number, kwh in enumerate(used.values()):
        long = kwh / most * LONGEST
        if long > 0:
            shapes += tiles(((x, x + long, y, y + THICK),), number)
        x += long
    if of is not None:
        low, high = (LEFT + end / most * LONGEST for end in (of.kwh_low_80, of.kwh_high_80))
        middle = y + THICK / 2
        whiskers = (((low, middle), (high, middle)), *(((end, y), (end, y + THICK)) for end in (low, high)))
        shapes.append(Strokes(whiskers, INK, 1.2, 3))
        x = max(x, high)
    return [*shapes, TextLine(x + 0.08, y + THICK / 2, totals, 8.5, rise="center")]


def _totals(lines: Sequence[BillLine], currency: str | None, of: PowerRange | None) -> str:
    """Return kWh and cost, with the range of the cost, or of the kWh where there is no tariff."""
    costs = [line.cost for line in lines if line.cost is not None]
    between = cost_range(of) if costs else kwh_range(of)
    paid = f", {text.money(sum(costs), currency)}" if costs else ""
    return f"{text.kwh(_kwh(lines))} kWh{paid}" + (f" ({between})" if between else "")


def _kwh(lines: Sequence[BillLine]) -> float:
    return sum(line.kwh for line in lines)
