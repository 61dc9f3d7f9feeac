"""What is too long for a short screen ends after a clause; small shortfalls and times are not shouted."""

from datetime import date

import pytest

from cropcal.records.hazard import Caution
from cropcal.records.plan import Supply
from cropcal.show.care_words import titles
from cropcal.show.glance.fitting import sentence
from cropcal.show.page.eat import _state
from cropcal.show.terminal.chances import _minutes


def test_a_long_sentence_ends_after_a_clause():
    """Not in the middle of one; where the first clause alone is longer than the room, it is cut there."""
    first = "The lamp is on from six in the morning to ten at night, for sixteen hours"
    assert sentence(f"{first}; what comes behind it has no room", 1) == f"{first} …"
    assert sentence("word " * 30, 1).endswith("…")
    assert sentence("short; enough", 1) == "short; enough"


@pytest.mark.parametrize(
    ("minutes", "words"), [(0.3, "under a minute"), (1.2, "about 1 minute"), (13.4, "about 13 minutes")]
)
def test_a_minute_is_one(minutes, words):
    assert _minutes(minutes) == words


@pytest.mark.parametrize(("short", "state"), [(0.0, "met"), (2.0, "nearly"), (3.1, "short")])
def test_under_one_part_in_twenty_is_no_alarm(short, state):
    amounts = {"wanted": 60, "ready": 60 - short, "short": short, "over": 0.0, "unit": "g"}
    row = Supply(want=0, label="basil", week=date(2027, 3, 1), counted=True, why="", **amounts)
    assert _state(row, set()) == state


def test_cautions_are_named_as_far_as_there_is_room():
    """Three, or fewer where the folder's name is long; the rest is counted, and nothing is cut."""
    cautions = [
        Caution(code=code, ask=()) for code in ("lamps at night", "weight of water", "solution", "mould")
    ]
    assert titles((), "cropcal care den") == ""
    assert titles(cautions[1:], "cropcal care den") == (
        "Take care: weight of the water, nutrients and acids, mould (cropcal care den)"
    )
    assert titles(cautions, "cropcal care the-cellar-below") == (
        "Take care: lamps on at night and 3 more (cropcal care the-cellar-below)"
    )
