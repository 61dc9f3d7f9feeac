"""A small space with a nursery, written short, and what commands do in it on a day of our own."""

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


def text(**other):
    """Return the space file with some values other than usual."""
    usual = {
        "hours": "photoperiod_h = 15", "sites": 10, "watts": 80, "umol": 240, "more": "", "per_week": 1,
        "start": START, "weeks": 20, "days": '["mon", "fri"]',
    }  # fmt: skip
    return SPACE.format(**{**usual, **other})


class Room:
    """The folder of a space, with its own today."""

    def __init__(self, folder, monkeypatch):
        """Let no command see the clock of the machine, and none draw pictures, which take longest."""
        self.folder, self.on = folder, START
        monkeypatch.setattr("cropcal.season.clock.today", lambda: self.on)
        for name in ("calendar_png", "bill_png", "light_png", "wall_sheet_pdf"):
            monkeypatch.setattr(f"cropcal.show.pictures.render.{name}", lambda *_: b"")

    def write(self, **other):
        """Write the space file."""
        (self.folder / "space.toml").write_text(text(**other), encoding="utf-8")

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

    def done(self, command, *words, typed=None):
        """Return what became of a command."""
        asked = [command, str(self.folder), *map(str, words)]
        return CliRunner().invoke(app, asked, input=typed, catch_exceptions=False)

    def run(self, command, *words):
        """Return what a command printed, on one line."""
        done = self.done(command, *words)
        assert done.exit_code in (0, 1), done.output
        return " ".join(done.output.split())

    def json(self, command, *words):
        """Return the JSON of a command."""
        done = self.done(command, *words, "--json")
        assert done.exit_code in (0, 1), done.output
        return json.loads(done.stdout)

    def batches(self):
        """Return the batches of the written plan by id."""
        form = json.loads((self.folder / "plan" / "plan.json").read_text(encoding="utf-8"))
        return {batch["batch"]: batch for batch in form["batches"]}

    def later(self, days):
        """Let some days pass."""
        self.on += timedelta(days=days)
