"""report.html as text: one file, nothing fetched, nothing typed becomes markup, steady bytes."""

import base64
import hashlib
import json
import re
from dataclasses import replace
from html import unescape

import pytest
from depth import few_of

from cropcal.show.glossary import TERMS
from cropcal.show.page.report import json_in_html, report_html
from cropcal.show.page.svg import (
    Markup,
    element,
    joined,
    percent,
)

SPACE = """
[place]
name = "The {name} cupboard"
timezone = "Europe/Oslo"
[[zone]]
name = "{name}"
length_m = 0.9
width_m = 0.5
photoperiod_h = 15
air_c = 21
[[bed]]
name = "{name} box"
zone = "{name}"
rows = 2
columns = 3
x_m = 0.1
y_m = 0.1
length_m = 0.6
width_m = 0.3
[[fixture]]
zone = "{name}"
watts = 70
lamp_to_canopy_m = 0.3
[[load]]
name = "{name} pump"
watts = 6
always = true
[tariff]
currency = "NOK"
[[tariff.rate]]
per_kwh = 1.9
[plan]
start = 2027-02-01
weeks = 14
[[want]]
crops = ["lettuce-butterhead", "pak-choi"]
per_week = 1
unit = "heads"
"""


@pytest.fixture(scope="module")
def page(page_facts):
    return report_html(page_facts(SPACE.format(name="loft")))


def test_the_page_answers_in_the_order_in_which_a_person_asks(page):
    """First what to do, then what to eat, last the cautions and the words."""
    asked = re.findall(r'<section id="([a-z]+)"', page)
    order = ["next", "eat", "light", "hours", "water", "cost", "calendar", "sources", "care", "words"]
    assert asked == [part for part in order if part in asked]
    assert {"eat", "next", "light", "hours", "cost", "sources", "care", "words"} <= set(asked)
    assert "residual-current device" in page
    assert "do not look into them" in page
    assert "wash what you cut" in page


def test_nothing_is_fetched_and_only_its_own_script_and_style_run(page):
    """The policy names the hash of the one style and of the one script, and no address anywhere."""
    policy = re.search(r'Content-Security-Policy" content="([^"]+)"', page).group(1)
    policy = policy.replace("&#39;", "'")
    (style,) = re.findall(r"<style>(.*?)</style>", page, re.DOTALL)
    (script,) = re.findall(r"<script>(.*?)</script>", page, re.DOTALL)
    for name, content in (("style", style), ("script", script)):
        digest = base64.b64encode(hashlib.sha256(content.encode()).digest()).decode()
        assert f"{name}-src 'sha256-{digest}'" in policy
    assert policy.startswith("default-src 'none';")
    assert not re.search(r'(?:src|href)="(?!#)', page)
    assert "http:" not in page
    assert "https:" not in page
    assert not re.search(r"\son[a-z]+=", page)
    assert not re.search(r"\sstyle=", page)


def test_the_same_plan_gives_the_same_page(page_facts):
    """Nothing of the moment is in it, so that a page can be compared with another."""
    facts = page_facts(SPACE.format(name="loft"))
    outcome = facts.plan.outcome.model_copy(update={"seconds": 99.0})
    later = replace(facts, plan=facts.plan.model_copy(update={"outcome": outcome}))
    assert report_html(later) == report_html(facts)


@pytest.mark.parametrize(
    "name", few_of(["<script>alert(1)</script>", '=HYPERLINK(\\"x\\")', "A;B, C", "</title><b>"], 2)
)
def test_what_was_typed_never_becomes_markup(page_facts, page, name):
    """A name may hold anything; the page keeps the tags it has with a harmless one."""
    hostile = report_html(page_facts(SPACE.format(name=name)))

    def tags(text):
        return re.findall(r"<(/?[a-z]+[0-9]?)", re.sub(r"<svg.*?</svg>", "<svg>", text, flags=re.DOTALL))

    assert tags(hostile) == tags(page)
    assert "<script>alert" not in hostile


def test_each_week_has_its_chance(page_facts):
    """A chance that was worked out is drawn as high as it is, and said; without one nothing is said of it."""
    facts = page_facts(SPACE.format(name="loft"))
    week = next(row for row in facts.plan.supply if row.counted and row.wanted > 0 and row.short <= 0)

    def with_chance(chance):
        rows = [
            row.model_copy(update={"chance": chance if row == week else None}) for row in facts.plan.supply
        ]
        return report_html(replace(facts, plan=facts.plan.model_copy(update={"supply": tuple(rows)})))

    said = with_chance(0.7)
    assert "riskiest week: about 7 in 10" in said
    assert 'height="14" class="chance"' in said  # 0.7 of a box of 20
    assert "chance that the week is met" not in with_chance(None)


def test_json_cannot_end_its_script():
    """What closes a script or starts a comment is written as an escape, and read back the same."""
    value = {"name": "</script><!--<script>&\u2028"}
    written = json_in_html(value)
    assert not set("<>&\u2028") & set(written)
    assert json.loads(written) == value


def test_an_element_escapes_text_and_attributes():
    """Plain text is escaped once, markup not again."""
    inner = element("b", "a < b & c")
    assert inner == "<b>a &lt; b &amp; c</b>"
    outer = element("g", inner, "<i>", class_='x"y', aria_label="é", x=1.5, hidden=None, open=True)
    assert outer == '<g class="x&quot;y" aria-label="é" x="1.5" open><b>a &lt; b &amp; c</b>&lt;i&gt;</g>'
    assert isinstance(joined("<", Markup("<br>")), Markup)
    assert joined("<", Markup("<br>")) == "&lt;<br>"
    assert percent(1 / 3) == "33.33%"


def test_the_glossary_is_folded_at_the_end_of_the_page(page):
    """The page explains the same words as ``cropcal explain``, below all else."""
    [words] = re.findall(r'<section id="words".*?</section>', page, re.DOTALL)
    assert page.rindex("<section") == page.index(words)
    assert "<details>" in words
    assert "<details open" not in words
    shown = re.findall(r"<dt>(.*?)</dt><dd>(.*?)</dd>", words, re.DOTALL)
    assert [(word, unescape(meaning)) for word, meaning in shown] == [
        (term.word, term.meaning) for term in TERMS
    ]
