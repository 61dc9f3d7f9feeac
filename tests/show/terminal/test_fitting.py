"""Blocks fitted into the lines of a terminal."""

from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.show.glance.fitting import ScreenPart, fitted

WORDS = st.sampled_from(["a", "b\nb", "c\nc\nc"])
BLOCKS = st.lists(
    st.builds(ScreenPart, st.lists(WORDS, max_size=9).map(tuple), st.sampled_from(["", "title"])), max_size=5
)


@given(BLOCKS, st.integers(6, 40))
@settings(max_examples=60)
def test_they_fit(blocks, lines):
    """Whatever there is takes no more lines than there are, and what fits is shown whole."""
    shown = fitted(blocks, lines)
    assert shown.count("\n") <= lines
    whole = fitted(blocks, 1000)
    if whole.count("\n") <= lines:
        assert shown == whole


def test_what_is_left_out_is_counted():
    """The longest block loses its last rows, and says how many."""
    blocks = [ScreenPart(("x",), "short"), ScreenPart(tuple("abcdefgh"), "long", " rows", unlisted=2)]
    assert fitted(blocks, 8) == "short\nx\n\nlong\na\nb\nc\n  and 7 more rows\n"
