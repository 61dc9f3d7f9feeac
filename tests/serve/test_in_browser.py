"""The served pages in a real Chromium: tick, weigh, undo, correct; by keyboard, on a phone, scriptless."""

import os
import subprocess
from contextlib import contextmanager
from pathlib import Path

import pytest
from chromium import CHECKED, look, missing, named, resize, start_browser, until
from on_a_day import CROPCAL
from served import day, write_space

from cropcal.reading.journal.read import read_journal

pytestmark = pytest.mark.deep
HOSTILE = '<script>window.ran = 1</script>"><img src=x onerror="window.ran = 1">'
FORGED = """<!doctype html><title>report</title><p id="seen"></p><script>
const seen = document.getElementById("seen"), add = words => { seen.textContent += words + " "; };
add(window.origin);
fetch("/journal").then(() => add("read"), () => add("refused"));
try { parent.forged = 1; } catch (error) { add("apart"); }
</script>"""


@pytest.fixture(scope="module")
def browser(tmp_path_factory):
    started = start_browser(tmp_path_factory.mktemp("profile"))
    yield started
    started.quit()


@contextmanager
def served(folder):
    """Serve a folder by the command; yield its link."""
    process = subprocess.Popen(
        [*CROPCAL, "open", str(folder), "--no-browser"], stdout=subprocess.PIPE, text=True
    )
    with process:
        try:
            yield process.stdout.readline().strip()
        finally:
            process.terminate()
            process.communicate(timeout=30)


@pytest.fixture
def shelf(tmp_path):
    return write_space(tmp_path / "shelf", note=HOSTILE)


@pytest.fixture
def link(shelf):
    with served(shelf) as address:
        yield address


@pytest.fixture
def opened(browser, link):
    """Return the browser with the link opened on a phone; nothing may be in its console after the test."""
    resize(browser, 360)
    look(browser, "light")
    browser.get_log("browser")
    browser.get(link)
    yield browser
    assert browser.get_log("browser") == []
    assert browser.execute_script("return window.ran === undefined")


def grams_of(browser, planned):
    """Return the field in which the grams of a harvest are typed."""
    fields = browser.find_elements("name", "grams")
    return next(one for one in fields if planned in one.get_attribute("placeholder"))


def events(folder):
    journal, problems = read_journal(folder / "journal.csv")
    assert problems == []
    return [(event.event, event.batch, event.amount) for event in journal.events]


def test_the_key_leaves_the_address_bar(opened, link):
    assert opened.current_url == link.split("?")[0]
    assert opened.execute_script("return document.cookie") == ""


def test_tick_weigh_undo_and_correct(opened, shelf):
    """As a person would: each is answered in the same page, and is in the journal."""
    opened.execute_script("window.same = true")
    named(opened, "Done today: Sow 4 Butterhead lettuce").click()
    until(opened, "#said p", "sown 4 sites")
    assert opened.switch_to.active_element.accessible_name.startswith("Undo: Sow 4 Butterhead"), "focus stays"
    grams_of(opened, "230").send_keys("21o")
    named(opened, "Harvested: Cut 230 g Basil").click()
    until(opened, ".said.wrong", "How much")
    grams = grams_of(opened, "230")
    assert grams.get_attribute("value") == "21o", "what was typed is still there"
    grams.clear()
    grams.send_keys("210")
    named(opened, "Harvested: Cut 230 g Basil").click()
    until(opened, "#said p", "harvested 210 g")
    assert events(shelf) == [("sown", "1220a", 4), ("harvested", "1019a", 210)]
    named(opened, "Undo: Sow 4 Butterhead").click()
    until(opened, "#said p", "Taken back")
    assert opened.execute_script("return window.same"), "no page was loaded anew"
    named(opened, "Journal", "a").click()
    named(opened, "Correct harvested 210 g", "summary").click()
    amount = next(one for one in opened.find_elements("name", "amount") if one.is_displayed())
    amount.send_keys("190")
    next(one for one in opened.find_elements("css selector", "button") if one.text == "Correct it").click()
    until(opened, "#said p", "harvested 190 g")
    assert events(shelf) == [("harvested", "1019a", 190)]


def test_by_keyboard_alone(opened, shelf):
    """Tab reaches every box in the order of the page, with a visible ring; Space ticks, and again undoes."""
    from selenium.webdriver.common.keys import Keys

    reached = []
    for _ in range(60):
        opened.switch_to.active_element.send_keys(Keys.TAB)
        at = opened.switch_to.active_element
        reached.append(at.accessible_name)
        if at.accessible_name.startswith("Done today: Sow 4 Butterhead"):
            break
    assert reached[0] == "To the page"
    assert [name for name in reached if name in ("This week", "Journal", "Plan")] == [
        "This week",
        "Journal",
        "Plan",
    ]
    assert opened.execute_script("return getComputedStyle(document.activeElement).outlineStyle") == "solid"
    at.send_keys(Keys.SPACE)
    until(opened, "#said p", "sown 4 sites")
    opened.switch_to.active_element.send_keys(Keys.SPACE)
    until(opened, "#said p", "Taken back")
    assert events(shelf) == []
    assert opened.switch_to.active_element.accessible_name.startswith("Done today: Sow 4 Butterhead")


