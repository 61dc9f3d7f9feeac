"""Debian's Chromium, driven as a person would: started once a test file, with its console written down."""

import os
import shutil

import pytest

NEEDED = bool(os.environ.get("CROPCAL_NEEDS_BROWSER"))


def missing(what):
    """Skip the test, or fail it where the browser has to be there."""
    if NEEDED:
        pytest.fail(f"{what} is missing, and CROPCAL_NEEDS_BROWSER is set")
    pytest.skip(f"{what} is not installed")


def start_browser(profile):
    """Return a headless browser with a profile folder of its own; whoever calls it ends it with quit()."""
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
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    return webdriver.Chrome(options=options, service=webdriver.ChromeService(driver))


def resize(browser, width, height=900):
    """Make the window as wide as a phone or a desk."""
    size = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
