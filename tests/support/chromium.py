"""Debian's Chromium, driven as a person would: started once a test file, with its console written down."""

import os
import shutil
from contextlib import suppress

import pytest

CHECKED = """
const done = arguments[0];
const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
axe.run(document, {resultTypes: ['violations'], runOnly: tags, iframes: false})
  .then(result => done(result.violations.map(one => [one.impact, one.id,
    one.nodes.slice(0, 3).map(node => node.html.slice(0, 120) + ' ' + node.failureSummary)])))
  .catch(error => done([['failed', String(error)]]));
"""
"""Script of axe-core that hands back each fault of a page."""
NEEDED = bool(os.environ.get("CROPCAL_NEEDS_BROWSER"))


def missing(what):
    """Skip the test, or fail it where the browser has to be there."""
    if NEEDED:
        pytest.fail(f"{what} is missing, and CROPCAL_NEEDS_BROWSER is set")
    pytest.skip(f"{what} is not installed")


def start_browser(profile, *, network=False):
    """Return a headless browser with a profile folder of its own; whoever calls it ends it with quit().

    ``network``: what it asks for is written down too, beside its console.
    """
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    driver = shutil.which("chromedriver")
    if chromium is None or driver is None:
        missing("chromium with chromedriver (Debian: chromium chromium-driver)")
    from selenium import webdriver

    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    for argument in (
        "--headless=new", "--no-sandbox", "--disable-dev-shm-usage", "--disable-gpu", "--hide-scrollbars",
        "--disable-background-networking", "--no-first-run", f"--user-data-dir={profile}",
    ):  # fmt: skip
        options.add_argument(argument)
    logs = {"browser": "ALL", **({"performance": "ALL"} if network else {})}
    options.set_capability("goog:loggingPrefs", logs)
    return webdriver.Chrome(options=options, service=webdriver.ChromeService(driver))


def resize(browser, width, height=900):
    """Make the window as wide as a phone or a desk."""
    size = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)


def look(browser, scheme):
    """Choose light or dark, and no movement: what is pressed must not move away."""
    chosen = {"prefers-color-scheme": scheme, "prefers-reduced-motion": "reduce"}
    features = [{"name": name, "value": value} for name, value in chosen.items()]
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "", "features": features})


def until(browser, css, words=""):
    """Wait for something with some words, and return it."""
    from selenium.common.exceptions import StaleElementReferenceException
    from selenium.webdriver.support.ui import WebDriverWait

    def found(driver):
        with suppress(StaleElementReferenceException):  # the page was replaced while it was looked at
            return next((one for one in driver.find_elements("css selector", css) if words in one.text), None)

    return WebDriverWait(browser, 30, ignored_exceptions=()).until(found)


def named(browser, start, tag="button"):
    """Return the one button with a name, as a screen reader says it, that begins with some words."""
    all_of = browser.find_elements("css selector", tag)
    fitting = [one for one in all_of if one.accessible_name.startswith(start)]
    assert len(fitting) == 1, [one.accessible_name for one in all_of]
    return fitting[0]
