"""Each key and element of a TOML text is found on its line, with its value as it was written."""

import tomllib

import pytest
from depth import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.reading.text.toml_locations import find_locations

NOISE = ["", '# a comment with = and [brackets] and "quotes"', "   ", "\t# '''"]
BARE_KEYS = ["a", "b-1", "C_2", "3", "true", "long_key_m"]
QUOTED_KEYS = ['"x y"', "'p.q'", '"= ["', '""', '"tab\\t"', "'#'"]
PLAIN_VALUES = [
    "1",
    "-0.5",
    "+1e3",
    "0xff",
    "1_000",
    "true",
    "inf",
    "2027-01-04",
    "2027-01-04 07:30:00",
    "07:30:00",
    '""',
    "''",
    '"a = [1, 2] # no comment"',
    "'c:\\path'",
    '"quote \\" inside }"',
    '"""one line"""',
    '"""\nkey = 1\n[table]\n"quoted" \\"""\n"""',
    '"""ends in two""\\n"""""',
    "'''\nkey = [\n'' two\n'''",
    "'''ends in one''''",
]


class Writer:
    """Writes random TOML and records the line of each key."""

    def __init__(self, draw):
        self.draw = draw
        self.text = ""
        self.lines = {}

    def here(self) -> int:
        return self.text.count("\n") + 1

    def pick(self, choices):
        return self.draw(st.sampled_from(choices))

    def gap(self) -> str:
        return self.pick(["", " ", "  ", "\t"])

    def fresh_key(self, taken: set) -> str:
        key = self.pick([*BARE_KEYS, *QUOTED_KEYS])
        plain = self.plain(key)
        while plain in taken:
            key = key[0] + "z" + key[1:] if key[0] in "\"'" else key + "z"
            plain = self.plain(key)
        taken.add(plain)
        return key

    @staticmethod
    def plain(key: str) -> str:
        return next(iter(tomllib.loads(f"{key} = 1")))

    def value(self, path, depth: int, *, one_line: bool) -> None:
        sort = self.draw(st.integers(0, 5 if depth else 3))
        if sort <= 3:
            values = [value for value in PLAIN_VALUES if not (one_line and "\n" in value)]
            self.text += self.pick(values)
        elif sort == 4:
            self.array(path, depth - 1, one_line=one_line)
        else:
            self.inline_table(path, depth - 1)

    def array(self, path, depth: int, *, one_line: bool) -> None:
        breaks = [""] if one_line else ["", "\n", " # note ] , [\n  ", "\n\n"]
        self.text += "["
        count = self.draw(st.integers(0, 3))
        for place in range(count):
            self.text += self.pick(breaks) + self.gap()
            self.lines[*path, place] = self.here()
            self.value((*path, place), depth, one_line=one_line)
            self.text += self.gap() + self.pick(breaks)
            self.text += "," if place < count - 1 else self.pick(["", ","])
        self.text += self.pick(breaks) + "]"

    def inline_table(self, path, depth: int) -> None:
        self.text += "{" + self.gap()
        taken: set = set()
        count = self.draw(st.integers(0, 3))
        for place in range(count):
            self.pair(path, self.fresh_key(taken), depth, one_line=True)
            self.text += self.gap() + ("," + self.gap() if place < count - 1 else "")
        self.text += "}"

    def pair(self, path, key: str, depth: int, *, one_line: bool) -> None:
        inner = (*path, self.plain(key))
        self.lines[inner] = self.here()
        self.text += key
        if self.draw(st.integers(0, 4)) == 0:
            under = self.fresh_key(set())
            inner = (*inner, self.plain(under))
            self.lines[inner] = self.here()
            self.text += self.gap() + "." + self.gap() + under
        self.text += self.gap() + "=" + self.gap()
        self.value(inner, depth, one_line=one_line)

    def body(self, path, taken: set) -> None:
        for _ in range(self.draw(st.integers(0, 3))):
            self.text += self.pick(NOISE) + "\n" + self.pick(["", "  "])
            self.pair(path, self.fresh_key(taken), 2, one_line=False)
            self.text += self.pick(["\n", " # end\n"])

    def header(self, key: str, brackets: int) -> None:
        self.text += self.pick(["", " "]) + "[" * brackets + self.gap() + key + self.gap() + "]" * brackets
        self.text += self.pick(["\n", "  # ]]\n"])

    def document(self) -> str:
        taken: set = set()
        self.body((), taken)
        for _ in range(self.draw(st.integers(0, 3))):
            key = self.fresh_key(taken)
            path = (self.plain(key),)
            if self.draw(st.booleans()):
                self.lines[path] = self.here()
                self.header(key, 1)
                self.body(path, set())
                continue
            for place in range(self.draw(st.integers(1, 3))):
                self.lines.setdefault(path, self.here())
                self.lines[*path, place] = self.here()
                self.header(key, 2)
                inside: set = set()
                self.body((*path, place), inside)
                if self.draw(st.booleans()):
                    under = self.fresh_key(inside)
                    below = (*path, place, self.plain(under))
                    self.lines[below] = self.here()
                    self.header(f"{key}{self.gap()}.{self.gap()}{under}", 1)
                    self.body(below, set())
        return self.text


