"""More light than such a lamp can give for its watts is always said, from the file and from the journal.

Limits: 4.5 umol/J is more than any lamp gives, 3.5 more than the best of white and red LEDs (Kusuma, Pattison
& Bugbee 2020, Horticulture Research 7:56); a fluorescent lamp gives 0.95 at most (Nelson & Bugbee 2014, PLoS
ONE 9:e99010).
"""

import json
from functools import cache

import pytest
from depth import few_of
from in_process import cropcal

SPACE = """
[plan]
start = 2026-12-21
weeks = 9

[[zone]]
name = "shelf"
length_m = 1.0
width_m = 0.5
photoperiod_h = 14
air_c = 20

[[fixture]]
zone = "shelf"
lamp = "{lamp}"
watts = 80
{photons}
length_m = 0.8
width_m = 0.3
lamp_to_canopy_m = 0.3

[[bed]]
name = "read"
zone = "shelf"
sites = 1
x_m = 0.2
y_m = 0.2
length_m = 0.1
width_m = 0.1

[[bed]]
name = "unread"
zone = "shelf"
sites = 1
x_m = 0.7
y_m = 0.2
length_m = 0.1
width_m = 0.1

[[want]]
crops = ["lettuce-butterhead"]
per_week = 1
{more}
"""
RATIOS = (0.5, 1.0, 1.5, 3.0, 10.0)
LAMPS = {"white LED": (2.0, 2.8), "fluorescent": (0.8, 0.95)}
"""Photons for each joule of the lamp in the file, and the most of its kind."""


@pytest.fixture(scope="module")
def lit(tmp_path_factory):
    """Return a function from a space file to the light of its lamp where it is read later, asked for once."""

    @cache
    def light(text):
        folder = tmp_path_factory.mktemp("lit")
        (folder / "space.toml").write_text(text, encoding="utf-8")
        return bed_of(folder, "read")["ppfd_umol_m2_s"]["mean"]

    return light


@pytest.fixture
def shelf(tmp_path, lit):
    """Return a function from lamp, ratio and the place of the reading to the folder of such a space."""

    def write(lamp, ratio, where, photons=None):
        values = {"lamp": lamp, "photons": photons or f"ppf_umol_s = {80 * LAMPS[lamp][0]:g}", "more": ""}
        file = tmp_path / "space.toml"
        file.write_text(SPACE.format(**values), encoding="utf-8")
        read = round(lit(file.read_text(encoding="utf-8")) * ratio, 1)
        if where == "journal":
            assert cropcal("log", tmp_path, "reading", "read", read).returncode == 0
        else:
            values["more"] = f'[[reading]]\nbed = "read"\numol_m2_s = [[{read}]]'
            file.write_text(SPACE.format(**values), encoding="utf-8")
        return tmp_path

    return write


def bed_of(folder, name):
    beds = json.loads(cropcal("light", folder, "--json").stdout)["beds"]
    return next(bed for bed in beds if bed["bed"] == name)


@pytest.mark.parametrize("where", few_of(["journal", "file"], 1))
@pytest.mark.parametrize("ratio", RATIOS)
@pytest.mark.parametrize("lamp", LAMPS)
def test_it_is_said_at_every_ratio(shelf, lamp, ratio, where):
    """Silent where such a lamp can give it, else with the photons for each joule and the limit that holds."""
    folder = shelf(lamp, ratio, where)
    done = cropcal("light", folder, "--all")
    shown = " ".join(done.stdout.split())
    umol_j, most = LAMPS[lamp][0] * ratio, LAMPS[lamp][1]
    if umol_j > 4.5:
        limit = "no lamp gives more than 4.5"
    elif umol_j > 3.5:
        limit = "the best lamps give 3.5"
    elif umol_j > 1.1 * most:
        limit = f"lamps of this kind ({lamp}) give"
    else:
        assert "for each joule" not in shown
        return
    assert f"the readings would take {umol_j:.2g} µmol from the lamp for each joule, and {limit}" in shown


def test_a_plan_and_its_page_say_it_too(shelf):
    """At a ratio at which readings and lamp still count as agreeing, the light known by watts alone."""
    folder = shelf("white LED", 1.8, "journal", photons='watts_from = "label"')
    assert "disagree" not in cropcal("light", folder, "--all").stdout
    done = cropcal("plan", folder, "--all")
    assert done.returncode in (0, 1, 3), done.both
    page = (folder / "plan" / "report.html").read_text(encoding="utf-8")
    form = json.loads((folder / "plan" / "plan.json").read_text(encoding="utf-8"))
    for shown in (done.stdout, page, "; ".join(form["warnings"])):
        assert "3.6 µmol from the lamp for each joule" in " ".join(shown.split())


@pytest.mark.parametrize("where", ["file", "journal"])
def test_the_file_is_refused_the_journal_warned_about(tmp_path, where):
    """420 umol on half a square metre for 40 W is 5.25 umol on the leaves alone for each joule."""
    text = SPACE.format(lamp="white LED", photons="", more="").replace("watts = 80", "watts = 40")
    start, end = text.index("[[bed]]"), text.index("[[want]]")
    text = text[:start] + '[[bed]]\nname = "read"\nzone = "shelf"\nsites = 9\n' + text[end:]
    (tmp_path / "space.toml").write_text(text, encoding="utf-8")
    if where == "journal":
        noted = cropcal("log", tmp_path, "reading", "read", 420)
        assert noted.returncode == 0
        assert "Is that right? the readings would take" in noted.stdout
        done = cropcal("light", tmp_path, "--all")
        assert done.returncode == 0
        assert "no lamp gives more than 4.5" in " ".join(done.stdout.split())
        asked = cropcal("check", tmp_path)
        assert asked.returncode == 0
        assert "journal.csv:2: amount: found 420 over read" in asked.stdout
        return
    (tmp_path / "space.toml").write_text(
        text + '[[reading]]\nbed = "read"\numol_m2_s = [[420]]\n', encoding="utf-8"
    )
    done = cropcal("light", tmp_path, "--all")
    assert done.returncode == 2
    assert "found 5.25 µmol on the leaves for each joule, expected at most 4.5" in done.stderr


@pytest.mark.parametrize("ratio", few_of(sorted(RATIOS, reverse=True), 2))
def test_the_neighbour_takes_no_light_that_cannot_be(shelf, ratio):
    """Above 4.5 umol/J the other bed stays as the lamp gives it, and says so; below, it moves with it."""
    plain = shelf("white LED", 1.0, "journal")
    before = bed_of(plain, "unread")["ppfd_umol_m2_s"]["mean"]
    assert cropcal("log", plain, "reading", "read", round(before * ratio, 1)).returncode == 0
    bed = bed_of(plain, "unread")
    if 2.0 * ratio > 4.5:
        assert bed["lamp_factor"] == 1.0
        assert any("not corrected" in line for line in bed["slips"])
    else:
        assert min(ratio, 1) - 1e-3 <= bed["lamp_factor"] <= max(ratio, 1) + 1e-3
        assert bed["slips"] == []
