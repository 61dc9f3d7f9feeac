"""Other values in a TOML text: the data are those asked for, and all else stays as the user wrote it."""

import copy
import tomllib
from pathlib import Path

import pytest
from depth import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.reading.text.toml_edit import CannotEditError, edited

SPACE = """\
# my space

[place]
name = "attic"   # under the roof

# the first zone
[[zone]]          # left
name = "a"
length_m = 1.0
lit = [
  ["06:00", "22:00"],   # long days
]
quiet = [{ hours = [["22:00", "06:00"]] }]

# the second zone
[[zone]]
name = "b"

[plan]
weeks = 20
prices.cell = 0.1
[tariff]
rate = []
"""


def changed(change):
    """Return the text with a change made to its data."""
    after = tomllib.loads(SPACE)
    change(after)
    return edited(SPACE, after)


def test_nothing_changes_nothing():
    assert edited(SPACE, tomllib.loads(SPACE)) == SPACE


def test_a_value_is_replaced_where_it_stands():
    text = changed(lambda data: data["place"].update(name="cellar"))
    assert text == SPACE.replace('"attic"', '"cellar"')


def test_a_new_key_comes_after_the_last_of_its_table():
    text = changed(lambda data: data["zone"][0].update(width_m=0.5))
    assert text == SPACE.replace('"06:00"]] }]\n', '"06:00"]] }]\nwidth_m = 0.5\n')
    text = changed(lambda data: data["plan"].update(sow="safe"))
    assert text == SPACE.replace("cell = 0.1\n", 'cell = 0.1\nsow = "safe"\n')


def test_a_key_is_taken_out_with_its_lines():
    text = changed(lambda data: data["zone"][0].pop("lit"))
    assert text == SPACE.replace('lit = [\n  ["06:00", "22:00"],   # long days\n]\n', "")


def test_an_inline_table_that_gains_a_key_is_written_anew():
    text = changed(lambda data: data["zone"][0]["quiet"][0].update(days=["mon"]))
    assert '# left\nname = "a"' in text
    assert tomllib.loads(text)["zone"][0]["quiet"][0]["days"] == ["mon"]


def test_tables_are_added_after_their_like_and_taken_out():
    text = changed(lambda data: data["zone"].append({"name": "c", "length_m": 2.0}))
    assert text == SPACE.replace('name = "b"\n', 'name = "b"\n\n[[zone]]\nname = "c"\nlength_m = 2.0\n')
    text = changed(lambda data: data["zone"].pop())
    assert text == SPACE.replace('[[zone]]\nname = "b"\n', "")
    text = changed(lambda data: data.update(bed=[{"name": "box", "zone": "a"}]))
    assert text == SPACE + '\n[[bed]]\nname = "box"\nzone = "a"\n'


def test_line_breaks_and_marks_of_other_systems_stay():
    text = "\ufeff" + SPACE.replace("\n", "\r\n")
    after = tomllib.loads(SPACE)
    after["plan"]["weeks"] = 8
    assert edited(text, after) == text.replace("weeks = 20", "weeks = 8")


def test_what_has_no_place_is_refused():
    after = tomllib.loads(SPACE)
    after["plan"]["prices"]["seed"] = 0.1
    with pytest.raises(CannotEditError, match=r"^$"):
        edited(SPACE, after)


VALUES = st.one_of(
    st.integers(0, 99), st.booleans(), st.floats(0, 9), st.text(max_size=9), st.lists(st.integers(0, 9))
)
SPACES = sorted(Path("examples").glob("*/space.toml"))


@settings(max_examples=examples(60))
@given(st.data())
def test_any_change_of_a_space_holds_and_no_comment_is_lost(data):
    """Keys put in, changed and taken out, tables added at the end and taken out, in the example files."""
    text = data.draw(st.sampled_from(SPACES)).read_text(encoding="utf-8")
    after = copy.deepcopy(tomllib.loads(text))
    cut = []
    for _ in range(data.draw(st.integers(1, 4))):
        name = data.draw(st.sampled_from(sorted(after)))
        rows = after[name] if isinstance(after[name], list) else [after[name]]
        row = data.draw(st.sampled_from(rows))
        step = data.draw(st.sampled_from(["put", "change", "take out", "add"]))
        if step == "put":
            row[data.draw(st.sampled_from(["one", "two", "3"]))] = data.draw(VALUES)
        elif step == "change" and row:
            key = data.draw(st.sampled_from(sorted(row)))
            if not (isinstance(row[key], list) and isinstance(row[key][0], dict)):
                row[key] = data.draw(VALUES)
        elif step == "take out" and row:
            cut.append(row.pop(data.draw(st.sampled_from(sorted(row)))))
        elif isinstance(after[name], list):
            after[name].append({"name": data.draw(st.text(max_size=9))})
    new = edited(text, after)
    assert tomllib.loads(new) == after
    kept = [line for line in text.splitlines() if line.startswith("#")]
    assert [line for line in new.splitlines() if line in kept] == kept