@st.composite
def documents(draw):
    writer = Writer(draw)
    return writer.document(), writer.lines


def paths_of(value, path=()):
    """Yield the path of everything inside a parsed document, with its value."""
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, one in inside:
        yield (*path, key), one
        yield from paths_of(one, (*path, key))


def same(one, other) -> bool:
    return repr(one) == repr(other)


@settings(max_examples=examples(150))
@given(documents())
def test_every_key_and_element_is_found_on_its_line(case):
    """The walk finds what tomllib finds, where the writer of the text put it."""
    text, lines = case
    data = tomllib.loads(text)
    spots = find_locations(text)
    assert {path for path, _ in paths_of(data)} == set(spots)
    assert {path: spot.line for path, spot in spots.items()} == lines


@settings(max_examples=examples(80))
@given(documents())
def test_every_value_is_kept_as_written(case):
    """What is shown to the user as found is a piece of the text that means the value."""
    text, _ = case
    spots = find_locations(text)
    for path, value in paths_of(tomllib.loads(text)):
        written = spots[path].text
        assert written in text
        if written and not written.startswith("[") and not isinstance(value, dict):
            assert same(tomllib.loads(f"x = {written}")["x"], value)


@settings(max_examples=examples(30))
@given(documents())
def test_line_ends_of_windows_change_nothing(case):
    """CRLF counts as one line end."""
    text, lines = case
    spots = find_locations(text.replace("\n", "\r\n"))
    assert {path: spot.line for path, spot in spots.items()} == lines


def test_a_text_counted_by_hand():
    """Tables, arrays over several lines and inline tables stand where an editor shows them."""
    text = """\
# first line
top.inner = 1

[[zone]]
name = "a"
lit = [
  ["05:00", "06:00"],   # line 7

  ["07:00",
   "08:00"]]
[[zone]]
quiet = [{ hours = [["1:00", "2:00"]] }, {}]
[tariff]
[[tariff.rate]]
[[tariff.rate]]
per_kwh = 0.30
"""
    spots = find_locations(text)
    expected = {
        ("top",): 2,
        ("top", "inner"): 2,
        ("zone",): 4,
        ("zone", 0): 4,
        ("zone", 0, "lit"): 6,
        ("zone", 0, "lit", 0): 7,
        ("zone", 0, "lit", 1): 9,
        ("zone", 0, "lit", 1, 1): 10,
        ("zone", 1): 11,
        ("zone", 1, "quiet", 0, "hours", 0, 1): 12,
        ("zone", 1, "quiet", 1): 12,
        ("tariff",): 13,
        ("tariff", "rate"): 14,
        ("tariff", "rate", 0): 14,
        ("tariff", "rate", 1): 15,
        ("tariff", "rate", 1, "per_kwh"): 16,
    }
    assert {path: spots[path].line for path in expected} == expected
    assert spots["tariff", "rate", 1, "per_kwh"].text == "0.30"
    assert spots["zone", 0, "lit", 1].text == '["07:00",\n   "08:00"]'


@pytest.mark.parametrize("text", ["", "\n\n", "# only a comment", "a = 1"])
def test_short_texts(text):
    """Nothing, blank lines, a comment without a line end, a value at the very end."""
    assert set(find_locations(text)) == {path for path, _ in paths_of(tomllib.loads(text))}
