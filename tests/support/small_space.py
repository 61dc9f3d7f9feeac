"""A small space with a nursery, and a folder in which commands run on a chosen day."""

import json
from datetime import date, timedelta

from typer.testing import CliRunner

from cropcal.cli.main import app

START = date(2026, 9, 7)
FIRST_PLANS: dict[tuple[str, date], dict[str, bytes]] = {}
"""What the first plan of a space file on a day wrote, for tests that only begin with it."""
LETTUCE = "lettuce-butterhead"

SPACE = """
[place]
name = "Boot room"

[[zone]]
name = "shelf"
length_m = 1.1
width_m = 0.5
{hours}
air_c = 21
air_moving = true

[[bed]]
name = "channel"
zone = "shelf"
sites = {sites}
length_m = 1.0
width_m = 0.45

[[bed]]
name = "saucer"
zone = "shelf"
kind = "nursery"
sites = 8
length_m = 0.25
width_m = 0.15

[[fixture]]
zone = "shelf"
watts = {watts}

[[reading]]
bed = "channel"
umol_m2_s = [[{umol}]]

[[reading]]
bed = "saucer"
umol_m2_s = [[170]]

{more}
[[want]]
crops = ["lettuce-butterhead"]
per_week = {per_week}

[plan]
start = {start}
weeks = {weeks}
work_days = {days}
"""


def text(**changes):
    """Return the text of the space file, with some values changed."""
    usual = {
        "hours": "photoperiod_h = 15", "sites": 10, "watts": 80, "umol": 240, "more": "", "per_week": 1,
        "start": START, "weeks": 20, "days": '["mon", "fri"]',
    }  # fmt: skip
    return SPACE.format(**{**usual, **changes})


class SpaceFolder:
    """The folder of a space, with a settable today."""

    def __init__(self, folder, monkeypatch):
        """Replace the clock."""
        self.folder, self.on = folder, START
        monkeypatch.setattr("cropcal.season.clock.today", lambda: self.on)

    def write(self, **changes):
        """Write the space file."""
        (self.folder / "space.toml").write_text(text(**changes), encoding="utf-8")

    def plan_first(self):
        """Plan a folder with a space file alone; the same file on the same day is planned but once."""
        key = (self.folder / "space.toml").read_text(encoding="utf-8"), self.on
        plan = self.folder / "plan"
        if key not in FIRST_PLANS:
            self.run("plan", "--time-limit", 5)
            FIRST_PLANS[key] = {file.name: file.read_bytes() for file in plan.iterdir()}
        plan.mkdir(exist_ok=True)
        for name, content in FIRST_PLANS[key].items():
            (plan / name).write_bytes(content)

    def invoke(self, command, *words, typed=None):
        """Return the result of a command (``typer.testing.Result``)."""
        arguments = [command, str(self.folder), *map(str, words)]
        return CliRunner().invoke(app, arguments, input=typed, catch_exceptions=False)

    def run(self, command, *words):
        """Return the output of a command that succeeded, on one line."""
        result = self.invoke(command, *words)
        assert result.exit_code in (0, 1), result.output
        return " ".join(result.output.split())

    def json(self, command, *words):
        """Return the parsed JSON of a command that succeeded."""
        result = self.invoke(command, *words, "--json")
        assert result.exit_code in (0, 1), result.output
        return json.loads(result.stdout)

    def batches(self):
        """Return the batches of the written plan by id."""
        form = json.loads((self.folder / "plan" / "plan.json").read_text(encoding="utf-8"))
        return {batch["batch"]: batch for batch in form["batches"]}

    def later(self, days):
        """Move today forward by ``days`` days."""
        self.on += timedelta(days=days)
