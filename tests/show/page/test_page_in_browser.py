"""report.html in a real Chromium: it runs quietly, works by keyboard and on a phone, is read and printed."""

import base64
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from depth import few_of

WIDTHS = [360, 1400]
NAMES = [
    "eight sites",
    "hostile names",
    "empty",
    "one site",
    "sixty sites",
    "right to left and emoji",
    "long names",
]
A4_WIDTH_PX = round((210 - 24) / 25.4 * 96)
"""Width of the text on A4 with margins of 12 mm at 96 px an inch (CSS Values and Units Level 3, 5.2)."""


PARTS_OPEN = "document.querySelectorAll('.part > details').forEach(one => { one.open = true; })"


def unfold(browser):
    browser.execute_script("document.querySelectorAll('details').forEach(one => { one.open = true; })")


@pytest.mark.parametrize("name", few_of(NAMES, 3))
def test_it_runs_without_a_word_and_asks_nobody(opened, pages, name):
    """The console has no error or warning, and only the file itself is requested."""
    browser = opened(name)
    unfold(browser)
    assert browser.get_log("browser") == []
    asked = [
        message["params"]["request"]["url"]
        for entry in browser.get_log("performance")
        if (message := json.loads(entry["message"])["message"])["method"] == "Network.requestWillBeSent"
    ]
    assert asked == [pages(name).as_uri()]
    assert browser.execute_script("return performance.getEntriesByType('resource').length") == 0


def test_the_policy_stops_what_is_not_of_the_page(opened):
    """A script, a style, a picture from elsewhere or a handler put in later is blocked and reported."""
    browser = opened("hostile names")
    browser.execute_script(
        "const add = (tag, text) => { const one = document.createElement(tag); one.textContent = text;"
        " document.body.append(one); };"
        "add('script', 'window.ran = true'); add('style', 'body { font-size: 3px !important }');"
        "document.body.insertAdjacentHTML('beforeend', '<img src=x.png onerror=\"window.ran = true\">');"
    )
    assert browser.execute_script("return window.ran === undefined")
    assert browser.execute_script("return getComputedStyle(document.body).fontSize") != "3px"
    told = [entry["message"] for entry in browser.get_log("browser")]
    assert sum("Content Security Policy" in message for message in told) >= 3


def test_hostile_names_are_only_read(opened, page_spaces):
    """What looks like markup, a formula or a list is shown as it was typed, on one line."""
    browser = opened("hostile names")
    heading = browser.execute_script("return document.querySelector('h1').textContent")
    assert heading == "<script>alert(1)</script>"
    assert browser.execute_script("return document.scripts.length") == 2
    seen = browser.execute_script("return document.body.textContent")
    assert '=HYPERLINK("x")' in seen
    assert "A;B, C" in seen
    assert page_spaces.HOSTILE[3] in seen


@pytest.mark.parametrize(("name", "width"), few_of([(name, width) for name in NAMES for width in WIDTHS], 3))
def test_the_page_never_scrolls_sideways(opened, name, width):
    """On a phone as on a desk only boxes within it scroll from side to side, with everything unfolded."""
    browser = opened(name, width)
    unfold(browser)
    assert browser.execute_script("return document.documentElement.scrollWidth") <= width
    beyond = browser.execute_script(
        "return [...document.querySelectorAll('body *')]"
        ".filter(one => !one.closest('.scroll, .chart, .skip, svg')"
        " && one.getBoundingClientRect().right > innerWidth + 1).map(one => one.outerHTML.slice(0, 90))"
    )
    assert beyond == []


