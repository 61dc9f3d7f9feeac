"""The commands that README and the guide to space.toml show, and what they print.

``python tests/support/readme_blocks.py`` runs them again and writes what they print into the documents, with
the pictures beside the example. ``tests/whole/test_readme.py`` runs them too and compares. A comment like
``<!-- on 2027-01-21 -->`` before a block gives the day on which it is run. Of a block that ends in ``...``
only as many lines count as are shown.
"""

import re
import shlex
import shutil
import tempfile
from datetime import date
from pathlib import Path
from unittest.mock import patch

from in_process import cropcal
from on_a_day import DAY

from cropcal.season import clock

PROJECT = Path(__file__).resolve().parents[2]
DOCUMENTS = (PROJECT / "README.md", PROJECT / "examples" / "README.md")
BLOCK = re.compile(
    r"(?:<!-- on (?P<day>\d{4}-\d\d-\d\d) -->\n)?"
    r"```console\n\$ (?P<command>cropcal [^\n]*)\n(?P<output>.*?)```\n",
    re.DOTALL,
)
LEFT_OUT = "...\n"
VARIES = re.compile(r"\b\d+(?:\.\d+)? s\b|(?<=--undo )[a-z]{5}\b")
"""What differs from run to run: seconds, and the id of a new line of the journal."""
ENDLESS = {"plan": ("--time-limit", "900"), "why": ("--time-limit", "900")}
"""Words added to a command that a slow computer might end early."""


def run(block: re.Match[str], folder: Path) -> str:
    """Return what the command of a block prints, 80 columns wide, as far as the block shows it."""
    words = shlex.split(block["command"])[1:]
    day = date.fromisoformat(block["day"]) if block["day"] else DAY
    with patch.object(clock, "today", lambda: day):
        done = cropcal(*words, *ENDLESS.get(words[0], ()), cwd=folder, env={"COLUMNS": "80", "NO_COLOR": "1"})
    printed = done.both.strip("\n") + "\n"
    if not block["output"].endswith(LEFT_OUT):
        return printed
    lines = block["output"].count("\n") - 1
    return "".join(printed.splitlines(keepends=True)[:lines]) + LEFT_OUT


def steady(text: str) -> str:
    """Return a text without what differs from run to run."""
    return VARIES.sub("_", text)


def rewrite(document: Path, folder: Path) -> str:
    """Return a document with the output of each block made anew in a folder with the examples."""

    def again(block: re.Match[str]) -> str:
        printed = run(block, folder)
        kept = block["output"] if steady(printed) == steady(block["output"]) else printed
        return block[0].removesuffix(block["output"] + "```\n") + kept + "```\n"

    return BLOCK.sub(again, document.read_text(encoding="utf-8"))


def photograph(page: Path, picture: Path) -> None:
    """Write a screenshot of the top of a page in a desktop-sized browser."""
    from selenium import webdriver

    options = webdriver.ChromeOptions()
    for argument in ("--headless=new", "--no-sandbox", "--hide-scrollbars", "--window-size=1100,1000"):
        options.add_argument(argument)
    options.binary_location = shutil.which("chromium") or ""
    browser = webdriver.Chrome(options=options, service=webdriver.ChromeService(shutil.which("chromedriver")))
    try:
        browser.execute_cdp_cmd("Emulation.setTimezoneOverride", {"timezoneId": "UTC"})
        browser.get(page.as_uri())
        browser.save_screenshot(str(picture))
    finally:
        browser.quit()


def picture_example(folder: Path) -> None:
    """Plan the example in a folder and put its pictures beside the example of the project."""
    target = PROJECT / "examples" / "millbrook"
    for words in (("plan", "--time-limit", "900"), ("photoperiod", "--out", "hours")):
        cropcal(words[0], "examples/millbrook", *words[1:], cwd=folder)
    for picture in ("calendar.png", "bill.png", "light.png"):
        shutil.copy(folder / "examples" / "millbrook" / "plan" / picture, target / picture)
    shutil.copy(folder / "hours" / "photoperiod.png", target / "hours.png")
    photograph(folder / "examples" / "millbrook" / "plan" / "report.html", target / "report.png")


def main() -> None:
    """Write all documents and pictures anew."""
    clock.today = lambda: DAY
    for document in DOCUMENTS:
        with tempfile.TemporaryDirectory() as name:
            shutil.copytree(PROJECT / "examples", Path(name) / "examples")
            document.write_text(rewrite(document, Path(name)), encoding="utf-8")
    with tempfile.TemporaryDirectory() as name:
        shutil.copytree(PROJECT / "examples", Path(name) / "examples")
        picture_example(Path(name))


if __name__ == "__main__":
    main()