def test_without_a_script(opened, shelf):
    """Ticking, weighing and undoing load a page each; a reload sends nothing again."""
    opened.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        opened.refresh()
        named(opened, "Done today: Sow 4 Butterhead").click()
        until(opened, "#said p", "sown 4 sites")
        opened.refresh()
        assert events(shelf) == [("sown", "1220a", 4)]
        opened.find_element("name", "heads").submit()
        until(opened, "#said p", "harvested 3 heads")
        named(opened, "Undo: Sow 4 Butterhead").click()
        until(opened, "#said p", "Taken back")
    finally:
        opened.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
    assert events(shelf) == [("harvested", "1012a", 3)]


@pytest.mark.parametrize("width", [320, 360, 1300])
def test_nothing_scrolls_sideways_and_all_can_be_hit(opened, width):
    """At each width, with all unfolded; what is pressed is at least 44 px high (WCAG 2.2, 2.5.5)."""
    home = opened.current_url
    resize(opened, width)
    for page in ("", "journal", "again", "plan"):
        opened.get(home + page)
        opened.execute_script("document.querySelectorAll('details').forEach(one => { one.open = true; })")
        assert opened.execute_script("return document.documentElement.scrollWidth") <= width, page
        low = opened.execute_script(
            "return [...document.querySelectorAll("
            "'main button, main select, main input:not([type=hidden]), .tabs a')]"
            ".map(one => one.closest('label.check') || one)"
            ".filter(one => one.getBoundingClientRect().height < 44).map(one => one.outerHTML.slice(0, 90))"
        )
        assert low == [], page


def test_two_windows(opened, shelf, link):
    """The other window shows a tick once it is looked at; if it ticks the same job, that is no second one."""
    first = opened.current_window_handle
    opened.switch_to.new_window("tab")
    look(opened, "light")
    try:
        opened.get(link.split("?")[0])
        named(opened, "Done today: Sow 4 Butterhead").click()
        until(opened, "#said p", "sown 4 sites")
        opened.close()
    finally:
        opened.switch_to.window(first)
    clicked = opened.execute_script(  # in one step, for the page may be replaced by what the other noted
        "const box = document.querySelector('button.box[aria-label*=\"Sow 4\"]');"
        " if (box) box.click(); return Boolean(box);"
    )
    if clicked:
        until(opened, "#said p", "meanwhile")
    else:
        until(opened, ".job.done", "Sow 4 Butterhead lettuce")
    assert events(shelf) == [("sown", "1220a", 4)]


def test_a_forged_report_cannot_reach_the_pages(browser, shelf, link):
    """Its script runs in no origin: it reads nothing, and the page around it is out of its reach."""
    (shelf / "plan" / "report.html").write_text(FORGED)
    browser.get(link)
    browser.get(link.split("?")[0] + "plan")
    browser.switch_to.frame(browser.find_element("css selector", "iframe"))
    assert until(browser, "#seen", "refused").text == "null apart refused"
    browser.switch_to.default_content()
    assert browser.execute_script("return window.forged === undefined")


def test_another_site_can_neither_send_a_form_nor_show_the_page(browser, shelf, link, tmp_path):
    """A page of another origin, opened in the same browser, sends a form with all that it can guess."""
    browser.get(link)
    home = link.split("?")[0]
    form = "".join(f'<input name="{name}" value="x">' for name in ("token", "at"))
    job = f'<input name="job" value="sow.1220a.{day(0)}">'
    evil = tmp_path / "evil.html"
    evil.write_text(
        f'<form method="post" action="{home}tick">{form}{job}</form><iframe src="{home}"></iframe>'
        "<script>addEventListener('load', () => document.forms[0].submit())</script>"
    )
    browser.get(evil.as_uri())
    body = until(browser, "body", "cropcal")
    assert "Boot room" not in body.text
    assert not (shelf / "journal.csv").exists()
    browser.get_log("browser")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_an_accessibility_checker_finds_no_fault(opened, scheme):
    path = os.environ.get("CROPCAL_AXE")
    if not path:
        missing("axe-core (npm pack axe-core; CROPCAL_AXE names its axe.min.js)")
    home = opened.current_url
    look(opened, scheme)
    named(opened, "Done today: Sow 4 Butterhead").click()
    until(opened, "#said p", "sown 4 sites")
    opened.set_script_timeout(120)
    for page in ("", "journal", "again", "plan"):
        opened.get(home + page)
        opened.execute_script("document.querySelectorAll('details').forEach(one => { one.open = true; })")
        opened.execute_script(Path(path).read_text(encoding="utf-8"))
        assert opened.execute_async_script(CHECKED) == [], page