CUT = """
const wide = document.documentElement.clientWidth;
const found = [];
for (const one of document.querySelectorAll('body *')) {
  const box = one.getBoundingClientRect();
  if (!box.width || !box.height || one.closest('.window, .skip')) continue;
  if (box.right > wide + 1 || box.left < -1) found.push(['beyond', one.outerHTML.slice(0, 120), box.right]);
  if (one instanceof HTMLElement) {
    const style = getComputedStyle(one);
    const cut = (style.overflowX !== 'visible' && one.scrollWidth > one.clientWidth)
      || (style.overflowY !== 'visible' && one.scrollHeight > one.clientHeight);
    if (cut) found.push(['cut', one.outerHTML.slice(0, 120)]);
  }
}
for (const window of document.querySelectorAll('.piece .window')) {
  const edge = window.getBoundingClientRect();
  for (const text of window.querySelectorAll('text')) {
    const box = text.getBoundingClientRect();
    if (box.right > edge.right + 1 || box.left < edge.left - 1) found.push(['word', text.textContent]);
  }
}
return found;
"""


@pytest.mark.parametrize("name", few_of(NAMES, 3))
def test_nothing_is_cut_on_paper(opened, name):
    """As wide as A4 lets it be, no text runs out of its box or off the sheet, with everything unfolded."""
    browser = opened(name, A4_WIDTH_PX, media="print")
    unfold(browser)
    assert browser.execute_script(CUT) == []


@pytest.mark.deep
def test_the_calendar_goes_onto_sheets(opened):
    """A year of sixty sites prints in pieces none of which is taller than a sheet; its bars are in them."""
    browser = opened("sixty sites", A4_WIDTH_PX, media="print")
    sheet_px = (297 - 26) / 25.4 * 96
    heights = browser.execute_script(
        "return [...document.querySelectorAll('.paper figure')]"
        ".map(one => one.getBoundingClientRect().height)"
    )
    assert len(heights) >= 4
    assert 0 < max(heights) < sheet_px
    assert (
        browser.execute_script("return getComputedStyle(document.getElementById('chart')).display") == "none"
    )
    named = browser.execute_script(
        "return [...document.querySelectorAll('.piece .on-bar')].map(one => one.textContent)"
    )
    assert "A Watercress" in named or any("Butterhead" in one for one in named)


def test_the_page_prints(opened):
    """A page of eight sites makes two or three sheets as it opens, a handful with its parts unfolded."""
    browser = opened("eight sites")

    def sheets():
        printed = browser.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
        paper = base64.b64decode(printed["data"])
        assert paper.startswith(b"%PDF")
        return len(re.findall(rb"/Type\s*/Page\b", paper))

    assert 1 <= sheets() <= 3
    browser.execute_script(PARTS_OPEN)
    assert 4 <= sheets() <= 12


CHECKED = """
const [contrast, done] = arguments;
const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
const rules = {'color-contrast': {enabled: contrast}};
axe.run(document, {resultTypes: ['violations'], runOnly: tags, rules})
  .then(result => done(result.violations.map(one => [one.impact, one.id,
    one.nodes.slice(0, 3).map(node => node.html.slice(0, 120) + ' ' + node.failureSummary)])))
  .catch(error => done([['failed', String(error)]]));
"""


@pytest.mark.parametrize(
    ("name", "scheme"),
    [
        ("eight sites", "light"),
        ("eight sites", "dark"),
        pytest.param("sixty sites", "light", marks=pytest.mark.deep),
        ("right to left and emoji", "dark"),
        ("hostile names", "light"),
        ("empty", "dark"),
    ],
)
def test_an_accessibility_checker_finds_no_fault(opened, axe, name, scheme):
    """Names, roles, headings, tables, contrast (AA) in both schemes, with everything unfolded.

    The largest page is checked as it opens and without its contrast: its parts are those of the others.
    """
    large = name == "sixty sites"
    browser = opened(name, 1400 if scheme == "light" else 360, scheme)
    if not large:
        unfold(browser)
    browser.set_script_timeout(120)
    browser.execute_script(axe)
    assert browser.execute_async_script(CHECKED, not large) == []


