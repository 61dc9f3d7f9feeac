"""The calendar and the tables in a real Chromium: the keyboard zooms, and nothing is cut without a hint."""

import pytest
from depth import few_of

PARTS_OPEN = "document.querySelectorAll('details').forEach(one => { one.open = true; })"
SIZES = ["80 sites", "6 sites", "28 sites", "sixty sites", "long names"]
PHONE, PHONE_TALL = 390, 844

NOT_HINTED = """
const seen = one => one.getClientRects().length > 0;
const boxes = [...document.querySelectorAll('.scroll, .chart')].filter(seen);
const cut = boxes.filter(box => box.scrollWidth > box.clientWidth + 1);
const hinted = boxes.filter(box => box.previousElementSibling.matches('.hint'))
  .filter(box => seen(box.previousElementSibling));
const loose = [...document.querySelectorAll('table, .map, .strip')].filter(seen)
  .filter(one => !one.closest('.scroll') && one.getBoundingClientRect().right > innerWidth + 1);
const name = one => one.outerHTML.slice(0, 90);
return [cut.map(name), hinted.map(name), loose.map(name)];
"""

WORDS_TOO_WIDE = """
const found = [];
let seen = 0;
document.querySelectorAll('.chart .bars > svg').forEach(svg => {
  const bars = [...svg.querySelectorAll('.tone')].map(one => one.getBoundingClientRect());
  svg.querySelectorAll(':scope > .on-bar').forEach(word => {
    const box = word.getBoundingClientRect();
    if (!box.width) return;
    seen += 1;
    const middle = (box.top + box.bottom) / 2;
    const ends = bars.filter(bar => bar.top <= middle + 8 && bar.bottom >= middle - 8
      && bar.left <= box.left && bar.right > box.left).map(bar => bar.right);
    if (!ends.length || Math.max(...ends) < box.right - 1) found.push(word.textContent);
  });
});
return [found, seen];
"""


@pytest.mark.deep
@pytest.mark.parametrize("name", SIZES)
def test_nothing_is_cut_on_a_phone_without_a_hint(opened, name):
    """With everything unfolded, what is wider than a phone says that it scrolls, and nothing else says so."""
    browser = opened(name, PHONE)
    browser.execute_script(PARTS_OPEN)
    browser.execute_async_script("requestAnimationFrame(() => requestAnimationFrame(arguments[0]))")
    cut, hinted, loose = browser.execute_script(NOT_HINTED)
    assert cut == hinted != []
    assert loose == []


def _width(browser):
    return browser.execute_script(
        "return document.querySelector('.bars > svg').getBoundingClientRect().width"
    )


def test_the_calendar_is_made_wider_by_keyboard(opened):
    """Arrow keys on the control and + and - in the calendar change its width; the middle stays in sight."""
    from selenium.webdriver.common.keys import Keys

    browser = opened("28 sites", PHONE)
    browser.find_element("css selector", "nav a[href='#calendar']").click()
    medium = _width(browser)
    browser.find_element("css selector", ".zoom input:checked").send_keys(Keys.ARROW_RIGHT)
    large = _width(browser)
    assert large > 1.8 * medium
    chart = browser.find_element("id", "chart")
    browser.execute_script("arguments[0].scrollLeft = arguments[0].scrollWidth / 2", chart)
    middle = "const box = arguments[0]; return (box.scrollLeft + box.clientWidth / 2) / box.scrollWidth"
    browser.execute_async_script("requestAnimationFrame(() => requestAnimationFrame(arguments[0]))")
    before = browser.execute_script(middle, chart)
    chart.send_keys("-")
    assert _width(browser) == medium
    assert browser.execute_script(middle, chart) == pytest.approx(before, abs=0.05)
    chart.send_keys("-")
    assert _width(browser) < medium
    chart.send_keys("+")
    assert _width(browser) == medium


@pytest.mark.parametrize("name", few_of(["28 sites", "80 sites", "sixty sites"], 1))
def test_words_on_bars_fit_at_every_width(opened, name):
    """A name, or the letter for it, ends before its bar does; a wider calendar has no fewer words."""
    browser = opened(name, PHONE)
    browser.execute_script(PARTS_OPEN)
    counts = []
    for zoom in range(3):
        browser.execute_script(f"document.getElementById('zoom-{zoom}').click()")
        found, seen = browser.execute_script(WORDS_TOO_WIDE)
        assert found == []
        counts.append(seen)
    assert 0 < counts[0] <= counts[1] <= counts[2]


@pytest.mark.deep
def test_without_script_the_calendar_unfolds_and_is_made_wider(opened):
    """The control is of the page's style alone."""
    from selenium.webdriver.common.keys import Keys

    browser = opened("empty")
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        browser = opened("28 sites", PHONE)
        browser.find_element("css selector", "#calendar summary").send_keys(Keys.ENTER)
        picture = browser.find_element("css selector", ".bars > svg")
        medium = picture.rect["width"]
        browser.find_element("id", "zoom-1").send_keys(Keys.ARROW_RIGHT)
        assert picture.rect["width"] > 1.8 * medium
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})


@pytest.mark.deep
@pytest.mark.parametrize(("name", "screens", "kb"), [("80 sites", 10, 900), ("200 sites", 12, 2600)])
def test_a_large_page_opens_short(opened, pages, name, screens, kb):
    """On a phone it is a few screens long until something is unfolded; its file stays small."""
    browser = opened(name, PHONE)
    tall = browser.execute_script("return document.documentElement.scrollHeight")
    assert tall < screens * PHONE_TALL
    assert pages(name).stat().st_size < kb * 1000
