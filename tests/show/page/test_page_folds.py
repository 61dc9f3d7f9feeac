"""The page's first screens: what to do, what to eat, warnings; the rest is folded, with a line on each."""

import re
from dataclasses import replace

import pytest

from cropcal.show.page.report import report_html

FOLDED = ["light", "hours", "water", "cost", "calendar", "sources", "words"]


@pytest.fixture(scope="module")
def facts(page_facts, page_spaces):
    return page_facts(page_spaces.SPACES["6 sites"])


@pytest.fixture(scope="module")
def page(facts):
    return report_html(facts)


def test_what_is_not_needed_first_is_folded_with_a_line_on_what_is_in_it(page):
    """What to do, what to eat and the cautions are open; all other parts are folded."""
    parts = dict(
        re.findall(
            r'<section id="([a-z]+)" class="part"[^>]*>\n<details>\n<summary>.*?class="brief">(.*?)</span>',
            page,
        )
    )
    assert [*parts] == FOLDED
    assert "in 1 bed" in parts["light"]
    assert parts["hours"] == "sill 16 h"
    assert re.fullmatch(r"About \d+ EUR in all \(\d+-\d+\), \d+ kWh", parts["cost"])
    assert re.fullmatch(r"\d+ batche?s? of 1 crop in 1 bed, week by week", parts["calendar"])
    for part in ("next", "eat", "care"):
        assert re.search(rf'<section id="{part}"[^>]*>\n<div class="side">', page)


def test_many_warnings_are_folded_after_the_gravest(facts):
    """Five are shown, the others are counted and folded: none is left out."""
    warnings = tuple(f"warning number {n}" for n in range(1, 9))
    page = report_html(replace(facts, plan=facts.plan.model_copy(update={"warnings": warnings})))
    shown, folded = re.search(r"<h3>Watch out</h3>(.*?)<details>(.*?)</details>", page, re.DOTALL).groups()
    assert re.findall(r"number (\d)", shown) == ["1", "2", "3", "4", "5"]
    assert "3 more to watch" in folded
    assert re.findall(r"number (\d)", folded) == ["6", "7", "8"]


def test_every_cell_of_a_stacked_table_has_its_label(page):
    """Where rows are stacked on a phone, each cell says what it is, as the head of its column does."""
    tables = re.findall(r'<table class="[^"]*stack[^"]*">(.*?)</table>', page, re.DOTALL)
    assert tables
    for table in tables:
        heads = re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", re.search("<thead>(.*?)</thead>", table).group(1))
        rows = re.findall(r"<tr>(.*?)</tr>", table[table.index("<tbody>") :], re.DOTALL)
        assert rows
        for row in rows:
            assert re.findall(r'<td data-label="([^"]*)"', row) == heads[1:]
