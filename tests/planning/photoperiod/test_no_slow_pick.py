"""No hours are picked at which a crop takes over 1.25 times its fewest days, burnt leaf tips or not."""

import json
from datetime import date

import pytest
from in_process import cropcal

STRONG = """
[[zone]]
name = "rack"
length_m = 0.9
width_m = 0.4
air_c = 20
air_moving = true
{hours}

[[bed]]
name = "box"
zone = "rack"
sites = 6

[[fixture]]
zone = "rack"
watts = 150
ppf_umol_s = {ppf}

[[want]]
crops = ["{crop}"]
"""


def days_at(folder, text, hours, crop):
    """Return the days to harvest by the plan's own growth, with some hours in the file."""
    folder.mkdir()
    (folder / "space.toml").write_text(text.replace("{hours}", f"photoperiod_h = {hours}"))
    done = cropcal("when", str(folder), crop, "--sown", "2027-01-04", "--json")
    ready = date.fromisoformat(json.loads(done.stdout)["cuts"][0]["ready"]["middle"])
    return (ready - date(2027, 1, 4)).days


@pytest.mark.parametrize(("crop", "ppf"), [("kale", 400), ("kale", 250), ("mint", 400)])
def test_under_a_strong_lamp_nobody_waits_to_save_power(crop, ppf, tmp_path):
    """Of the hours at which kale does well, the cheapest that take at most 1.25 times the fewest days."""
    text = STRONG.replace("{ppf}", str(ppf)).replace("{crop}", crop)
    (tmp_path / "space.toml").write_text(text.replace("{hours}", ""))
    zone = json.loads(cropcal("photoperiod", str(tmp_path), "--json").stdout)["zones"][0]
    pick = zone["pick"]["photoperiod_h"]
    right = [span for span in zone["crops"][0]["spans"] if span["suit"] == "right"]
    days = {
        hours: days_at(tmp_path / f"at {hours}", text, hours, crop)
        for hours in {right[0]["from_h"], pick - 0.5, pick, right[-1]["to_h"], 16}
    }
    fewest = min(days.values())
    assert days[pick] <= 1.25 * fewest + 1
    assert days[pick - 0.5] >= 1.25 * fewest - 1
    assert pick > right[0]["from_h"]
    assert "more than 1.25 times its fewest days" in " ".join(
        cropcal("photoperiod", str(tmp_path)).stdout.split()
    )
