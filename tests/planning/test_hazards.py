"""Hazards come in the first lines of every command; harmless things are not called dangerous."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from cropcal.cli.main import app

HERE = Path(__file__).resolve().parents[1] / "spaces"
DANGEROUS = sorted((HERE / "dangerous").glob("*.toml"))
HARMLESS = sorted((HERE / "harmless").glob("*.toml"))
PLANNED = {"closed_box_47_c", "hps_600_at_36_cm", "led_bar_on_a_bookshelf", "t5_tubes_close"}
FIRST_LINES = 12


def run(*words):
    return CliRunner().invoke(app, [str(word) for word in words])


def cases(paths):
    """Return every space with check, light and plan; by default few with the last two, the rest is deep."""
    found = []
    for number, path in enumerate(paths):
        found.append(pytest.param(path, ("check",), id=f"{path.stem}-check"))
        marks = (pytest.mark.deep,) if number % 5 else ()
        found.append(pytest.param(path, ("light",), id=f"{path.stem}-light", marks=marks))
        marks = () if path.stem in PLANNED else (pytest.mark.deep,)
        found.append(pytest.param(path, ("plan", "--time-limit", "1"), id=f"{path.stem}-plan", marks=marks))
    return found


def test_there_are_enough_of_both():
    assert len(DANGEROUS) >= 25
    assert len(HARMLESS) >= 25


@pytest.mark.parametrize(("path", "command"), cases(DANGEROUS))
def test_a_danger_is_told_first(path, command, tmp_path):
    """Its first line is a danger, and what the file expects is stated before anything else."""
    expected = path.read_text(encoding="utf-8").splitlines()[0].removeprefix("# expect: ")
    out = ("--out", tmp_path / "out") if command[0] == "plan" else ()
    done = run(command[0], path, *command[1:], *out)
    assert done.exit_code in ((0,) if command[0] == "check" else (0, 1, 3)), done.output
    before_all_else = done.stdout.split("\n\n")[0]
    assert before_all_else.startswith("Danger: ")
    assert expected in " ".join(before_all_else.split())
    if out and (tmp_path / "out").exists():
        assert expected in (tmp_path / "out" / "report.html").read_text(encoding="utf-8").replace(
            "&#39;", "'"
        )
        assert json.loads((tmp_path / "out" / "plan.json").read_text(encoding="utf-8"))["hazards"]


@pytest.mark.parametrize(("path", "command"), cases(HARMLESS))
def test_no_false_alarm(path, command, tmp_path):
    """Neither a danger nor a doubt is spoken of where there is none."""
    out = ("--out", tmp_path / "out") if command[0] == "plan" else ()
    done = run(command[0], path, *command[1:], *out)
    assert done.exit_code in ((0,) if command[0] == "check" else (0, 1, 3)), done.output
    assert "Danger" not in done.output
    assert "Is this meant?" not in done.output


@pytest.mark.parametrize("command", ["bill", "photoperiod", "learned", "crops"])
def test_every_command_begins_with_it(command):
    """On the screen, and in JSON with its numbers."""
    path = HERE / "dangerous" / "hps_600_at_36_cm.toml"
    assert run(command, path).stdout.startswith("Danger: rack: the HPS lamp of 600 W hangs 36 cm")
    (hazard,) = json.loads(run(command, path, "--json").stdout)["hazards"]
    assert (hazard["code"], hazard["distance_m"], hazard["by"]) == ("clearance", 0.36, "kind")
    assert hazard["clearance_m"] == pytest.approx(0.6 * 0.6**0.5)


def test_a_value_that_is_tried_is_looked_at_too():
    """A lamp tried lower than is safe is called dangerous; the one of the file is not."""
    path = HERE / "harmless" / "hps_hung_high.toml"
    done = run("light", path, "--set", "fixture.lamp_to_canopy_m=0.2")
    assert done.stdout.startswith("Danger: cellar: the HPS lamp of 400 W hangs 20 cm above the leaves")


def test_hot_air_that_is_noted_is_answered_at_once_and_remembered(tmp_path):
    """Until cooler air is noted."""
    text = (HERE / "harmless" / "led_bar_on_a_bookshelf.toml").read_text(encoding="utf-8")
    (tmp_path / "space.toml").write_text(text, encoding="utf-8")
    done = run("log", tmp_path, "air", "46")
    assert done.stdout.startswith("Danger: shelf: air of about 46 °C (noted for")
    for command in ("check", "light", "bill"):
        assert run(command, tmp_path).stdout.startswith("Danger: shelf: air of about 46 °C (noted for")
    assert "Danger" not in run("log", tmp_path, "air", "24").stdout
    assert "Danger" not in run("light", tmp_path).stdout


def test_the_hottest_of_air_csv_counts_though_the_mean_is_mild(tmp_path):
    """One afternoon at 45 C in three weeks of 22 C."""
    text = (HERE / "harmless" / "led_bar_on_a_bookshelf.toml").read_text(encoding="utf-8")
    (tmp_path / "space.toml").write_text(text, encoding="utf-8")
    rows = [f"2026-11-{day:02d} {hour:02d}:00,{22 + 23 * (day == 12 and hour == 15)}" for day in range(1, 22)
            for hour in range(0, 24, 3)]  # fmt: skip
    (tmp_path / "air.csv").write_text("\n".join(["time,air_c", *rows]) + "\n", encoding="utf-8")
    done = run("light", tmp_path)
    assert done.stdout.startswith(
        "Danger: shelf: air of about 45 °C (the highest in air.csv for Thu 12 Nov 2026)"
    )


def test_current_is_held_against_what_was_laid_out():
    """The same lamps are too much for a socket, and no matter for a circuit of 32 A."""
    path = HERE / "harmless" / "big_room_of_racks.toml"
    assert "Danger" not in run("check", path).output
    done = run("check", path, "--set", "place.supply_a=10")
    assert (
        "draw 1920 W, 8.3 A (230 V, assumed from the timezone: mains_v); 8 A is 80% of supply_a"
        in " ".join(done.stdout.split())
    )


def test_clearance_goes_by_the_root_of_watts(tables):
    """Usual distances of discharge lamps: 12, 15, 24 inches at 250, 400, 1000 W (common practice)."""
    from cropcal.planning.site.lamp_light import clearance_m
    from cropcal.records.space import Fixture

    for watts, inches in ((250, 12), (400, 15), (1000, 24)):
        lamp = Fixture(zone="a", lamp="HPS", watts=watts)
        assert clearance_m(lamp, tables.lamps["HPS"]) == pytest.approx(inches * 0.0254, abs=0.015)
    own = Fixture(zone="a", lamp="HPS", watts=1000, clearance_m=0.3)
    assert clearance_m(own, tables.lamps["HPS"]) == 0.3


def test_dangers_stand_on_the_paper_above_the_timer_cards(small_plan, names):
    """All of them, within the sheet, before everything else."""
    from datetime import date

    from cropcal.records.hours import TimerLine
    from cropcal.show.pictures import render as picture
    from cropcal.show.pictures import wall_sheet
    from cropcal.show.pictures.shapes import TextLine

    timers = [
        TimerLine(zone=zone, start=date(2027, 3, 1), on=360, off=1200, output=1.0) for zone in ("low", "high")
    ]
    dangers = [f"{zone}: the HPS lamp hangs too near to the leaves, " * 4 for zone in ("low", "high", "both")]
    pages = wall_sheet.pages(small_plan, names, timers, picture.printed_width, dangers)
    cards = [
        page
        for page in pages
        if any(isinstance(one, TextLine) and one.text == "Timers and set points" for one in page.shapes)
    ]
    assert len(cards) == 1
    for page in cards:
        words = [one for one in page.shapes if isinstance(one, TextLine)]
        said = [one.text for one in words]
        assert said.index("Danger") < said.index("low")
        assert all(
            any(text.startswith(f"{zone}: the HPS") for text in said) for zone in ("low", "high", "both")
        )
        assert max(one.y for one in words) < wall_sheet.A4[1]
        for one in words:
            wide = picture.printed_width(one.text, one.size_pt, one.bold)
            assert one.x + (0 if one.side == "right" else wide) <= wall_sheet.A4[0] - wall_sheet.EDGE + 0.01
