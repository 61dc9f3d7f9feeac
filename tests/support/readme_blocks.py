"""The commands that README shows and what they print.

``python tests/support/readme_blocks.py`` runs them again and writes what they print into README.md, with the
pictures beside the example. ``tests/whole/test_readme.py`` runs them too and compares.
"""

import re
import shlex
import shutil
import tempfile
from pathlib import Path

from in_process import cropcal
from on_a_day import DAY

from cropcal.season import clock

PROJECT = Path(__file__).resolve().parents[2]
README = PROJECT / "README.md"
BLOCK = re.compile(r"```console\n\$ (?P<command>cropcal [^\n]*)\n(?P<output>.*?)```\n", re.DOTALL)
SECONDS = re.compile(r"\b\d+(?:\.\d+)? s\b")


def run(command: str, folder: Path) -> str:
    """Return what a command prints on both streams, run in a folder on the tests' day, 80 columns wide."""
    done = cropcal(*shlex.split(command)[1:], cwd=folder, env={"COLUMNS": "80", "NO_COLOR": "1"})
    return done.both.rstrip("\n") + "\n"


def steady(text: str) -> str:
    """Return a text without what differs from run to run: seconds."""
    return SECONDS.sub("0.0 s", text)


def rewrite(folder: Path) -> str:
    """Return README.md with the output of every block replaced by a new run's."""

    def again(match: re.Match[str]) -> str:
        command = match["command"]
        return f"```console\n$ {command}\n{run(command, folder)}```\n"

    return BLOCK.sub(again, README.read_text(encoding="utf-8"))


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


if __name__ == "__main__":
    clock.today = lambda: DAY
    with tempfile.TemporaryDirectory() as name:
        shutil.copytree(PROJECT / "examples", Path(name) / "examples")
        README.write_text(rewrite(Path(name)), encoding="utf-8")
        for picture in ("calendar.png", "bill.png", "light.png"):
            source = Path(name) / "examples" / "millbrook" / "plan" / picture
            shutil.copy(source, PROJECT / "examples" / "millbrook" / picture)
        report = Path(name) / "examples" / "millbrook" / "plan" / "report.html"
        photograph(report, PROJECT / "examples" / "millbrook" / "report.png")
        run("cropcal photoperiod examples/millbrook --out hours", Path(name))
        shutil.copy(
            Path(name) / "hours" / "photoperiod.png", PROJECT / "examples" / "millbrook" / "hours.png"
        )