@pytest.fixture(scope="module")
def hours_told(page_spaces, tmp_path_factory):
    """Return the zones of ``cropcal photoperiod --json`` for the space of eight sites."""
    folder = tmp_path_factory.mktemp("space")
    (folder / "space.toml").write_text(page_spaces.SPACES["eight sites"], encoding="utf-8")
    done = subprocess.run(
        [Path(sys.executable).with_name("cropcal"), "photoperiod", folder, "--json"],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    return json.loads(done.stdout)["zones"]


def number(said):
    """Return the first number of a text, and half of the last digit it shows."""
    digits = re.search(r"\d+(?:\.(\d+))?", said)
    return float(digits[0]), 0.5 * 10 ** -len(digits[1] or "")


def shown_right(said, value):
    """Return whether a text shows a value as well as its digits, or as two significant ones, can."""
    seen, half = number(said)
    return abs(seen - value) <= max(half, 0.05 * value if value >= 10 else half) + 1e-9


SLIDDEN = """
return [...document.querySelectorAll('.slide')].map(box => {
  const input = box.querySelector('input'), seen = [];
  for (let n = 0; n <= Number(input.max); n += 1) {
    input.value = n;
    input.dispatchEvent(new Event('input', {bubbles: true}));
    const told = {spoken: input.getAttribute('aria-valuetext')};
    box.querySelectorAll('[data-show]').forEach(one => { told[one.dataset.show] = one.textContent; });
    const rows = [...box.querySelectorAll('tbody tr')];
    told.crops = rows.map(row => [...row.children].map(one => one.textContent));
    seen.push(told);
  }
  return seen;
});
"""


def test_the_slider_shows_what_the_command_says(opened, hours_told):
    """At every place of the slider DLI, cost, days and heads are those of ``cropcal photoperiod --json``."""
    browser = opened("eight sites")
    boxes = browser.execute_script(SLIDDEN)
    zones = [zone for zone in hours_told if zone["crops"]]
    assert len(boxes) == len(zones) > 0
    for box, zone in zip(boxes, zones, strict=True):
        assert len(box) == len(zone["choices"]) > 20
        for seen, choice in zip(box, zone["choices"], strict=True):
            assert number(seen["hours"])[0] == choice["photoperiod_h"]
            assert seen["lit"] == " and ".join(f"{on}-{off}" for on, off in choice["lit"])
            assert shown_right(seen["dli"], choice["dli_mol_m2_d"])
            assert abs(number(seen["kwh"])[0] - choice["kwh_per_month"]) <= 0.5
            assert abs(number(seen["cost"])[0] - choice["cost_per_month"]) <= 0.005 + 1e-9
            assert seen["hours"] in seen["spoken"]
            for row, crop in zip(seen["crops"], zone["crops"], strict=True):
                name, _, days, per_week, cost = row
                slug, size = crop["crop"], 100 if crop["unit"] == "g" else 1
                assert name == crop["name"]
                for said, values, factor in (
                    (days, choice["harvest_days"], 1),
                    (per_week, choice["per_week"] if crop["unit"] else {}, 1),
                    (cost, choice["cost_per_unit"], size),
                ):
                    assert (said == "-") == (slug not in values)
                    if slug in values:
                        assert shown_right(said, values[slug] * factor)


def test_the_slider_moves_by_keyboard(opened):
    """Arrow keys on the slider change every figure and the mark in the picture."""
    from selenium.webdriver.common.keys import Keys

    browser = opened("eight sites", 360)
    browser.find_element("css selector", "nav a[href='#hours']").click()
    slide = browser.find_element("css selector", ".slide input")
    light = browser.find_element("css selector", "[data-show=dli]")
    before = light.text, browser.execute_script("return document.querySelector('.mark').getAttribute('x1')")
    for _ in range(8):
        slide.send_keys(Keys.ARROW_RIGHT)
    after = light.text, browser.execute_script("return document.querySelector('.mark').getAttribute('x1')")
    assert float(after[0]) > float(before[0])
    assert after[1] != before[1]


def test_a_story_is_told_on_click_and_by_keyboard(opened):
    """The calendar is one stop of Tab; arrows go from bar to bar, and each tells its batch's story."""
    from selenium.webdriver.common.keys import Keys

    browser = opened("eight sites")
    browser.execute_script(PARTS_OPEN)
    story = browser.find_element("id", "story")
    address = browser.current_url
    stops = browser.execute_script("return document.querySelectorAll('.chart .batch[tabindex=\"0\"]').length")
    assert stops == 1
    browser.execute_script("document.getElementById('chart').focus()")
    browser.switch_to.active_element.send_keys(Keys.TAB)
    first = story.text
    for word in ("where", "sown", "up", "ready", "likely", "cut", "light", "mol a day"):
        assert word in first
    second, bar = first, 0
    while second == first and bar < 4:  # a batch may have several bars
        browser.switch_to.active_element.send_keys(Keys.ARROW_RIGHT)
        second, bar = story.text, bar + 1
    assert second != first
    browser.switch_to.active_element.send_keys(Keys.END)
    assert story.text not in (first, second)
    browser.switch_to.active_element.send_keys(Keys.HOME)
    assert story.text == first
    browser.execute_script(
        f"document.querySelectorAll('.batch')[{bar}]"
        ".dispatchEvent(new MouseEvent('click', {bubbles: true, cancelable: true}))"
    )
    assert story.text == second
    assert browser.current_url == address


@pytest.mark.deep
def test_a_year_of_sixty_sites_scrolls(opened):
    """The calendar moves within its box in both directions; its dates and the name of a bed stay in sight."""
    browser = opened("sixty sites", 360)
    browser.execute_script(PARTS_OPEN)
    seen = browser.execute_script(
        "const box = document.getElementById('chart'); box.scrollIntoView(); box.scrollTo(700, 300);"
        "const at = box.getBoundingClientRect(), heads = box.querySelector('.heads').getBoundingClientRect(),"
        " names = [...box.querySelectorAll('.bed-name span')].map(one => one.getBoundingClientRect());"
        "return [box.scrollLeft, box.scrollTop, heads.top - at.top, names.map(one => one.left - at.left),"
        " Math.min(...names.map(one => Math.abs(one.top - heads.bottom)))]"
    )
    assert seen[0] == 700
    assert seen[1] == 300
    assert abs(seen[2]) <= 2
    assert all(0 <= left <= 12 for left in seen[3])
    assert seen[4] <= 12


def test_without_script_a_table_stands_for_the_slider(opened):
    """Every length of day, the weeks and the batches can be read where no script runs."""
    from selenium.webdriver.common.keys import Keys

    browser = opened("empty")
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        browser = opened("eight sites", 360)
        assert not browser.find_element("css selector", ".slide").is_displayed()
        assert not browser.find_element("id", "unfold").is_displayed()
        browser.find_element("css selector", "#hours summary").send_keys(Keys.ENTER)
        table = browser.find_element("css selector", ".plain table")
        assert table.is_displayed()
        assert "16 h" in table.text
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})


def test_today_is_marked_where_the_plan_is_under_way(browser, opened):
    """Opened within its weeks, the page unfolds this week's jobs and draws today into the calendar."""
    script = (
        "const Real = Date; globalThis.Date = class extends Real { constructor(...given) {"
        " super(...(given.length ? given : [2027, 2, 10, 12])); } };"
    )
    added = browser.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": script})
    try:
        opened("eight sites")
        week = browser.execute_script(
            "const now = [...document.querySelectorAll('.now')].filter(one => !one.hidden);"
            "return now.map(one => one.closest('details').dataset.first)"
        )
        marks = browser.execute_script("return document.querySelectorAll('.today').length")
    finally:
        browser.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", added)
    assert week == ["2027-03-08"]
    assert (
        marks == browser.execute_script("return document.querySelectorAll('.chart .bars > svg').length") > 0
    )


@pytest.mark.parametrize(
    ("name", "most_bytes"), few_of([("eight sites", 500_000), ("sixty sites", 1_500_000)], 1)
)
def test_the_page_is_small(pages, name, most_bytes):
    """A usual page, and the largest of these: twelve crops on sixty sites for a year."""
    assert pages(name).stat().st_size < most_bytes
