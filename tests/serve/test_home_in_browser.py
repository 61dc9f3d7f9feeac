"""A phone in the home network, in a real Chromium: scan, type the code, tick; the household reads."""

import os
import re
import subprocess
from contextlib import contextmanager
from pathlib import Path

import pytest
from chromium import CHECKED, look, missing, named, resize, start_browser, until
from on_a_day import CROPCAL
from served import write_space

from cropcal.reading.journal.read import read_journal
from cropcal.serve.home.links import home_address

pytestmark = pytest.mark.deep


@pytest.fixture(scope="module")
def browser(tmp_path_factory):
    started = start_browser(tmp_path_factory.mktemp("profile"))
    yield started
    started.quit()


@pytest.fixture
def shelf(tmp_path):
    return write_space(tmp_path / "shelf")


@contextmanager
def served_at_home(folder):
    """Serve a folder by the command; yield the phone's address, the code, and the links that only read."""
    if home_address() is None:
        pytest.skip("this computer has no address but the loopback one")
    with subprocess.Popen(
        [*CROPCAL, "open", str(folder), "--home", "--no-browser"], stdout=subprocess.PIPE, text=True
    ) as process:
        try:
            text = ""
            while "firewall" not in text:
                text += process.stdout.readline()
            yield (
                *re.findall(r"^  (http\S+)", text, re.MULTILINE),
                re.search(r"the code (\d{3} \d{3}):", text)[1],
            )
        finally:
            process.terminate()
            process.communicate(timeout=30)


@pytest.fixture
def home(shelf):
    with served_at_home(shelf) as found:
        yield found


@pytest.fixture
def phone(browser):
    """Return the browser as a new phone: narrow, and without cookies."""
    resize(browser, 360, 740)
    look(browser, "light")
    browser.execute_cdp_cmd("Network.clearBrowserCookies", {})
    return browser


def type_code(phone, code):
    phone.find_element("name", "code").send_keys(code)
    named(phone, "Let this phone in").click()


def test_a_phone_types_the_code_and_ticks(phone, home, shelf):
    """A wrong code first; then the week, without a key in the address, and a tick that is kept."""
    address, _, _, code = home
    phone.get(address)
    type_code(phone, f"{(int(code.replace(' ', '')) + 1) % 10**6:06}")
    until(phone, ".said.wrong", "4 more tries")
    type_code(phone, code)
    until(phone, "h1", "Boot room")
    assert phone.current_url == f"{address}/"
    named(phone, "Done today: Sow 4 Butterhead").click()
    until(phone, "#said p", "sown 4 sites")
    events = read_journal(shelf / "journal.csv")[0].events
    assert [(event.event, event.batch, event.amount) for event in events] == [("sown", "1220a", 4)]
    assert phone.execute_script("return document.cookie") == ""


def test_a_phone_is_let_in_by_another_one(phone, home):
    """The page of a phone that is in has a new code, which lets the next one in once."""
    address, _, _, code = home
    phone.get(address)
    type_code(phone, code)
    until(phone, "h1", "Boot room")
    named(phone, "Phones and calendar", "main a").click()
    named(phone, "New code").click()
    again = until(phone, ".code").text
    assert phone.execute_script("return document.documentElement.scrollWidth") <= 360
    phone.execute_cdp_cmd("Network.clearBrowserCookies", {})
    phone.get(address)
    type_code(phone, again)
    until(phone, "h1", "Boot room")


def test_the_household_reads(phone, home):
    """No form on any page, and the calendar's address."""
    address, reading, calendar, _ = home
    phone.get(reading)
    until(phone, "h1", "Boot room")
    for page in ("", "journal", "plan", "again", "phones"):
        phone.get(f"{address}/{page}")
        assert phone.find_elements("css selector", "form, button, input, select") == []
        assert phone.execute_script("return document.documentElement.scrollWidth") <= 360
    assert calendar in until(phone, ".link").text


def test_an_accessibility_checker_finds_no_fault(phone, home):
    path = os.environ.get("CROPCAL_AXE")
    if not path:
        missing("axe-core (npm pack axe-core; CROPCAL_AXE names its axe.min.js)")
    address, _, _, code = home

    def check():
        phone.set_script_timeout(120)
        phone.execute_script(Path(path).read_text(encoding="utf-8"))
        assert phone.execute_async_script(CHECKED) == [], phone.current_url

    phone.get(f"{address}/phone?once=x")
    check()
    phone.get(address)
    check()
    type_code(phone, code)
    until(phone, "h1", "Boot room")
    for scheme in ("light", "dark"):
        look(phone, scheme)
        phone.get(f"{address}/phones")
        check()
        named(phone, "New code").click()
        until(phone, ".code")
        check()
