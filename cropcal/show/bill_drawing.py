"""The shapes of the bill picture: kWh a month as bars, split by what uses them, the money beside."""

from collections.abc import Sequence

from cropcal.records.plan import BillLine, Plan
from cropcal.show import text
from cropcal.show.shapes import SWATCH, Drawing, Shape, Words, tiles
from cropcal.show.wording import period_of

WIDTH = 8.5
LEFT, LONGEST = 1.6, 4.5
ROW, THICK = 0.36, 0.26
TOP = 0.7
COLUMNS, COLUMN, LINE = 3, 2.3, 0.2


def drawing(result: Plan) -> Drawing:
    """Return everything to draw."""
    months: dict[str, list[BillLine]] = {}
    for line in sorted(result.bill, key=lambda line: line.month):
        months.setdefault(line.month, []).append(line)
    users = list(dict.fromkeys(line.what for line in result.bill if line.kwh > 0))
    most = max((_kwh(lines) for lines in months.values()), default=0.0) or 1.0
    shapes: list[Shape] = [Words(0.25, 0.34, f"{text.clip(result.place, 36)}: power by month", 13, bold=True)]
    for number, (month, lines) in enumerate(months.items()):
        said = text.month(month, period_of(result))
        shapes += _row(TOP + number * ROW, said, lines, users, most, result.currency)
    bottom = TOP + ROW * max(len(months), 1)
    if not months:
        shapes.append(Words(0.25, TOP + 0.2, "Nothing here draws power", 10))
    for number, user in enumerate(users):
        x, y = LEFT + number % COLUMNS * COLUMN, bottom + 0.2 + LINE * (number // COLUMNS)
        shapes += tiles(((x, x + SWATCH, y - 0.12, y + 0.02),), number)
        shapes.append(Words(x + 0.34, y, text.clip(user, 26), 8))
    return Drawing(WIDTH, bottom + 0.35 + LINE * -(-len(users) // COLUMNS), tuple(shapes))


def _row(
    y: float, month: str, lines: Sequence[BillLine], users: Sequence[str], most: float, currency: str | None
) -> list[Shape]:
    shapes: list[Shape] = [Words(0.25, y + THICK / 2, month, 9, rise="center")]
    x = LEFT
    for number, user in enumerate(users):
        long = _kwh([line for line in lines if line.what == user]) / most * LONGEST
        if long > 0:
            shapes += tiles(((x, x + long, y, y + THICK),), number)
        x += long
    costs = [line.cost for line in lines if line.cost is not None]
    money = f", {text.money(sum(costs), currency)}" if costs else ""
    said = f"{text.kwh(_kwh(lines))} kWh{money}"
    return [*shapes, Words(x + 0.08, y + THICK / 2, said, 8.5, rise="center")]


def _kwh(lines: Sequence[BillLine]) -> float:
    return sum(line.kwh for line in lines)
