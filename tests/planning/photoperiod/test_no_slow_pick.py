"""No hours are picked at which a crop takes over 1.25 times its fewest days, burnt leaf tips or not."""

import json
import re
from datetime import date

import pytest
from depth import few_of
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


@pytest.mark.parametrize(("crop", "ppf"), few_of([("kale", 400), ("kale", 250), ("mint", 400)], 0))
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
        cropcal("photoperiod", str(tmp_path), "--all").stdout.split()
    )


BRIGHT = """
[[zone]]
name = "rack"
length_m = 0.5
width_m = 0.5
air_c = 20
air_moving = false

[[bed]]
name = "box"
zone = "rack"
sites = 8

[[fixture]]
zone = "rack"
watts = 1800

[[reading]]
bed = "box"
umol_m2_s = [[{ppfd}]]

[plan]
start = 2027-01-04
weeks = 5
"""


def a_bright_rack(folder, ppfd, *crops):
    """Write a space under a lamp of some light that cannot be turned down."""
    wants = "".join(f'[[want]]\ncrops = ["{crop}"]\n' for crop in crops)
    folder.mkdir(exist_ok=True)
    (folder / "space.toml").write_text(BRIGHT.format(ppfd=ppfd) + wants)
    return folder


def zone_of(folder, *options):
    """Return what the command says of the only zone."""
    return json.loads(cropcal("photoperiod", str(folder), "--json", *options).stdout)["zones"][0]


def fewest_days(zone, crop):
    """Return the fewest days of the lengths in common use that spoil no crop."""
    return min(
        choice["harvest_days"][crop]
        for choice in zone["choices"]
        if choice["photoperiod_h"] <= 16 and not {"dark", "glare"} & set(choice["suits"].values())
    )


@pytest.mark.parametrize(
    ("ppfd", "crops"), [(800, ("lettuce-butterhead", "kale")), (670, ("basil", "tatsoi"))]
)
def test_no_strong_lamp_makes_anybody_wait(ppfd, crops, tmp_path):
    """Few hours of a strong lamp are enough light, but a short day: none takes over 1.25 times its best."""
    zone = zone_of(a_bright_rack(tmp_path, ppfd, *crops))
    for crop in crops:
        assert zone["pick"]["harvest_days"][crop] <= 1.25 * fewest_days(zone, crop) + 0.01


def test_why_leaf_tips_may_burn_and_what_helps(tmp_path):
    """Each cure, done as it is told, lets both crops do well at the hours that it names."""
    zone = zone_of(a_bright_rack(tmp_path, 800, "lettuce-butterhead", "kale"))
    assert zone["pick"]["suits"] == {"lettuce-butterhead": "burn", "kale": "right"}
    assert "leaf tips may burn" in zone["pick"]["why"]
    assert "more than 1.25" in zone["pick"]["why"]
    fan, less, *_ = zone["cures"]
    assert fan.startswith("a small fan over the leaves")
    cured = [(fan, zone_of(tmp_path, "--set", "zone.rack.air_moving=true"))]
    umol = re.search(r"less light, about (\d+) µmol \(lamp turned down or higher up\)", less).group(1)
    cured.append((less, zone_of(a_bright_rack(tmp_path / "less", umol, "lettuce-butterhead", "kale"))))
    for cure, then in cured:
        assert set(then["pick"]["suits"].values()) == {"right"}
        assert f"; {then['pick']['photoperiod_h']:g} h then suit all" in cure


def test_far_too_much_light_is_called_so(tmp_path):
    """2400 umol bring 34.6 mol in 4 h, the shortest day that is tried: over twice what lettuce stands."""
    zone = zone_of(a_bright_rack(tmp_path, 2400, "lettuce-butterhead"))
    assert "the light is far too much for Butterhead lettuce whatever the hours" in zone["pick"]["why"]
    assert any("µmol (lamp turned down or higher up)" in cure for cure in zone["cures"])
