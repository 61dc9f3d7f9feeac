"""``cropcal explain``, and the glossary that it shares with the page."""

import re

import pytest

from cropcal.show import glossary
from tests.support.in_process import cropcal

LONGEST = 260
"""Letters of the longest explanation: two plain sentences."""


@pytest.mark.parametrize(
    ("words", "first"),
    [
        (("DLI",), "DLI: Daily light integral"),
        (("dli",), "DLI: "),
        (("cells",), "cell: A small place for one seedling"),
        (("batches",), "batch: Plants of one crop"),
        (("umol",), "µmol: "),
        (("μmol",), "µmol: "),
        (("umol/m2/s",), "PPFD: "),
        (("weekly", "targets"), "weekly target: One want in one week"),
        (("photoperiod_h",), "photoperiod: "),
        (("work-day",), "work day: "),
        (("safe",), "sow: "),
    ],
)
def test_a_word_is_explained(words, first):
    done = cropcal("explain", *words)
    assert done.returncode == 0
    assert done.stdout.startswith(first)
    assert all(len(line) <= 80 for line in done.stdout.splitlines())


def test_an_unknown_word_is_answered_with_the_nearest():
    done = cropcal("explain", "sucession")
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.startswith(
        'WORD: found "sucession", expected a word of the glossary, did you mean "succession"'
    )


def test_a_word_like_no_other_is_pointed_to_the_list():
    done = cropcal("explain", "xylophone")
    assert done.returncode == 2
    assert "cropcal explain lists them all" in done.stderr


def test_without_a_word_all_are_listed():
    done = cropcal("explain")
    assert done.returncode == 0
    listed = " ".join(done.stdout.split())
    assert all(word in listed for word in glossary.WORDS)
    assert "cropcal explain DLI" in listed


def test_words_are_in_order_and_each_is_said_in_two_or_three_sentences():
    assert list(glossary.WORDS) == sorted(glossary.WORDS, key=str.casefold)
    assert len({*glossary.WORDS}) == len(glossary.WORDS)
    for term in glossary.TERMS:
        assert len(term.meaning) <= LONGEST, term.word
        assert 1 <= len(re.findall(r"[.](?: |$)", term.meaning)) <= 3, term.word


def test_each_other_name_leads_to_one_word():
    names = [name.casefold() for term in glossary.TERMS for name in (term.word, *term.also)]
    assert len(names) == len({*names})
    for term in glossary.TERMS:
        for name in (term.word, *term.also):
            assert glossary.explained(name) is term, name
