"""Cures as `cropcal light` and `cropcal plan` tell them: the command beneath each does what it says."""

import json
import re
import shlex
from pathlib import Path

import pytest
from in_process import cropcal

RACK = """
[place]
name = "hall"
timezone = "Europe/Vienna"
[[zone]]
name = "my rack"
length_m = 1.2
width_m = 0.5
photoperiod_h = {hours}
wall_reflectance = {walls}
[[bed]]
name = "box"
zone = "my rack"
rows = 2
columns = 6
length_m = 1.1
width_m = 0.4
[[fixture]]
zone = "my rack"
watts = {watts}
lamp_to_canopy_m = 0.36
ppf_umol_s = {ppf}
[plan]
start = 2027-01-11
weeks = 12
[[want]]
crops = ["basil"]
per_week = 40
unit = "g"
[tariff]
currency = "EUR"
[[tariff.rate]]
name = "day"
per_kwh = 0.3
"""


def space(folder: Path, *, hours: float = 7, watts: float = 120, walls: float = 0.8) -> Path:
    """Return the path of a rack under one lamp."""
    path = folder / "space.toml"
    text = RACK.format(hours=hours, watts=watts, ppf=1.9 * watts, walls=walls)
    path.write_text(text, encoding="utf-8")
    return path


def tried(screen: str) -> list[list[str]]:
    """Return the options of each command under "try:"."""
    joined = re.sub(r" \\\n\s*", " ", screen)
    return [shlex.split(line)[3:] for line in re.findall(r"try: (cropcal light .*)", joined)]


def fits(path: Path, *options: str) -> dict[str, str]:
    """Return crop -> verdict as `cropcal light --json` has them."""
    form = json.loads(cropcal("light", path, *options, "--json").stdout)
    return {fit["crop"]: fit["verdict"] for fit in form["fits"]}


def test_light_tells_a_longer_day_and_the_command_beneath_it_does_it(tmp_path):
    path = space(tmp_path, hours=7)
    screen = cropcal("light", path, "--all").stdout
    assert re.search(
        r"cure: .* of lamp light a day instead of .*then it grows well, .* EUR a week more", flat(screen)
    )
    options = tried(screen)
    assert options
    assert fits(path) == {"basil": "slow"}
    for each in options:
        assert fits(path, *each) == {"basil": "ok"}, each


def flat(screen: str) -> str:
    """Return a screen with its line ends as blanks."""
    return " ".join(screen.split())


def test_each_second_cure_stands_below_the_first(tmp_path):
    screen = cropcal("light", space(tmp_path, hours=12, walls=0), "--all").stdout
    lines = [line.strip() for line in screen.splitlines()]
    kinds = [line.split(":")[0] for line in lines if line.startswith(("cure:", "or:", "try:"))]
    assert kinds == ["cure", "try", "or", "try"]


def test_a_lamp_too_weak_at_any_hours_is_the_first_sentence(tmp_path):
    path = space(tmp_path, hours=16, watts=24)
    screen = cropcal("light", path, "--all").stdout
    first = flat(screen.split("\n\n")[0])
    found = re.fullmatch(
        r"The lamp of my rack is too weak for Basil to grow well, even at 20 h a day\. "
        r"At 16 h a day it would take about (\d+) W more of the same lamp\.",
        first,
    )
    assert found, first
    assert "about 45 W more of the same kind of lamp; then it grows well" in flat(screen)
    more = int(found[1])

    def with_watts(watts: float) -> tuple[str, ...]:
        return ("--set", f"fixture.1.watts={watts}", "--set", f"fixture.1.ppf_umol_s={1.9 * watts}")

    assert fits(path, *with_watts(24 + more)) == {"basil": "ok"}
    assert fits(path, *with_watts(24 + more - 5)) == {"basil": "slow"}
    for hours in (4, 8, 12, 16, 20):
        assert fits(path, "--set", f"zone.my rack.photoperiod_h={hours}")["basil"] in ("slow", "no")


def test_a_lamp_that_hours_help_is_not_called_too_weak(tmp_path):
    assert "too weak" not in cropcal("light", space(tmp_path, hours=7)).stdout


def test_json_has_the_cures_with_their_settings(tmp_path):
    path = space(tmp_path, hours=7)
    form = json.loads(cropcal("light", path, "--json").stdout)
    (cure, *_) = form["cures"]
    assert cure["crop"] == "basil"
    assert (cure["verdict_before"], cure["verdict_after"]) == ("slow", "ok")
    assert cure["steps"][0]["kind"] == "hours"
    assert cure["cost_per_week"] == pytest.approx(0.3 * cure["kwh_per_week"])
    assert cure["days_sooner"] > 0
    assert form["too_weak"] == []
    assert re.match(r"\d+ h (\d\d min )?of lamp light a day instead of 7 h", form["fits"][0]["cure"])
    options = [word for setting in cure["settings"] for word in ("--set", setting)]
    assert fits(path, *options) == {"basil": "ok"}


def test_a_crop_that_does_well_needs_no_cure(tmp_path):
    path = space(tmp_path, hours=16)
    form = json.loads(cropcal("light", path, "--json").stdout)
    assert (form["cures"], form["too_weak"]) == ([], [])
    assert "try:" not in cropcal("light", path, "--all").stdout


def test_a_reading_of_the_journal_alone_moves_no_lamp(tmp_path):
    path = space(tmp_path, hours=12, walls=0)

    def kinds() -> set[str]:
        found = json.loads(cropcal("light", path, "--json").stdout)["cures"]
        return {step["kind"] for cure in found for step in cure["steps"]}

    assert "walls" in kinds()
    assert cropcal("log", path, "reading", "box", 150).returncode == 0
    assert kinds() <= {"hours", "fan"}


def test_the_plan_warns_of_a_weak_lamp_first_and_keeps_its_cures(tmp_path):
    path = space(tmp_path, hours=16, watts=15)
    done = cropcal("plan", path, "--json")
    form = json.loads(done.stdout)
    assert form["warnings"][0].startswith("The lamp of my rack is too weak for Basil")
    assert form["too_weak"][0]["zone"] == "my rack"
    assert any("W more of the same kind of lamp" in fit["cure"] for fit in form["fits"])
