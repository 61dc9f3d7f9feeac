"""A real Chromium for report.html, and the pages that are opened in it.

Debian's packages chromium and chromium-driver are needed. Without them the tests are skipped, or fail if
CROPCAL_NEEDS_BROWSER is set. CROPCAL_AXE names the file axe.min.js of the npm package axe-core.
"""

import os
from dataclasses import replace
from pathlib import Path

import pytest
from chromium import missing, start_browser
from show_plans import searched_plan, three_choices

from cropcal.show.page.report import report_html


@pytest.fixture(scope="session")
def browser(tmp_path_factory):
    """Return one browser for all tests of pages, with its console and its network written down."""
    found = start_browser(tmp_path_factory.mktemp("profile"), network=True)
    found.get("about:blank")  # away from the browser's own first page, which asks for much
    yield found
    found.quit()


@pytest.fixture(scope="session")
def pages(page_facts, page_spaces, tmp_path_factory):
    """Return a function from a space's name to the file of its page, each made once."""
    folder = tmp_path_factory.mktemp("pages")

    def page(name):
        path = folder / f"{name.replace(' ', '-')}.html"
        if not path.exists():
            facts = page_facts(page_spaces.SPACES[name])
            if name == "eight sites":
                found = {"choices": three_choices("safe"), "searched": searched_plan().searched}
                facts = replace(facts, plan=facts.plan.model_copy(update=found))
            path.write_text(report_html(facts), encoding="utf-8")
        return path

    return page


@pytest.fixture
def opened(browser, pages):
    """Return a function that opens a page at some width, light or dark, on the screen or as for paper."""
    from selenium.webdriver.support.ui import WebDriverWait

    def look(name, width=1400, scheme="light", media=""):
        size = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": False}
        browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
        features = [{"name": "prefers-color-scheme", "value": scheme}]
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": media, "features": features})
        page = pages(name).as_uri()
        browser.get("about:blank")
        browser.get_log("browser")
        browser.get_log("performance")
        browser.get(page)
        whole = "return document.readyState === 'complete' && document.getElementById('hours-data') !== null"
        WebDriverWait(browser, 60).until(lambda one: one.execute_script(whole))
        return browser

    return look


@pytest.fixture(scope="session")
def axe():
    """Return the text of the accessibility checker."""
    path = os.environ.get("CROPCAL_AXE")
    if not path:
        missing("axe-core (npm pack axe-core; CROPCAL_AXE names its axe.min.js)")
    return Path(path).read_text(encoding="utf-8")
