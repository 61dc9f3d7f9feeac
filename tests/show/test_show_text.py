"""Plain text: widths, tables, numbers and dates."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropcal.records.forecast import Days80, Range80
from cropcal.show import text

WORDS = st.text(st.characters(codec="utf-8", exclude_categories=("Cs",)), max_size=120)


@pytest.mark.parametrize(
    ("said", "columns"),
    [("basil", 5), ("", 0), ("e\u0301te", 3), ("白菜", 4), ("🌱 cress", 8), ("½ µmol", 6)],
)
def test_width_counts_columns_of_the_terminal(said, columns):
    """Wide signs take two columns and combining ones none (Unicode Standard Annex 11, classes W and F)."""
    assert text.display_width(said) == columns


@given(said=WORDS, width=st.integers(1, 60))
def test_a_shortened_text_fits(said, width):
    """A text is never wider than asked, and one that fits is left alone."""
    short = text.clip(said, width)
    assert text.display_width(short) <= width
    if text.display_width(said) <= width:
        assert short == said
    else:
        assert short.endswith("…")


@given(said=WORDS, width=st.integers(10, 90))
def test_wrapping_keeps_every_word_within_the_width(said, width):
    """Wrapped text says the same, within the width."""
    lines = text.wrap(said, width, "- ", "  ").split("\n")
    assert all(text.display_width(line) <= width for line in lines)
    assert "".join("".join(lines).removeprefix("- ").split()) == "".join(text.clean(said).split()) or (
        lines == ["-"]
    )


def test_clean_takes_out_what_could_steer_a_terminal():
    """A bed's name can't change colours, move the cursor or turn the reading direction."""
    assert text.clean("a\x1b[31mb\r\nc\u202ed") == "a [31mb  c d"


def test_a_table_lines_numbers_up_on_the_right():
    """Texts stand left, numbers right, with one rule under the headers."""
    assert text.table(("bed", "kWh"), [("plank", "7"), ("tub", "120")], "lr") == (
        "bed    kWh\n----------\nplank    7\ntub    120"
    )


def test_a_table_shortens_text_but_no_number():
    """Where there is no room the widest text gives way."""
    shown = text.table(("name", "value"), [("a very long name of a bed", "123456.78")], "lr", width=22)
    assert shown.split("\n")[-1] == "a very lon…  123456.78"


def test_a_table_can_wrap_a_text():
    """A column that wraps goes on in the next line, beside nothing."""
    shown = text.table(("why", "n"), [("too dark in the far corner", "3")], "wr", width=16)
    assert shown.split("\n")[2:] == ["too dark in    3", "the far", "corner"]


@given(
    rows=st.lists(
        st.tuples(
            WORDS, WORDS, st.integers(-(10**6), 10**6).map(str), st.floats(0, 9999).map("{:.1f}".format)
        ),
        max_size=6,
    )
)
def test_any_table_fits_the_terminal_and_keeps_its_numbers(rows):
    """Whatever people call things, a table stays within 80 columns and shows every number whole."""
    shown = text.table(("name", "why", "n", "x"), rows, "lwrr")
    assert all(text.display_width(line) <= 80 for line in shown.split("\n"))
    for row in rows:
        assert row[2] in shown
        assert row[3] in shown


@pytest.mark.parametrize(
    ("write", "value", "shown"),
    [
        (text.ppfd, 203.7, "204"),
        (text.dli, 11.52, "11.5"),
        (text.dli, -0.04, "0.0"),
        (text.kwh, 0.0, "0"),
        (text.kwh, 9.94, "9.9"),
        (text.kwh, 9.96, "10"),
        (text.kwh, 137.2, "137"),
        (text.money, 12.345678, "12.35"),
        (text.money, None, "-"),
        (text.grams, 137.4, "140"),
        (text.grams, 1234.0, "1200"),
        (text.grams, 9.96, "10"),
        (text.grams, 5.67, "5.7"),
        (text.grams, 0.0456, "0.046"),
        (text.grams, 0.0, "0"),
        (text.hours, 16.0, "16 h"),
        (text.hours, 14.5, "14.5 h"),
        (text.percent, 0.35, "35%"),
        (text.plain, 12.0, "12"),
        (text.plain, 0.1 + 0.2, "0.3"),
        (text.plain, 1234567.0, "1234567"),
        (text.plain, -0.0001, "0"),
    ],
)
def test_numbers_show_no_more_than_is_known(write, value, shown):
    """Each kind of number has its own precision."""
    assert write(value) == shown


def test_amounts_carry_their_unit():
    """One head is singular; grams are rounded; equal ends are one number."""
    assert text.amount(1.0, "heads") == "1 head"
    assert text.amount(2.4, "heads") == "2.4 heads"
    assert text.amount(137.0, "g") == "140 g"
    assert text.amount_range(118.0, 163.0, "g") == "120-160 g"
    assert text.amount_range(2.0, 2.0, "heads") == "2 heads"
    assert text.middle_range(Range80(low=118, middle=140, high=163), "g") == "140 g (120-160 g)"
    assert text.money(3.0, "EUR") == "3.00 EUR"


@pytest.mark.parametrize(
    ("first", "last", "shown"),
    [
        (date(2027, 3, 12), date(2027, 3, 19), "12-19 Mar"),
        (date(2027, 3, 28), date(2027, 4, 4), "28 Mar - 4 Apr"),
        (date(2027, 12, 28), date(2028, 1, 4), "28 Dec 2027 - 4 Jan 2028"),
        (date(2027, 3, 12), date(2027, 3, 12), "12 Mar"),
    ],
)
def test_a_range_of_days_is_short_but_clear(first, last, shown):
    """Month and year are said once where once is enough."""
    assert text.span(first, last) == shown
    assert text.range_days(Days80(low=first, middle=first, high=last)) == shown


def test_days_have_their_weekday():
    """3 March 2027 is a Wednesday (any printed calendar)."""
    assert text.day(date(2027, 3, 3)) == "Wed 3 Mar"
    assert text.day_year(date(2027, 3, 3)) == "Wed 3 Mar 2027"
    period = (date(2027, 3, 4), date(2027, 4, 30))
    assert text.month("2027-03", period) == "Mar 2027, from 4"
    assert text.month("2027-04", period) == "Apr 2027"
    assert text.month("2027-04", (date(2027, 4, 5), date(2027, 4, 9))) == "Apr 2027, from 5 to 9"
