"""The bill on the page: its range beside each month, and noted bills with likely causes."""

from datetime import date

from cropcal.records.tariff import BillRange, NotedBill, PowerRange
from cropcal.show.page import bill as page_bill
from cropcal.show.pictures import bill as bill_drawing
from cropcal.show.pictures.shapes import Strokes, TextLine

MONTH = PowerRange(
    kwh=47.0, kwh_low_80=42.2, kwh_high_80=55.1, cost=20.82, cost_low_80=18.7, cost_high_80=24.4
)
BOTH = PowerRange(
    kwh=84.0, kwh_low_80=76.0, kwh_high_80=98.0, cost=37.42, cost_low_80=34.0, cost_high_80=43.9
)
RANGE = BillRange(months={"2027-03": MONTH, "2027-04": MONTH}, in_all=BOTH, a_month=MONTH)
NOTED = NotedBill(
    id="bcdfg",
    first=date(2027, 3, 1),
    last=date(2027, 3, 31),
    amount=31.5,
    kwh=None,
    computed=MONTH,
    cost_low=18.7,
    cost_high=24.4,
    causes=("the timer of shelf: its lamp on 20.0 h a day in place of 14 h",),
)


def test_each_month_has_its_range_and_a_line_over_its_bar(small_plan):
    rows = page_bill.month_rows(small_plan.model_copy(update={"bill_range": RANGE}))
    assert [(row.kwh_range, row.cost_range) for row in rows] == [
        ("42-55", "19-24"),
        ("42-55", "19-24"),
        ("76-98", "34-44"),
    ]
    assert rows[0].picture.count("<line") == 3
    assert page_bill.month_rows(small_plan)[0].cost_range == ""
    assert "<line" not in page_bill.month_rows(small_plan)[0].picture


def test_a_noted_bill_has_its_causes_beside_it(small_plan):
    (row,) = page_bill.noted_rows(small_plan.model_copy(update={"noted_bills": (NOTED,)}))
    words = "Mar 2027: 31.50 EUR on the bill; 20.82 EUR computed (19-24), the bill is 10.68 EUR higher."
    assert row.words == words
    assert row.causes == NOTED.causes


def test_the_picture_draws_the_range_within_its_width(small_plan):
    drawing = bill_drawing.drawing(small_plan.model_copy(update={"bill_range": RANGE}))
    lines = [shape for shape in drawing.shapes if isinstance(shape, Strokes)]
    assert len(lines) == 2
    assert all(0 < x < drawing.width for shape in lines for pair in shape.lines for x, _ in pair)
    said = [shape.text for shape in drawing.shapes if isinstance(shape, TextLine)]
    assert "47 kWh, 20.82 EUR (19-24)" in said
    assert "84 kWh, 37.42 EUR (34-44)" in said
