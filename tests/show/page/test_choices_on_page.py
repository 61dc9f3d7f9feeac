"""The three choices on the page: a row each, on one axis, and no claim of a proof."""

import re
from dataclasses import replace

import pytest
from show_plans import NAMES, searched_plan, three_choices

from cropcal.show.page.choices import rows
from cropcal.show.page.report import report_html


@pytest.fixture(scope="module")
def page(page_facts, page_spaces):
    """Return a function from a plan's choices and search to its page."""
    facts = page_facts(page_spaces.SPACES["one site"])

    def made(**changes):
        outcome = facts.plan.outcome.model_copy(update={"status": "searched"})
        plan = facts.plan.model_copy(update={"outcome": outcome, **changes})
        return report_html(replace(facts, plan=plan))

    return made


def test_each_choice_has_a_row_and_that_of_the_plan_is_named(page):
    """What is sown, missed, not eaten and paid, and how to choose."""
    html = page(choices=three_choices())
    assert re.findall(r'<th scope="row">(\w+) <small>(\d+) cells or sites</small>', html) == [
        ("sparing", "9"), ("usual", "11"), ("safe", "15"),
    ]  # fmt: skip
    chosen = html.split("this plan</small>")
    assert len(chosen) == 2
    assert chosen[0].endswith('usual <small>11 cells or sites</small> <small class="mark-word">')
    assert "misses about 0.6, in four seasons out of five 0-1.4; 2.4 weeks&#39; worth not eaten" in html
    assert "plan --sow safe for once" in html


def test_without_choices_there_is_nothing_of_it(page):
    """No want with a number, or a plan that was not searched."""
    assert "How much to sow" not in page(choices=())


def test_a_searched_plan_claims_no_proof(page):
    """It says what is missed as forecast, and what the search gained."""
    html = page(searched=searched_plan().searched, expected=searched_plan().expected)
    assert "Suppose everything grows as forecast. This plan misses" in html
    assert "searching on would hardly help" in html
    for claim in ("proven", "of its score"):
        assert claim not in html


def test_the_time_of_the_search_changes_no_byte(page):
    """A page can be compared with another."""
    searched = searched_plan().searched
    later = searched.model_copy(update={"seconds": 99.0})
    assert page(searched=searched) == page(searched=later)


def test_all_choices_share_one_axis():
    """A dot lies inside its range, further right where more is missed; the axis begins at no week."""
    dots, lows, highs, ticks = [], [], [], []
    for row in rows(searched_plan(), NAMES):
        dots.append(float(re.search(r'cx="([\d.]+)%"', row.picture)[1]))
        low, high = re.search(r'x1="([\d.]+)%" y1="10" x2="([\d.]+)%"', row.picture).groups()
        lows.append(float(low))
        highs.append(float(high))
        ticks.append(re.findall(r'<text x="([\d.]+)%"[^>]*>([\d.]+)</text>', row.picture))
    assert dots == sorted(dots, reverse=True)
    assert all(low <= dot <= high <= 100 for low, dot, high in zip(lows, dots, highs, strict=True))
    assert ticks[0] == ticks[1] == ticks[2]
    assert ticks[0][0] == ("0", "0")
    per_week = {round(float(at) / float(value), 1) for at, value in ticks[0][1:]}
    assert len(per_week) == 1
    assert dots[1] / 1.24 == pytest.approx(per_week.pop(), abs=0.1)


@pytest.mark.parametrize("scale", [0.0, 0.01, 1.0, 40.0, 4000.0])
def test_any_number_of_weeks_has_an_axis_of_few_ticks(scale):
    """From none at all to very many."""
    for row in rows(searched_plan(choices=three_choices("usual", scale)), NAMES):
        assert 1 <= row.picture.count("<text") <= 6


def test_the_want_of_the_least_sure_week_is_named():
    """By its crops' names; nothing where no week counts."""
    first, *_ = rows(searched_plan(), NAMES)
    assert (first.want, first.least_sure) == ("Butterhead lettuce", "3 in 10, 12-18 Apr")
    bare = [
        choice.model_copy(update=dict.fromkeys(["least_sure", "least_sure_week", "least_sure_want"]))
        for choice in three_choices()
    ]
    first, *rest = rows(searched_plan(choices=(bare[0], *three_choices()[1:])), NAMES)
    assert (first.want, first.least_sure) == ("", "")
    assert all(row.least_sure for row in rest)
    assert rows(searched_plan(choices=tuple(bare)), NAMES) == ()
