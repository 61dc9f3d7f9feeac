"""Warnings of many beds: one line where the words are the same, one where only numbers differ."""

from cropcal.planning.growth.alike import grouped


def test_beds_with_the_same_words_share_a_line():
    rows = [("Basil", "a", "too dark"), ("Kale", "a", "too hot"), ("Basil", "b", "too dark")]
    assert grouped(rows) == ["Basil in a, b: too dark", "Kale in a: too hot"]


def test_seventy_beds_are_one_line_that_counts_them():
    """The first four are named, the others counted."""
    assert grouped([("", f"b{n}", "too dark") for n in range(70)]) == [
        "b0, b1, b2, b3 and 66 more beds: too dark"
    ]


def test_lines_that_differ_in_numbers_alone_are_merged_beyond_three():
    """Three stay as they are; of four and more the first stands for all, and says so."""
    rows = [("Kale", f"bed {name}", f"{n}.5 mol a day") for n, name in enumerate("wxyz", 3)]
    assert len(grouped(rows[:3])) == 3
    assert grouped(rows) == ["Kale in bed w and 3 more beds: 3.5 mol a day (numbers for bed w)"]
